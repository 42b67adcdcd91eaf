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
    report_rows,
    solve,
    system_spans,
    to_json,
)
from optimizer.layout import objective as o
from optimizer.layout.check import complaints
from optimizer.layout.demands import Demand, Kind
from optimizer.layout.plan import PlannedPage, PlannedSystem
from optimizer.layout.problem import MSP_PER_SP, Problem
from optimizer.score.model import Score
from optimizer.settings import TERMS, Settings

MakeProblem = Callable[..., Problem]


@pytest.fixture(scope="module")
def problem(make_problem: MakeProblem) -> Problem:
    return make_problem(8, 70, abreast=3, sizes=(6.5, 6.0), jumps=[(40, 12), (55, 60)])


@pytest.fixture(scope="module")
def plan(problem: Problem) -> Plan:
    return solve(problem)


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
    score = Score("f", "ab", "Title", "", "Composer", "", "", "C major", (), (), (), (), (), "default")
    text = to_json(plan, score, {"parts": ["P1"], "kind": "keyboard"}, Settings())
    assert from_json(text) == plan
    assert text == to_json(from_json(text), score, {"parts": ["P1"], "kind": "keyboard"}, Settings())
    document = json.loads(text)
    assert document["schema"] == "quietleaf-plan/1"
    assert list(document) == [
        "schema", "score", "player", "paper", "desk", "binding", "pattern", "staff_mm", "solver", "pages", "spreads",
        "turns", "back_turns",
    ]  # fmt: skip
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
    assert sum(turn.cost for turn in greedy.turns) > sum(turn.cost for turn in plan.turns)


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


def test_heights_as_predicted_change_nothing(problem: Problem, plan: Plan) -> None:
    systems = [system for page in plan.pages for system in page.systems]
    taught = problem.with_measured_heights([_drawn(problem, s.first, s.last, 0.0) for s in systems])
    assert solve(taught).solver.objective == plan.solver.objective


def test_spans_fill_the_line_but_for_the_last_system(problem: Problem, plan: Plan) -> None:
    spans = system_spans(problem, plan)
    full_sp = problem.geometry.music_width_mm * 4 / plan.staff_mm
    assert [span.width_sp for span in spans[:-1]] == pytest.approx([full_sp] * (len(spans) - 1))
    assert spans[-1].width_sp <= full_sp + 1e-9


def test_a_movement_starts_a_system_and_its_title_needs_room(make_problem: MakeProblem) -> None:
    problem = make_problem(6, 30, sizes=(6.0,), movement_starts=(13,), titled=(13,))
    plan = solve(problem)
    assert 13 in {s.first for page in plan.pages for s in page.systems}
    assert problem.head(13, 6.0) == pytest.approx(9.0 * 4 / 6 * 1000)  # MOVEMENT_TITLE_MM in millispaces
    assert problem.head(12, 6.0) == 0
