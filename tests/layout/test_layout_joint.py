"""Plans made together: no set of plans is cheaper than the joint one. All layouts of tiny ensembles; an independent
MILP; limits recomputed here from the plans alone."""

import itertools
import os
import random
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace
from functools import partial

import numpy as np
import pytest
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import lil_array

from optimizer import parallel
from optimizer.errors import NoLayoutError
from optimizer.layout import check_plan, evaluate, joint, solve
from optimizer.layout.demands import Demand, Kind
from optimizer.layout.joint import BROKEN, Joint, Limit, solve_together
from optimizer.layout.objective import weighted
from optimizer.layout.pages import NEVER
from optimizer.layout.patterns import Shape
from optimizer.layout.plan import Plan
from optimizer.layout.problem import Problem
from optimizer.layout.solve import bounds_at

MakeProblem = Callable[..., Problem]
EveryLayout = Callable[[Problem], Iterator[tuple[tuple[Shape, ...], Plan]]]
Turns = frozenset[int]


def cost_of(problem: Problem, plan: Plan) -> int:
    """All terms of a plan by check.py, weighted."""
    return sum(weighted(evaluate(problem, plan), problem.weights).values())


def turns_of(plan: Plan) -> frozenset[int]:
    """The first measures of all spreads but the first."""
    pages = {page.number: page for page in plan.pages}
    return frozenset(pages[numbers[0]].systems[0].first for numbers in plan.spreads[1:])


def price(limits: Sequence[Limit], turns: Sequence[Turns]) -> int:
    """What limits cost: the definition, once more."""
    total = 0
    for limit in limits:
        weight = 0
        for member, own in enumerate(turns):
            weights = [w for (m, at), w in limit.turns.items() if m == member and at in own]
            weights += [
                w
                for (m, first, last), w in limit.spans.items()
                if m == member and own & set(range(first, last + 1))
            ]
            weight += max(weights, default=0)
        total += limit.cost * max(0, weight - limit.free)
        if limit.most is not None:
            total += BROKEN * max(0, weight - limit.most)
    return total


def some_limits(seed: int, members: int, measures: int, hard: bool) -> list[Limit]:
    """Moments of two bars each, of some members, and one at which some turn back."""
    dice = random.Random(f"limits {seed}")
    found = []
    for at in range(1, measures - 1):
        turns = {
            (member, p): dice.choice([1, 1, 2])
            for member in range(members)
            for p in (at, at + 1)
            if dice.random() < 0.8
        }
        most = members - 1 if hard and dice.random() < 0.5 else None
        found.append(
            Limit(dice.choice(["all", "family"]), turns, 1, dice.choice([0, 3_000, 20_000, 60_000]), most)
        )
    spans = {(member, 1, measures // 2): 1 for member in range(members)}
    return [*found, Limit("back", {}, 1, 10_000, spans=spans)]


def check_report(problems: Sequence[Problem], limits: Sequence[Limit], found: Joint) -> None:
    """Each plan is legal and costs what it says; the sums of the report are right."""
    for problem, plan in zip(problems, found.plans, strict=True):
        check_plan(problem, plan)
    turns, alone = list(map(turns_of, found.plans)), list(map(turns_of, found.apart))
    own = sum(map(cost_of, problems, found.plans))
    assert found.report.objective == own + price(limits, turns)
    assert found.report.own_apart == sum(solve(problem).solver.objective for problem in problems)
    assert found.report.own_apart == sum(map(cost_of, problems, found.apart))
    soft = [replace(limit, most=None) for limit in limits]
    assert sum(found.report.limits_together.values()) == price(soft, turns)
    assert sum(found.report.limits_apart.values()) == price(soft, alone)
    broken = price(limits, alone) > price(soft, alone)
    assert found.report.apart == (None if broken else found.report.own_apart + price(soft, alone))


def cheapest_by_turns(problem: Problem, every_layout: EveryLayout) -> Mapping[Turns, int]:
    """Of all layouts the least cost for each choice of turns."""
    found: dict[Turns, int] = {}
    for _, plan in every_layout(problem):
        cost, turns = cost_of(problem, plan), turns_of(plan)
        found[turns] = min(cost, found.get(turns, cost))
    return found


@pytest.mark.parametrize(
    ("seed", "members", "hard", "changes"),
    [
        (1, 2, False, {"binding": "loose"}),
        (2, 3, True, {"jumps": [(4, 1)]}),
        (3, 2, True, {"sizes": (5.5, 4.5)}),
        (4, 2, True, {"binding": "stapled"}),
        (5, 3, True, {"binding": "loose", "demands": (Demand("--max-pages 6", Kind.MAX_PAGES, 6),)}),
    ],
)
def test_no_plans_of_a_tiny_ensemble_are_cheaper(
    make_problem: MakeProblem,
    every_layout: EveryLayout,
    seed: int,
    members: int,
    hard: bool,
    changes: dict,
) -> None:
    settings = {"measures": 6, "height_mm": 110.0, "width_mm": 130.0, "sizes": (5.5,), **changes}
    problems = [make_problem(10 * seed + member, **settings) for member in range(members)]
    each = [cheapest_by_turns(problem, every_layout) for problem in problems]
    for variant in range(4):
        limits = some_limits(10 * seed + variant, members, 6, hard)
        least = min(
            sum(cost for _, cost in chosen) + price(limits, [turns for turns, _ in chosen])
            for chosen in itertools.product(*(one.items() for one in each))
        )
        found = solve_together(problems, limits)
        assert found.report.status == "optimal"
        assert found.report.objective == found.report.bound == least
        check_report(problems, limits, found)


def _milp_objective(problems: Sequence[Problem], limits: Sequence[Limit]) -> int:
    """The optimum of all parts, solved by HiGHS: a flow of all spreads for each, turns as sums of them, and what is too
    much at each moment. One staff size, paper in single sides, no limit on pages, no spans."""
    arcs: list[tuple[int, int, int, int]] = []  # member, from, to, cost
    for member, problem in enumerate(problems):
        table, n = bounds_at(problem, problem.staff_sizes_mm[0]).table, problem.measures
        arcs += [(member, 0, n, cost) for cost in table.whole.values() if cost < NEVER]
        for costs in table.first.values():
            arcs += [(member, 0, b, int(costs[b])) for b in range(1, n) if costs[b] < NEVER]
        for matrix in table.middle.values():
            arcs += [(member, int(a), int(b), int(matrix[a, b])) for a, b in np.argwhere(matrix < NEVER)]
        for costs in table.last.values():
            arcs += [(member, a, n, int(costs[a])) for a in range(1, n) if costs[a] < NEVER]
    counts = [(at, member) for at in range(len(limits)) for member in range(len(problems))]
    # Columns: spreads; how much too much there is at each moment; what each member counts there.
    columns = [arc[3] for arc in arcs] + [limit.cost for limit in limits] + [0] * len(counts)
    count_of = {key: len(arcs) + len(limits) + column for column, key in enumerate(counts)}
    rows: list[tuple[dict[int, int], float, float]] = []  # coefficients, least, most
    for member, problem in enumerate(problems):
        for at in range(problem.measures + 1):
            flow = {
                c: (a == at) - (b == at)
                for c, (m, a, b, _) in enumerate(arcs)
                if m == member and at in (a, b)
            }
            balance = (at == 0) - (at == problem.measures)
            rows.append((flow, balance, balance))
    for at, limit in enumerate(limits):
        for (member, position), weight in limit.turns.items():
            turned = {c: -weight for c, (m, a, _, _) in enumerate(arcs) if (m, a) == (member, position)}
            rows.append(({**turned, count_of[at, member]: 1}, 0, np.inf))
        all_count = {count_of[at, member]: 1 for member in range(len(problems))}
        rows.append(({**all_count, len(arcs) + at: -1}, -np.inf, limit.free))
        rows.append((all_count, -np.inf, np.inf if limit.most is None else limit.most))
    matrix = lil_array((len(rows), len(columns)))
    for row, (coefficients, _, _) in enumerate(rows):
        for column, coefficient in coefficients.items():
            matrix[row, column] = coefficient
    integral = [1] * len(arcs) + [0] * (len(columns) - len(arcs))
    most = [1.0] * len(arcs) + [np.inf] * (len(columns) - len(arcs))
    within = LinearConstraint(matrix.tocsr(), [row[1] for row in rows], [row[2] for row in rows])
    result = milp(columns, constraints=within, integrality=integral, bounds=Bounds(0, most))
    assert result.success
    return round(result.fun)


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_independent_milp_finds_the_same_objective(make_problem: MakeProblem, seed: int) -> None:
    problems = [
        make_problem(20 * seed + m, 30, height_mm=150.0, width_mm=150.0, jumps=[(20, 4)]) for m in range(3)
    ]
    limits = some_limits(seed, 3, 30, hard=True)[:-1]
    found = solve_together(problems, limits)
    assert found.report.status == "optimal"
    assert found.report.objective == found.report.bound == _milp_objective(problems, limits)
    check_report(problems, limits, found)


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_without_limits_parts_are_planned_as_alone(make_problem: MakeProblem, seed: int) -> None:
    problems = [make_problem(seed + m, 40, sizes=(7.0, 6.5), binding="loose") for m in range(2)]
    found = solve_together(problems, [])
    for plan, alone, problem in zip(found.plans, found.apart, problems, strict=True):
        assert replace(plan.solver, seconds=0.0) == replace(solve(problem).solver, seconds=0.0)
        assert plan is alone
        assert (plan.pages, plan.turns) == (solve(problem).pages, solve(problem).turns)


def everyone_at(measures: int, members: int) -> list[Limit]:
    """Never all of them at the same bar."""
    return [
        Limit("all", {(member, at): 1 for member in range(members)}, members, 0, members - 1)
        for at in range(1, measures)
    ]


def test_what_is_never_to_be_broken_is_not(make_problem: MakeProblem) -> None:
    """Copies of one part turn at the same bars when each is planned alone."""
    problems = [make_problem(4, 60, binding="loose")] * 3
    limits = everyone_at(60, 3)
    found = solve_together(problems, limits)
    alone, together = ([turns_of(plan) for plan in plans] for plans in (found.apart, found.plans))
    assert frozenset.intersection(*alone)
    assert found.report.apart is None
    assert not frozenset.intersection(*together)
    assert found.report.broken == ()
    assert found.report.status == "optimal"


def test_what_cannot_be_kept_is_paid_for_and_told(make_problem: MakeProblem) -> None:
    """All must turn after bar 4 because the user says so."""
    demands = (Demand("--turn-after 4", Kind.TURN, 4, 4),)
    problems = [make_problem(m, 8, binding="loose", demands=demands) for m in range(2)]
    found = solve_together(problems, everyone_at(8, 2))
    assert found.report.broken == ("all",)
    assert found.report.status == "optimal"
    assert found.report.objective == sum(map(cost_of, problems, found.plans)) + BROKEN


def test_demands_that_contradict_name_the_part(make_problem: MakeProblem) -> None:
    both = (Demand("--turn-after 4", Kind.TURN, 4, 4), Demand("--no-turn-after 4", Kind.NO_TURN, 4, 4))
    problems = [make_problem(1, 8), make_problem(2, 8, demands=both)]
    with pytest.raises(
        NoLayoutError, match=r"^Viola: --turn-after 4 contradicts .*; relax one of: --turn-after 4"
    ):
        solve_together(problems, [], names=["Violin", "Viola"])
    with pytest.raises(NoLayoutError, match=r"^part 2: "):
        solve_together(problems, [])


def _told(found: Joint) -> tuple[object, ...]:
    """A joint plan without its seconds."""
    solvers = [replace(plan.solver, seconds=0.0) for plan in found.plans]
    plans = [replace(plan, solver=solver) for plan, solver in zip(found.plans, solvers, strict=True)]
    return plans, replace(found.report, seconds=0.0)


def test_the_same_parts_give_the_same_plans(make_problem: MakeProblem) -> None:
    problems = [make_problem(m, 50, binding="loose", sizes=(7.0, 6.5)) for m in range(3)]
    limits = some_limits(7, 3, 50, hard=True)
    first = solve_together(problems, limits)
    assert _told(solve_together(problems, limits)) == _told(first)
    assert _told(solve_together(problems, limits, before=first)) == _told(first)


def test_a_second_process_changes_nothing(make_problem: MakeProblem, monkeypatch: pytest.MonkeyPatch) -> None:
    problems = [make_problem(seed, joint.WORTH_A_PROCESS // 3 + 1) for seed in (1, 2, 3)]
    limits = some_limits(4, 3, problems[0].measures, hard=True)
    plans, pools = [], []
    here: list[int] = []

    def counted(
        asked: Sequence[tuple[Problem, str]], looked: Callable[..., list[joint.Pool]]
    ) -> list[joint.Pool]:
        here.append(len(asked))
        return looked(asked)

    monkeypatch.setattr(joint, "_pools_of", partial(counted, looked=joint._pools_of))
    for forks in (True, False):
        monkeypatch.setattr(parallel, "can_fork", lambda forks=forks: forks and hasattr(os, "fork"))
        found = solve_together(problems, limits)
        plans.append([replace(plan, solver=replace(plan.solver, seconds=0.0)) for plan in found.plans])
        pools.append([(pool.least, pool.slack, pool.path, pool.arcs) for pool in found.pools])
        assert [pool.problem for pool in found.pools] == problems
        assert all(pool.problem is problem for pool, problem in zip(found.pools, problems, strict=True))
        assert here == ([] if forks and hasattr(os, "fork") else [1])
    assert plans[0] == plans[1]
    assert pools[0] == pools[1]


def test_without_time_or_room_the_best_so_far_comes_with_an_honest_bound(
    make_problem: MakeProblem, monkeypatch: pytest.MonkeyPatch
) -> None:
    problems = [make_problem(m, 50, binding="loose", sizes=(7.0, 6.5)) for m in range(3)]
    limits = some_limits(7, 3, 50, hard=True)
    best = solve_together(problems, limits).report
    assert best.objective > best.own_apart  # the limits matter here
    hurried = [solve_together(problems, limits, time_limit_s=limit_s) for limit_s in (0.0, 0.001, 0.02)]
    for found in hurried:
        check_report(problems, limits, found)
    monkeypatch.setattr(joint, "MOST_ARCS", 0)
    cramped = solve_together(problems, limits)
    check_report(problems, limits, cramped)
    assert cramped.report.status == "feasible"
    for report in (cramped.report, *(found.report for found in hurried)):
        assert report.bound <= best.objective <= report.objective
