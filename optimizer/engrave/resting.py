"""Rests moved off the notes of other voices, off beams and slurs over them, and off clefs.

In: what is printed in a system, ours to change.  Always true: only rests change, with their dots, fermatas, numbers and
the short lines that some hang from or sit on; they move up or down by whole spaces, or a little aside.

The library keeps rests clear of some, not of all that another voice has there; it does not see the stems of cues, nor
that a clef at the end of a bar takes away room from a rest for the whole of it, or for several bars.
"""

from collections.abc import Iterator, Sequence
from itertools import takewhile
from typing import Final

from optimizer.engrave.ground import BESIDE_SP, Ground, nearest_staff, overlap, taken
from optimizer.engrave.model import Glyph, Path
from optimizer.engrave.outlines import Box
from optimizer.engrave.svg import PageSystem

# By how much a rest may move, in spaces: farther up or down it is no longer read with its voice; by eye.
STEPS_SP: Final = (1.0, 2.0, 3.0, 4.0, 5.0)
ASIDE_SP: Final = 1.0  # a rest may move as far aside and still be read at its time; by eye
ASIDE_COST_SP: Final = 1.5  # which is better than to move up or down by more than this
TOUCH_SP: Final = 0.1  # a rest that comes so near to a note above or below it seems to touch it
LINE_SP: Final = 0.2  # how thick a short line is,
LINE_OVER_SP: Final = 0.33  # and how far it stands out on either side of its rest: as the library draws them
BESIDE_CLEF_SP: Final = 0.7  # white between a rest for several bars and a clef; by eye
LEAST_BLOCK_SP: Final = 2.0  # a shorter block would read as a rest for one bar
ROUNDING: Final = 1e-6
# Whole rests hang from a line, half rests sit on one (SMuFL); which edge of their box that is.
_LINED: Final = {"E4E3": 1, "E4E4": 3}
_SOUNDING: Final = frozenset({"notehead", "flag", "accid", "beam", "beamSpan", "stem", "slur"})


def part_from_clefs(ground: Ground) -> None:
    """A rest for a whole bar stands in the middle of what a clef at its end leaves; one for several bars ends before
    the clef."""
    clefs = [ground.boxes[index] for own in ground.signs(("clef",)) for index in own]
    barlines = sorted(ground.boxes[index][0] for own in ground.signs(("barLine",)) for index in own)
    for rest in ground.signs(("mRest", "multiRest")) if clefs else ():
        left, top, right, bottom = ground.hull(rest)
        end = next((x for x in barlines if x > right), ground.page.right_sp)
        staff = _staff_at(ground, (left, top, right, bottom))
        clef = next(
            (box[0] for box in clefs if left < box[0] < end and box[1] < staff[1] and staff[0] < box[3]), None
        )
        if clef is None:
            continue
        if ground.page.groups[rest[0]].kind == "mRest":
            around = [index for own in ground.signs(("fermata",)) for index in own]
            with_it = (
                index
                for index in around
                if left < _middle(ground.boxes[index]) < right
                and _staff_at(ground, ground.boxes[index]) == staff
            )
            ground.move((*rest, *_line_of(ground, rest[0]), *with_it), (clef - end) / 2, 0.0)
        elif clef - BESIDE_CLEF_SP - left > LEAST_BLOCK_SP:
            _shorten(ground, rest, clef - BESIDE_CLEF_SP)


def _shorten(ground: Ground, rest: Sequence[int], end: float) -> None:
    """The block of a rest for several bars ends earlier, with the stroke at its end; its number stays in the middle."""
    shapes = [index for index in rest if isinstance(ground.items[index], Path)]
    block = max(shapes, key=lambda index: ground.boxes[index][2] - ground.boxes[index][0], default=None)
    if block is None:
        return
    left, _, right, _ = ground.boxes[block]
    staff = _staff_at(ground, ground.boxes[block])
    over, middle = right - end, (left + right) / 2
    ground.narrow((block,), left, end)
    for index in shapes:
        if index != block and _middle(ground.boxes[index]) > middle:
            ground.move((index,), -over, 0.0)
    for number in ground.signs(("multiRestNum",)):
        if left < _middle(ground.hull(number)) < right and _staff_at(ground, ground.hull(number)) == staff:
            ground.move(number, -over / 2, 0.0)


def _middle(box: Box) -> float:
    return (box[0] + box[2]) / 2


def _staff_at(ground: Ground, box: Box) -> tuple[float, float]:
    """Top and bottom line of the staff that something belongs to."""
    return nearest_staff(ground.page, (box[1] + box[3]) / 2)


def free_rests(ground: Ground) -> None:
    """Move the rests of a system."""
    for rest in ground.signs(("rest", "mRest")):
        hit = _notes_on(ground, rest)
        if not hit:
            continue
        marks = (*rest, *_dots_of(ground.page, rest[-1]))
        own = (*marks, *_line_of(ground, rest[0]))
        ink = list(ground.strips(marks))
        ways = [(0.0, step) for step in _steps(ground, own, ink)]
        if ground.page.groups[rest[0]].kind == "rest":  # those for a whole bar stay in its middle
            ways += ((aside, 0.0) for aside in _asides(ground, own, ink, hit))
        right, down = min(ways, key=_cost_sp, default=(0.0, 0.0))
        if right or down:
            ground.move(own, right, down)
            if own == marks:
                _underline(ground, rest[0])


def _cost_sp(way: tuple[float, float]) -> float:
    right, down = way
    return abs(down) + (abs(right) + ASIDE_COST_SP if right else 0.0)


def _notes_on(ground: Ground, rest: Sequence[int]) -> list[int]:
    """What of notes and slurs is printed on a rest; stems are thinner than what else may overlap unseen."""
    left, top, right, bottom = ground.hull(rest)
    around = ground.near((left, top - TOUCH_SP, right, bottom + TOUCH_SP), rest)
    ink = [(box[0], box[1] - TOUCH_SP, box[2], box[3] + TOUCH_SP) for box in ground.strips(rest)]
    kinds = [ground.page.groups[index].kind for index in around]
    return [
        index
        for index, kind in zip(around, kinds, strict=True)
        if kind == "stem"
        or (
            kind in _SOUNDING
            and any(overlap(strip, other) for other in ground.strips((index,)) for strip in ink)
        )
    ]


def _steps(ground: Ground, own: Sequence[int], ink: Sequence[Box]) -> Iterator[float]:
    """Ways down that a rest may move, the shortest first, and those that lead away from the middle of its staff."""
    _, top, _, bottom = ground.boxes[own[0]]
    above, below = _staff_at(ground, ground.boxes[own[0]])
    first = 1.0 if top + bottom > above + below else -1.0
    filled = taken(ground, own, ink, 0.0, STEPS_SP[-1])
    for step in (way * steps for steps in STEPS_SP for way in (first, -first)):
        if not any(low < step < high for low, high in filled):
            yield step


def _asides(ground: Ground, own: Sequence[int], ink: Sequence[Box], hit: Sequence[int]) -> Iterator[float]:
    """Ways to the right that a rest may move to stand just beside what it is printed on."""
    left, _, right, _ = ground.hull(own)
    boxes = [ground.boxes[index] for index in hit]
    beyond = max(box[2] for box in boxes) + BESIDE_SP - left, min(box[0] for box in boxes) - BESIDE_SP - right
    for aside in beyond:
        if abs(aside) <= ASIDE_SP and not any(
            low < 0 < high for low, high in taken(ground, own, ink, aside * (1 + ROUNDING), 0.0)
        ):
            yield aside


def _dots_of(page: PageSystem, rest: int) -> tuple[int, ...]:
    """The dots of a rest are drawn right after it."""
    following = page.groups[rest + 1 : rest + 2]
    if not following or following[0].kind != "dots":
        return ()
    return tuple(
        takewhile(lambda index: page.groups[index] == following[0], range(rest + 1, len(page.groups)))
    )


def _line_of(ground: Ground, rest: int) -> tuple[int, ...]:
    """The short line of a rest that needs one."""
    if (y := _line_height(ground, rest)) is None:
        return ()
    left, _, right, _ = ground.boxes[rest]
    around = ground.near((left, y - LINE_SP / 2, right, y + LINE_SP / 2), (rest,))
    return tuple(
        index
        for index in around
        if ground.page.groups[index].kind == "ledgerLines"
        and abs((ground.boxes[index][1] + ground.boxes[index][3]) / 2 - y) < LINE_SP / 2
    )[:1]


def _line_height(ground: Ground, rest: int) -> float | None:
    glyph = ground.items[rest]
    edge = _LINED.get(glyph.name) if isinstance(glyph, Glyph) else None
    return None if edge is None else ground.boxes[rest][edge]


def _underline(ground: Ground, rest: int) -> None:
    """Outside the staff a rest that needs a line gets one."""
    if (y := _line_height(ground, rest)) is None:
        return
    left, _, right, _ = ground.boxes[rest]
    above, below = _staff_at(ground, ground.boxes[rest])
    if not above - LINE_SP < y < below + LINE_SP:
        ends = (left - LINE_OVER_SP, right + LINE_OVER_SP)
        line = Path((("M", ends[0], y), ("L", ends[1], y)), False, LINE_SP)
        ground.add(line, (ends[0], y - LINE_SP / 2, ends[1], y + LINE_SP / 2), rest)
