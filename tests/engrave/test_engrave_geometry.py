"""Sizes of bars and of drawn systems agree with each other and with what was asked for."""

from collections.abc import Callable
from itertools import pairwise

import pytest

from optimizer.engrave.model import Glyph, Path, SystemSpan, Text
from optimizer.engrave.systems import NUMBER_SIZE_SP

SCORES = ("harbour-song", "nets-on-the-quay", "three-lamps", "three-lanterns")
# The library lays out in whole units, 18 to a space: half a unit at either end, and the overhang of brackets.
GRAIN_SP = 0.05
STAFF_SP = 4.0  # five lines, four spaces: what a staff space is


def staff_lines(system):
    """Y of all staff lines, top to bottom, from lines as long as the system's staves."""
    right = system.left_sp + system.width_sp
    return sorted(
        item.segments[0][2]
        for item in system.items
        if isinstance(item, Path)
        and len(item.segments) == 2
        and item.segments[0][1] == pytest.approx(0.0)
        and item.segments[1][1] == pytest.approx(right)
        and item.segments[0][2] == item.segments[1][2]
    )


@pytest.mark.parametrize("name", SCORES)
def test_staves_are_four_spaces_high(sample: Callable, name: str) -> None:
    engraved = sample(name)
    for system in engraved.engraved.systems:
        lines = staff_lines(system)
        assert len(lines) == 5 * engraved.measured.staves
        for staff in range(engraved.measured.staves):
            top, bottom = lines[5 * staff], lines[5 * staff + 4]
            assert bottom - top == pytest.approx(STAFF_SP)
        assert lines[0] == pytest.approx(0.0)
        assert lines[-1] == pytest.approx(system.staves_sp)


@pytest.mark.parametrize("name", SCORES)
def test_every_bar_is_measured_and_drawn_once(sample: Callable, name: str, corpora) -> None:
    engraved = sample(name)
    text = (corpora / f"{name}.musicxml").read_text(encoding="utf-8")
    bars = text.partition("</part>")[0].count("<measure ")
    assert len(engraved.measured.bars) == bars
    drawn = [(system.first, system.last) for system in engraved.engraved.systems]
    assert drawn == [(span.first, span.last) for span in engraved.spans]
    assert all(after[0] == before[1] + 1 for before, after in pairwise(drawn))
    assert drawn[0][0] == 0
    assert drawn[-1][1] == bars - 1


@pytest.mark.parametrize("name", SCORES)
def test_systems_have_the_width_that_was_asked_for(sample: Callable, name: str) -> None:
    engraved = sample(name)
    measured = engraved.measured
    for span, system in zip(engraved.spans, engraved.engraved.systems, strict=True):
        assert system.width_sp == span.width_sp
        lead_sp = measured.indent_sp if span.first == 0 else measured.label_sp
        assert system.left_sp == pytest.approx(-lead_sp, abs=2 * GRAIN_SP)
        assert 5 * measured.staves == len(staff_lines(system))  # each line reaches from 0 to the right edge


def test_widths_of_bars_add_up(sample: Callable) -> None:
    """Two systems that differ by one bar: drawn so wide that nothing need be stretched, bars keep their places."""
    engraved = sample("nets-on-the-quay")
    bars = engraved.measured.bars
    lead_sp = engraved.measured.label_sp
    natural_sp = lead_sp + bars[4].prefix_sp + sum(bar.width_sp for bar in bars[4:8]) + bars[7].suffix_sp
    spans = [SystemSpan(0, 3, 100.0), SystemSpan(4, 7, natural_sp), SystemSpan(8, len(bars) - 1, 400.0)]
    system = engraved.engraver.draw(spans).systems[1]
    barlines = sorted(
        {
            round(item.segments[0][1], 2)
            for item in system.items
            if isinstance(item, Path)
            and len(item.segments) == 2
            and item.segments[0][1] == item.segments[1][1]
            and abs(item.segments[0][2] - item.segments[1][2]) > STAFF_SP - 0.01
        }
    )
    ends, place_sp = [], bars[4].prefix_sp
    for bar in bars[4:7]:
        place_sp += bar.width_sp
        ends.append(place_sp)
    for end in ends:
        assert min(abs(end - x) for x in barlines) < 0.3


@pytest.mark.parametrize("name", SCORES)
def test_heights_are_foreseen(sample: Callable, name: str) -> None:
    """Predicted from the bars alone; slurs and words over several bars may add to it (a third at most: design)."""
    engraved = sample(name)
    errors = []
    for system in engraved.engraved.systems:
        bars = engraved.measured.bars[system.first : system.last + 1]
        gaps = [max(bar.gaps_sp[gap] for bar in bars) for gap in range(engraved.measured.staves - 1)]
        foreseen = (
            max(bar.above_sp for bar in bars)
            + STAFF_SP * engraved.measured.staves
            + sum(gaps)
            + max(bar.below_sp for bar in bars)
        )
        errors.append(system.above_sp + system.staves_sp + system.below_sp - foreseen)
        assert errors[-1] < foreseen / 3
    assert sum(errors) / len(errors) < 1.0
    assert sorted(errors)[len(errors) // 2] < 0.75


@pytest.mark.parametrize("name", SCORES)
def test_ink_lies_inside_the_extents(sample: Callable, name: str) -> None:
    """Straight shapes and letters only: curves may swing beyond their control points' hull, not beyond their ink."""
    for system in sample(name).engraved.systems:
        top, bottom = -system.above_sp - 0.01, system.staves_sp + system.below_sp + 0.01
        for item in system.items:
            if isinstance(item, Path) and len(item.segments) == 2:
                assert all(top <= y <= bottom for y in (item.segments[0][2], item.segments[1][2]))
            elif isinstance(item, Text):
                assert top <= item.y_sp <= bottom


def test_bar_numbers_stand_at_each_system_but_the_first(sample: Callable) -> None:
    engraved = sample("nets-on-the-quay")
    for system in engraved.engraved.systems:
        numbers = [item for item in system.items if isinstance(item, Text) and item.size_sp == NUMBER_SIZE_SP]
        expected = [str(system.first + 1)] if system.first else []
        assert [item.string for item in numbers] == expected
        assert all(item.italic and item.y_sp < 0 for item in numbers)


def test_changes_of_key_take_room_inside_a_system(engrave_text: Callable) -> None:
    note = (
        "<note><pitch><step>C</step><octave>5</octave></pitch><duration>4</duration><type>whole</type></note>"
    )
    key = "<attributes><key><fifths>{}</fifths></key></attributes>"
    first = (
        "<attributes><divisions>1</divisions><key><fifths>0</fifths></key><time><beats>4</beats>"
        "<beat-type>4</beat-type></time><clef><sign>G</sign><line>2</line></clef></attributes>"
    )
    bars = [first + note, note, key.format(4) + note, note]
    text = "".join(f'<measure number="{number}">{bar}</measure>' for number, bar in enumerate(bars, 1))
    plain, announcing, changing, after = engrave_text(text).measured.bars
    assert changing.width_sp > after.width_sp + 3  # four sharps
    assert announcing.suffix_sp > 3
    assert after.prefix_sp > plain.prefix_sp + 3
    assert after.suffix_sp == 0


@pytest.mark.parametrize(
    ("end", "numbers", "announces"),
    [
        ("", "1234", True),
        ("<bar-style>light-heavy</bar-style>", "1234", False),
        ('<bar-style>light-heavy</bar-style><repeat direction="backward"/>', "1234", True),
        ('<bar-style>light-heavy</bar-style><repeat direction="backward"/>', "1212", False),
        ("<bar-style>light-light</bar-style>", "1201", False),
        ("", "1212", True),
    ],
)
def test_nothing_is_announced_where_a_movement_ends(
    engrave_text: Callable, end: str, numbers: str, announces: bool
) -> None:
    """Common practice, no source: what follows begins anew, under a title of its own."""
    note = (
        "<note><pitch><step>C</step><octave>5</octave></pitch><duration>4</duration><type>whole</type></note>"
    )
    first = (
        "<attributes><divisions>1</divisions><key><fifths>0</fifths></key><time><beats>4</beats>"
        "<beat-type>4</beat-type></time><clef><sign>G</sign><line>2</line></clef></attributes>"
    )
    time = "<time><beats>2</beats><beat-type>2</beat-type></time>"
    change = f"<attributes><key><fifths>4</fifths></key>{time}</attributes>"
    barline = f'<barline location="right">{end}</barline>' if end else ""
    bars = [first + note, note + barline, change + note, note]
    text = "".join(
        f'<measure number="{number}">{bar}</measure>' for number, bar in zip(numbers, bars, strict=True)
    )
    sample = engrave_text(text)
    assert len(sample.measured.bars) == 4
    ending, beginning = sample.engraver.draw([SystemSpan(0, 1, 80.0), SystemSpan(2, 3, 80.0)]).systems
    names = [
        [item.name for item in system.items if isinstance(item, Glyph)] for system in (ending, beginning)
    ]
    # SMuFL: accidentalSharp, timeSig2
    assert names[1].count("E262") == 4
    assert names[1].count("E082") == 2
    assert ("E262" in names[0], "E082" in names[0]) == (announces, announces)
    assert (sample.measured.bars[1].suffix_sp > 3) == announces


def test_notes_of_neighbouring_staves_keep_apart(engrave_text: Callable) -> None:
    """A whole note far below one staff over one far above the next: a space of white (by eye), heads a space high."""

    def whole(step: str, octave: int, staff: int) -> str:
        pitch = f"<pitch><step>{step}</step><octave>{octave}</octave></pitch>"
        voice = f"<voice>{staff}</voice><type>whole</type><staff>{staff}</staff>"
        return f"<note>{pitch}<duration>4</duration>{voice}</note>"

    head = (
        "<attributes><divisions>1</divisions><staves>2</staves>"
        "<clef number='1'><sign>G</sign><line>2</line></clef>"
        "<clef number='2'><sign>F</sign><line>4</line></clef></attributes>"
    )
    back = "<backup><duration>4</duration></backup>"
    bars = (
        head + whole("F", 3, 1) + back + whole("G", 4, 2),
        whole("C", 5, 1) + back + whole("D", 3, 2),
    )
    sample = engrave_text("".join(f'<measure number="{n}">{bar}</measure>' for n, bar in enumerate(bars, 1)))
    (system,) = sample.engraved.systems
    heads = sorted(
        (item.matrix[4], item.matrix[5])
        for item in system.items
        if isinstance(item, Glyph) and item.name == "E0A2"  # SMuFL: noteheadWhole
    )
    (_, upper_sp), (_, lower_sp) = heads[:2]
    assert lower_sp - upper_sp >= 1.0 + 1.0 - GRAIN_SP
    first, second = (bar.gaps_sp[0] for bar in sample.measured.bars)
    assert system.staves_sp == pytest.approx(2 * STAFF_SP + first, abs=2 * GRAIN_SP)
    assert second < first  # a roomy bar asks for no more than before


def test_names_of_voices_do_not_show(engrave_text: Callable) -> None:
    """Two voices of the lower staff look the same, stems apart, whether they count on from the upper staff's voice or
    not: names of voices are free (W3C musicxml.xsd 4.0, element voice: a string)."""

    def notes(step: str, voice: int, staff: int) -> str:
        pitch = f"<pitch><step>{step}</step><octave>3</octave></pitch><duration>2</duration>"
        return f"<note>{pitch}<voice>{voice}</voice><type>half</type><staff>{staff}</staff></note>" * 2

    head = (
        "<attributes><divisions>1</divisions><staves>2</staves>"
        "<clef number='1'><sign>G</sign><line>2</line></clef>"
        "<clef number='2'><sign>F</sign><line>4</line></clef></attributes>"
    )
    back = "<backup><duration>4</duration></backup>"
    drawn = {
        engrave_text(
            f'<measure number="1">{head}{notes("B", 1, 1)}{back}{notes("A", upper, 2)}{back}'
            f"{notes('C', lower, 2)}</measure>"
        )
        .engraved.systems[0]
        .items
        for upper, lower in ((5, 6), (2, 3), (2, 4), (1, 2))
    }
    assert len(drawn) == 1


def test_drawing_again_gives_the_same(sample: Callable) -> None:
    engraved = sample("nets-on-the-quay")
    assert engraved.engraver.draw(engraved.spans) == engraved.engraved


def test_one_staff_and_three_staves(sample: Callable, engrave_text: Callable) -> None:
    rest = "<note><rest/><duration>4</duration></note>"
    single = engrave_text(f'<measure number="1">{rest}</measure>')
    assert single.measured.staves == 1
    assert single.measured.bars[0].gaps_sp == ()
    assert sample("three-lanterns").measured.staves == 3
    assert all(len(bar.gaps_sp) == 2 for bar in sample("three-lanterns").measured.bars)


def test_glyphs_used_are_defined(sample: Callable) -> None:
    for name in SCORES:
        engraved = sample(name).engraved
        used = {item.name for system in engraved.systems for item in system.items if isinstance(item, Glyph)}
        assert used
        assert used <= set(engraved.glyphs)
