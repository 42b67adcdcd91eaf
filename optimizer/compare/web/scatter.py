"""Where the alternatives stand in the picture of turn effort against pages.

In: alternatives.  Out: `Scatter`, lengths in px.  Always true: no two marks touch as long as there is room for all; one
that had to give way is tied to its true place by a line.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import product
from math import hypot
from typing import Final

from optimizer.compare.model import Alternative

LEFT, RIGHT, TOP, LOW = 52.0, 14.0, 26.0, 66.0  # room for the axes' figures and names
LEAST_RADIUS, MOST_RADIUS = 10.0, 16.0  # of the smallest and the largest staff
NARROW, NARROW_SHARE = 500.0, 0.8  # below this width marks are smaller
LABEL: Final = 13.0  # the staff size below a mark
GAP: Final = 3.0
TICKS: Final = 4  # at least so many figures on the axis of effort
STEP: Final = 4.0  # marks give way by so much at a time
REACH: Final = 50  # and so many times at most
NEAR: Final = 3.0  # moved by less, a mark needs no line to its place


@dataclass(frozen=True, slots=True)
class Mark:
    """An alternative: where it is drawn, and where it belongs."""

    alternative: Alternative
    x: float
    y: float
    true_x: float
    true_y: float
    radius: float

    @property
    def is_moved(self) -> bool:
        """Whether it needs a line to its place."""
        return hypot(self.x - self.true_x, self.y - self.true_y) > NEAR


@dataclass(frozen=True, slots=True)
class Scatter:
    """`pages`, `efforts`: figures on the axes with their places."""

    width: float
    height: float
    marks: tuple[Mark, ...]
    pages: tuple[tuple[int, float], ...]
    efforts: tuple[tuple[int, float], ...]

    @property
    def left(self) -> float:
        """The axis of effort."""
        return LEFT

    @property
    def right(self) -> float:
        """Where lines across end."""
        return self.width - RIGHT

    @property
    def floor(self) -> float:
        """The axis of pages."""
        return self.height - LOW


def scatter(alternatives: Sequence[Alternative], width: float, height: float) -> Scatter:
    """The picture in a size; marks of larger staves are larger."""
    counts = [len(a.plan.pages) for a in alternatives]
    fewest, most = min(counts), max(counts)
    column = (width - LEFT - RIGHT) / (most - fewest + 1)
    step = _tick_step(max(a.merits.effort for a in alternatives))
    ticks = max(1, -(-max(a.merits.effort for a in alternatives) // step))
    room = height - LOW - TOP

    def x_of(pages: int) -> float:
        return LEFT + column * (pages - fewest + 0.5)

    def y_of(effort: float) -> float:
        return TOP + room * (1 - effort / (ticks * step))

    sizes = [a.merits.staff_mm for a in alternatives]
    moves = tuple(_moves(column))
    marks: list[Mark] = []
    for alternative in sorted(alternatives, key=lambda a: (a.merits.effort, a.number)):
        share = (alternative.merits.staff_mm - min(sizes)) / ((max(sizes) - min(sizes)) or 1.0)
        radius = (LEAST_RADIUS + (MOST_RADIUS - LEAST_RADIUS) * share) * (
            NARROW_SHARE if width < NARROW else 1
        )
        true = x_of(len(alternative.plan.pages)), y_of(alternative.merits.effort)
        places = (Mark(alternative, true[0] + dx, true[1] + dy, *true, radius) for dx, dy in moves)
        free = (mark for mark in places if _fits(mark, marks, width, height))
        marks.append(next(free, Mark(alternative, *true, *true, radius)))
    return Scatter(
        width,
        height,
        tuple(sorted(marks, key=lambda mark: mark.alternative.number)),
        tuple((pages, x_of(pages)) for pages in range(fewest, most + 1)),
        tuple((tick * step, y_of(tick * step)) for tick in range(ticks + 1)),
    )


def _tick_step(most: int) -> int:
    """1, 2 or 5 times a power of ten, so that there are at least so many figures as TICKS."""
    steps = [lead * 10**power for power in range(6) for lead in (1, 2, 5)]
    return max((step for step in steps if step * TICKS <= most), default=1)


def _moves(column: float) -> Iterator[tuple[float, float]]:
    """Ways to give way, nearest first: rather aside than up or down, rather within the column of a page count."""
    steps = [STEP * step for step in range(-REACH, REACH + 1)]
    yield from sorted(
        product(steps, steps),
        key=lambda move: (abs(move[0]) > column / 2, hypot(move[0], 2 * move[1]), move),
    )


def _fits(mark: Mark, others: Sequence[Mark], width: float, height: float) -> bool:
    """Whether a mark with its label is inside and clear of the others."""
    across, down = LEFT + mark.radius, mark.radius + 1
    inside = across <= mark.x <= width - mark.radius and down <= mark.y <= height - LOW
    return inside and all(
        abs(mark.x - other.x) >= mark.radius + other.radius + GAP
        or abs(mark.y - other.y) >= mark.radius + other.radius + LABEL + GAP
        for other in others
    )
