"""The difference of two plans: nothing is left out, nothing made up."""

from collections import Counter
from dataclasses import replace
from pathlib import Path

import pytest

from optimizer.compare.difference import Difference, difference
from optimizer.errors import NoLayoutError
from optimizer.layout import Plan, Problem, solve
from optimizer.layout.demands import Demand, Kind
from optimizer.layout.plan import PlannedBackTurn, PlannedPage, PlannedSystem, PlannedTurn, SolverReport
from optimizer.pipeline import open_job
from optimizer.settings import TERMS, Settings, parse_paper
from optimizer.turns.model import Grade


@pytest.fixture(scope="module")
def problem(corpora: Path) -> Problem:
    """A short piano piece on small pages, so that there are turns."""
    settings = Settings(staff_mm=6.5, paper=parse_paper("150x200mm"))
    return open_job(corpora / "nets-on-the-quay.musicxml", settings).problem


@pytest.fixture(scope="module")
def plan(problem: Problem) -> Plan:
    return solve(problem)


@pytest.fixture(scope="module")
def others(problem: Problem) -> list[Plan]:
    """Plans with a turn demanded, or forbidden, after every third bar."""
    found = []
    for position in range(1, problem.measures, 3):
        for kind in (Kind.TURN, Kind.NO_TURN):
            try:
                found.append(solve(problem.with_demands([Demand("x", kind, position, position)])))
            except NoLayoutError:
                continue
    return found


def test_a_plan_does_not_differ_from_itself(plan: Plan) -> None:
    again = difference(plan, replace(plan, solver=replace(plan.solver, seconds=9.0)))
    assert again.is_nothing
    assert again.cost == 0
    assert all(term.more == 0 for term in again.terms)


def test_terms_add_up_to_the_cost(plan: Plan, others: list[Plan]) -> None:
    assert len(others) > 20
    for other in others:
        change = difference(plan, other)
        assert tuple(term.term for term in change.terms) == TERMS
        assert sum(term.more for term in change.terms) == change.cost
        assert change.cost == other.solver.objective - plan.solver.objective


def test_what_goes_and_comes_makes_the_other_plan(plan: Plan, others: list[Plan]) -> None:
    for other in others:
        change = difference(plan, other)
        before, after = (Counter(page.systems for page in each.pages) for each in (plan, other))
        gone, new = (
            Counter(page.systems for page in pages) for pages in (change.pages_gone, change.pages_new)
        )
        assert before - gone + new == after
        systems = [{s for page in each.pages for s in page.systems} for each in (plan, other)]
        assert (systems[0] - {*change.systems_gone}) | {*change.systems_new} == systems[1]
        ways = [{(t.after, t.to) for t in (*each.turns, *each.back_turns)} for each in (plan, other)]
        assert {(t.after, t.to) for t in change.turns_gone} == ways[0] - ways[1]
        assert {(t.after, t.to) for t in change.turns_new} == ways[1] - ways[0]


def test_the_way_back_is_the_mirror_image(plan: Plan, others: list[Plan]) -> None:
    def mirrored(change: Difference) -> tuple[object, ...]:
        return (
            change.pages_new, change.pages_gone, change.systems_new, change.systems_gone, change.spreads_new,
            change.spreads_gone, change.turns_new, change.turns_gone, -change.cost,
        )  # fmt: skip

    for other in others:
        there, back = difference(plan, other), difference(other, plan)
        assert mirrored(there) == (
            back.pages_gone, back.pages_new, back.systems_gone, back.systems_new, back.spreads_gone,
            back.spreads_new, back.turns_gone, back.turns_new, back.cost,
        )  # fmt: skip
        assert there.is_nothing == back.is_nothing


# --- by hand ---------------------------------------------------------------------------------------


def _turn(after: int, grade: Grade = Grade.OPEN, leaves: int = 1) -> PlannedTurn:
    to = after + 1
    return PlannedTurn(
        1, 2, after, str(after + 1), to, str(to + 1), grade, 0, "left", 0.0, 3.0, 0, 1, leaves, "why"
    )


def _plan(bars: list[int], spreads: tuple[tuple[int, ...], ...], turns: tuple[PlannedTurn, ...]) -> Plan:
    """Pages that start with these bars, one system each, to bar 40; an equal start makes the page before it blank."""
    ends = [*bars[1:], 40]
    pages = tuple(
        PlannedPage(number, () if first == end else (PlannedSystem(first, end - 1),), first == end)
        for number, (first, end) in enumerate(zip(bars, ends, strict=True), 2)
    )
    solver = SolverReport("optimal", 0, 0, 0.0, dict.fromkeys(TERMS, 0))
    return Plan(6.5, 2, "taped", "2s", pages, spreads, turns, (), solver)


def test_a_moved_page_break_changes_the_pages_beside_it() -> None:
    before = _plan([0, 10, 20, 30], ((2, 3), (4, 5)), (_turn(19),))
    after = _plan([0, 10, 22, 30], ((2, 3), (4, 5)), (_turn(21),))
    change = difference(before, after)
    assert [page.number for page in change.pages_gone] == [3, 4]
    assert [page.systems[0].first for page in change.pages_new] == [10, 22]
    assert (change.spreads_gone, change.spreads_new) == (((2, 3), (4, 5)), ((2, 3), (4, 5)))
    assert [turn.after for turn in change.turns_gone] == [19]
    assert [turn.after for turn in change.turns_new] == [21]
    assert change.turns_regraded == ()


def test_a_blank_side_is_known_by_what_it_follows() -> None:
    before = _plan([0, 10, 20, 30], ((2, 3), (4, 5)), (_turn(19),))
    blank = _plan([0, 10, 10, 20, 30], ((2, 3), (4, 5), (6,)), (_turn(9), _turn(29)))
    change = difference(before, blank)
    assert [page.number for page in change.pages_new if page.blank] == [3]
    assert change.pages_gone == ()
    assert difference(blank, blank).is_nothing


def test_a_turn_between_the_same_bars_that_is_harder_is_told() -> None:
    pages = [0, 10, 20, 30], ((2, 3), (4, 5))
    before, after = _plan(*pages, (_turn(19),)), _plan(*pages, (_turn(19, Grade.TIGHT),))
    (regraded,) = difference(before, after).turns_regraded
    assert (regraded.before.grade, regraded.after.grade) == (Grade.OPEN, Grade.TIGHT)
    assert not difference(before, after).is_nothing


def test_a_repeat_that_crosses_a_new_turn_is_a_new_turn_back() -> None:
    back = PlannedBackTurn(4, 3, 25, "26", 15, "16", 1, 300, Grade.TIGHT, "left", 0.9, 1, "why")
    before = _plan([0, 10, 28, 30], ((2, 3), (4, 5)), (_turn(27),))
    after = replace(_plan([0, 10, 20, 30], ((2, 3), (4, 5)), (_turn(19),)), back_turns=(back,))
    change = difference(before, after)
    assert change.turns_new == (_turn(19), back)
    assert change.turns_gone == (_turn(27),)


def test_another_staff_size_is_a_difference() -> None:
    before = _plan([0, 10, 20, 30], ((2, 3), (4, 5)), (_turn(19),))
    change = difference(before, replace(before, staff_mm=6.4))
    assert not change.is_nothing
    assert change.pages_gone == change.pages_new == ()
