"""What stands once in a score and concerns all, rests counted as one, two players on one staff: small scores."""

from collections.abc import Mapping, Sequence
from pathlib import Path
from types import MappingProxyType

import pytest
from lxml import etree

from optimizer.errors import UsageError
from optimizer.parts.extract import extract
from optimizer.parts.model import Cues, Extracted, PartsSettings
from optimizer.score import ScoreFile, score_from
from optimizer.score.multirests import bars_of
from optimizer.settings import Settings

REST = '<note><rest measure="yes"/><duration>16</duration><voice>1</voice></note>'
QUARTER_REST = "<note><rest/><duration>4</duration><voice>1</voice><type>quarter</type></note>"
HALF_REST = "<note><rest/><duration>8</duration><voice>1</voice><type>half</type></note>"
FERMATA = "<notations><fermata/></notations>"


def note(
    step: str = "C", ticks: int = 16, voice: int = 1, extra: str = "", octave: int = 4, before: str = ""
) -> str:
    pitch = f"<pitch><step>{step}</step><octave>{octave}</octave></pitch>"
    return f"<note>{before}{pitch}<duration>{ticks}</duration><voice>{voice}</voice>{extra}</note>"


def said(text: str, sound: str = "", more: str = "") -> str:
    kind = f"<direction-type><words>{text}</words></direction-type>"
    return f"<direction>{kind}{more}{sound}</direction>"


def mark(text: str) -> str:
    return f"<direction><direction-type><rehearsal>{text}</rehearsal></direction-type></direction>"


def taken(
    *parts: Sequence[str],
    names: Sequence[str] = (),
    split: tuple[str, ...] = (),
    players: Mapping[str, int] = MappingProxyType({}),
) -> tuple[Extracted, ...]:
    """The parts of a score given by the contents of its measures, in 4/4, four divisions."""
    begin = "<attributes><divisions>4</divisions><time><beats>4</beats><beat-type>4</beat-type></time></attributes>"
    names = names or [f"Part {number}" for number in range(1, len(parts) + 1)]
    listed = "".join(
        f'<score-part id="P{number}"><part-name>{name}</part-name></score-part>'
        for number, name in enumerate(names, 1)
    )
    text = ""
    for number, measures in enumerate(parts, 1):
        bars = "".join(
            f'<measure number="{index}">{begin if index == 1 else ""}{content}</measure>'
            for index, content in enumerate(measures, 1)
        )
        text += f'<part id="P{number}">{bars}</part>'
    root = etree.fromstring(f"<score-partwise><part-list>{listed}</part-list>{text}</score-partwise>")
    settings = PartsSettings(Settings(), cues=Cues.OFF, split=split, players=players)
    file = ScoreFile(Path("small.musicxml"), "", root)
    return extract(file, score_from(file), settings)


def bar(part: Extracted, number: int) -> etree._Element:
    found = part.file.root.find(f"part/measure[@number='{number}']")
    assert found is not None
    return found


def words(part: Extracted, number: int) -> list[str]:
    return [element.text or "" for element in bar(part, number).iter("words", "rehearsal")]


def rests(part: Extracted) -> list[tuple[str | None, int]]:
    return [(m.get("number"), bars_of(m)) for m in part.file.root.iterfind("part/measure")]


def test_tempo_goes_to_all_ways_of_playing_to_none() -> None:
    tempo = said("Allegro", '<sound tempo="120"/>') + said("pizz.") + said("dolce") + said("cresc.")
    upper, lower = taken([tempo + note()], [note("E")])
    assert words(upper, 1) == ["Allegro", "pizz.", "dolce", "cresc."]
    assert words(lower, 1) == ["Allegro"]
    assert bar(lower, 1).find("direction/sound").get("tempo") == "120"  # type: ignore[union-attr]


def test_what_both_say_is_said_once() -> None:
    upper, lower = taken([said("rit.") + note()], [note("E", 8) + said("rit.") + note("E", 8)])
    assert words(upper, 1) == words(lower, 1) == ["rit."]


def test_from_a_lower_part_upwards_and_system_text() -> None:
    everywhere = said("Attacca").replace("<direction>", '<direction system="also-top">')
    upper, lower = taken([note(), note()], [said("a tempo") + note(), everywhere + note()])
    assert words(upper, 1) == ["a tempo"]
    assert words(upper, 2) == words(lower, 2) == ["Attacca"]


def test_at_its_moment_in_a_bar_of_rest() -> None:
    lower = taken([note("C", 8) + said("rit.") + note("C", 8), note()], [REST, REST])[1]
    step, direction, back = list(bar(lower, 1))[1:4]
    assert (step.tag, step.findtext("duration")) == ("forward", "8")
    assert direction.tag == "direction"
    assert (back.tag, back.findtext("duration")) == ("backup", "8")
    assert rests(lower) == [("1", 1), ("2", 1)]
    assert [m.length_ql for m in score_from(lower.file).measures] == [4, 4]


def test_jumps_and_their_sounds() -> None:
    jump = said("D.C. al Fine", '<sound dacapo="yes"/>')
    fine = said("Fine", '<sound fine="yes"/>')
    parts = taken([note() + fine, note(), note() + jump], [REST, REST, REST])
    orders = [[step.measure_index for step in score_from(part.file).played] for part in parts]
    assert orders == [[0, 1, 2, 0]] * 2


def test_repeats_and_endings_of_the_first_part() -> None:
    forward = '<barline location="left"><repeat direction="forward"/></barline>'
    first = '<barline location="left"><ending number="1" type="start"/></barline>'
    back = (
        '<barline location="right"><ending number="1" type="stop"/><repeat direction="backward"/></barline>'
    )
    upper, lower = taken([note(), forward + note(), first + note() + back, note()], [REST] * 4)
    played = [step.measure_index for step in score_from(upper.file).played]
    assert played == [0, 1, 2, 1, 3]
    assert [step.measure_index for step in score_from(lower.file).played] == played
    assert rests(lower) == [("1", 1), ("2", 1), ("3", 1), ("4", 1)]


@pytest.mark.parametrize(
    "jump",
    [said("D.C. al Fine", '<sound dacapo="yes"/>'), said("Fine", '<sound fine="yes"/>'), said("To Coda")],
)
def test_a_rest_ends_where_a_jump_may_lead_away(jump: str) -> None:
    """It acts at the end of its bar: who counts on over it would miss it."""
    _, lower = taken([note(), jump + note(), note(), note()], [note(), REST, REST, REST])
    assert rests(lower) == [("1", 1), ("2", 1), ("3", 2)]


def test_words_beside_a_sign_go_with_it() -> None:
    """ "To" alone says nothing of a coda, and the sign alone is the coda itself."""
    kinds = "<direction-type><words>To</words></direction-type><direction-type><coda/></direction-type>"
    to_coda = f'<direction>{kinds}<sound tocoda="1"/></direction>'
    _, lower = taken([to_coda + note(), note()], [note(), note()])
    assert words(lower, 1) == ["To"]
    assert bar(lower, 1).find("direction/direction-type/coda") is not None


def test_fermata_over_the_rest_of_who_waits() -> None:
    upper, lower = taken([note("C", 8) + note("D", 8, extra=FERMATA), note()], [REST, REST])
    first, held = bar(lower, 1).findall("note")
    assert (first.findtext("type"), first.find("notations")) == ("half", None)
    assert held.find("notations/fermata") is not None
    assert score_from(upper.file).duration_s == pytest.approx(score_from(lower.file).duration_s)


def test_fermata_over_the_last_rest_of_who_stops_before_the_others() -> None:
    """A last pizzicato under a bar of rest that is held."""
    held = REST.replace("</note>", f"{FERMATA}</note>")
    _, lower = taken([note(), held], [note(), note(ticks=4) + QUARTER_REST + HALF_REST])
    assert [element.find(".//fermata") is not None for element in bar(lower, 2).iter("note")] == [
        False,
        False,
        True,
    ]


def test_no_fermata_over_a_rest_before_notes_that_sound_while_others_wait() -> None:
    _, lower = taken([note(extra=FERMATA)], [note(ticks=4) + QUARTER_REST + note(ticks=8)])
    assert bar(lower, 1).find(".//fermata") is None


def time(beats: int) -> str:
    return f"<attributes><time><beats>{beats}</beats><beat-type>4</beat-type></time></attributes>"


def times(part: Extracted) -> list[str | None]:
    """Of the bars with a time signature their numbers."""
    return [
        m.get("number")
        for m in part.file.root.iterfind("part/measure")
        if m.find("attributes/time") is not None
    ]


def test_a_time_signature_said_again_where_a_section_begins_is_for_all_in_that_meter() -> None:
    """Who rests there sees it too, and who does not have it in the score; at a plain barline nobody needs it."""
    end = '<barline location="right"><bar-style>light-light</bar-style></barline>'
    upper, lower, none = taken(
        [note(), note() + end, time(4) + note(), note(), time(4) + note()],
        [REST, REST, time(4) + REST, REST, time(4) + REST],
        [note()] * 5,
    )
    assert times(upper) == ["1", "3", "5"]
    assert times(lower) == times(none) == ["1", "3"]
    assert rests(lower) == [("1", 2), ("3", 3)]


def test_a_time_signature_is_not_said_again_to_who_is_in_another_meter() -> None:
    end = '<barline location="right"><bar-style>light-light</bar-style></barline>'
    _, other = taken([note(), note() + end, time(4) + note()], [note(), time(2) + note(), note()])
    assert times(other) == ["1", "2"]


def test_a_staff_that_is_small_in_the_score_is_not_in_its_part() -> None:
    size = "<staff-size>70</staff-size>"
    small = f"<attributes><staff-details><staff-lines>1</staff-lines>{size}</staff-details></attributes>"
    only = f"<attributes><staff-details>{size}</staff-details></attributes>"
    one, other = taken([small + note(), note()], [note(), only + note()])
    assert one.file.root.find(".//staff-size") is other.file.root.find(".//staff-size") is None
    assert one.file.root.findtext(".//staff-lines") == "1"
    assert bar(other, 2).find("attributes") is None


def test_no_fermata_over_notes() -> None:
    _, lower = taken([note("D", extra=FERMATA)], [note("E", 8) + note("F", 8)])
    assert bar(lower, 1).find(".//fermata") is None


@pytest.mark.parametrize(
    "sign",
    [
        mark("A"),
        said("Trio"),
        said("Segno", '<sound segno="segno"/>'),
        "<attributes><key><fifths>2</fifths></key></attributes>",
        '<barline location="left"><bar-style>light-light</bar-style></barline>',
    ],
)
def test_rests_are_divided(sign: str) -> None:
    empty = [REST] * 3 + [sign + REST] + [REST] * 2
    lower = taken([note()] * 7, [note("E"), *empty])[1]
    assert rests(lower) == [("1", 1), ("2", 3), ("5", 3)]


def test_what_only_plays_back_divides_nothing() -> None:
    tempi = [f'<sound tempo="{tempo}"/>' for tempo in (60, 90, 120)]
    upper, lower = taken([note(), *(tempo + note() for tempo in tempi)], [note("E"), REST, REST, REST])
    assert rests(lower) == [("1", 1), ("2", 3)]
    assert score_from(lower.file).duration_s == pytest.approx(score_from(upper.file).duration_s)


@pytest.mark.parametrize(
    ("offset", "together"), [("<offset>20</offset>", True), ('<offset sound="yes">8</offset>', False)]
)
def test_a_tempo_at_the_start_of_a_rest_stands_over_it(offset: str, together: bool) -> None:
    """A metronome mark is often only drawn further right, to stand beside the words; what is heard begins at once."""
    metronome = "<metronome><beat-unit>quarter</beat-unit><per-minute>60</per-minute></metronome>"
    aside = f'<direction><direction-type>{metronome}</direction-type>{offset}<sound tempo="60"/></direction>'
    first = said("Adagio", '<sound tempo="72"/>') + aside + REST
    part = taken([first, REST, REST, note()], [note()] * 4)[0]
    assert rests(part)[0] == ("1", 3 if together else 1)
    assert words(part, 1) == ["Adagio"]
    marks = [each for each in bar(part, 1).iter("direction") if each.find("*/metronome") is not None]
    assert len(marks) == 1
    assert (marks[0].find("offset") is None) == together


def test_restated_signs_divide_nothing() -> None:
    again = "<attributes><time><beats>4</beats><beat-type>4</beat-type></time></attributes>"
    lower = taken([note()] * 4, [note("E"), REST, again + REST, REST])[1]
    assert rests(lower) == [("1", 1), ("2", 3)]


def test_keyboards_rest_on_both_staves() -> None:
    two = "<note><rest/><duration>16</duration><voice>{v}</voice><staff>{s}</staff></note>"
    both = two.format(v=1, s=1) + "<backup><duration>16</duration></backup>" + two.format(v=5, s=2)
    piano = taken([note()] * 3, ["<attributes><staves>2</staves></attributes>" + both, both, both])[1]
    assert rests(piano) == [("1", 3)]
    assert [n.findtext("staff") for n in bar(piano, 1).iter("note")] == ["1", "2"]
    assert score_from(piano.file).measures[0].length_ql == 12


def test_parts_that_play_throughout_stay() -> None:
    measures = [note(), note("D", 8) + HALF_REST, note("E")]
    part = taken(measures, [REST] * 3)[0]
    assert rests(part) == [("1", 1), ("2", 1), ("3", 1)]
    assert "".join(etree.tostring(n, encoding="unicode") for n in part.file.root.iter("note")) == "".join(
        measures
    )


def test_two_players_of_one_staff() -> None:
    voices = note("G", voice=1) + "<backup><duration>16</duration></backup>" + note("E", voice=2)
    chord = note("E") + note("G", before="<chord/>")
    bars = [voices, chord, said("1.") + note("A"), note("B"), said("a 2") + note("C"), note("D")]
    first, second = taken(bars, [note()] * 6, names=["Flutes 1 &amp; 2", "Oboe"], split=("P1",))[:2]
    assert (first.name, second.name) == ("Flute 1", "Flute 2")
    steps = [[n.text for n in part.file.root.iter("step")] for part in (first, second)]
    assert steps == [["G", "G", "A", "B", "C", "D"], ["E", "E", "C", "D"]]
    assert rests(second) == [("1", 1), ("2", 1), ("3", 2), ("5", 1), ("6", 1)]
    assert words(first, 3) == words(second, 5) == []


def test_both_play_where_the_second_voice_says_nothing() -> None:
    half = "<backup><duration>16</duration></backup><forward><duration>8</duration></forward>"
    bars = [note("A", 8) + note("B", 8) + half + note("G", 8, voice=2)]
    first, second = taken(bars, [note()], names=["Horn", "Oboe"], split=("horn",))[:2]
    assert [n.text for n in first.file.root.iter("step")] == ["A", "B"]
    assert [n.text for n in second.file.root.iter("step")] == ["A", "G"]
    assert [n.offset_ql for n in score_from(second.file).notes] == [0, 2]


def test_keyboards_are_not_split() -> None:
    with pytest.raises(UsageError, match="two staves"):
        taken(["<attributes><staves>2</staves></attributes>" + note()], [note()], split=("P1",))


def test_a_staff_that_does_not_divide_its_players_is_not_split() -> None:
    with pytest.raises(UsageError, match="divides two players"):
        taken([note()], [note()], split=("P1",))


@pytest.mark.parametrize(
    ("players", "found"), [({"Flutes": 2}, [2, 2, 1]), ({"Flute 2": 3}, [1, 3, 1]), ({"P2": 4}, [1, 1, 4])]
)
def test_players_of_a_split_part_are_those_of_each_copy(players: Mapping[str, int], found: list[int]) -> None:
    bars = [note("G") + note("E", before="<chord/>")]
    parts = taken(bars, [note()], names=["Flutes", "Oboe"], split=("Flutes",), players=players)
    assert [part.players for part in parts] == found


@pytest.mark.parametrize("names", [("Flutes", "P1"), ("1", "Flute 2")])
def test_a_copy_has_one_number_of_players(names: tuple[str, str]) -> None:
    bars = [note("G") + note("E", before="<chord/>")]
    with pytest.raises(UsageError, match=f"{names[0]} and {names[1]} both name"):
        taken(bars, [note()], names=["Flutes", "Oboe"], split=("P1",), players=dict.fromkeys(names, 2))


def dynamics(text: str) -> str:
    return f"<direction><direction-type><dynamics><{text}/></dynamics></direction-type></direction>"


def test_who_rests_gets_the_dynamics_at_the_entry() -> None:
    """The second player has not seen the p, nor the f that holds when both play."""
    bars = [
        *(dynamics("mf") + said("1.") + note("A"), dynamics("p") + note("B"), dynamics("f") + note("C")),
        *(said("a 2") + note("D"), said("2.") + note("E"), said("a 2") + dynamics("p") + note("F")),
    ]
    first, second = taken(bars, [note()] * 6, split=("P1",))[:2]

    def told(part: Extracted) -> list[tuple[str | None, str]]:
        return [
            (measure.get("number"), str(mark.tag))
            for measure in part.file.root.iterfind("part/measure")
            for mark in measure.iterfind("direction/direction-type/dynamics/*")
        ]

    assert told(first) == [("1", "mf"), ("2", "p"), ("3", "f"), ("6", "p")]
    assert told(second) == [("4", "f"), ("6", "p")]
    entry = bar(second, 4)
    assert [child.tag for child in entry][:2] == ["direction", "note"]
