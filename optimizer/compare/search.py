"""All cells of a comparison, and the best plans of those that no other one beats.

In: `Case`s: desks, papers and bindings with their problems.  Out: `Found`.  Always true: a cell is solved unless it has no
layout, or a solved one of the same desk is at least as good in every merit as its best plan can be; a solution costs
exactly what the shortest path costs, and is optimal.
"""

import time
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

from optimizer.compare.merits import merits_of, most_merits
from optimizer.compare.model import Merits, Tally
from optimizer.engrave.model import Engraved
from optimizer.layout import PlanFaultError
from optimizer.layout.bound import Arc
from optimizer.layout.cells import Cell, CellTable, Least, cells_of, fewest_pages
from optimizer.layout.demands import PageLimit, forbidden_turns, forced_turns, page_limit
from optimizer.layout.model import CellModel, CellTask, Chosen, Paper
from optimizer.layout.objective import PAGE
from optimizer.layout.pages import page_table
from optimizer.layout.plan import Plan
from optimizer.layout.problem import Problem
from optimizer.layout.solve import planned
from optimizer.layout.spreads import spread_table
from optimizer.layout.systems import system_table
from optimizer.settings import Settings

# A set of more than twice the sides that hold the music is half empty: nobody prints that for a better turn.
MOST_SIDES_FACTOR: Final = 2
# The solver sees every spread of every layout within this share of a cell's best, while these are few.
KEEP_WITHIN_PERCENT: Final = 1
MOST_ARCS: Final = 3000


@dataclass(frozen=True, slots=True)
class Case:
    """A desk, paper and binding: `settings` without a staff size; `family`: which cases have the same paper and
    binding."""

    settings: Settings
    problem: Problem
    family: int


@dataclass(frozen=True, slots=True)
class Candidate:
    """A cell of a case with the merits of its plan or, not yet solved, the best that it can have."""

    merits: Merits
    objective: int
    case: int
    cell: Cell
    plan: Plan | None = None

    @property
    def place(self) -> tuple[object, ...]:
        """Its place in the order in which candidates are looked at."""
        return *self.merits.rank(), self.objective, self.case, self.cell

    def covers(self, other: "Candidate") -> bool:
        """Whether the other need not be shown: it is beaten, or equalled by one that comes before it."""
        if self.merits == other.merits:
            return self.place < other.place
        return self.merits.beats(other.merits)


def front(candidates: Sequence[Candidate]) -> list[Candidate]:
    """Those that no other one covers, in their order."""
    kept: list[Candidate] = []
    for candidate in sorted(candidates, key=lambda candidate: candidate.place):
        if not any(other.covers(candidate) for other in kept):
            kept.append(candidate)
    return kept


class Family:
    """What all desks share with a paper and a binding: the tables of the widest one, at each staff size."""

    def __init__(self, problem: Problem, staffs_mm: Sequence[float]) -> None:
        self._demands = problem.demands
        self.problems = {staff_mm: replace(problem, staff_sizes_mm=(staff_mm,)) for staff_mm in staffs_mm}
        self._tables: dict[float, CellTable | None] = {}
        self._least: dict[Cell, Least | None] = {}
        self._solved: dict[Cell, Chosen] = {}
        self._fewest: dict[float, int] = {}
        self.solver_s = 0.0

    def correct(self, staff_mm: float, engraved: Engraved) -> None:
        """A plan at this staff size does not fit as drawn: its real heights go by from now on."""
        known = self.problems[staff_mm].with_measured_heights(engraved.systems, engraved.strips)
        self.problems[staff_mm] = known
        self._tables.pop(staff_mm, None)
        self._least = {cell: least for cell, least in self._least.items() if cell.staff_mm != staff_mm}
        self._solved = {cell: chosen for cell, chosen in self._solved.items() if cell.staff_mm != staff_mm}

    def table(self, staff_mm: float) -> CellTable | None:
        """Bounds of all cells at a staff size; None when no page can be filled."""
        if staff_mm not in self._tables:
            self._tables[staff_mm] = self._make_table(staff_mm)
        return self._tables[staff_mm]

    def _make_table(self, staff_mm: float) -> CellTable | None:
        problem = self.problems[staff_mm]
        pages = page_table(problem, system_table(problem, staff_mm))
        fewest, limit = fewest_pages(pages), page_limit(problem.demands)
        if fewest is None:
            return None
        spreads, most = spread_table(pages), MOST_SIDES_FACTOR * fewest
        self._fewest[staff_mm] = fewest
        while True:
            table = CellTable(
                spreads, limit.most if limit.exact and limit.most else min(most, limit.most or most)
            )
            cells = self._cells(problem, staff_mm, table)
            if most > 2 * problem.measures or any(table.least(cell) for cell in cells):
                return table
            most *= MOST_SIDES_FACTOR

    def _cells(self, problem: Problem, staff_mm: float, table: CellTable) -> Iterator[Cell]:
        limit = page_limit(self._demands)
        fewest = table.most if limit.exact else self._fewest[staff_mm]
        return cells_of(problem.pattern, staff_mm, fewest, table.most)

    def cells(self, problem: Problem) -> Iterator[tuple[Cell, Least | None]]:
        """All cells of a desk's problem with their bounds; None where there is no layout."""
        for staff_mm in self.problems:
            if table := self.table(staff_mm):
                for cell in self._cells(problem, staff_mm, table):
                    if cell not in self._least:
                        self._least[cell] = table.least(cell)
                    yield cell, self._least[cell]

    def solve(self, cells: Sequence[Cell]) -> None:
        """Solve cells that have a layout, in one model."""
        cells = [cell for cell in dict.fromkeys(cells) if cell not in self._solved]
        if not cells:
            return
        started_s = time.perf_counter()
        tasks = [self._task(cell) for cell in cells]
        pattern, weights = (
            next(iter(self.problems.values())).pattern,
            next(iter(self.problems.values())).weights,
        )
        model = CellModel(
            self._arcs(cells, tasks),
            forced_turns(self._demands),
            forbidden_turns(self._demands),
            Paper(pattern.sides_a_sheet, PAGE * weights["paper"]),
            tasks,
        )
        for task in tasks:
            chosen = model.solve(task)
            if chosen is None or chosen.status != "optimal" or chosen.objective != task.floor:
                raise PlanFaultError(
                    f"the shortest path costs {task.floor}, the solver found {chosen and chosen.objective}; "
                    "please report this score"
                )
            self._solved[task.cell] = chosen
        self.solver_s += time.perf_counter() - started_s

    def _task(self, cell: Cell) -> CellTask:
        table, least = self.table(cell.staff_mm), self._least[cell]
        assert table and least
        return CellTask(cell, least.objective, table.path(cell))

    def _arcs(self, cells: Sequence[Cell], tasks: Sequence[CellTask]) -> Mapping[float, Sequence[Arc]]:
        """The spreads that the solver may choose from."""
        for percent in (KEEP_WITHIN_PERCENT, 0):
            kept: dict[float, dict[Arc, None]] = defaultdict(dict)
            for task in tasks:
                table = self.table(task.cell.staff_mm)
                assert table
                kept[task.cell.staff_mm] |= dict.fromkeys(
                    table.arcs_within(task.cell, task.floor * percent // 100)
                )
            if sum(map(len, kept.values())) <= MOST_ARCS:
                break
        else:
            kept = defaultdict(dict)
            for task in tasks:
                kept[task.cell.staff_mm] |= dict.fromkeys(task.hint)
        return {staff_mm: list(arcs) for staff_mm, arcs in kept.items()}

    def plan(self, problem: Problem, cell: Cell) -> Plan:
        """The plan of a solved cell on the desk of a problem."""
        table = self.table(cell.staff_mm)
        assert table
        return planned(self.on_desk(problem, cell.staff_mm), table.table, self._solved[cell], 0.0)

    def on_desk(self, problem: Problem, staff_mm: float) -> Problem:
        """What is known at a staff size, on the desk of a problem."""
        return replace(self.problems[staff_mm], abreast=problem.abreast, pattern=problem.pattern)


@dataclass(frozen=True, slots=True)
class Found:
    """`shown`: by desk as asked for, then by merits."""

    shown: tuple[Candidate, ...]
    tally: Tally


def search(cases: Sequence[Case], families: Sequence[Family]) -> Found:
    """Solve until what is left is covered by what is solved."""
    known: dict[tuple[int, Cell], Candidate] = {}
    impossible = 0
    for index, case in enumerate(cases):
        for cell, least in families[case.family].cells(case.problem):
            if least is None:
                impossible += 1
            else:
                settings = replace(case.settings, staff_mm=cell.staff_mm)
                known[index, cell] = Candidate(
                    most_merits(cell, least, settings), least.objective, index, cell
                )
    desks = list(dict.fromkeys(case.settings.desk for case in cases))
    while True:
        shown = [
            candidate
            for desk in desks
            for candidate in front([c for c in known.values() if cases[c.case].settings.desk == desk])
        ]
        todo = [candidate for candidate in shown if candidate.plan is None]
        if not todo:
            break
        for number, family in enumerate(families):
            family.solve([c.cell for c in todo if cases[c.case].family == number])
        for candidate in todo:
            case = cases[candidate.case]
            plan = families[case.family].plan(case.problem, candidate.cell)
            settings = replace(case.settings, staff_mm=candidate.cell.staff_mm)
            known[candidate.case, candidate.cell] = replace(
                candidate,
                merits=merits_of(
                    families[case.family].on_desk(case.problem, candidate.cell.staff_mm), plan, settings
                ),
                plan=plan,
            )
    solved = sum(candidate.plan is not None for candidate in known.values())
    tally = Tally(
        cells=len(known) + impossible,
        solved=solved,
        dominated=len(known) - solved,
        impossible=impossible,
        beaten=solved - len(shown),
        solver_s=sum(family.solver_s for family in families),
    )
    return Found(tuple(shown), tally)
