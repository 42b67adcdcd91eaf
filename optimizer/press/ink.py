"""Where a drawn system has ink, to set words close to it without touching.

In: a display list.  Out: boxes in staff spaces, system coordinates.  Always true: a box is never smaller
than the ink (curves count with their control points).
"""

from collections.abc import Iterator, Mapping
from typing import Final

from optimizer.engrave.model import EngravedSystem, Glyph, Item, Path, Text

Box = tuple[float, float, float, float]  # left, top, right, bottom

# A letter is at most about this wide and this far above and below the baseline, in type sizes (serif faces,
# by eye).
LETTER_WIDTH: Final = 0.62
ASCENT: Final = 0.8
DESCENT: Final = 0.25


def boxes(system: EngravedSystem, glyphs: Mapping[str, Path]) -> Iterator[Box]:
    """The box of every item of a system."""
    outlines: dict[str, Box] = {}
    for item in system.items:
        box = _box(item, glyphs, outlines)
        if box:
            yield box


def lowest_sp(system: EngravedSystem, glyphs: Mapping[str, Path], left_sp: float, right_sp: float) -> float:
    """The lowest ink between two x positions; at least the bottom staff line."""
    found = [box[3] for box in boxes(system, glyphs) if box[0] <= right_sp and box[2] >= left_sp]
    return max((system.staves_sp, *found))


def highest_sp(system: EngravedSystem, glyphs: Mapping[str, Path], left_sp: float, right_sp: float) -> float:
    """The topmost ink between two x positions; at most the top staff line."""
    found = [box[1] for box in boxes(system, glyphs) if box[0] <= right_sp and box[2] >= left_sp]
    return min((0.0, *found))


def _box(item: Item, glyphs: Mapping[str, Path], outlines: dict[str, Box]) -> Box | None:
    if isinstance(item, Path):
        return _path_box(item)
    if isinstance(item, Text):
        width = item.length_sp or len(item.string) * item.size_sp * LETTER_WIDTH
        left = item.x_sp - {"start": 0.0, "middle": 0.5, "end": 1.0}[item.anchor] * width
        return left, item.y_sp - ASCENT * item.size_sp, left + width, item.y_sp + DESCENT * item.size_sp
    if item.name not in glyphs:
        return None
    if item.name not in outlines:
        outlines[item.name] = _path_box(glyphs[item.name])
    return _mapped(item, outlines[item.name])


def _mapped(item: Glyph, box: Box) -> Box:
    a, b, c, d, e, f = item.matrix
    corners = [(a * x + c * y + e, b * x + d * y + f) for x in box[::2] for y in box[1::2]]
    xs, ys = zip(*corners, strict=True)
    return min(xs), min(ys), max(xs), max(ys)


def _path_box(path: Path) -> Box:
    numbers = [[float(value) for value in segment[1:]] for segment in path.segments]
    xs = [x for values in numbers for x in values[::2]]
    ys = [y for values in numbers for y in values[1::2]]
    pen = path.stroke_sp / 2
    return min(xs) - pen, min(ys) - pen, max(xs) + pen, max(ys) + pen
