"""The engraving library's SVG turned into display lists.

In: one page of SVG as the library writes it (every system a group, 180 units to a space).  Out: a `PageSystem` for each
system, items in staff spaces from the top left corner of its staves.  Always true: `boxes[i]` is the box of
`items[i]`, what the SVG hides is left out, and colours are dropped (print is black).
"""

import logging
import re
from collections.abc import Callable, Iterator, MutableMapping, Sequence
from dataclasses import dataclass
from typing import Final, Literal

from lxml import etree

from optimizer.engrave.fontdata import MUSIC_EM, TextMetrics
from optimizer.engrave.mei import APART
from optimizer.engrave.model import Glyph, Item, Matrix, Path, Text
from optimizer.engrave.outlines import (
    Box,
    Segment,
    compose,
    ellipse,
    map_box,
    map_segments,
    parse_outline,
    parse_transform,
    polyline,
    rectangle,
    segments_box,
)

log = logging.getLogger(__name__)

UNITS_PER_SP: Final = 180.0

_SVG: Final = "{http://www.w3.org/2000/svg}"
_G, _PATH, _USE, _TEXT = (_SVG + name for name in ("g", "path", "use", "text"))
_SILENT: Final = frozenset(_SVG + name for name in ("title", "desc", "defs", "style"))
# The library's own style sheet, by class of the group that holds the text.
_BOLD: Final = frozenset({"ending", "fing", "reh", "tempo"})
_ITALIC: Final = frozenset({"dir", "dynam", "mNum"})
_HIDDEN: Final = frozenset({"placeholder", "placeholder systemMilestone", "cursor"})

_APART: Final = f"measure {APART}"

_UPRIGHT: Final = (1.0, 0.0, 0.0, -1.0, 0.0, 0.0)  # glyph outlines are stored with y upwards
_USE_TRANSFORM: Final = re.compile(r"translate\(([-\d.]+), ?([-\d.]+)\) scale\(([-\d.]+), ?([-\d.]+)\)")
_LINE: Final = re.compile(r"M([-\d.]+) ([-\d.]+) L([-\d.]+) ([-\d.]+)")

_Anchor = Literal["start", "middle", "end"]
_ANCHORS: Final[dict[str, tuple[_Anchor, float]]] = {
    "start": ("start", 0.0),
    "middle": ("middle", 0.5),
    "end": ("end", 1.0),
}


@dataclass(frozen=True, slots=True)
class Group:
    """What the library draws together: its `kind`, such as "dynam" or "syl" (MEI names), and which of the system."""

    kind: str
    index: int


@dataclass(frozen=True, slots=True)
class PageSystem:
    """A system as it stands on the library's page. `staff_tops_sp`, `staff_bottoms_sp`: outer lines of each staff;
    `right_sp`: right end of the staff lines; `barlines_sp`: right end of each measure.
    `groups[i]`: what `items[i]` belongs to."""

    measures: int
    items: tuple[Item, ...]
    boxes: tuple[Box, ...]
    groups: tuple[Group, ...]
    staff_tops_sp: tuple[float, ...]
    staff_bottoms_sp: tuple[float, ...]
    right_sp: float
    barlines_sp: tuple[float, ...]


class UnknownShapeError(Exception):
    """An SVG element that has no counterpart in the display list."""


class SvgReader:
    """Reads pages one after another; `glyphs` gathers the outlines of all glyphs seen.

    `outline` gives the outline of a music character that stands within text (by code point, "E1D5"), None where the
    font lacks it. `strict` raises UnknownShapeError for elements that are not understood; otherwise they are logged
    and left out.
    """

    def __init__(
        self,
        glyphs: MutableMapping[str, Path],
        metrics: TextMetrics,
        outline: Callable[[str], str | None],
        strict: bool = False,
    ) -> None:
        self.metrics = metrics
        self._glyphs, self._outline, self._strict = glyphs, outline, strict
        self._boxes: dict[str, Box] = {}

    def read_page(self, svg: str) -> Iterator[PageSystem]:
        """The systems of one page, from the top."""
        root = etree.fromstring(svg.encode(), etree.XMLParser(huge_tree=True, resolve_entities=False))
        for group in root.iterfind(f".//{_SVG}defs/{_G}"):
            path = group.find(_PATH)
            if path is not None:
                self._define(_glyph_name(str(group.get("id"))), str(path.get("d")))
        for group in root.iter(_G):
            if group.get("class") == "system" and not _is_apart(group):
                yield _read_system(group, self)

    def glyph_box(self, name: str) -> Box | None:
        """Box of a glyph in glyph space; None when it is not defined."""
        return self._boxes.get(name)

    def text_glyph(self, character: str) -> str | None:
        """Name of the glyph of a music character within text, defined when first seen."""
        name = f"{ord(character):04X}"
        if name not in self._boxes:
            outline = self._outline(name)
            if outline is None:
                return None
            self._define(name, outline)
        return name

    def unknown(self, what: str) -> None:
        """Something that is not understood."""
        if self._strict:
            raise UnknownShapeError(what)
        log.warning("left out of the drawing: %s", what)

    def _define(self, name: str, outline: str) -> None:
        if name not in self._boxes:
            segments = map_segments(parse_outline(outline), _UPRIGHT)
            self._glyphs[name] = Path(tuple(segments), fill=True, stroke_sp=0.0)
            self._boxes[name] = segments_box(segments)


def _glyph_name(identifier: str) -> str:
    """The library marks the glyphs of each page with a suffix."""
    return identifier.removeprefix("#").partition("-")[0]


def _is_apart(system: etree._Element) -> bool:
    return any(group.get("class") == _APART for group in system.iterchildren(_G))


def _read_system(system: etree._Element, reader: SvgReader) -> PageSystem:
    measures = [group for group in system.iter(_G) if group.get("class") == "measure"]
    staves = [
        lines
        for staff in measures[0].iterchildren(_G)
        if staff.get("class") == "staff" and (lines := _staff_lines(staff))
    ]
    left, top = (staves[0][0][0], staves[0][0][1]) if staves else (0.0, 0.0)
    pen = _Pen(left, top, reader)
    pen.draw_group(system, None, False, False)
    pen.finish_staff_lines()
    return PageSystem(
        measures=len(measures),
        items=tuple(pen.items),
        boxes=tuple(pen.boxes),
        groups=tuple(pen.groups),
        staff_tops_sp=tuple((lines[0][1] - top) / UNITS_PER_SP for lines in staves),
        staff_bottoms_sp=tuple((lines[-1][1] - top) / UNITS_PER_SP for lines in staves),
        right_sp=pen.right_sp,
        barlines_sp=tuple(pen.barlines_sp),
    )


def _staff_lines(staff: etree._Element) -> list[tuple[float, ...]]:
    """Lines (x1, y1, x2, y2) that are drawn directly in a staff group, from the top."""
    matches = (_LINE.fullmatch(str(path.get("d"))) for path in staff.iterchildren(_PATH))
    lines = (tuple(float(word) for word in match.groups()) for match in matches if match)
    return sorted((line for line in lines if line[1] == line[3]), key=lambda line: line[1])


class _Pen:
    """Collects the items of one system; `left`, `top`: its corner in the library's units."""

    def __init__(self, left: float, top: float, reader: SvgReader) -> None:
        self.items: list[Item] = []
        self.boxes: list[Box] = []
        self.groups: list[Group] = []
        self.barlines_sp: list[float] = []
        self.right_sp = 0.0
        self._bar_end_sp = 0.0
        self._left, self._top, self._reader = left, top, reader
        self._group_count = 0
        # staff lines are drawn bar by bar; joined they make fewer items and no seams: (y, pen) -> (x1, x2) by bar
        self._staff_lines: dict[tuple[float, float], list[tuple[float, float]]] = {}

    def draw_group(self, group: etree._Element, turn: Matrix | None, bold: bool, italic: bool) -> None:
        """All shapes below a group. `turn`: transform inherited, in the library's units."""
        kind, _, state = group.get("class", "").partition(" ")
        if state in _HIDDEN or kind in _HIDDEN or group.get("visibility") == "hidden":
            return
        bold, italic = bold or kind in _BOLD, italic or kind in _ITALIC
        if transform := group.get("transform"):
            step = parse_transform(transform)
            turn = compose(turn, step) if turn else step
        self._group_count += 1
        own = Group(kind, self._group_count)
        for child in group:
            if child.tag == _G:
                self._name_items(own)
                self.draw_group(child, turn, bold, italic)
            else:
                self._draw_shape(child, turn, kind, bold, italic)
        self._name_items(own)
        if kind == "measure":
            self.barlines_sp.append(self._bar_end_sp)

    def _name_items(self, group: Group) -> None:
        """What has been drawn since the last call belongs to a group."""
        new = len(self.items) - len(self.groups)
        if new:
            self.groups += [group] * new

    def _draw_shape(
        self, shape: etree._Element, turn: Matrix | None, kind: str, bold: bool, italic: bool
    ) -> None:
        tag = shape.tag
        if tag == _PATH:
            self._draw_path(shape, turn, kind == "staff")
        elif tag == _USE:
            self._draw_use(shape, turn)
        elif tag == _TEXT:
            self._draw_text(shape, bold, italic)
        elif draw := _SHAPES.get(str(tag)):
            self._add_path(draw(shape), shape, turn)
        elif tag not in _SILENT:
            self._reader.unknown(f"element {tag!s}")

    def finish_staff_lines(self) -> None:
        """Put the staff lines, joined, before everything else."""
        items: list[Item] = []
        boxes: list[Box] = []
        for (y, stroke), pieces in self._staff_lines.items():
            joined = [pieces[0]]
            for x1, x2 in pieces[1:]:
                if x1 <= joined[-1][1] + 1 / UNITS_PER_SP:
                    joined[-1] = (joined[-1][0], x2)
                else:
                    joined.append((x1, x2))
            for x1, x2 in joined:
                items.append(Path((("M", x1, y), ("L", x2, y)), False, stroke))
                boxes.append((x1, y - stroke / 2, x2, y + stroke / 2))
                self.right_sp = max(self.right_sp, x2)
        self.items[:0], self.boxes[:0] = items, boxes
        self.groups[:0] = [Group("staff", 0)] * len(items)

    def _draw_path(self, path: etree._Element, turn: Matrix | None, in_staff: bool) -> None:
        data = str(path.get("d"))
        line = _LINE.fullmatch(data)
        if not line or turn or path.get("stroke-dasharray"):
            self._add_path(parse_outline(data), path, turn)
            return
        x1, y1, x2, y2 = map(float, line.groups())
        left, top = self._left, self._top
        x1, y1 = (x1 - left) / UNITS_PER_SP, (y1 - top) / UNITS_PER_SP
        x2, y2 = (x2 - left) / UNITS_PER_SP, (y2 - top) / UNITS_PER_SP
        stroke = float(path.get("stroke-width") or 0.0) / UNITS_PER_SP
        if in_staff and y1 == y2:
            self._staff_lines.setdefault((y1, stroke), []).append((x1, x2))
            self._bar_end_sp = x2  # staff lines are drawn bar by bar, up to the barline
            return
        round_cap = path.get("stroke-linecap") == "round"
        self.items.append(Path((("M", x1, y1), ("L", x2, y2)), False, stroke, (), round_cap))
        half = stroke / 2
        self.boxes.append((min(x1, x2) - half, min(y1, y2) - half, max(x1, x2) + half, max(y1, y2) + half))

    def _add_path(self, segments: Sequence[Segment], shape: etree._Element, turn: Matrix | None) -> None:
        scale = 1 / UNITS_PER_SP
        place: Matrix = (scale, 0.0, 0.0, scale, -self._left * scale, -self._top * scale)
        placed = tuple(map_segments(segments, compose(place, turn) if turn else place))
        get = shape.get
        stroke = float(get("stroke-width") or 0.0) * scale
        self.items.append(
            Path(
                placed,
                fill=get("fill") != "none" and get("fill-opacity") != "0" and len(placed) > 2,
                stroke_sp=stroke,
                dash_sp=tuple(
                    float(word) * scale for word in get("stroke-dasharray", "").replace(",", " ").split()
                ),
                round_cap=get("stroke-linecap") == "round",
                round_join=get("stroke-linejoin") == "round",
            )
        )
        left, top, right, bottom = segments_box(placed)
        half = stroke / 2
        self.boxes.append((left - half, top - half, right + half, bottom + half))

    def _draw_use(self, use: etree._Element, turn: Matrix | None) -> None:
        transform = str(use.get("transform"))
        match = _USE_TRANSFORM.fullmatch(transform)
        if match:
            matrix: Matrix = (float(match[3]), 0.0, 0.0, float(match[4]), float(match[1]), float(match[2]))
        else:
            matrix = parse_transform(transform)
        self._add_glyph(_glyph_name(str(use.get("href"))), compose(turn, matrix) if turn else matrix)

    def _add_glyph(self, name: str, units: Matrix) -> None:
        box = self._reader.glyph_box(name)
        if box is None:
            self._reader.unknown(f"glyph {name}")
            return
        a, b, c, d, e, f = units
        scale = 1 / UNITS_PER_SP
        matrix = (
            a * scale,
            b * scale,
            c * scale,
            d * scale,
            (e - self._left) * scale,
            (f - self._top) * scale,
        )
        self.items.append(Glyph(name, matrix))
        self.boxes.append(map_box(box, matrix))

    def _draw_text(self, text: etree._Element, bold: bool, italic: bool) -> None:
        anchor, part = _ANCHORS[text.get("text-anchor") or "start"]
        lines = [_Line(float(text.get("x") or 0.0), float(text.get("y") or 0.0), [])]
        _collect_runs(text, _Style(0.0, bold, italic, False, 0.0), lines)
        for line in lines:
            widths = [self._width(run.string, run.style) for run in line.runs]
            x = line.x - part * sum(widths)
            for run, width in zip(line.runs, widths, strict=True):
                if run.style.music:
                    self._add_music(run, x, line.y)
                elif run.string.strip():
                    # a line of one run keeps its anchor: exact even where a letter's width is not known
                    self._add_words(run, x, line.y, width, anchor if len(line.runs) == 1 else "start")
                x += width

    def _width(self, string: str, style: "_Style") -> float:
        natural = self._reader.metrics.width(string, style.size, style.bold, style.italic, style.music)
        return natural + style.spacing * len(string)

    def _add_music(self, run: "_Run", x: float, y: float) -> None:
        scale = run.style.size / MUSIC_EM
        for character in run.string:
            name = self._reader.text_glyph(character)
            if name:
                self._add_glyph(name, (scale, 0.0, 0.0, scale, x, y))
            elif not character.isspace():
                self._reader.unknown(f"music character U+{ord(character):04X}")
            x += self._width(character, run.style)

    def _add_words(self, run: "_Run", x: float, y: float, width: float, anchor: _Anchor) -> None:
        style, scale = run.style, 1 / UNITS_PER_SP
        left, baseline, long = (x - self._left) * scale, (y - self._top) * scale, width * scale
        size = style.size * scale
        at = left + _ANCHORS[anchor][1] * long
        self.items.append(
            Text(at, baseline, size, anchor, "serif", style.bold, style.italic, run.string, long)
        )
        up, down = self._reader.metrics.extent(run.string, size, style.bold, style.italic)
        self.boxes.append((left, baseline - up, left + long, baseline + down))


def _polygon(shape: etree._Element) -> list[Segment]:
    return [*_polyline(shape), ("Z",)]


def _polyline(shape: etree._Element) -> list[Segment]:
    return polyline(str(shape.get("points")))


def _rectangle(shape: etree._Element) -> list[Segment]:
    return rectangle(*_numbers(shape, "x", "y", "width", "height"))


def _ellipse(shape: etree._Element) -> list[Segment]:
    return ellipse(*_numbers(shape, "cx", "cy", "rx", "ry"))


def _numbers(shape: etree._Element, *names: str) -> tuple[float, float, float, float]:
    a, b, c, d = (float(shape.get(name) or 0.0) for name in names)
    return a, b, c, d


_SHAPES: Final[dict[str, Callable[[etree._Element], list[Segment]]]] = {
    _SVG + "polygon": _polygon,
    _SVG + "polyline": _polyline,
    _SVG + "rect": _rectangle,
    _SVG + "ellipse": _ellipse,
}


@dataclass(frozen=True, slots=True)
class _Style:
    """How a run of text looks, in the library's units."""

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
    """Runs that follow each other from one position."""

    x: float
    y: float
    runs: list[_Run]


def _collect_runs(element: etree._Element, outer: _Style, lines: list[_Line]) -> None:
    """Runs below a text element; a new line begins wherever a position is given."""
    get = element.get
    style = _Style(
        size=float((get("font-size") or "").removesuffix("px") or outer.size),
        bold=get("font-weight", "bold" if outer.bold else "") == "bold",
        italic=get("font-style", "italic" if outer.italic else "") == "italic",
        music="font-family" in element.attrib or outer.music,
        spacing=float((get("letter-spacing") or "").removesuffix("px") or outer.spacing),
    )
    if element.tag != _TEXT and get("x"):
        lines.append(_Line(float(str(get("x"))), float(get("y") or lines[-1].y), []))
    if element.text:
        lines[-1].runs.append(_Run(element.text, style))
    for child in element:
        _collect_runs(child, style, lines)
        if child.tail:
            lines[-1].runs.append(_Run(child.tail, style))
