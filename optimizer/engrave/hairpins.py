"""Hairpins told apart from what comes before and after them, and opened where they would be specks.

In: what is printed in a system, ours to change.  Always true: hairpins stay on their level.

The library draws one from note to note, even where these stand so close that nothing of it is left.
"""

from dataclasses import replace
from typing import Final

from optimizer.engrave.ground import Ground, meet, nearest_staff
from optimizer.engrave.model import Path

GAP_SP: Final = 0.4  # between a hairpin and what comes before or after it; by eye
LEAST_SP: Final = 2.0  # shorter ones read as accents
CUT_SP: Final = 2.5  # one that reaches farther into something was meant to be beside it
SPECK_SP: Final = 1.2  # and so short they cannot be read at all
MOUTH_SP: Final = 0.8  # least opening of one that is made longer; by eye

_LETTERS: Final = ("dynam", "dir")


def _hairpins(ground: Ground) -> list[tuple[int, ...]]:
    signs = ground.signs(("hairpin",))
    return [own for own in signs if all(isinstance(ground.items[index], Path) for index in own)]


def open_specks(ground: Ground) -> None:
    """Hairpins that are too short to be read go on behind their note, and open away from their staff."""
    for own in _hairpins(ground):
        left, top, right, bottom = ground.hull(own)
        item = ground.items[own[0]]
        if (
            right - left >= SPECK_SP
            or not isinstance(item, Path)
            or [s[0] for s in item.segments] != list("MLL")
        ):
            continue
        mouth, tip = (float(segment[1]) for segment in item.segments[:2])
        if mouth == tip:  # it cannot be told which way it goes
            continue
        end = min(left + LEAST_SP, ground.page.right_sp)
        start = end - LEAST_SP
        mouth, tip = (end, start) if mouth > tip else (start, end)
        low = max(bottom, top + MOUTH_SP) if _is_below(ground, (top + bottom) / 2) else bottom
        high = min(top, low - MOUTH_SP)
        opened = (("M", mouth, low), ("L", tip, (low + high) / 2), ("L", mouth, high))
        half = item.stroke_sp / 2
        box = (start - half, high - half, end + half, low + half)
        ground.put(own[0], replace(item, segments=opened), box)


def _is_below(ground: Ground, y: float) -> bool:
    """Whether the staff that a height is nearest to is above it."""
    top, bottom = nearest_staff(ground.page, y)
    return 2 * y > top + bottom


def part_hairpins(ground: Ground) -> None:
    """A hairpin ends before the dynamic or hairpin that comes next, and begins after the one before."""
    letters = ground.signs(_LETTERS)
    hairpins = _hairpins(ground)
    for order, own in enumerate(hairpins):
        left, top, right, bottom = ground.hull(own)
        start, end = left, right
        for other in (*letters, *hairpins[order + 1 :]):
            box = ground.hull(other)
            if not meet((left - GAP_SP, top, right + GAP_SP, bottom), box):
                continue
            if 0 < right + GAP_SP - box[0] < CUT_SP and box[2] > right:
                end = min(end, box[0] - GAP_SP)
            elif 0 < box[2] + GAP_SP - left < CUT_SP and box[0] < left:
                start = max(start, box[2] + GAP_SP)
        if (start, end) != (left, right) and end - start >= LEAST_SP:
            ground.narrow(own, start, end)
