"""Bar numbers at the start of systems."""

import pytest
from lxml import etree

from optimizer.engrave.engraver import ScoreEngraver
from optimizer.engrave.model import EngravedSystem, SystemSpan, Text
from optimizer.engrave.numbers import printed_numbers

NOTE = "<note><rest/><duration>{}</duration></note>"
START = (
    "<attributes><divisions>1</divisions><time><beats>4</beats><beat-type>4</beat-type></time></attributes>"
)
SCORE = """<score-partwise version="4.0"><part-list><score-part id="P1"><part-name>Cello</part-name></score-part>
</part-list><part id="P1">{}</part></score-partwise>"""
HALF = ' implicit="yes"'
FINAL = '<barline location="right"><bar-style>light-heavy</bar-style></barline>'


def measure(number: str, more: str = "", content: str = NOTE.format(4)) -> str:
    return f'<measure number="{number}"{more}>{content}</measure>'


def drawn_numbers(bars: list[str]) -> tuple[list[list[Text]], tuple[EngravedSystem, ...]]:
    """What is printed in italics at the start of each bar, a system of its own."""
    engraver = ScoreEngraver(etree.fromstring(SCORE.format("".join(bars)).encode()))
    drawn = engraver.draw([SystemSpan(index, index, 60.0) for index in range(len(bars))])
    return [
        [item for item in system.items if isinstance(item, Text) and item.italic] for system in drawn.systems
    ], drawn.systems


def test_incomplete_bars_go_by_the_bar_that_they_complete() -> None:
    """Common practice, no source: a bar that only completes another is not counted, whatever the file calls it."""
    bars = [
        measure("1", content=START + NOTE.format(4)),
        measure("2"),
        measure("0"),
        measure("3"),
        measure("X1", HALF),
    ]
    numbers, _ = drawn_numbers(bars)
    assert [[text.string for text in texts] for texts in numbers] == [[], ["2"], ["(2)"], ["3"], ["(3)"]]


def test_number_of_a_half_bar_is_set_like_the_others() -> None:
    bars = [
        measure("0", HALF, START + NOTE.format(1)),
        measure("1", content=NOTE.format(3)),
        measure("X1", HALF, NOTE.format(1)),
        measure("2"),
    ]
    numbers, systems = drawn_numbers(bars)
    (one,), (half,), (two,) = numbers[1:]
    assert half.string == "(1)"
    for other in (one, two):
        assert (half.size_sp, half.bold, half.font, half.x_sp, half.y_sp) == (
            other.size_sp,
            other.bold,
            other.font,
            other.x_sp,
            other.y_sp,
        )
    assert (half.length_sp or 0.0) > (one.length_sp or 0.0) > 0.0
    assert systems[2].above_sp == pytest.approx(systems[1].above_sp, abs=0.05)


@pytest.mark.parametrize(
    ("bars", "printed"),
    [
        # a pickup at the start, a bar split in three, a multiple rest before a half
        ([("0", HALF, ""), ("1", "", ""), ("2", "", "")], ["", "1", "2"]),
        ([("1", "", ""), ("X1", HALF, ""), ("X2", HALF, ""), ("2", "", "")], ["1", "(1)", "(1)", "2"]),
        ([("5", ' bars="4"', ""), ("X1", HALF, ""), ("9", "", "")], ["5", "(8)", "9"]),
        # numbers start again after a pickup, after the half that ends a movement, after both
        ([("7", "", FINAL), ("0", HALF, ""), ("1", "", "")], ["7", "", "1"]),
        ([("7", "", ""), ("X1", HALF, FINAL), ("1", "", "")], ["7", "(7)", "1"]),
        ([("7", "", ""), ("X1", HALF, FINAL), ("0", HALF, ""), ("1", "", "")], ["7", "(7)", "", "1"]),
        # two endings may share a number, and files may have none at all
        ([("8a", "", ""), ("8b", "", ""), ("X1", HALF, ""), ("9", "", "")], ["8a", "8b", "(8b)", "9"]),
        ([("", "", ""), ("", HALF, "")], ["", ""]),
    ],
)
def test_half_bars_and_pickups_are_told_apart(bars: list[tuple[str, str, str]], printed: list[str]) -> None:
    tree = etree.fromstring(f"<part>{''.join(measure(*bar) for bar in bars)}</part>")
    assert printed_numbers(tree.findall("measure")) == printed
