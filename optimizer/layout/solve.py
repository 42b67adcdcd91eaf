"""Plans a layout and proves it optimal: the stage's one entry.

In: `Problem`.  Out: `Plan`, checked.  Always true: the plan costs exactly what an independent recomputation
says, and no layout at any of the candidate staff sizes costs less (status `optimal` where the solver, too, has come to
that in its time).
"""

import time
from collections.abc import Mapping
from dataclasses import replace
from typing import Final

from optimizer.layout import model
from optimizer.layout.assemble import FilledSpread, assemble
from optimizer.layout.blanks import explain_blanks
from optimizer.layout.bound import Arc, Bounds, bounds
from optimizer.layout.check import PlanFaultError, check_plan, evaluate
from optimizer.layout.demands import contradiction, forbidden_turns, forced_turns, page_limit
from optimizer.layout.objective import PAGE, weighted
from optimizer.layout.pages import NEVER, page_table
from optimizer.layout.plan import Plan, SolverReport
from optimizer.layout.problem import Problem
from optimizer.layout.relax import no_layout
from optimizer.layout.spreads import SpreadTable, spread_table
from optimizer.layout.systems import system_table

# The solver sees every spread of every layout within this share of the best path, so that it has something to
# choose from and would notice a path that is not the best; fewer when these are more than it needs.
KEEP_WITHIN_PERCENT: Final = 1
MOST_ARCS: Final = 3000


def solve(problem: Problem) -> Plan:
    """The optimal plan; NoLayoutError, naming what to relax, when there is none."""
    started_s = time.perf_counter()
    if contradiction(problem.demands):
        raise no_layout(problem, has_layout)
    by_size = candidates(problem)
    costs = {staff_mm: staff_cost(problem, staff_mm) for staff_mm in by_size}
    best = min((bound.best() + costs[staff_mm] for staff_mm, bound in by_size.items()), default=NEVER)
    if best >= NEVER:
        raise no_layout(problem, has_layout)
    shortest = _shortest(by_size, costs, best)
    chosen = model.choose(
        _kept(by_size, costs, best),
        costs,
        forced_turns(problem.demands),
        forbidden_turns(problem.demands),
        page_limit(problem.demands),
        model.Paper(problem.pattern.sides_a_sheet, PAGE * problem.weights["paper"]),
        shortest,
    )
    if chosen is None or chosen.objective < best or (chosen.status == "optimal" and chosen.objective > best):
        raise PlanFaultError(
            f"the shortest path costs {best}, the solver found {chosen and chosen.objective}; "
            "please report this score"
        )
    if chosen.objective > best:  # its time was over before it came to the path that we know
        chosen = replace(chosen, staff_mm=shortest[0], arcs=tuple(shortest[1]), objective=best)
    seconds = time.perf_counter() - started_s
    return explain_blanks(problem, planned(problem, by_size[chosen.staff_mm].table, chosen, seconds), solve)


def candidates(problem: Problem) -> Mapping[float, Bounds]:
    """All spreads, with exact bounds, at each staff size that can be the best or near it; the tables of the others,
    hundreds of megabytes for a long piece, are let go at once."""
    best: dict[float, int] = {}
    near: dict[float, Bounds] = {}
    for staff_mm in problem.staff_sizes_mm:
        most = _near(min(best.values(), default=NEVER))
        if least_cost(problem, staff_mm) > most:
            continue
        bound, size = bounds_at(problem, staff_mm), staff_cost(problem, staff_mm)
        if bound.best() < NEVER and bound.best() + size <= most:
            near[staff_mm], best[staff_mm] = bound, bound.best() + size
            most = _near(min(best.values()))
            near = {kept: bound for kept, bound in near.items() if best[kept] <= most}
    return near


def _near(best: int) -> int:
    """The most that a layout may cost to be shown to the solver."""
    return best + best * KEEP_WITHIN_PERCENT // 100


def staff_cost(problem: Problem, staff_mm: float) -> int:
    """What a staff size costs by itself."""
    return problem.staff_points(staff_mm) * problem.weights["staff-size"]


def least_cost(problem: Problem, staff_mm: float) -> int:
    """No layout at a staff size costs less than its own points and the least paper."""
    paper = problem.pattern.sides_of_paper(problem.least_pages(staff_mm)) * PAGE * problem.weights["paper"]
    return staff_cost(problem, staff_mm) + paper


def bounds_at(problem: Problem, staff_mm: float) -> Bounds:
    """All spreads at a staff size, with exact bounds."""
    pages = page_table(problem, system_table(problem, staff_mm))
    return bounds(spread_table(pages), page_limit(problem.demands))


def has_layout(problem: Problem) -> bool:
    """Whether any layout satisfies the problem."""
    return not contradiction(problem.demands) and any(
        bounds_at(problem, staff_mm).best() < NEVER for staff_mm in problem.staff_sizes_mm
    )


def _kept(by_size: Mapping[float, Bounds], costs: Mapping[float, int], best: int) -> dict[float, list[Arc]]:
    """The spreads that can be in an optimal layout, and those near it while they are few.

    Should even the optimal ones be too many (all weights zero), one best path will do: no other costs less.
    """
    for most in (_near(best), best):
        kept = {
            staff_mm: list(bound.arcs_within(most - costs[staff_mm])) for staff_mm, bound in by_size.items()
        }
        if sum(map(len, kept.values())) <= MOST_ARCS:
            break
    else:
        kept = dict([_shortest(by_size, costs, best)])
    return {staff_mm: arcs for staff_mm, arcs in kept.items() if arcs}


def _shortest(
    by_size: Mapping[float, Bounds], costs: Mapping[float, int], best: int
) -> tuple[float, list[Arc]]:
    """A layout of the best cost, as the solver's hint."""
    staff_mm = next(size for size, bound in by_size.items() if bound.best() + costs[size] == best)
    return staff_mm, list(by_size[staff_mm].path())


def planned(problem: Problem, table: SpreadTable, chosen: model.Chosen, seconds: float) -> Plan:
    """The plan of chosen spreads with its terms, checked."""
    filled = []
    for arc in chosen.arcs:
        pages = table.filled(arc.start, arc.end, arc.shape)
        strips = [strip.at for page in pages for strip in (page.head, page.foot) if strip]
        filled.append(FilledSpread(arc.shape, [page.systems for page in pages], strips))
    draft = assemble(problem, chosen.staff_mm, filled, SolverReport(chosen.status, 0, 0, 0.0, {}))
    terms = weighted(evaluate(problem, draft), problem.weights)
    solver = SolverReport(chosen.status, chosen.objective, chosen.bound, round(seconds, 3), terms)
    plan = replace(draft, solver=solver)
    check_plan(problem, plan)
    return plan
