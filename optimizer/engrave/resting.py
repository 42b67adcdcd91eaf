"""Rests moved off the notes of other voices, and off beams over them.

In: what is printed in a system, ours to change.  Always true: only rests and their dots move, by whole spaces.

The library keeps rests clear of some, not of all that another voice has there.
"""

from itertools import takewhile
from typing import Final

from optimizer.engrave.ground import Ground, overlap, taken
from optimizer.engrave.svg import PageSystem

# By how much a rest may move, in spaces: farther up or down it is no longer read with its voice; by eye.
STEPS_SP: Final = (-1.0, 1.0, -2.0, 2.0, -3.0, 3.0, -4.0, 4.0)
_LINED: Final = frozenset({"E4E3", "E4E4"})  # whole and half rests need a line to hang or sit on
_SOUNDING: Final = frozenset({"notehead", "flag", "accid", "beam", "beamSpan", "stem"})


def free_rests(ground: Ground) -> None:
    """Rests move off the notes of other voices, and off beams over them."""
    for rest in ground.signs(("rest",)):
        glyph = ground.items[rest[0]]
        around = ground.near(ground.hull(rest), rest) if getattr(glyph, "name", "") not in _LINED else ()
        notes = [index for index in around if ground.page.groups[index].kind in _SOUNDING]
        ink = list(ground.strips(rest)) if notes else ()
        if any(overlap(strip, other) for other in ground.strips(notes) for strip in ink):
            own = (*rest, *_dots_of(ground.page, rest[-1]))
            filled = taken(ground, own, list(ground.strips(own)), 0.0, STEPS_SP[-1])
            free = (step for step in STEPS_SP if not any(low < step < high for low, high in filled))
            if step := next(free, None):
                ground.move(own, 0.0, step)


def _dots_of(page: PageSystem, rest: int) -> tuple[int, ...]:
    """The dots of a rest are drawn right after it."""
    following = page.groups[rest + 1 : rest + 2]
    if not following or following[0].kind != "dots":
        return ()
    return tuple(
        takewhile(lambda index: page.groups[index] == following[0], range(rest + 1, len(page.groups)))
    )
