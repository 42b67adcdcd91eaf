"""Which spreads may follow one another, as data (design: spread patterns).

In: a binding's name and how many pages lie abreast.  Out: `Pattern`.  Always true: a `Shape` of `pages` sides
carries music on all but `blank` of them, the blank ones right; a plan uses either one `whole` shape, or a
`first`, any number of `middle` ones and a `last`.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from optimizer.errors import UsageError


@dataclass(frozen=True, slots=True, order=True)
class Shape:
    """A spread of `pages` sides lying open together, the last `blank` of them empty."""

    pages: int
    blank: int = 0

    @property
    def music(self) -> int:
        """Sides that carry music."""
        return self.pages - self.blank


@dataclass(frozen=True, slots=True)
class Pattern:
    """The spreads a binding allows."""

    binding: str
    whole: tuple[Shape, ...]
    first: tuple[Shape, ...]
    middle: tuple[Shape, ...]
    last: tuple[Shape, ...]

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


def _taped(abreast: int) -> Pattern:
    """Single-sided pages, taped: a leaf in the middle is two pages back to back, so only the ends can be
    longer.

    Three in the middle are never used: nobody unfolds flaps while playing (common practice, no source).
    """
    ends = tuple(Shape(pages) for pages in range(1, min(3, abreast) + 1)) + (
        (Shape(4),) if abreast == 4 else ()
    )
    whole = tuple(Shape(pages) for pages in range(1, abreast + 1))
    return Pattern("taped", whole, ends, (Shape(2), Shape(2, blank=1)), ends)


_BINDINGS = {"taped": _taped}


def pattern_for(binding: str, abreast: int) -> Pattern:
    """The pattern of a binding on a desk that takes `abreast` pages; UsageError for an unknown binding."""
    if binding not in _BINDINGS:
        raise UsageError(f"--binding {binding}: unknown; use {', '.join(_BINDINGS)}")
    return _BINDINGS[binding](abreast)


def first_page_number(sizes: Sequence[int]) -> int:
    """1 or 2, so that in every pair of pages the odd number stands right; a piece on one spread starts at 1.

    Odd pages right: MOLA guidelines.
    """
    return 2 if len(sizes) > 1 and sizes[0] % 2 == 0 else 1


def pattern_name(sizes: Sequence[int]) -> str:
    """The pattern in words: `one spread of 3`, `2s`, `3 first`, `1 first, 3 last`."""
    if len(sizes) == 1:
        return "one page" if sizes[0] == 1 else f"one spread of {sizes[0]}"
    ends = [f"{size} {where}" for size, where in ((sizes[0], "first"), (sizes[-1], "last")) if size != 2]
    return ", ".join(ends) or "2s"
