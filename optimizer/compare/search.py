"""All cells of a comparison, and the plans of those that no other one beats or that cost least in sum.

In: `Case`s and `Family`s.  Out: `Found`.  Always true: a cell is solved unless it has no layout, or a solved one of the
same desk and paper is at least as good in every merit as its best plan can be, and one costs no more in sum.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from optimizer.compare.family import Family
from optimizer.compare.merits import merits_of, most_merits
from optimizer.compare.model import Merits, Tally, owned
from optimizer.layout.cells import Cell
from optimizer.layout.plan import Plan
from optimizer.layout.problem import Problem
from optimizer.settings import Settings


@dataclass(frozen=True, slots=True)
class Case:
    """A desk, paper and binding: `settings` without a staff size, the problem they make, and what it shares with other
    desks."""

    settings: Settings
    problem: Problem
    family: Family

    def at(self, staff_mm: float) -> Settings:
        """The settings with a staff size."""
        return replace(self.settings, staff_mm=staff_mm)


@dataclass(frozen=True, slots=True)
class Candidate:
    """A cell with the merits of its plan or, as long as there is none, the most that they can be. `objective`: without
    the staff size, which all layouts of a cell share. `order`: of the cases as they were asked for."""

    case: Case
    cell: Cell
    merits: Merits
    objective: int
    order: int
    plan: Plan | None = None

    @property
    def place(self) -> tuple[object, ...]:
        """Its place among all candidates; none is covered by a later one."""
        return *self.merits.rank(), self.objective, self.order, self.cell

    @property
    def in_sum(self) -> int:
        """What `prepare` weighs it by among all staff sizes."""
        return self.objective + self.case.family.size_cost(self.cell.staff_mm)

    def covers(self, other: "Candidate") -> bool:
        """Whether the other need not be shown beside it: it is beaten, or has equal merits and a later place."""
        if self.merits == other.merits:
            return self.place < other.place
        return self.merits.beats(other.merits)


@dataclass(frozen=True, slots=True)
class Found:
    """`shown`: by desk and paper as asked for, then by merits; `least`: those of them that cost least in sum."""

    shown: tuple[Candidate, ...]
    least: tuple[Candidate, ...]
    tally: Tally


def front(candidates: Iterable[Candidate]) -> list[Candidate]:
    """Those that no other one covers, in their order."""
    kept: list[Candidate] = []
    for candidate in sorted(candidates, key=lambda candidate: candidate.place):
        if not any(other.covers(candidate) for other in kept):
            kept.append(candidate)
    return kept


def search(cases: Sequence[Case]) -> Found:
    """Solve what nothing covers, as far as is known, until all of that is solved."""
    known, impossible = _bounds(cases)
    while True:
        shown, least = _shown(list(known.values()), cases)
        open_ones = [candidate for candidate in shown if candidate.plan is None]
        if not open_ones:
            break
        for family in dict.fromkeys(case.family for case in cases):
            family.solve([c.cell for c in open_ones if c.case.family is family])
        known |= {(candidate.order, candidate.cell): _solved(candidate) for candidate in open_ones}
    solved = sum(candidate.plan is not None for candidate in known.values())
    return Found(
        tuple(shown),
        tuple(least),
        Tally(
            cells=len(known) + impossible,
            solved=solved,
            dominated=len(known) - solved,
            impossible=impossible,
            beaten=solved - len(shown),
            solver_s=sum(family.solver_s for family in dict.fromkeys(case.family for case in cases)),
        ),
    )


def _bounds(cases: Sequence[Case]) -> tuple[dict[tuple[int, Cell], Candidate], int]:
    """All cells that have a layout, none solved, and how many have none."""
    known: dict[tuple[int, Cell], Candidate] = {}
    impossible = 0
    for order, case in enumerate(cases):
        for cell, least in case.family.cells(case.problem.pattern):
            if least is None:
                impossible += 1
            else:
                merits = most_merits(cell, least, case.at(cell.staff_mm))
                known[order, cell] = Candidate(case, cell, merits, least.objective, order)
    return known, impossible


def _shown(known: Sequence[Candidate], cases: Sequence[Case]) -> tuple[list[Candidate], list[Candidate]]:
    """Of each desk and paper: the front, and what costs least in sum, which mostly belongs to it; and the latter."""
    shown: list[Candidate] = []
    least: list[Candidate] = []
    for own in dict.fromkeys(owned(case.settings) for case in cases):
        if rivals := [candidate for candidate in known if owned(candidate.case.settings) == own]:
            least.append(min(rivals, key=lambda candidate: (candidate.in_sum, candidate.place)))
            kept = front(rivals)
            kept += [] if least[-1] in kept else [least[-1]]
            shown += sorted(kept, key=lambda candidate: candidate.place)
    return shown, least


def _solved(candidate: Candidate) -> Candidate:
    """With the plan that its family has found."""
    case, staff_mm = candidate.case, candidate.cell.staff_mm
    plan = case.family.plan(candidate.cell, case.problem)
    merits = merits_of(case.family.problem(staff_mm, case.problem), plan, case.at(staff_mm))
    return replace(candidate, merits=merits, plan=plan)
