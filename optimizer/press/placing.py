"""Where each system stands on its page.

In: the drawn systems of one page and the page's boxes.  Out: the position of each system's staff corner,
millimetres from the page's top left corner, y downwards.  Always true: ink stays inside the music box and
systems keep the least gap of layout/geometry.py, or where they turned out higher than planned at least the tightest
one; `PageOverflowError` otherwise.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

from optimizer.engrave.model import EngravedSystem
from optimizer.layout.geometry import (
    MIN_INK_SP,
    PageGeometry,
    SystemExtent,
    stack_height_mm,
)
from optimizer.units import sp_to_mm

# Staff line to staff line of neighbouring systems, staff spaces; our choice by eye on piano and ensemble
# pages. A page is stretched up to WIDEST; LOOSE is what a page gets that has no neighbour to look like.
WIDEST_DISTANCE_SP: Final = 18.0
LOOSE_DISTANCE_SP: Final = 12.0
# Where there is room, outer staff lines stand this far inside the music box, so that facing pages align;
# our choice.
LEVEL_INK_SP: Final = 3.0
ROUNDING_MM: Final = 0.05  # a twentieth of a millimetre over is no overflow


class PageOverflowError(Exception):
    """A fault of ours: the systems of a page do not fit; the pipeline must solve again before printing."""


@dataclass(frozen=True, slots=True)
class PlacedSystem:
    """A system and where its staff begins: left end and top line of its top staff."""

    system: EngravedSystem
    x_mm: float
    y_mm: float
    staff_mm: float

    @property
    def bottom_mm(self) -> float:
        """The bottom line of the bottom staff."""
        return self.y_mm + sp_to_mm(self.system.staves_sp, self.staff_mm)

    @property
    def ink_top_mm(self) -> float:
        """Topmost ink."""
        return self.y_mm - sp_to_mm(self.system.above_sp, self.staff_mm)

    @property
    def ink_bottom_mm(self) -> float:
        """Lowest ink."""
        return self.bottom_mm + sp_to_mm(self.system.below_sp, self.staff_mm)

    @property
    def right_mm(self) -> float:
        """The right end of the staff lines."""
        return self.x_mm + sp_to_mm(self.system.left_sp + self.system.width_sp, self.staff_mm)


def overflow_mm(
    systems: Sequence[EngravedSystem],
    geometry: PageGeometry,
    staff_mm: float,
    first: bool,
    heads_mm: Sequence[float] = (),
) -> float:
    """How much higher the drawn systems are at the tightest gap than the music box; zero or negative when they fit.

    `heads_mm`: room kept above each system for a movement title (empty: none).
    """
    return _over_mm(systems, geometry, staff_mm, first, heads_mm, geometry.tightest_gap_sp)


def _over_mm(
    systems: Sequence[EngravedSystem],
    geometry: PageGeometry,
    staff_mm: float,
    first: bool,
    heads_mm: Sequence[float],
    gap_sp: float,
) -> float:
    extents = [SystemExtent(system.above_sp, system.staves_sp, system.below_sp) for system in systems]
    return stack_height_mm(extents, staff_mm, gap_sp) + sum(heads_mm) - geometry.music_height_mm(first)


def place_systems(
    systems: Sequence[EngravedSystem],
    geometry: PageGeometry,
    staff_mm: float,
    first: bool,
    heads_mm: Sequence[float] = (),
    widest_sp: float = WIDEST_DISTANCE_SP,
) -> tuple[PlacedSystem, ...]:
    """Stack the systems of a page from the top of the music box.

    The distance between the staves of neighbouring systems is the same everywhere but where ink needs more.
    It grows until the page is full or it is `widest_sp`; then the rest of the page stays white.
    """
    if not systems:
        return ()
    over_mm = overflow_mm(systems, geometry, staff_mm, first, heads_mm)
    if over_mm > ROUNDING_MM:
        raise PageOverflowError(
            f"measures {systems[0].first} to {systems[-1].last} are {over_mm:.2f} mm too high for their page"
        )
    space_mm = sp_to_mm(1, staff_mm)
    over_mm = _over_mm(systems, geometry, staff_mm, first, heads_mm, geometry.gap_sp)
    gap_mm = geometry.gap_sp * space_mm - max(0.0, over_mm) / max(1, len(systems) - 1)
    heads = heads_mm or (0.0,) * len(systems)
    above = [head + max(s.above_sp, MIN_INK_SP) * space_mm for head, s in zip(heads, systems, strict=True)]
    below = [max(s.below_sp, MIN_INK_SP) * space_mm for s in systems]
    slack = max(0.0, -over_mm)
    lead = min(slack, max(0.0, heads[0] + LEVEL_INK_SP * space_mm - above[0]))
    tail = min(slack - lead, max(0.0, LEVEL_INK_SP * space_mm - below[-1]))
    least = [low + gap_mm + high for low, high in zip(below, above[1:], strict=False)]
    distance = min(_level(least, slack - lead - tail), widest_sp * space_mm)
    placed, y = [], geometry.music_top_mm(first) + lead + above[0]
    for index, system in enumerate(systems):
        x = geometry.music_left_mm - sp_to_mm(system.left_sp, staff_mm)
        placed.append(PlacedSystem(system, x, y, staff_mm))
        if index < len(least):
            y += sp_to_mm(system.staves_sp, staff_mm) + max(least[index], distance)
    return tuple(placed)


def widest_distance_sp(placed: Sequence[PlacedSystem]) -> float:
    """The distance between staves of neighbouring systems that most of a page shows; LOOSE when it has only
    one."""
    gaps = sorted(
        (lower.y_mm - upper.bottom_mm) / sp_to_mm(1, upper.staff_mm) for upper, lower in pairwise(placed)
    )
    return gaps[len(gaps) // 2] if gaps else LOOSE_DISTANCE_SP


def _level(least: Sequence[float], slack: float) -> float:
    """The level L for which raising every entry of `least` to at least L takes up the slack exactly."""
    total = slack
    for count, value in enumerate(sorted(least), start=1):
        total += value
        level = total / count
        if count == len(least) or level <= sorted(least)[count]:
            return level
    return 0.0
