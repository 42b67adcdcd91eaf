"""A plan found again, and the problem that asks for another one.

In: a stored `Plan`, the `Problem` of its settings, a function that plans and draws until it fits.  Out: `Again`.
Always true: the plan is the best one of its settings, or of those alike, with as many pages and the same first and last
spread: then it was picked from a comparison.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path

from optimizer.engrave.model import Engraved
from optimizer.errors import NoLayoutError, UsageError
from optimizer.layout.check import misfit
from optimizer.layout.demands import Demand, Kind, has
from optimizer.layout.patterns import Shape
from optimizer.layout.plan import Plan
from optimizer.layout.problem import Problem
from optimizer.layout.solve import solve
from optimizer.why.model import Scope

Planner = Callable[[Problem], tuple[Plan, Engraved]]


@dataclass(frozen=True, slots=True)
class Again:
    """A stored plan. `engraved`: its systems as drawn, where their heights had to be known to find it; `picked`: from a
    comparison."""

    plan: Plan
    engraved: Engraved | None
    picked: bool

    def changed(self, problem: Problem, planned: Planner) -> tuple[Plan | NoLayoutError, Scope]:
        """What another problem of the same score gives, and among which plans: beside a picked plan those alike, if
        there are any."""
        if self.picked:
            try:
                return planned(_alike(problem, self.plan))[0], Scope.ALIKE
            except NoLayoutError:
                scope = Scope.OTHERS
        else:
            scope = Scope.ALL
        try:
            return planned(problem)[0], scope
        except NoLayoutError as error:
            return error, scope

    def known(self, problem: Problem) -> Problem:
        """Another problem of the same score with the heights that are known."""
        if self.engraved is None:
            return problem
        return problem.with_measured_heights(self.engraved.systems, self.engraved.strips)


def found_again(path: Path, stored: Plan, problem: Problem, planned: Planner) -> Again:
    """The plan of a file, found again; UsageError where it is not what its settings give."""
    try:
        if _same(solve(problem), stored):
            return Again(stored, None, picked=False)
        plan, engraved = planned(problem)
        if _same(plan, stored):
            return Again(stored, engraved, picked=False)
        if not misfit(problem, stored):
            plan, engraved = planned(_alike(problem, stored))
            if plan.solver.objective == stored.solver.objective:  # equally good ones may be many
                return Again(stored, engraved, picked=True)
    except NoLayoutError:
        pass
    raise UsageError(
        f"{path}: planning again gives another plan: its settings, the score or the program changed since; run "
        "prepare again"
    )


def _same(found: Plan, stored: Plan) -> bool:
    """Whether they are equal but for the time it took."""
    return replace(found, solver=replace(found.solver, seconds=stored.solver.seconds)) == stored


def _alike(problem: Problem, plan: Plan) -> Problem:
    """The problem with as many pages and the first and last spread of a plan."""
    blank = {page.number for page in plan.pages if page.blank}
    ends = [
        Shape(len(spread), sum(number in blank for number in spread), title)
        for spread, title in ((plan.spreads[0], plan.outside_title), (plan.spreads[-1], False))
    ]
    whole, first, last = ((ends[0],), (), ()) if len(plan.spreads) == 1 else ((), (ends[0],), (ends[1],))
    pattern = replace(problem.pattern, whole=whole, first=first, last=last)
    demands = [*problem.demands]
    if not has(demands, Kind.PAGES):
        sides = len(plan.pages) + plan.outside_title
        demands.append(Demand(f"--pages {sides}", Kind.PAGES, sides))
    return replace(problem, pattern=pattern, demands=tuple(demands))
