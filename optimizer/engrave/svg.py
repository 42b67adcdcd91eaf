"""The engraving library's SVG turned into display lists.

In: one page of SVG as the library writes it (viewBox units, 180 to a staff space; every system a group).  Out: a
`PageSystem` for each system, items in staff spaces from the top left corner of its staves.  Always true: an item's box
is at the same place in `boxes`, what is hidden in the SVG is left out, and colours are dropped (print is black).
"""

import logging
import math
import re
from collections.abc import Callable, Iterator, MutableMapping, Sequence
from dataclasses import dataclass
from typing import Final, Literal

from lxml import etree

from optimizer.engrave.fontdata import TextMetrics
from optimizer.engrave.model import Glyph, Item, Matrix, Path, Text

log = logging.getLogger(__name__)

UNITS_PER_SP: Final = 180.0
# A quarter of a circle as one cubic curve: control points at this part of the radius (error 0.03 %).
KAPPA: Final = 0.5523

Box = tuple[float, float, float, float]  # left, top, right, bottom
Segment = tuple[str | float, ...]
Point = tuple[float, float]

_SVG: Final = "{http://www.w3.org/2000/svg}"
_G, _PATH, _USE, _TEXT = (_SVG + name for name in ("g", "path", "use", "text"))
_SILENT: Final = frozenset(_SVG + name for name in ("title", "desc", "defs", "style"))
# The library's own style sheet, by class of the group that holds the text.
_BOLD: Final = frozenset({"ending", "fing", "reh", "tempo"})
_ITALIC: Final = frozenset({"dir", "dynam", "mNum"})
_HIDDEN: Final = frozenset({"placeholder", "cursor"})

_UPRIGHT: Final = (1.0, 0.0, 0.0, -1.0, 0.0, 0.0)  # glyph outlines are stored with y upwards

_TOKEN: Final = re.compile(r"[A-Za-z]|-?(?:\d+\.?\d*|\.\d+)(?:e-?\d+)?")
_USE_TRANSFORM: Final = re.compile(r"translate\(([-\d.]+), ?([-\d.]+)\) scale\(([-\d.]+), ?([-\d.]+)\)")
_CALL: Final = re.compile(r"(\w+)\(([^)]*)\)")


@dataclass(frozen=True, slots=True)
class PageSystem:
    """A system as it stands on the library's page. `staff_tops_sp`, `staff_bottoms_sp`: outer lines of each staff."""

    measures: int
    items: tuple[Item, ...]
    boxes: tuple[Box, ...]
    staff_tops_sp: tuple[float, ...]
    staff_bottoms_sp: tuple[float, ...]
    right_sp: float


class UnknownShapeError(Exception):
    """An SVG element that has no counterpart in the display list."""


class SvgReader:
    """Reads pages one after another; `glyphs` gathers the outlines of all glyphs seen.

    `outline` gives the outline of a music character set within text (by code point), None where the font lacks it.
    `strict` raises UnknownShapeError for elements that are not understood; otherwise they are logged and left out.
    """

    def __init__(
        self,
        glyphs: MutableMapping[str, Path],
        metrics: TextMetrics,
        outline: Callable[[str], str | None],
        strict: bool = False,
    ) -> None:
        self._glyphs, self._metrics, self._outline, self._strict = glyphs, metrics, outline, strict
        self._glyph_boxes: dict[str, Box] = {}
        self._names: dict[str, str] = {}

    def read_page(self, svg: str) -> Iterator[PageSystem]:
        """The systems of one page, from the top."""
        root = etree.fromstring(svg.encode(), etree.XMLParser(huge_tree=True, resolve_entities=False))
        for group in root.iterfind(f".//{_SVG}defs/{_G}"):
            name, path = str(group.get("id")), group.find(_PATH)
            if path is not None:
                self._names["#" + name] = self._define(name.partition("-")[0], str(path.get("d")))
        for group in root.iter(_G):
            if group.get("class") == "system":
                yield self._read_system(group)

    def _define(self, name: str, outline: str) -> str:
        if name not in self._glyphs:
            segments = tuple(_map_segment(segment, _UPRIGHT) for segment in parse_outline(outline))
            self._glyphs[name] = Path(segments, fill=True, stroke_sp=0.0)
        if name not in self._glyph_boxes:
            self._glyph_boxes[name] = segments_box(self._glyphs[name].segments)
        return name

    def _read_system(self, system: etree._Element) -> PageSystem:
        staves = _staff_lines(system)
        left = min((line[0] for lines in staves.values() for line in lines), default=0.0)
        right = max((line[2] for lines in staves.values() for line in lines), default=0.0)
        tops = [min(line[1] for line in lines) for lines in staves.values()]
        bottoms = [max(line[1] for line in lines) for lines in staves.values()]
        top = min(tops, default=0.0)
        pen = _Pen(left, top, self)
        pen.draw_group(system, None, False, False)
        return PageSystem(
            measures=sum(1 for group in system.iter(_G) if group.get("class") == "measure"),
            items=tuple(pen.items),
            boxes=tuple(pen.boxes),
            staff_tops_sp=tuple((y - top) / UNITS_PER_SP for y in tops),
            staff_bottoms_sp=tuple((y - top) / UNITS_PER_SP for y in bottoms),
            right_sp=(right - left) / UNITS_PER_SP,
        )

    def glyph_of(self, href: str) -> str:
        """Name of a referenced glyph."""
        return self._names[href]

    def glyph_box(self, name: str) -> Box:
        """Box of a glyph in glyph space."""
        return self._glyph_boxes[name]

    def text_glyph(self, character: str) -> str | None:
        """Name of the glyph of a music character within text, defined when first seen."""
        name = f"{ord(character):04X}"
        if name not in self._glyph_boxes:
            outline = self._outline(name)
            if outline is None:
                return None
            self._define(name, outline)
        return name

    @property
    def metrics(self) -> TextMetrics:
        """Widths and heights of letters."""
        return self._metrics

    def unknown(self, what: str) -> None:
        """Something that is not understood."""
        if self._strict:
            raise UnknownShapeError(what)
        log.warning("left out of the drawing: %s", what)


def _staff_lines(system: etree._Element) -> dict[int, list[tuple[float, float, float]]]:
    """Staff lines as (left, y, right) by order of the staff in the system, in the library's units."""
    staves: dict[int, list[tuple[float, float, float]]] = {}
    for measure in system.iter(_G):
        if measure.get("class") != "measure":
            continue
        groups = (group for group in measure.iterchildren(_G) if group.get("class") == "staff")
        for order, staff in enumerate(groups):
            for path in staff.iterchildren(_PATH):
                x1, y1, x2, y2 = (float(word) for word in str(path.get("d")).replace("M", "").replace("L", "").split())
                if y1 == y2:
                    staves.setdefault(order, []).append((x1, y1, x2))
    return staves


class _Pen:
    """Collects the items of one system."""

    def __init__(self, left: float, top: float, reader: SvgReader) -> None:
        self.items: list[Item] = []
        self.boxes: list[Box] = []
        self._left, self._top, self._reader = left, top, reader

    def draw_group(self, group: etree._Element, turn: Matrix | None, bold: bool, italic: bool) -> None:
        """All shapes below a group. `turn`: transform inherited, in the library's units."""
        kinds = (group.get("class") or "").split()
        if group.get("visibility") == "hidden" or _HIDDEN.intersection(kinds):
            return
        if kinds and kinds[0] in _BOLD:
            bold = True
        elif kinds and kinds[0] in _ITALIC:
            italic = True
        if transform := group.get("transform"):
            turn = _compose(turn, _matrix(transform))
        for child in group:
            tag = child.tag
            if tag == _G:
                self.draw_group(child, turn, bold, italic)
            elif tag == _PATH:
                self._draw_path(child, turn)
            elif tag == _USE:
                self._draw_use(child, turn)
            elif tag == _TEXT:
                self._draw_text(child, bold, italic)
            elif tag in _SILENT:
                continue
            elif draw := _SHAPES.get(str(tag)):
                self._add_path(draw(child), child, turn)
            else:
                self._reader.unknown(f"element {tag}")

    def _draw_path(self, path: etree._Element, turn: Matrix | None) -> None:
        self._add_path(parse_outline(str(path.get("d"))), path, turn)

    def _add_path(self, segments: Sequence[Segment], shape: etree._Element, turn: Matrix | None) -> None:
        if turn:
            segments = [_map_segment(segment, turn) for segment in segments]
        left, top = self._left, self._top
        placed: tuple[Segment, ...] = tuple(
            (
                segment[0],
                *(
                    (value - (top if order % 2 else left)) / UNITS_PER_SP  # type: ignore[operator]
                    for order, value in enumerate(segment[1:])
                ),
            )
            for segment in segments
        )
        get = shape.get
        stroke_sp = float(get("stroke-width") or 0.0) / UNITS_PER_SP
        fill = get("fill") != "none" and get("fill-opacity") != "0" and (len(placed) > 2 or placed[-1][0] == "C")
        dash = get("stroke-dasharray")
        self.items.append(
            Path(
                placed,
                fill,
                stroke_sp,
                tuple(float(word) / UNITS_PER_SP for word in dash.replace(",", " ").split()) if dash else (),
                get("stroke-linecap") == "round",
                get("stroke-linejoin") == "round",
            )
        )
        x1, y1, x2, y2 = segments_box(placed)
        half = stroke_sp / 2
        self.boxes.append((x1 - half, y1 - half, x2 + half, y2 + half))

    def _draw_use(self, use: etree._Element, turn: Matrix | None) -> None:
        href, transform = use.get("href"), str(use.get("transform"))
        match = _USE_TRANSFORM.fullmatch(transform)
        if match:
            x, y, a, d = (float(word) for word in match.groups())
            matrix: Matrix = (a, 0.0, 0.0, d, x, y)
        else:
            matrix = _matrix(transform)
        if turn:
            matrix = _compose(turn, matrix)
        self._add_glyph(self._reader.glyph_of(str(href)), matrix)

    def _add_glyph(self, name: str, units: Matrix) -> None:
        a, b, c, d, e, f = units
        matrix: Matrix = (
            a / UNITS_PER_SP,
            b / UNITS_PER_SP,
            c / UNITS_PER_SP,
            d / UNITS_PER_SP,
            (e - self._left) / UNITS_PER_SP,
            (f - self._top) / UNITS_PER_SP,
        )
        self.items.append(Glyph(name, matrix))
        self.boxes.append(_map_box(self._reader.glyph_box(name), matrix))

    def _draw_text(self, text: etree._Element, bold: bool, italic: bool) -> None:
        anchor = text.get("text-anchor") or "start"
        lines = [_Line(float(text.get("x") or 0.0), float(text.get("y") or 0.0), [])]
        _collect_runs(text, _Style(0.0, bold, italic, False, 0.0), lines)
        for line in lines:
            self._draw_line(line, anchor)

    def _draw_line(self, line: "_Line", anchor: str) -> None:
        metrics = self._reader.metrics
        widths = [
            metrics.width(run.string, run.style.size, run.style.bold, run.style.italic, run.style.music)
            + run.style.spacing * len(run.string)
            for run in line.runs
        ]
        x = line.x - {"start": 0.0, "middle": 0.5, "end": 1.0}[anchor] * sum(widths)
        for run, width in zip(line.runs, widths, strict=True):
            if run.style.music:
                self._draw_music(run, x, line.y)
            else:
                self._add_text(run, x, line.y, width, line, anchor)
            x += width

    def _draw_music(self, run: "_Run", x: float, y: float) -> None:
        scale = run.style.size / 1000.0  # the music font has 1000 units to the em
        for character in run.string:
            name = self._reader.text_glyph(character)
            if name:
                self._add_glyph(name, (scale, 0.0, 0.0, scale, x, y))
            elif not character.isspace():
                self._reader.unknown(f"music character U+{ord(character):04X}")
            x += self._reader.metrics.width(character, run.style.size, False, False, True) + run.style.spacing

    def _add_text(self, run: "_Run", x: float, y: float, width: float, line: "_Line", anchor: str) -> None:
        if not run.string.strip():
            return
        alone = len(line.runs) == 1
        style = run.style
        place: Literal["start", "middle", "end"] = "start"
        if alone and anchor == "middle":
            place = "middle"
        elif alone and anchor == "end":
            place = "end"
        x_sp, y_sp = (x - self._left) / UNITS_PER_SP, (y - self._top) / UNITS_PER_SP
        width_sp, size_sp = width / UNITS_PER_SP, style.size / UNITS_PER_SP
        at_sp = x_sp + {"start": 0.0, "middle": 0.5, "end": 1.0}[place] * width_sp
        self.items.append(
            Text(at_sp, y_sp, size_sp, place, "serif", style.bold, style.italic, run.string, width_sp)
        )
        up, down = self._reader.metrics.extent(run.string, size_sp, style.bold, style.italic)
        self.boxes.append((x_sp, y_sp - up, x_sp + width_sp, y_sp + down))


@dataclass(frozen=True, slots=True)
class _Style:
    size: float
    bold: bool
    italic: bool
    music: bool
    spacing: float


@dataclass(frozen=True, slots=True)
class _Run:
    string: str
    style: _Style


@dataclass(frozen=True, slots=True)
class _Line:
    x: float
    y: float
    runs: list[_Run]


def _collect_runs(element: etree._Element, outer: _Style, lines: list[_Line]) -> None:
    """Text runs below a text element, a new line wherever a position is given; only the outermost style is inherited."""
    get = element.get
    style = _Style(
        size=float(get("font-size", "").removesuffix("px") or outer.size),
        bold=get("font-weight") == "bold" if get("font-weight") else outer.bold,
        italic=get("font-style") == "italic" if get("font-style") else outer.italic,
        music=get("font-family") not in (None, "Times") if get("font-family") else outer.music,
        spacing=float(get("letter-spacing", "").removesuffix("px") or outer.spacing),
    )
    if element.tag != _TEXT and get("x"):
        lines.append(_Line(float(str(get("x"))), float(get("y") or lines[-1].y), []))
    if element.text:
        lines[-1].runs.append(_Run(element.text, style))
    for child in element:
        _collect_runs(child, style, lines)
        if child.tail:
            lines[-1].runs.append(_Run(child.tail, style))


def parse_outline(data: str) -> list[Segment]:
    """SVG path data as absolute M, L, C and Z segments."""
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
        count = _ARGUMENTS[command.upper()]
        values = [float(word), *(float(next(words)) for _ in range(count - 1))]
        kind = command.upper()
        if command.islower():
            values = _absolute(kind, values, x, y)
        if kind == "M":
            segments.append(("M", *values))
            start_x, start_y = values
            command = "L" if command == "M" else "l"
            control = None
        elif kind in "LHV":
            values = [values[0] if kind != "V" else x, values[-1] if kind != "H" else y]
            segments.append(("L", *values))
            control = None
        else:
            values, control = _cubic(kind, values, (x, y), control)
            segments.append(("C", *values))
        x, y = values[-2:]
    return segments


_ARGUMENTS: Final = {"M": 2, "L": 2, "H": 1, "V": 1, "C": 6, "S": 4, "Q": 4, "T": 2}


def _absolute(kind: str, values: list[float], x: float, y: float) -> list[float]:
    if kind == "V":
        return [values[0] + y]
    return [value + (y if order % 2 else x) for order, value in enumerate(values)]


def _cubic(kind: str, values: list[float], here: Point, control: Point | None) -> tuple[list[float], Point]:
    """A C, S, Q or T segment as the six numbers of a cubic, and the point a following S or T mirrors."""
    x, y = here
    mirrored = (2 * x - control[0], 2 * y - control[1]) if control else here
    if kind == "C":
        return values, (values[2], values[3])
    if kind == "S":
        return [*mirrored, *values], (values[0], values[1])
    qx, qy = (values[0], values[1]) if kind == "Q" else mirrored
    end_x, end_y = values[-2:]
    cubic = [x + (qx - x) * 2 / 3, y + (qy - y) * 2 / 3, end_x + (qx - end_x) * 2 / 3, end_y + (qy - end_y) * 2 / 3]
    return [*cubic, end_x, end_y], (qx, qy)


def _polygon(shape: etree._Element) -> list[Segment]:
    return [*_polyline(shape), ("Z",)]


def _polyline(shape: etree._Element) -> list[Segment]:
    values = [float(word) for word in str(shape.get("points")).replace(",", " ").split()]
    points = list(zip(values[::2], values[1::2], strict=True))
    return [("L" if order else "M", *point) for order, point in enumerate(points)]


def _rect(shape: etree._Element) -> list[Segment]:
    x, y, width, height = (float(shape.get(name) or 0.0) for name in ("x", "y", "width", "height"))
    return [("M", x, y), ("L", x + width, y), ("L", x + width, y + height), ("L", x, y + height), ("Z",)]


def _ellipse(shape: etree._Element) -> list[Segment]:
    cx, cy, rx, ry = (float(shape.get(name) or 0.0) for name in ("cx", "cy", "rx", "ry"))
    kx, ky = KAPPA * rx, KAPPA * ry
    return [
        ("M", cx + rx, cy),
        ("C", cx + rx, cy + ky, cx + kx, cy + ry, cx, cy + ry),
        ("C", cx - kx, cy + ry, cx - rx, cy + ky, cx - rx, cy),
        ("C", cx - rx, cy - ky, cx - kx, cy - ry, cx, cy - ry),
        ("C", cx + kx, cy - ry, cx + rx, cy - ky, cx + rx, cy),
        ("Z",),
    ]


_SHAPES: Final[dict[str, Callable[[etree._Element], list[Segment]]]] = {
    _SVG + "polygon": _polygon,
    _SVG + "polyline": _polyline,
    _SVG + "rect": _rect,
    _SVG + "ellipse": _ellipse,
}


def _matrix(transform: str) -> Matrix:
    """A transform attribute as one matrix."""
    result: Matrix = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)
    for name, inside in _CALL.findall(transform):
        values = [float(word) for word in inside.replace(",", " ").split()]
        if name == "translate":
            step: Matrix = (1.0, 0.0, 0.0, 1.0, values[0], values[1] if len(values) > 1 else 0.0)
        elif name == "scale":
            step = (values[0], 0.0, 0.0, values[-1], 0.0, 0.0)
        elif name == "rotate":
            step = _rotation(*values)
        else:
            step = (values[0], values[1], values[2], values[3], values[4], values[5])
        result = _compose(result, step)
    return result


def _rotation(degrees: float, x: float = 0.0, y: float = 0.0) -> Matrix:
    cos, sin = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    return (cos, sin, -sin, cos, x - cos * x + sin * y, y - sin * x - cos * y)


def _compose(outer: Matrix | None, inner: Matrix) -> Matrix:
    if outer is None:
        return inner
    a, b, c, d, e, f = outer
    g, h, i, j, k, m = inner
    return (a * g + c * h, b * g + d * h, a * i + c * j, b * i + d * j, a * k + c * m + e, b * k + d * m + f)


def _map_segment(segment: Segment, matrix: Matrix) -> Segment:
    a, b, c, d, e, f = matrix
    values = [float(value) for value in segment[1:]]
    mapped = [
        number
        for x, y in zip(values[::2], values[1::2], strict=True)
        for number in (a * x + c * y + e, b * x + d * y + f)
    ]
    return (segment[0], *mapped)


def _map_box(box: Box, matrix: Matrix) -> Box:
    a, b, c, d, e, f = matrix
    left, top, right, bottom = box
    if b == c == 0.0 and a > 0 and d > 0:
        return (a * left + e, d * top + f, a * right + e, d * bottom + f)
    xs, ys = zip(*((a * x + c * y + e, b * x + d * y + f) for x in (left, right) for y in (top, bottom)), strict=True)
    return (min(xs), min(ys), max(xs), max(ys))


def segments_box(segments: Sequence[Segment]) -> Box:
    """The exact box of an outline (curves by their extremes, not their control points)."""
    xs: list[float] = []
    ys: list[float] = []
    x = y = 0.0
    for segment in segments:
        if segment[0] == "C":
            x1, y1, x2, y2, x3, y3 = (float(value) for value in segment[1:])
            xs.extend(_cubic_extremes(x, x1, x2, x3))
            ys.extend(_cubic_extremes(y, y1, y2, y3))
            x, y = x3, y3
        elif len(segment) == 3:
            x, y = float(segment[1]), float(segment[2])
        xs.append(x)
        ys.append(y)
    return (min(xs), min(ys), max(xs), max(ys))


def _cubic_extremes(p0: float, p1: float, p2: float, p3: float) -> list[float]:
    """Values of one coordinate of a cubic where it turns back, inside (0, 1)."""
    if min(p0, p3) <= min(p1, p2) and max(p1, p2) <= max(p0, p3):
        return []
    a, b, c = p3 - 3 * p2 + 3 * p1 - p0, 2 * (p2 - 2 * p1 + p0), p1 - p0
    if abs(a) < 1e-9:
        roots = [-c / b] if abs(b) > 1e-9 else []
    else:
        inside = b * b - 4 * a * c
        roots = [(-b + sign * math.sqrt(inside)) / (2 * a) for sign in (1, -1)] if inside >= 0 else []
    return [
        (1 - t) ** 3 * p0 + 3 * (1 - t) ** 2 * t * p1 + 3 * (1 - t) * t * t * p2 + t**3 * p3 for t in roots if 0 < t < 1
    ]
