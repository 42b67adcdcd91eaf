"""Order, orientation and place of sides on the paper that goes through the printer.

Orientation is checked by turning the sheet over in thought: over an upright edge left and right change places, over
the other edge head and foot do. Imposition: handouts and arithmetic (see test_binding_sheets.py).
"""

from dataclasses import replace

import pytest

from optimizer.binding.imposition import creep_mm, impressions, printed_paper, printer_for
from optimizer.binding.model import FoldedSheet, Leaf, Sheets, Side, SideKind
from optimizer.binding.steps import caliper_mm
from optimizer.settings import PAPERS, Printer, Settings, SheetSettings, SheetSize, parse_paper
from optimizer.units import in_to_mm

LANDSCAPE = parse_paper("300x200mm")


def side(number: int) -> Side:
    return Side(SideKind.MUSIC, number)


def single(pages: int) -> Sheets:
    sides = tuple(map(side, range(1, pages + 1)))
    return Sheets("taped", tuple(map(Leaf, sides)), (), sides)


def double(pages: int) -> Sheets:
    """A stapled set; pages a multiple of four."""
    sides = tuple(map(side, range(1, pages + 1)))
    leaves = tuple(map(Leaf, sides[::2], sides[1::2]))
    folded = tuple(
        FoldedSheet((sides[-2 * k - 1], sides[2 * k]), (sides[2 * k + 1], sides[-2 * k - 2]))
        for k in range(pages // 4)
    )
    return Sheets("stapled", leaves, folded, sides)


def one_leaf(pages: int) -> Sheets:
    """A page, or a page and its back."""
    sides = tuple(map(side, range(1, pages + 1)))
    return Sheets("stapled", (Leaf(*sides),), (), sides)


def stapled(paper=PAPERS["a4"], **sheets) -> Settings:
    return Settings(binding="stapled", paper=paper, sheets=SheetSettings(**sheets))


def order(found) -> list[list[int | None]]:
    return [[placed.side.number for placed in impression.sides] for impression in found]


def test_single_sided_sets_come_in_reading_order():
    found = impressions(single(5), Settings())
    assert order(found) == [[1], [2], [3], [4], [5]]
    assert printer_for(single(5), Settings()) is Printer.SINGLE


def test_a_printer_that_prints_both_sides_gets_an_empty_back_for_each_single_side():
    settings = Settings(binding="loose", sheets=SheetSettings(printer=Printer.LONG))
    assert order(impressions(single(3), settings)) == [[1], [], [2], [], [3], []]


@pytest.mark.parametrize("size", SheetSize)
def test_by_hand_all_fronts_are_odd_and_all_backs_even_and_upright(size):
    """Odd pages first, then the stack is turned over like a leaf and the even ones are printed (common practice)."""
    by_hand, by_machine = (stapled(sheet=size, printer=printer) for printer in (Printer.SINGLE, None))
    found = impressions(double(8), by_hand)
    assert found == impressions(double(8), by_machine)
    assert not any(impression.upside_down for impression in found)


def test_two_sided_sets_come_front_then_back():
    assert order(impressions(double(8), stapled())) == [[1], [2], [3], [4], [5], [6], [7], [8]]


def test_double_sheets_come_from_the_outermost_to_the_innermost():
    """8-1, 2-7, 6-3, 4-5 (imposition handouts)."""
    found = impressions(double(8), stapled(sheet=SheetSize.DOUBLE))
    assert order(found) == [[8, 1], [2, 7], [6, 3], [4, 5]]
    assert [impression.fold_mm for impression in found] == [None, 210.0, None, 210.0]


@pytest.mark.parametrize("paper", [PAPERS["a4"], PAPERS["letter"], LANDSCAPE])
@pytest.mark.parametrize("size", SheetSize)
@pytest.mark.parametrize("printer", [Printer.LONG, Printer.SHORT])
def test_backs_stand_upright_when_the_sheet_is_turned_like_a_leaf(paper, size, printer):
    """A printer turns paper over its long or short edge; turned over an upright edge, head stays head, else the head
    of the back lies at the foot of the front, and the page must be printed head down."""
    settings = stapled(paper, printer=printer, sheet=size)
    for impression in impressions(double(8), settings)[1::2]:
        wide, high = impression.paper.width_mm, impression.paper.height_mm
        edges = {"upright": high, "level": wide}
        turned_over = max(edges, key=edges.get) if printer is Printer.LONG else min(edges, key=edges.get)
        assert impression.upside_down == (turned_over == "level")
    assert not any(impression.upside_down for impression in impressions(double(8), settings)[::2])


@pytest.mark.parametrize(
    ("paper", "size", "printer"),
    [
        (PAPERS["a4"], SheetSize.PAGES, Printer.LONG),
        (PAPERS["a4"], SheetSize.DOUBLE, Printer.SHORT),
        (PAPERS["letter"], SheetSize.DOUBLE, Printer.SHORT),
        (LANDSCAPE, SheetSize.PAGES, Printer.SHORT),
        (parse_paper("100x300mm"), SheetSize.DOUBLE, Printer.LONG),  # two of them are still upright
    ],
)
def test_unless_told_otherwise_no_back_is_printed_head_down(paper, size, printer):
    settings = stapled(paper, sheet=size)
    assert printer_for(double(8), settings) is printer
    assert not any(impression.upside_down for impression in impressions(double(8), settings))


@pytest.mark.parametrize(
    ("paper", "name", "size_mm"),
    [
        ("a4", "A3", (420, 297)),  # ISO 216, lying
        ("letter", "Tabloid", (in_to_mm(17), in_to_mm(11))),  # US paper size tables: 11 x 17 in
        ("b4", "500x353mm", (500, 353)),
    ],
)
def test_double_sheets_are_two_pages_wide(paper, name, size_mm):
    found = printed_paper(double(4), stapled(PAPERS[paper], sheet=SheetSize.DOUBLE))
    assert (found.name, found.width_mm, found.height_mm) == (name, *map(pytest.approx, size_mm))


@pytest.mark.parametrize("size", SheetSize)
@pytest.mark.parametrize("printer", [None, Printer.SINGLE, Printer.LONG, Printer.SHORT])
@pytest.mark.parametrize("pages", [1, 2])
def test_one_leaf_is_printed_on_the_paper_of_a_page(pages, size, printer):
    """Not on half of a double sheet; one run for one page, unless the user says that the printer turns paper over."""
    settings = stapled(sheet=size, printer=printer)
    leaf = one_leaf(pages)
    found = impressions(leaf, settings)
    assert printed_paper(leaf, settings) == settings.paper
    assert {(impression.paper, impression.fold_mm) for impression in found} == {(settings.paper, None)}
    backs = [[2]] if pages == 2 else [[]] if printer in (Printer.LONG, Printer.SHORT) else []
    assert order(found) == [[1], *backs]
    assert printer_for(leaf, settings) is (printer or (Printer.LONG if pages == 2 else Printer.SINGLE))
    assert [impression.upside_down for impression in found[1:]] == [printer is Printer.SHORT] * len(backs)


def test_creep_of_a_sheet():
    """0.005 in a nested sheet at 70 lb offset (printer's handout), 1 lb offset = 1.48 g/m2 (25 x 38 in, 500 sheets;
    arithmetic: 453.6 g / (500 x 0.6129 m2)). It grows with thickness and is about that thickness."""
    assert creep_mm(70 * 453.592 / (500 * in_to_mm(25) * in_to_mm(38) * 1e-6)) == pytest.approx(
        in_to_mm(0.005), rel=1e-3
    )
    assert creep_mm(160) == pytest.approx(2 * creep_mm(80))
    assert creep_mm(100) == pytest.approx(caliper_mm(100), rel=0.1)


@pytest.mark.parametrize("grammage", [80, 100, 120])
def test_creep_is_taken_back_towards_the_fold(grammage):
    """Closed, the fold of sheet k lies k thicknesses in front of the outermost fold, and the edges opposite stick out
    as much. Compensated, what is printed stands as far from the outermost fold on every sheet; so when the edges are
    cut flush with the outermost sheet, all outer margins are equal. Uncompensated, the innermost would be narrowest.
    """
    settings = stapled(sheet=SheetSize.DOUBLE, grammage_gsm=grammage)
    width = settings.paper.width_mm
    found = impressions(double(24), settings)
    inner, outer = 13.0, 20.0  # any margins of a page
    for depth, pair in enumerate(zip(found[::2], found[1::2], strict=True)):
        pushed_mm = depth * creep_mm(grammage)
        for left, right in (impression.sides for impression in pair):
            from_fold = [width - (left.x_mm + width - inner), right.x_mm + inner - width]
            assert [pushed_mm + x for x in from_fold] == pytest.approx([inner, inner])
            ink_end = [width - (left.x_mm + outer), right.x_mm + width - outer - width]
            cut = [width - (pushed_mm + x) for x in ink_end]
            assert cut == pytest.approx([outer, outer])
    assert found[-1].sides[0].x_mm == pytest.approx(5 * creep_mm(grammage))


def test_single_pages_do_not_creep():
    heavy = stapled(grammage_gsm=200)
    assert {placed.x_mm for impression in impressions(double(40), heavy) for placed in impression.sides} == {
        0.0
    }


@pytest.mark.parametrize("size", SheetSize)
@pytest.mark.parametrize("printer", [None, Printer.LONG, Printer.SHORT])
@pytest.mark.parametrize("pages", [4, 8, 20, 36])
def test_every_side_is_printed_once(pages, printer, size):
    found = impressions(double(pages), stapled(sheet=size, printer=printer))
    assert sorted(number for numbers in order(found) for number in numbers) == list(range(1, pages + 1))
    assert len(found) % 2 == 0


def test_a_leaf_without_a_back_leaves_its_back_empty():
    sheets = single(3)
    loose = replace(sheets, binding="loose", leaves=(Leaf(side(1), side(2)), Leaf(side(3))))
    settings = Settings(binding="loose")
    assert printer_for(loose, settings) is Printer.LONG
    assert order(impressions(loose, settings)) == [[1], [2], [3], []]
