"""What holds for every generated score (hypothesis): order, heights, demands, weights, honest
explanations."""

from collections.abc import Callable
from dataclasses import replace

import pytest
from hypothesis import HealthCheck, assume, example, given, settings
from hypothesis import strategies as st

from optimizer.errors import NoLayoutError
from optimizer.layout import evaluate, greedy_plan, solve
from optimizer.layout.demands import Demand, Kind
from optimizer.layout.geometry import SystemExtent, stack_height_mm
from optimizer.layout.plan import Plan
from optimizer.layout.problem import MSP_PER_SP, Problem
from optimizer.layout.solve import has_layout
from optimizer.layout.systems import system_spans
from optimizer.settings import BINDINGS, TERMS

MakeProblem = Callable[..., Problem]
quick = settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow])


@st.composite
def layouts(draw: st.DrawFn) -> dict[str, object]:
    """Arguments of make_problem."""
    measures = draw(st.integers(1, 45))
    places = st.integers(0, measures - 1)
    jumps = draw(st.lists(st.tuples(places, places).filter(lambda jump: jump[1] != jump[0] + 1), max_size=3))
    return {
        "seed": draw(st.integers(0, 10_000)),
        "measures": measures,
        "staves": draw(st.integers(1, 4)),
        "abreast": draw(st.integers(2, 4)),
        "binding": draw(st.sampled_from(BINDINGS)),
        "words": draw(st.booleans()),
        "sizes": draw(st.sampled_from([(5.5,), (6.5, 5.0)])),
        "jumps": list(dict.fromkeys(jumps)),
        "movement_starts": tuple(sorted(draw(st.sets(st.integers(1, max(1, measures - 1)), max_size=2))))
        if measures > 1
        else (),
    }


def heights_mm(problem: Problem, plan: Plan) -> list[tuple[float, float]]:
    """Least height and room of each page, by geometry.py from the bars themselves."""
    pages = []
    for page in plan.pages:
        extents = []
        for system in page.systems:
            bars = problem.bars[system.first : system.last + 1]
            gaps = [max(bar.gaps[k] for bar in bars) for k in range(problem.staves - 1)]
            staves_sp = 4 * problem.staves + sum(gaps) / MSP_PER_SP
            above, below = max(bar.above for bar in bars), max(bar.below for bar in bars)
            extents.append(SystemExtent(above / MSP_PER_SP, staves_sp, below / MSP_PER_SP))
        first = bool(page.systems) and page.systems[0].first == 0
        least_mm = stack_height_mm(extents, plan.staff_mm, problem.geometry.gap_sp)
        pages.append((least_mm, problem.geometry.music_height_mm(first)))
    return pages


@quick
@given(layouts())
@example({"seed": 0, "measures": 1})
def test_each_measure_once_in_order_and_no_page_overflows(make_problem: MakeProblem, given: dict) -> None:
    problem = make_problem(**given)
    for plan in (solve(problem), greedy_plan(problem, problem.staff_sizes_mm[-1])):
        systems = [system for page in plan.pages for system in page.systems]
        assert [m for s in systems for m in range(s.first, s.last + 1)] == list(range(problem.measures))
        assert all(needed <= room + 1e-6 for needed, room in heights_mm(problem, plan))
        assert [page.number for page in plan.pages] == [n for spread in plan.spreads for n in spread]
        assert all(span.width_sp > 0 for span in system_spans(problem, plan))


@quick
@given(layouts(), st.sampled_from(TERMS), st.integers(101, 3000))
def test_raising_a_weight_never_raises_its_term(
    make_problem: MakeProblem, given: dict, term: str, percent: int
) -> None:
    problem = make_problem(**given)
    raised = replace(problem, weights={**problem.weights, term: percent})
    assert evaluate(raised, solve(raised))[term] <= evaluate(problem, solve(problem))[term]


@st.composite
def demands(draw: st.DrawFn, measures: int) -> tuple[Demand, ...]:
    """Some demands, which may contradict each other."""
    wishes = []
    for _ in range(draw(st.integers(0, 4))):
        kind = draw(st.sampled_from([Kind.TURN, Kind.NO_TURN, Kind.TOGETHER, Kind.PAGES, Kind.MAX_PAGES]))
        if kind in (Kind.PAGES, Kind.MAX_PAGES):
            low = high = draw(st.integers(1, 9))
        else:
            low = draw(st.integers(1, measures - 1))
            high = draw(st.integers(low, measures - 1)) if kind is Kind.TOGETHER else low
        if kind is Kind.PAGES or kind is Kind.MAX_PAGES:
            wishes = [wish for wish in wishes if wish.kind is not kind]
        wishes.append(Demand(f"{kind.value} {low}-{high}", kind, low, high))
    return tuple(dict.fromkeys(wishes))


def holds(demand: Demand, plan: Plan) -> bool:
    """Whether a plan meets a demand."""
    first = {page.number: page.systems[0].first for page in plan.pages if page.systems}
    turns = {first[spread[0]] for spread in plan.spreads[1:]}
    match demand.kind:
        case Kind.TURN:
            return demand.low in turns
        case Kind.PAGES:
            return len(plan.pages) + plan.outside_title == demand.low
        case Kind.MAX_PAGES:
            return len(plan.pages) + plan.outside_title <= demand.low
        case _:
            return not turns & set(range(demand.low, demand.high + 1))


@settings(max_examples=40, deadline=None)
@given(st.data())
def test_demands_hold_or_the_error_names_what_to_relax(
    make_problem: MakeProblem, data: st.DataObject
) -> None:
    given = data.draw(layouts())
    assume(given["measures"] >= 2)
    problem = make_problem(**given)
    problem = problem.with_demands(data.draw(demands(problem.measures)))
    if has_layout(problem):
        plan = solve(problem)
        assert all(holds(demand, plan) for demand in problem.demands)
        return
    with pytest.raises(NoLayoutError) as caught:
        solve(problem)
    assert caught.value.relax
    for words in caught.value.relax:
        dropped = set(words.split(" and "))
        left = [demand for demand in problem.demands if demand.option not in dropped]
        assert len(left) == len(problem.demands) - len(dropped)
        plan = solve(problem.with_demands(left))
        assert all(holds(demand, plan) for demand in left)


@pytest.mark.parametrize("term", TERMS)
def test_a_weight_of_zero_and_a_huge_one_are_solved(make_problem: MakeProblem, term: str) -> None:
    problem = make_problem(3, 30, abreast=3, sizes=(6.5, 5.0), jumps=[(20, 5)])
    low, high = (replace(problem, weights={**problem.weights, term: percent}) for percent in (0, 10_000))
    plans = solve(low), solve(high)
    assert [plan.solver.status for plan in plans] == ["optimal", "optimal"]
    assert evaluate(high, plans[1])[term] <= evaluate(low, plans[0])[term]
