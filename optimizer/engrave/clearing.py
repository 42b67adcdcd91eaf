"""Dynamics, words, hairpins, trills and clefs moved off what they are printed on.

In and out: a `PageSystem` from `svg`.  Always true: only they, and rests (resting.py), change; they move by as little
as it takes, letters also a little aside, and stay nearest to the staff, or between the staves, that they belong to.
Clefs move aside only.  A hairpin that runs into a dynamic or into the next hairpin is shortened.

The library keeps them clear of notes but not of beams between two staves, nor of some slurs.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from typing import Final

from optimizer.engrave.ground import BESIDE_SP, Ground, meet, overlap, taken
from optimizer.engrave.hairpins import open_specks, part_hairpins
from optimizer.engrave.lower import lower_dynamics
from optimizer.engrave.model import Glyph
from optimizer.engrave.nearer import bring_nearer
from optimizer.engrave.outlines import Box
from optimizer.engrave.resting import free_rests, part_from_clefs
from optimizer.engrave.slurs import bend_slurs
from optimizer.engrave.svg import Group, PageSystem

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

CLEF_WHITE_SP: Final = 0.25  # between a clef and what it is moved off; by eye
CLEF_ASIDE_SP: Final = 3.0  # a clef, 2 spaces wide, may move just beside an arpeggio

_MOVED: Final = ("dynam", "dir", "hairpin", "trill")
_LETTERS: Final = ("dynam", "dir")
_BEAMS: Final = ("beam", "beamSpan", "stem")
_ARPEGGIO: Final = "arpeg"
_BESIDE_CLEFS: Final = (*_BEAMS, _ARPEGGIO, "notehead", "flag", "accid")
_CROSSING_CLEFS: Final = ("slur", "tie", "hairpin")  # what may be crossed where there is no other way


def cleared(page: PageSystem) -> PageSystem:
    """The system put right."""
    ground = Ground(page)
    bend_slurs(ground)
    open_specks(ground)
    part_hairpins(ground)
    part_from_clefs(ground)
    free_rests(ground)
    _free_clefs(ground)
    for own in ground.signs(_MOVED):
        right_sp, down_sp = _shift(ground, own)
        if right_sp or down_sp:
            ground.move(own, right_sp, down_sp)
    bring_nearer(ground)
    lower_dynamics(ground)
    return ground.result()


def _free_clefs(ground: Ground) -> None:
    """A clef within a system stands before the arpeggio of the chord it is for, and after beams from another staff."""
    for clef in ground.signs(("clef",)):
        box = ground.hull(clef)
        hit = [
            index
            for index in ground.near(box, clef)
            if ground.page.groups[index].kind in _BESIDE_CLEFS
            and any(meet(strip, box) for strip in ground.strips((index,)))
        ]
        if not hit:
            continue
        left, _, right, _ = ground.hull(hit)
        ways = [left - CLEF_WHITE_SP - box[2]]
        if all(ground.page.groups[index].kind != _ARPEGGIO for index in hit):
            ways.append(right + CLEF_WHITE_SP - box[0])
        for aside in sorted(ways, key=abs):
            place = (box[0] + aside, box[1], box[2] + aside, box[3])
            around = (
                i for i in ground.near(place, clef) if ground.page.groups[i].kind not in _CROSSING_CLEFS
            )
            if abs(aside) <= CLEF_ASIDE_SP and not any(meet(ink, place) for ink in ground.strips(around)):
                ground.move(clef, aside, 0.0)
                break


def _shift(ground: Ground, own: Sequence[int]) -> tuple[float, float]:
    """How far right and down a sign has to move to stand clear; nowhere where it does, or where there is no room."""
    page, box = ground.page, ground.hull(own)
    ink = list(ground.strips(own))
    hit = [
        index
        for index in ground.near(box, own)
        if any(overlap(strip, other) for other in ground.strips((index,)) for strip in ink)
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
    ground: Ground, own: Sequence[int], ink: Sequence[Box], aside: float, reach: float
) -> Iterator[float]:
    """By how much a sign, moved aside, may move down or up so as to just clear everything."""
    filled = taken(ground, own, ink, aside, reach)
    yield from (edge for edge in (0.0, *_edges(filled)) if not any(low < edge < high for low, high in filled))


def _edges(intervals: Sequence[tuple[float, float]]) -> Iterator[float]:
    for low, high in intervals:
        yield from (low, high)


def _reach_sp(ground: Ground, hit: Iterable[int], gap: int) -> float:
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
