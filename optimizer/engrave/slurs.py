"""Slurs bent farther out where accidentals or notes under them would be crossed.

In: what is printed in a system, ours to change.  Always true: slurs keep their ends, and none crosses what it did not
cross before.

The library leaves room for the notes under a slur, not for all of their accidentals.
"""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Final

from optimizer.engrave.ground import Ground, overlap
from optimizer.engrave.model import Path
from optimizer.engrave.outlines import Box, Segment, segments_box
from optimizer.engrave.strips import curve_points, strips

WHITE_SP: Final = 0.2  # between a slur and what it is bent out of the way of; this and what follows by eye
MOST_SP: Final = 2.2  # control points that move farther make a hook of a slur
LEAST_WEIGHT: Final = 0.2  # nearer to its ends a slur can hardly be bent
STEPS: Final = 24  # points of a curve that are looked at

_SLUR: Final = "slur"
_UNDER: Final = frozenset(
    {"accid", "notehead", "ledgerLines", "rest", "beam", "stem", "flag", "artic", "dots"}
)
_MOVED_LATER: Final = frozenset({"dynam", "dir", "hairpin", "trill"})

_Curve = tuple[tuple[float, float], ...]  # four points of a cubic


def bend_slurs(ground: Ground) -> None:
    """Bend the slurs of a system."""
    for own in ground.signs((_SLUR,)):
        for index in own:
            slur = ground.items[index]
            if isinstance(slur, Path) and [segment[0] for segment in slur.segments[:3]] == ["M", "C", "C"]:
                _bend(ground, index, slur)


def _bend(ground: Ground, index: int, slur: Path) -> None:
    """Bend one slur, if that helps."""
    crossed = _crossed(ground, index, slur)
    kinds = [ground.page.groups[other].kind for other in crossed]
    under = [ground.boxes[other] for other, kind in zip(crossed, kinds, strict=True) if kind in _UNDER]
    if not under or _SLUR in kinds:  # what crosses another slur would cross it twice
        return
    edges = _edges(slur.segments)
    down = 1.0 if sum(_bulge(edge) for edge in edges) > 0 else -1.0
    inner = min(edges, key=lambda edge: down * _bulge(edge))
    out = max((far for box in under for far in _ways_out(inner, box, down)), default=0.0)
    if 0 < out <= MOST_SP:
        bent = replace(slur, segments=_bent(slur.segments, out * down))
        if set(_crossed(ground, index, bent)) < set(crossed):
            ground.put(index, bent, segments_box(bent.segments))


def _crossed(ground: Ground, index: int, slur: Path) -> list[int]:
    """What a slur of this shape would be printed on."""
    box = segments_box(slur.segments)
    ink = strips(slur, box)
    kinds = ground.page.groups
    return [
        other
        for other in ground.near(box, (index,))
        if kinds[other].kind not in _MOVED_LATER
        and any(overlap(strip, print_) for print_ in ground.strips((other,)) for strip in ink)
    ]


def _edges(segments: Sequence[Segment]) -> tuple[_Curve, _Curve]:
    """Both edges of a slur: there and back."""
    (_, *start), (_, *there), (_, *back) = segments[:3]
    first = _points([*start, *there])
    return first, (first[-1], *_points(back))


def _points(values: Sequence[str | float]) -> _Curve:
    numbers = [float(value) for value in values]
    return tuple(zip(numbers[::2], numbers[1::2], strict=True))


def _bulge(edge: _Curve) -> float:
    """How far down the middle of an edge is from its ends."""
    return edge[1][1] + edge[2][1] - edge[0][1] - edge[3][1]


def _ways_out(edge: _Curve, box: Box, down: float) -> Iterator[float]:
    """How far the control points have to move out for the edge to clear a box, for each of its points over it."""
    for step, (x, y) in enumerate(curve_points(edge, STEPS), 1):
        weight = 3 * step / STEPS * (1 - step / STEPS)
        if box[0] - WHITE_SP < x < box[2] + WHITE_SP and weight > LEAST_WEIGHT:
            yield ((box[3] + WHITE_SP - y) if down > 0 else (y - box[1] + WHITE_SP)) / weight


def _bent(segments: Sequence[Segment], out: float) -> tuple[Segment, ...]:
    return tuple(
        (kind, values[0], values[1] + out, values[2], values[3] + out, *values[4:])  # type: ignore[operator]
        if kind == "C"
        else (kind, *values)
        for kind, *values in segments
    )
