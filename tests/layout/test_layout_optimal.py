"""No layout is cheaper than the planned one: all layouts of small scores, an independent MILP, networkx."""

import itertools
from collections.abc import Callable, Iterator
from dataclasses import replace
from functools import cache

import networkx as nx
import numpy as np
import pytest
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import lil_array

from optimizer.layout import evaluate, solve
from optimizer.layout import objective as o
from optimizer.layout.check import complaints
from optimizer.layout.demands import Demand, Kind
from optimizer.layout.objective import weighted
from optimizer.layout.pages import NEVER, fill_points
from optimizer.layout.patterns import Shape
from optimizer.layout.plan import Plan, PlannedPage, PlannedSystem, SolverReport
from optimizer.layout.problem import Problem
from optimizer.layout.solve import candidates
from optimizer.layout.systems import system_table

MakeProblem = Callable[..., Problem]
EveryLayout = Callable[[Problem], Iterator[tuple[tuple[Shape, ...], Plan]]]
NO_REPORT = SolverReport("", 0, 0, 0.0, {})


def cost_of(problem: Problem, plan: Plan) -> int:
    """All terms, weighted."""
    return sum(weighted(evaluate(problem, plan), problem.weights).values())


TURN_AFTER_3 = Demand("--turn-after 3", Kind.TURN, 3, 3)
NEW_PAGE_4 = Demand("--movements page", Kind.NEW_PAGE, 4, 4)


@pytest.mark.parametrize(
    "changes",
    [
        {"abreast": 2, "jumps": [(4, 1)]},
        {"abreast": 3, "jumps": [(2, 0), (5, 3)]},
        {"abreast": 4, "height_mm": 120.0, "jumps": [(1, 4)]},
        {"sizes": (5.5, 4.5), "measures": 6},
        {"movement_starts": (3,), "titled": (3,)},
        {"words": True, "width_mm": 150.0},
        {"words": True, "movement_starts": (4,), "demands": (TURN_AFTER_3,)},
        {"demands": (TURN_AFTER_3, Demand("--max-pages 4", Kind.MAX_PAGES, 4))},
        {"demands": (Demand("--pages 5", Kind.PAGES, 5),), "abreast": 3},
        {"movement_starts": (4,), "demands": (NEW_PAGE_4,), "binding": "stapled"},
        {"demands": (NEW_PAGE_4,), "words": True},
        {"binding": "ring", "abreast": 3, "jumps": [(5, 1)]},
        {"binding": "stapled"},
        {"binding": "stapled", "jumps": [(5, 1)], "sizes": (5.5, 4.5), "measures": 6},
        {"binding": "stapled", "demands": (Demand("--pages 7", Kind.PAGES, 7),)},
        {"binding": "stapled", "demands": (Demand("--max-pages 6", Kind.MAX_PAGES, 6),), "abreast": 3},
        {"binding": "loose", "jumps": [(2, 0)]},
        {"binding": "loose", "abreast": 4, "demands": (TURN_AFTER_3,)},
    ],
)
@pytest.mark.parametrize("seed", [1, 2])
def test_no_layout_of_a_small_score_is_cheaper(
    make_problem: MakeProblem, every_layout: EveryLayout, seed: int, changes: dict
) -> None:
    settings = {"measures": 7, "height_mm": 130.0, "width_mm": 130.0, "sizes": (5.5,), **changes}
    problem = make_problem(seed, **settings)
    plan = solve(problem)
    assert plan.solver.status == "optimal"
    least = min(cost_of(problem, plan) for _, plan in every_layout(problem))
    assert plan.solver.objective == plan.solver.bound == least


@pytest.mark.parametrize("seed", range(3, 7))
def test_the_table_of_systems_knows_what_the_check_knows(make_problem: MakeProblem, seed: int) -> None:
    """Every system that may be printed, and no other, is legal by check.py's own arithmetic."""
    problem = make_problem(seed, 24, words=True, movement_starts=(15,), width_mm=170.0)
    table = system_table(problem, 7.0)
    for first, end in itertools.combinations(range(problem.measures + 1), 2):
        legal = end - first <= table.longest and bool(table.legal[first, end - first - 1])
        if first < 15 < end:
            assert not legal
            continue
        breaks = sorted({0, first, end, 15, problem.measures})
        systems = tuple(PlannedSystem(a, b - 1) for a, b in itertools.pairwise(breaks))
        plan = Plan(7.0, 2, "taped", "one page", (PlannedPage(1, systems),), ((1,),), (), (), NO_REPORT)
        faults = [words for words in complaints(problem, plan) if f"of measure {first} is " in words]
        assert legal == (not faults)


# --- an independent model: pages by slot, turns as literals, steps by which literals they cross -------------------


def _page_cost(problem: Problem, start: int, end: int) -> int | None:
    """Least weighted cost of a page by trying all its system breaks."""
    table = system_table(problem, problem.staff_sizes_mm[0])
    room = table.box.steps(start == 0)
    fill = fill_points(room, start == 0, end == problem.measures, ends_movement=False)

    @cache
    def ways(first: int) -> dict[int, int]:
        """Steps taken -> least points, for the systems from a measure to the page's end."""
        if first == end:
            return {0: 0}
        found: dict[int, int] = {}
        for last in range(first + 1, min(end, first + table.longest) + 1):
            if table.legal[first, last - first - 1]:
                for steps, points in ways(last).items():
                    total = steps + int(table.steps[first, last - first - 1])
                    cost = points + int(table.badness[first, last - first - 1])
                    found[total] = min(cost, found.get(total, cost))
        return found

    costs = [
        points * problem.weights["spacing"] + int(fill[steps]) * problem.weights["fill"]
        for steps, points in ways(start).items()
        if steps <= room
    ]
    return min(costs, default=None)


Arc = tuple[object, object, int, int | None]  # from node, to node, cost, position turned at


def _slot_arcs(problem: Problem) -> Iterator[Arc]:
    """A flow of pages through slots; nodes are (kind of spread, shape, slots filled, position)."""
    n, weights = problem.measures, problem.weights
    kinds = {kind: getattr(problem.pattern, kind) for kind in ("whole", "first", "middle", "last")}
    follows = {"first": ("middle", "last"), "middle": ("middle", "last")}
    costs = {(i, j): _page_cost(problem, i, j) for i in range(n) for j in range(i + 1, n + 1)}
    for kind, shape in ((kind, shape) for kind, shapes in kinds.items() for shape in shapes):
        fixed = shape.sides * o.PAGE * weights["paper"] + shape.blank * o.BLANK_SIDE * weights["fill"]
        fixed += max(0, shape.pages - 2) * o.FOLD_OUT * weights["fold-outs"]
        for ((i, j), cost), slot in itertools.product(costs.items(), range(shape.music)):
            if cost is not None:
                reach = sum(problem.reach[shape.pages][slot][i:j]) * weights["reach"]
                yield (
                    (kind, shape, slot, i),
                    (kind, shape, slot + 1, j),
                    cost + reach + fixed * (slot == 0),
                    None,
                )
        for p, following in itertools.product(range(1, n), follows.get(kind, ())):
            for after in kinds[following]:
                yield (kind, shape, shape.music, p), (following, after, 0, p), 0, p
        if kind in ("whole", "first"):
            yield "start", (kind, shape, 0, 0), 0, None
        if kind in ("whole", "last"):
            yield (kind, shape, shape.music, n), "end", 0, None


def _milp_objective(problem: Problem) -> int:
    """The optimum, solved by HiGHS. A literal for each turn; a literal for each step, true when it crosses any."""
    n, weights = problem.measures, problem.weights
    arcs = list(_slot_arcs(problem))
    nodes = {node: i for i, node in enumerate(dict.fromkeys(node for arc in arcs for node in arc[:2]))}
    turn_at = {p: len(arcs) + p - 1 for p in range(1, n)}
    crossed = [
        range(min(s.from_index, s.to_index) + 1, max(s.from_index, s.to_index) + 1) for s in problem.steps
    ]
    leaves = [len(arcs) + n - 1 + k for k in range(len(problem.steps))]
    cost = np.zeros(len(arcs) + n - 1 + len(problem.steps))
    flow = lil_array((len(nodes) + n - 1, len(cost)))
    balance = np.zeros(len(nodes) + n - 1)
    balance[nodes["start"]], balance[nodes["end"]] = 1, -1
    for index, (tail, head, points, turn) in enumerate(arcs):
        cost[index] = points
        flow[nodes[tail], index] += 1
        flow[nodes[head], index] -= 1
        if turn is not None:
            flow[len(nodes) + turn - 1, index] = 1
    for p, index in turn_at.items():
        flow[len(nodes) + p - 1, index] = -1
        cost[index] = o.TURN_HANDLING * weights["turns"]
    implied = lil_array((sum(map(len, crossed)), len(cost)))
    for row, (k, p) in enumerate((k, p) for k, positions in enumerate(crossed) for p in positions):
        implied[row, turn_at[p]], implied[row, leaves[k]] = 1, -1
    for k, s in enumerate(problem.steps):
        weight = weights["back-turns" if s.to_index <= s.from_index else "turns"]
        cost[leaves[k]] = weight * (s.cost + (s.jump_cost if s.is_jump else 0) - s.extra_leaf_cost)
        for p in crossed[k]:
            cost[turn_at[p]] += weight * s.extra_leaf_cost
    rows = [LinearConstraint(flow.tocsr(), balance, balance), LinearConstraint(implied.tocsr(), -np.inf, 0)]
    result = milp(cost, constraints=rows, integrality=np.ones(len(cost)), bounds=Bounds(0, 1))
    assert result.success
    return round(result.fun)


@pytest.mark.parametrize(
    ("seed", "measures", "jumps", "changes"),
    [
        (1, 24, [(15, 4), (23, 16)], {}),
        (2, 22, [(9, 0), (14, 18)], {"abreast": 3}),
        (3, 26, [(25, 3)], {"abreast": 4, "binding": "ring"}),
        (4, 24, [(20, 2)], {"binding": "loose"}),
    ],
)
def test_independent_milp_finds_the_same_objective(
    make_problem: MakeProblem, seed: int, measures: int, jumps: list[tuple[int, int]], changes: dict
) -> None:
    problem = make_problem(seed, measures, height_mm=150.0, width_mm=150.0, jumps=jumps, **changes)
    # A first leaf is never cheaper than a further one: otherwise a literal would be true for nothing.
    steps = tuple(step for step in problem.steps if step.cost + step.jump_cost >= step.extra_leaf_cost)
    problem = replace(problem, steps=steps)
    assert solve(problem).solver.objective == _milp_objective(problem)


def test_networkx_finds_the_same_path_on_a_long_score(make_problem: MakeProblem) -> None:
    problem = make_problem(5, 150, abreast=3, jumps=[(40, 10), (120, 60), (149, 0)])
    graph = nx.DiGraph()
    table = candidates(problem)[problem.staff_sizes_mm[0]].table
    n = problem.measures

    def add(tail: object, head: object, cost: int) -> None:
        if cost < NEVER and graph.get_edge_data(tail, head, {"weight": NEVER})["weight"] > cost:
            graph.add_edge(tail, head, weight=cost)

    for costs in table.first.values():
        for end in range(1, n):
            add("start", end, int(costs[end]))
    for matrix in table.middle.values():
        for start, end in np.argwhere(matrix < NEVER):
            add(int(start), int(end), int(matrix[start, end]))
    for costs in table.last.values():
        for start in range(1, n):
            add(start, "end", int(costs[start]))
    assert Shape(3) not in table.middle
    assert nx.shortest_path_length(graph, "start", "end", weight="weight") == solve(problem).solver.objective


@pytest.mark.parametrize("seed", range(6))
def test_staff_sizes_passed_over_cost_more(make_problem: MakeProblem, seed: int) -> None:
    """Sizes are ruled out by bounds; planned one by one, none is better than the chosen one."""
    sizes = (7.0, 6.7, 6.4, 6.1, 5.8, 5.5)
    problem = replace(make_problem(seed, 60, abreast=2, jumps=[(40, 10)]), staff_sizes_mm=sizes)
    each = []
    for staff_mm in sizes:
        alone = solve(replace(problem, staff_sizes_mm=(staff_mm,)))
        assert problem.least_pages(staff_mm) <= len(alone.pages)
        each.append(alone.solver.objective + problem.staff_points(staff_mm) * problem.weights["staff-size"])
    assert solve(problem).solver.objective == min(each)
