"""What the library draws over other things or beyond the edge, put right on the display list.

In and out: a `PageSystem` from `svg`.  Always true: notes, staff lines and barlines stay where they are, and `boxes[i]`
and `groups[i]` go with `items[i]`.

Endings stand once, over the top staff; dynamics side by side are told apart, and so are rehearsal marks and words;
ties to nothing, and slurs and ties that come in from the system before, are long enough to be seen; hairpins and
dashes that end where a system begins leave no tip, and slurs from another staff do not go through the notes there;
frames hold all of their words; lines and words of the lyrics, and words about playing, end at the right edge of the
staff.
"""

import math
from bisect import bisect
from collections import defaultdict
from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace
from typing import Final

from optimizer.engrave.clearing import cleared
from optimizer.engrave.ground import LEAST_OVERLAP_SP, overlap
from optimizer.engrave.hairpins import LEAST_SP as HAIRPIN_LEAST_SP
from optimizer.engrave.model import Glyph, Item, Path, Text
from optimizer.engrave.outlines import Box, Segment, map_segments, rectangle, segments_box
from optimizer.engrave.strips import moved, strips
from optimizer.engrave.svg import Group, PageSystem

WHITE_SP: Final = 0.5  # between two dynamics; by eye
OVER_BARLINE_SP: Final = 2.0  # a dynamic this far over the barline is still read with its note; by eye
LEAST_EXTENDER_SP: Final = 1.0  # a shorter line after a syllable looks like a full stop
LEAST_HYPHEN_SP: Final = 0.8  # and a shorter hyphen like a speck; so long, it may stand out into the margin
# The library draws extenders on the baseline and hyphens half the height of a small letter above it.
BASELINE_SP: Final = 0.25
BESIDE_HEAD_SP: Final = 0.1  # white between a note and a tie that begins beside it; by eye
RINGING_SP: Final = 2.0  # least length of a tie to nothing, half a space of it over the head; by eye
RINGING_BESIDE_SP: Final = 1.5  # and of one that begins beside the head
# A slur whose ends are farther apart goes from staff to staff: 4 spaces of one and 6 between two.
CROSSING_SP: Final = 10.0
SLUR_WHITE_SP: Final = 0.6  # between a slur and the notes under it; this and what follows by eye
SLUR_START_SP: Final = 6.0  # the notes that a slur coming from the system before begins over
SLUR_DEPTH_SP: Final = 6.0  # it is flat rather than clear of single notes far out
SLUR_THICKNESS_SP: Final = 0.4
STUBS_SP: Final = (2.0, 1.6, 1.3)  # lengths of what comes in from the system before, the best first; by eye
_WORDS: Final = ("syl", "dir", "tempo", "dynam")
WORDS_WHITE_SP: Final = 1.0  # between words and other words; by eye
LEAST_MARK_SP: Final = (
    2.0  # words that begin farther inside a rehearsal mark were meant to stand over or under it
)
DASH_SP: Final = 1.0  # the library draws dashes of two thirds of this, and strokes of several spaces
_MARKS: Final = ("reh", "fermata")
_ENDING: Final = "voltaBracket"
_RINGING: Final = "lv"
_HAIRPIN: Final = "hairpin"
_SLUR: Final = "slur"
_CURVES: Final = (_SLUR, "tie")
_PLAYED: Final = frozenset({"notehead", "rest", "mRest"})
_UNDER_SLURS: Final = frozenset({"notehead", "stem", "beam", "beamSpan", "flag", "accid", "artic"})
# Control points of both edges of a slur that comes in: parts of its length back, and of its rise.
_INCOMING: Final = ((0.15, 0.55), (0.5, 0.95), (0.45, 1.35), (0.05, 0.85))
_OPENING: Final = frozenset(
    {"clef", "keySig", "keyAccid", "meterSig", "accid", "notehead", "label", "grpSym"}
)
_UNDER_TIES: Final = "notehead"
_TIE: Final = ((0.2, 0.6), (0.3, 0.85))  # control points of both edges: part of the length, depth in spaces


def without_overlaps(page: PageSystem) -> PageSystem:
    """The system put right."""
    curves = _lengthen_stubs(
        _lift_slurs(_lengthen_ringing_ties(_drop_tips(_drop_lone_dashes(_keep_top_endings(page)))))
    )
    lines = _trim_lyric_lines(curves)
    return cleared(_pull_words_in(_part_marks(_part_dynamics(_widen_frames(lines)))))


def _keep_top_endings(page: PageSystem) -> PageSystem:
    """The library draws endings over each group of staves."""
    return _without(
        page,
        {
            index
            for index, (group, box) in enumerate(zip(page.groups, page.boxes, strict=True))
            if group.kind == _ENDING and box[3] > 0
        },
    )


def _drop_tips(page: PageSystem) -> PageSystem:
    """A hairpin that ends at the first note of a system leaves a tip before it, which reads as an accent."""
    first = _first_note(page)
    ends: dict[Group, float] = defaultdict(float)
    starts: dict[Group, float] = {}
    for box, group in zip(page.boxes, page.groups, strict=True):
        if group.kind == _HAIRPIN:
            starts[group] = min(box[0], starts.get(group, box[0]))
            ends[group] = max(box[2], ends[group])
    tips = {group for group, left in starts.items() if left < first and ends[group] - left < HAIRPIN_LEAST_SP}
    return _without(page, {index for index, group in enumerate(page.groups) if group in tips})


def _drop_lone_dashes(page: PageSystem) -> PageSystem:
    """Of words whose dashes go on from the system before, one dash alone reads as a mark of the note over it."""
    own: dict[Group, list[int]] = defaultdict(list)
    for index, group in enumerate(page.groups):
        if group.kind in _WORDS:
            own[group].append(index)
    lone = (indices[0] for group, indices in own.items() if len(indices) == 1 and group.kind != "syl")
    return _without(page, {index for index in lone if _is_dash(page.items[index], page.boxes[index])})


def _is_dash(item: Item, box: Box) -> bool:
    return isinstance(item, Path) and item.fill and box[2] - box[0] < DASH_SP


def _first_note(page: PageSystem) -> float:
    """Where the music begins after clefs and keys."""
    lefts = (box[0] for box, group in zip(page.boxes, page.groups, strict=True) if group.kind in _PLAYED)
    return min(lefts, default=page.right_sp)


def _lift_slurs(page: PageSystem) -> PageSystem:
    """A slur that began on another staff in the system before comes in over, or under, the notes of the staff where it
    ends: the library draws it through them, from the staff where it began."""
    items, boxes, first = list(page.items), list(page.boxes), _first_note(page)
    for index, (item, group) in enumerate(zip(page.items, page.groups, strict=True)):
        if (
            group.kind == _SLUR
            and isinstance(item, Path)
            and len(item.segments) > 1
            and boxes[index][0] < first
        ):
            (left, start), (right, end) = _ends_of(item.segments)
            if abs(end - start) > CROSSING_SP:
                curve = _arc(page, min(left, right - RINGING_SP), right, end, 1 if end > start else -1)
                items[index], boxes[index] = replace(item, segments=curve), segments_box(curve)
    return replace(page, items=tuple(items), boxes=tuple(boxes))


def _arc(page: PageSystem, left: float, right: float, y: float, down: int) -> tuple[Segment, ...]:
    """A slur that ends at a height, above (down = -1) or below (1) the notes of its staff."""
    edges = page.staff_bottoms_sp if down < 0 else page.staff_tops_sp
    beyond = max((-y_sp * down for y_sp in edges if -y_sp * down < -y * down), default=-math.inf)
    far = [
        (min(max(x, left), right), box[1 if down < 0 else 3] * down + SLUR_WHITE_SP)
        for box, group in zip(page.boxes, page.groups, strict=True)
        if group.kind in _UNDER_SLURS and box[2] > left and box[0] < right
        for x in (box[0], box[2])
        if -box[1 if down < 0 else 3] * down > beyond
    ]
    begin = max((at for x, at in far if x < left + SLUR_START_SP), default=y * down)
    deep = 1.0
    for x, at in far:
        part = min(max((x - left) / (right - left), 0.1), 0.9)
        level = begin + part * (y * down - begin)
        deep = max(deep, (at - level) / (3 * part * (1 - part)))
    deep, third = min(deep, SLUR_DEPTH_SP), (right - left) / 3
    (one, two), (three, four) = (
        ((begin + more + (y * down - begin) * part) * down for part in (1 / 3, 2 / 3))
        for more in (deep, deep + SLUR_THICKNESS_SP)
    )
    return (
        ("M", right, y),
        ("C", right - third, two, left + third, one, left, begin * down),
        ("C", left + third, three, right - third, four, right, y),
    )


def _lengthen_ringing_ties(page: PageSystem) -> PageSystem:
    """The library ends ties to nothing a quarter of a beat after the note, in narrow bars still over its head, and in
    chords begins them on it."""
    items, boxes = list(page.items), list(page.boxes)
    heads = [box for box, group in zip(page.boxes, page.groups, strict=True) if group.kind == _UNDER_TIES]
    for index, (item, group) in enumerate(zip(page.items, page.groups, strict=True)):
        left, top, right, bottom = page.boxes[index]
        if group.kind != _RINGING or not isinstance(item, Path):
            continue
        head = next(
            (box for box in heads if box[0] < left < box[2] and _overlap_up(box, page.boxes[index])), None
        )
        start = left if head is None else head[2] + BESIDE_HEAD_SP
        end = min(max(right, left + RINGING_SP, start + RINGING_BESIDE_SP), page.right_sp)
        if (start, end) != (left, right) and start < end:
            y = float(item.segments[0][2])
            items[index] = replace(item, segments=_tie(start, end, y, -1 if y - top > bottom - y else 1))
            boxes[index] = (start, top, end, bottom)
    return replace(page, items=tuple(items), boxes=tuple(boxes))


def _overlap_up(first: Box, second: Box) -> bool:
    return min(first[3], second[3]) - max(first[1], second[1]) > LEAST_OVERLAP_SP


def _lengthen_stubs(page: PageSystem) -> PageSystem:
    """The library lets slurs and ties from the system before begin behind clef and key, where to the first note nothing
    but a tick is left."""
    items, boxes, first = list(page.items), list(page.boxes), _first_note(page)
    opening = [
        box
        for box, group in zip(page.boxes, page.groups, strict=True)
        if group.kind in _OPENING and box[0] < first + 1.0
    ]
    for index, (item, group) in enumerate(zip(page.items, page.groups, strict=True)):
        left, _, right, _ = page.boxes[index]
        if group.kind not in _CURVES or not isinstance(item, Path) or len(item.segments) < 3 or left >= first:
            continue
        for length in STUBS_SP if right - left < STUBS_SP[-1] else ():
            longer = replace(item, segments=_longer(item.segments, length, group.kind))
            box = segments_box(longer.segments)
            if not any(overlap(ink, other) for ink in strips(longer, box) for other in opening):
                items[index], boxes[index] = longer, box
                break
    return replace(page, items=tuple(items), boxes=tuple(boxes))


def _longer(segments: Sequence[Segment], length: float, kind: str) -> tuple[Segment, ...]:
    """A curve that ends where it did: a slur comes in from outside, a tie levelly."""
    (left, start), (right, end) = _ends_of(segments)
    if kind == _SLUR:
        down = start - end
        (x1, y1), (x2, y2), (x3, y3), (x4, y4) = ((right - x * length, end + y * down) for x, y in _INCOMING)
        far = (right - length, start)
        return (
            ("M", right, end),
            ("C", x1, y1, x2, y2, *far),
            ("C", x3, y3, x4, y4, right, end),
        )
    if left == right:
        return tuple(segments)
    scale = length / (right - left)
    return tuple(map_segments(segments, (scale, 0.0, 0.0, 1.0, right - scale * right, 0.0)))


def _ends_of(segments: Sequence[Segment]) -> list[tuple[float, float]]:
    """Left and right end of a curve that is drawn there and back."""
    return sorted((float(segment[-2]), float(segment[-1])) for segment in segments[:2])


def _tie(left: float, right: float, y: float, down: int) -> tuple[Segment, ...]:
    """A tie in the proportions of the library's own, curved down (1) or up (-1)."""
    (inner, low), (outer, lowest) = ((share * (right - left), down * deep) for share, deep in _TIE)
    return (
        ("M", right, y),
        ("C", right - inner, y + low, left + inner, y + low, left, y),
        ("C", left + outer, y + lowest, right - outer, y + lowest, right, y),
    )


def _trim_lyric_lines(page: PageSystem) -> PageSystem:
    """Extenders end at the right edge, hyphens a little beyond where they would be too short; extenders that are too
    short for lines go."""
    baselines = sorted(
        {
            item.y_sp
            for item, group in zip(page.items, page.groups, strict=True)
            if group.kind == "syl" and isinstance(item, Text)
        }
    )
    items, boxes = list(page.items), list(page.boxes)
    gone = set()
    for index, (item, group) in enumerate(zip(page.items, page.groups, strict=True)):
        if group.kind != "syl" or not isinstance(item, Path):
            continue
        left, top, right, bottom = page.boxes[index]
        extends = any(abs(bottom - y) < BASELINE_SP for y in baselines)
        right = min(right, page.right_sp if extends else max(page.right_sp, left + LEAST_HYPHEN_SP))
        if right <= left or (extends and right - left < LEAST_EXTENDER_SP):
            gone.add(index)
        elif right < page.boxes[index][2]:
            boxes[index] = (left, top, right, bottom)
            items[index] = replace(item, segments=tuple(rectangle(left, top, right - left, bottom - top)))
    return _without(replace(page, items=tuple(items), boxes=tuple(boxes)), gone)


def _part_dynamics(page: PageSystem) -> PageSystem:
    """Of two dynamics that touch, which would read as another one, the second moves right, or, where the bar ends,
    down."""
    moves: dict[int, tuple[float, float]] = {}
    placed: list[Box] = []
    for box, indices in sorted(_letters(page, ("dynam",))):
        x = y = 0.0
        touching = [other for other in placed if _crowds(other, box)]
        if touching:
            x = max(other[2] for other in touching) + WHITE_SP - box[0]
            if box[2] + x > _bar_end(page, box) + OVER_BARLINE_SP:
                x, y = 0.0, max(other[3] for other in touching) + WHITE_SP - box[1]
            moves |= dict.fromkeys(indices, (x, y))
        placed.append((box[0] + x, box[1] + y, box[2] + x, box[3] + y))
    return _moved(page, moves)


def _part_marks(page: PageSystem) -> PageSystem:
    """Words that begin at the frame of a rehearsal mark, at a fermata or at other words move right, so that white parts
    them."""
    frames: dict[Group, list[Box]] = defaultdict(list)
    for box, group in zip(page.boxes, page.groups, strict=True):
        if group.kind in _MARKS:
            frames[group].append(box)
    marks = [(_hull(boxes), WHITE_SP) for boxes in frames.values()]
    moves: dict[int, tuple[float, float]] = {}
    for (left, top, right, bottom), indices in sorted(_letters(page, ("tempo", "dir"))):
        over = max(
            (mark[2] + white - left for mark, white in marks if _is_beside(mark, left, top, bottom)),
            default=0,
        )
        if not (0 < over < LEAST_MARK_SP and right + over < page.right_sp):
            over = 0.0
        marks.append(((left + over, top, right + over, bottom), WORDS_WHITE_SP))
        if over:
            group = page.groups[indices[0]]
            moves |= {i: (over, 0.0) for i, other in enumerate(page.groups) if other == group}
    return _moved(page, moves)


def _is_beside(mark: Box, left: float, top: float, bottom: float) -> bool:
    """Whether words that begin at a place begin beside a mark, not over or under it."""
    return mark[0] < left and mark[1] < bottom and top < mark[3]


def _crowds(first: Box, second: Box) -> bool:
    """Whether two dynamics touch side by side or corner to corner; one may stand close below another."""
    gap_sp = max(first[1], second[1]) - min(first[3], second[3])
    return _touches(first, second) and (gap_sp < 0 or second[0] > first[2] - WHITE_SP)


def _touches(first: Box, second: Box) -> bool:
    return (
        second[0] < first[2] + WHITE_SP
        and first[0] < second[2] + WHITE_SP
        and second[1] < first[3] + WHITE_SP
        and first[1] < second[3] + WHITE_SP
    )


def _bar_end(page: PageSystem, box: Box) -> float:
    index = bisect(page.barlines_sp, box[0])
    return page.barlines_sp[index] if index < len(page.barlines_sp) else page.right_sp


def _pull_words_in(page: PageSystem) -> PageSystem:
    """Words that stick out at the right move left, unless something else is printed there."""
    moves: dict[int, tuple[float, float]] = {}
    for (left, top, right, bottom), indices in _letters(page, _WORDS):
        over = right - page.right_sp
        if over <= 0:
            continue
        room = (left - over, top, left, bottom)
        others = (box for index, box in enumerate(page.boxes) if index not in indices)
        if not any(_touches(room, box) for box in others):
            moves |= dict.fromkeys(indices, (-over, 0.0))
    return _moved(page, moves)


def _widen_frames(page: PageSystem) -> PageSystem:
    """Framed words have as much white right as left: the library draws the frame through their last letter."""
    items, boxes = list(page.items), list(page.boxes)
    words = {page.groups[indices[0]]: box for box, indices in _letters(page, _WORDS)}
    for index, (item, group) in enumerate(zip(page.items, page.groups, strict=True)):
        if group in words and isinstance(item, Path) and not item.fill and item.segments[-1] == ("Z",):
            (left, top, right, bottom), half = segments_box(item.segments), item.stroke_sp / 2
            end = words[group][2] + words[group][0] - left
            if left < words[group][0] and right < end:
                items[index] = replace(item, segments=tuple(rectangle(left, top, end - left, bottom - top)))
                boxes[index] = (left - half, top - half, end + half, bottom + half)
    return replace(page, items=tuple(items), boxes=tuple(boxes))


def _letters(page: PageSystem, kinds: Collection[str]) -> list[tuple[Box, tuple[int, ...]]]:
    """What is set in letters, one box for each element of these kinds, with the places of its items."""
    found: dict[Group, list[int]] = defaultdict(list)
    for index, (item, group) in enumerate(zip(page.items, page.groups, strict=True)):
        if group.kind in kinds and isinstance(item, Glyph | Text):
            found[group].append(index)
    return [(_hull([page.boxes[index] for index in indices]), tuple(indices)) for indices in found.values()]


def _hull(boxes: Sequence[Box]) -> Box:
    return (
        min(box[0] for box in boxes),
        min(box[1] for box in boxes),
        max(box[2] for box in boxes),
        max(box[3] for box in boxes),
    )


def _moved(page: PageSystem, moves: Mapping[int, tuple[float, float]]) -> PageSystem:
    """The system with some items moved by (right, down)."""
    if not moves:
        return page
    items, boxes = list(page.items), list(page.boxes)
    for index, (x, y) in moves.items():
        items[index] = moved(items[index], x, y)
        left, top, right, bottom = boxes[index]
        boxes[index] = (left + x, top + y, right + x, bottom + y)
    return replace(page, items=tuple(items), boxes=tuple(boxes))


def _without(page: PageSystem, gone: Collection[int]) -> PageSystem:
    """The system without some items."""
    if not gone:
        return page
    kept = [index for index in range(len(page.items)) if index not in gone]
    return replace(
        page,
        items=tuple(page.items[index] for index in kept),
        boxes=tuple(page.boxes[index] for index in kept),
        groups=tuple(page.groups[index] for index in kept),
    )
