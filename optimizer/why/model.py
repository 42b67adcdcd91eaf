"""What `explain` finds out.

In: nothing.  Out: frozen dataclasses.  Measures are 0-based positions in the file; a position p means "a page or spread
starts with measure p".  Always true: either there is a changed plan and its difference, or the trouble that stands in
its way.
"""

from dataclasses import dataclass
from enum import StrEnum

from optimizer.compare.difference import AnyTurn, Difference
from optimizer.layout.plan import Plan, PlannedPage, PlannedStrip, PlannedSystem
from optimizer.score.model import Score
from optimizer.settings import Settings
from optimizer.turns.hands import Player
from optimizer.turns.model import StepCost


class Place(StrEnum):
    """Where a barline lies in a plan."""

    TURN = "turn"  # a spread ends there
    PAGE = "page"  # a page ends there, and the next one lies open beside it
    SYSTEM = "system"  # a system ends there, inside a page
    INSIDE = "inside"  # inside a system


class Question(StrEnum):
    """What is asked for, to see what it costs."""

    FORCE = "force"  # a turn there
    FORBID = "forbid"  # none there
    RELEASE = "release"  # that it need not be there, where the user demanded it


class Scope(StrEnum):
    """Among which plans the answer was looked for."""

    ALL = "all"  # all of the settings
    ALIKE = "alike"  # those with as many pages and the same ends, as the plan was picked from a comparison
    OTHERS = "others"  # all of the settings, as none alike will do


@dataclass(frozen=True, slots=True)
class Asked:
    """The question to a plan. `bar`: as the user named it; `options`: what `prepare` is to be given for it
    (`--turn-after 42`), or no longer given where it is to release; `settings`: the plan's, with or without them."""

    question: Question
    bar: str
    options: tuple[str, ...]
    settings: Settings


@dataclass(frozen=True, slots=True)
class Standing:
    """The barline after a measure in a plan: `page` and `system` hold that measure, `following` is the page with the
    next one. `strip`: bars printed again that move the turn there, or move one to there."""

    place: Place
    page: PlannedPage
    following: PlannedPage
    system: PlannedSystem
    spread: tuple[int, ...]
    strip: PlannedStrip | None = None


@dataclass(frozen=True, slots=True)
class Neighbours:
    """What a page that ends there would need, the staff and the page's beginning being what they are.

    `systems`: those of the page, none where it cannot end there; `white`: permille of it that stays empty. `left_over`:
    first and last measure that must go to the next page; `next_page`: its number, None where there is none; `has_room`:
    whether they fit on it together with what stands there, if anything.
    """

    systems: int
    white: int
    left_over: tuple[int, int] | None
    next_page: int | None
    next_is_blank: bool
    has_room: bool


@dataclass(frozen=True, slots=True)
class Explained:
    """Why there is a turn after a bar, or none, and what the contrary would cost.

    `after`: the bar's last measure. `turn`: what a turn is like there, going straight on; `jumps`: steps of repeats and
    jumps that lead over that barline; `leaving`: the plan's own turns from there. `trouble`, `relax`: why there is no
    other plan, and which demands stand in its way.
    """

    score: Score
    player: Player
    plan: Plan
    asked: Asked
    after: int
    standing: Standing
    neighbours: Neighbours | None
    turn: StepCost
    jumps: tuple[StepCost, ...]
    leaving: tuple[AnyTurn, ...]
    difference: Difference | None
    scope: Scope = Scope.ALL
    trouble: str = ""
    relax: tuple[str, ...] = ()
