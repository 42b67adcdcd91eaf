"""The plan itself: check.py catches tampering, JSON, report, greedy baseline, heights fed back, jumps."""

import json
from collections.abc import Callable
from dataclasses import replace

import pytest

from optimizer.engrave.model import EngravedSystem
from optimizer.errors import UsageError
from optimizer.layout import (
    Plan,
    PlanFaultError,
    check_plan,
    evaluate,
    from_json,
    greedy_plan,
    misfit,
    model,
    report_rows,
    solve,
    system_spans,
    to_json,
)
from optimizer.layout import objective as o
from optimizer.layout.check import complaints
from optimizer.layout.demands import Demand, Kind
from optimizer.layout.model import Chosen
from optimizer.layout.pages import fill_points
from optimizer.layout.plan import BlankReason, PlannedPage, PlannedSystem, SolverReport
from optimizer.layout.problem import MSP_PER_SP, Problem
from optimizer.layout.solve import bounds_at, staff_cost
from optimizer.layout.systems import system_table
from optimizer.score.model import Key, Score
from optimizer.settings import TERMS, Settings
from optimizer.turns.model import Grade

MakeProblem = Callable[..., Problem]


@pytest.fixture(scope="module")
def problem(make_problem: MakeProblem) -> Problem:
    return make_problem(8, 70, abreast=3, sizes=(6.5, 6.0), jumps=[(40, 12), (55, 60)])


@pytest.fixture(scope="module")
def plan(problem: Problem) -> Plan:
    return solve(problem)


def test_a_solver_whose_time_is_over_makes_no_plan_worse(
    problem: Problem, plan: Plan, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The best path is known without it; only that none is better is then not said."""
    turned = plan.turns[0].to
    bound = bounds_at(problem.with_demands([Demand("", Kind.NO_TURN, turned, turned)]), plan.staff_mm)
    cost = bound.best() + staff_cost(problem, plan.staff_mm)
    dearer = Chosen(plan.staff_mm, bound.path(), "feasible", cost, 1)
    assert dearer.objective > plan.solver.objective
    monkeypatch.setattr(model, "choose", lambda *given: dearer)
    found = solve(problem)
    assert replace(found, solver=plan.solver) == plan
    assert (found.solver.status, found.solver.bound) == ("feasible", 1)
    assert found.solver.objective == plan.solver.objective


def _with_page(plan: Plan, index: int, page: PlannedPage) -> Plan:
    return replace(plan, pages=(*plan.pages[:index], page, *plan.pages[index + 1 :]))


def _moved_bar(plan: Plan) -> Plan:
    """The last bar of page 1 moved to page 2."""
    one, two = plan.pages[:2]
    last, first = one.systems[-1], two.systems[0]
    moved = _with_page(plan, 0, replace(one, systems=(*one.systems[:-1], replace(last, last=last.last - 1))))
    return _with_page(
        moved, 1, replace(two, systems=(replace(first, first=first.first - 1), *two.systems[1:]))
    )


TAMPERINGS: dict[str, Callable[[Plan], Plan]] = {
    "a missing system": lambda p: _with_page(p, 0, replace(p.pages[0], systems=p.pages[0].systems[1:])),
    "a system twice": lambda p: _with_page(p, 0, replace(p.pages[0], systems=p.pages[0].systems * 2)),
    "everything in one system": lambda p: _with_page(
        p, 0, replace(p.pages[0], systems=(PlannedSystem(0, 69),))
    ),
    "a bar moved to the next page": _moved_bar,
    "other spreads": lambda p: replace(p, spreads=tuple((page.number,) for page in p.pages)),
    "a number too many": lambda p: _with_page(p, 0, replace(p.pages[0], number=9)),
    "a blank page in name": lambda p: _with_page(p, 0, replace(p.pages[0], blank=True)),
    "a turn left out": lambda p: replace(p, turns=p.turns[1:]),
    "a turn to another page": lambda p: replace(p, turns=(replace(p.turns[0], to_page=1), *p.turns[1:])),
    "a smaller objective": lambda p: replace(p, solver=replace(p.solver, objective=p.solver.objective - 100)),
    "a bound too high": lambda p: replace(p, solver=replace(p.solver, bound=p.solver.objective + 1)),
    "another term": lambda p: replace(p, solver=replace(p.solver, terms={**p.solver.terms, "fill": 1})),
    "a larger staff": lambda p: replace(p, staff_mm=9.0),
}


@pytest.mark.parametrize("name", TAMPERINGS)
def test_check_catches(problem: Problem, plan: Plan, name: str) -> None:
    check_plan(problem, plan)
    with pytest.raises(PlanFaultError, match="the planner made a mistake"):
        check_plan(problem, TAMPERINGS[name](plan))


def test_misfit_tells_a_plan_for_another_score(
    problem: Problem, plan: Plan, make_problem: MakeProblem
) -> None:
    assert misfit(problem, plan) == ""
    assert misfit(make_problem(8, 71, abreast=3), plan) != ""


def test_terms_are_known_by_name_and_add_up(problem: Problem, plan: Plan) -> None:
    rows = report_rows(plan, problem.weights)
    assert tuple(row.term for row in rows) == TERMS == tuple(plan.solver.terms)
    assert sum(row.cost for row in rows) == plan.solver.objective
    assert {row.term: row.points for row in rows} == evaluate(problem, plan)


def test_turns_say_where_and_how(problem: Problem, plan: Plan) -> None:
    pages = {m: p.number for p in plan.pages for s in p.systems for m in range(s.first, s.last + 1)}
    spread = {number: index for index, numbers in enumerate(plan.spreads) for number in numbers}
    expected = {
        (step.from_index, step.to_index)
        for step in problem.steps
        if spread[pages[step.from_index]] != spread[pages[step.to_index]]
    }
    listed = [*plan.turns, *plan.back_turns]
    assert {(turn.after, turn.to) for turn in listed} == expected
    for turn in listed:
        assert (turn.after_bar, turn.to_bar) == (str(turn.after + 1), str(turn.to + 1))
        assert turn.leaves == abs(spread[turn.from_page] - spread[turn.to_page])
    assert all(turn.to <= turn.after for turn in plan.back_turns)
    assert all(turn.to > turn.after for turn in plan.turns)


def test_a_jump_over_several_leaves_costs_each_once(
    make_problem: MakeProblem, make_step: Callable[..., object]
) -> None:
    """A da capo over two leaves: its price, the jump, and one further leaf."""
    problem = make_problem(2, 80)
    steps = (*(make_step(i, i + 1, 0) for i in range(79)), make_step(79, 0, 300, extra=70, jump=100))
    plan = solve(replace(problem, steps=steps))
    (back,) = plan.back_turns
    assert back.leaves == len(plan.spreads) - 1 >= 2
    assert back.cost == 300 + 100 + 70 * (back.leaves - 1)
    assert plan.solver.terms["back-turns"] == 100 * back.cost
    assert plan.solver.terms["turns"] == 100 * o.TURN_HANDLING * (len(plan.spreads) - 1)


def test_a_side_stays_blank_when_that_is_the_least_ugly(make_problem: MakeProblem) -> None:
    """Two systems between two demanded turns: one page and a blank side rather than a system on each."""
    turns = [Demand(f"--turn-after {bar}", Kind.TURN, bar, bar) for bar in (26, 32)]
    problem = make_problem(3, 60, sizes=(6.5,))
    assert not any(page.blank for page in solve(problem).pages)
    plan = solve(problem.with_demands(turns))
    (blank,) = [page.number for page in plan.pages if page.blank]
    assert [spread[1] for spread in plan.spreads if blank in spread] == [blank]
    assert plan.pages[blank - plan.pages[0].number - 1].systems[0].first == 26


def test_json_round_trip(plan: Plan) -> None:
    key = Key(-3, "minor", found=True)
    score = Score("f", "ab", "Title", "", "Composer", "", "", key, (), (), (), (), (), "default")
    text = to_json(plan, score, {"parts": ["P1"], "kind": "keyboard"}, Settings())
    assert from_json(text) == plan
    reason = BlankReason("12", Grade.OPEN, "9", Grade.TIGHT, 40)
    blank = replace(plan, pages=(*plan.pages[:-1], replace(plan.pages[-1], why="left blank", reason=reason)))
    assert from_json(to_json(blank, score, {}, Settings())) == blank
    assert text == to_json(from_json(text), score, {"parts": ["P1"], "kind": "keyboard"}, Settings())
    document = json.loads(text)
    assert document["schema"] == "quietleaf-plan/1"
    assert list(document) == [
        "schema", "score", "player", "paper", "desk", "binding", "pattern", "outside_title", "staff_mm", "settings",
        "solver", "pages", "spreads", "turns", "back_turns", "strips",
    ]  # fmt: skip
    assert (document["score"]["key"], document["score"]["key_by_analysis"]) == ("C minor", True)
    assert document["spreads"][0] == {"pages": list(plan.spreads[0])}
    assert document["pages"][0]["systems"][0].keys() == {"first", "last"}
    assert {
        "from_page",
        "to_page",
        "after",
        "after_bar",
        "grade",
        "cost",
        "hand",
        "free_s",
        "carry",
        "passes",
        "why",
    } < (document["turns"][0].keys())


@pytest.mark.parametrize(
    "text", ["", "[]", "{}", '{"schema": "quietleaf-plan/2"}', '{"schema": "quietleaf-plan/1"}']
)
def test_json_that_is_no_plan(text: str) -> None:
    with pytest.raises(UsageError, match=r"plan\.json: "):
        from_json(text)


def test_the_same_problem_gives_the_same_plan(problem: Problem, plan: Plan) -> None:
    again = solve(problem)
    assert replace(again, solver=replace(again.solver, seconds=0.0)) == replace(
        plan, solver=replace(plan.solver, seconds=0.0)
    )


def test_greedy_fills_pages_and_is_never_better(problem: Problem, plan: Plan) -> None:
    greedy = greedy_plan(problem, plan.staff_mm)
    assert list(complaints(problem, greedy)) == []
    assert [len(spread) for spread in greedy.spreads] == [3, 2]
    cost = sum(points * problem.weights[term] for term, points in evaluate(problem, greedy).items())
    assert cost >= plan.solver.objective
    assert sum(turn.cost for turn in greedy.turns) >= sum(turn.cost for turn in plan.turns)


def test_greedy_meets_hard_turns_that_the_plan_avoids(make_problem: MakeProblem) -> None:
    costs = {"planned": 0, "greedy": 0}
    for seed in range(4):
        problem = make_problem(seed, 60, sizes=(6.0,), words=True)
        costs["planned"] += sum(turn.cost for turn in solve(problem).turns)
        costs["greedy"] += sum(turn.cost for turn in greedy_plan(problem, 6.0).turns)
    assert costs["planned"] < costs["greedy"] / 3


def _drawn(problem: Problem, first: int, last: int, higher_sp: float) -> EngravedSystem:
    """A system that came out higher than predicted, at its foot."""
    bars = problem.bars[first : last + 1]
    gaps = sum(max(bar.gaps[k] for bar in bars) for k in range(problem.staves - 1))
    above, below = max(bar.above for bar in bars) / MSP_PER_SP, max(bar.below for bar in bars) / MSP_PER_SP
    staves_sp = 4.0 * problem.staves + gaps / MSP_PER_SP
    return EngravedSystem(first, last, above, below + higher_sp, staves_sp, 0.0, 100.0, ())


def test_real_heights_fed_back_change_the_plan_until_it_fits(problem: Problem, plan: Plan) -> None:
    page = max(plan.pages, key=lambda page: len(page.systems))
    taught = problem.with_measured_heights([_drawn(problem, s.first, s.last, 8.0) for s in page.systems])
    with pytest.raises(PlanFaultError, match=f"page {page.number} overflows"):
        check_plan(taught, plan)
    assert page.systems not in [other.systems for other in solve(taught).pages]


def _as_drawn(problem: Problem, plan: Plan, higher_sp: float) -> list[EngravedSystem]:
    """All systems of a plan, each this much higher than predicted."""
    return [_drawn(problem, s.first, s.last, higher_sp) for page in plan.pages for s in page.systems]


def test_a_plan_that_needed_rounds_fits_as_drawn(problem: Problem, plan: Plan) -> None:
    """As `pipeline` plans and prints: rounds until it fits; later only the plan's own systems are known."""
    taught, rounds = problem, 0
    while True:
        final = solve(taught)
        measured = taught.with_measured_heights(_as_drawn(problem, final, 3.0))
        if not misfit(measured, final):
            break
        taught, rounds = measured, rounds + 1
    assert rounds > 0
    assert misfit(problem.with_measured_heights(_as_drawn(problem, final, 3.0)), final) == ""


def test_misfit_lets_gaps_give_way_as_the_printer_does(problem: Problem, plan: Plan) -> None:
    """Systems a little higher than predicted: too high for the planner's gap of 2 spaces, not for the printer's 1.4."""
    heights = [
        (problem.with_measured_heights(_as_drawn(problem, plan, tenths / 10)), tenths) for tenths in range(60)
    ]
    planner = [tenths for taught, tenths in heights if any(complaints(taught, plan))]
    printer = [tenths for taught, tenths in heights if misfit(taught, plan)]
    assert printer == list(range(printer[0], 60))
    assert planner[0] < printer[0] <= planner[0] + 6 + 1  # 0.6 spaces for each gap; a page has one gap less


def test_heights_as_predicted_change_nothing(problem: Problem, plan: Plan) -> None:
    systems = [system for page in plan.pages for system in page.systems]
    taught = problem.with_measured_heights([_drawn(problem, s.first, s.last, 0.0) for s in systems])
    assert solve(taught).solver.objective == plan.solver.objective


def test_spans_fill_the_line_but_for_the_last_system(problem: Problem, plan: Plan) -> None:
    spans = system_spans(problem, plan)
    full_sp = problem.geometry.music_width_mm * 4 / plan.staff_mm
    assert [span.width_sp for span in spans[:-1]] == pytest.approx([full_sp] * (len(spans) - 1))
    assert spans[-1].width_sp <= full_sp + 1e-9


def _one_line(problem: Problem, last: int) -> Plan:
    """Measures 0..last as a system, the others as one each."""
    systems = [PlannedSystem(0, last), *(PlannedSystem(i, i) for i in range(last + 1, problem.measures))]
    pages = (PlannedPage(1, tuple(systems)),)
    return Plan(6.0, 2, "taped", "one page", pages, ((1,),), (), (), SolverReport("", 0, 0, 0.0, {}))


def _bars(problem: Problem, count: int, **changes: object) -> Problem:
    """The problem with `count` equal bars of 20 spaces."""
    bar = replace(problem.bars[0], width=20_000, prefix=10_000, **changes)
    return replace(problem, bars=(bar,) * count, indent=0, label=0)


def test_what_the_last_bar_adds_needs_room(make_problem: MakeProblem) -> None:
    """The line is 122 spaces wide: clef and key 10, five bars 100; 12 are left for words after the last one."""
    problem = make_problem(1, 5, sizes=(6.0,))
    assert problem.box(6.0).width == pytest.approx(122_667, abs=2)
    for suffix, fits in ((0, True), (12_000, True), (13_000, True), (30_000, False)):
        bars = _bars(problem, 6, suffix=suffix)
        squeezed = any("squeezed" in words for words in complaints(bars, _one_line(bars, 4)))
        assert squeezed != fits
        assert bool(system_table(bars, 6.0).legal[0, 4]) == fits


def test_a_last_system_is_as_wide_as_its_words_need(make_problem: MakeProblem) -> None:
    problem = _bars(make_problem(1, 2, sizes=(6.0,)), 2, suffix=15_000)
    (span,) = system_spans(problem, solve(problem))
    assert span.width_sp == pytest.approx(10 + 2 * 20 + 15)


@pytest.mark.parametrize("suffix", [93_000, 500_000])
def test_words_wider_than_the_page_make_no_system_impossible(make_problem: MakeProblem, suffix: int) -> None:
    """They count as far as there is room beside their bar; the rest of them sticks out."""
    problem = _bars(make_problem(1, 4, sizes=(6.0,)), 4, suffix=suffix)
    assert problem.suffix(3, problem.box(6.0).width) == problem.box(6.0).width - 10_000 - 20_000
    plan = solve(problem)
    assert [(s.first, s.last) for page in plan.pages for s in page.systems] == [(i, i) for i in range(4)]


def test_sung_words_are_not_squeezed(make_problem: MakeProblem) -> None:
    """Five bars of 23.5 spaces need 117.5 of 112.67: 4 % narrower, which notes bear and words do not."""
    problem = _bars(make_problem(1, 6, sizes=(6.0,)), 6)
    plain = replace(problem, bars=tuple(replace(bar, width=23_500) for bar in problem.bars))
    sung = replace(plain, bars=(*plain.bars[:2], replace(plain.bars[2], sung=True), *plain.bars[3:]))
    for bars, legal in ((plain, True), (sung, False)):
        assert bool(system_table(bars, 6.0).legal[0, 4]) == legal
        assert any("squeezed" in words for words in complaints(bars, _one_line(bars, 4))) != legal
    assert bool(system_table(sung, 6.0).legal[0, 3])
    greedy = greedy_plan(plain, 6.0)
    assert greedy.pages[0].systems[0].last == 3  # natural width only


def test_a_page_after_page_with_white_costs_and_a_near_empty_one_costs_much_more() -> None:
    """Points by height taken, of 100: less than half full is dearer than three pages with three tenths of white."""
    points = fill_points(100, is_first=False, is_last=False, ends_movement=False)
    assert points[90] == 0 < points[80] < points[70] < points[45] < points[20]
    assert points[45] > 3 * points[70] > 90
    assert points[45] < 400 < points[20]  # a tight turn costs some 400


def test_a_short_last_page_is_evened_out_with_the_one_before() -> None:
    """Thirteen systems of a tenth of a page: not ten and three, nor evenly at any price."""
    full = fill_points(100, is_first=False, is_last=False, ends_movement=False)
    last = fill_points(100, is_first=False, is_last=True, ends_movement=False)
    costs = {left: int(full[130 - 10 * left] + last[10 * left]) for left in range(3, 8)}
    assert min(costs, key=costs.__getitem__) in (4, 5)
    assert costs[3] > 4 * costs[5]
    assert last[50] == 0 < last[40] < last[10] < 160  # less than a turn with a page of its own
    assert not fill_points(100, is_first=True, is_last=True, ends_movement=False)[:90].any()


def test_a_movement_does_not_end_with_a_lonely_system() -> None:
    """Two pages, eight systems of a tenth of a page: none of the last of them stands alone where a spread ends."""
    within = fill_points(100, is_first=False, is_last=False, ends_movement=False)
    ending = fill_points(100, is_first=False, is_last=False, ends_movement=True)
    costs = {alone: int(within[80 - 10 * alone] + ending[10 * alone]) for alone in range(1, 5)}
    assert min(costs, key=costs.__getitem__) > 1
    assert ending[10] > ending[20] + 80  # more than by the white alone


def test_a_movement_starts_a_system_and_its_title_needs_room(make_problem: MakeProblem) -> None:
    problem = make_problem(6, 30, sizes=(6.0,), movement_starts=(13,), titled=(13,))
    plan = solve(problem)
    assert 13 in {s.first for page in plan.pages for s in page.systems}
    assert problem.head(13, 6.0) == pytest.approx(9.0 * 4 / 6 * 1000)  # MOVEMENT_TITLE_MM in millispaces
    assert problem.head(12, 6.0) == 0
