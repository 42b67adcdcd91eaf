"""The best way to fill every possible page.

In: `Problem`, `SystemTable`.  Out: `PageTable`: for each page of measures i .. j-1 the least weighted cost
(hundredths of a point; terms `spacing` and `fill`) over all ways to break it into systems, and those breaks
on request; the same for pages with a carry strip at their head, their foot or both.  Always true: the steps of its
systems and strips add up to at most the page's, so no page overflows; the minimum is exact.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise, product
from typing import Final

import numpy as np
from numpy.typing import NDArray

from optimizer.layout import objective as o
from optimizer.layout.demands import Kind, has
from optimizer.layout.problem import Problem
from optimizer.layout.strips import Strip, strip_table
from optimizer.layout.systems import Ints, SystemTable
from optimizer.turns.model import StripKind

NEVER: Final = 1 << 60  # cost of what cannot be
NOWHERE: Final = -1  # a position that has no strip
_NEVER32: Final = 1 << 30  # above any page: at most some 100 systems of MAX_BADNESS points at 10000 percent

_State = NDArray[np.int32]
_Breaks = tuple[tuple[int, int], ...]
_Ends = tuple[bool, bool]  # whether a strip stands at the head, whether at the foot


@dataclass(frozen=True, slots=True)
class Page:
    """A page as it is to be filled: its systems as (first, end) pairs, and its strips."""

    systems: _Breaks
    head: Strip | None = None
    foot: Strip | None = None


@dataclass(frozen=True, slots=True, eq=False)
class PageTable:
    """`costs[i, j]`: the page of measures i .. j-1, NEVER where there is none. `stripped`: the same with a strip at the
    head and at the foot, less what they save, by which of the two there are (empty without `strips`, which go by
    position)."""

    problem: Problem
    systems: SystemTable
    costs: Ints
    strips: Mapping[int, Strip]
    stripped: Mapping[_Ends, Ints]

    def at(self, opens: bool, closes: bool) -> Ints:
        """The best pages that open or close a spread, or neither; only those may have strips, at that end."""
        costs = self.costs
        for ends in self._allowed(opens, closes):
            costs = np.minimum(costs, self.stripped[ends])
        return costs

    def page(self, start: int, end: int, opens: bool, closes: bool) -> Page:
        """The best page start .. end-1 of such a place; with strips only where they save anything."""
        tables: dict[_Ends, Ints] = {(False, False): self.costs}
        tables |= {ends: self.stripped[ends] for ends in self._allowed(opens, closes)}
        head, foot = min(tables, key=lambda ends: (int(tables[ends][start, end]), sum(ends)))
        strips = self.strips[start] if head else None, self.strips[end] if foot else None
        return Page(self.breaks(start, end, sum(strip.steps for strip in strips if strip)), *strips)

    def breaks(self, start: int, end: int, taken: int = 0) -> _Breaks:
        """The systems of the best page start .. end-1 as (first, end) pairs; strips take `taken` steps of it."""
        given = _given_breaks(self.problem, self.systems, start, end, taken)
        return _trace(self.problem, self.systems, start, end, taken) if given is None else given

    def _allowed(self, opens: bool, closes: bool) -> Iterator[_Ends]:
        return ((head, foot) for head, foot in self.stripped if head <= opens and foot <= closes)


def page_table(problem: Problem, systems: SystemTable) -> PageTable:
    """All pages; with `--as-given` only those of the file."""
    n, strips = problem.measures, strip_table(problem, systems.box.staff_mm)
    kinds: Sequence[_Ends] = ((False, False), (False, True), (True, False), (True, True))
    costs = {kind: np.full((n + 1, n + 1), NEVER, dtype=np.int64) for kind in kinds[: None if strips else 1]}
    if has(problem.demands, Kind.AS_GIVEN):
        for start, end in pairwise((0, *problem.given_pages, n)):
            for ends, taken, saving in _strips_at(strips, start, end):
                cost = _given_page_cost(problem, systems, start, end, taken)
                costs[ends][start, end] = _less(cost, saving)
    else:
        _fill_all(problem, systems, strips, costs)
    for demand in problem.demands:
        if demand.kind is Kind.NEW_PAGE:
            for table in costs.values():
                table[: demand.low, demand.low + 1 :] = NEVER
    return PageTable(problem, systems, costs.pop((False, False)), strips, costs)


def _fill_all(
    problem: Problem, systems: SystemTable, strips: Mapping[int, Strip], costs: Mapping[_Ends, Ints]
) -> None:
    """Sets the costs of all pages; those that can have a strip at the head all at once, for speed."""
    early = {position: strip for position, strip in strips.items() if strip.at.kind is StripKind.EARLY}
    openings = np.array(sorted(early), dtype=np.int64)
    heads = np.array([early[int(start)].steps for start in openings], dtype=np.int64)
    saved = np.array([early[int(start)].saving for start in openings], dtype=np.int64)
    for end, lowest, state in _states(problem, systems):
        starts = np.arange(lowest, end + 1)
        opened = slice(*np.searchsorted(openings, (lowest, end)))
        for (_, closed), taken, saving in _strips_at(strips, NOWHERE, end):
            found = _page_costs(problem, systems, starts, end, state, np.full(len(starts), taken))
            costs[False, closed][starts, end] = _less(found, saving)
            if len(rows := openings[opened]):
                steps = heads[opened] + taken
                found = _page_costs(problem, systems, rows, end, state[rows - lowest], steps)
                costs[True, closed][rows, end] = _less(found, saved[opened] + saving)


def _strips_at(strips: Mapping[int, Strip], start: int, end: int) -> Iterator[tuple[_Ends, int, int]]:
    """The strips that a page start .. end-1 can have: at which ends, the steps they take, what they save."""
    head, foot = strips.get(start), strips.get(end)
    heads = [None, head] if head and head.at.kind is StripKind.EARLY else [None]
    feet = [None, foot] if foot and foot.at.kind is StripKind.LATE else [None]
    for pair in product(heads, feet):
        chosen = [strip for strip in pair if strip]
        ends = pair[0] is not None, pair[1] is not None
        yield ends, sum(strip.steps for strip in chosen), sum(strip.saving for strip in chosen)


def _less(costs: Ints, saving: int | Ints) -> Ints:
    """Costs without what strips save; NEVER stays."""
    return np.where(costs < NEVER, costs - saving, NEVER)


@lru_cache(maxsize=64)
def fill_points(room: int, is_first: bool, is_last: bool, ends_movement: bool) -> Ints:
    """Points of a page by the steps its systems take, 0 .. room (term `fill`); not to be written to."""
    white = (room - np.arange(room + 1, dtype=np.int64)) * 1000 // max(1, room)
    cram = np.where(white < o.CRAM_BELOW, o.CRAM * (o.CRAM_BELOW - white) // o.CRAM_BELOW, 0)
    most, free = (o.LAST_PAGE_EMPTY, o.LAST_PAGE_FREE) if is_last else (o.WHITE_EMPTY, o.WHITE_FREE)
    open_white = most * np.maximum(0, white - free) ** 2 // (1000 - free) ** 2
    if is_last and is_first:
        open_white[:] = 0
    elif ends_movement and not is_last:
        lonely = (white > o.LONELY_WHITE) & (not is_first)
        open_white = open_white // o.WHITE_AT_MOVEMENT_END + np.where(lonely, o.MOVEMENT_END_LONELY, 0)
    points: Ints = cram + open_white
    points.setflags(write=False)
    return points


def _fill_costs(problem: Problem, systems: SystemTable, start: int, end: int, taken: int = 0) -> Ints:
    """Weighted `fill` of the page start .. end-1 by the steps its systems take when strips take some too; empty when
    not even those fit."""
    room = systems.box.steps(start == 0)
    points = fill_points(room, start == 0, end == problem.measures, end in problem.movement_starts)
    return points[taken:] * problem.weights["fill"]


def _inside_cost(problem: Problem, position: int) -> int:
    """Weighted cost of starting a system with this measure below another one: only a new movement minds."""
    return o.MOVEMENT_INSIDE_PAGE * problem.weights["fill"] if position in problem.movement_starts else 0


def _ending_at(systems: SystemTable, end: int) -> Iterator[tuple[int, int, int]]:
    """The systems whose last measure is end-1, as (first measure, steps, points)."""
    room = systems.box.steps_other
    for start in range(max(0, end - systems.longest), end):
        cell = start, end - start - 1
        if systems.legal[cell] and systems.steps[cell] <= room:
            yield start, int(systems.steps[cell]), int(systems.badness[cell])


def _states(problem: Problem, systems: SystemTable) -> Iterator[tuple[int, int, _State]]:
    """For each position: (position, lowest start, state); state[i - lowest, h] is the least weighted
    `spacing` of systems that fill i .. position-1 and take h steps together."""
    box, weight = systems.box, problem.weights["spacing"]
    columns = box.steps_other + 1
    kept: dict[int, tuple[int, _State]] = {}
    for end in range(problem.measures + 1):
        before = list(_ending_at(systems, end))
        lowest = min((kept[start][0] for start, _, _ in before), default=end)
        state = np.full((end - lowest + 1, columns), _NEVER32, dtype=np.int32)
        for start, steps, points in before:
            low, source = kept[start]
            target = state[low - lowest : start - lowest + 1, steps:]
            np.minimum(target, source[:, : columns - steps] + np.int32(points * weight), out=target)
        if lowest == 0:
            state[0, box.steps_first + 1 :] = _NEVER32
        alive = np.flatnonzero((state < _NEVER32).any(axis=1))
        lowest += (skip := int(alive[0]) if len(alive) else end - lowest)
        state = state[skip:]
        yield end, lowest, state
        state += np.int32(_inside_cost(problem, end))
        np.minimum(state, _NEVER32, out=state)
        state[-1, 0] = 0
        kept[end] = lowest, state
        kept.pop(end - systems.longest, None)


def _page_costs(
    problem: Problem, systems: SystemTable, starts: Ints, end: int, state: _State, taken: Ints
) -> Ints:
    """Least cost of the pages from these starts to an end, of each of which strips take some steps; `state` as in
    `_states`, a row for each."""
    costs = np.full(len(starts), NEVER, dtype=np.int64)
    first = int(starts[0] == 0)
    for rows in (slice(0, first), slice(first, None)):
        if len(starts[rows]):
            fill = _fill_costs(problem, systems, int(starts[rows][0]), end)
            spacing = state[rows, : len(fill)]
            if taken[rows].any():
                columns = np.arange(len(fill)) + taken[rows, None]
                fill = np.append(fill, NEVER)[np.minimum(columns, len(fill))]
            best = (spacing + fill).min(axis=1)
            costs[rows] = np.where(best < _NEVER32, best, NEVER)
    return costs


def _one_page(problem: Problem, systems: SystemTable, start: int, end: int, taken: int) -> dict[int, Ints]:
    """Like `_states` for a single page: by position, least weighted `spacing` by steps."""
    room = systems.box.steps(start == 0) - taken
    rows = {position: np.full(room + 1, NEVER, dtype=np.int64) for position in range(start, end + 1)}
    rows[start][0] = 0
    for position in range(start + 1, end + 1):
        for first, steps, points in _ending_at(systems, position):
            if first >= start and steps <= room:
                added = points * problem.weights["spacing"] + (first > start) * _inside_cost(problem, first)
                np.minimum(
                    rows[position][steps:],
                    rows[first][: room + 1 - steps] + added,
                    out=rows[position][steps:],
                )
    return rows


def _trace(problem: Problem, systems: SystemTable, start: int, end: int, taken: int) -> _Breaks:
    """The system breaks of the best page start .. end-1."""
    rows = _one_page(problem, systems, start, end, taken)
    steps = int(np.argmin(rows[end] + _fill_costs(problem, systems, start, end, taken)))
    found: list[tuple[int, int]] = []
    while end > start:
        for first, taken, points in _ending_at(systems, end):
            if first < start or taken > steps:
                continue
            added = points * problem.weights["spacing"] + (first > start) * _inside_cost(problem, first)
            if rows[first][steps - taken] + added == rows[end][steps] < NEVER:
                found.append((first, end))
                end, steps = first, steps - taken
                break
        else:
            raise AssertionError("a page has no way back to its start")
    return tuple(reversed(found))


def _given_page_cost(problem: Problem, systems: SystemTable, start: int, end: int, taken: int) -> Ints:
    """Cost of a page of the file, one number: with its own system breaks where they fit, else with the best ones."""
    fill = _fill_costs(problem, systems, start, end, taken)
    if not len(fill):
        return np.array(NEVER)
    breaks = _given_breaks(problem, systems, start, end, taken)
    if breaks is None:
        return np.array(min(NEVER, (_one_page(problem, systems, start, end, taken)[end] + fill).min()))
    steps, points = _sums(systems, breaks)
    inside = sum(_inside_cost(problem, first) for first, _ in breaks[1:])
    return np.array(points * problem.weights["spacing"] + inside + int(fill[steps]))


def _given_breaks(problem: Problem, systems: SystemTable, start: int, end: int, taken: int) -> _Breaks | None:
    """The file's own systems on a page, where asked for and where all of them may be printed and fit."""
    if not has(problem.demands, Kind.AS_GIVEN):
        return None
    inner = sorted({p for p in (*problem.given_systems, *problem.movement_starts) if start < p < end})
    breaks = tuple(zip([start, *inner], [*inner, end], strict=True))
    if any(
        last - first > systems.longest or not systems.legal[first, last - first - 1] for first, last in breaks
    ):
        return None
    return breaks if _sums(systems, breaks)[0] <= systems.box.steps(start == 0) - taken else None


def _sums(systems: SystemTable, breaks: Sequence[tuple[int, int]]) -> tuple[int, int]:
    """Steps and points of systems together."""
    cells = [(first, end - first - 1) for first, end in breaks]
    return sum(int(systems.steps[cell]) for cell in cells), sum(int(systems.badness[cell]) for cell in cells)
