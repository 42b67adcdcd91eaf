"""What changes from one plan of a score to another.

In: two `Plan`s of the same score.  Out: `Difference`.  Costs in hundredths of a point, measures as 0-based positions
in the file.  Always true: what is not listed is the same in both; a page or system is known by its bars, a turn by
those it leads from and to.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TypeVar

from optimizer.layout.plan import Plan, PlannedBackTurn, PlannedPage, PlannedSystem, PlannedTurn
from optimizer.settings import TERMS

AnyTurn = PlannedTurn | PlannedBackTurn
K = TypeVar("K")
V = TypeVar("V")


@dataclass(frozen=True, slots=True)
class TermChange:
    """A term of the objective in both plans, weighted."""

    term: str
    before: int
    after: int

    @property
    def more(self) -> int:
        """What the later plan costs more; negative where it costs less."""
        return self.after - self.before


@dataclass(frozen=True, slots=True)
class Regraded:
    """A turn between the same bars that is easier or harder in the later plan: over more leaves, or with a strip."""

    before: AnyTurn
    after: AnyTurn


@dataclass(frozen=True, slots=True)
class Difference:
    """`terms`: all of them, in order. `gone`: only in the plan before, `new`: only in the later one. Of `spreads`, each
    by the numbers of its pages, those whose first or last bar or number of pages no spread of the other plan has."""

    before: Plan
    after: Plan
    terms: tuple[TermChange, ...]
    pages_gone: tuple[PlannedPage, ...]
    pages_new: tuple[PlannedPage, ...]
    systems_gone: tuple[PlannedSystem, ...]
    systems_new: tuple[PlannedSystem, ...]
    spreads_gone: tuple[tuple[int, ...], ...]
    spreads_new: tuple[tuple[int, ...], ...]
    turns_gone: tuple[AnyTurn, ...]
    turns_new: tuple[AnyTurn, ...]
    turns_regraded: tuple[Regraded, ...]

    @property
    def cost(self) -> int:
        """What the later plan costs more in all; negative where it costs less."""
        return self.after.solver.objective - self.before.solver.objective

    @property
    def is_nothing(self) -> bool:
        """Whether both plans print and turn alike."""
        lists = self.pages_gone, self.pages_new, self.spreads_gone, self.spreads_new
        turns = self.turns_gone, self.turns_new, self.turns_regraded
        return self.before.staff_mm == self.after.staff_mm and not any((*lists, *turns))


def difference(before: Plan, after: Plan) -> Difference:
    """All that changes."""
    pages = _pages(before), _pages(after)
    systems = [{system: system for page in plan.pages for system in page.systems} for plan in (before, after)]
    spreads = _spreads(before), _spreads(after)
    turns = _turns(before), _turns(after)
    return Difference(
        before=before,
        after=after,
        terms=tuple(
            TermChange(term, before.solver.terms.get(term, 0), after.solver.terms.get(term, 0))
            for term in TERMS
        ),
        pages_gone=_only(*pages),
        pages_new=_only(*reversed(pages)),
        systems_gone=_only(*systems),
        systems_new=_only(*reversed(systems)),
        spreads_gone=_only(*spreads),
        spreads_new=_only(*reversed(spreads)),
        turns_gone=_only(*turns),
        turns_new=_only(*reversed(turns)),
        turns_regraded=tuple(
            Regraded(turn, turns[1][key])
            for key, turn in turns[0].items()
            if key in turns[1] and _weight(turn) != _weight(turns[1][key])
        ),
    )


def _only(here: Mapping[K, V], there: Mapping[K, V]) -> tuple[V, ...]:
    """What only one of the plans has."""
    return tuple(value for key, value in here.items() if key not in there)


def _pages(plan: Plan) -> Mapping[object, PlannedPage]:
    """Pages by what is printed on them; a blank one by what it follows."""
    found: dict[object, PlannedPage] = {}
    last = -1
    for page in plan.pages:
        last = page.systems[-1].last if page.systems else last
        found[page.systems or last, _again(plan, page)] = page
    return found


def _again(plan: Plan, page: PlannedPage) -> tuple[object, ...]:
    """The bars printed again on a page."""
    return tuple((s.kind, s.first, s.last) for s in plan.strips if s.page == page.number)


def _spreads(plan: Plan) -> Mapping[object, tuple[int, ...]]:
    """Spreads by their bars and pages."""
    systems = {page.number: page.systems for page in plan.pages}
    found: dict[object, tuple[int, ...]] = {}
    for numbers in plan.spreads:
        bars = [system for number in numbers for system in systems[number]]
        found[bars[0].first, bars[-1].last, len(numbers)] = numbers
    return found


def _turns(plan: Plan) -> Mapping[tuple[int, int], AnyTurn]:
    """Turns and back-turns by the bars they lead from and to, in the order of the bars they leave."""
    turns: list[AnyTurn] = [*plan.turns, *plan.back_turns]
    return {(turn.after, turn.to): turn for turn in sorted(turns, key=lambda turn: (turn.after, turn.to))}


def _weight(turn: AnyTurn) -> tuple[object, int, int]:
    """What tells a turn harder or easier."""
    return turn.grade, turn.cost, turn.leaves
