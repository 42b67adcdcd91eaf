"""Carry strips: bars next to a turn, printed again small on the other side of it.

In: `Problem`, a staff size.  Out: for each position at most one `Strip`.  Heights in steps of the page's `Box`,
savings in hundredths of a point.  Always true: a strip stands on one line at `STRIP_PERMILLE` of the staff size and
at its natural width.

With the bars b .. b+k-1 at the foot of the page before a turn at b (a late strip) everything up to barline b+k can be
read on either side, so the player may turn at any of the barlines b .. b+k; with the bars before b at the head of the
page after it (an early strip), at any from b-k on. The step across b then costs what it costs at the best of them. That
does not depend on where the neighbouring spreads begin and end, so a strip's saving belongs to the spread that carries
it: the one that ends at b with a late strip, the one that begins there with an early one. Which of them a position may
have is fixed beforehand, so that nothing is saved twice.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

from optimizer.engrave.model import SystemSpan
from optimizer.layout import objective as o
from optimizer.layout.demands import forbidden_turns, forced_turns
from optimizer.layout.geometry import STRIP_PERMILLE, STRIP_WORDS_MM
from optimizer.layout.plan import Plan
from optimizer.layout.problem import MSP_PER_SP, Box, Problem, to_msp
from optimizer.settings import Strips
from optimizer.turns.model import Grade, StepCost, StripKind, StripTurn
from optimizer.units import mm_to_sp

# More bars do not fit on a line, and on real scores a fourth made no turn easier that three did not.
MOST_BARS: Final = 3
_HARD: Final = (Grade.TIGHT, Grade.BLOCKED)


@dataclass(frozen=True, slots=True)
class Strip:
    """A strip as it may stand on a page: the height it takes there, words included, and what it saves all in all."""

    at: StripTurn
    steps: int
    saving: int


def with_strips(problem: Problem, turns: Sequence[StripTurn], wanted: Strips) -> Problem:
    """The problem with the strips the user may want: those that make a turn easier, of `auto` only where it is tight
    or blocked and would be of a better grade."""
    steps = _straight_on(problem)
    useful = (strip for strip in turns if _helps(steps[strip.position], strip.turn, wanted))
    return replace(problem, strip_turns=tuple(useful))


def _helps(step: StepCost, turn: StepCost, wanted: Strips) -> bool:
    if wanted is Strips.NEVER or turn.cost >= step.cost:
        return False
    better = turn.grade.hardness < step.grade.hardness
    return wanted is Strips.ALWAYS or (step.grade in _HARD and better)


def _straight_on(problem: Problem) -> Mapping[int, StepCost]:
    """The steps that simply go on, by the measure they go to."""
    return {step.to_index: step for step in problem.steps if not step.is_jump}


def strip_points(bars: int) -> int:
    """What a strip of so many bars costs (term `strips`)."""
    return o.STRIP + o.STRIP_BAR * bars


def strip_table(problem: Problem, staff_mm: float) -> Mapping[int, Strip]:
    """The strip of each position at a staff size, where one fits on a line and saves anything: the best in points; of
    equal ones that with fewer bars, then the late one. A turn that is demanded is not moved, and none is moved to where
    it is forbidden."""
    box, steps = problem.box(staff_mm), _straight_on(problem)
    forced, forbidden = forced_turns(problem.demands), forbidden_turns(problem.demands)
    best: dict[int, StripTurn] = {}
    for strip in sorted(problem.strip_turns, key=_rank):
        fits = _width(problem, box, strip.first, strip.last) * STRIP_PERMILLE <= box.width * 1000
        if fits and strip.position not in forced and strip.turn.to_index not in forbidden:
            best.setdefault(strip.position, strip)
    table = {}
    for position, strip in sorted(best.items()):
        saved = (steps[position].cost - strip.turn.cost) * problem.weights["turns"]
        saving = saved - strip_points(strip.bars) * problem.weights["strips"]
        if saving > 0:
            table[position] = Strip(strip, _steps(problem, box, strip), saving)
    return table


def _rank(strip: StripTurn) -> tuple[int, int, bool]:
    return strip.turn.cost + strip_points(strip.bars), strip.bars, strip.kind is StripKind.EARLY


def _width(problem: Problem, box: Box, first: int, last: int) -> int:
    """Natural width at full size, clef and names included."""
    return problem.lead(first) + problem.music(first, last + 1, box.width * 1000 // STRIP_PERMILLE)


def _steps(problem: Problem, box: Box, strip: StripTurn) -> int:
    """Height on the page with words and the least gap."""
    known = {(drawn.first, drawn.last): drawn.height for drawn in problem.drawn_strips}
    height = known.get((strip.first, strip.last)) or problem.natural_height(strip.first, strip.last)
    small = -(-height * STRIP_PERMILLE // 1000)
    words = to_msp(mm_to_sp(STRIP_WORDS_MM, box.staff_mm))
    return -(-(small + words + problem.gap) // box.step)


def strip_spans(problem: Problem, plan: Plan) -> tuple[SystemSpan, ...]:
    """The strips of a plan with the widths at which they are to be engraved, in staff spaces of their own staff."""
    box = problem.box(plan.staff_mm)
    return tuple(
        SystemSpan(first, last, _width(problem, box, first, last) / MSP_PER_SP)
        for first, last in dict.fromkeys((strip.first, strip.last) for strip in plan.strips)
    )
