"""What a level of experience changes, and which staff sizes parts are printed in.

In: the user's choices for a set of parts.  Out: the same choices with the level's effects in them; staff sizes in mm,
largest first.  Always true: what the user set otherwise than its default stays; the middle level changes nothing
but what parts weigh.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any, Final

from optimizer.errors import UsageError
from optimizer.parts.model import Level, PartsSettings
from optimizer.settings import AUTO_STAFF_MM, TurnSettings


@dataclass(frozen=True, slots=True)
class Effects:
    """What holds for players of one level. `quick_s`, `unhurried_s`: how long a turn takes them at best and at ease;
    `carry`: chords they are glad to hold in memory; `staff_mm`: the staff size they read best; `least_staff_mm`: none
    smaller; a cue stands after a rest longer than `cue_bars` bars or `cue_s` seconds."""

    quick_s: float
    unhurried_s: float
    carry: int
    staff_mm: float
    least_staff_mm: float
    cue_bars: int
    cue_s: float


_TURN: Final = TurnSettings()
# 7.5 mm best, 7.0 tolerable for winds, under 7.0 unacceptable, over 8.5 avoided (MOLA 2017, p. 5; from memory).
PART_STAFF_MM: Final = 7.5
# What weighs otherwise in a part than in a pianist's copy, percent. A staff below the best size counts more, as parts
# under 7.0 mm are not accepted: half a millimetre costs 36 points a page, a whole one 150, more than the page that it
# saves (60 points and a turn). So do turns: nobody sits beside the player to turn, and all miss the lost notes. With a
# quarter more the first violin of a quartet (Boccherini, G. 213) gets two pages more and one hard turn instead of
# three; from 150 on staffs shrink below 7.0 mm where turns were easy already.
PART_WEIGHTS: Final[Mapping[str, int]] = {"staff-size": 300, "turns": 125, "back-turns": 125}
_USUAL: Final = Effects(_TURN.quick_s, _TURN.unhurried_s, _TURN.carry_allowance, PART_STAFF_MM, 6.5, 12, 30.0)
EFFECTS: Final[Mapping[Level, Effects]] = {
    # "4 s fine, 3 s tight" for a turn (wind arrangers' advice, needs.md): what others call unhurried is the least for
    # beginners at ease, and the motion of 1.6 s (MTM-1) half as long again, ours. Nothing in memory: amateurs see about
    # 2 notes ahead, professionals 4 (Furneaux & Land 1999). 8 mm: an orchestra library's staff for parts; 7: MOLA's
    # least. The limits of cues: two thirds of the usual ones, ours.
    Level.BEGINNER: Effects(2.4, 4.0, 0, 8.0, 7.0, 8, 20.0),
    Level.INTERMEDIATE: _USUAL,
    # Memory holds about 3 chunks without rehearsal (Chen & Cowan); one of them is left for what is being played.
    Level.ADVANCED: replace(_USUAL, carry=2, cue_bars=16, cue_s=40.0),
}


def effects(level: Level) -> Effects:
    """What the level changes."""
    return EFFECTS[level]


def applied(settings: PartsSettings) -> PartsSettings:
    """The choices with what the level sets in place of every default; UsageError for a staff smaller than the least
    that the user wants."""
    usual, wanted = EFFECTS[Level.INTERMEDIATE], effects(settings.level)
    staff_mm, least_mm = settings.paper.staff_mm, settings.least_staff_mm
    if staff_mm is not None and staff_mm < least_mm != usual.least_staff_mm:
        raise UsageError(
            f"--staff {staff_mm:g} is smaller than --least-staff {least_mm:g}: leave one of them out"
        )
    turns = settings.paper.turns
    own: dict[str, Any] = {
        "quick_s": turns.quick_s,
        "unhurried_s": turns.unhurried_s,
        "carry": turns.carry_allowance,
        "least_staff_mm": settings.least_staff_mm,
        "cue_bars": settings.cue_bars,
        "cue_s": settings.cue_s,
    }
    held = replace(wanted, **{name: value for name, value in own.items() if value != getattr(usual, name)})
    weights = {**PART_WEIGHTS, **settings.paper.weights_percent}
    turns = replace(turns, quick_s=held.quick_s, unhurried_s=held.unhurried_s, carry_allowance=held.carry)
    return replace(
        settings,
        paper=replace(
            settings.paper,
            turns=turns,
            weights_percent=weights,
            in_ensemble=True,
            instruments=settings.instruments or settings.paper.instruments,
        ),
        least_staff_mm=held.least_staff_mm,
        cue_bars=held.cue_bars,
        cue_s=held.cue_s,
    )


def staff_sizes_mm(settings: PartsSettings, staves: int = 1) -> tuple[float, ...]:
    """Candidates for a part of so many staves, a tenth of a millimetre apart, largest first.

    The largest is the one that is read best: the layout's term `staff-size` counts from there, with its weight for
    parts 1.5 points a page for the first tenth, 36 for half a millimetre, 150 for a whole one. Piano and harp parts are
    smaller: their systems take the room of two staves and more.
    """
    if settings.paper.staff_mm is not None:
        return (settings.paper.staff_mm,)
    best_mm = effects(settings.level).staff_mm if staves == 1 else AUTO_STAFF_MM[0]
    least_mm = settings.least_staff_mm if staves == 1 else min(settings.least_staff_mm, best_mm)
    least = math.ceil(round(least_mm * 10, 6))
    best = max(round(best_mm * 10), least)
    return tuple(tenths / 10 for tenths in range(best, least - 1, -1))
