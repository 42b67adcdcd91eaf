"""Sides of pages on pieces of paper.

In: nothing.  Out: frozen dataclasses.  A side is one printed side of one page's size; a leaf is a piece of paper of
that size, a folded sheet one of twice its width.  Always true: in `Sheets` every side of the set stands on exactly
one leaf, and in a folded set also on one half of a folded sheet.
"""

from dataclasses import dataclass
from enum import StrEnum


class SideKind(StrEnum):
    """What stands on a side."""

    MUSIC = "music"
    BLANK = "blank"
    TITLE = "title"


@dataclass(frozen=True, slots=True)
class Side:
    """One side of page size. `number`: as in the plan, None for blanks that only fill up a sheet; `why`: what a blank
    one is there for."""

    kind: SideKind
    number: int | None = None
    why: str = ""


@dataclass(frozen=True, slots=True)
class Leaf:
    """A piece of paper of one page's size; without a `back` its other side stays white."""

    front: Side
    back: Side | None = None


@dataclass(frozen=True, slots=True)
class FoldedSheet:
    """Four sides on a sheet folded once: left and right as printed. `front` is the outer side when folded."""

    front: tuple[Side, Side]
    back: tuple[Side, Side]


@dataclass(frozen=True, slots=True)
class Sheets:
    """All paper of a set. `sides` in reading order, in two-sided sets recto first, title and blanks included.

    `folded` from the outermost sheet to the innermost, in a stapled set of more than one leaf only; its `leaves` are
    their halves.
    """

    binding: str
    leaves: tuple[Leaf, ...]
    folded: tuple[FoldedSheet, ...]
    sides: tuple[Side, ...]

    @property
    def two_sided(self) -> bool:
        """Whether any paper is printed on both sides."""
        return any(leaf.back is not None for leaf in self.leaves)
