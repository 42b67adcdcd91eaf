"""Which sides stand on which piece of paper.

In: plan and settings.  Out: `Sheets`.  Always true: a set that is turned like a book starts with a recto; a stapled
one has a multiple of four sides, unless they all stand on one leaf, which needs no folding.
"""

from itertools import starmap, zip_longest
from typing import Final

from optimizer.binding.model import FoldedSheet, Leaf, Sheets, Side, SideKind
from optimizer.layout.patterns import SIDES_A_FOLDED_SHEET
from optimizer.layout.plan import Plan, PlannedPage
from optimizer.settings import Settings, SheetSize

SINGLE_SIDED: Final = ("taped", "ring")
TITLE_NUMBER: Final = 1  # the music then starts on page 2, the back of the title
SIDES_A_LEAF: Final = 2


def sheets_of(plan: Plan, settings: Settings) -> Sheets:
    """Sides of a plan on paper. Single-sided where every page lies open at once or pages stand back to back.

    A page, or a page and its back, is one leaf in a stapled set too: folded, it would be two leaves, and tape.
    """
    title = (Side(SideKind.TITLE, TITLE_NUMBER),) if plan.outside_title else ()
    sides = (*title, *map(_side, plan.pages))
    if settings.binding == "stapled" and len(sides) > SIDES_A_LEAF:
        sides += (Side(SideKind.BLANK),) * (-len(sides) % SIDES_A_FOLDED_SHEET)
        return Sheets(settings.binding, _two_sided(sides), _nested(sides), sides)
    if settings.binding in SINGLE_SIDED or (len(plan.spreads) == 1 and not plan.outside_title):
        return Sheets(settings.binding, tuple(map(Leaf, sides)), (), sides)
    return Sheets(settings.binding, _two_sided(sides), (), sides)


def sheets_to_print(plan: Plan, settings: Settings) -> int:
    """How many pieces of paper go into the printer."""
    sheets = sheets_of(plan, settings)
    return len(sheets.folded if is_double(sheets, settings) else sheets.leaves)


def is_double(sheets: Sheets, settings: Settings) -> bool:
    """Whether sheets of two pages are printed, which are folded then: never where one leaf is all."""
    return settings.sheets.sheet is SheetSize.DOUBLE and bool(sheets.folded)


def _side(page: PlannedPage) -> Side:
    return Side(SideKind.BLANK if page.blank else SideKind.MUSIC, page.number, page.why)


def _two_sided(sides: tuple[Side, ...]) -> tuple[Leaf, ...]:
    return tuple(starmap(Leaf, zip_longest(sides[::2], sides[1::2])))


def _nested(sides: tuple[Side, ...]) -> tuple[FoldedSheet, ...]:
    """Sheet k of N sides, from the outside: front (N-2k+2, 2k-1), back (2k, N-2k+1) (imposition handouts)."""
    total = len(sides)

    def pair(left: int, right: int) -> tuple[Side, Side]:
        return sides[left - 1], sides[right - 1]

    return tuple(
        FoldedSheet(pair(total - 2 * k + 2, 2 * k - 1), pair(2 * k, total - 2 * k + 1))
        for k in range(1, total // SIDES_A_FOLDED_SHEET + 1)
    )
