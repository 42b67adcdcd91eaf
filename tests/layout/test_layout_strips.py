"""Carry strips: no layout with or without them is cheaper, none costs more than without, and they buy what they should.

Sources: the strips' size is Bell & Church (ICMC 2005); that a strip moves a turn to any barline of its bars is the
definition in optimizer/layout/strips.py; all else is arithmetic on generated bars.
"""

import itertools
import json
import random
from collections.abc import Callable, Iterator
from dataclasses import replace

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from optimizer.layout import from_json, misfit, report_rows, solve, to_json, with_strips
from optimizer.layout.assemble import FilledSpread, assemble
from optimizer.layout.check import PlanFaultError, check_plan, complaints, evaluate
from optimizer.layout.demands import Demand, Kind
from optimizer.layout.geometry import SystemExtent, stack_height_mm
from optimizer.layout.objective import STRIP, STRIP_BAR, weighted
from optimizer.layout.patterns import Shape
from optimizer.layout.plan import Plan, SolverReport
from optimizer.layout.problem import MSP_PER_SP, Problem
from optimizer.layout.strips import MOST_BARS, strip_spans
from optimizer.score.model import Score
from optimizer.settings import Settings, Strips
from optimizer.turns.model import Grade, StepCost, StripKind, StripTurn
from optimizer.units import sp_to_mm

MakeProblem = Callable[..., Problem]
NO_REPORT = SolverReport("", 0, 0, 0.0, {})
TOGETHER, SYSTEM, PAGE, SPREAD = range(4)  # what stands between two bars


def strip_turns_of(problem: Problem) -> list[StripTurn]:
    """All strips of a problem whose bars are played once, straight on, inside movements."""
    steps = {step.to_index: step for step in problem.steps if not step.is_jump}
    starts = set(problem.movement_starts)
    return [
        StripTurn(p, kind, first, first + bars - 1, steps[turned])
        for p in steps
        for bars in range(1, MOST_BARS + 1)
        for kind, first, turned in ((StripKind.LATE, p, p + bars), (StripKind.EARLY, p - bars, p - bars))
        if turned in steps and not starts & {p, *range(first + 1, first + bars)}
    ]


def rarely_free(problem: Problem, seed: int) -> Problem:
    """The problem with turns, each barline blocked or tight but for a few."""
    dice = random.Random(seed)
    steps = [
        replace(step, cost=cost, grade=grade)
        for step in problem.steps
        for cost, grade in [
            dice.choice([(0, Grade.OPEN)] + [(900, Grade.BLOCKED)] * 3 + [(400, Grade.TIGHT)] * 2)
        ]
    ]
    return replace(problem, steps=tuple(steps), pattern=replace(problem.pattern, whole=()))


def with_all(problem: Problem, wanted: Strips = Strips.ALWAYS) -> Problem:
    """The problem with all strips that may be wanted."""
    return with_strips(problem, strip_turns_of(problem), wanted)


# --- what a strip buys -------------------------------------------------------------------------------------


def two_leaves(make_problem: MakeProblem, make_step: Callable[..., StepCost], rest_after: int) -> Problem:
    """Sixteen equal bars, four of which fill a line, on two pages that hold two lines and a strip, not three lines; so
    the page can only be turned after bar 8. All barlines are blocked but the one after measure `rest_after`."""
    plain = make_problem(1, 16, height_mm=138.5, width_mm=190.0, sizes=(6.5,))
    bar = replace(
        plain.bars[0], width=20_000, prefix=6_000, suffix=0, above=3_000, below=3_000, gaps=(6_000,)
    )
    return replace(
        plain,
        bars=(bar,) * 16,
        steps=tuple(make_step(i, i + 1, 0 if i == rest_after else 1000) for i in range(15)),
        geometry=replace(plain.geometry, title_lines=0, names_lines=0),
        pattern=replace(plain.pattern, whole=(), first=(Shape(1),), middle=(), last=(Shape(1),)),
    )


def test_a_late_strip_buys_a_rest_two_bars_after_the_page(
    make_problem: MakeProblem, make_step: Callable[..., StepCost]
) -> None:
    problem = two_leaves(make_problem, make_step, rest_after=9)
    without, plan = solve(problem), solve(with_all(problem, Strips.AUTO))
    assert [(turn.after, turn.grade) for turn in without.turns] == [(7, Grade.BLOCKED)]
    (strip,), (turn,) = plan.strips, plan.turns
    assert (strip.kind, strip.first, strip.last, strip.page) == (StripKind.LATE, 8, 9, turn.from_page)
    assert (turn.after, strip.turn_after, strip.turn_after_bar) == (7, 9, "10")
    assert (strip.grade_before, strip.grade, turn.grade) == (Grade.BLOCKED, Grade.OPEN, Grade.OPEN)
    assert turn.why.startswith("bars 9–10 printed again at the foot: turn ")
    assert without.solver.terms["turns"] - plan.solver.terms["turns"] == 1000 * 100
    assert plan.solver.terms["strips"] == (STRIP + 2 * STRIP_BAR) * 100


def test_an_early_strip_buys_a_rest_before_the_page_ends(
    make_problem: MakeProblem, make_step: Callable[..., StepCost]
) -> None:
    plan = solve(with_all(two_leaves(make_problem, make_step, rest_after=5), Strips.AUTO))
    (strip,), (turn,) = plan.strips, plan.turns
    assert (strip.kind, strip.first, strip.last, strip.page) == (StripKind.EARLY, 6, 7, turn.to_page)
    assert (turn.after, strip.turn_after, turn.grade) == (7, 5, Grade.OPEN)
    assert turn.why.startswith("bars 7–8 printed again overleaf: turn ")


def test_no_strip_where_the_rest_is_too_far_or_the_strip_too_high(
    make_problem: MakeProblem, make_step: Callable[..., StepCost]
) -> None:
    assert MOST_BARS == 3
    assert solve(with_all(two_leaves(make_problem, make_step, rest_after=11))).strips == ()
    near = two_leaves(make_problem, make_step, rest_after=10)
    assert len(solve(with_all(near)).strips) == 1
    paper = replace(near.geometry.paper, height_mm=135.0)
    lower = replace(near, geometry=replace(near.geometry, paper=paper))
    assert solve(with_all(lower)).strips == ()


def test_a_strip_never_moves_a_turn_against_a_demand(
    make_problem: MakeProblem, make_step: Callable[..., StepCost]
) -> None:
    problem = with_all(two_leaves(make_problem, make_step, rest_after=9))
    turn, no_turn = (
        Demand("--turn-after 8", Kind.TURN, 8, 8),
        Demand("--no-turn-after 10", Kind.NO_TURN, 10, 10),
    )
    for demand in (turn, no_turn):
        assert solve(replace(problem, demands=(demand,))).strips == ()


def test_auto_asks_only_where_a_turn_is_hard_and_gets_easier(make_problem: MakeProblem) -> None:
    problem = make_problem(4, 40)
    grades, steps = list(Grade), {step.to_index: step for step in problem.steps}
    auto, always = with_all(problem, Strips.AUTO), with_all(problem)
    assert with_all(problem, Strips.NEVER) == problem
    assert 0 < len(auto.strip_turns) < len(always.strip_turns) < len(strip_turns_of(problem))
    for strip in auto.strip_turns:
        before = steps[strip.position].grade
        assert before in (Grade.TIGHT, Grade.BLOCKED)
        assert grades.index(strip.turn.grade) < grades.index(before)


# --- optimal -----------------------------------------------------------------------------------------------


def _spreads(gaps: tuple[int, ...]) -> list[list[list[tuple[int, int]]]]:
    """Bars into systems, pages and spreads."""
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
    return spreads


def _best_strips(problem: Problem, staff_mm: float) -> dict[int, StripTurn]:
    """The one strip each position may have: cheapest, then shortest, then late; by fractions of the page's width."""
    width_sp = problem.geometry.music_width_mm / staff_mm * 4
    best: dict[int, StripTurn] = {}
    for strip in problem.strip_turns:
        bars = problem.bars[strip.first : strip.last + 1]
        lead = (problem.indent if strip.first == 0 else problem.label) + bars[0].prefix
        if (lead + sum(bar.width for bar in bars) + bars[-1].suffix) * 0.75 / MSP_PER_SP > width_sp:
            continue

        def rank(one: StripTurn) -> tuple[int, int, bool]:
            return (
                one.turn.cost + STRIP + STRIP_BAR * one.bars,
                one.bars,
                one.kind is StripKind.EARLY,
            )

        if strip.position not in best or rank(strip) < rank(best[strip.position]):
            best[strip.position] = strip
    return best


def brute_force(problem: Problem) -> int | None:
    """The least cost over all layouts with every choice of strips, legal by check.py's own arithmetic."""
    found = []
    staff_mm = problem.staff_sizes_mm[0]
    allowed = _best_strips(problem, staff_mm)
    for gaps in itertools.product(range(4), repeat=problem.measures - 1):
        spreads = _spreads(gaps)
        shapes = [[s for s in sorted(problem.pattern.shapes()) if s.music == len(pages)] for pages in spreads]
        turned = [allowed[pages[0][0][0]] for pages in spreads[1:] if pages[0][0][0] in allowed]
        for chosen in itertools.product(*shapes, *[(False, True)] * len(turned)):
            kinds, used = chosen[: len(spreads)], chosen[len(spreads) :]
            if problem.pattern.allows(kinds):
                filled = [FilledSpread(*one) for one in zip(kinds, spreads, strict=True)]
                filled[0] = replace(filled[0], strips=list(itertools.compress(turned, used)))
                plan = assemble(problem, staff_mm, filled, NO_REPORT)
                if not any(complaints(problem, plan)):
                    found.append(sum(weighted(evaluate(problem, plan), problem.weights).values()))
    return min(found, default=None)


@pytest.mark.parametrize(
    ("seed", "changes"),
    [
        (7, {"abreast": 3}),
        (2, {"height_mm": 150.0}),
        (8, {"words": True, "width_mm": 160.0}),
        (10, {"movement_starts": (3,)}),
    ],
)
def test_no_layout_and_no_choice_of_strips_is_cheaper(
    make_problem: MakeProblem, seed: int, changes: dict
) -> None:
    size = {"height_mm": 170.0, "width_mm": 150.0, "sizes": (5.0,), "staves": 1, **changes}
    problem = with_all(rarely_free(make_problem(seed, 7, **size), seed))
    plan = solve(problem)
    assert plan.strips
    assert plan.solver.status == "optimal"
    assert plan.solver.objective == plan.solver.bound == brute_force(problem)


@st.composite
def layouts(draw: st.DrawFn) -> dict[str, object]:
    """Arguments of make_problem."""
    measures = draw(st.integers(20, 60))
    return {
        "seed": draw(st.integers(0, 10_000)),
        "measures": measures,
        "staves": draw(st.integers(1, 3)),
        "abreast": draw(st.integers(2, 4)),
        "words": draw(st.booleans()),
        "height_mm": draw(st.sampled_from([180.0, 240.0, 297.0])),
        "sizes": draw(st.sampled_from([(5.5,), (6.5, 5.0)])),
        "movement_starts": tuple(sorted(draw(st.sets(st.integers(1, measures - 1), max_size=1)))),
    }


def heights_mm(problem: Problem, plan: Plan) -> Iterator[tuple[float, float]]:
    """Least height and room of each page: its systems at the staff size, its strips at three quarters of it and six
    millimetres of words each."""

    def extent(first: int, last: int) -> SystemExtent:
        bars = problem.bars[first : last + 1]
        gaps = [max(bar.gaps[k] for bar in bars) for k in range(problem.staves - 1)]
        above, below = max(bar.above for bar in bars), max(bar.below for bar in bars)
        return SystemExtent(
            above / MSP_PER_SP, 4 * problem.staves + sum(gaps) / MSP_PER_SP, below / MSP_PER_SP
        )

    for page in plan.pages:
        extents = [extent(system.first, system.last) for system in page.systems]
        needed = stack_height_mm(extents, plan.staff_mm, problem.geometry.gap_sp)
        for strip in plan.strips:
            if strip.page == page.number:
                small = sp_to_mm(extent(strip.first, strip.last).height_sp, 0.75 * plan.staff_mm)
                needed += small + 6.0 + 2 * plan.staff_mm / 4
        yield needed, problem.geometry.music_height_mm(page is plan.pages[0])


@settings(max_examples=30, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(layouts(), st.sampled_from([Strips.AUTO, Strips.ALWAYS]))
def test_strips_never_cost_more_and_no_page_overflows(
    make_problem: MakeProblem, given: dict, wanted: Strips
) -> None:
    bare = rarely_free(make_problem(**given), given["seed"])
    problem = with_all(bare, wanted)
    without, plan = solve(bare), solve(problem)
    assert plan.solver.objective <= without.solver.objective
    assert all(needed <= room + 1e-6 for needed, room in heights_mm(problem, plan))
    systems = [system for page in plan.pages for system in page.systems]
    assert [m for s in systems for m in range(s.first, s.last + 1)] == list(range(problem.measures))
    grades = list(Grade)
    turns = {turn.after: turn for turn in plan.turns}
    for strip in plan.strips:
        assert turns[strip.after].grade is strip.grade
        assert wanted is Strips.ALWAYS or grades.index(strip.grade) < grades.index(strip.grade_before)
        pages = {page.number: page for page in plan.pages}
        shown = [m for s in pages[strip.page].systems for m in range(s.first, s.last + 1)]
        assert not set(shown) & set(range(strip.first, strip.last + 1))
        edge = shown[-1] + 1 == strip.first if strip.kind is StripKind.LATE else shown[0] - 1 == strip.last
        assert edge
    assert len({span.first for span in strip_spans(problem, plan)}) <= len(plan.strips)


# --- plan, report, check -----------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def stripped(make_problem: MakeProblem) -> tuple[Problem, Plan]:
    """A plan with strips of both kinds."""
    problem = with_all(rarely_free(make_problem(4, 90, sizes=(6.0,), height_mm=220.0), 4))
    plan = solve(problem)
    assert {strip.kind for strip in plan.strips} == {StripKind.LATE, StripKind.EARLY}
    return problem, plan


def test_plan_json_keeps_strips(stripped: tuple[Problem, Plan]) -> None:
    score = Score("f", "ab", "Title", "", "", "", "", None, (), (), (), (), (), "default")
    text = to_json(stripped[1], score, {"parts": ["P1"], "kind": "keyboard"}, Settings())
    assert from_json(text) == stripped[1]
    assert [entry["kind"] for entry in json.loads(text)["strips"]] == [s.kind for s in stripped[1].strips]


def test_the_report_names_what_strips_cost(stripped: tuple[Problem, Plan]) -> None:
    problem, plan = stripped
    row = next(row for row in report_rows(plan, problem.weights) if row.term == "strips")
    assert row.points == sum(20 + 5 * (strip.last - strip.first + 1) for strip in plan.strips) > 0
    dear = replace(problem, weights={**problem.weights, "strips": 10_000})
    assert solve(dear).strips == ()


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"page": 1}, "wrong page"),
        ({"turn_after": 0}, "does not move the turn"),
        ({"first": 0, "last": 0}, "not at a turn"),
    ],
)
def test_the_check_finds_strips_that_cannot_be(
    stripped: tuple[Problem, Plan], change: dict, words: str
) -> None:
    problem, plan = stripped
    broken = replace(plan, strips=(*plan.strips[:-1], replace(plan.strips[-1], **change)))
    assert any(words in complaint for complaint in complaints(problem, broken))
    with pytest.raises(PlanFaultError):
        check_plan(problem, broken)


def test_the_check_finds_strips_that_are_missing_doubled_or_not_wanted(
    stripped: tuple[Problem, Plan],
) -> None:
    problem, plan = stripped
    with pytest.raises(PlanFaultError, match="term turns"):
        check_plan(problem, replace(plan, strips=plan.strips[1:]))
    assert any("two strips" in c for c in complaints(problem, replace(plan, strips=plan.strips * 2)))
    assert misfit(problem, plan) == ""
    assert "does not move the turn" in misfit(replace(problem, strip_turns=()), plan)


def test_real_heights_of_strips_are_fed_back(stripped: tuple[Problem, Plan]) -> None:
    """A strip that turned out as high as a page is not planned again."""
    from optimizer.engrave.model import EngravedSystem

    problem, plan = stripped
    strip = plan.strips[0]
    drawn = EngravedSystem(strip.first, strip.last, 150.0, 4.0, 3.0, 0.0, 60.0, ())
    taught = problem.with_measured_heights((), [drawn])
    again = solve(taught)
    assert all((s.first, s.last) != (strip.first, strip.last) for s in again.strips)
    assert again.solver.objective >= plan.solver.objective
    assert "overflows" in misfit(taught, plan)
