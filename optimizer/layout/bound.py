"""Exact bounds on what a layout can cost, from shortest paths over the spreads of one staff size.

In: `SpreadTable`, `PageLimit`.  Out: `Bounds`.  Always true: `through` is the least cost of any layout that
uses a spread, so a spread whose `through` exceeds the cost of a known layout is in no optimal one; with a
limit on pages the number of pages used is part of the path's state, so that bounds stay exact.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from optimizer.layout.demands import PageLimit
from optimizer.layout.pages import NEVER
from optimizer.layout.patterns import Shape
from optimizer.layout.spreads import SpreadTable
from optimizer.layout.systems import Ints


@dataclass(frozen=True, slots=True)
class Arc:
    """The spread of measures start .. end-1 and its weighted cost, hundredths of a point."""

    start: int
    end: int
    shape: Shape
    cost: int


@dataclass(frozen=True, eq=False)
class Bounds:
    """`forward[p, u]`: least cost of spreads that fill 0 .. p-1 with u pages (at most u where the limit is a
    maximum); `backward[p, v]`: of spreads from p to the end with v pages. Without a limit there is one
    column."""

    table: SpreadTable
    source: Ints
    forward: Ints

    @cached_property
    def backward(self) -> Ints:
        """Found when first asked for: most staff sizes are out of the question by their best cost alone."""
        n, columns = len(self.forward) - 1, self.forward.shape[1]
        counted = columns > 1
        backward = np.full((n + 1, columns), NEVER, dtype=np.int64)
        for shape, costs in self.table.last.items():
            if (column := shape.pages * counted) < columns:
                np.minimum(backward[:, column], costs, out=backward[:, column])
        for start in reversed(range(n)):
            for shape, matrix in self.table.middle.items():
                ends, skip = np.flatnonzero(matrix[start] < NEVER), shape.pages * counted
                if len(ends) and skip < columns:
                    found = (backward[ends, : columns - skip] + matrix[start, ends][:, None]).min(axis=0)
                    np.minimum(backward[start, skip:], found, out=backward[start, skip:])
        return backward

    def through(self, pages: int) -> Ints:
        """`[a, b]`: least cost of everything before a and after b, with a spread of this many pages
        between."""
        left, right = self.forward, self.backward
        if left.shape[1] == 1:
            total: Ints = np.minimum(NEVER, left + right[:, 0])
            return total
        total = np.full((len(left), len(left)), NEVER, dtype=np.int64)
        most = left.shape[1] - 1
        for before in range(most - pages + 1):
            np.minimum(total, left[:, before][:, None] + right[:, most - pages - before], out=total)
        return total

    def after_first(self, pages: int) -> Ints:
        """`[b]`: least cost of everything after a first spread of this many pages that ends at b."""
        return _joined(self.source, self.backward, pages)

    def before_last(self, pages: int) -> Ints:
        """`[a]`: least cost of everything before a last spread of this many pages that starts at a."""
        most = self.forward.shape[1] - 1
        column = most - pages if most else 0
        return self.forward[:, column] if column >= 0 else np.full(len(self.forward), NEVER, dtype=np.int64)

    def allows_whole(self, pages: int) -> bool:
        """Whether the limit allows a piece of this many pages."""
        most = self.forward.shape[1] - 1
        return not most or (pages <= most and bool(self.source[most - pages] == 0))

    def arcs_within(self, most: int) -> Iterator[Arc]:
        """The spreads of all layouts that cost at most this, in a fixed order."""
        n = len(self.forward) - 1
        for shape, cost in self.table.whole.items():
            if cost <= most and self.allows_whole(shape.pages):
                yield Arc(0, n, shape, cost)
        for shape, costs in self.table.first.items():
            for end in np.flatnonzero(costs + self.after_first(shape.pages) <= most):
                yield Arc(0, int(end), shape, int(costs[end]))
        for shape, costs in self.table.middle.items():
            for start, end in np.argwhere(costs + self.through(shape.pages) <= most):
                yield Arc(int(start), int(end), shape, int(costs[start, end]))
        for shape, costs in self.table.last.items():
            for start in np.flatnonzero(costs + self.before_last(shape.pages) <= most):
                yield Arc(int(start), n, shape, int(costs[start]))

    def best(self) -> int:
        """Cost of the best layout; NEVER when there is none."""
        costs = [cost for shape, cost in self.table.whole.items() if self.allows_whole(shape.pages)]
        costs += [
            int((costs + self.before_last(shape.pages)).min()) for shape, costs in self.table.last.items()
        ]
        return min([NEVER, *costs])

    def path(self) -> tuple[Arc, ...]:
        """The spreads of a best layout, in order."""
        best, n, most = self.best(), len(self.forward) - 1, self.forward.shape[1] - 1
        for shape, cost in self.table.whole.items():
            if cost == best and self.allows_whole(shape.pages):
                return (Arc(0, n, shape, cost),)
        for shape, costs in self.table.first.items():
            for left in range(most - shape.pages + 1) if most else (0,):
                spare = int(self.source[most - shape.pages - left]) if most else 0
                ends = np.flatnonzero(costs + self.backward[:, left] + spare == best)
                if len(ends):
                    end = int(ends[0])
                    return (Arc(0, end, shape, int(costs[end])), *self._path_on(end, left))
        raise ValueError("there is no layout")

    def _path_on(self, start: int, left: int) -> Iterator[Arc]:
        """The spreads of a best completion from a position with `left` pages (without a limit: any
        number)."""
        n, counted = len(self.forward) - 1, self.forward.shape[1] > 1
        for shape, costs in self.table.last.items():
            if costs[start] == self.backward[start, left] and shape.pages * counted == left:
                yield Arc(start, n, shape, int(costs[start]))
                return
        for shape, matrix in self.table.middle.items():
            if (then := left - shape.pages * counted) < 0:
                continue
            ends = np.flatnonzero(matrix[start] + self.backward[:, then] == self.backward[start, left])
            if len(ends):
                yield Arc(start, int(ends[0]), shape, int(matrix[start, ends[0]]))
                yield from self._path_on(int(ends[0]), then)
                return


def bounds(table: SpreadTable, limit: PageLimit) -> Bounds:
    """Shortest paths from the start; those from the end follow when they are needed."""
    n = len(table.pages.costs) - 1
    columns = _columns(n, limit)
    counted = columns > 1
    source = np.full(columns, NEVER, dtype=np.int64)
    source[0] = 0
    if not limit.exact:
        source[:] = 0  # pages not used are no loss
    forward = np.full((n + 1, columns), NEVER, dtype=np.int64)
    for shape, costs in table.first.items():
        if (skip := shape.pages * counted) < columns:
            np.minimum(forward[:, skip:], costs[:, None] + source[: columns - skip], out=forward[:, skip:])
    for end in range(n):
        for shape, matrix in table.middle.items():
            starts, skip = np.flatnonzero(matrix[:, end] < NEVER), shape.pages * counted
            if len(starts) and skip < columns:
                found = (forward[starts, : columns - skip] + matrix[starts, end][:, None]).min(axis=0)
                np.minimum(forward[end, skip:], found, out=forward[end, skip:])
    return Bounds(table, source, forward)


def _columns(measures: int, limit: PageLimit) -> int:
    """How many page counts the state distinguishes: a layout has at most two pages a measure."""
    if limit.most is None or (limit.most > 2 * measures and not limit.exact):
        return 1
    return min(limit.most, 2 * measures + 1) + 1


def _joined(source: Ints, backward: Ints, pages: int) -> Ints:
    """Least cost of what follows a first spread, over the page counts that remain."""
    columns = backward.shape[1]
    if columns == 1:
        return backward[:, 0]
    if pages >= columns:
        return np.full(len(backward), NEVER, dtype=np.int64)
    left = columns - 1 - pages
    joined: Ints = np.min(backward[:, left::-1] + source[: left + 1], axis=1)
    return joined
