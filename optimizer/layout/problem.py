"""The layout problem: all that planning needs to know, in integers.

In: measured bars, step and reach costs, page geometry, settings.  Out: `Problem`, frozen.  Lengths in
millispaces (`_msp`, a thousandth of a staff space, rounded up), so that widths and heights do not depend on
the staff size; a `Box` is a page at one staff size in the same unit.  Always true: rounding is to the safe
side, so what fits in millispaces fits in millimetres.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

from optimizer.engrave.model import BarSize, EngravedSystem, Measured
from optimizer.errors import UsageError
from optimizer.layout import objective as o
from optimizer.layout.demands import Demand, resolve
from optimizer.layout.geometry import MIN_INK_SP, MOVEMENT_TITLE_MM, PageGeometry
from optimizer.layout.patterns import Pattern, pattern_for
from optimizer.score.model import Score
from optimizer.score.movements import title_above, titles_by_measure
from optimizer.settings import AUTO_STAFF_MM, AUTO_STAFF_SMALL_MM, TERMS, Settings, pages_abreast
from optimizer.turns.model import StepCost, StripTurn
from optimizer.units import SPACES_PER_STAFF, mm_to_sp

MSP_PER_SP: Final = 1000
MIN_INK_MSP: Final = int(MIN_INK_SP * MSP_PER_SP)
STAFF_MSP: Final = int(SPACES_PER_STAFF * MSP_PER_SP)
# Heights on a page are added in steps of this: half a millimetre is less than anyone sees, and keeps the
# search exact.
STEP_MM: Final = 0.5

# From so many staves on, systems are so high that the usual sizes leave one or two on a page.
MANY_STAVES: Final = 4

Reach = Mapping[int, Sequence[Sequence[int]]]  # pages abreast -> slot -> cost of each measure there


def to_msp(length_sp: float) -> int:
    """Staff spaces to millispaces, rounded up but for rounding noise."""
    return math.ceil(round(length_sp * MSP_PER_SP, 3))


@dataclass(frozen=True, slots=True)
class Bar:
    """`BarSize` in millispaces."""

    width: int
    prefix: int
    suffix: int
    sung: bool
    above: int
    below: int
    gaps: tuple[int, ...]

    @classmethod
    def of(cls, size: BarSize) -> "Bar":
        """Rounds a measured bar up."""
        return cls(
            max(1, to_msp(size.width_sp)),
            to_msp(size.prefix_sp),
            to_msp(size.suffix_sp),
            size.sung,
            max(MIN_INK_MSP, to_msp(size.above_sp)),
            max(MIN_INK_MSP, to_msp(size.below_sp)),
            tuple(map(to_msp, size.gaps_sp)),
        )

    def height(self, staves: int) -> int:
        """From ink to ink in a system of its own."""
        return self.above + staves * STAFF_MSP + sum(self.gaps) + self.below


@dataclass(frozen=True, slots=True)
class DrawnHeight:
    """A system that has been engraved: measures first..last and its real height from ink to ink,
    millispaces."""

    first: int
    last: int
    height: int


@dataclass(frozen=True, slots=True)
class Box:
    """A page at a staff size: width of a system in msp, heights in steps of `step` msp (each system takes its
    height and the least gap, rounded up to steps)."""

    staff_mm: float
    width: int
    step: int
    steps_first: int
    steps_other: int

    def steps(self, first: bool) -> int:
        """Height of the music box in steps."""
        return self.steps_first if first else self.steps_other


def crossed(step: StepCost) -> range:
    """The positions at which a spread boundary lies between the two measures of a step."""
    low, high = sorted((step.from_index, step.to_index))
    return range(low + 1, high + 1)


def is_back(step: StepCost) -> bool:
    """Whether a step goes to an earlier measure."""
    return step.to_index <= step.from_index


def step_cost(step: StepCost, leaves: int) -> int:
    """What a step costs over so many leaves, points."""
    if leaves == 0:
        return 0
    return step.cost + (step.jump_cost if step.is_jump else 0) + step.extra_leaf_cost * (leaves - 1)


@dataclass(frozen=True, slots=True)
class Problem:
    """Everything that decides a layout.

    `movement_starts`: measures that begin a movement, but for the first; `titled`: measures with a movement
    title above them. `given_pages`, `given_systems`: measures at
    which the file starts a page or system, but for the first. `staff_sizes_mm`: candidates, largest first.
    `strip_turns`: bars that may be printed again, small; `drawn_strips`: how high they turned out, at full size.
    `last_numbers`: of the last bars that measures stand for, where they are not `numbers`.
    """

    bars: tuple[Bar, ...]
    staves: int
    indent: int
    label: int
    steps: tuple[StepCost, ...]
    reach: Reach
    geometry: PageGeometry
    staff_sizes_mm: tuple[float, ...]
    abreast: int
    pattern: Pattern
    movement_starts: tuple[int, ...]
    titled: tuple[int, ...]
    numbers: tuple[str, ...]
    given_pages: tuple[int, ...]
    given_systems: tuple[int, ...]
    demands: tuple[Demand, ...]
    weights: Mapping[str, int]
    drawn: tuple[DrawnHeight, ...] = ()
    strip_turns: tuple[StripTurn, ...] = ()
    drawn_strips: tuple[DrawnHeight, ...] = ()
    last_numbers: tuple[str, ...] = ()

    def head(self, first: int, staff_mm: float) -> int:
        """Room above a system that starts with measure `first`, for the title of its movement."""
        return to_msp(mm_to_sp(MOVEMENT_TITLE_MM, staff_mm)) if first in self.titled else 0

    def last_number(self, measure: int) -> str:
        """The number of the last bar that a measure stands for."""
        return self.last_numbers[measure] if self.last_numbers else self.numbers[measure]

    @property
    def measures(self) -> int:
        """How many measures the piece has."""
        return len(self.bars)

    @property
    def gap(self) -> int:
        """Least gap of systems from ink to ink, msp."""
        return to_msp(self.geometry.gap_sp)

    def box(self, staff_mm: float) -> Box:
        """The page at a staff size."""
        step = math.ceil(mm_to_sp(STEP_MM, staff_mm) * MSP_PER_SP)

        def steps(first: bool) -> int:
            height = math.floor(mm_to_sp(self.geometry.music_height_mm(first), staff_mm) * MSP_PER_SP)
            return max(0, (height + self.gap) // step)

        width = math.floor(mm_to_sp(self.geometry.music_width_mm, staff_mm) * MSP_PER_SP)
        return Box(staff_mm, width, step, steps(first=True), steps(first=False))

    def lead(self, first: int) -> int:
        """Room left of the music in a system that starts with measure `first`: part names, clef and key."""
        return (self.indent if first == 0 else self.label) + self.bars[first].prefix

    def suffix(self, last: int, width: int) -> int:
        """What the music of a system gains in width when measure `last` ends it: words that must fit, an announced
        key or time.

        At most what lies free beside the bar in a system of its own, so that no words, however long, make a system
        impossible: the rest of them stands in the margin.
        """
        bar = self.bars[last]
        return min(bar.suffix, max(0, width - self.lead(last) - bar.width))

    def music(self, first: int, end: int, width: int) -> int:
        """Natural width of the music of a system of measures first .. end-1 on a page of this width."""
        return sum(bar.width for bar in self.bars[first:end]) + self.suffix(end - 1, width)

    def natural_height(self, first: int, last: int) -> int:
        """Height of a system of measures first..last by its bars, msp."""
        bars = self.bars[first : last + 1]
        gaps: int = sum(map(max, zip(*(bar.gaps for bar in bars), strict=True)))
        above, below = max(bar.above for bar in bars), max(bar.below for bar in bars)
        return above + self.staves * STAFF_MSP + gaps + below

    def staff_points(self, staff_mm: float) -> int:
        """What a staff smaller than the largest candidate costs (term `staff-size`): grows with the amount of
        music."""
        largest = self.box(self.staff_sizes_mm[0])
        missing = round((largest.staff_mm - staff_mm) * 100)
        page = largest.width * max(1, largest.steps_other) * largest.step
        return o.STAFF_PER_PAGE_MM2 * self._area() * missing**2 // (page * 100**2)

    def least_pages(self, staff_mm: float) -> int:
        """So many pages at least, by the area of the music squeezed as far as may be."""
        if self.drawn:
            return 1  # drawn systems may be lower than their bars
        box = self.box(staff_mm)
        page = box.width * max(1, box.steps_first, box.steps_other) * box.step
        return max(1, -(-self._area(box.width) * (1000 - o.MAX_SQUEEZE) // (1000 * page)))

    def _area(self, widest: int | None = None) -> int:
        """Width times height of all bars, square msp, none counted wider than `widest`."""
        return sum(
            min(bar.width, widest or bar.width) * (bar.height(self.staves) + self.gap) for bar in self.bars
        )

    def with_demands(self, demands: Sequence[Demand]) -> "Problem":
        """The same with other demands."""
        return replace(self, demands=tuple(demands))

    def narrowed(self, abreast: int) -> "Problem":
        """The same on a desk that takes only so many pages abreast; what is known of wider spreads is kept."""
        return replace(self, abreast=abreast, pattern=pattern_for(self.pattern.binding, abreast))

    def with_measured_heights(
        self, systems: Sequence[EngravedSystem], strips: Sequence[EngravedSystem] = ()
    ) -> "Problem":
        """The same, knowing how high these systems, and these strips, really are.

        A system that has been drawn has exactly the drawn height from now on; one that contains it has at
        least that (whatever stands in it stands in the larger one too). Others keep their prediction: nothing
        is known of them. Each round of drawing and solving adds facts, so a plan comes back only with systems
        that fit as drawn.
        """
        return replace(
            self, drawn=_known(self.drawn, systems), drawn_strips=_known(self.drawn_strips, strips)
        )


def _known(before: Sequence[DrawnHeight], systems: Sequence[EngravedSystem]) -> tuple[DrawnHeight, ...]:
    """What was known and what these systems tell, in order."""
    known = {(drawn.first, drawn.last): drawn for drawn in before}
    for system in systems:
        above, below = (max(MIN_INK_MSP, to_msp(ink)) for ink in (system.above_sp, system.below_sp))
        height = above + to_msp(system.staves_sp) + below
        known[system.first, system.last] = DrawnHeight(system.first, system.last, height)
    return tuple(known[key] for key in sorted(known))


def make_problem(
    score: Score,
    measured: Measured,
    steps: Sequence[StepCost],
    reach: Reach,
    geometry: PageGeometry,
    settings: Settings,
) -> Problem:
    """The layout problem of a score; UsageError for demands that name no bar, or pages the file does not
    give."""
    numbers = [measure.number for measure in score.measures]
    lasts = [measure.last_number for measure in score.measures]
    movements = [measure.movement for measure in score.measures]
    given = tuple(measure.index for measure in score.measures[1:] if measure.starts_page)
    if settings.demands.as_given and not given:
        raise UsageError("--as-given: the file has no page breaks")
    abreast = pages_abreast(settings.desk, settings.paper)
    return Problem(
        bars=tuple(map(Bar.of, measured.bars)),
        staves=measured.staves,
        indent=to_msp(measured.indent_sp),
        label=to_msp(measured.label_sp),
        steps=tuple(steps),
        reach=reach,
        geometry=geometry,
        staff_sizes_mm=_staff_sizes(settings, measured.staves),
        abreast=abreast,
        pattern=pattern_for(settings.binding, abreast),
        movement_starts=tuple(i for i in range(1, len(movements)) if movements[i] != movements[i - 1]),
        titled=titled_measures(score),
        numbers=tuple(numbers),
        given_pages=given,
        given_systems=tuple(measure.index for measure in score.measures[1:] if measure.starts_system),
        demands=resolve(settings.demands, settings.staff_mm, numbers, movements, lasts),
        weights={term: settings.weight(term) for term in TERMS},
        last_numbers=tuple(lasts),
    )


def titled_measures(score: Score) -> tuple[int, ...]:
    """Measures above which a movement's own title stands, where it is not the title of the whole."""
    return tuple(index for index, title in titles_by_measure(score).items() if title_above(title))


def _staff_sizes(settings: Settings, staves: int) -> tuple[float, ...]:
    """The one the user wants, else the candidates, largest first."""
    if settings.staff_mm is not None:
        return (settings.staff_mm,)
    return AUTO_STAFF_SMALL_MM if staves >= MANY_STAVES else AUTO_STAFF_MM
