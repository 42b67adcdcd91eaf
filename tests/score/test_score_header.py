"""Titles, keys, kinds of parts, movements, barlines and breaks."""

from collections.abc import Callable
from pathlib import Path

import pytest
from lxml import etree
from music21.key import KeySignature as TheirKey

from optimizer.score import ScoreFile, read_score, score_from
from optimizer.score.header import key_of, read_header
from optimizer.score.model import PartKind
from optimizer.score.movements import foreseen_titles, printed_titles, title_above
from optimizer.score.parts import part_kind
from optimizer.score.walk import KeySignature, PartFacts

Build = Callable[..., ScoreFile]
Note = Callable[..., str]


def work(title: str = "", movement: str = "", number: str = "", opus: str = "", more: str = "") -> str:
    inside = f"{opus and f'<work-number>{opus}</work-number>'}{title and f'<work-title>{title}</work-title>'}"
    return (
        f"{inside and f'<work>{inside}</work>'}{number and f'<movement-number>{number}</movement-number>'}"
        f"{movement and f'<movement-title>{movement}</movement-title>'}{more}"
    )


def credit(words: str, kind: str = "", size: int = 12, page: int = 1) -> str:
    typed = f"<credit-type>{kind}</credit-type>" if kind else ""
    return f'<credit page="{page}">{typed}<credit-words font-size="{size}">{words}</credit-words></credit>'


@pytest.mark.parametrize(
    ("header", "title", "subtitle"),
    [
        ("", "", ""),
        (work("Sonata"), "Sonata", ""),
        (work("", "Der Erlkönig"), "Der Erlkönig", ""),
        (work("Same", "Same"), "Same", ""),
        (work("The Last Ferry", "Song for the evening"), "The Last Ferry", "Song for the evening"),
        (work("Winterreise", "Gute  Nacht", "1", "D.911"), "Gute Nacht", "Winterreise, D.911, no. 1"),
        (work("6 Lieder, Op.23", "Am Morgen", "2", "23"), "Am Morgen", "6 Lieder, Op.23, no. 2"),
        (work("Sonata", "II. Adagio", "2", "7"), "Sonata, op. 7", "II. Adagio"),
        (work("Sonata", "2nd movement", "2"), "Sonata", "2nd movement"),
        (credit("Evening", "title") + credit("for two", "subtitle"), "Evening", "for two"),
        (credit("small") + credit("Large", size=24) + credit("page two", size=40, page=2), "Large", ""),
    ],
)
def test_titles(header: str, title: str, subtitle: str, score_file: Build, note: Note) -> None:
    score = score_from(score_file(note(), header=header))
    assert (score.title, score.subtitle) == (title, subtitle)


def test_names_and_rights(score_file: Build, note: Note) -> None:
    more = (
        '<identification><creator type="composer">Clara Schumann</creator><creator type="lyricist">H. Rollett'
        "</creator><rights>CC0</rights><rights>public\n domain</rights><encoding><software>Secret</software></encoding>"
        "</identification>"
    )
    score = score_from(score_file(note(), header=more))
    assert score.composer == "Clara Schumann"
    assert score.lyricist == "H. Rollett"
    assert score.rights == "CC0; public domain"
    assert "Secret" not in repr(score)


@pytest.mark.parametrize("mode", ["major", "minor", "dorian", "phrygian", "lydian", "mixolydian", "locrian"])
def test_keys_in_words_are_those_of_music21(mode: str) -> None:
    for fifths in range(-7, 8):
        tonic = TheirKey(fifths).asKey(mode).tonic
        accidental = {-2: "-double-flat", -1: "-flat", 0: "", 1: "-sharp", 2: "-double-sharp"}[
            int(tonic.alter)
        ]
        assert str(key_of(KeySignature(fifths, mode))) == f"{tonic.step}{accidental} {mode}"


def test_key_needs_a_mode() -> None:
    assert key_of(KeySignature(2, "")) is None
    assert key_of(KeySignature(2, "none")) is None
    assert key_of(None) is None


def entry(name: str = "", sound: str = "", program: int = 0) -> etree._Element:
    heard = f"<instrument-sound>{sound}</instrument-sound>" if sound else ""
    midi = f"<midi-program>{program}</midi-program>" if program else ""
    return etree.fromstring(
        f"<score-part><part-name>{name}</part-name><score-instrument>{heard}</score-instrument>"
        f"<midi-instrument>{midi}</midi-instrument></score-part>"
    )


@pytest.mark.parametrize(
    ("element", "facts", "kind"),
    [
        (entry("Clarinet in C", "wind.reed.clarinet", 72), PartFacts(has_lyrics=True), PartKind.VOICE),
        (entry("Bb Clarinet", "wind.reed.clarinet", 72), PartFacts(), PartKind.WIND),
        (entry("Voice", "", 69), PartFacts(), PartKind.VOICE),
        (entry("Solo", "strings.viola", 42), PartFacts(has_lyrics=True), PartKind.VOICE),
        (entry("Pianoforte."), PartFacts(), PartKind.KEYBOARD),
        (entry("Reduced Score"), PartFacts(staves=2), PartKind.KEYBOARD),
        (entry("Hymn"), PartFacts(staves=2, has_lyrics=True), PartKind.KEYBOARD),
        (entry("Organ"), PartFacts(staves=3), PartKind.KEYBOARD),
        (entry("Harp"), PartFacts(staves=2), PartKind.OTHER),
        (entry("Marimba"), PartFacts(staves=2), PartKind.OTHER),
        (entry("Guitar"), PartFacts(staves=2, clefs={"G", "TAB"}), PartKind.OTHER),
        (entry("Drums"), PartFacts(clefs={"percussion"}), PartKind.OTHER),
        (entry("Basso Continuo", "", 43), PartFacts(), PartKind.STRINGS),
        (entry("Bratsche. Viola"), PartFacts(), PartKind.STRINGS),
        (entry("Violoncello"), PartFacts(), PartKind.STRINGS),
        (entry("Alto"), PartFacts(), PartKind.VOICE),
        (entry("Horn in F"), PartFacts(), PartKind.WIND),
        (entry("Part 1", "", 41), PartFacts(), PartKind.STRINGS),
        (entry("Part 1", "", 1), PartFacts(), PartKind.OTHER),
    ],
)
def test_kinds_of_parts(element: etree._Element, facts: PartFacts, kind: PartKind) -> None:
    # Common practice, no source: names mislead, lyrics mark a sung part, two staves a keyboard.
    assert part_kind(element, facts) is kind


def words(*texts: str) -> str:
    return "".join(
        f"<direction><direction-type><words>{text}</words></direction-type></direction>" for text in texts
    )


FINAL = '<barline location="right"><bar-style>light-heavy</bar-style></barline>'
DOUBLE = '<barline location="right"><bar-style>light-light</bar-style></barline>'


def test_movements_by_number_and_heading(score_file: Build, note: Note) -> None:
    bars = (
        words("I.", "Allegro moderato") + note(), note() + FINAL,
        words("II. The Mole") + note(), note() + FINAL,
        words("Menuetto") + note(), note() + FINAL,
    )  # fmt: skip
    score = score_from(score_file(*bars, numbers=["1", "2", "3", "4", "1", "2"]))
    assert [measure.movement for measure in score.measures] == [0, 0, 1, 1, 2, 2]
    assert score.movement_titles == {0: "I. Allegro moderato", 1: "II. The Mole", 2: "Menuetto"}


def test_titles_stand_above_the_music_once(score_file: Build, note: Note) -> None:
    """A tempo is marked at the staff; only the number stands above (common practice, no source)."""
    titles = "I. Allegro moderato", "II. The Mole", "Menuetto", "IV. Menuetto", "Grave", "5"
    above = "I.", "II. The Mole", "Menuetto", "IV. Menuetto", "", "5"
    assert tuple(map(title_above, titles)) == above
    bars = words("I.", "Adagio") + note(), note() + FINAL, words("II. Adagio") + note(), note() + FINAL
    score = score_from(score_file(*bars, numbers=["1", "2", "1", "2"], header=work("Air")))
    assert printed_titles(score) == {0: ("Air", "", "I. Adagio"), 2: ("II. Adagio",)}


def test_titles_are_foreseen_where_there_is_one_movement(score_file: Build, note: Note) -> None:
    for numbers, foreseen in ((["1", "2", "3", "4"], True), (["1", "2", "1", "2"], False)):
        file = score_file(*[note()] * 4, numbers=numbers, header=work("Air"))
        titles = foreseen_titles(file.root)
        assert titles == (printed_titles(score_from(file)) if foreseen else None)


def test_what_is_no_movement(score_file: Build, note: Note) -> None:
    # A trio whose numbers run on, and verses that repeat numbers without a barline.
    trio = note(), note() + words("Fine") + FINAL, words("2. Trio") + note(), note() + words("D.C.") + FINAL
    score = score_from(score_file(*trio))
    assert [measure.movement for measure in score.measures] == [0, 0, 0, 0]
    assert score.movement_titles == {}
    verses = score_from(score_file(note(), note(), note(), note(), numbers=["1", "2", "1", "2"]))
    assert {measure.movement for measure in verses.measures} == {0}


def test_movements_of_a_real_quartet(shared_data: Path) -> None:
    score = read_score(shared_data / "scores" / "quartet-smetana-1.mxl")
    starts = [
        measure.index
        for measure in score.measures
        if measure.index == 0 or score.measures[measure.index - 1].movement < measure.movement
    ]
    assert starts == [0, 262, 511, 608]  # bars 193 and 194 of the second movement are one rest
    assert score.movement_titles[2] == "III. Largo sostenuto"


def test_double_bars(score_file: Build, note: Note) -> None:
    left = '<barline location="left"><bar-style>{}</bar-style></barline>'
    forward = '<barline location="left"><repeat direction="forward"/></barline>'
    dashed = '<barline location="right"><bar-style>dashed</bar-style></barline>'
    middle = '<barline location="middle"><bar-style>light-light</bar-style></barline>'
    bars = (
        note(),
        left.format("light-light") + note() + dashed,
        note(),
        forward + note(),
        note("C", 8) + middle,
    )
    score = score_from(score_file(*bars, note() + FINAL))
    assert [measure.double_bar for measure in score.measures] == [True, False, True, False, False, True]


def test_numbers_endings_and_breaks(score_file: Build, note: Note) -> None:
    ending = '<barline location="left"><ending number="1, 2" type="start"/></barline>'
    close = '<barline location="right"><ending number="1, 2" type="stop"/><repeat direction="backward"/></barline>'
    bars = (
        note(),
        '<print new-system="yes"/>' + note(),
        '<print new-page="yes"/>' + ending + note() + close,
        '<print new-page="no"/>' + note(),
    )
    measures = score_from(score_file(*bars, numbers=["0", "X1", "1a", ""])).measures
    assert [measure.number for measure in measures] == ["0", "X1", "1a", ""]
    assert [measure.ending_numbers for measure in measures] == [(), (), (1, 2), ()]
    assert [measure.starts_system for measure in measures] == [True, True, True, False]
    assert [measure.starts_page for measure in measures] == [True, False, True, False]


def test_compound_time_signatures(score_file: Build, note: Note) -> None:
    def time(inside: str) -> str:
        return f"<attributes><time>{inside}</time></attributes>"

    beats = "<beats>{}</beats><beat-type>{}</beat-type>"
    bars = (
        note(),
        time(beats.format("3+2", 8)),
        time(beats.format(3, 8) + beats.format(1, 4)),
        time("<senza-misura/>"),
        time(beats.format(6, 8)),
    )
    measures = score_from(score_file(*bars)).measures
    assert [float(measure.length_ql) for measure in measures] == [4, 2.5, 2.5, 2.5, 3]
    assert [(measure.beats, measure.beat_type) for measure in measures] == [
        (4, 4),
        (5, 8),
        (5, 8),
        (5, 8),
        (6, 8),
    ]


@pytest.mark.parametrize(
    ("written", "said"),
    [
        # Names in catalogues stand surname first (practice of libraries, from memory).
        ("Chopin, Fryderyk", "Fryderyk Chopin"),
        ("Żeleński, Władysław", "Władysław Żeleński"),
        ("Weber, Carl Maria von (1786-1826)", "Carl Maria von Weber (1786-1826)"),
        ("Saint-Saëns, Camille", "Camille Saint-Saëns"),
        ("Mozart, W. A.", "W. A. Mozart"),
        ("van Beethoven, Ludwig", "Ludwig van Beethoven"),
        # Not names of one person.
        ("Brahms, arr. Joachim", "Brahms, arr. Joachim"),
        ("Chopin, op. 29", "Chopin, op. 29"),
        ("Bach, Gounod and others", "Bach, Gounod and others"),
        ("Smith, John, Jr.", "Smith, John, Jr."),
        ("Johannes Brahms (1833-1897)", "Johannes Brahms (1833-1897)"),
    ],
)
def test_given_names_come_first(written: str, said: str) -> None:
    creator = f'<identification><creator type="composer">{written}</creator></identification>'
    assert read_header(etree.fromstring(f"<score-partwise>{creator}</score-partwise>")).composer == said


@pytest.mark.parametrize(
    ("written", "said"),
    [
        ("POLONAISE.", "POLONAISE"),
        ("Trio in B maj.", "Trio in B maj."),
        ("Adieu...", "Adieu..."),
        ("No. 1.", "No. 1."),
    ],
)
def test_a_title_ends_without_a_full_stop(written: str, said: str) -> None:
    title = f"<work><work-title>{written}</work-title></work>"
    assert read_header(etree.fromstring(f"<score-partwise>{title}</score-partwise>")).title == said
