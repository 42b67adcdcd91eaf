"""The bounds of every cell against all layouts of small scores, and against planning with a pattern of its own."""

from collections import defaultdict
from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace

import pytest

from optimizer.errors import NoLayoutError
from optimizer.layout import evaluate, solve
from optimizer.layout.cells import Cell, CellTable, cells_of, fewest_pages
from optimizer.layout.demands import Demand, Kind
from optimizer.layout.model import CellModel, CellTask, Paper
from optimizer.layout.objective import PAGE, weighted
from optimizer.layout.pages import page_table
from optimizer.layout.patterns import Shape, pattern_for
from optimizer.layout.plan import Plan
from optimizer.layout.problem import Problem
from optimizer.layout.spreads import spread_table
from optimizer.layout.systems import system_table

MakeProblem = Callable[..., Problem]
EveryLayout = Callable[[Problem], Iterator[tuple[tuple[Shape, ...], Plan]]]
TURN_AFTER_3 = Demand("--turn-after 3", Kind.TURN, 3, 3)
STAFF_MM = 5.5


def table_of(problem: Problem, most: int) -> CellTable:
    return CellTable(spread_table(page_table(problem, system_table(problem, STAFF_MM))), most)


def cell_of(shapes: tuple[Shape, ...]) -> Cell:
    return Cell(STAFF_MM, sum(shape.sides for shape in shapes), shapes[0], shapes[-1])


def cost_of(problem: Problem, plan: Plan) -> int:
    return sum(weighted(evaluate(problem, plan), problem.weights).values())


@pytest.mark.parametrize(
    "changes",
    [
        {"abreast": 2, "jumps": [(4, 1)]},
        {"abreast": 3, "jumps": [(2, 0), (5, 3)]},
        {"abreast": 4, "height_mm": 120.0, "jumps": [(1, 4)]},
        {"movement_starts": (3,), "titled": (3,), "abreast": 4},
        {"demands": (TURN_AFTER_3,), "abreast": 3, "binding": "ring"},
        {"binding": "stapled", "jumps": [(5, 1)]},
        {"binding": "loose", "abreast": 3, "jumps": [(2, 0)]},
    ],
)
@pytest.mark.parametrize("seed", [1, 2])
def test_bounds_of_cells_are_those_of_all_their_layouts(
    make_problem: MakeProblem, every_layout: EveryLayout, seed: int, changes: dict
) -> None:
    """Cost exactly; what merits come to at least over all layouts of that cost: exactly, but for `worst` where several
    are equally good and turn over different leaves."""
    settings = {"measures": 6, "height_mm": 130.0, "width_mm": 130.0, "sizes": (STAFF_MM,), **changes}
    problem = make_problem(seed, **settings)
    layouts: Mapping[Cell, list[tuple[int, Plan]]] = defaultdict(list)
    for shapes, plan in every_layout(problem):
        layouts[cell_of(shapes)].append((cost_of(problem, plan), plan))
    table = table_of(problem, 14)
    found = {cell: table.least(cell) for cell in cells_of(problem.pattern, STAFF_MM, 1, 14)}
    assert {cell for cell, least in found.items() if least} == set(layouts)
    for cell, plans in layouts.items():
        least = found[cell]
        cost = min(cost for cost, _ in plans)
        best = [plan for at, plan in plans if at == cost]
        assert least is not None
        assert least.objective == cost
        assert least.effort == min(sum(t.cost for t in (*plan.turns, *plan.back_turns)) for plan in best)
        assert least.back_turns == min(sum(t.passes for t in plan.back_turns) for plan in best)
        assert least.reach == min(evaluate(problem, plan)["reach"] for plan in best)
        hardest = [max((t.cost for t in (*plan.turns, *plan.back_turns)), default=0) for plan in best]
        assert least.worst <= min(hardest)
        if len(best) == 1:
            assert least.worst == hardest[0]


@pytest.mark.parametrize(
    ("binding", "abreast", "demands"),
    [
        ("taped", 4, ()),
        ("stapled", 2, ()),
        ("loose", 3, (Demand("--turn-after 20", Kind.TURN, 20, 20),)),
        ("ring", 3, (Demand("--together 9-16", Kind.TOGETHER, 9, 15),)),
    ],
)
def test_one_model_solves_each_cell_like_planning_with_its_pattern_alone(
    make_problem: MakeProblem, binding: str, abreast: int, demands: tuple[Demand, ...]
) -> None:
    problem = make_problem(
        7,
        40,
        abreast=abreast,
        binding=binding,
        sizes=(STAFF_MM,),
        jumps=[(30, 12)],
        height_mm=200.0,
        demands=demands,
    )
    pages = page_table(problem, system_table(problem, STAFF_MM))
    fewest = fewest_pages(pages)
    assert fewest
    table = CellTable(spread_table(pages), 2 * fewest)
    cells = list(cells_of(problem.pattern, STAFF_MM, fewest, 2 * fewest))
    tasks = [
        CellTask(cell, least.objective, table.path(cell)) for cell in cells if (least := table.least(cell))
    ]
    assert all(sum(arc.cost for arc in task.hint) <= task.floor for task in tasks)
    arcs = {arc: None for task in tasks for arc in table.arcs_within(task.cell, task.floor // 50)}
    turns = [demand.low for demand in demands if demand.kind is Kind.TURN]
    apart = frozenset(p for d in demands if d.kind is Kind.TOGETHER for p in range(d.low, d.high + 1))
    paper = Paper(problem.pattern.sides_a_sheet, PAGE * 100)
    model = CellModel({STAFF_MM: list(arcs)}, turns, apart, paper, tasks)
    found = {task.cell: model.solve(task) for task in tasks}
    for cell in cells:
        pattern = replace(problem.pattern, whole=(), first=(cell.first,), last=(cell.last,))
        if cell.is_whole:
            pattern = replace(pattern, whole=(cell.first,), first=(), last=())
        pages_demand = Demand(f"--pages {cell.sides}", Kind.PAGES, cell.sides)
        try:
            plan = solve(replace(problem, pattern=pattern, demands=(*demands, pages_demand)))
        except NoLayoutError:
            assert cell not in found
            continue
        chosen = found[cell]
        assert chosen is not None
        assert (chosen.status, chosen.objective) == ("optimal", plan.solver.objective)
        assert (chosen.arcs[0].shape, chosen.arcs[-1].shape) == (cell.first, cell.last)
        assert sum(arc.shape.sides for arc in chosen.arcs) == cell.sides


def test_no_cells_are_forgotten(make_problem: MakeProblem) -> None:
    """The cells of a pattern are the sums of its shapes: first, any number of middle ones, last; or one whole."""
    for binding, abreast in (("taped", 4), ("stapled", 2), ("loose", 4), ("ring", 3)):
        pattern = pattern_for(binding, abreast)
        expected = {Cell(7.0, shape.sides, shape, shape) for shape in pattern.whole}
        for first in pattern.first:
            for last in pattern.last:
                for pairs in range(6):
                    expected.add(Cell(7.0, first.sides + 2 * pairs + last.sides, first, last))
        cells = list(cells_of(pattern, 7.0, 1, 10))
        assert len(cells) == len(set(cells))
        assert set(cells) == {cell for cell in expected if cell.sides <= 10}
