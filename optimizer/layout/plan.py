"""The plan: what goes on which page, what lies open together, and why.

In: nothing.  Out: frozen dataclasses and their JSON form `quietleaf-plan/1`.  Measures are 0-based positions in the
file, bar numbers as printed, page numbers as printed (they start at 1 or 2 so that odd numbers stand on the right).
"""

from dataclasses import dataclass

from optimizer.turns.model import Grade


@dataclass(frozen=True, slots=True)
class PlannedSystem:
    """Measures first..last, both included."""

    first: int
    last: int


@dataclass(frozen=True, slots=True)
class PlannedPage:
    """One printed side."""

    number: int
    systems: tuple[PlannedSystem, ...]
    blank: bool = False


@dataclass(frozen=True, slots=True)
class PlannedTurn:
    """A turn to a later spread, played `passes` times. Also a forward jump (second ending, coda) that leaves the spread."""

    from_page: int
    to_page: int
    after: int
    after_bar: str
    to: int
    to_bar: str
    grade: Grade
    cost: int
    hand: str
    instant_s: float
    free_s: float
    carry: int
    passes: int
    leaves: int
    why: str


@dataclass(frozen=True, slots=True)
class PlannedBackTurn:
    """A turn back to an earlier spread."""

    from_page: int
    to_page: int
    after: int
    after_bar: str
    to: int
    to_bar: str
    leaves: int
    cost: int
    grade: Grade
    hand: str
    free_s: float
    passes: int
    why: str


@dataclass(frozen=True, slots=True)
class SolverReport:
    """What the solver says. `terms`: each term of the objective by name, weighted; they sum to `objective`."""

    status: str
    objective: int
    bound: int
    seconds: float
    terms: dict[str, int]


@dataclass(frozen=True, slots=True)
class Plan:
    """A whole layout. `spreads` lists page numbers lying open together, left to right."""

    staff_mm: float
    pages_abreast: int
    binding: str
    pattern: str
    pages: tuple[PlannedPage, ...]
    spreads: tuple[tuple[int, ...], ...]
    turns: tuple[PlannedTurn, ...]
    back_turns: tuple[PlannedBackTurn, ...]
    solver: SolverReport
