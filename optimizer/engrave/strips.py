"""Drawn items moved, and their ink as narrow boxes, for telling whether two of them really meet.

In: an item of a display list with its box.  Out: boxes in staff spaces.  Always true: together they cover all ink, and
slanted beams and curved slurs leave the corners of their boxes free.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import pairwise
from typing import Final

from optimizer.engrave.model import Glyph, Item, Matrix, Path, Text
from optimizer.engrave.outlines import Box, Segment, compose, map_segments

WIDTH_SP: Final = 0.75  # of a strip: a beam rises by a quarter of this or less, a slur little more
CURVE_STEPS: Final = (
    8  # straight pieces of a curve: of a slur of 40 spaces each differs by less than a line's width
)

_Point = tuple[float, float]


def moved(item: Item, right_sp: float, down_sp: float) -> Item:
    """An item somewhere else."""
    step: Matrix = (1.0, 0.0, 0.0, 1.0, right_sp, down_sp)
    if isinstance(item, Text):
        return replace(item, x_sp=item.x_sp + right_sp, y_sp=item.y_sp + down_sp)
    if isinstance(item, Glyph):
        return replace(item, matrix=compose(step, item.matrix))
    return replace(item, segments=tuple(map_segments(item.segments, step)))


def strips(item: Item, box: Box) -> list[Box]:
    """The ink of an item from left to right."""
    left, top, right, bottom = box
    if not isinstance(item, Path) or right - left <= WIDTH_SP or bottom - top <= WIDTH_SP:
        return [box]
    count = math.ceil((right - left) / WIDTH_SP)
    step = (right - left) / count
    tops, bottoms = [math.inf] * count, [-math.inf] * count
    for start, end in _pieces(item.segments):
        (x1, y1), (x2, y2) = sorted((start, end))
        slope = (y2 - y1) / (x2 - x1) if x2 > x1 else 0.0
        first, last = (min(count - 1, max(0, int((x - left) / step))) for x in (x1, x2))
        for index in range(first, last + 1):
            edges = (left + index * step, left + (index + 1) * step)
            ys = [y1 + slope * (min(max(x, x1), x2) - x1) for x in edges] if x2 > x1 else [y1, y2]
            tops[index] = min(tops[index], *ys)
            bottoms[index] = max(bottoms[index], *ys)
    half = item.stroke_sp / 2
    return [
        (left + index * step, tops[index] - half, left + (index + 1) * step, bottoms[index] + half)
        for index in range(count)
        if tops[index] <= bottoms[index]
    ]


def _pieces(segments: Sequence[Segment]) -> Iterator[tuple[_Point, _Point]]:
    """The straight pieces of an outline, curves divided."""
    at = begun = (0.0, 0.0)
    for kind, *values in segments:
        points = [(float(x), float(y)) for x, y in zip(values[::2], values[1::2], strict=True)]
        if kind == "M":
            at = begun = points[0]
            continue
        path = (
            [at, *curve_points((at, *points), CURVE_STEPS)]
            if len(points) == 3
            else [at, *(points or [begun])]
        )
        yield from pairwise(path)
        at = path[-1]


def curve_points(cubic: Sequence[_Point], steps: int) -> Iterator[_Point]:
    """Points along a cubic (four points), the last one its end."""
    p0, p1, p2, p3 = cubic
    for step in range(1, steps + 1):
        t = step / steps
        a, b, c, d = (1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t * t * (1 - t), t**3
        yield (
            a * p0[0] + b * p1[0] + c * p2[0] + d * p3[0],
            a * p0[1] + b * p1[1] + c * p2[1] + d * p3[1],
        )
