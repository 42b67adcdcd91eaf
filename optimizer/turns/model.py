"""What the turn stage hands on.

In: nothing.  Out: frozen dataclasses.  Clock time in seconds, `*_s` relative to the barline are negative
before it. Costs are integers: 0 is free, BLOCKED_COST about what a turn costs at which notes are certainly
lost.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Final

BLOCKED_COST: Final = 1000
# Twice the three chunks that are held without rehearsal (Chen & Cowan); ours.
MUCH_TO_CARRY: Final = 6


class Grade(StrEnum):
    """How a turn feels, from easiest; by free seconds of the better hand (design section 4)."""

    OPEN = "open"
    QUICK = "quick"
    TIGHT = "tight"
    BLOCKED = "blocked"

    @property
    def hardness(self) -> int:
        """0 for the easiest, one more for each grade."""
        return tuple(Grade).index(self)


def tenths_s(free_s: float) -> float:
    """Free seconds as they are told: in tenths, rounded down, so that they never say more than the grade."""
    return math.floor(free_s * 10 + 1e-6) / 10


def is_by_heart(carry: int, allowance: int) -> bool:
    """Whether more notes are to be carried over a turn than one holds without learning them, or than the player, who is
    glad to hold `allowance`: grades are times only."""
    return carry > max(MUCH_TO_CARRY, allowance)


@dataclass(frozen=True, slots=True)
class StepCost:
    """The cost of going from measure `from_index` to `to_index` (successive in playing order) across a page
    turn.

    All costs sum the `passes` on which the step is played: `cost` for a turn of one leaf; `extra_leaf_cost` is
    added for each further leaf, and `jump_cost` when the step is a jump (to_index != from_index + 1) that leaves
    the spread. `grade`, `hand`, `instant_s`, `free_s`, `carry`, `dropped` describe the worst pass;
    `terms` sum to `cost`. `hand` is "left", "right", "either", "both" (a player who needs both together) or
    "free"; `free_s` counts held notes in part and at most an unhurried turn's time on either side of the
    barline, `free_by_hand` is the same for each hand.
    """

    from_index: int
    to_index: int
    passes: int
    cost: int
    extra_leaf_cost: int
    jump_cost: int
    terms: Mapping[str, int]
    grade: Grade
    hand: str
    instant_s: float
    free_s: float
    carry: int
    dropped: int
    sentence: str
    free_by_hand: Mapping[str, float] = field(default_factory=dict)

    @property
    def is_jump(self) -> bool:
        """Whether the step does not simply go on to the next measure."""
        return self.to_index != self.from_index + 1


class StripKind(StrEnum):
    """Which way a carry strip moves a turn."""

    LATE = "late"  # the next bars, at the foot of the page before the turn: the player turns after them
    EARLY = "early"  # the last bars, at the head of the page after the turn: the player turns before them


@dataclass(frozen=True, slots=True)
class StripTurn:
    """What becomes of the step from measure `position` - 1 to `position` across a turn when measures `first`..`last`,
    which are next to it on every pass, can be read on both sides of it.

    `turn`: the step at which the player turns instead, `last` -> `last` + 1 of a late strip, `first` - 1 -> `first` of
    an early one, on the same passes.
    """

    position: int
    kind: StripKind
    first: int
    last: int
    turn: StepCost

    @property
    def bars(self) -> int:
        """How many measures are printed again."""
        return self.last - self.first + 1


@dataclass(frozen=True, slots=True)
class BarlineReading:
    """What the picture of the turns shows at one barline. `free_s`: by hand, in the same order for every
    barline.

    `double_bar`: a double bar, repeat or movement end stands there.
    """

    after_bar: str
    cost: int
    grade: Grade
    free_s: Mapping[str, float]
    double_bar: bool = False
