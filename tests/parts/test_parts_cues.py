"""Cues: which part gives them, what they sound, and that nobody plays them."""

from collections.abc import Sequence
from copy import deepcopy
from dataclasses import replace
from pathlib import Path

import pytest
from lxml import etree

from optimizer.parts.cue_line import sources
from optimizer.parts.cue_reader import MOST_LEDGER_LINES
from optimizer.parts.cues import Cue, with_cues
from optimizer.parts.model import Cues, PartsSettings
from optimizer.score.events import played_notes
from optimizer.score.load import ScoreFile
from optimizer.score.model import PartKind, Score
from optimizer.score.read import score_from
from optimizer.settings import Settings
from optimizer.turns.hands import choose_player, hand_events

SETTINGS = PartsSettings(Settings(), cue_bars=3, cue_s=600.0)
TREBLE, BASS = ("G", 2), ("F", 4)
REST = '<note><rest measure="yes"/><duration>{}</duration><voice>1</voice></note>'
IN_B_FLAT = "<transpose><diatonic>-1</diatonic><chromatic>-2</chromatic></transpose>"
IN_E_FLAT = "<transpose><diatonic>-5</diatonic><chromatic>-9</chromatic></transpose>"
IN_F = "<transpose><diatonic>-4</diatonic><chromatic>-7</chromatic></transpose>"
BARS = 7  # the reader plays in the first and the last


def note(pitch: str, duration: int, kind: str, more: str = "") -> str:
    step, alter, octave = pitch[0], pitch[1:-1], pitch[-1]
    altered = f"<alter>{alter}</alter>" if alter else ""
    return (
        f"<note><pitch><step>{step}</step>{altered}<octave>{octave}</octave></pitch>"
        f"<duration>{duration}</duration><voice>1</voice><type>{kind}</type>{more}</note>"
    )


def tune(pitches: Sequence[str], divisions: int = 1, more: str = "") -> str:
    """A bar of quarters."""
    return "".join(note(pitch, divisions, "quarter", more) for pitch in pitches)


def part(
    bars: Sequence[str],
    clef: tuple[str, int] = TREBLE,
    *,
    divisions: int = 1,
    fifths: int = 0,
    transpose: str = "",
) -> str:
    first = (
        f"<attributes><divisions>{divisions}</divisions><key><fifths>{fifths}</fifths></key>"
        f"<time><beats>4</beats><beat-type>4</beat-type></time>"
        f"<clef><sign>{clef[0]}</sign><line>{clef[1]}</line></clef>{transpose}</attributes>"
    )
    return "".join(
        f'<measure number="{number}">{first if number == 1 else ""}{bar}</measure>'
        for number, bar in enumerate(bars, 1)
    )


def reader(*, pitches: Sequence[str] = ("C5",) * 4, clef: tuple[str, int] = TREBLE, **more: object) -> str:
    """One who rests in all bars but the first and the last."""
    played = tune(pitches)
    return part([played, *[REST.format(4)] * (BARS - 2), played], clef, **more)  # type: ignore[arg-type]


def file_of(*parts: tuple[str, str]) -> ScoreFile:
    """A score from names, with their abbreviations after a bar, and contents."""
    listed, written = "", ""
    for number, (names, content) in enumerate(parts, 1):
        name, _, short = names.partition("|")
        listed += (
            f'<score-part id="P{number}"><part-name>{name}</part-name>'
            f"<part-abbreviation>{short}</part-abbreviation></score-part>"
        )
        written += f'<part id="P{number}">{content}</part>'
    text = f'<score-partwise version="4.0"><part-list>{listed}</part-list>{written}</score-partwise>'
    return ScoreFile(Path("score.musicxml"), "", etree.fromstring(text))


def cued(
    full: ScoreFile, index: int, settings: PartsSettings = SETTINGS
) -> tuple[tuple[Cue, ...], etree._Element, Score]:
    """The cues of a part, its score's tree, and that read again."""
    root = deepcopy(full.root)
    for other in [other for at, other in enumerate(root.findall("part")) if at != index]:
        root.remove(other)
    listed = root.find("part-list")
    assert listed is not None
    for entry in [entry for at, entry in enumerate(listed) if at != index]:
        listed.remove(entry)
    own = root.find("part")
    assert own is not None
    cues = with_cues(own, sources(full.root, score_from(full)), index, settings)
    return cues, root, score_from(replace(full, root=root))


def sounding(score: Score, first: int, last: int, part_index: int = 0) -> list[float]:
    return [
        note.sounding_midi
        for note in score.notes
        if note.part_index == part_index
        and first <= note.measure_index <= last
        and note.sounding_midi is not None
    ]


@pytest.mark.parametrize("theirs", ["", IN_B_FLAT, IN_E_FLAT, IN_F])
@pytest.mark.parametrize("ours", ["", IN_B_FLAT, IN_E_FLAT, IN_F])
def test_cues_sound_what_they_cue(theirs: str, ours: str) -> None:
    """Against music21, which turns written into sounding pitches itself."""
    music21 = pytest.importorskip("music21")
    lines = [tune(["F14", "B-14", "E4", "G4"])] * BARS
    full = file_of(("Horn", part(lines, transpose=theirs)), ("Sax", reader(transpose=ours)))
    cues, root, score = cued(full, 1)
    assert [(cue.first, cue.last) for cue in cues] == [(BARS - 3, BARS - 2)]
    assert sounding(score, BARS - 3, BARS - 2) == sounding(score_from(full), BARS - 3, BARS - 2)

    def names(tree: etree._Element) -> list[str]:
        parsed = music21.converter.parse(etree.tostring(tree), format="musicxml").toSoundingPitch()
        measures = parsed.parts[0].getElementsByClass("Measure")[BARS - 3 : BARS - 1]
        return [each.pitch.nameWithOctave for bar in measures for each in bar.recurse().notes]

    assert names(root) == names(full.root)  # spelled alike, too: F sharp is no G flat


def test_nobody_plays_a_cue() -> None:
    full = file_of(("Flute", part([tune(["C5", "D5", "E5", "F5"])] * BARS)), ("Oboe", reader()))
    before = score_from(full)
    _, _, score = cued(full, 1)
    assert sum(note.cue for note in score.notes) == 8
    events = hand_events(score, choose_player(score))
    alone = [note for note in played_notes(before) if note.part_index == 1]
    assert [event[0] for event in events["both"]] == [note.onset_s for note in alone]
    assert score.measures == before.measures


def test_cues_are_legal_musicxml(shared_data: Path) -> None:
    schema_file = shared_data / "xsd" / "musicxml.xsd"
    xmlschema = pytest.importorskip("xmlschema")
    triplet = (
        "<time-modification><actual-notes>3</actual-notes><normal-notes>2</normal-notes></time-modification>"
    )
    run = "".join(note("C5", 2, "eighth", triplet) for _ in range(3)) + note("D5", 18, "half", "<dot/>")
    full = file_of(("Flute", part([run] * BARS, divisions=6)), ("Oboe", reader()))
    _, root, score = cued(full, 1)
    xmlschema.XMLSchema(str(schema_file), locations={}).validate(etree.tostring(root).decode())
    # The reader's quarters were not divided; triplets need them to be.
    found = [(note.offset_ql, note.duration_ql) for note in score.notes if note.cue]
    source = [
        (note.offset_ql, note.duration_ql)
        for note in score_from(full).notes
        if note.part_index == 0 and note.measure_index in (BARS - 3, BARS - 2)
    ]
    assert found == source


def test_lines_far_from_the_staff_are_moved_and_the_label_says_so() -> None:
    full = file_of(
        ("Flute|Fl.", part([tune(["C6", "D6", "G6", "E6"])] * BARS)),
        ("Cello|Vc.", reader(clef=BASS, pitches=["C3"] * 4)),
    )
    _, root, score = cued(full, 1)
    (words,) = root.findall(".//words")
    assert words.text == "Fl. (15ma lower)"
    cues = [note.pitch for note in score.notes if note.cue and note.pitch]
    # Three ledger lines above a bass staff: G4 stands on the third, A4 above it (theory of clefs).
    assert max(pitch.midi for pitch in cues) <= 69
    assert MOST_LEDGER_LINES == 3
    assert {pitch.step for pitch in cues} == {"C", "D", "G", "E"}


@pytest.mark.parametrize(
    ("signs", "fifths", "expected"),
    [
        (["F15", "F15", "F5", "F5"], 0, ["sharp", None, "natural", None]),
        (["F15", "F5", "B-14", "B4"], 1, [None, "natural", "flat", "natural"]),
    ],
)
def test_accidentals_stand_where_the_key_and_the_bar_do_not_say_it(
    signs: Sequence[str], fifths: int, expected: Sequence[str | None]
) -> None:
    """Rules of notation: a sign holds to the end of its bar, at its octave."""
    lines = part([tune(signs)] * BARS, fifths=fifths)
    _, root, _ = cued(file_of(("Flute", lines), ("Oboe", reader(fifths=fifths))), 1)
    notes = root.findall("part/measure")[BARS - 2].findall("note")
    assert [each.findtext("accidental") for each in notes if each.find("cue") is not None] == expected


def test_the_moving_top_line_gives_the_cue() -> None:
    held = note("C5", 4, "whole")
    full = file_of(
        ("Violin 1", part([tune(["G5", "A5", "B5", "C6"])] * BARS)),
        ("Violin 2", part([held] * BARS)),
        ("Viola", part([tune(["C4", "E4", "G4", "E4"])] * BARS)),
        ("Flute", reader(pitches=["G5"] * 4)),
    )
    cues, _, _ = cued(full, 3)
    assert [cue.line.part_index for cue in cues] == [0]


def test_who_stops_early_or_enters_as_well_gives_no_cue() -> None:
    melody, silence = tune(["C5", "D5", "E5", "G5"]), REST.format(4)
    late = "<note><rest/><duration>3</duration><voice>1</voice><type>half</type><dot/></note>" + note(
        "C5", 1, "quarter"
    )
    full = file_of(
        ("Oboe", part([silence] * (BARS - 2) + [late, melody])),  # enters with the reader
        ("Bassoon", part([melody] * (BARS - 2) + [silence, melody])),  # stops before
        ("Clarinet", part([tune(["C4", "D4", "E4", "D4"])] * BARS)),
        ("Flute", reader()),
    )
    assert [cue.line.part_index for cue in cued(full, 3)[0]] == [2]
    assert cued(file_of(("Oboe", part([silence] * (BARS - 1) + [melody])), ("Flute", reader())), 1)[0] == ()


def test_a_solo_is_heard_above_others() -> None:
    solo = "<direction><direction-type><words>Solo</words></direction-type></direction>"
    low, high = tune(["C4", "D4", "E4", "D4"]), tune(["C5", "D5", "E5", "D5"])
    voices = [("Oboe", part([high] * BARS)), ("Horn", part([low] * (BARS - 2) + [solo + low, low]))]
    assert [cue.line.part_index for cue in cued(file_of(*voices, ("Flute", reader())), 2)[0]] == [1]


@pytest.mark.parametrize(
    ("settings", "count"),
    [
        (replace(SETTINGS, cue_bars=5), 0),  # the rest is not longer than that
        (replace(SETTINGS, cue_bars=4), 1),
        (replace(SETTINGS, cue_bars=99, cue_s=12.0), 1),  # 5 bars of 4/4 at 96: 12.5 s
        (replace(SETTINGS, cue_bars=99, cue_s=13.0), 0),
        (replace(SETTINGS, cues=Cues.OFF), 0),
    ],
)
def test_only_long_rests_need_cues(settings: PartsSettings, count: int) -> None:
    full = file_of(("Flute", part([tune(["C5", "D5", "E5", "F5"])] * BARS)), ("Oboe", reader()))
    assert len(cued(full, 1, settings)[0]) == count


def repeated(full: ScoreFile, bar: int, direction: str) -> ScoreFile:
    """With a repeat sign in all parts: before a bar, or at its end."""
    for element in full.root.findall("part"):
        measure = element.findall("measure")[bar]
        line = etree.Element("barline", location="left" if direction == "forward" else "right")
        etree.SubElement(line, "repeat", direction=direction)
        measure.insert(0 if direction == "forward" else len(measure), line)
    return full


def test_no_cue_reaches_over_a_repeat() -> None:
    """The fifth bar is played again before the sixth is reached: the whole rest counts, the bar before is not shown."""
    full = file_of(("Flute", part([tune(["C5", "D5", "E5", "F5"])] * BARS)), ("Oboe", reader()))
    assert [(cue.first, cue.last) for cue in cued(repeated(full, BARS - 3, "backward"), 1)[0]] == [
        (BARS - 2, BARS - 2)
    ]


def test_an_entry_at_a_start_repeat_has_its_cue_in_the_bars_before() -> None:
    """Who reads on into the repeat for the first time has rested for five bars."""
    full = file_of(("Flute", part([tune(["C5", "D5", "E5", "F5"])] * BARS)), ("Oboe", reader()))
    assert [(cue.first, cue.last) for cue in cued(repeated(full, BARS - 1, "forward"), 1)[0]] == [
        (BARS - 3, BARS - 2)
    ]


def test_an_entry_reached_only_by_a_repeat_has_no_cue() -> None:
    """Played, played, then a rest that leads back: no bar before the entry is read after it."""
    melody, silence = tune(["C5", "D5", "E5", "F5"]), REST.format(4)
    oboe = part([melody, melody, *[silence] * (BARS - 2)])
    full = file_of(("Flute", part([melody] * BARS)), ("Oboe", oboe))
    assert cued(repeated(repeated(full, 1, "forward"), BARS - 1, "backward"), 1)[0] == ()


def test_words_of_a_cue_do_not_make_an_instrument_sing() -> None:
    lyric = "<lyric><syllabic>single</syllabic><text>la</text></lyric>"
    sung = part([tune(["C5", "D5", "E5", "F5"], more=lyric)] * BARS)
    _, root, score = cued(file_of(("Soprano", sung), ("Violin", reader())), 1)
    assert [text.text for text in root.iter("text")] == ["la"] * 8
    assert score.parts[0].kind is PartKind.STRINGS


def test_a_player_without_pitches_reads_the_rhythm_above_the_staff() -> None:
    drum = reader(clef=("percussion", 2), pitches=["B4"] * 4)
    _, root, score = cued(
        file_of(("Flute", part([tune(["C5", "D15", "E5", "F5"])] * BARS)), ("Drum", drum)), 1
    )
    strokes = [each for each in root.iter("note") if each.find("cue") is not None]
    assert len(strokes) == 8
    assert {each.findtext("unpitched/display-octave") for each in strokes} == {"5"}
    assert not any(each.find("accidental") is not None for each in strokes)
    assert [note.offset_ql for note in score.notes if note.cue] == [0, 1, 2, 3] * 2


STROKES = "<notations><ornaments><tremolo{}>3</tremolo></ornaments></notations>"
TWICE = "<time-modification><actual-notes>2</actual-notes><normal-notes>1</normal-notes></time-modification>"
THRICE = "<time-modification><actual-notes>3</actual-notes><normal-notes>2</normal-notes></time-modification>"
STROKE = "<notations><ornaments><tremolo>1</tremolo></ornaments></notations>"
BEAMS = [f'<beam number="1">{place}</beam>' for place in ("begin", "continue", "continue", "end")]


def sixteenths(pitches: Sequence[str]) -> str:
    """A bar of 4/4, beamed by fours, four divisions."""
    return "".join(note(pitch, 1, "16th", BEAMS[place % 4]) for place, pitch in enumerate(pitches))


def pair(upper: str, lower: str) -> str:
    """Two minims in turn for the time of one, four divisions."""
    strokes = [STROKES.format(f' type="{kind}"') for kind in ("start", "stop")]
    return note(upper, 4, "half", TWICE + strokes[0]) + note(lower, 4, "half", TWICE + strokes[1])


@pytest.mark.parametrize(
    ("bar", "shown", "label"),
    [
        (sixteenths(["C4", "C5"] * 8), [("whole", 0, 60, 4.0)], "Pno. trem."),
        (sixteenths(["C4"] * 16), [("whole", 0, 60, 4.0)], "Pno. trem."),
        (
            sixteenths(["C4", "C5"] * 5 + ["D4", "E4", "F4", "G4", "A4", "B4"]),
            [("half", 0, 60, 2.0), ("eighth", 0, 60, 0.5)]
            + [("16th", 0, midi, 0.25) for midi in (62, 64, 65, 67, 69, 71)],
            "Pno. trem.",
        ),
        (
            pair("C5", "E5") + note("D5", 8, "half"),
            [("half", 0, 72, 2.0), ("half", 0, 74, 2.0)],
            "Pno.",
        ),
        (note("C5", 16, "whole", STROKES.format("")), [("whole", 0, 72, 4.0)], "Pno. trem."),
        (
            note("C5", 4, "quarter", "<dot/>" + THRICE + STROKE) * 2 + note("E5", 8, "half"),
            [("quarter", 0, 72, 1.0)] * 2 + [("half", 0, 76, 2.0)],  # three quavers each, in the time of two
            "Pno.",
        ),
        (
            sixteenths(["C4", "E4", "G4", "E4"] * 4),
            [("16th", 0, midi, 0.25) for midi in (60, 64, 67, 64) * 4],
            "Pno.",
        ),
    ],
)
def test_tremolo_is_cued_as_held_notes(
    bar: str, shown: Sequence[tuple[str, int, int, float]], label: str
) -> None:
    full = file_of(("Piano|Pno.", part([bar] * BARS, divisions=4)), ("Flute", reader()))
    _, root, score = cued(full, 1)
    measure = root.findall("part/measure")[BARS - 2]
    cues = [each for each in measure.iterchildren("note") if each.find("cue") is not None]
    written = [(each.findtext("type"), len(each.findall("dot"))) for each in cues]
    heard = [
        (note.sounding_midi, note.duration_ql)
        for note in score.notes
        if note.cue and note.measure_index == BARS - 2
    ]
    assert [(*each, *sound) for each, sound in zip(written, heard, strict=True)] == list(shown)
    assert [words.text for words in root.iter("words")] == [label]
    assert not list(root.iter("tremolo"))
    # Beams are whole, or there are none: the rest of a group of four that is partly held has none.
    beams = [each.findtext("beam") for each in cues if each.find("beam") is not None]
    assert beams == ["begin", "continue", "continue", "end"] * (len(beams) // 4)


@pytest.mark.parametrize("bar", [sixteenths(["G5", "B5"] * 8), pair("G5", "B5") * 2])
def test_a_moving_line_gives_the_cue_rather_than_tremolo(bar: str) -> None:
    """Even the top line, near the player's register."""
    full = file_of(
        ("Violin", part([bar] * BARS, divisions=4)),
        ("Viola", part([tune(["C4", "E4", "G4", "A4"])] * BARS)),
        ("Flute", reader(pitches=["G5"] * 4)),
    )
    assert [cue.line.part_index for cue in cued(full, 2)[0]] == [1]


EIGHTHS = ["begin", "end"] * 4


@pytest.mark.parametrize(
    ("pitches", "way", "rest"),
    [
        # All far below: stems up are nearest to the staff; the rest hangs from a line below the lowest note, B3.
        (["A4", "D4", "G4", "B3", "F4", "G4", "F4", "G4"], "up", "F3"),
        (["F5", "E5", "G5", "C6", "B5", "C6", "B5", "C6"], "down", "G6"),  # a line above C6
    ],
)
def test_the_players_rest_stands_opposite_the_stems(pitches: Sequence[str], way: str, rest: str) -> None:
    """Beams that a rest hung over were drawn beyond it."""
    bar = "".join(
        note(pitch, 1, "eighth", f'<beam number="1">{EIGHTHS[place]}</beam>')
        for place, pitch in enumerate(pitches)
    )
    own = REST.replace("{}", "8")
    in_two = "<note><rest/><duration>4</duration><voice>1</voice></note>" * 2
    played = tune(["C5"] * 4, divisions=2)
    flute = part([played, *[own] * (BARS - 3), in_two, played], divisions=2)
    _, root, _ = cued(file_of(("Horn", part([bar] * BARS, divisions=2)), ("Flute", flute)), 1)
    for measure in root.findall("part/measure")[BARS - 3 : BARS - 1]:
        cues = [each for each in measure.iterchildren("note") if each.find("cue") is not None]
        assert {each.findtext("stem") for each in cues} == {way}
        (own_rest,) = [each for each in measure.iterchildren("note") if each.find("cue") is None]
        shown = own_rest.find("rest")
        assert shown is not None
        assert shown.get("measure") == "yes"  # one for the bar, though the score has two
        assert f"{shown.findtext('display-step')}{shown.findtext('display-octave')}" == rest
