"""Slurs bend out of the way of what stands under them, and stay as they are where that would not help."""

import pytest

from optimizer.engrave.clearing import cleared
from optimizer.engrave.model import Item, Path
from optimizer.engrave.outlines import Box, Segment, rectangle, segments_box
from optimizer.engrave.slurs import WHITE_SP
from optimizer.engrave.strips import strips
from optimizer.engrave.svg import Group, PageSystem

Drawn = tuple[str, Item, Box]


def outline(kind: str, *segments: Segment) -> Drawn:
    return kind, Path(segments, True, 0.0), segments_box(segments)


def block(kind: str, left: float, top: float, right: float, bottom: float) -> Drawn:
    return outline(kind, *rectangle(left, top, right - left, bottom - top))


def slur(left: float, right: float, y: float, deep: float) -> Drawn:
    """A slur between two ends on a level; `deep`: of its control points, above the ends where it is negative."""
    third, thick = (right - left) / 3, 0.3 if deep > 0 else -0.3
    one, two = y + deep, y + deep + thick
    return outline(
        "slur",
        ("M", left, y),
        ("C", left + third, one, right - third, one, right, y),
        ("C", right - third, two, left + third, two, left, y),
    )


def page(*drawn: Drawn) -> PageSystem:
    kinds, items, boxes = zip(*drawn, strict=True)
    groups = tuple(Group(kind, index) for index, kind in enumerate(kinds))
    return PageSystem(1, items, boxes, groups, (0.0,), (4.0,), 100.0, (100.0,))


@pytest.mark.parametrize("side", [-1, 1])
def test_a_slur_clears_an_accidental_under_it(side: int) -> None:
    level = 2 + side * 4
    reach = sorted((level - side * 1.0, level + side * 1.1))
    flat = block("accid", 14.0, reach[0], 15.0, reach[1])
    before = page(slur(10, 20, level, side * 1.2), flat)
    after = cleared(before)
    item = after.items[0]
    assert isinstance(item, Path)
    ends = [(segment[-2], segment[-1]) for segment in item.segments]
    assert ends == [(10, level), (20, level), (10, level)]
    over = [ink for ink in strips(item, after.boxes[0]) if ink[0] >= 14.0 and ink[2] <= 15.0]
    white = min(side * (ink[1] if side > 0 else ink[3]) for ink in over) - side * (level + side * 1.1)
    assert WHITE_SP - 0.1 < white < WHITE_SP + 0.3
    assert after.boxes[1] == flat[2]


def test_a_slur_stays_where_bending_does_not_help() -> None:
    flat = block("accid", 14.0, -3.0, 15.0, -0.9)
    free = page(slur(10, 20, -2, -4.0), flat)
    assert cleared(free) is free
    inside = page(slur(10, 20, -2, -1.2), flat, slur(8, 22, -2, -1.7))  # of another slur
    assert cleared(inside) is inside
    below_others = page(slur(10, 20, -2, -1.2), flat, block("beam", 10.0, -4.5, 20.0, -3.25))
    assert cleared(below_others) is below_others
    at_its_end = page(slur(10, 20, -2, -1.2), block("accid", 19.6, -3.0, 20.4, -1.0))
    assert cleared(at_its_end) is at_its_end
    too_far = page(slur(10, 20, -2, -1.2), block("accid", 14.0, -9.0, 15.0, -1.0))
    assert cleared(too_far) is too_far
