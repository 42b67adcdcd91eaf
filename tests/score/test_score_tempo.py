"""Clock time of measures, against the MusicXML documentation and facts.md.

Sources: W3C musicxml.xsd 4.0 (sound, offset, metronome); tempo words: music21 `defaultTempoValues`; fermata:
"twice the written length is not unusual" (general dictionary of music). What has no source is marked.
"""

from collections.abc import Callable
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from music21.tempo import defaultTempoValues

from optimizer.score import Score, ScoreFile, clock_s, score_from
from optimizer.score.tempo import BREATH_S, CAESURA_S, GRADUAL_FACTOR
from optimizer.score.tempo_words import ITALIAN, LESS, MORE, TEMPO_WORDS, Ask, tempo_wish

Build = Callable[..., ScoreFile]
Note = Callable[..., str]


def words(text: str, sound: str = "", offset: str = "") -> str:
    shown = f"<direction-type><words>{text}</words></direction-type>{offset}"
    return f"<direction>{shown}{sound and f'<sound {sound}/>'}</direction>"


def metronome(unit: str, per_minute: str, dots: int = 0, sound: str = "") -> str:
    mark = f"<beat-unit>{unit}</beat-unit>{'<beat-unit-dot/>' * dots}<per-minute>{per_minute}</per-minute>"
    shown = f"<direction-type><metronome>{mark}</metronome></direction-type>"
    return f"<direction>{shown}{sound and f'<sound {sound}/>'}</direction>"


def seconds(score: Score) -> list[float]:
    return [round(clock.duration_s, 4) for clock in score.clocks]


def test_no_tempo_takes_the_stated_default(score_file: Build, note: Note) -> None:
    score = score_from(score_file(note()))
    assert seconds(score) == [2.5]  # four quarters at 96
    assert score.tempo_source == "no tempo in the file: 96 quarters a minute taken"
    assert seconds(score_from(score_file(note()), default_tempo=60.0)) == [4.0]


@pytest.mark.parametrize(
    ("mark", "source"),
    [
        ('<sound tempo="120"/>', "playback tempi in the file"),
        (words("x", 'tempo="120"'), "playback tempi in the file"),
        (metronome("quarter", "120"), "metronome marks"),
        (metronome("half", "60"), "metronome marks"),
        (metronome("quarter", "80", dots=1), "metronome marks"),
        (metronome("eighth", "137.14286", dots=2), "metronome marks"),
        (metronome("quarter", "ca. 116-124"), "metronome marks"),
        (metronome("quarter", "60", sound='tempo="120"'), "playback tempi in the file"),
        (words("Adagio") + '<sound tempo="120"/>', "playback tempi in the file"),
        (words("Adagio") + metronome("quarter", "120"), "metronome marks"),
    ],
)
def test_one_tempo(mark: str, source: str, score_file: Build, note: Note) -> None:
    # Precedence: sound, then metronome mark, then words.
    score = score_from(score_file(mark + note()))
    assert seconds(score) == [2.0]
    assert score.tempo_source == source


def test_tempo_words_are_those_of_music21() -> None:
    assert {word: float(defaultTempoValues[word]) for word in ITALIAN} == ITALIAN
    assert set(TEMPO_WORDS.values()) == set(ITALIAN.values())


@pytest.mark.parametrize(
    ("text", "tempo"),
    [
        ("Andante molto tranquillo", 72),
        ("ALLEGRO ASSAI", 132),
        ("Molto vivace", 160),
        ("Sehr langsam", 56),
        ("Äußerst rasch und feurig", 132),
        ("Très lent", 52),
        ("Tempo di Menuetto", 108),
    ],
)
def test_words_set_the_tempo(text: str, tempo: int, score_file: Build, note: Note) -> None:
    score = score_from(score_file(words(text) + note()))
    assert seconds(score) == [round(240 / tempo, 4)]
    assert score.tempo_source == "tempo words"


@pytest.mark.parametrize(
    "text", ["dolce", "cresc. poco a poco", "fast ohne Ausdruck", "con moto", "III.", "sempre"]
)
def test_other_words_say_nothing_about_tempo(text: str) -> None:
    assert tempo_wish(text) is None


@pytest.mark.parametrize(
    ("text", "ask"),
    [
        ("a tempo", Ask.RETURN),
        ("Im Zeitmaß", Ask.RETURN),
        ("Tempo I", Ask.FIRST),
        ("Tempo primo", Ask.FIRST),
        ("1er mouvement", Ask.FIRST),
        ("poco rit.", Ask.SLOWER),
        ("rallentando", Ask.SLOWER),
        ("Allmählich langsamer", Ask.SLOWER),
        ("Poco a poco più lento", Ask.SLOWER),
        ("accelerando", Ask.FASTER),
        ("stringendo", Ask.FASTER),
        ("più mosso", Ask.SCALE),
        ("meno Presto", Ask.SCALE),
        ("Tempo di Marcia", Ask.TEMPO),
    ],
)
def test_what_words_ask_for(text: str, ask: Ask) -> None:
    wish = tempo_wish(text)
    assert wish is not None
    assert wish.ask is ask


def test_tempo_changes_inside_a_measure(score_file: Build, note: Note) -> None:
    bar = '<sound tempo="60"/>' + note("C", 8) + '<sound tempo="120"/>' + note("D", 8)
    score = score_from(score_file(bar, note()))
    assert score.clocks[0].knots == ((0, 0.0), (2, 2.0), (4, 3.0))
    assert seconds(score) == [3.0, 2.0]


def test_offset_of_a_sound(score_file: Build, note: Note) -> None:
    # xsd 4.0, offset: a direction's offset moves what is heard only with sound="yes"; a sound's own always
    # does.
    own = '<sound tempo="60"/>' + '<sound tempo="120"><offset>8</offset></sound>' + note()
    assert seconds(score_from(score_file(own))) == [3.0]
    silent = '<sound tempo="60"/>' + words("x", 'tempo="120"', "<offset>8</offset>") + note()
    assert seconds(score_from(score_file(silent))) == [2.0]
    heard = '<sound tempo="60"/>' + words("x", 'tempo="120"', '<offset sound="yes">8</offset>') + note()
    assert seconds(score_from(score_file(heard))) == [3.0]


def test_metric_modulation(score_file: Build, note: Note) -> None:
    # The old quarter lasts as long as the new dotted quarter (from memory): 120 becomes 180.
    sides = "<beat-unit>quarter</beat-unit><beat-unit>quarter</beat-unit><beat-unit-dot/>"
    change = f"<direction><direction-type><metronome>{sides}</metronome></direction-type></direction>"
    score = score_from(score_file('<sound tempo="120"/>' + note(), change + note()))
    assert seconds(score) == [2.0, round(240 / 180, 4)]
    relation = (
        "<metronome-note><metronome-type>quarter</metronome-type></metronome-note><metronome-relation>equals"
        "</metronome-relation><metronome-note><metronome-type>half</metronome-type></metronome-note>"
    )
    change = f"<direction><direction-type><metronome>{relation}</metronome></direction-type></direction>"
    assert seconds(score_from(score_file('<sound tempo="120"/>' + note(), change + note()))) == [2.0, 1.0]


def test_a_tempo_and_tempo_primo(score_file: Build, note: Note) -> None:
    bars = (
        '<sound tempo="120"/>' + note(),
        words("Adagio") + note(),
        words("rit.") + note("C", 8) + '<sound tempo="40"/>' + note("D", 8),
        words("a tempo") + note(),
        words("Tempo I") + note(),
    )
    adagio_s = round(240 / 56, 4)
    score = score_from(score_file(*bars))
    assert seconds(score) == [2.0, adagio_s, round(120 / 56 + 120 / 40, 4), adagio_s, 2.0]


def test_more_and_less(score_file: Build, note: Note) -> None:
    bars = '<sound tempo="100"/>' + note(), words("più mosso") + note(), words("Tempo I") + note()
    assert seconds(score_from(score_file(*bars))) == [2.4, round(2.4 / MORE, 4), 2.4]
    bars = '<sound tempo="100"/>' + note(), words("meno mosso") + note()
    assert seconds(score_from(score_file(*bars))) == [2.4, round(2.4 / LESS, 4)]


def test_gradual_change_reaches_the_next_mark(score_file: Build, note: Note) -> None:
    # Beat by beat towards 0.7 of the tempo (common practice, no source).
    bars = '<sound tempo="60"/>' + note(), words("rit.") + note(), words("a tempo") + note()
    score = score_from(score_file(*bars))
    goal = GRADUAL_FACTOR[Ask.SLOWER]
    expected = sum(1 / (1 + (goal - 1) * beat / 4) for beat in range(4))
    assert seconds(score) == [4.0, round(expected, 4), 4.0]


def test_gradual_change_without_an_end_gives_back_the_tempo(score_file: Build, note: Note) -> None:
    bars = '<sound tempo="60"/>' + note(), words("accel.") + note(), note(), note()
    first, *gradual, last = seconds(score_from(score_file(*bars)))
    assert first == last == 4.0
    assert 4.0 > gradual[0] > gradual[1]


@pytest.mark.parametrize("length", [4, 8, 16])
def test_fermata_doubles_its_note_once(length: int, score_file: Build, note: Note) -> None:
    held = note("C", length, extra="<notations><fermata/></notations>")
    rest = note("D", 16 - length) if length < 16 else ""
    score = score_from(score_file(parts=[['<sound tempo="60"/>' + held + rest], [held + rest]]))
    assert seconds(score) == [4.0 + length / 4]


def test_fermata_on_a_rest(score_file: Build) -> None:
    rest = '<note><rest measure="yes"/><duration>16</duration><notations><fermata/></notations></note>'
    assert seconds(score_from(score_file('<sound tempo="60"/>' + rest))) == [8.0]


def test_fermatas_that_overlap_hold_the_time_they_share(score_file: Build, note: Note) -> None:
    # A whole note waits for the half note that comes later (common practice, no source).
    hold = "<notations><fermata/></notations>"
    parts = [['<sound tempo="60"/>' + note("C", 16, extra=hold)], [note("D", 8) + note("E", 8, extra=hold)]]
    score = score_from(score_file(parts=parts))
    assert score.clocks[0].knots == ((0, 0.0), (2, 2.0), (4, 6.0))


def test_pauses(score_file: Build, note: Note) -> None:
    for sign, pause_s in (("caesura", CAESURA_S), ("breath-mark", BREATH_S)):
        marked = note("C", 8, extra=f"<notations><articulations><{sign}/></articulations></notations>")
        score = score_from(
            score_file(parts=[['<sound tempo="60"/>' + marked + note("D", 8)], [marked + note("D", 8)]])
        )
        assert score.clocks[0].knots == ((0, 0.0), (2, 2.0), (2, 2.0 + pause_s), (4, 4.0 + pause_s))
    both = "<notations><articulations><caesura/><breath-mark/></articulations></notations>"
    score = score_from(score_file('<sound tempo="60"/>' + note("C", 8, extra=both) + note("D", 8)))
    assert seconds(score) == [4.0 + CAESURA_S]
    barline = '<barline location="right"><fermata/></barline>'
    assert seconds(score_from(score_file('<sound tempo="60"/>' + note() + barline))) == [4.0 + CAESURA_S]


def test_first_tempo_counts_from_the_pickup(score_file: Build, note: Note) -> None:
    numbers = ['0" implicit="yes', "1"]
    score = score_from(score_file(note("C", 4), '<sound tempo="60"/>' + note(), numbers=numbers))
    assert seconds(score) == [1.0, 4.0]
    late = note("C", 4) + '<sound tempo="60"/>' + note("D", 12)
    assert seconds(score_from(score_file(late))) == [4.0]


def test_each_movement_starts_afresh(score_file: Build, note: Note) -> None:
    final = '<barline location="right"><bar-style>light-heavy</bar-style></barline>'
    bars = '<sound tempo="60"/>' + note(), note() + final, note(), note()
    score = score_from(score_file(*bars, numbers=["1", "2", "1", "2"]))
    assert seconds(score) == [4.0, 4.0, 2.5, 2.5]
    assert score.tempo_source == "playback tempi in the file, 96 quarters a minute where nothing is said"


def test_figures_of_any_length(score_file: Build, note: Note) -> None:
    """xs:decimal has no limit of digits and may begin with its point (W3C XML Schema part 2, decimal)."""
    for figure, second in (("66.66666666666667", 3.6), ("60.", 4.0), ("+60.000000000000000001", 4.0)):
        assert seconds(score_from(score_file(f'<sound tempo="{figure}"/>' + note()))) == [second]
    low = note("C", 8, before="<cue/>").replace("<octave>", "<alter>-.5</alter><octave>")
    score = score_from(score_file(low + note("D", 8).replace(">8<", ">8.0000000000001<")))
    assert [item.sounding_midi for item in score.notes] == [59.5, 62]
    assert score.measures[0].length_ql == 4


def test_nonsense_tempi_are_left_out(score_file: Build, note: Note) -> None:
    for figure in ("0", "1e9", "-5", "99999"):
        assert seconds(score_from(score_file(f'<sound tempo="{figure}"/>' + note()))) == [2.5]


DIRECTIONS = st.sampled_from(
    [
        "",
        words("rit."),
        words("accel."),
        words("a tempo"),
        words("Tempo I"),
        words("Presto"),
        words("meno mosso"),
        '<sound tempo="72"/>',
        metronome("half", "50"),
    ]
)
SIGNS = st.sampled_from(["", "<fermata/>", "<articulations><caesura/></articulations>"])


@settings(deadline=None)
@given(bars=st.lists(st.lists(st.tuples(DIRECTIONS, SIGNS), min_size=4, max_size=4), min_size=1, max_size=6))
def test_time_never_runs_backwards(bars: list[list[tuple[str, str]]], score_file: Build, note: Note) -> None:
    content = [
        "".join(mark + note("C", 4, extra=f"<notations>{sign}</notations>") for mark, sign in bar)
        for bar in bars
    ]
    score = score_from(score_file(*content))
    for measure, clock in zip(score.measures, score.clocks, strict=True):
        assert clock.knots[0] == (0, 0.0)
        assert clock.knots[-1][0] == measure.length_ql
        times = [clock_s(clock, Fraction(step, 8)) for step in range(33)]
        assert times == sorted(times)
        assert times[0] == 0.0
        assert times[-1] == pytest.approx(clock.duration_s)
