"""Why a side was left blank.

In: `Problem`, its optimal `Plan`, the solver.  Out: the plan with `reason` and `why` on its blank pages.  Always true:
what they say of the layout without blank sides was found by planning once more without them.
"""

from collections.abc import Callable
from dataclasses import replace

from optimizer.errors import NoLayoutError
from optimizer.layout.plan import BlankReason, Plan, PlannedBackTurn, PlannedTurn
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
    return _with_reasons(plan, lambda number: _whole_reason(problem, plan, other, number))


def _with_reasons(plan: Plan, reason_of: Callable[[int], BlankReason]) -> Plan:
    reasons = {page.number: reason_of(page.number) for page in plan.pages if page.blank}
    pages = tuple(
        replace(page, why=_sentence(reasons[page.number]), reason=reasons[page.number])
        if page.blank
        else page
        for page in plan.pages
    )
    return replace(plan, pages=pages)


def _reason(problem: Problem, plan: Plan, number: int) -> tuple[BlankReason, int]:
    """Which turn a blank page leads to, and after which measure."""
    spread = next(spread for spread in plan.spreads if number in spread)
    after = max(s.last for page in plan.pages if page.number in spread for s in page.systems)
    turn = next((turn for turn in plan.turns if turn.after == after and turn.to == after + 1), None)
    return BlankReason(problem.last_number(after), turn.grade if turn else None), after


def _whole_reason(problem: Problem, plan: Plan, other: Plan | None, number: int) -> BlankReason:
    """Also what there would be without blank sides."""
    reason, after = _reason(problem, plan, number)
    if other is None:
        return replace(reason, forced=True)
    points = round((other.solver.objective - plan.solver.objective) / 100)
    instead = _instead(plan, other, after, reason.grade or Grade.OPEN)
    if instead is None:
        return replace(reason, points=points)
    return replace(reason, points=points, instead_bar=instead.after_bar, instead_grade=instead.grade)


def _sentence(reason: BlankReason) -> str:
    """The reason in English."""
    grade = f" ({reason.grade.value})" if reason.grade else ""
    said = f"left blank so that the turn comes after bar {reason.after_bar}{grade}"
    if reason.forced:
        return f"{said}; no layout without blank sides meets all demands"
    if reason.points is None:
        return said
    if reason.instead_grade is None:
        return f"{said}; without blank sides the same turns cost {reason.points} points more"
    harder = reason.instead_grade.hardness > (reason.grade or Grade.OPEN).hardness
    there = f"the best layout turns after bar {reason.instead_bar} ({reason.instead_grade.value})"
    return f"{said}; without blank sides {there}" + (
        "" if harder else f" and costs {reason.points} points more"
    )


def _instead(plan: Plan, other: Plan, after: int, than: Grade) -> _AnyTurn | None:
    """The nearest turn that only the other plan has, of a harder grade if there is one."""
    ours = {(turn.after, turn.to) for turn in _all_turns(plan)}
    new = [turn for turn in _all_turns(other) if (turn.after, turn.to) not in ours]
    harder = [turn for turn in new if turn.grade.hardness > than.hardness]
    return min(harder or new, key=lambda turn: (abs(turn.after - after), turn.after), default=None)


def _all_turns(plan: Plan) -> tuple[_AnyTurn, ...]:
    return (*plan.turns, *plan.back_turns)
