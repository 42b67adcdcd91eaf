"""Why a side was left blank, in a sentence.

In: `Problem`, its optimal `Plan`, the solver.  Out: the plan with `why` on its blank pages.  Always true: what a
sentence says of the layout without blank sides was found by planning once more without them.
"""

from collections.abc import Callable
from dataclasses import replace

from optimizer.errors import NoLayoutError
from optimizer.layout.plan import Plan, PlannedBackTurn, PlannedTurn
from optimizer.layout.problem import Problem
from optimizer.turns.model import Grade

_AnyTurn = PlannedTurn | PlannedBackTurn


def name_blanks(problem: Problem, plan: Plan) -> Plan:
    """The plan with the turn that each blank page leads to, and no word on what there would be without it."""
    return _with_reasons(plan, lambda number: _reason(problem, plan, number)[0])


def explain_blanks(problem: Problem, plan: Plan, solve: Callable[[Problem], Plan]) -> Plan:
    """The plan with a reason for each blank page; the same when there is none."""
    if not any(page.blank for page in plan.pages):
        return plan
    try:
        other = solve(replace(problem, pattern=problem.pattern.without_blanks()))
    except NoLayoutError:
        other = None
    return _with_reasons(plan, lambda number: _why(problem, plan, other, number))


def _with_reasons(plan: Plan, why: Callable[[int], str]) -> Plan:
    pages = tuple(replace(page, why=why(page.number)) if page.blank else page for page in plan.pages)
    return replace(plan, pages=pages)


def _reason(problem: Problem, plan: Plan, number: int) -> tuple[str, PlannedTurn | None, int]:
    """Which turn a blank page leads to, in words and as planned, and after which measure."""
    spread = next(spread for spread in plan.spreads if number in spread)
    after = max(s.last for page in plan.pages if page.number in spread for s in page.systems)
    turn = next((turn for turn in plan.turns if turn.after == after and turn.to == after + 1), None)
    reason = f"left blank so that the turn comes after bar {problem.last_number(after)}"
    return f"{reason} ({turn.grade.value})" if turn else reason, turn, after


def _why(problem: Problem, plan: Plan, other: Plan | None, number: int) -> str:
    """Which turn the blank page leads to, and what there would be without blank sides."""
    reason, turn, after = _reason(problem, plan, number)
    if other is None:
        return f"{reason}; no layout without blank sides meets all demands"
    points = f"{round((other.solver.objective - plan.solver.objective) / 100)} points more"
    than = turn.grade if turn else Grade.OPEN
    instead = _instead(plan, other, after, than)
    if instead is None:
        return f"{reason}; without blank sides the same turns cost {points}"
    harder = instead.grade.hardness > than.hardness
    there = f"the best layout turns after bar {instead.after_bar} ({instead.grade.value})"
    return f"{reason}; without blank sides {there}" + ("" if harder else f" and costs {points}")


def _instead(plan: Plan, other: Plan, after: int, than: Grade) -> _AnyTurn | None:
    """The nearest turn that only the other plan has, of a harder grade if there is one."""
    ours = {(turn.after, turn.to) for turn in _all_turns(plan)}
    new = [turn for turn in _all_turns(other) if (turn.after, turn.to) not in ours]
    harder = [turn for turn in new if turn.grade.hardness > than.hardness]
    return min(harder or new, key=lambda turn: (abs(turn.after - after), turn.after), default=None)


def _all_turns(plan: Plan) -> tuple[_AnyTurn, ...]:
    return (*plan.turns, *plan.back_turns)
