"""Which spreads may follow one another, as data (design: spread patterns).

In: a binding's name and how many pages lie abreast.  Out: `Pattern`.  Always true: a `Shape` of `pages` sides
carries music on all but `blank` of them, the blank ones right; a plan uses either one `whole` shape, or a
`first`, any number of `middle` ones and a `last`.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Final

from optimizer.errors import UsageError


@dataclass(frozen=True, slots=True, order=True)
class Shape:
    """A spread of `pages` sides lying open together, the last `blank` of them empty. `title`: a title page stands
    outside before it, so that its first page is a verso."""

    pages: int
    blank: int = 0
    title: bool = False

    @property
    def music(self) -> int:
        """Sides that carry music."""
        return self.pages - self.blank

    @property
    def sides(self) -> int:
        """Sides that are printed, or left blank on purpose."""
        return self.pages + self.title


@dataclass(frozen=True, slots=True)
class Pattern:
    """The spreads a binding allows. `sides_a_sheet`: paper is reckoned in sheets of so many sides, used or not."""

    binding: str
    whole: tuple[Shape, ...]
    first: tuple[Shape, ...]
    middle: tuple[Shape, ...]
    last: tuple[Shape, ...]
    sides_a_sheet: int = 1

    def shapes(self) -> frozenset[Shape]:
        """Every shape the pattern can use."""
        return frozenset(self.whole + self.first + self.middle + self.last)

    def allows(self, shapes: Sequence[Shape]) -> bool:
        """Whether these spreads, in this order, follow the pattern."""
        if len(shapes) == 1:
            return shapes[0] in self.whole
        return (
            shapes[0] in self.first
            and shapes[-1] in self.last
            and all(s in self.middle for s in shapes[1:-1])
        )

    def sides_of_paper(self, sides: int) -> int:
        """Sides of the sheets that so many sides need, as the planner reckons: a set of one leaf is printed on less
        (`binding.sheets`)."""
        return -(-sides // self.sides_a_sheet) * self.sides_a_sheet

    def without_blanks(self) -> "Pattern":
        """The same but for shapes with blank sides."""
        return replace(self, middle=tuple(shape for shape in self.middle if not shape.blank))


# Between the ends of a set every spread is a pair. A side may stay blank there; at the ends a spread is shorter
# instead, which costs no side.
_MIDDLE: Final = (Shape(2), Shape(2, blank=1))
# A two-sided set starts on the recto, or on the verso with a title page outside; it ends on either.
_TWO_SIDED_STARTS: Final = (Shape(1), Shape(2, title=True))
_TWO_SIDED_ENDS: Final = (Shape(1), Shape(2))
SIDES_A_FOLDED_SHEET: Final = 4  # two leaves, two sides each (imposition handouts; arithmetic)


def _single_sided(binding: str, abreast: int) -> Pattern:
    """Single-sided pages: a leaf in the middle is two pages back to back, so only the ends can be longer.

    Three in the middle are never used: nobody unfolds flaps while playing (common practice, no source).
    """
    ends = _up_to(min(3, abreast)) + ((Shape(4),) if abreast == 4 else ())
    return Pattern(binding, _up_to(abreast), ends, _MIDDLE, ends)


def _taped(abreast: int) -> Pattern:
    """A strip of pages, folded."""
    return _single_sided("taped", abreast)


def _ring(abreast: int) -> Pattern:
    """Pairs of pages back to back in a binder; longer spreads have fold-outs hinged outside the rings."""
    return _single_sided("ring", abreast)


def _stapled(abreast: int) -> Pattern:
    """Folded sheets, one in the other: nothing can lie beside a pair, and every sheet is reckoned with four sides,
    though a set of one or two is printed on one leaf."""
    return Pattern(
        "stapled", _TWO_SIDED_STARTS, _TWO_SIDED_STARTS, _MIDDLE, _TWO_SIDED_ENDS, SIDES_A_FOLDED_SHEET
    )


def _loose(abreast: int) -> Pattern:
    """Sheets side by side, printed on one side, as far as they fit; else stacked and turned like an unbound book."""
    return Pattern("loose", _up_to(abreast), _TWO_SIDED_STARTS, _MIDDLE, _TWO_SIDED_ENDS)


def _up_to(pages: int) -> tuple[Shape, ...]:
    return tuple(Shape(count) for count in range(1, pages + 1))


_PATTERNS: Final[Mapping[str, Callable[[int], Pattern]]] = {
    "taped": _taped,
    "ring": _ring,
    "stapled": _stapled,
    "loose": _loose,
}


def pattern_for(binding: str, abreast: int) -> Pattern:
    """The pattern of a binding on a desk that takes `abreast` pages; UsageError for an unknown binding."""
    if binding not in _PATTERNS:
        raise UsageError(f"--binding {binding}: unknown; use {', '.join(_PATTERNS)}")
    return _PATTERNS[binding](abreast)


def first_page_number(shapes: Sequence[Shape]) -> int:
    """1 or 2, so that in every pair of pages the odd number stands right; a piece on one spread starts at 1, but for
    one with a title page, which is page 1.

    Odd pages right: MOLA guidelines.
    """
    return 2 if shapes[0].title or (len(shapes) > 1 and shapes[0].pages % 2 == 0) else 1


class PageSide(StrEnum):
    """Where a page lies in its spread: left or right of the fold, the seam or the rings, or a fold-out beyond that."""

    LEFT = "left"
    RIGHT = "right"
    FOLD_OUT = "fold-out"


def page_sides(sizes: Sequence[int]) -> tuple[tuple[PageSide, ...], ...]:
    """The side of every page, spread by spread, left to right.

    Fold-outs hang on the left of the first spread and on the right of the last. A page that lies alone is the
    right one at the beginning, the left one (back of the last leaf) at the end.
    """
    return tuple(_sides_of_spread(index, len(sizes), size) for index, size in enumerate(sizes))


def _sides_of_spread(index: int, spreads: int, size: int) -> tuple[PageSide, ...]:
    if size == 1:
        return (PageSide.LEFT if index else PageSide.RIGHT,)
    left = size - 2 if index == 0 else 0
    if spreads == 1:
        left = (size - 1) // 2  # two in the middle; of three, the first folds out
    central = {left: PageSide.LEFT, left + 1: PageSide.RIGHT}
    return tuple(central.get(slot, PageSide.FOLD_OUT) for slot in range(size))


def pattern_name(shapes: Sequence[Shape]) -> str:
    """The pattern in words: `one spread of 3`, `2s`, `3 first`, `1 first, 3 last`, `title outside, 1 last`."""
    sizes = [shape.pages for shape in shapes]
    words = ["title outside"] if shapes[0].title else []
    if len(sizes) == 1:
        words.append("one page" if sizes[0] == 1 else f"one spread of {sizes[0]}")
    else:
        ends = [f"{size} {where}" for size, where in ((sizes[0], "first"), (sizes[-1], "last")) if size != 2]
        words += ends or ["2s"]
    blank = sum(shape.blank for shape in shapes)
    return ", ".join([*words, f"{blank} blank"] if blank else words)
