"""The best layout of every cell: with so many sides, this first and that last spread, at one staff size.

In: `SpreadTable`.  Out: `CellTable`: for each `Cell` the exact cost of its best layout (hundredths of a point), what
the turns and the reach of that layout come to at least (points), and the spreads it is made of.  Always true: costs are
shortest paths with the number of sides in their state; a `Least` holds for every layout of its cell of that cost.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from optimizer.layout.bound import Arc
from optimizer.layout.objective import PAGE
from optimizer.layout.pages import NEVER, PageTable
from optimizer.layout.patterns import Pattern, Shape
from optimizer.layout.problem import Problem, crossed, is_back, step_cost
from optimizer.layout.spreads import SpreadTable, least_reach
from optimizer.layout.systems import Ints
from optimizer.turns.model import StepCost

# Rows of merits; further ones count the leaves of each jump that can go over several.
_EFFORT, _WORST, _BACK_TURNS, _REACH, _JUMPS = range(5)


@dataclass(frozen=True, slots=True, order=True)
class Cell:
    """Layouts at a staff size with so many sides (a title page among them) that begin with one shape and end with
    another; or that are one spread, whose shape is then both."""

    staff_mm: float
    sides: int
    first: Shape
    last: Shape

    @property
    def is_whole(self) -> bool:
        """Whether everything lies open at once."""
        return self.sides == self.first.sides


@dataclass(frozen=True, slots=True)
class Least:
    """Exact cost of a cell's best layout, and what its merits are at least, whichever of equally good ones it is:
    `effort` and `worst` of turns and back-turns, how often the player turns back, reach."""

    objective: int
    effort: int
    worst: int
    back_turns: int
    reach: int


def cells_of(pattern: Pattern, staff_mm: float, fewest: int, most: int) -> Iterator[Cell]:
    """The cells of a pattern with so many sides, whether they have a layout or not."""
    steps = {shape.sides for shape in pattern.middle}
    between = {0}
    for sides in range(1, most + 1):
        if any(sides - step in between for step in steps):
            between.add(sides)
    for sides in range(fewest, most + 1):
        for whole in pattern.whole:
            if whole.sides == sides:
                yield Cell(staff_mm, sides, whole, whole)
        for first in pattern.first:
            for last in pattern.last:
                if sides - first.sides - last.sides in between:
                    yield Cell(staff_mm, sides, first, last)


def fewest_pages(pages: PageTable) -> int | None:
    """So many pages hold the piece, one after the other; None when no number does."""
    fits, n = pages.costs < NEVER, pages.problem.measures
    reached = np.arange(n + 1) == 0
    for count in range(1, n + 1):
        reached = fits[reached].any(axis=0)
        if reached[n]:
            return count
    return None


def a_pass(cost: int, passes: int) -> int:
    """Points of a turn that costs so much on all its passes, when it is played once."""
    return -(-cost // passes)


class CellTable:
    """Exact bounds of all cells of a staff size that have at most `most` sides.

    `_cost[p, l, u]`: least cost of spreads that fill p .. the end with u sides and end with shape l; `_merits[m, p, l,
    u]`: the least that a merit comes to over paths of that cost. Both have columns before u = 0 in which nothing is, so
    that "so many sides fewer" is a slice.
    """

    def __init__(self, table: SpreadTable, most: int) -> None:
        self.table, self.most = table, most
        self._problem = table.pages.problem
        self._rows = {shape: row for row, shape in enumerate(table.last) if shape.sides <= most}
        self._middle = {shape: _inner(matrix) for shape, matrix in table.middle.items()}
        self._pad = max((shape.sides for shape in self._middle), default=0)
        self._jumps = [step for step in self._problem.steps if step.is_jump and self._goes_far(step)]
        self._turns, self._reach = _turn_merits(self._problem, self._jumps), least_reach(table.pages)
        shape = self._problem.measures + 1, max(1, len(self._rows)), self._pad + most + 1
        self._cost = np.full(shape, NEVER, dtype=np.int64)
        self._merits = np.full((len(self._turns), *shape), NEVER, dtype=np.int64)
        for start in reversed(range(1, self._problem.measures)):
            self._go_back(start)

    def _goes_far(self, step: StepCost) -> bool:
        """Whether several leaves can lie between the measures of a step, so that one turn is harder than over one."""
        span = slice(crossed(step).start, crossed(step).stop)
        return any((matrix[span, span] < NEVER).any() for matrix in self._middle.values())

    def _go_back(self, start: int) -> None:
        """Fills the rows of a position, by what can begin there, from those of later ones."""
        cost, merits = self._cost[start], self._merits[:, start]
        for shape, row in self._rows.items():
            if self.table.last[shape][start] < NEVER:
                cost[row, self._pad + shape.sides] = self.table.last[shape][start]
                merits[:, row, self._pad + shape.sides] = 0
                merits[_REACH, row, self._pad + shape.sides] = self._reach.last[shape][start]
        costs, found = [cost[None, :, self._pad :]], [merits[:, None, :, self._pad :]]
        for shape, matrix in self._middle.items():
            ends = np.flatnonzero(matrix[start] < NEVER)
            fewer = slice(self._pad - shape.sides, self._pad - shape.sides + self.most + 1)
            costs.append(_capped(self._cost[ends, :, fewer] + matrix[start, ends][:, None, None]))
            found.append(_joined(self._turns[:, start, ends], self._merits[:, ends, :, fewer]))
        options = np.concatenate(costs)
        best = options.min(axis=0)
        tight = (options == best) & (best < NEVER)
        merits[:, :, self._pad :] = np.where(tight, np.concatenate(found, axis=1), NEVER).min(axis=1)
        cost[:, self._pad :] = best

    def least(self, cell: Cell) -> Least | None:
        """None when the cell has no layout."""
        best = self._best(cell)
        if best >= NEVER:
            return None
        if cell.is_whole:
            return Least(best + self._unused(cell), 0, 0, 0, self._reach.whole[cell.first])
        ends = np.flatnonzero(self._first(cell) == best)
        here = self._turns[:, 0, ends]
        here[_REACH] = self._reach.first[cell.first][ends]
        later = self._merits[:, ends, self._rows[cell.last], self._pad + cell.sides - cell.first.sides]
        found = [int(merit) for merit in _joined(here, later[:, :, None, None]).min(axis=1).flat]
        far = (a_pass(step_cost(s, n), s.passes) for s, n in zip(self._jumps, found[_JUMPS:], strict=True))
        return Least(
            objective=best + self._unused(cell),
            effort=found[_EFFORT],
            worst=max([found[_WORST], *far]),
            back_turns=found[_BACK_TURNS],
            reach=found[_REACH],
        )

    def _best(self, cell: Cell) -> int:
        """Cost of the best layout, without sides of paper left over."""
        if cell.is_whole:
            return self.table.whole.get(cell.first, NEVER)
        return int(_capped(self._first(cell)).min())

    def _first(self, cell: Cell) -> Ints:
        """`[b]`: least cost of layouts of the cell whose first spread ends at b."""
        return self.table.first[cell.first] + self._after(cell, cell.sides - cell.first.sides)

    def _after(self, cell: Cell, left: int) -> Ints:
        """`[p]`: least cost from there on with so many sides."""
        if left == 0:
            return _only(self._problem.measures, 0)
        return self._cost[:, self._rows[cell.last], self._pad + left]

    def _unused(self, cell: Cell) -> int:
        """What sides of the last sheet cost that stay unused."""
        unused = self._problem.pattern.sides_of_paper(cell.sides) - cell.sides
        return unused * PAGE * self._problem.weights["paper"]

    def _onwards(self, cell: Cell, start: int, left: int) -> Iterator[tuple[Shape, Ints]]:
        """The spreads that can begin at a position when so many sides are left: shape and cost by end."""
        n = self._problem.measures
        if cell.is_whole:
            yield cell.first, _only(n, self.table.whole[cell.first])
        elif start == 0:
            yield cell.first, _inner(self.table.first[cell.first])
        else:
            if left == cell.last.sides:
                yield cell.last, _only(n, int(self.table.last[cell.last][start]))
            for shape, matrix in self._middle.items():
                if shape.sides < left:
                    yield shape, matrix[start]

    def arcs_within(self, cell: Cell, spare: int) -> Iterator[Arc]:
        """The spreads of all layouts of a cell that cost at most `spare` more than its best one, each once for each
        number of sides that can be used before it."""
        most = self._best(cell) + spare
        before = {(0, cell.sides): 0}
        while before:
            start, left = min(before)
            cost = before.pop((start, left))
            for shape, row in self._onwards(cell, start, left):
                rest = left - shape.sides
                for end in map(int, np.flatnonzero(cost + row + self._after(cell, rest) <= most)):
                    arc = Arc(start, end, shape, int(row[end]))
                    yield arc
                    if end < self._problem.measures:
                        before[end, rest] = min(before.get((end, rest), NEVER), cost + arc.cost)

    def path(self, cell: Cell) -> tuple[Arc, ...]:
        """A best layout of a cell, in order."""
        start, left, best = 0, cell.sides, self._best(cell)
        found: list[Arc] = []
        while start < self._problem.measures:
            for shape, row in self._onwards(cell, start, left):
                ends = np.flatnonzero(row + self._after(cell, left - shape.sides) == best)
                if len(ends):
                    found.append(Arc(start, int(ends[0]), shape, int(row[ends[0]])))
                    break
            else:
                raise ValueError("the cell has no layout")
            start, left, best = found[-1].end, left - shape.sides, best - found[-1].cost
        return tuple(found)


def _joined(here: Ints, later: Ints) -> Ints:
    """Merits of paths by those of their first spread, `[m, e]`, and of the rest, `[m, e, l, u]`."""
    total = here[:, :, None, None] + later
    total[_WORST] = np.maximum(here[_WORST][:, None, None], later[_WORST])
    return total


def _inner(costs: Ints) -> Ints:
    """Costs by end (last axis) of spreads that do not reach the end of the piece."""
    inner = costs.copy()
    inner[..., -1] = NEVER
    return inner


def _only(end: int, cost: int) -> Ints:
    """Costs by end of a spread that reaches just this one."""
    costs = np.full(end + 1, NEVER, dtype=np.int64)
    costs[end] = cost
    return costs


def _capped(costs: Ints) -> Ints:
    """NEVER for what contains it."""
    return np.where(costs < NEVER // 2, costs, NEVER)


def _turn_merits(problem: Problem, jumps: Sequence[StepCost]) -> Ints:
    """`[m, a, b]`: what the turn at position b adds to a merit at least when the spread before it began at a: as
    `turn_costs`, but unweighted and with every strip granted. Nothing for reach."""
    n = problem.measures
    at_first = np.zeros((_JUMPS + len(jumps), n + 1, n + 1), dtype=np.int64)
    effort, worst, back_turns = at_first[_EFFORT], at_first[_WORST], at_first[_BACK_TURNS]
    everywhere = np.zeros(n + 1, dtype=np.int64)
    for step in problem.steps:
        if positions := crossed(step):
            cost, before = step_cost(step, leaves=1) - _most_eased(problem, step), positions.start - 1
            span = slice(positions.start, positions.stop)
            effort[before, span] += cost - step.extra_leaf_cost
            everywhere[span] += step.extra_leaf_cost
            worst[before, span] = np.maximum(worst[before, span], a_pass(cost, step.passes))
            back_turns[before, span] += step.passes * is_back(step)
    merits = np.cumsum(at_first[:, ::-1], axis=1)[:, ::-1]
    merits[_WORST] = np.maximum.accumulate(worst[::-1], axis=0)[::-1]
    merits[_EFFORT] += everywhere
    for leaves, step in zip(merits[_JUMPS:], jumps, strict=True):
        leaves[:, crossed(step).start : crossed(step).stop] = 1
    merits[:, :, n] = 0
    return merits


def _most_eased(problem: Problem, step: StepCost) -> int:
    """How much easier a strip can make a step, on all passes."""
    if step.is_jump:
        return 0
    turns = [strip.turn.cost for strip in problem.strip_turns if strip.position == step.to_index]
    return max(0, step.cost - min(turns, default=step.cost))
