"""Sides on paper: which share a leaf or a folded sheet, in which order.

Facts of the trade: stapled sets of more than one leaf have a multiple of four sides; 8 pages are imposed 8-1, 2-7,
6-3, 4-5; sheet k of N sides carries front (N-2k+2, 2k-1), back (2k, N-2k+1) (imposition handouts; arithmetic). A book
starts with a recto.
"""

from collections.abc import Sequence

import pytest

from optimizer.binding.model import Leaf, SideKind
from optimizer.binding.sheets import sheets_of, sheets_to_print
from optimizer.layout.plan import Plan, PlannedPage, PlannedSystem, SolverReport
from optimizer.settings import Settings, SheetSettings, SheetSize


def plan_of(
    spreads: Sequence[Sequence[int]], binding: str, title: bool = False, blank: Sequence[int] = ()
) -> Plan:
    numbers = [number for spread in spreads for number in spread]
    pages = tuple(
        PlannedPage(n, () if n in blank else (PlannedSystem(n, n),), n in blank, "why" if n in blank else "")
        for n in numbers
    )
    solver = SolverReport("optimal", 0, 0, 0.0, {})
    shown = tuple(map(tuple, spreads))
    return Plan(6.5, 2, binding, "", pages, shown, (), (), solver, outside_title=title)


def sheets(spreads, binding, **more):
    return sheets_of(plan_of(spreads, binding, **more), Settings(binding=binding))


def book(pages: int) -> list[tuple[int, ...]]:
    """Spreads of a set that starts on the recto."""
    return [(1,), *((n, n + 1) if n < pages else (n,) for n in range(2, pages + 1, 2))]


def numbers(pair) -> tuple[int | None, int | None]:
    return pair[0].number, pair[1].number


def test_eight_pages_are_imposed_as_every_handout_says():
    """8-1, 2-7, 6-3, 4-5 (imposition handouts)."""
    folded = sheets(book(8), "stapled").folded
    assert [numbers(side) for sheet in folded for side in (sheet.front, sheet.back)] == [
        (8, 1),
        (2, 7),
        (6, 3),
        (4, 5),
    ]


@pytest.mark.parametrize("pages", range(3, 41))
def test_folded_sheets_read_in_order_when_nested(pages):
    """Leafing through nested sheets: down the right halves (front, then its back left half), then up the others."""
    found = sheets(book(pages), "stapled")
    assert len(found.sides) % 4 == 0
    assert len(found.sides) - pages < 4
    outwards_in = [side for sheet in found.folded for side in (sheet.front[1], sheet.back[0])]
    inwards_out = [side for sheet in reversed(found.folded) for side in (sheet.back[1], sheet.front[0])]
    assert tuple(outwards_in + inwards_out) == found.sides
    assert [side.number for side in found.sides[:pages]] == list(range(1, pages + 1))
    assert all((side.kind, side.number) == (SideKind.BLANK, None) for side in found.sides[pages:])


@pytest.mark.parametrize("pages", range(3, 41))
def test_sheet_k_of_n_sides(pages):
    """front (N-2k+2, 2k-1), back (2k, N-2k+1) (imposition handouts; arithmetic)."""
    found = sheets(book(pages), "stapled")
    total = len(found.sides)
    for k, sheet in enumerate(found.folded, start=1):
        places = [found.sides[n - 1] for n in (total - 2 * k + 2, 2 * k - 1, 2 * k, total - 2 * k + 1)]
        assert [*sheet.front, *sheet.back] == places


@pytest.mark.parametrize("binding", ["stapled", "loose"])
@pytest.mark.parametrize("size", SheetSize)
@pytest.mark.parametrize("pages", [1, 2])
def test_a_page_and_its_back_are_one_leaf(binding, size, pages):
    """Folded they would be two leaves, or half of a sheet twice as large (arithmetic)."""
    plan = plan_of(book(pages), binding)
    settings = Settings(
        binding=binding, sheets=SheetSettings(sheet=size if binding == "stapled" else "pages")
    )
    found = sheets_of(plan, settings)
    assert [(leaf.front.number, leaf.back and leaf.back.number) for leaf in found.leaves] == [
        (1, 2 if pages == 2 else None)
    ]
    assert (found.folded, len(found.sides), found.two_sided) == ((), pages, pages == 2)
    assert sheets_to_print(plan, settings) == 1


def test_three_sides_are_folded():
    """A title page with two pages behind it: nothing shorter lies open at both."""
    found = sheets([(2, 3)], "stapled", title=True)
    assert (len(found.folded), len(found.leaves)) == (1, 2)


def test_a_title_page_is_the_outside_of_the_outermost_sheet():
    found = sheets([(2, 3), (4, 5), (6,)], "stapled", title=True)
    front = found.folded[0].front
    assert (front[1].kind, front[1].number) == (SideKind.TITLE, 1)
    assert numbers(found.folded[0].back) == (2, None)
    assert [side.number for side in found.sides] == [1, 2, 3, 4, 5, 6, None, None]


def test_leaves_of_a_folded_set_are_the_halves_of_its_sheets():
    found = sheets(book(8), "stapled")
    halves = [Leaf(sheet.front[1], sheet.back[0]) for sheet in found.folded]
    halves += [Leaf(sheet.back[1], sheet.front[0]) for sheet in reversed(found.folded)]
    assert found.leaves == tuple(halves)


@pytest.mark.parametrize("binding", ["taped", "ring"])
def test_sets_whose_pages_stand_back_to_back_are_printed_on_one_side(binding):
    found = sheets([(1, 2, 3), (4, 5)], binding, blank=[5])
    assert [leaf.front.number for leaf in found.leaves] == [1, 2, 3, 4, 5]
    assert {leaf.back for leaf in found.leaves} == {None}
    assert (found.folded, found.sides[4].kind, found.sides[4].why) == ((), SideKind.BLANK, "why")


def test_loose_pages_that_lie_open_together_are_printed_on_one_side():
    found = sheets([(1, 2)], "loose")
    assert found.leaves == tuple(map(Leaf, found.sides))


def test_more_loose_pages_are_printed_on_both_sides_recto_first():
    recto = sheets(book(5), "loose")
    assert [(leaf.front.number, leaf.back and leaf.back.number) for leaf in recto.leaves] == [
        (1, 2),
        (3, 4),
        (5, None),
    ]
    titled = sheets([(2, 3), (4,)], "loose", title=True)
    assert [leaf.front.kind for leaf in titled.leaves] == [SideKind.TITLE, SideKind.MUSIC]
    assert [(leaf.front.number, leaf.back and leaf.back.number) for leaf in titled.leaves] == [(1, 2), (3, 4)]
    assert sheets([(2, 3)], "loose", title=True).leaves[0].back is not None


@pytest.mark.parametrize("binding", ["stapled", "loose"])
@pytest.mark.parametrize("pages", [5, 6, 11])
def test_odd_numbers_are_rectos(binding, pages):
    """Odd pages right, even pages left (MOLA guidelines)."""
    for leaf in sheets(book(pages), binding).leaves:
        assert leaf.front.number is None or leaf.front.number % 2 == 1
        assert leaf.back is None or leaf.back.number is None or leaf.back.number % 2 == 0
