"""Dynamics, words and hairpins below a system brought back to the staff that they belong to.

In: what is printed in a system, ours to change.  Always true: they move straight up, what stands side by side together,
and only where that brings them nearer by a good deal.

The library sets all dynamics and hairpins of a system on one level, below the lowest of its notes and below whatever
words one of them stands under; so they are read with the next staff.
"""

from collections.abc import Iterator, Sequence
from typing import Final

from optimizer.engrave.ground import Ground
from optimizer.engrave.outlines import Box

WHITE_SP: Final = 0.5  # between a sign and what is above it; this and what follows by eye
BESIDE_SP: Final = 0.5  # and between a sign and what it comes to stand beside
STAFF_WHITE_SP: Final = 1.0  # between a sign and its staff
LEAST_SP: Final = 2.0  # a sign that is less far off is read with its notes, on a level with its neighbours
LEVEL_SP: Final = 0.75  # signs whose middles differ by less stand on one level
LETTERS_SP: Final = 1.5  # height of letters, for the dashes alone of words in the system before
NEIGHBOUR_SP: Final = 3.0  # and signs no farther apart are read as one

_HAIRPIN: Final = "hairpin"
SIGNS: Final = ("dynam", "dir", _HAIRPIN)


def bring_nearer(ground: Ground) -> None:
    """Move the signs below a system, the nearest first."""
    if not ground.page.staff_bottoms_sp:
        return
    staff = ground.page.staff_bottoms_sp[-1]
    below = [own for own in ground.signs(SIGNS) if ground.hull(own)[1] > staff]
    for row in sorted(rows(ground, below), key=lambda row: row_hull(ground, row)[1]):
        items = [index for own in row for index in own]
        up = min(
            (up for own in row for box in _ink(ground, own) for up in _room(ground, box, items, staff)),
            default=0.0,
        )
        if up >= LEAST_SP:
            ground.move(items, 0.0, -up)


def _ink(ground: Ground, own: Sequence[int]) -> Iterator[Box]:
    """The ink of a sign; words with the dashes behind them as one, for between notes these would read as marks."""
    if ground.page.groups[own[0]].kind == _HAIRPIN:
        yield from ground.strips(own)
    else:
        left, top, right, bottom = ground.hull(own)
        yield left, min(top, bottom - LETTERS_SP), right, bottom


def row_hull(ground: Ground, row: Sequence[tuple[int, ...]]) -> Box:
    return ground.hull(index for own in row for index in own)


def rows(ground: Ground, signs: Sequence[tuple[int, ...]]) -> list[list[tuple[int, ...]]]:
    """Signs side by side on one level."""
    found: list[list[tuple[int, ...]]] = []
    for own in signs:  # from left to right
        near = [row for row in found if _are_neighbours(row_hull(ground, row), ground.hull(own))]
        found = [row for row in found if row not in near]
        found.append([*(other for row in near for other in row), own])
    return found


def _are_neighbours(first: Box, second: Box) -> bool:
    apart = max(first[0], second[0]) - min(first[2], second[2])
    return apart < NEIGHBOUR_SP and abs(first[1] + first[3] - second[1] - second[3]) / 2 < LEVEL_SP


def _room(ground: Ground, box: Box, row: Sequence[int], staff: float) -> Iterator[float]:
    """How far ink may move up: to the staff, and to all that is above it."""
    left, top, right, bottom = box
    left, right = left - BESIDE_SP, right + BESIDE_SP
    yield top - staff - STAFF_WHITE_SP
    for other in ground.strips(ground.near((left, staff, right, bottom), row)):
        if other[0] < right and left < other[2] and other[1] < bottom:
            yield top - other[3] - WHITE_SP
