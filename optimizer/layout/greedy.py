"""The baseline: pages simply filled, as an engraving program without regard for turns would do.

In: `Problem`, a staff size.  Out: a `Plan` with its turns graded, to compare with.  Always true: systems take
bars at natural width until the next one does not fit, pages take systems until the next one does not fit, and
spreads take as many pages as lie abreast first, then two each.
"""

from collections.abc import Sequence

from optimizer.layout.assemble import FilledSpread, Page, assemble
from optimizer.layout.patterns import Shape
from optimizer.layout.plan import Plan, SolverReport
from optimizer.layout.problem import Box, Problem
from optimizer.layout.systems import SystemTable, system_table


def greedy_plan(problem: Problem, staff_mm: float) -> Plan:
    """The layout of somebody who just fills pages; its solver report is empty."""
    table = system_table(problem, staff_mm)
    pages = _fill_pages(problem, table, _fill_systems(problem, table.box))
    sizes = _spread_sizes(len(pages), problem.abreast)
    spreads, taken = [], 0
    for size in sizes:
        spreads.append(FilledSpread(Shape(size), pages[taken : taken + size]))
        taken += size
    return assemble(problem, staff_mm, spreads, SolverReport("greedy", 0, 0, 0.0, {}))


def _fill_systems(problem: Problem, box: Box) -> list[tuple[int, int]]:
    """First-fit systems; a new movement starts a new one."""
    systems, first = [], 0
    while first < problem.measures:
        end, width = first + 1, problem.lead(first) + problem.bars[first].width
        while end < problem.measures and end not in problem.movement_starts:
            width += problem.bars[end].width
            if width > box.width:
                break
            end += 1
        systems.append((first, end))
        first = end
    return systems


def _fill_pages(problem: Problem, table: SystemTable, systems: Sequence[tuple[int, int]]) -> list[Page]:
    """First-fit pages, by the same heights as the planner's."""
    pages: list[list[tuple[int, int]]] = []
    left = -1
    for first, end in systems:
        steps = int(table.steps[first, end - first - 1])
        if steps > left:
            left = table.box.steps(first=not pages)
            pages.append([])
        left -= steps
        pages[-1].append((first, end))
    return list(pages)


def _spread_sizes(pages: int, abreast: int) -> list[int]:
    """As many as lie abreast, then pairs, then what is left."""
    sizes = [min(pages, abreast)]
    while (left := pages - sum(sizes)) > 0:
        sizes.append(min(2, left))
    return sizes
