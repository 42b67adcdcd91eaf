"""From chosen spreads to a plan with page numbers, turns and back-turns.

In: `Problem`, the pages of each spread as system breaks.  Out: `Plan`.  Measures 0-based, page numbers as
printed. Always true: turns and back-turns list every step between successively played measures on different
spreads.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from optimizer.layout.patterns import Shape, first_page_number, pattern_name
from optimizer.layout.plan import Plan, PlannedBackTurn, PlannedPage, PlannedSystem, PlannedTurn, SolverReport
from optimizer.layout.problem import Problem, is_back, step_cost
from optimizer.turns.model import StepCost

Page = Sequence[tuple[int, int]]  # its systems as (first measure, end)


@dataclass(frozen=True, slots=True)
class FilledSpread:
    """A spread: its shape and the systems of each of its pages with music."""

    shape: Shape
    pages: Sequence[Page]


@dataclass(frozen=True, slots=True)
class _Place:
    """Where a measure stands."""

    page_number: int
    spread_index: int


def assemble(problem: Problem, staff_mm: float, filled: Sequence[FilledSpread], solver: SolverReport) -> Plan:
    """The plan of these spreads."""
    shapes = [spread.shape for spread in filled]
    number = first_page_number(shapes)
    pages: list[PlannedPage] = []
    spreads: list[tuple[int, ...]] = []
    for spread in filled:
        sides = [*spread.pages, *[()] * spread.shape.blank]
        for side in sides:
            systems = tuple(PlannedSystem(first, end - 1) for first, end in side)
            pages.append(PlannedPage(number + len(pages), systems, blank=not systems))
        spreads.append(tuple(page.number for page in pages[-len(sides) :]))
    turns, back_turns = _turns(problem, pages, spreads)
    return Plan(
        staff_mm, problem.abreast, problem.pattern.binding, pattern_name(shapes),
        tuple(pages), tuple(spreads), turns, back_turns, solver, shapes[0].title,
    )  # fmt: skip


def _turns(
    problem: Problem, pages: Sequence[PlannedPage], spreads: Sequence[tuple[int, ...]]
) -> tuple[tuple[PlannedTurn, ...], tuple[PlannedBackTurn, ...]]:
    """All steps that leave their spread, in order of the measures they leave."""
    spread_of = {number: index for index, numbers in enumerate(spreads) for number in numbers}
    places = {
        measure: _Place(page.number, spread_of[page.number])
        for page in pages
        for system in page.systems
        for measure in range(system.first, system.last + 1)
    }
    turns: list[PlannedTurn] = []
    back_turns: list[PlannedBackTurn] = []
    for step in sorted(problem.steps, key=lambda step: (step.from_index, step.to_index)):
        leaves = abs(places[step.to_index].spread_index - places[step.from_index].spread_index)
        if leaves and is_back(step):
            back_turns.append(_back_turn(problem, step, places, leaves))
        elif leaves:
            turns.append(_turn(problem, step, places, leaves))
    return tuple(turns), tuple(back_turns)


def _turn(problem: Problem, step: StepCost, places: Mapping[int, _Place], leaves: int) -> PlannedTurn:
    """A step to a later spread."""
    return PlannedTurn(
        from_page=places[step.from_index].page_number,
        to_page=places[step.to_index].page_number,
        after=step.from_index,
        after_bar=problem.numbers[step.from_index],
        to=step.to_index,
        to_bar=problem.numbers[step.to_index],
        grade=step.grade,
        cost=step_cost(step, leaves),
        hand=step.hand,
        instant_s=round(step.instant_s, 3),
        free_s=round(step.free_s, 3),
        carry=step.carry,
        passes=step.passes,
        leaves=leaves,
        why=step.sentence,
    )


def _back_turn(
    problem: Problem, step: StepCost, places: Mapping[int, _Place], leaves: int
) -> PlannedBackTurn:
    """A step to an earlier spread."""
    return PlannedBackTurn(
        from_page=places[step.from_index].page_number,
        to_page=places[step.to_index].page_number,
        after=step.from_index,
        after_bar=problem.numbers[step.from_index],
        to=step.to_index,
        to_bar=problem.numbers[step.to_index],
        leaves=leaves,
        cost=step_cost(step, leaves),
        grade=step.grade,
        hand=step.hand,
        free_s=round(step.free_s, 3),
        passes=step.passes,
        why=step.sentence,
        carry=step.carry,
    )
