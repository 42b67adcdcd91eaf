"""The best way to fill every possible spread, and what turning away from it costs.

In: `Problem`, `PageTable`.  Out: `SpreadTable`: for each shape the weighted cost (hundredths of a point) of
the spread of measures a .. b-1, all terms but `staff-size`, the turn at its end and what carry strips on it save
included.  Always true: a cost depends on nothing but the spread itself, so a layout costs the sum of its spreads and is
a path from position 0 to the last one.

A step between measures that are played successively crosses every spread boundary between them. It costs its
full price at the first boundary after its lower end, which is known from where the spread before began, and
`extra_leaf_cost` at each further one: that is why the sum over spreads is exact also for jumps over several
leaves.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from optimizer.layout import objective as o
from optimizer.layout.demands import forbidden_turns, forced_turns
from optimizer.layout.pages import NEVER, Page, PageTable
from optimizer.layout.patterns import Shape
from optimizer.layout.problem import Problem, crossed, is_back, step_cost
from optimizer.layout.systems import Ints

# Costs in this unit leave room for the reach of a spread, points: what decides between spreads of equal cost.
_REACH_UNIT: Final = 1 << 22


@dataclass(frozen=True, slots=True, eq=False)
class SpreadTable:
    """Costs by shape: `whole` of the piece on one spread, `first[b]` of 0 .. b-1, `middle[a, b]`, `last[a]`
    to the end; NEVER where there is none."""

    pages: PageTable
    whole: Mapping[Shape, int]
    first: Mapping[Shape, Ints]
    middle: Mapping[Shape, Ints]
    last: Mapping[Shape, Ints]

    def filled(self, start: int, end: int, shape: Shape) -> tuple[Page, ...]:
        """The pages of the best spread start .. end-1, blank sides left out."""
        problem, count = self.pages.problem, shape.music
        reached, origins = _forward(_slots(self.pages, count), _reach(problem, shape.pages), start)
        if reached[end] >= NEVER:
            raise ValueError(f"no spread of {count} pages from {start} to {end}")
        found: list[Page] = []
        for slot, origin in reversed(list(enumerate(origins))):
            first = int(origin[end])
            found.append(self.pages.page(first, end, opens=slot == 0, closes=slot == count - 1))
            end = first
        return tuple(reversed(found))


def spread_table(pages: PageTable) -> SpreadTable:
    """All spreads at one staff size that obey the demands on turns."""
    problem, n = pages.problem, pages.problem.measures
    pattern, turns = problem.pattern, turn_costs(problem)
    first: dict[Shape, Ints] = {}
    last: dict[Shape, Ints] = {}
    whole: dict[Shape, int] = {}
    for shape in sorted(pattern.shapes()):
        reach, fixed, slots = _reach(problem, shape.pages), _fixed(problem, shape), _slots(pages, shape.music)
        from_start = _forward(slots, reach, 0)[0] + fixed
        if shape in pattern.whole:
            whole[shape] = int(_capped(from_start)[n])
        if shape in pattern.first:
            first[shape] = _capped(from_start + turns[0])
        if shape in pattern.last:
            last[shape] = _capped(_backward(slots, reach) + fixed)
    middle = {}
    for shape in pattern.middle:
        pairs = _all_pairs(_slots(pages, shape.music), _reach(problem, shape.pages))
        middle[shape] = _capped(pairs + _fixed(problem, shape) + turns)
    return _obey(SpreadTable(pages, whole, first, middle, last), problem)


@dataclass(frozen=True, slots=True, eq=False)
class ReachTable:
    """Least reach, points, of the best spreads of each shape, as the costs of `SpreadTable`; of those in the middle,
    pairs, none is counted."""

    whole: Mapping[Shape, int]
    first: Mapping[Shape, Ints]
    last: Mapping[Shape, Ints]


def least_reach(pages: PageTable) -> ReachTable:
    """How far the bars of a spread are from the hands at least, on whichever of its equally good pages they stand."""
    problem, n = pages.problem, pages.problem.measures
    forward: dict[Shape, Ints] = {}
    backward: dict[Shape, Ints] = {}
    for shape in problem.pattern.shapes():
        far = problem.reach.get(shape.pages) or []
        forward[shape] = backward[shape] = np.zeros(n + 1, dtype=np.int64)
        if any(map(any, far)):
            slots = [
                np.where(costs < NEVER, costs * _REACH_UNIT, NEVER) for costs in _slots(pages, shape.music)
            ]
            both = [
                weighted * _REACH_UNIT + np.concatenate(([0], np.cumsum(points)))
                for weighted, points in zip(_reach(problem, shape.pages), far, strict=True)
            ]
            forward[shape] = _forward(slots, both, 0)[0] % _REACH_UNIT
            backward[shape] = _backward(slots, both) % _REACH_UNIT
    pattern = problem.pattern
    return ReachTable(
        {shape: int(forward[shape][n]) for shape in pattern.whole},
        {shape: forward[shape] for shape in pattern.first},
        {shape: backward[shape] for shape in pattern.last},
    )


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


def _slots(pages: PageTable, count: int) -> Sequence[Ints]:
    """Costs of the pages of a spread, slot by slot: strips stand on the first and the last page."""
    return [pages.at(opens=slot == 0, closes=slot == count - 1) for slot in range(count)]


def _forward(slots: Sequence[Ints], reach: Sequence[Ints], start: int) -> tuple[Ints, list[Ints]]:
    """Least cost of pages in these slots from a start to each position, and where each of the pages began."""
    origins = []
    current = np.full(len(slots[0]), NEVER, dtype=np.int64)
    current[start] = 0
    for pages, far in zip(slots, reach, strict=False):
        rows = np.flatnonzero(current < NEVER)
        if len(rows) == 0:
            break
        options = (current - far)[rows, None] + pages[rows] + far
        best = np.argmin(options, axis=0)
        current = _capped(options[best, np.arange(len(pages))])
        origins.append(rows[best])
    return current, origins


def _backward(slots: Sequence[Ints], reach: Sequence[Ints]) -> Ints:
    """Least cost of pages in these slots from each position to the end."""
    current = np.full(len(slots[0]), NEVER, dtype=np.int64)
    current[-1] = 0
    for pages, far in reversed(list(zip(slots, reach, strict=False))):
        columns = np.flatnonzero(current < NEVER)
        if len(columns) == 0:
            return current
        options = pages[:, columns] + (current + far)[columns]
        current = _capped(options.min(axis=1) - far)
    return current


def _all_pairs(slots: Sequence[Ints], reach: Sequence[Ints]) -> Ints:
    """Least cost of pages in these slots between all pairs of positions."""
    by_slot = [_capped(pages + far[None, :] - far[:, None]) for pages, far in zip(slots, reach, strict=False)]
    total = by_slot[0]
    for following in by_slot[1:]:
        joined = np.full_like(total, NEVER)
        for middle in range(len(total)):
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
