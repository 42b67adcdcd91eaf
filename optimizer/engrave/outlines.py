"""Outlines: SVG path data as segments, matrices, and exact boxes.

In: text and numbers as SVG has them.  Out: segments of `model.Path`, matrices and boxes.  Units are the
caller's, y grows downwards.  Always true: segments are absolute and only M, L, C and Z.
"""

import math
import re
from collections.abc import Sequence
from typing import Final

from optimizer.engrave.model import Matrix

Box = tuple[float, float, float, float]  # left, top, right, bottom
Segment = tuple[str | float, ...]
Point = tuple[float, float]

# A quarter of a circle as one cubic curve: control points at this part of the radius (error 0.03 %).
KAPPA: Final = 0.5523

_TOKEN: Final = re.compile(r"[A-Za-z]|-?(?:\d+\.?\d*|\.\d+)(?:e-?\d+)?")
_CALL: Final = re.compile(r"(\w+)\(([^)]*)\)")
_ARGUMENTS: Final = {"M": 2, "L": 2, "H": 1, "V": 1, "C": 6, "S": 4, "Q": 4, "T": 2}


def parse_outline(data: str) -> list[Segment]:
    """SVG path data (everything but arcs) as segments."""
    words = iter(_TOKEN.findall(data))
    segments: list[Segment] = []
    x = y = start_x = start_y = 0.0
    control: Point | None = None
    command = ""
    for word in words:
        if word.isalpha():
            command = word
            if command in "zZ":
                segments.append(("Z",))
                x, y, control = start_x, start_y, None
                continue
            word = next(words)
        kind = command.upper()
        values = [float(word), *(float(next(words)) for _ in range(_ARGUMENTS[kind] - 1))]
        if command != kind:
            values = _absolute(kind, values, x, y)
        if kind in "CSQT":
            values, control = _cubic(kind, values, (x, y), control)
            segments.append(("C", *values))
        else:
            values = [values[0] if kind != "V" else x, values[-1] if kind != "H" else y]
            segments.append(("M" if kind == "M" else "L", *values))
            control = None
        x, y = values[-2:]
        if kind == "M":
            start_x, start_y = x, y
            command = "L" if command == "M" else "l"
    return segments


def _absolute(kind: str, values: list[float], x: float, y: float) -> list[float]:
    if kind == "V":
        return [values[0] + y]
    return [value + (y if order % 2 else x) for order, value in enumerate(values)]


def _cubic(kind: str, values: list[float], here: Point, control: Point | None) -> tuple[list[float], Point]:
    """A C, S, Q or T segment as the six numbers of a cubic, and the point that a following S or T mirrors."""
    x, y = here
    mirrored = (2 * x - control[0], 2 * y - control[1]) if control else here
    if kind == "C":
        return values, (values[2], values[3])
    if kind == "S":
        return [*mirrored, *values], (values[0], values[1])
    qx, qy = (values[0], values[1]) if kind == "Q" else mirrored
    end_x, end_y = values[-2:]
    controls = [
        x + (qx - x) * 2 / 3,
        y + (qy - y) * 2 / 3,
        end_x + (qx - end_x) * 2 / 3,
        end_y + (qy - end_y) * 2 / 3,
    ]
    return [*controls, end_x, end_y], (qx, qy)


def polyline(points: str) -> list[Segment]:
    """A points attribute as an open outline."""
    values = [float(word) for word in points.replace(",", " ").split()]
    pairs = zip(values[::2], values[1::2], strict=True)
    return [("L" if order else "M", x, y) for order, (x, y) in enumerate(pairs)]


def rectangle(x: float, y: float, width: float, height: float) -> list[Segment]:
    """A rectangle as closed outline."""
    return [("M", x, y), ("L", x + width, y), ("L", x + width, y + height), ("L", x, y + height), ("Z",)]


def ellipse(cx: float, cy: float, rx: float, ry: float) -> list[Segment]:
    """An ellipse as four curves."""
    kx, ky = KAPPA * rx, KAPPA * ry
    return [
        ("M", cx + rx, cy),
        ("C", cx + rx, cy + ky, cx + kx, cy + ry, cx, cy + ry),
        ("C", cx - kx, cy + ry, cx - rx, cy + ky, cx - rx, cy),
        ("C", cx - rx, cy - ky, cx - kx, cy - ry, cx, cy - ry),
        ("C", cx + kx, cy - ry, cx + rx, cy - ky, cx + rx, cy),
        ("Z",),
    ]


def parse_transform(text: str) -> Matrix:
    """A transform attribute (translate, scale, rotate, matrix) as one matrix."""
    result: Matrix = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)
    for name, inside in _CALL.findall(text):
        values = [float(word) for word in inside.replace(",", " ").split()]
        if name == "translate":
            step: Matrix = (1.0, 0.0, 0.0, 1.0, values[0], values[1] if len(values) > 1 else 0.0)
        elif name == "scale":
            step = (values[0], 0.0, 0.0, values[-1], 0.0, 0.0)
        elif name == "rotate":
            step = _rotation(*values)
        else:
            step = (values[0], values[1], values[2], values[3], values[4], values[5])
        result = compose(result, step)
    return result


def _rotation(degrees: float, x: float = 0.0, y: float = 0.0) -> Matrix:
    cos, sin = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    return (cos, sin, -sin, cos, x - cos * x + sin * y, y - sin * x - cos * y)


def compose(outer: Matrix, inner: Matrix) -> Matrix:
    """First `inner`, then `outer`."""
    a, b, c, d, e, f = outer
    g, h, i, j, k, m = inner
    return (a * g + c * h, b * g + d * h, a * i + c * j, b * i + d * j, a * k + c * m + e, b * k + d * m + f)


def map_segments(segments: Sequence[Segment], matrix: Matrix) -> list[Segment]:
    """Segments under a matrix."""
    a, b, c, d, e, f = matrix
    mapped: list[Segment] = []
    add = mapped.append
    for segment in segments:  # each length by itself: this is done for every shape of a score
        if len(segment) == 3:
            kind, x, y = segment
            add((kind, a * x + c * y + e, b * x + d * y + f))  # type: ignore[operator]
        elif len(segment) == 7:
            kind, p, q, r, s, x, y = segment
            first, second = (a * p + c * q + e, b * p + d * q + f), (a * r + c * s + e, b * r + d * s + f)  # type: ignore[operator]
            add((kind, *first, *second, a * x + c * y + e, b * x + d * y + f))  # type: ignore[operator]
        else:
            add(segment)
    return mapped


def map_box(box: Box, matrix: Matrix) -> Box:
    """The box around a mapped box."""
    a, b, c, d, e, f = matrix
    left, top, right, bottom = box
    if b == c == 0.0 and a > 0 and d > 0:
        return (a * left + e, d * top + f, a * right + e, d * bottom + f)
    xs, ys = zip(
        *((a * x + c * y + e, b * x + d * y + f) for x in (left, right) for y in (top, bottom)), strict=True
    )
    return (min(xs), min(ys), max(xs), max(ys))


def segments_box(segments: Sequence[Segment]) -> Box:
    """The exact box of an outline: curves count by their extremes, not by their control points."""
    xs: list[float] = []
    ys: list[float] = []
    x = y = 0.0
    for segment in segments:
        if len(segment) == 7:
            _, x1, y1, x2, y2, x3, y3 = segment
            xs += _turning_points(x, x1, x2, x3)  # type: ignore[arg-type]
            ys += _turning_points(y, y1, y2, y3)  # type: ignore[arg-type]
            x, y = x3, y3  # type: ignore[assignment]
        elif len(segment) == 3:
            _, x, y = segment  # type: ignore[assignment]
        xs.append(x)
        ys.append(y)
    return (min(xs), min(ys), max(xs), max(ys))


def _turning_points(p0: float, p1: float, p2: float, p3: float) -> list[float]:
    """Values of one coordinate of a cubic where it turns back between its ends."""
    low, high = (p0, p3) if p0 < p3 else (p3, p0)
    if low <= p1 <= high and low <= p2 <= high:
        return []
    a, b, c = p3 - 3 * p2 + 3 * p1 - p0, 2 * (p2 - 2 * p1 + p0), p1 - p0
    if abs(a) < 1e-9:
        roots = [-c / b] if abs(b) > 1e-9 else []
    else:
        inside = b * b - 4 * a * c
        roots = [(-b + sign * math.sqrt(inside)) / (2 * a) for sign in (1, -1)] if inside >= 0 else []
    return [
        (1 - t) ** 3 * p0 + 3 * (1 - t) ** 2 * t * p1 + 3 * (1 - t) * t * t * p2 + t**3 * p3
        for t in roots
        if 0 < t < 1
    ]
