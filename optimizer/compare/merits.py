"""What a plan is good for, measured; and what a cell's best plan can be good for at most.

In: `Problem`, `Plan`, settings; or a `Cell` and its `Least`.  Out: `Merits`.  Points unweighted.  Always true: no plan
that is the best of its cell has better merits than `most_merits` of the cell.
"""

from collections.abc import Sequence
from functools import cache

from optimizer.binding.sheets import sheets_to_print
from optimizer.compare.model import Merits
from optimizer.layout import evaluate
from optimizer.layout.cells import Cell, Least, a_pass
from optimizer.layout.plan import Plan, PlannedBackTurn, PlannedPage, PlannedTurn, SolverReport
from optimizer.layout.problem import Problem
from optimizer.settings import Settings, SheetSettings


def merits_of(problem: Problem, plan: Plan, settings: Settings) -> Merits:
    """The merits of a plan."""
    leaving: Sequence[PlannedTurn | PlannedBackTurn] = [*plan.turns, *plan.back_turns]
    return Merits(
        effort=sum(turn.cost for turn in leaving),
        worst=max((a_pass(turn.cost, turn.passes) for turn in leaving), default=0),
        back_turns=sum(turn.passes for turn in plan.back_turns),
        reach=_reach(problem, plan),
        staff_mm=plan.staff_mm,
        sheets=sheets_to_print(plan, settings),
    )


def _reach(problem: Problem, plan: Plan) -> int:
    """The term of the objective, which the plan has been checked for, unless the user weighs it with nothing."""
    weight = problem.weights["reach"]
    return plan.solver.terms["reach"] // weight if weight else evaluate(problem, plan)["reach"]


def most_merits(cell: Cell, least: Least, settings: Settings) -> Merits:
    """The merits that the best plan of a cell can have at most: staff size and sheets are exact."""
    sheets = _sheets(cell.sides, cell.first.title, cell.is_whole, settings.binding, settings.sheets)
    return Merits(least.effort, least.worst, least.back_turns, least.reach, cell.staff_mm, sheets)


@cache
def _sheets(sides: int, title: bool, one_spread: bool, binding: str, sheets: SheetSettings) -> int:
    """How many pieces of paper a set of so many sides takes, whatever stands on them."""
    pages = tuple(PlannedPage(number, ()) for number in range(1, sides - title + 1))
    spreads = ((0,),) if one_spread else ((0,), (0,))
    bare = Plan(0.0, 0, binding, "", pages, spreads, (), (), SolverReport("", 0, 0, 0.0, {}), title)
    return sheets_to_print(bare, Settings(binding=binding, sheets=sheets))
