"""Paper lying folded on a table: which panel lies in which column, which side up, in which order.

In: panels (a panel is a piece of paper of one page's size, here only an index), the seams between their edges,
and movements of the hand.  Out: `Pose`s; columns are one page wide, counted from the spine (column 0 lies right
of it, column -1 left).  Always true: a pose is reached by swinging panels half a turn about a seam's line,
over what lies there, and only panels that are free to move: so every pose that exists can be folded from paper.
"""

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum


class Edge(StrEnum):
    """An upright edge of a panel, seen from its front."""

    LEFT = "left"
    RIGHT = "right"


class Fold(StrEnum):
    """How a seam folds, seen from the front of its panels, as they lie flat."""

    VALLEY = "valley"  # fronts come together
    MOUNTAIN = "mountain"  # backs come together


class BoundError(Exception):
    """A movement that real paper cannot make; a fault of ours wherever it appears."""


@dataclass(frozen=True, slots=True)
class Joint:
    """Two panel edges held together: taped, folded, stapled, or on the same rings."""

    left: int
    left_edge: Edge
    right: int
    right_edge: Edge


@dataclass(frozen=True, slots=True)
class Placed:
    """A panel in its column."""

    panel: int
    column: int
    front_up: bool = True

    def edge_at(self, edge: Edge) -> int:
        """Where an edge lies: the line left of column c is c."""
        return self.column + ((edge is Edge.RIGHT) == self.front_up)


@dataclass(frozen=True, slots=True)
class Pose:
    """All panels from the lowest to the topmost."""

    stack: tuple[Placed, ...]

    @property
    def columns(self) -> tuple[int, ...]:
        """Columns in which paper lies, left to right."""
        return tuple(sorted({placed.column for placed in self.stack}))

    def column(self, column: int) -> tuple[Placed, ...]:
        """What lies in a column, lowest first."""
        return tuple(placed for placed in self.stack if placed.column == column)

    def top(self) -> tuple[Placed, ...]:
        """What one sees from above, left to right."""
        return tuple(self.column(column)[-1] for column in self.columns)

    def where(self) -> Mapping[int, Placed]:
        """Every panel's place."""
        return {placed.panel: placed for placed in self.stack}


def laid_flat(panels: Iterable[int], column: int) -> Pose:
    """Panels side by side, fronts up, the first in this column."""
    return Pose(tuple(Placed(panel, column + step) for step, panel in enumerate(panels)))


def piled(panels: Iterable[int], front_up: bool = True) -> Pose:
    """Panels in one pile right of the spine, the first on top."""
    return Pose(tuple(Placed(panel, 0, front_up) for panel in panels)[::-1])


def swing(
    pose: Pose, moving: Collection[int], line: int, joints: Sequence[Joint], *, over: bool = True
) -> Pose:
    """Swing panels half a turn about a line, over the rest or (`over` False) under it.

    BoundError when paper would tear or pass through paper.
    """
    place = pose.where()
    for joint in joints:
        apart = (joint.left in moving) != (joint.right in moving)
        if apart and place[joint.left].edge_at(joint.left_edge) != line:
            raise BoundError(f"panels {joint.left} and {joint.right} are joined away from line {line}")
    stack = pose.stack if over else pose.stack[::-1]
    covered = set()  # columns in which something that rests lies above
    for placed in reversed(stack):
        if placed.panel not in moving:
            covered.add(placed.column)
        elif placed.column in covered:
            raise BoundError(f"panel {placed.panel} is held down by what lies on it")
    swung = tuple(_mirrored(placed, line) for placed in stack if placed.panel in moving)[::-1]
    rest = tuple(placed for placed in stack if placed.panel not in moving)
    return Pose(rest + swung if over else (rest + swung)[::-1])


def turned_over(pose: Pose, line: int = 0) -> Pose:
    """Everything turned over together, about a line."""
    return Pose(tuple(_mirrored(placed, line) for placed in reversed(pose.stack)))


def _mirrored(placed: Placed, line: int) -> Placed:
    return replace(placed, column=2 * line - 1 - placed.column, front_up=not placed.front_up)
