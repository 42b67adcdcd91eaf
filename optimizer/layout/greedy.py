"""The baseline: pages simply filled, as an engraving program without regard for turns would do.

In: `Problem`, a staff size.  Out: a `Plan` with its turns graded, to compare with.  Always true: systems take
as many bars as fit at natural width, pages take systems until the next one does not fit, and all pages lie on one
spread where the binding allows it; else the first takes as many as it can without a title page, then come pairs.
"""

from collections.abc import Sequence

from optimizer.layout.assemble import FilledSpread, Page, assemble
from optimizer.layout.patterns import Pattern, Shape
from optimizer.layout.plan import Plan, SolverReport
from optimizer.layout.problem import Problem
from optimizer.layout.systems import SystemTable, movement_ends, system_table


def greedy_plan(problem: Problem, staff_mm: float) -> Plan:
    """The layout of somebody who just fills pages; its solver report is empty."""
    table = system_table(problem, staff_mm)
    pages = _fill_pages(problem, table, _fill_systems(problem, table))
    spreads, taken = [], 0
    for shape in _shapes(problem.pattern, len(pages)):
        spreads.append(FilledSpread(shape, pages[taken : taken + shape.pages]))
        taken += shape.pages
    return assemble(problem, staff_mm, spreads, SolverReport("greedy", 0, 0, 0.0, {}))


def _fill_systems(problem: Problem, table: SystemTable) -> list[tuple[int, int]]:
    """Systems of as many bars as fit; a new movement starts a new one."""
    width = table.box.width
    systems, first, ends = [], 0, movement_ends(problem)
    while first < problem.measures:
        stop = min(int(ends[first]), first + table.longest)
        room = width - problem.lead(first)
        fitting = (end for end in range(stop, first + 1, -1) if problem.music(first, end, width) <= room)
        end = next(fitting, first + 1)
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


def _shapes(pattern: Pattern, pages: int) -> list[Shape]:
    """All on one spread, or the longest first one, then pairs, then what is left."""
    for whole in pattern.whole:
        if whole.pages == pages:
            return [whole]
    shapes = [max(shape for shape in pattern.first if not shape.title)]
    while (left := pages - sum(shape.pages for shape in shapes)) > 0:
        shapes.append(Shape(min(2, left)))
    return shapes
