"""Dynamics, words, hairpins, trills and rests moved off what they are printed on.

In and out: a `PageSystem` from `svg`.  Always true: only they change; they move by as little as it takes, letters also
a little aside, and stay nearest to the staff, or between the staves, that they belong to; rests move by whole spaces.
A hairpin that runs into a dynamic or into the next hairpin is shortened.

The library keeps them clear of notes but not of beams between two staves, nor of some slurs, and rests not of all that
another voice has there.
"""

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import replace
from itertools import takewhile
from typing import Final

from optimizer.engrave.model import Glyph, Item, Path
from optimizer.engrave.outlines import Box, map_box, map_segments
from optimizer.engrave.strips import moved, strips
from optimizer.engrave.svg import Group, PageSystem

CLEAR_SP: Final = 0.3  # white above and below what has been moved; by eye
BESIDE_SP: Final = 0.2  # white left and right of it; by eye
LEAST_OVERLAP_SP: Final = 0.1  # less is a matter of boxes, or hidden by the thickness of lines
REACH_SP: Final = 2.5  # farther from its place a sign is no longer read with its notes; by eye
REACH_BETWEEN_SP: Final = 5.0  # between the two staves of one part a sign may stand anywhere
ASIDE_SP: Final = (
    0.0,
    -1.0,
    1.0,
    -2.0,
    2.0,
)  # a letter may move as far aside and still be read with its note
ASIDE_COST: Final = 1.5  # moved up or down it is read better than moved aside
REACH_OUTSIDE_SP: Final = 16.0  # beams between two staves may fill all the room there
HAIRPIN_GAP_SP: Final = 0.4  # between a hairpin and what comes before or after it; by eye
HAIRPIN_LEAST_SP: Final = 2.0  # shorter ones read as accents
HAIRPIN_CUT_SP: Final = 2.5  # one that reaches farther into something was meant to be beside it

# By how much a rest may move, in spaces: farther up or down it is no longer read with its voice; by eye.
REST_STEPS_SP: Final = (-1.0, 1.0, -2.0, 2.0, -3.0, 3.0, -4.0, 4.0)
_LINED: Final = frozenset({"E4E3", "E4E4"})  # whole and half rests need a line to hang or sit on

_MOVED: Final = ("dynam", "dir", "hairpin", "trill")
_LETTERS: Final = ("dynam", "dir")
_BEAMS: Final = ("beam", "beamSpan", "stem")
_SOUNDING: Final = frozenset({"notehead", "flag", "accid", *_BEAMS})
# What may be crossed: barlines are, by common practice, and the others stand aside or are handled as a whole.
_PASSED: Final = frozenset({"staff", "barLine", "grpSym", "label", "labelAbbr", "system", "measure"})


def cleared(page: PageSystem) -> PageSystem:
    """The system put right."""
    ground = _Ground(page)
    _part_hairpins(ground)
    _free_rests(ground)
    for own in ground.signs(_MOVED):
        right_sp, down_sp = _shift(ground, own)
        if right_sp or down_sp:
            ground.move(own, right_sp, down_sp)
    return replace(page, items=tuple(ground.items), boxes=tuple(ground.boxes)) if ground.changed else page


class _Ground:
    """What is printed, found by where it is; it changes as things move."""

    BUCKET_SP: Final = 4.0

    def __init__(self, page: PageSystem) -> None:
        self.page = page
        self.items: list[Item] = list(page.items)
        self.boxes: list[Box] = list(page.boxes)
        self.changed = False
        self._strips: dict[int, list[Box]] = {}
        self._buckets: dict[int, list[int]] = defaultdict(list)
        for index, (box, group) in enumerate(zip(page.boxes, page.groups, strict=True)):
            for bucket in self._span(box) if group.kind not in _PASSED else ():
                self._buckets[bucket].append(index)

    def signs(self, kinds: Collection[str]) -> list[tuple[int, ...]]:
        """Items of each sign of these kinds, from left to right."""
        found: dict[Group, list[int]] = defaultdict(list)
        for index, group in enumerate(self.page.groups):
            if group.kind in kinds:
                found[group].append(index)
        return sorted((tuple(own) for own in found.values()), key=self.hull)

    def hull(self, own: Iterable[int]) -> Box:
        """The box of a sign."""
        lefts, tops, rights, bottoms = zip(*(self.boxes[index] for index in own), strict=True)
        return min(lefts), min(tops), max(rights), max(bottoms)

    def near(self, box: Box, own: Collection[int]) -> list[int]:
        """Other items that meet a box."""
        found = {index for bucket in self._span(box) for index in self._buckets[bucket]}
        return [index for index in found.difference(own) if _meet(self.boxes[index], box)]

    def strips(self, indices: Iterable[int]) -> Iterator[Box]:
        """The ink of items."""
        for index in indices:
            if index not in self._strips:
                self._strips[index] = strips(self.items[index], self.boxes[index])
            yield from self._strips[index]

    def move(self, own: Iterable[int], right_sp: float, down_sp: float) -> None:
        """Move a sign."""
        step = (1.0, 0.0, 0.0, 1.0, right_sp, down_sp)
        for index in own:
            self._put(index, moved(self.items[index], right_sp, down_sp), map_box(self.boxes[index], step))

    def narrow(self, own: Iterable[int], left: float, right: float) -> None:
        """Give a sign of lines new ends."""
        old_left, _, old_right, _ = self.hull(own)
        scale = (right - left) / (old_right - old_left)
        matrix = (scale, 0.0, 0.0, 1.0, left - scale * old_left, 0.0)
        for index in own:
            item = self.items[index]
            if isinstance(item, Path):
                item = replace(item, segments=tuple(map_segments(item.segments, matrix)))
                self._put(index, item, map_box(self.boxes[index], matrix))

    def _put(self, index: int, item: Item, box: Box) -> None:
        for bucket in self._span(self.boxes[index]):
            self._buckets[bucket].remove(index)
        for bucket in self._span(box):
            self._buckets[bucket].append(index)
        self.items[index], self.boxes[index] = item, box
        self._strips.pop(index, None)
        self.changed = True

    def _span(self, box: Box) -> range:
        return range(int(box[0] // self.BUCKET_SP), int(box[2] // self.BUCKET_SP) + 1)


def _meet(first: Box, second: Box) -> bool:
    return first[0] < second[2] and second[0] < first[2] and first[1] < second[3] and second[1] < first[3]


def _part_hairpins(ground: _Ground) -> None:
    """A hairpin ends before the dynamic or hairpin that comes next, and begins after the one before."""
    letters = ground.signs(_LETTERS)
    hairpins = [
        own for own in ground.signs(("hairpin",)) if all(isinstance(ground.items[i], Path) for i in own)
    ]
    for order, own in enumerate(hairpins):
        left, top, right, bottom = ground.hull(own)
        start, end = left, right
        for other in (*letters, *hairpins[order + 1 :]):
            box = ground.hull(other)
            if not _meet((left - HAIRPIN_GAP_SP, top, right + HAIRPIN_GAP_SP, bottom), box):
                continue
            if 0 < right + HAIRPIN_GAP_SP - box[0] < HAIRPIN_CUT_SP and box[2] > right:
                end = min(end, box[0] - HAIRPIN_GAP_SP)
            elif 0 < box[2] + HAIRPIN_GAP_SP - left < HAIRPIN_CUT_SP and box[0] < left:
                start = max(start, box[2] + HAIRPIN_GAP_SP)
        if (start, end) != (left, right) and end - start >= HAIRPIN_LEAST_SP:
            ground.narrow(own, start, end)


def _free_rests(ground: _Ground) -> None:
    """Rests move off the notes of other voices, and off beams over them."""
    for rest in ground.signs(("rest",)):
        glyph = ground.items[rest[0]]
        around = ground.near(ground.hull(rest), rest) if getattr(glyph, "name", "") not in _LINED else ()
        notes = [index for index in around if ground.page.groups[index].kind in _SOUNDING]
        ink = list(ground.strips(rest)) if notes else ()
        if any(_overlap(strip, other) for other in ground.strips(notes) for strip in ink):
            own = (*rest, *_dots_of(ground.page, rest[-1]))
            taken = _taken(ground, own, list(ground.strips(own)), 0.0, REST_STEPS_SP[-1])
            free = (step for step in REST_STEPS_SP if not any(low < step < high for low, high in taken))
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


def _shift(ground: _Ground, own: Sequence[int]) -> tuple[float, float]:
    """How far right and down a sign has to move to stand clear; nowhere where it does, or where there is no room."""
    page, box = ground.page, ground.hull(own)
    ink = list(ground.strips(own))
    hit = [
        index
        for index in ground.near(box, own)
        if any(_overlap(strip, other) for other in ground.strips((index,)) for strip in ink)
    ]
    if not hit:
        return 0.0, 0.0
    middle = (box[1] + box[3]) / 2
    gap = sum(bottom_sp < middle for bottom_sp in page.staff_bottoms_sp)
    kind = page.groups[own[0]].kind
    reach = REACH_SP if kind == "trill" else _reach_sp(ground, hit, gap)
    ways = [
        (right, down)
        for right in (ASIDE_SP if kind in _LETTERS else ASIDE_SP[:1])
        if _barlines(page, box, right) <= _barlines(page, box, 0.0)
        for down in _free_shifts(ground, own, ink, right, reach)
        if abs(down) <= reach and _is_at_home(page, gap, middle + down)
    ]
    return min(ways, key=lambda way: ASIDE_COST * abs(way[0]) + abs(way[1]), default=(0.0, 0.0))


def _barlines(page: PageSystem, box: Box, aside: float) -> int:
    """How many barlines a sign, moved aside, stands over."""
    return sum(box[0] + aside - BESIDE_SP < x < box[2] + aside + BESIDE_SP for x in page.barlines_sp)


def _free_shifts(
    ground: _Ground, own: Sequence[int], ink: Sequence[Box], aside: float, reach: float
) -> Iterator[float]:
    """By how much a sign, moved aside, may move down or up so as to just clear everything."""
    taken = _taken(ground, own, ink, aside, reach)
    yield from (edge for edge in (0.0, *_edges(taken)) if not any(low < edge < high for low, high in taken))


def _taken(
    ground: _Ground, own: Sequence[int], ink: Sequence[Box], aside: float, reach: float
) -> list[tuple[float, float]]:
    """Between which ways down a sign, moved aside, would meet something."""
    left, top, right, bottom = ground.hull(own)
    left, right = left + aside, right + aside
    around = ground.near((left - BESIDE_SP, top - reach, right + BESIDE_SP, bottom + reach), own)
    others = [*ground.strips(around), *_staves(ground.page, (left, top, right, bottom))]
    return sorted(
        (other[1] - CLEAR_SP - strip[3], other[3] + CLEAR_SP - strip[1])
        for other in others
        for strip in ink
        if other[0] < strip[2] + aside + BESIDE_SP and strip[0] + aside - BESIDE_SP < other[2]
    )


def _overlap(first: Box, second: Box) -> bool:
    return (
        min(first[2], second[2]) - max(first[0], second[0]) > LEAST_OVERLAP_SP
        and min(first[3], second[3]) - max(first[1], second[1]) > LEAST_OVERLAP_SP
    )


def _edges(intervals: Sequence[tuple[float, float]]) -> Iterator[float]:
    for low, high in intervals:
        yield from (low, high)


def _staves(page: PageSystem, box: Box) -> Iterator[Box]:
    """Boxes of the staves that a sign is not printed on already."""
    for top, bottom in zip(page.staff_tops_sp, page.staff_bottoms_sp, strict=True):
        staff = (0.0, top, page.right_sp, bottom)
        if not _meet(staff, box):
            yield staff


def _reach_sp(ground: _Ground, hit: Iterable[int], gap: int) -> float:
    """How far a sign may move. Beams between the two staves of one part may leave no room there."""
    if not _is_braced(ground.page, gap):
        return REACH_SP
    beams = any(ground.page.groups[index].kind in _BEAMS for index in hit)
    return REACH_OUTSIDE_SP if beams else REACH_BETWEEN_SP


def _is_braced(page: PageSystem, gap: int) -> bool:
    """Whether a brace joins the staves above and below a gap: it is drawn in outline, brackets end in glyphs."""
    if not 0 < gap < len(page.staff_tops_sp):
        return False
    joined: dict[Group, list[Box]] = defaultdict(list)
    glyphs = set()
    for item, box, group in zip(page.items, page.boxes, page.groups, strict=True):
        if group.kind == "grpSym":
            joined[group].append(box)
            if isinstance(item, Glyph):
                glyphs.add(group)
    above, below = page.staff_bottoms_sp[gap - 1], page.staff_tops_sp[gap]
    braces = (boxes for group, boxes in joined.items() if group not in glyphs)
    return any(
        min(box[1] for box in boxes) < above and max(box[3] for box in boxes) > below for boxes in braces
    )


def _is_at_home(page: PageSystem, gap: int, middle: float) -> bool:
    """Whether a sign between two staves (`gap` above the first) is, moved to `middle`, still nearer to them than to
    the next ones."""
    tops, bottoms = page.staff_tops_sp, page.staff_bottoms_sp
    limits = [
        (bottoms[gap - 2] + tops[gap - 1]) / 2 if gap > 1 else float("-inf"),
        (bottoms[gap] + tops[gap + 1]) / 2 if gap + 1 < len(tops) else float("inf"),
    ]
    return limits[0] < middle < limits[1]
