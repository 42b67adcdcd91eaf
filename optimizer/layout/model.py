"""CP-SAT chooses the spreads: the only module that knows OR-Tools.

In: the spreads that can be in an optimal layout (`Arc`s by staff size), demands, the shortest path as a hint.
Out: `Chosen`.  Costs in hundredths of a point.  Always true: one worker and a fixed seed, so the same input
gives the same layout; hard rules are constraints, everything else is one integer objective.
"""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from ortools.sat.python import cp_model

from optimizer.layout.bound import Arc
from optimizer.layout.cells import Cell
from optimizer.layout.demands import PageLimit
from optimizer.layout.patterns import Shape

SEED: Final = 1
TIME_LIMIT_S: Final = 60.0  # far above what any score took; the status then says so

Used = Mapping[tuple[float, Arc], cp_model.IntVar]


@dataclass(frozen=True, slots=True)
class Paper:
    """Paper comes in sheets of so many sides; what each side costs that stays unused (others pay in their arcs). A
    stapled set of one leaf is printed on less, which is not reckoned here."""

    sides_a_sheet: int
    cost_a_side: int


@dataclass(frozen=True, slots=True)
class Paths:
    """One path of spreads at one staff size, as literals: of sizes, of spreads, of positions turned at."""

    sizes: Mapping[float, cp_model.IntVar]
    used: Used
    turns: Mapping[int, cp_model.IntVar]


@dataclass(frozen=True, slots=True)
class Chosen:
    """The layout found: its staff size and spreads in order; what the solver says of it."""

    staff_mm: float
    arcs: tuple[Arc, ...]
    status: str
    objective: int
    bound: int


def choose(
    arcs: Mapping[float, Sequence[Arc]],
    staff_costs: Mapping[float, int],
    forced: Sequence[int],
    forbidden: frozenset[int],
    limit: PageLimit,
    paper: Paper,
    hint: tuple[float, Sequence[Arc]],
) -> Chosen | None:
    """The cheapest path of spreads at one of the staff sizes; None when there is none."""
    model = cp_model.CpModel()
    paths = add_paths(model, arcs, forced, forbidden)
    model.minimize(add_cost(model, paths, staff_costs, limit, paper))
    model.clear_hints()  # type: ignore[no-untyped-call]
    add_hint(model, paths.used, *hint)
    return _solve(model, paths)


@dataclass(frozen=True, slots=True)
class CellTask:
    """A cell to be solved; the exact cost of its best layout, which none undercuts; such a layout as a hint."""

    cell: Cell
    floor: int
    hint: Sequence[Arc]


class CellModel:
    """One model for many cells; which one is solved is assumed, not built in.

    Staff size, number of sides, first and last shape are literals; the floors of all cells hold at once, each under the
    literals of its cell.
    """

    def __init__(
        self,
        arcs: Mapping[float, Sequence[Arc]],
        forced: Sequence[int],
        forbidden: frozenset[int],
        paper: Paper,
        tasks: Sequence[CellTask],
    ) -> None:
        self._model = cp_model.CpModel()
        self._paths = add_paths(self._model, arcs, forced, forbidden)
        used = self._paths.used
        end = max(arc.end for _, arc in used)
        sides = _sides(used)
        cost = _arc_costs(used) + _unused(self._model, sides, paper) * paper.cost_a_side
        self._model.minimize(cost)
        self._counts = {
            count: self._model.new_bool_var(f"{count} sides") for count in {t.cell.sides for t in tasks}
        }
        for count, literal in self._counts.items():
            self._model.add(sides == count).only_enforce_if(literal)
        self._firsts = self._shapes(
            "first", [(arc, literal) for (_, arc), literal in used.items() if arc.start == 0]
        )
        self._lasts = self._shapes(
            "last", [(arc, literal) for (_, arc), literal in used.items() if arc.end == end]
        )
        for task in tasks:
            self._model.add(cost >= task.floor).only_enforce_if(self._literals(task.cell))

    def _shapes(
        self, name: str, choices: Sequence[tuple[Arc, cp_model.IntVar]]
    ) -> dict[Shape, cp_model.IntVar]:
        """A literal for each shape that stands at this end."""
        literals: dict[Shape, list[cp_model.IntVar]] = defaultdict(list)
        for arc, literal in choices:
            literals[arc.shape].append(literal)
        found = {}
        for shape, same in literals.items():
            found[shape] = self._model.new_bool_var(f"{shape.pages} {name}")
            self._model.add(sum(same) == found[shape])
        return found

    def _literals(self, cell: Cell) -> list[cp_model.IntVar]:
        return [
            self._paths.sizes[cell.staff_mm], self._counts[cell.sides], self._firsts[cell.first], self._lasts[cell.last]
        ]  # fmt: skip

    def solve(self, task: CellTask) -> Chosen | None:
        """The best layout of a cell; None when there is none."""
        self._model.clear_assumptions()
        self._model.add_assumptions(self._literals(task.cell))
        self._model.clear_hints()  # type: ignore[no-untyped-call]
        add_hint(self._model, self._paths.used, task.cell.staff_mm, task.hint)
        return _solve(self._model, self._paths)


def _flow(
    model: cp_model.CpModel, size: cp_model.IntVar, choices: Sequence[tuple[Arc, cp_model.IntVar]]
) -> None:
    """At each position as many spreads end as start; one path from the beginning to the end if the size is
    chosen."""
    starting: dict[int, list[cp_model.IntVar]] = defaultdict(list)
    ending: dict[int, list[cp_model.IntVar]] = defaultdict(list)
    for arc, literal in choices:
        starting[arc.start].append(literal)
        ending[arc.end].append(literal)
    last = max(arc.end for arc, _ in choices)
    for position in sorted(starting.keys() | ending.keys() | {0, last}):
        begun = size if position == 0 else sum(ending[position])
        going_on = size if position == last else sum(starting[position])
        model.add(begun == going_on)


def add_paths(
    model: cp_model.CpModel,
    arcs: Mapping[float, Sequence[Arc]],
    forced: Sequence[int],
    forbidden: frozenset[int],
) -> Paths:
    """Literals of staff sizes and of spreads; one path of spreads that obeys the demands on turns, at one size."""
    sizes = {staff_mm: model.new_bool_var(f"staff {staff_mm:g}") for staff_mm in arcs}
    used = {
        (staff_mm, arc): model.new_bool_var(f"{staff_mm:g}: {arc.start}-{arc.end} on {arc.shape.pages}")
        for staff_mm, choices in arcs.items()
        for arc in choices
    }
    model.add_exactly_one(sizes.values())
    for staff_mm, choices in arcs.items():
        _flow(model, sizes[staff_mm], [(arc, used[staff_mm, arc]) for arc in choices])
    turns = _turns(model, used)
    for position in forced:
        model.add(turns.get(position, 0) == 1)
    for position in forbidden & turns.keys():
        model.add(turns[position] == 0)
    return Paths(sizes, used, turns)


def add_cost(
    model: cp_model.CpModel, paths: Paths, staff_costs: Mapping[float, int], limit: PageLimit, paper: Paper
) -> cp_model.LinearExpr:
    """What a layout costs, which keeps the limit on its sides."""
    sides = _sides(paths.used)
    if limit.most is not None:
        model.add(sides == limit.most if limit.exact else sides <= limit.most)
    return (
        _arc_costs(paths.used)
        + sum(staff_costs[staff_mm] * literal for staff_mm, literal in paths.sizes.items())
        + _unused(model, sides, paper) * paper.cost_a_side
    )


def _sides(used: Used) -> cp_model.LinearExpr:
    """How many sides the spreads have."""
    return cp_model.LinearExpr.weighted_sum(list(used.values()), [arc.shape.sides for _, arc in used])


def _arc_costs(used: Used) -> cp_model.LinearExpr:
    """What the spreads cost."""
    return cp_model.LinearExpr.weighted_sum(list(used.values()), [arc.cost for _, arc in used])


def add_hint(model: cp_model.CpModel, used: Used, staff_mm: float, arcs: Sequence[Arc]) -> None:
    """A layout to start from."""
    hinted = {(staff_mm, arc) for arc in arcs}
    for key, literal in used.items():
        model.add_hint(literal, key in hinted)


def _unused(model: cp_model.CpModel, sides: cp_model.LinearExpr, paper: Paper) -> cp_model.IntVar | int:
    """How many sides of the last sheet stay unused."""
    if paper.sides_a_sheet == 1:
        return 0
    unused = model.new_int_var(0, paper.sides_a_sheet - 1, "sides unused")
    sheets = model.new_int_var(1, cp_model.INT32_MAX, "sheets")
    model.add(sides + unused == paper.sides_a_sheet * sheets)
    return unused


def _turns(model: cp_model.CpModel, used: Used) -> dict[int, cp_model.IntVar]:
    """For each position a literal: a spread starts there and is turned to."""
    starting: dict[int, list[cp_model.IntVar]] = defaultdict(list)
    for (_, arc), literal in used.items():
        if arc.start:
            starting[arc.start].append(literal)
    turns = {}
    for position, literals in sorted(starting.items()):
        turns[position] = model.new_bool_var(f"turn at {position}")
        model.add(sum(literals) == turns[position])
    return turns


def new_solver(time_limit_s: float) -> cp_model.CpSolver:
    """One worker, a fixed seed."""
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = SEED
    solver.parameters.max_time_in_seconds = time_limit_s
    solver.parameters.catch_sigint_signal = False  # or Ctrl-C is lost to Python from then on
    return solver


def read_path(solver: cp_model.CpSolver, paths: Paths) -> tuple[float, tuple[Arc, ...]]:
    """The staff size chosen and its spreads in order."""
    staff_mm = next(size for size, literal in paths.sizes.items() if solver.boolean_value(literal))
    chosen = (
        arc
        for (size, arc), literal in paths.used.items()
        if size == staff_mm and solver.boolean_value(literal)
    )
    return staff_mm, tuple(sorted(chosen, key=lambda arc: arc.start))


def _solve(model: cp_model.CpModel, paths: Paths) -> Chosen | None:
    """Runs the solver and reads the path off."""
    solver = new_solver(TIME_LIMIT_S)
    status = solver.solve(model)
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return None
    return Chosen(
        *read_path(solver, paths),
        solver.status_name(status).lower(),
        round(solver.objective_value),
        round(solver.best_objective_bound),
    )
