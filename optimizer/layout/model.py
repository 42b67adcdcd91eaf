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
from optimizer.layout.demands import PageLimit

SEED: Final = 1
TIME_LIMIT_S: Final = 60.0  # far above what any score took; the status then says so


@dataclass(frozen=True, slots=True)
class Paper:
    """Paper comes in sheets of so many sides; what each side costs that stays unused (others pay in their arcs)."""

    sides_a_sheet: int
    cost_a_side: int


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
    sides = cp_model.LinearExpr.weighted_sum(list(used.values()), [arc.shape.sides for _, arc in used])
    if limit.most is not None:
        model.add(sides == limit.most if limit.exact else sides <= limit.most)
    model.minimize(
        sum(arc.cost * literal for (_, arc), literal in used.items())
        + sum(staff_costs[staff_mm] * literal for staff_mm, literal in sizes.items())
        + _unused(model, sides, paper) * paper.cost_a_side
    )
    hinted = {(hint[0], arc) for arc in hint[1]}
    for key, literal in used.items():
        model.add_hint(literal, key in hinted)
    return _solve(model, sizes, used)


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


def _unused(model: cp_model.CpModel, sides: cp_model.LinearExpr, paper: Paper) -> cp_model.IntVar | int:
    """How many sides of the last sheet stay unused."""
    if paper.sides_a_sheet == 1:
        return 0
    unused = model.new_int_var(0, paper.sides_a_sheet - 1, "sides unused")
    sheets = model.new_int_var(1, cp_model.INT32_MAX, "sheets")
    model.add(sides + unused == paper.sides_a_sheet * sheets)
    return unused


def _turns(
    model: cp_model.CpModel, used: Mapping[tuple[float, Arc], cp_model.IntVar]
) -> dict[int, cp_model.IntVar]:
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


def _solve(
    model: cp_model.CpModel,
    sizes: Mapping[float, cp_model.IntVar],
    used: Mapping[tuple[float, Arc], cp_model.IntVar],
) -> Chosen | None:
    """Runs the solver and reads the path off."""
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = SEED
    solver.parameters.max_time_in_seconds = TIME_LIMIT_S
    status = solver.solve(model)
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return None
    staff_mm = next(size for size, literal in sizes.items() if solver.boolean_value(literal))
    path = sorted(
        (arc for (size, arc), literal in used.items() if size == staff_mm and solver.boolean_value(literal)),
        key=lambda arc: arc.start,
    )
    return Chosen(
        staff_mm,
        tuple(path),
        solver.status_name(status).lower(),
        round(solver.objective_value),
        round(solver.best_objective_bound),
    )
