"""Generated layout problems: a seed gives bars, turns and repeats; everything else can be set. All layouts of one."""

import itertools
import random
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from typing import Any

import pytest

from optimizer.engrave.model import BarSize
from optimizer.layout.assemble import FilledSpread, assemble
from optimizer.layout.check import complaints
from optimizer.layout.geometry import MIN_GAP_SP, ONE_STAFF_GAP_SP, PageGeometry
from optimizer.layout.patterns import Shape, pattern_for
from optimizer.layout.plan import Plan, SolverReport
from optimizer.layout.problem import Bar, Problem
from optimizer.settings import PAPERS, TERMS, Margins
from optimizer.turns.model import Grade, StepCost

MakeProblem = Callable[..., Problem]
Layouts = Iterator[tuple[tuple[Shape, ...], Plan]]
NO_REPORT = SolverReport("", 0, 0, 0.0, {})
TOGETHER, SYSTEM, PAGE, SPREAD = range(4)  # what stands between two bars


def step(from_index: int, to_index: int, cost: int, extra: int = 20, jump: int = 100) -> StepCost:
    """A step with a grade that goes with its cost."""
    grade = [Grade.OPEN, Grade.QUICK, Grade.TIGHT, Grade.BLOCKED][min(3, cost // 150)]
    jump_cost = 0 if to_index == from_index + 1 else jump
    return StepCost(
        from_index, to_index, 1, cost, extra, jump_cost, {"missing-time": cost}, grade, "left", -0.5, 1.0, 0, 0, "why"
    )  # fmt: skip


def _bar(dice: random.Random, staves: int) -> Bar:
    width, prefix, above, below = (dice.uniform(*ends) for ends in ((14, 45), (6, 12), (1, 5), (1, 5)))
    return Bar.of(BarSize(width, prefix, above, below, tuple(dice.uniform(5, 9) for _ in range(staves - 1))))


def _with_words(dice: random.Random, bar: Bar) -> Bar:
    """The bar, perhaps sung, perhaps wider at the end of a system (now and then wider than any page)."""
    suffix = dice.choice([0, 0, 3_000, 12_000, 400_000])
    return replace(bar, suffix=suffix, sung=dice.random() < 0.4)


def _steps(dice: random.Random, measures: int, jumps: Sequence[tuple[int, int]]) -> tuple[StepCost, ...]:
    plain = [
        step(i, i + 1, dice.choice([0, 0, 60, 200, 350, 700, 1000]), dice.choice([0, 20, 60]))
        for i in range(measures - 1)
    ]
    return (*plain, *(step(a, b, dice.choice([0, 200, 800]), dice.choice([20, 60])) for a, b in jumps))


def build_problem(
    seed: int,
    measures: int,
    *,
    staves: int = 2,
    abreast: int = 2,
    height_mm: float = 297.0,
    width_mm: float = 210.0,
    jumps: Sequence[tuple[int, int]] = (),
    sizes: Sequence[float] = (7.0,),
    words: bool = False,
    binding: str = "taped",
    **changes: Any,
) -> Problem:
    """A problem of so many bars, on request with words in and under them; `changes` replace any of its fields."""
    dice = random.Random(seed)
    bars = tuple(_bar(dice, staves) for _ in range(measures))
    if words:
        bars = tuple(_with_words(random.Random(f"{seed} {i}"), bar) for i, bar in enumerate(bars))
    slots = {
        size: tuple(
            tuple(dice.choice([0, 0, 10, 30]) if size > 2 else 0 for _ in range(measures))
            for _ in range(size)
        )
        for size in range(1, abreast + 1)
    }
    paper = replace(PAPERS["a4"], width_mm=width_mm, height_mm=height_mm)
    gap_sp = ONE_STAFF_GAP_SP if staves == 1 else MIN_GAP_SP
    problem = Problem(
        bars=bars,
        staves=staves,
        indent=20_000,
        label=6_000,
        steps=_steps(dice, measures, jumps),
        reach=slots,
        geometry=PageGeometry(paper, Margins(13, 13, 11, 11), 1, 0, 1, gap_sp=gap_sp),
        staff_sizes_mm=tuple(sizes),
        abreast=abreast,
        pattern=pattern_for(binding, abreast),
        movement_starts=(),
        titled=(),
        numbers=tuple(str(i + 1) for i in range(measures)),
        given_pages=(),
        given_systems=(),
        demands=(),
        weights=dict.fromkeys(TERMS, 100),
    )
    return replace(problem, **changes)


def _spreads(problem: Problem, gaps: Sequence[int]) -> Iterator[list[FilledSpread]]:
    """The spreads that these breaks make, with every choice of blank sides the pattern knows."""
    spreads: list[list[list[tuple[int, int]]]] = [[[(0, 1)]]]
    for position, gap in enumerate(gaps, start=1):
        page = spreads[-1][-1]
        if gap == TOGETHER:
            page[-1] = (page[-1][0], position + 1)
        elif gap == SYSTEM:
            page.append((position, position + 1))
        elif gap == PAGE:
            spreads[-1].append([(position, position + 1)])
        else:
            spreads.append([[(position, position + 1)]])
    choices = [
        [shape for shape in sorted(problem.pattern.shapes()) if shape.music == len(s)] for s in spreads
    ]
    for shapes in itertools.product(*choices):
        if problem.pattern.allows(shapes):
            yield [FilledSpread(shape, pages) for shape, pages in zip(shapes, spreads, strict=True)]


def all_layouts(problem: Problem) -> Layouts:
    """Every layout that is legal by check.py's own arithmetic, with the shapes of its spreads; no strips."""
    for staff_mm in problem.staff_sizes_mm:
        for gaps in itertools.product(range(4), repeat=problem.measures - 1):
            for filled in _spreads(problem, gaps):
                plan = assemble(problem, staff_mm, filled, NO_REPORT)
                if not any(complaints(problem, plan)):
                    yield tuple(spread.shape for spread in filled), plan


@pytest.fixture(scope="session")
def every_layout() -> Callable[[Problem], Layouts]:
    """`all_layouts` above."""
    return all_layouts


@pytest.fixture(scope="session")
def make_step() -> Callable[..., StepCost]:
    """`step` above."""
    return step


@pytest.fixture(scope="session")
def make_problem() -> MakeProblem:
    """`build_problem` above."""
    return build_problem
