"""The best way to fill every possible spread, and what turning away from it costs.

In: `Problem`, `PageTable`.  Out: `SpreadTable`: for each shape the weighted cost (hundredths of a point) of
the spread of measures a .. b-1, all terms but `staff-size`, the turn at its end included.  Always true: a
cost depends on nothing but the spread itself, so a layout costs the sum of its spreads and is a path from
position 0 to the last one.

A step between measures that are played successively crosses every spread boundary between them. It costs its
full price at the first boundary after its lower end, which is known from where the spread before began, and
`extra_leaf_cost` at each further one: that is why the sum over spreads is exact also for jumps over several
leaves.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from optimizer.layout import objective as o
from optimizer.layout.demands import forbidden_turns, forced_turns
from optimizer.layout.pages import NEVER, PageTable
from optimizer.layout.patterns import Shape
from optimizer.layout.problem import Problem, crossed, is_back, step_cost
from optimizer.layout.systems import Ints


@dataclass(frozen=True, slots=True, eq=False)
class SpreadTable:
    """Costs by shape: `whole` of the piece on one spread, `first[b]` of 0 .. b-1, `middle[a, b]`, `last[a]`
    to the end; NEVER where there is none."""

    pages: PageTable
    whole: Mapping[Shape, int]
    first: Mapping[Shape, Ints]
    middle: Mapping[Shape, Ints]
    last: Mapping[Shape, Ints]

    def inner_breaks(self, start: int, end: int, shape: Shape) -> tuple[tuple[int, int], ...]:
        """The pages of the best spread start .. end-1 as (first, end) pairs, blank sides left out."""
        problem = self.pages.problem
        reached, origins = _forward(self.pages.costs, _reach(problem, shape.pages), start, shape.music)
        if reached[end] >= NEVER:
            raise ValueError(f"no spread of {shape.music} pages from {start} to {end}")
        found: list[tuple[int, int]] = []
        for origin in reversed(origins):
            found.append((int(origin[end]), end))
            end = int(origin[end])
        return tuple(reversed(found))


def spread_table(pages: PageTable) -> SpreadTable:
    """All spreads at one staff size that obey the demands on turns."""
    problem, n = pages.problem, pages.problem.measures
    pattern, turns = problem.pattern, turn_costs(problem)
    first: dict[Shape, Ints] = {}
    last: dict[Shape, Ints] = {}
    whole: dict[Shape, int] = {}
    for shape in sorted(pattern.shapes()):
        reach, fixed = _reach(problem, shape.pages), _fixed(problem, shape)
        from_start = _forward(pages.costs, reach, 0, shape.music)[0] + fixed
        if shape in pattern.whole:
            whole[shape] = int(_capped(from_start)[n])
        if shape in pattern.first:
            first[shape] = _capped(from_start + turns[0])
        if shape in pattern.last:
            last[shape] = _capped(_backward(pages.costs, reach, shape.music) + fixed)
    middle = {}
    for shape in pattern.middle:
        pairs = _all_pairs(pages.costs, _reach(problem, shape.pages), shape.music)
        middle[shape] = _capped(pairs + _fixed(problem, shape) + turns)
    return _obey(SpreadTable(pages, whole, first, middle, last), problem)


def turn_costs(problem: Problem) -> Ints:
    """`[a, b]`: what the turn at position b costs when the spread before it began at a (terms `turns`,
    `back-turns`)."""
    n = problem.measures
    at_first = np.zeros((n + 1, n + 1), dtype=np.int64)
    everywhere = np.zeros(n + 1, dtype=np.int64)
    for step in problem.steps:
        if positions := crossed(step):
            weight = problem.weights["back-turns" if is_back(step) else "turns"]
            further = weight * step.extra_leaf_cost
            span = slice(positions.start, positions.stop)
            at_first[positions.start - 1, span] += weight * step_cost(step, leaves=1) - further
            everywhere[span] += further
    handling = np.full(n + 1, o.TURN_HANDLING * problem.weights["turns"], dtype=np.int64)
    handling[list(problem.movement_starts)] = 0
    costs = np.cumsum(at_first[::-1], axis=0)[::-1] + everywhere + handling
    costs[:, n] = 0
    return costs


def _capped(costs: Ints) -> Ints:
    """NEVER for what contains it, whatever was added or taken off."""
    return np.where(costs < NEVER // 2, costs, NEVER)


def _fixed(problem: Problem, shape: Shape) -> int:
    """What a shape costs whatever stands on it (terms `paper`, `fold-outs`, and `fill` of blank sides)."""
    return (
        shape.sides * o.PAGE * problem.weights["paper"]
        + max(0, shape.pages - 2) * o.FOLD_OUT * problem.weights["fold-outs"]
        + shape.blank * o.BLANK_SIDE * problem.weights["fill"]
    )


def _reach(problem: Problem, size: int) -> Sequence[Ints]:
    """For each slot of a spread, weighted reach cost of all measures before a position (term `reach`)."""
    slots = problem.reach.get(size) or [[0] * problem.measures] * size
    return [np.concatenate(([0], np.cumsum(slot))) * problem.weights["reach"] for slot in slots]


def _forward(pages: Ints, reach: Sequence[Ints], start: int, count: int) -> tuple[Ints, list[Ints]]:
    """Least cost of `count` pages from a start to each position, and where each of the pages began."""
    origins = []
    current = np.full(len(pages), NEVER, dtype=np.int64)
    current[start] = 0
    for slot in range(count):
        rows = np.flatnonzero(current < NEVER)
        if len(rows) == 0:
            break
        options = (current - reach[slot])[rows, None] + pages[rows] + reach[slot]
        best = np.argmin(options, axis=0)
        current = _capped(options[best, np.arange(len(pages))])
        origins.append(rows[best])
    return current, origins


def _backward(pages: Ints, reach: Sequence[Ints], count: int) -> Ints:
    """Least cost of `count` pages from each position to the end."""
    current = np.full(len(pages), NEVER, dtype=np.int64)
    current[-1] = 0
    for slot in reversed(range(count)):
        columns = np.flatnonzero(current < NEVER)
        if len(columns) == 0:
            return current
        options = pages[:, columns] + (current + reach[slot])[columns]
        current = _capped(options.min(axis=1) - reach[slot])
    return current


def _all_pairs(pages: Ints, reach: Sequence[Ints], count: int) -> Ints:
    """Least cost of `count` pages between all pairs of positions."""
    by_slot = [_capped(pages + reach[slot][None, :] - reach[slot][:, None]) for slot in range(count)]
    total = by_slot[0]
    for following in by_slot[1:]:
        joined = np.full_like(total, NEVER)
        for middle in range(len(pages)):
            rows = np.flatnonzero(total[:, middle] < NEVER)
            columns = np.flatnonzero(following[middle] < NEVER)
            if len(rows) and len(columns):
                block = np.ix_(rows, columns)
                joined[block] = np.minimum(
                    joined[block], total[rows, middle][:, None] + following[middle, columns]
                )
        total = joined
    return total


def _obey(table: SpreadTable, problem: Problem) -> SpreadTable:
    """The table without the spreads that a demand rules out."""
    forbidden, forced = sorted(forbidden_turns(problem.demands)), forced_turns(problem.demands)
    for costs in table.first.values():
        costs[forbidden] = NEVER
        for position in forced:
            costs[position + 1 :] = NEVER
    for matrix in table.middle.values():
        matrix[:, forbidden] = NEVER
        for position in forced:
            matrix[:position, position + 1 :] = NEVER
    for costs in table.last.values():
        for position in forced:
            costs[:position] = NEVER
    whole = dict.fromkeys(table.whole, NEVER) if forced else table.whole
    return SpreadTable(table.pages, whole, table.first, table.middle, table.last)
