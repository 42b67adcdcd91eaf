"""Exact bounds on what a layout can cost, from shortest paths over the spreads of one staff size.

In: `SpreadTable`, `PageLimit`.  Out: `Bounds`.  Always true: `through` is the least cost of any layout that
uses a spread, so a spread whose `through` exceeds the cost of a known layout is in no optimal one; with a
limit on pages, or paper that comes in sheets of several sides, the number of sides used is part of the path's
state, so that bounds stay exact.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from optimizer.layout.demands import PageLimit
from optimizer.layout.objective import PAGE
from optimizer.layout.pages import NEVER
from optimizer.layout.patterns import Shape
from optimizer.layout.problem import Problem
from optimizer.layout.spreads import SpreadTable
from optimizer.layout.systems import Ints


@dataclass(frozen=True, slots=True)
class Arc:
    """The spread of measures start .. end-1 and its weighted cost, hundredths of a point."""

    start: int
    end: int
    shape: Shape
    cost: int


@dataclass(frozen=True, slots=True, eq=False)
class Tally:
    """How the sides of a layout are counted: `at_end[u]` is what a layout that used u sides pays at its end, NEVER
    where it used too many or too few. With `wraps` only the remainder counts."""

    at_end: Ints
    wraps: bool

    def shifted(self, costs: Ints, sides: int) -> Ints:
        """`[..., u]` becomes what stood at u - sides; NEVER where nothing stood."""
        if self.wraps:
            return costs if costs.shape[-1] == 1 else np.roll(costs, sides, axis=-1)
        moved = np.full_like(costs, NEVER)
        columns = costs.shape[-1]
        if abs(sides) < columns:
            low, high = max(0, sides), min(columns, columns + sides)
            moved[..., low:high] = costs[..., low - sides : high - sides]
        return moved

    def left_to_pay(self, sides: int) -> Ints:
        """`[u]`: what is paid at the end when u sides are used and the last spread takes so many more."""
        return self.shifted(self.at_end, -sides)


@dataclass(frozen=True, eq=False)
class Bounds:
    """`forward[p, u]`: least cost of spreads that fill 0 .. p-1 with u sides; `backward[p, u]`: of spreads from p to
    the end, and of what is paid there, when u sides are used before p."""

    table: SpreadTable
    tally: Tally
    forward: Ints

    @cached_property
    def backward(self) -> Ints:
        """Found when first asked for: most staff sizes are out of the question by their best cost alone."""
        backward = np.full_like(self.forward, NEVER)
        for shape, costs in self.table.last.items():
            np.minimum(backward, costs[:, None] + self.tally.left_to_pay(shape.sides), out=backward)
        for start in reversed(range(len(backward))):
            for shape, matrix in self.table.middle.items():
                ends = np.flatnonzero(matrix[start] < NEVER)
                if len(ends):
                    found = (backward[ends] + matrix[start, ends][:, None]).min(axis=0)
                    found = self.tally.shifted(found, -shape.sides)
                    np.minimum(backward[start], found, out=backward[start])
        return backward

    def through(self, sides: int) -> Ints:
        """`[a, b]`: least cost of everything before a and after b, with a spread of this many sides between."""
        total = np.full((len(self.forward), len(self.forward)), NEVER, dtype=np.int64)
        after = self.tally.shifted(self.backward, -sides)
        for used in range(self.forward.shape[1]):
            np.minimum(total, self.forward[:, used][:, None] + after[:, used], out=total)
        return total

    def after_first(self, sides: int) -> Ints:
        """`[b]`: least cost of everything after a first spread of this many sides that ends at b."""
        return self.tally.shifted(self.backward, -sides)[:, 0]

    def before_last(self, sides: int) -> Ints:
        """`[a]`: least cost of everything but a last spread of this many sides that starts at a."""
        costs: Ints = np.minimum(NEVER, (self.forward + self.tally.left_to_pay(sides)).min(axis=1))
        return costs

    def wholes(self) -> Iterator[tuple[Arc, int]]:
        """The piece on one spread, in each way, and what that costs with all that is paid at the end."""
        for shape, cost in self.table.whole.items():
            total = cost + int(self.tally.left_to_pay(shape.sides)[0])
            yield Arc(0, len(self.forward) - 1, shape, cost), min(NEVER, total)

    def arcs_within(self, most: int) -> Iterator[Arc]:
        """The spreads of all layouts that cost at most this, in a fixed order."""
        return (arc for arc, _ in self.priced_arcs(most))

    def priced_arcs(self, most: int) -> Iterator[tuple[Arc, int]]:
        """The same, each with the least cost of any layout that uses it."""
        n = len(self.forward) - 1
        yield from ((whole, cost) for whole, cost in self.wholes() if cost <= most)
        for shape, costs in self.table.first.items():
            total = costs + self.after_first(shape.sides)
            for end in map(int, np.flatnonzero(total <= most)):
                yield Arc(0, end, shape, int(costs[end])), int(total[end])
        for shape, costs in self.table.middle.items():
            total = costs + self.through(shape.sides)
            for start, end in np.argwhere(total <= most).tolist():
                yield Arc(start, end, shape, int(costs[start, end])), int(total[start, end])
        for shape, costs in self.table.last.items():
            total = costs + self.before_last(shape.sides)
            for start in map(int, np.flatnonzero(total <= most)):
                yield Arc(start, n, shape, int(costs[start])), int(total[start])

    def best(self) -> int:
        """Cost of the best layout; NEVER when there is none."""
        costs = [cost for _, cost in self.wholes()]
        costs += [
            int((costs + self.before_last(shape.sides)).min()) for shape, costs in self.table.last.items()
        ]
        return min([NEVER, *costs])

    def path(self) -> tuple[Arc, ...]:
        """The spreads of a best layout, in order."""
        best = self.best()
        for whole, cost in self.wholes():
            if cost == best:
                return (whole,)
        for shape, costs in self.table.first.items():
            ends = np.flatnonzero(costs + self.after_first(shape.sides) == best)
            if len(ends):
                end = int(ends[0])
                return (Arc(0, end, shape, int(costs[end])), *self._path_on(end, self._used(0, shape)))
        raise ValueError("there is no layout")

    def _used(self, before: int, shape: Shape) -> int:
        """The state after a spread."""
        used = before + shape.sides
        return used % len(self.tally.at_end) if self.tally.wraps else used

    def _path_on(self, start: int, used: int) -> Iterator[Arc]:
        """The spreads of a best completion from a position when so many sides are used."""
        n, best = len(self.forward) - 1, self.backward[start, used]
        for shape, costs in self.table.last.items():
            if costs[start] + self.tally.left_to_pay(shape.sides)[used] == best:
                yield Arc(start, n, shape, int(costs[start]))
                return
        for shape, matrix in self.table.middle.items():
            after = self.tally.shifted(self.backward, -shape.sides)[:, used]
            ends = np.flatnonzero(matrix[start] + after == best)
            if len(ends):
                end = int(ends[0])
                yield Arc(start, end, shape, int(matrix[start, end]))
                yield from self._path_on(end, self._used(used, shape))
                return


def bounds(table: SpreadTable, limit: PageLimit) -> Bounds:
    """Shortest paths from the start; those from the end follow when they are needed."""
    problem = table.pages.problem
    tally = _tally(problem, limit)
    none = np.full(len(tally.at_end), NEVER, dtype=np.int64)
    none[0] = 0
    forward = np.full((problem.measures + 1, len(none)), NEVER, dtype=np.int64)
    for shape, costs in table.first.items():
        np.minimum(forward, costs[:, None] + tally.shifted(none, shape.sides), out=forward)
    for end in range(problem.measures):
        for shape, matrix in table.middle.items():
            starts = np.flatnonzero(matrix[:, end] < NEVER)
            if len(starts):
                found = (forward[starts] + matrix[starts, end][:, None]).min(axis=0)
                np.minimum(forward[end], tally.shifted(found, shape.sides), out=forward[end])
    return Bounds(table, tally, forward)


def _tally(problem: Problem, limit: PageLimit) -> Tally:
    """What is paid at the end: the sides of the last sheet that stay unused (term `paper`).

    A layout has at most two pages a measure and a title page, so a higher limit is none.
    """
    pattern, most = problem.pattern, 2 * problem.measures + 1
    wraps = limit.most is None or (limit.most > most and not limit.exact)
    sides = np.arange(pattern.sides_a_sheet if wraps else min(limit.most or 0, most + 1) + 1)
    unused = np.array([pattern.sides_of_paper(int(count)) for count in sides]) - sides
    at_end = unused * PAGE * problem.weights["paper"]
    if limit.exact:
        at_end[:-1] = NEVER
    return Tally(at_end.astype(np.int64), wraps)
