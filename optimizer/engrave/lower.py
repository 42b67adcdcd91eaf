"""Dynamics that all but touch the staff or the notes above them, set a little lower.

In: what is printed in a system, ours to change.  Always true: no system grows, they move straight down by half a space
at most, stay nearer to their own staff than to the next, and what stands side by side moves together.

The library sets dynamics as close as a fifth of a space below the lowest line, where a letter reads as part of it.
"""

from collections.abc import Iterable, Iterator, Sequence
from typing import Final

from optimizer.engrave.ground import Ground, meet
from optimizer.engrave.nearer import BESIDE_SP, SIGNS, row_hull, rows
from optimizer.engrave.outlines import Box

WHITE_SP: Final = 0.7  # wanted above a dynamic; this and what follows by eye
TIGHT_SP: Final = 0.45  # a dynamic with more white is left where it is
LEAST_SP: Final = 0.25  # a shorter way would not be seen
MOST_SP: Final = 0.5
BELOW_SP: Final = 0.5  # white between a sign that moves and what is below it
NEXT_STAFF_SP: Final = 1.0  # white kept above the next staff, so that a dynamic is not read with it

_DYNAMIC: Final = "dynam"
_NOTES: Final = frozenset({"notehead", "stem", "flag", "beam", "beamSpan", "artic", "ledgerLines", "dots"})


def lower_dynamics(ground: Ground) -> None:
    """Move dynamics down, with the words and hairpins beside them, where there is room."""
    page = ground.page
    lowest = max((box[3] for box in ground.boxes), default=0.0)
    ends = [*(top - NEXT_STAFF_SP for top in page.staff_tops_sp[1:]), lowest]
    for staff, end in zip(page.staff_bottoms_sp, ends, strict=True):
        for row in rows(ground, _between(ground, staff, end)):
            items = [index for own in row for index in own]
            dynamics = (own for own in row if page.groups[own[0]].kind == _DYNAMIC)
            white = min((_white_above(ground, own, items, staff) for own in dynamics), default=WHITE_SP)
            if white < TIGHT_SP:
                room = (end - row_hull(ground, row)[3], *_room_below(ground, items))
                down = min(MOST_SP, WHITE_SP - white, *room)
                if down >= LEAST_SP:
                    ground.move(items, 0.0, down)


def _between(ground: Ground, staff: float, end: float) -> list[tuple[int, ...]]:
    """Signs from the lowest line of a staff to where the room for them ends."""
    hulls = ((own, ground.hull(own)) for own in ground.signs(SIGNS))
    return [own for own, (_, top, _, bottom) in hulls if staff < top and bottom <= end]


def _white_above(ground: Ground, own: Sequence[int], row: Sequence[int], staff: float) -> float:
    """Between a sign and its staff, or the notes that come down to it."""
    left, top, right, bottom = ground.hull(own)
    above = (left, staff, right, bottom)
    notes = [index for index in ground.near(above, row) if ground.page.groups[index].kind in _NOTES]
    return top - max((staff, *(ink[3] for ink in _inks(ground, above, notes) if ink[3] <= top)))


def _room_below(ground: Ground, row: Sequence[int]) -> Iterator[float]:
    """How far down the ink of a row may move to just clear what is below it."""
    for left, top, right, bottom in ground.strips(row):
        area = (left - BESIDE_SP, top, right + BESIDE_SP, bottom + MOST_SP + BELOW_SP)
        yield from (
            ink[1] - BELOW_SP - bottom
            for ink in _inks(ground, area, ground.near(area, row))
            if ink[3] > bottom
        )


def _inks(ground: Ground, area: Box, items: Iterable[int]) -> Iterator[Box]:
    """What of these items is printed in an area."""
    return (ink for ink in ground.strips(items) if meet(ink, area))
