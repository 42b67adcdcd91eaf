"""Where a strip of pages is joined, and how each seam folds (taped and ring sets).

In: how many pages lie abreast in each spread.  Out: `Opening`s (which panel is the left and the right page of a
spread, which are its fold-outs) and `Seam`s between neighbouring panels.  Always true: panel i + 1 lies right of
panel i when the strip lies flat, fronts up; fold-outs belong to the first spread's left and the last spread's
right page only, because nobody unfolds paper while playing.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import chain, count, pairwise

from optimizer.binding.pose import Edge, Fold, Joint
from optimizer.layout.patterns import PageSide, page_sides


class Role(StrEnum):
    """What a seam does."""

    SPINE = "spine"  # opens and closes between the two pages of a spread
    LEAF = "leaf"  # holds two pages back to back, which are turned together
    FOLD_OUT = "fold-out"


@dataclass(frozen=True, slots=True)
class Opening:
    """The panels of one spread; fold-outs from the central page outwards."""

    left_outs: tuple[int, ...]
    left: int | None
    right: int | None
    right_outs: tuple[int, ...]

    @property
    def panels(self) -> tuple[int, ...]:
        """Left to right."""
        centre = (panel for panel in (self.left, self.right) if panel is not None)
        return (*self.left_outs[::-1], *centre, *self.right_outs)


@dataclass(frozen=True, slots=True)
class Seam:
    """Between panel `left` and the next one."""

    left: int
    fold: Fold
    role: Role

    @property
    def right(self) -> int:
        """The panel right of the seam."""
        return self.left + 1

    @property
    def joint(self) -> Joint:
        """The two edges it holds."""
        return Joint(self.left, Edge.RIGHT, self.right, Edge.LEFT)


def openings(sizes: Sequence[int]) -> tuple[Opening, ...]:
    """Panels of every spread, numbered from 0 along the strip."""
    panels = count()
    return tuple(_opening([(next(panels), side) for side in sides]) for sides in page_sides(sizes))


def _opening(pages: Sequence[tuple[int, PageSide]]) -> Opening:
    central = {side: panel for panel, side in pages if side is not PageSide.FOLD_OUT}
    outs = [panel for panel, side in pages if side is PageSide.FOLD_OUT]
    return Opening(
        tuple(panel for panel in reversed(outs) if panel < min(central.values())),
        central.get(PageSide.LEFT),
        central.get(PageSide.RIGHT),
        tuple(panel for panel in outs if panel > max(central.values())),
    )


def strip_seams(spreads: Sequence[Opening]) -> tuple[Seam, ...]:
    """All seams, left to right."""
    within = chain.from_iterable(map(_within, spreads))
    leaves = (Seam(a.panels[-1], Fold.MOUNTAIN, Role.LEAF) for a, _ in pairwise(spreads))
    return tuple(sorted(chain(within, leaves), key=lambda seam: seam.left))


def _within(spread: Opening) -> Iterator[Seam]:
    """Spine and fold-outs: the innermost fold-out lies face to face with its page, the next back to back with
    that, so that a pull at the outer edge opens both and none sticks out of the packet."""
    if spread.left is not None and spread.right is not None:
        yield Seam(spread.left, Fold.VALLEY, Role.SPINE)
    for step, panel in enumerate(spread.left_outs):
        yield Seam(panel, _alternating(step), Role.FOLD_OUT)
    for step, panel in enumerate(spread.right_outs):
        yield Seam(panel - 1, _alternating(step), Role.FOLD_OUT)


def _alternating(step: int) -> Fold:
    return Fold.MOUNTAIN if step % 2 else Fold.VALLEY
