"""From chosen spreads to a plan with page numbers, turns and back-turns.

In: `Problem`, the pages of each spread as system breaks.  Out: `Plan`.  Measures 0-based, page numbers as
printed. Always true: turns and back-turns list every step between successively played measures on different
spreads.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from optimizer.layout.patterns import Shape, first_page_number, pattern_name
from optimizer.layout.plan import (
    Plan,
    PlannedBackTurn,
    PlannedPage,
    PlannedStrip,
    PlannedSystem,
    PlannedTurn,
    SolverReport,
)
from optimizer.layout.problem import Problem, is_back, step_cost
from optimizer.turns.model import StepCost, StripKind, StripTurn

Page = Sequence[tuple[int, int]]  # its systems as (first measure, end)


@dataclass(frozen=True, slots=True)
class FilledSpread:
    """A spread: its shape, the systems of each of its pages with music, and the strips on its first and last page."""

    shape: Shape
    pages: Sequence[Page]
    strips: Sequence[StripTurn] = ()


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
    places = _places(pages, spreads)
    strips = {strip.position: strip for spread in filled for strip in spread.strips}
    turns, back_turns = _turns(problem, places, strips)
    return Plan(
        staff_mm, problem.abreast, problem.pattern.binding, pattern_name(shapes),
        tuple(pages), tuple(spreads), turns, back_turns, solver, shapes[0].title, _strips(problem, places, strips),
    )  # fmt: skip


def _places(pages: Sequence[PlannedPage], spreads: Sequence[tuple[int, ...]]) -> Mapping[int, _Place]:
    """Where each measure stands."""
    spread_of = {number: index for index, numbers in enumerate(spreads) for number in numbers}
    return {
        measure: _Place(page.number, spread_of[page.number])
        for page in pages
        for system in page.systems
        for measure in range(system.first, system.last + 1)
    }


def _turns(
    problem: Problem, places: Mapping[int, _Place], strips: Mapping[int, StripTurn]
) -> tuple[tuple[PlannedTurn, ...], tuple[PlannedBackTurn, ...]]:
    """All steps that leave their spread, in order of the measures they leave; with a strip as it makes them."""
    turns: list[PlannedTurn] = []
    back_turns: list[PlannedBackTurn] = []
    for step in sorted(problem.steps, key=lambda step: (step.from_index, step.to_index)):
        leaves = abs(places[step.to_index].spread_index - places[step.from_index].spread_index)
        if leaves and is_back(step):
            back_turns.append(_back_turn(problem, step, places, leaves))
        elif leaves:
            strip = None if step.is_jump else strips.get(step.to_index)
            turns.append(_turn(problem, _eased(problem, step, strip) if strip else step, places, leaves))
    return tuple(turns), tuple(back_turns)


def _eased(problem: Problem, step: StepCost, strip: StripTurn) -> StepCost:
    """A step as a strip makes it: between the same measures, with the costs and times of where the player turns."""
    bars = _bars(problem, strip.first, strip.last)
    where = "at the foot" if strip.kind is StripKind.LATE else "overleaf"
    return replace(
        strip.turn,
        from_index=step.from_index,
        to_index=step.to_index,
        extra_leaf_cost=step.extra_leaf_cost,
        sentence=f"{bars} printed again {where}: turn {strip.turn.sentence}",
    )


def _bars(problem: Problem, first: int, last: int) -> str:
    """ "bar 42" or "bars 42–43"."""
    names = problem.numbers[first], problem.last_number(last)
    return f"bar {names[0]}" if first == last else f"bars {names[0]}–{names[1]}"


def _strips(
    problem: Problem, places: Mapping[int, _Place], strips: Mapping[int, StripTurn]
) -> tuple[PlannedStrip, ...]:
    """The strips in order of the turns they move."""
    steps = {step.to_index: step for step in problem.steps if not step.is_jump}
    return tuple(
        PlannedStrip(
            kind=strip.kind,
            page=places[position - (strip.kind is StripKind.LATE)].page_number,
            after=position - 1,
            first=strip.first,
            last=strip.last,
            first_bar=problem.numbers[strip.first],
            last_bar=problem.last_number(strip.last),
            turn_after=strip.turn.from_index,
            turn_after_bar=problem.last_number(strip.turn.from_index),
            grade_before=steps[position].grade,
            grade=strip.turn.grade,
        )
        for position, strip in sorted(strips.items())
    )


def _turn(problem: Problem, step: StepCost, places: Mapping[int, _Place], leaves: int) -> PlannedTurn:
    """A step to a later spread."""
    return PlannedTurn(
        from_page=places[step.from_index].page_number,
        to_page=places[step.to_index].page_number,
        after=step.from_index,
        after_bar=problem.last_number(step.from_index),
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
        after_bar=problem.last_number(step.from_index),
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
