"""What all desks share on one paper and in one binding: exact bounds of every cell, and one model to solve them.

In: the problem of the widest desk, whose pattern holds those of the others; staff sizes.  Out: `Least`, `Plan`s.
Always true: a solution is optimal and costs exactly what the shortest path of its cell costs.
"""

import time
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

from optimizer.engrave.model import Engraved
from optimizer.layout import PlanFaultError
from optimizer.layout.bound import Arc
from optimizer.layout.cells import Cell, CellTable, Least, cells_of, fewest_pages
from optimizer.layout.demands import forbidden_turns, forced_turns, page_limit
from optimizer.layout.geometry import PageGeometry
from optimizer.layout.model import CellModel, CellTask, Chosen, Paper
from optimizer.layout.objective import PAGE
from optimizer.layout.pages import PageTable, page_table
from optimizer.layout.patterns import Pattern
from optimizer.layout.plan import Plan
from optimizer.layout.problem import Problem
from optimizer.layout.solve import KEEP_WITHIN_PERCENT, MOST_ARCS, planned
from optimizer.layout.spreads import spread_table
from optimizer.layout.systems import system_table

# On more than twice the pages that hold the music they are half empty: nobody prints and carries that for a better
# turn. Where demands leave no layout on so few, twice as many are looked at, and so on.
MOST_SIDES_FACTOR: Final = 2

# Pages by what they depend on: bindings of equal margins share them.
Pages = dict[tuple[PageGeometry, float], PageTable]


@dataclass(frozen=True, slots=True, eq=False)
class _Size:
    """A staff size: cells have `fewest` to `table.most` sides, or just those demanded."""

    table: CellTable
    fewest: int


@dataclass(frozen=True, slots=True)
class _Solved:
    """What the solver found for a cell, and how long it took."""

    chosen: Chosen
    seconds: float


class Family:
    """One paper and one binding; `pages` is shared with other families."""

    def __init__(self, problem: Problem, staffs_mm: Sequence[float], pages: Pages) -> None:
        self.solver_s = 0.0
        self._problems = {staff_mm: replace(problem, staff_sizes_mm=(staff_mm,)) for staff_mm in staffs_mm}
        choosing = replace(problem, staff_sizes_mm=tuple(sorted(staffs_mm, reverse=True)))
        self._size_costs = {
            staff_mm: choosing.staff_points(staff_mm) * problem.weights["staff-size"]
            for staff_mm in staffs_mm
        }
        self._pages = pages
        self._sizes: dict[float, _Size | None] = {}
        self._least: dict[Cell, Least | None] = {}
        self._solved: dict[Cell, _Solved] = {}
        self._plans: dict[tuple[Cell, int], Plan] = {}

    def problem(self, staff_mm: float, desk: Problem) -> Problem:
        """What is known at a staff size, on the desk of another problem of this paper and binding."""
        return replace(self._problems[staff_mm], abreast=desk.abreast, pattern=desk.pattern)

    def size_cost(self, staff_mm: float) -> int:
        """What a staff costs that is smaller than the largest one, if one of them is to be chosen."""
        return self._size_costs[staff_mm]

    def correct(self, staff_mm: float, engraved: Engraved) -> None:
        """A plan at this staff size does not fit as drawn: real heights are known from now on."""
        known = self._problems[staff_mm].with_measured_heights(engraved.systems, engraved.strips)
        self._problems[staff_mm] = known
        self._sizes.pop(staff_mm, None)  # another plan of this size may have been corrected before
        self._least = {cell: least for cell, least in self._least.items() if cell.staff_mm != staff_mm}
        self._solved = {cell: solved for cell, solved in self._solved.items() if cell.staff_mm != staff_mm}
        self._plans = {key: plan for key, plan in self._plans.items() if key[0].staff_mm != staff_mm}

    def cells(self, pattern: Pattern) -> Iterator[tuple[Cell, Least | None]]:
        """All cells of a desk's pattern with their bounds; None where there is no layout."""
        for staff_mm in self._problems:
            if staff_mm not in self._sizes:
                self._sizes[staff_mm] = self._size(staff_mm)
            if size := self._sizes[staff_mm]:
                for cell in cells_of(pattern, staff_mm, size.fewest, size.table.most):
                    if cell not in self._least:
                        self._least[cell] = size.table.least(cell)
                    yield cell, self._least[cell]

    def solve(self, cells: Sequence[Cell]) -> None:
        """Solve those that have not been solved, all in one model; they must have a layout."""
        started_s = time.perf_counter()
        if tasks := [self._task(cell) for cell in dict.fromkeys(cells) if cell not in self._solved]:
            problem = next(iter(self._problems.values()))
            forced, forbidden = forced_turns(problem.demands), forbidden_turns(problem.demands)
            paper = Paper(problem.pattern.sides_a_sheet, PAGE * problem.weights["paper"])
            model = CellModel(self._arcs(tasks), forced, forbidden, paper, tasks)
            self._solved |= {task.cell: _solved(model, task) for task in tasks}
        self.solver_s += time.perf_counter() - started_s

    def plan(self, cell: Cell, desk: Problem) -> Plan:
        """The plan of a solved cell on the desk of another problem."""
        key = cell, desk.abreast
        if key not in self._plans:
            problem, table = self.problem(cell.staff_mm, desk), self._table(cell).table
            solved = self._solved[cell]
            self._plans[key] = planned(problem, table, solved.chosen, solved.seconds)
        return self._plans[key]

    def _size(self, staff_mm: float) -> _Size | None:
        """None where the music does not go on any number of pages."""
        problem = self._problems[staff_mm]
        pages = self._page_table(problem, staff_mm)
        fewest, limit = fewest_pages(pages), page_limit(problem.demands)
        if fewest is None:
            return None
        above_all = 2 * problem.measures + 2  # no layout has so many: two pages a measure and a title page
        ceiling = min(limit.most or above_all, above_all)
        if limit.exact:
            return _Size(CellTable(spread_table(pages), ceiling), ceiling)
        spreads, most = spread_table(pages), MOST_SIDES_FACTOR * fewest
        while True:
            table = CellTable(spreads, min(most, ceiling))
            some = any(table.least(cell) for cell in cells_of(problem.pattern, staff_mm, fewest, table.most))
            if some or most >= ceiling:
                return _Size(table, fewest)
            most *= MOST_SIDES_FACTOR

    def _page_table(self, problem: Problem, staff_mm: float) -> PageTable:
        if problem.drawn or problem.drawn_strips:
            return page_table(problem, system_table(problem, staff_mm))
        key = replace(problem.geometry, mirrored=False), staff_mm
        if key not in self._pages:
            self._pages[key] = page_table(problem, system_table(problem, staff_mm))
        return replace(self._pages[key], problem=problem)

    def _table(self, cell: Cell) -> CellTable:
        size = self._sizes[cell.staff_mm]
        if size is None:
            raise ValueError("the cell has no layout")
        return size.table

    def _task(self, cell: Cell) -> CellTask:
        least = self._least[cell]
        if least is None:
            raise ValueError("the cell has no layout")
        return CellTask(cell, least.objective, self._table(cell).path(cell))

    def _arcs(self, tasks: Sequence[CellTask]) -> Mapping[float, Sequence[Arc]]:
        """The spreads of the layouts of these cells that are optimal, and near it while they are few; of one of each
        where there are too many, all equally good."""
        for percent in (KEEP_WITHIN_PERCENT, 0, None):
            kept: dict[float, dict[Arc, None]] = defaultdict(dict)
            for task in tasks:
                arcs = kept[task.cell.staff_mm]
                if percent is None:
                    arcs |= dict.fromkeys(task.hint)
                else:
                    spare = abs(task.floor) * percent // 100
                    arcs |= dict.fromkeys(self._table(task.cell).arcs_within(task.cell, spare))
            if sum(map(len, kept.values())) <= MOST_ARCS:
                break
        return {staff_mm: list(arcs) for staff_mm, arcs in kept.items()}


def _solved(model: CellModel, task: CellTask) -> _Solved:
    """What the solver finds; it must be optimal and cost what the shortest path costs."""
    started_s = time.perf_counter()
    chosen = model.solve(task)
    if chosen is None or chosen.status != "optimal" or chosen.objective != task.floor:
        found = f"{chosen.status} {chosen.objective}" if chosen else "nothing"
        raise PlanFaultError(
            f"the shortest path costs {task.floor}, the solver found {found}; please report this score"
        )
    return _Solved(chosen, time.perf_counter() - started_s)
