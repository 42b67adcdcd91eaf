"""Where a barline lies in a plan, and what its neighbours would need for a page to end there.

In: `Plan`, `Problem`, a measure.  Out: `Standing`, `Neighbours`.  Measures 0-based.  Always true: what is said of a
page is what the planner itself holds it to be.
"""

from optimizer.compare.difference import AnyTurn, difference
from optimizer.errors import NoLayoutError
from optimizer.layout.demands import Kind, has
from optimizer.layout.pages import NEVER, page_table
from optimizer.layout.plan import Plan, PlannedPage, PlannedStrip
from optimizer.layout.problem import Problem, crossed
from optimizer.layout.systems import system_table
from optimizer.score.model import Score
from optimizer.turns.hands import Player
from optimizer.turns.model import StepCost
from optimizer.why.model import Asked, Explained, Neighbours, Place, Scope, Standing


def standing(plan: Plan, after: int) -> Standing:
    """The barline after a measure that is not the last."""
    page, following = _page_of(plan, after), _page_of(plan, after + 1)
    system = next(system for system in page.systems if system.first <= after <= system.last)
    spread = next(spread for spread in plan.spreads if page.number in spread)
    strip = _strip(plan, after)
    if following.number not in spread or (strip and strip.turn_after == after):
        place = Place.TURN
    elif following is not page:
        place = Place.PAGE
    else:
        place = Place.SYSTEM if system.last == after else Place.INSIDE
    return Standing(place, page, following, system, spread, strip)


def _strip(plan: Plan, after: int) -> PlannedStrip | None:
    """The strip because of which the player turns there, or elsewhere."""
    return next((strip for strip in plan.strips if after in (strip.after, strip.turn_after)), None)


def _page_of(plan: Plan, measure: int) -> PlannedPage:
    return next(
        page for page in plan.pages for system in page.systems if system.first <= measure <= system.last
    )


def neighbours(problem: Problem, plan: Plan, after: int) -> Neighbours:
    """What the page would hold that ends after a measure, and where the rest of it would go; `problem` has the demand
    that it ends there, which allows a system to be left short."""
    here, position = standing(plan, after), after + 1
    table = page_table(problem, system_table(problem, plan.staff_mm))
    start, end = here.page.systems[0].first, here.page.systems[-1].last + 1
    left_over = (position, end - 1) if position < end else None
    there = next((page for page in plan.pages if page.number > here.page.number), None)
    number, is_blank = (there.number, there.blank) if there else (None, False)
    fits = not there or is_blank or int(table.costs[position, there.systems[-1].last + 1]) < NEVER
    if table.costs[start, position] >= NEVER:
        return Neighbours(0, 0, left_over, number, is_blank, fits)
    breaks = table.breaks(start, position)
    room = table.systems.box.steps(start == 0)
    taken = sum(int(table.systems.steps[first, last - first - 1]) for first, last in breaks)
    white = (room - taken) * 1000 // room
    return Neighbours(len(breaks), white, left_over, number, is_blank, fits)


def explained(
    score: Score,
    player: Player,
    asked: Asked,
    after: int,
    plan: Plan,
    changed: Plan | NoLayoutError,
    scope: Scope,
    problem: Problem,
    turn: StepCost,
) -> Explained:
    """All that was found out, put together. `problem`: the changed one; `turn`: what one is like there."""
    here = standing(plan, after)
    inside = here.place is not Place.TURN and not has(problem.demands, Kind.AS_GIVEN)
    leaving: list[AnyTurn] = [*plan.turns, *plan.back_turns]
    refused = changed if isinstance(changed, NoLayoutError) else None
    return Explained(
        score=score,
        player=player,
        plan=plan,
        asked=asked,
        after=after,
        standing=here,
        neighbours=neighbours(problem, plan, after) if inside else None,
        turn=turn,
        jumps=tuple(step for step in problem.steps if step.is_jump and after + 1 in crossed(step)),
        leaving=tuple(each for each in leaving if each.after == after),
        difference=None if isinstance(changed, NoLayoutError) else difference(plan, changed),
        scope=scope,
        trouble=refused.problem if refused else "",
        relax=tuple(demand for demand in refused.relax if demand not in asked.options) if refused else (),
    )
