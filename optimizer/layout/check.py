"""Recomputes a plan's legality and every term of its cost, from the problem alone.

In: `Problem`, `Plan`.  Out: nothing, or `PlanFaultError`.  Points as in `objective`.  Always true: nothing
here uses the solver, the tables of systems, pages and spreads, or numpy; it is the plain arithmetic of what
design and `objective` say, one function a term, so a slip in the planner does not hide itself.
"""

from collections.abc import Callable, Iterator, Sequence
from itertools import chain, pairwise
from typing import Final

from optimizer.errors import QuietleafError
from optimizer.layout import objective as o
from optimizer.layout.demands import Kind
from optimizer.layout.geometry import STRIP_PERMILLE, STRIP_WORDS_MM
from optimizer.layout.patterns import Shape
from optimizer.layout.plan import Plan, PlannedBackTurn, PlannedPage, PlannedStrip, PlannedTurn
from optimizer.layout.problem import MSP_PER_SP, STAFF_MSP, Problem, to_msp
from optimizer.turns.model import StepCost, StripKind
from optimizer.units import mm_to_sp, sp_to_mm

# What the printer forgives (a twentieth of a millimetre) and what rounding up drawn heights can add to a page.
MISFIT_SPARE_MM: Final = 0.1


class PlanFaultError(QuietleafError):
    """The planner contradicts its own rules: a fault of ours."""


def check_plan(problem: Problem, plan: Plan) -> None:
    """Raises PlanFaultError unless the plan is legal, meets the demands and costs what it says."""
    for complaint in chain(complaints(problem, plan), _wrong_costs(problem, plan)):
        raise PlanFaultError(f"the planner made a mistake: {complaint}; please report this score")


def complaints(problem: Problem, plan: Plan, gap: int | None = None, spare_mm: float = 1e-6) -> Iterator[str]:
    """Everything illegal about a plan, in words. `gap`: least gap of systems, msp, the problem's own when None;
    `spare_mm`: how much too high a page may be."""
    disorder = [*_order(problem, plan), *_page_numbers(plan)]
    yield from disorder
    if disorder:
        return  # nothing else would make sense
    yield from _pattern(problem, plan)
    yield from _heights(problem, plan, problem.gap if gap is None else gap, spare_mm)
    yield from _widths(problem, plan)
    yield from _broken_demands(problem, plan)
    yield from _turn_lists(problem, plan)
    yield from _strips(problem, plan)


def evaluate(problem: Problem, plan: Plan) -> o.Terms:
    """Points of each term of a plan."""
    return {name: term(problem, plan) for name, term in _TERM_FUNCTIONS.items()}


def _wrong_costs(problem: Problem, plan: Plan) -> Iterator[str]:
    """Terms that differ from what the solver reported."""
    for name, points in evaluate(problem, plan).items():
        cost = points * problem.weights[name]
        if plan.solver.terms.get(name) != cost:
            yield f"term {name} is {plan.solver.terms.get(name)}, recomputed {cost}"
    if sum(plan.solver.terms.values()) != plan.solver.objective:
        yield f"the terms do not add up to the objective {plan.solver.objective}"
    if plan.solver.bound > plan.solver.objective:
        yield f"the bound {plan.solver.bound} lies above the objective {plan.solver.objective}"


# --- legality --------------------------------------------------------------------------------------


def _order(problem: Problem, plan: Plan) -> Iterator[str]:
    """Each measure once and in order; systems within movements; blank pages empty."""
    expected = 0
    for page in plan.pages:
        if page.blank != (not page.systems):
            yield f"page {page.number} is blank in name or in fact only"
        if page.why and not page.blank:
            yield f"page {page.number} is explained like a blank one"
        for system in page.systems:
            if system.first != expected or system.last < system.first:
                yield f"page {page.number} goes on with measure {system.first} instead of {expected}"
            if any(system.first < start <= system.last for start in problem.movement_starts):
                yield f"a movement starts inside the system of measure {system.first}"
            expected = system.last + 1
    if expected != problem.measures:
        yield f"{expected} of {problem.measures} measures are laid out"


def _page_numbers(plan: Plan) -> Iterator[str]:
    """Numbers run on; a title page outside is page 1; in each pair of a plan with turns the odd number stands right."""
    numbers = [page.number for page in plan.pages]
    one_spread, odd = len(plan.spreads) == 1, len(plan.spreads[0]) % 2 == 1
    first = 2 if plan.outside_title or not (one_spread or odd) else 1
    if numbers != list(range(first, first + len(numbers))):
        yield f"pages are numbered {numbers}"
    if [number for spread in plan.spreads for number in spread] != numbers:
        yield "spreads and pages do not list the same numbers"
    if any(len(spread) == 2 and spread[1] % 2 == 0 for spread in plan.spreads[1:]):
        yield "an even page number stands right"


def _pattern(problem: Problem, plan: Plan) -> Iterator[str]:
    """The spreads follow the binding's pattern; what is blank on them stands right."""
    if not problem.pattern.allows(_shapes(plan)):
        yield f"spreads of {[len(spread) for spread in plan.spreads]} pages are not allowed"
    blank = {page.number for page in plan.pages if page.blank}
    if any(one in blank and other not in blank for spread in plan.spreads for one, other in pairwise(spread)):
        yield "music follows on a blank side of its spread"


def _heights(problem: Problem, plan: Plan, gap: int, spare_mm: float) -> Iterator[str]:
    """No page overflows."""
    for page in plan.pages:
        is_first = bool(page.systems) and page.systems[0].first == 0
        inks = [_height(problem, plan.staff_mm, system.first, system.last) for system in page.systems]
        inks += _strip_heights(problem, plan, page)
        stack_sp = (sum(inks) + gap * max(0, len(inks) - 1)) / MSP_PER_SP
        if sp_to_mm(stack_sp, plan.staff_mm) > problem.geometry.music_height_mm(is_first) + spare_mm:
            yield f"page {page.number} overflows"


def _widths(problem: Problem, plan: Plan) -> Iterator[str]:
    """No system is squeezed or stretched beyond its limit."""
    for page in plan.pages:
        for system in page.systems:
            slack = _slack(problem, plan.staff_mm, system.first, system.last)
            if slack < -_most_squeeze(problem, system.first, system.last):
                yield f"the system of measure {system.first} is squeezed too much"
            if slack > o.MAX_STRETCH and not _may_be_short(problem, plan.staff_mm, system.first, system.last):
                yield f"the system of measure {system.first} is stretched too much"


def _may_be_short(problem: Problem, staff_mm: float, first: int, last: int) -> bool:
    """Whether a movement, a demand or the width of the next bar ends a system early."""
    ends = {*problem.movement_starts, problem.measures} | _demanded_ends(problem)
    if last + 1 in ends:
        return True
    return _slack(problem, staff_mm, first, last + 1) < -_most_squeeze(problem, first, last + 1)


def _most_squeeze(problem: Problem, first: int, last: int) -> int:
    """How far a system may be squeezed: a bar alone far, words to sing hardly."""
    if first == last:
        return o.MAX_SQUEEZE_ALONE
    sung = any(bar.sung for bar in problem.bars[first : last + 1])
    return o.MAX_SQUEEZE_SUNG if sung else o.MAX_SQUEEZE


def _broken_demands(problem: Problem, plan: Plan) -> Iterator[str]:
    """Demands that do not hold."""
    turns = set(_spread_starts(plan)[1:])
    for demand in problem.demands:
        inside = turns & set(range(demand.low, demand.high + 1))
        holds = {
            Kind.TURN: demand.low in turns,
            Kind.NO_TURN: not inside,
            Kind.TOGETHER: not inside,
            Kind.PAGES: _sides(plan) == demand.low,
            Kind.MAX_PAGES: _sides(plan) <= demand.low,
            Kind.NEW_PAGE: demand.low in _page_starts(plan),
            Kind.AS_GIVEN: tuple(_page_starts(plan)[1:]) == problem.given_pages,
            Kind.STAFF: plan.staff_mm in problem.staff_sizes_mm,
        }
        if not holds[demand.kind]:
            yield f"{demand.option} does not hold"


def _turn_lists(problem: Problem, plan: Plan) -> Iterator[str]:
    """Turns and back-turns are exactly the steps that leave a spread, at their cost."""
    starts = _spread_starts(plan)
    crossing = {
        (step.from_index, step.to_index): _crossed(starts, step.from_index, step.to_index)
        for step in problem.steps
    }
    leaving: list[PlannedTurn | PlannedBackTurn] = [*plan.turns, *plan.back_turns]
    expected = {pair: leaves for pair, leaves in crossing.items() if leaves}
    listed = {(turn.after, turn.to): turn.leaves for turn in leaving}
    if listed != expected or len(listed) != len(leaving):
        yield "turns are missing or made up"
    page_of = {
        m: page.number for page in plan.pages for s in page.systems for m in range(s.first, s.last + 1)
    }
    for turn in leaving:
        if (page_of[turn.after], page_of[turn.to]) != (turn.from_page, turn.to_page):
            yield f"the turn after measure {turn.after} names the wrong pages"


def _strips(problem: Problem, plan: Plan) -> Iterator[str]:
    """Strips are bars next to a turn that is not demanded there, on the other side of it and one at a turn, and move it
    to where the player may turn; each stands on one line."""
    starts, width = _spread_starts(plan)[1:], problem.box(plan.staff_mm).width
    demanded = {demand.low for demand in problem.demands if demand.kind is Kind.TURN}
    apart = [d for d in problem.demands if d.kind in (Kind.NO_TURN, Kind.TOGETHER)]
    if len({strip.after for strip in plan.strips}) < len(plan.strips):
        yield "two strips at one turn"
    for strip in plan.strips:
        late, name = strip.kind is StripKind.LATE, f"the strip at measure {strip.after}"
        if strip.after + 1 not in starts or (strip.first - 1 if late else strip.last) != strip.after:
            yield f"{name} is not at a turn"
        elif strip.page != _page_of(plan, strip.after if late else strip.after + 1).number:
            yield f"{name} is on the wrong page"
        moved = _moved_turn(problem, strip)
        if moved is None or (moved.from_index, moved.grade) != (strip.turn_after, strip.grade):
            yield f"{name} does not move the turn as it says"
        if strip.after + 1 in demanded or any(d.low <= strip.turn_after + 1 <= d.high for d in apart):
            yield f"{name} moves a turn against a demand"
        wide = width * 1000 // STRIP_PERMILLE
        natural = wide - _room(problem, wide, strip.first) + _music(problem, wide, strip.first, strip.last)
        if natural * STRIP_PERMILLE > width * 1000:
            yield f"{name} is too long"


# --- terms -----------------------------------------------------------------------------------------


def _turns_term(problem: Problem, plan: Plan) -> int:
    """Handling of each spread boundary that is not a movement's, and all steps forward, as strips make them."""
    handled = [start for start in _spread_starts(plan)[1:] if start not in problem.movement_starts]
    points = o.TURN_HANDLING * len(handled) + _steps_cost(problem, plan, back=False)
    plain = {step.from_index: step.cost for step in problem.steps if step.to_index == step.from_index + 1}
    for strip in plan.strips:
        moved = _moved_turn(problem, strip)
        points += moved.cost - plain[strip.after] if moved else 0
    return points


def _strips_term(problem: Problem, plan: Plan) -> int:
    """Each strip and each of its bars."""
    return sum(o.STRIP + o.STRIP_BAR * (strip.last - strip.first + 1) for strip in plan.strips)


def _back_turns_term(problem: Problem, plan: Plan) -> int:
    """All steps backward that leave their spread."""
    return _steps_cost(problem, plan, back=True)


def _steps_cost(problem: Problem, plan: Plan, back: bool) -> int:
    """Steps in one direction."""
    total, starts = 0, _spread_starts(plan)
    for step in problem.steps:
        leaves = _crossed(starts, step.from_index, step.to_index)
        if leaves and (step.to_index <= step.from_index) == back:
            jump = step.jump_cost if step.to_index != step.from_index + 1 else 0
            total += step.cost + jump + (leaves - 1) * step.extra_leaf_cost
    return total


def _reach_term(problem: Problem, plan: Plan) -> int:
    """Each measure at the slot where it lies."""
    pages = {page.number: page for page in plan.pages}
    total = 0
    for spread in plan.spreads:
        slots = problem.reach.get(len(spread))
        for slot, number in enumerate(spread):
            for system in pages[number].systems:
                total += sum(slots[slot][system.first : system.last + 1]) if slots else 0
    return total


def _spacing_term(problem: Problem, plan: Plan) -> int:
    """Each system's stretch or squeeze."""
    ends = {*problem.movement_starts, problem.measures}
    starts = {0, *problem.movement_starts}
    width = problem.box(plan.staff_mm).width
    return sum(
        _system_points(problem, plan.staff_mm, width, system.first, system.last, starts, ends)
        for page in plan.pages
        for system in page.systems
    )


def _system_points(
    problem: Problem, staff_mm: float, width: int, first: int, last: int, starts: set[int], ends: set[int]
) -> int:
    """One system: cubic in stretch or squeeze; a short one is forgiven at a movement's end and before a demanded
    turn."""
    slack = _slack(problem, staff_mm, first, last)
    if last + 1 in ends and slack >= 0:
        narrow = first == last and first not in starts and problem.bars[first].width * o.NARROW_PART < width
        return o.NARROW_LAST if narrow else 0
    if last + 1 in _demanded_turns(problem) and slack > o.MAX_STRETCH:
        return o.SHORT_FORCED
    if last + 1 in _demanded_ends(problem) and slack > o.MAX_STRETCH_GIVEN:
        return o.SHORT_GIVEN
    tolerance = o.SQUEEZE_TOLERANCE if slack < 0 else o.STRETCH_TOLERANCE
    return min(o.MAX_BADNESS, o.BADNESS * abs(slack) ** 3 // tolerance**3)


def _fill_term(problem: Problem, plan: Plan) -> int:
    """Each page's white, blank sides, and movements that start inside a page."""
    return sum(_page_points(problem, plan, page) for page in plan.pages)


def _page_points(problem: Problem, plan: Plan, page: PlannedPage) -> int:
    """One page."""
    staff_mm = plan.staff_mm
    if page.blank:
        return o.BLANK_SIDE
    box = problem.box(staff_mm)
    start, end = page.systems[0].first, page.systems[-1].last + 1
    room = box.steps(start == 0)
    heights = [_height(problem, staff_mm, system.first, system.last) for system in page.systems]
    heights += _strip_heights(problem, plan, page)
    taken = sum(-(-(height + problem.gap) // box.step) for height in heights)
    white = (room - taken) * 1000 // room
    points = o.MOVEMENT_INSIDE_PAGE * sum(s.first in problem.movement_starts for s in page.systems[1:])
    if white < o.CRAM_BELOW:
        points += o.CRAM * (o.CRAM_BELOW - white) // o.CRAM_BELOW
    if end == problem.measures:
        last = o.LAST_PAGE_EMPTY * max(0, white - o.LAST_PAGE_FREE) ** 2 // (1000 - o.LAST_PAGE_FREE) ** 2
        return points + (last if start > 0 else 0)
    empty = o.WHITE_EMPTY * max(0, white - o.WHITE_FREE) ** 2 // (1000 - o.WHITE_FREE) ** 2
    if end in problem.movement_starts:
        is_lonely = white > o.LONELY_WHITE and start > 0
        return points + empty // o.WHITE_AT_MOVEMENT_END + o.MOVEMENT_END_LONELY * is_lonely
    return points + empty


def _paper_term(problem: Problem, plan: Plan) -> int:
    """Each side of the sheets that are needed, blank or not; a title page takes a side, white backs of single-sided
    sheets cost nothing. A stapled set of one leaf costs a folded sheet, though it is printed on less."""
    sides = _sides(plan)
    return o.PAGE * (sides + -sides % problem.pattern.sides_a_sheet)


def _fold_outs_term(problem: Problem, plan: Plan) -> int:
    """Each page beyond two on a spread."""
    return o.FOLD_OUT * sum(max(0, len(spread) - 2) for spread in plan.spreads)


def _staff_size_term(problem: Problem, plan: Plan) -> int:
    """How far the staff is below the largest candidate, for as much music as there is."""
    largest = problem.box(max(problem.staff_sizes_mm))
    area = 0
    for bar in problem.bars:
        height = bar.above + STAFF_MSP * problem.staves + sum(bar.gaps) + bar.below + problem.gap
        area += bar.width * height
    missing = round((max(problem.staff_sizes_mm) - plan.staff_mm) * 100)
    page = largest.width * max(1, largest.steps_other) * largest.step
    return o.STAFF_PER_PAGE_MM2 * area * missing**2 // (page * 100**2)


_TERM_FUNCTIONS: Final[dict[str, Callable[[Problem, Plan], int]]] = {
    "turns": _turns_term,
    "back-turns": _back_turns_term,
    "strips": _strips_term,
    "reach": _reach_term,
    "spacing": _spacing_term,
    "fill": _fill_term,
    "paper": _paper_term,
    "fold-outs": _fold_outs_term,
    "staff-size": _staff_size_term,
}


# --- what they share -------------------------------------------------------------------------------


def _sides(plan: Plan) -> int:
    """Pages and title page."""
    return len(plan.pages) + plan.outside_title


def _shapes(plan: Plan) -> Sequence[Shape]:
    """The shape of each spread."""
    blank = {page.number for page in plan.pages if page.blank}
    return [
        Shape(len(spread), sum(number in blank for number in spread), plan.outside_title and index == 0)
        for index, spread in enumerate(plan.spreads)
    ]


def _page_starts(plan: Plan) -> list[int]:
    """The first measure of each page with music."""
    return [page.systems[0].first for page in plan.pages if page.systems]


def _spread_starts(plan: Plan) -> list[int]:
    """The first measure of each spread."""
    pages = {page.number: page for page in plan.pages}
    return [
        next(pages[number].systems[0].first for number in spread if pages[number].systems)
        for spread in plan.spreads
    ]


def _demanded_ends(problem: Problem) -> set[int]:
    """Positions at which the user wants a page to end."""
    as_given = any(demand.kind is Kind.AS_GIVEN for demand in problem.demands)
    return _demanded_turns(problem) | (set(problem.given_pages) if as_given else set())


def _demanded_turns(problem: Problem) -> set[int]:
    """Positions before which the user wants a turn."""
    return {demand.low for demand in problem.demands if demand.kind is Kind.TURN}


def _crossed(starts: Sequence[int], one: int, other: int) -> int:
    """How many leaves lie between two measures of spreads that start so."""
    low, high = sorted((one, other))
    return sum(low < start <= high for start in starts[1:])


def _slack(problem: Problem, staff_mm: float, first: int, last: int) -> int:
    """Stretch of a system filling the line, permille of its natural width; negative when squeezed."""
    width = problem.box(staff_mm).width
    music = _music(problem, width, first, last)
    return (_room(problem, width, first) - music) * 1000 // music


def _room(problem: Problem, width: int, first: int) -> int:
    """Width of a system without names, clef and key."""
    return width - (problem.indent if first == 0 else problem.label) - problem.bars[first].prefix


def _music(problem: Problem, width: int, first: int, last: int) -> int:
    """Natural width of a system's bars and of what the last one adds, as far as there is room for that beside the
    bar had it a system of its own."""
    end = problem.bars[last]
    free = max(0, _room(problem, width, last) - end.width)
    return sum(bar.width for bar in problem.bars[first : last + 1]) + min(end.suffix, free)


def _height(problem: Problem, staff_mm: float, first: int, last: int) -> int:
    """Height of a system, msp: the title above it, then from ink to ink as drawn, else the most over its bars
    and over the drawn systems inside it."""
    head = problem.head(first, staff_mm)
    for drawn in problem.drawn:
        if (drawn.first, drawn.last) == (first, last):
            return head + drawn.height
    inside = (drawn.height for drawn in problem.drawn if first <= drawn.first and drawn.last <= last)
    return head + max(_bars_height(problem, first, last), *inside, 0)


def _bars_height(problem: Problem, first: int, last: int) -> int:
    """The most above, between and below over the bars of a system, and its staves."""
    bars = problem.bars[first : last + 1]
    gaps: int = sum(max(gap) for gap in zip(*(bar.gaps for bar in bars), strict=True))
    return max(bar.above for bar in bars) + STAFF_MSP * problem.staves + gaps + max(bar.below for bar in bars)


def _strip_heights(problem: Problem, plan: Plan, page: PlannedPage) -> list[int]:
    """Height of each strip on a page with its words, msp."""
    known = {(drawn.first, drawn.last): drawn.height for drawn in problem.drawn_strips}
    words = to_msp(mm_to_sp(STRIP_WORDS_MM, plan.staff_mm))
    heights = []
    for strip in plan.strips:
        if strip.page == page.number:
            full = known.get((strip.first, strip.last)) or _bars_height(problem, strip.first, strip.last)
            heights.append(-(-full * STRIP_PERMILLE // 1000) + words)
    return heights


def _moved_turn(problem: Problem, strip: PlannedStrip) -> StepCost | None:
    """The step at which the player turns with this strip; None when no such bars may be printed again."""
    key = strip.after + 1, strip.kind, strip.first, strip.last
    return next((s.turn for s in problem.strip_turns if (s.position, s.kind, s.first, s.last) == key), None)


def knows_strips(problem: Problem, plan: Plan) -> bool:
    """Whether the bars that a plan made earlier prints again may be printed again in this problem."""
    return all(_moved_turn(problem, strip) for strip in plan.strips)


def _page_of(plan: Plan, measure: int) -> PlannedPage:
    """The page a measure stands on."""
    return next(
        page for page in plan.pages for system in page.systems if system.first <= measure <= system.last
    )


def misfit(problem: Problem, plan: Plan) -> str:
    """Why a plan made earlier does not fit this problem, in words; empty when it does.

    As forgiving as the printer, who lets gaps give way where drawn systems came out higher than predicted.
    """
    tightest = to_msp(problem.geometry.tightest_gap_sp)
    return next(complaints(problem, plan, tightest, MISFIT_SPARE_MM), "")
