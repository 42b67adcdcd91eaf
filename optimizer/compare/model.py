"""What a comparison is made of.

In: nothing.  Out: frozen dataclasses.  Always true: an alternative's plan has passed layout/check.py and is the optimal
one of its cell; none of the alternatives of a desk and paper is beaten by another of that desk and paper, but for those
that are shown in any case: what costs least in sum, and what keeps the file's own pages.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from optimizer.engrave.model import Engraved
from optimizer.layout.geometry import PageGeometry
from optimizer.layout.plan import Plan
from optimizer.layout.problem import MANY_STAVES
from optimizer.score.model import Score
from optimizer.settings import Desk, Paper, Settings
from optimizer.turns.model import StepCost

# Rastral sizes 3 to 6 (Gould; from memory), and what scores of many staves are printed in.
USUAL_STAFFS_MM: Final = (7.0, 6.5, 6.0, 5.5)
USUAL_STAFFS_SMALL_MM: Final = (6.0, 5.5, 4.8)


@dataclass(frozen=True, slots=True)
class Choices:
    """What is to be compared; every combination is. `staffs_mm` empty: the usual sizes for so many staves."""

    desks: tuple[Desk, ...]
    papers: tuple[Paper, ...]
    bindings: tuple[str, ...]
    staffs_mm: tuple[float, ...] = ()


def usual_staffs_mm(staves: int) -> tuple[float, ...]:
    """What is compared when nobody says which staff sizes to."""
    return USUAL_STAFFS_SMALL_MM if staves >= MANY_STAVES else USUAL_STAFFS_MM


@dataclass(frozen=True, slots=True)
class Merits:
    """What alternatives are compared by; less is better, but for `staff_mm`.

    `effort`: points of all turns and back-turns as often as they are played, unweighted; `worst`: points of the hardest
    single one; `back_turns`: how often the player turns back; `reach`: points; `sheets`: pieces of paper that go into
    the printer.
    """

    effort: int
    worst: int
    back_turns: int
    reach: int
    staff_mm: float
    sheets: int

    def rank(self) -> tuple[float, ...]:
        """All of them so that less is better, in the order in which alternatives are listed."""
        return self.effort, self.worst, self.back_turns, self.reach, -self.staff_mm, self.sheets

    def beats(self, other: "Merits") -> bool:
        """As good in everything and better in something."""
        pairs = list(zip(self.rank(), other.rank(), strict=True))
        return all(mine <= theirs for mine, theirs in pairs) and any(mine < theirs for mine, theirs in pairs)


def owned(settings: Settings) -> tuple[Desk, Paper]:
    """What a player has and does not choose: whether an alternative is beaten is asked among those that share it."""
    return settings.desk, settings.paper


@dataclass(frozen=True, slots=True)
class Alternative:
    """One way to print the piece. `number`: what `--pick` takes, from 1; `settings`: with its desk, paper, binding and
    staff size; `as_given`: the pages are those of the file. `least`: the sum of all terms, that of the staff size among
    them, is the least on this desk and paper: what `prepare` would take among these sizes. `beaten_by`: the number of
    one on the same desk, mostly on another paper, that beats it."""

    number: int
    settings: Settings
    plan: Plan
    merits: Merits
    as_given: bool = False
    least: bool = False
    beaten_by: int | None = None


@dataclass(frozen=True, slots=True)
class Tally:
    """How many cells (desk, paper, binding, staff size, number of pages, pattern) there were: `solved` by the solver;
    `dominated`, proven beaten or equalled by a solved one without solving; `impossible`, proven to have no layout.
    `beaten`: of the solved ones, those that are not shown."""

    cells: int
    solved: int
    dominated: int
    impossible: int
    beaten: int
    solver_s: float


@dataclass(frozen=True, slots=True)
class Drawing:
    """The engraved systems of an alternative (those of others may be among them) and the page they stand on."""

    engraved: Engraved
    geometry: PageGeometry


@dataclass(frozen=True, slots=True)
class Comparison:
    """All alternatives, by desk and paper as asked for and then by `Merits.rank`, those as given last; `drawings` in
    the same order. `costs`: of a turn at each inner barline, in written order; `command`: what makes it once more."""

    score: Score
    player_text: str
    costs: tuple[StepCost, ...]
    alternatives: tuple[Alternative, ...]
    drawings: Sequence[Drawing]
    tally: Tally
    command: str
    warnings: tuple[str, ...] = ()
