"""Where the alternatives stand in the picture of turn effort against pages.

In: alternatives.  Out: `Scatter`, lengths in px.  Always true: a mark stands at the very height of its effort, in the
column of its pages; no two touch.  Those of like effort stand abreast in lanes, columns are as wide as their lanes need
and the picture is as high as keeps these few.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import accumulate, pairwise
from typing import Final

from optimizer.compare.model import Alternative

LEFT, RIGHT, TOP, LOW = 52.0, 14.0, 36.0, 66.0  # room for the axes' figures and names
LEAST_RADIUS, MOST_RADIUS = 10.0, 16.0  # of the smallest and the largest staff
NARROW, NARROW_SHARE = 500.0, 0.8  # below this width marks are smaller
LABEL: Final = 13.0  # the staff size below a mark
GAP: Final = 3.0
TICKS: Final = 4  # at least so many figures on the axis of effort
HEIGHTS: Final = (1.0, 1.3, 1.6, 2.0)  # times the usual one, where marks would not go abreast
CROWDED_RADIUS: Final = 6.5  # of marks whose numbers run into each other


@dataclass(frozen=True, slots=True)
class Mark:
    """An alternative at its place."""

    alternative: Alternative
    x: float
    y: float
    radius: float


@dataclass(frozen=True, slots=True)
class Column:
    """All alternatives of so many pages stand between `left` and `right`."""

    pages: int
    left: float
    right: float

    @property
    def middle(self) -> float:
        """Where its figure stands."""
        return (self.left + self.right) / 2


@dataclass(frozen=True, slots=True)
class Scatter:
    """`efforts`: figures on the axis with their places."""

    width: float
    height: float
    marks: tuple[Mark, ...]
    columns: tuple[Column, ...]
    efforts: tuple[tuple[int, float], ...]

    @property
    def is_crowded(self) -> bool:
        """Whether its marks had to become too small to be told apart."""
        return min(mark.radius for mark in self.marks) < CROWDED_RADIUS

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


@dataclass(frozen=True, slots=True)
class _Placed:
    """An alternative in one of the `lanes` that it and those around it take."""

    alternative: Alternative
    y: float
    radius: float
    lane: int
    lanes: int


def scatter(alternatives: Sequence[Alternative], width: float, height: float, most: int = 0) -> Scatter:
    """The picture, at least so high, with an axis up to `most` points or the most there are; marks of larger staves are
    larger."""
    most = max(most, *(alternative.merits.effort for alternative in alternatives))
    step = _tick_step(most)
    ticks = max(1, -(-most // step))
    radii = _radii(alternatives, NARROW_SHARE if width < NARROW else 1.0)
    room, pitch = width - LEFT - RIGHT, 2 * max(radii.values()) + GAP

    def y_of(effort: float, high: float) -> float:
        return TOP + (high - LOW - TOP) * (1 - effort / (ticks * step))

    def placed_at(high: float) -> Mapping[int, list[_Placed]]:
        ys = {a.number: y_of(a.merits.effort, high) for a in alternatives}
        return {
            pages: _in_lanes([a for a in alternatives if len(a.plan.pages) == pages], ys, radii)
            for pages in sorted({len(a.plan.pages) for a in alternatives})
        }

    def lanes_at(high: float) -> dict[int, int]:
        return {pages: max(one.lanes for one in column) for pages, column in placed_at(high).items()}

    heights = [height * share for share in HEIGHTS]
    high = min(heights, key=lambda high: (max(room, sum(lanes_at(high).values()) * pitch), high))
    placed, lanes = placed_at(high), lanes_at(high)
    abreast = min(pitch, room / sum(lanes.values()))
    columns = tuple(_columns(lanes, abreast, room))
    share = (abreast - GAP) / (pitch - GAP)
    marks = [
        Mark(
            one.alternative,
            column.middle + (one.lane - (one.lanes - 1) / 2) * abreast,
            one.y,
            one.radius * share,
        )
        for column in columns
        for one in placed[column.pages]
    ]
    return Scatter(
        width,
        high,
        tuple(sorted(marks, key=lambda mark: mark.alternative.number)),
        columns,
        tuple((tick * step, y_of(tick * step, high)) for tick in range(ticks + 1)),
    )


def _tick_step(most: int) -> int:
    """1, 2 or 5 times a power of ten, so that there are at least so many figures as TICKS."""
    steps = [lead * 10**power for power in range(6) for lead in (1, 2, 5)]
    return max((step for step in steps if step * TICKS <= most), default=1)


def _radii(alternatives: Sequence[Alternative], share: float) -> Mapping[int, float]:
    """By number."""
    sizes = [alternative.merits.staff_mm for alternative in alternatives]
    least, span = min(sizes), (max(sizes) - min(sizes)) or 1.0
    return {
        a.number: (LEAST_RADIUS + (MOST_RADIUS - LEAST_RADIUS) * (a.merits.staff_mm - least) / span) * share
        for a in alternatives
    }


def _in_lanes(
    column: Sequence[Alternative], ys: Mapping[int, float], radii: Mapping[int, float]
) -> list[_Placed]:
    """Each in the first lane in which it is clear of those above it, staff size below it and all."""
    placed: list[_Placed] = []
    crowd: list[tuple[Alternative, int]] = []
    lows: list[float] = []
    for one in sorted(column, key=lambda a: (ys[a.number], a.number)):
        top, low = ys[one.number] - radii[one.number], ys[one.number] + radii[one.number] + LABEL + GAP
        if all(other <= top for other in lows):
            placed += _settled(crowd, ys, radii)
            crowd, lows = [], []
        lane = next((lane for lane, other in enumerate(lows) if other <= top), len(lows))
        lows[lane : lane + 1] = [low]
        crowd.append((one, lane))
    return placed + _settled(crowd, ys, radii)


def _settled(
    crowd: Sequence[tuple[Alternative, int]], ys: Mapping[int, float], radii: Mapping[int, float]
) -> list[_Placed]:
    """Those that stand in one another's way, of whom it is now known how many lanes they take."""
    lanes = max((lane + 1 for _, lane in crowd), default=0)
    return [_Placed(one, ys[one.number], radii[one.number], lane, lanes) for one, lane in crowd]


def _columns(lanes: Mapping[int, int], pitch: float, room: float) -> Iterator[Column]:
    """As wide as the lanes need, the rest shared out."""
    spare = (room - sum(lanes.values()) * pitch) / len(lanes)
    edges = accumulate((count * pitch + spare for count in lanes.values()), initial=LEFT)
    for pages, (left, right) in zip(lanes, pairwise(edges), strict=True):
        yield Column(pages, left, right)
