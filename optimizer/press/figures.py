"""Everything on paper that is not music, as plain shapes, and the two ways to write them: PDF canvas and SVG.

In: nothing.  Out: `Figure`s and `Sheet`s; lengths in mm from the sheet's top left corner, y downwards; type
sizes in points.  Always true: both ways draw the same shapes; a colour is "#rrggbb"; text is set in the
embedded serif.
"""

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cache
from math import cos, hypot, radians, sin
from typing import Final, Literal
from xml.sax.saxutils import escape, quoteattr

from reportlab.pdfgen.canvas import Canvas

from optimizer.press.fonts import set_codes, text_width_pt
from optimizer.turns.model import Grade
from optimizer.units import mm_to_pt, pt_to_mm

Point = tuple[float, float]
Anchor = Literal["start", "middle", "end"]

BLACK: Final = "#000000"
GREY: Final = "#666666"  # still dark enough for an office printer
PALE: Final = "#d9d9d9"
WHITE: Final = "#ffffff"
HAIR_MM: Final = 0.15
MIN_PT: Final = 7.0  # no smaller type in guide, label and turn sheet
MARGIN_MM: Final = 14.0  # wide enough for every office printer
LEADING: Final = 1.25  # line to line, in type sizes
LEAST_NUMBER: Final = 1e-7  # in points: less is nothing
BREAKS: Final = re.compile(r"[^\S\u00a0\u202f]+")

# Light to dark from open to blocked, so that grey prints keep the order; hues apart for the usual kinds of
# colour blindness (blue, orange, vermilion, black: after Okabe & Ito 2008, from memory, the blue made
# lighter).
GRADE_COLOURS: Final = {
    Grade.OPEN: "#a9d6f2",
    Grade.QUICK: "#e69f00",
    Grade.TIGHT: "#c04a00",
    Grade.BLOCKED: BLACK,
}


@dataclass(frozen=True, slots=True)
class Line:
    """An open line through points."""

    points: tuple[Point, ...]
    width_mm: float = HAIR_MM
    colour: str = BLACK
    dash_mm: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class Area:
    """A closed polygon; `fill` or `outline` None: without."""

    points: tuple[Point, ...]
    fill: str | None = BLACK
    outline: str | None = None
    width_mm: float = HAIR_MM


@dataclass(frozen=True, slots=True)
class Disc:
    """A circle."""

    x_mm: float
    y_mm: float
    radius_mm: float
    fill: str | None = BLACK
    outline: str | None = None
    width_mm: float = HAIR_MM


@dataclass(frozen=True, slots=True)
class Label:
    """One line of text; (x, y) is on its baseline."""

    x_mm: float
    y_mm: float
    string: str
    size_pt: float
    anchor: Anchor = "start"
    bold: bool = False
    italic: bool = False
    colour: str = BLACK

    @property
    def width_mm(self) -> float:
        """Set width."""
        return text_width_mm(self.string, self.size_pt, self.bold, self.italic)


Figure = Line | Area | Disc | Label


@dataclass(frozen=True, slots=True)
class Sheet:
    """One printed side of figures."""

    width_mm: float
    height_mm: float
    figures: tuple[Figure, ...]


def rectangle(
    x_mm: float,
    y_mm: float,
    width_mm: float,
    height_mm: float,
    fill: str | None = BLACK,
    outline: str | None = None,
) -> Area:
    """An upright rectangle from its top left corner."""
    right, low = x_mm + width_mm, y_mm + height_mm
    return Area(((x_mm, y_mm), (right, y_mm), (right, low), (x_mm, low)), fill, outline)


def curve(
    x_mm: float, y_mm: float, across_mm: float, up_mm: float, start: float, end: float
) -> tuple[Point, ...]:
    """Points on an ellipse around a centre, from one angle to another (degrees, 0 right, 90 up)."""
    steps = max(2, round(abs(end - start) / 9))
    angles = (radians(start + (end - start) * step / steps) for step in range(steps + 1))
    return tuple((x_mm + across_mm * cos(a), y_mm - up_mm * sin(a)) for a in angles)


def arrow(points: Sequence[Point], width_mm: float = 0.35, head_mm: float = 1.8) -> tuple[Figure, ...]:
    """A line with a head at its last point."""
    (x0, y0), (x, y) = points[-2:]
    length = hypot(x - x0, y - y0)
    dx, dy = (x - x0) / length * head_mm, (y - y0) / length * head_mm
    foot_x, foot_y, wing = x - dx, y - dy, 0.4
    head = ((x, y), (foot_x - dy * wing, foot_y + dx * wing), (foot_x + dy * wing, foot_y - dx * wing))
    return Line((*points[:-1], (foot_x, foot_y)), width_mm), Area(head)


def moved(figures: Iterable[Figure], right_mm: float, down_mm: float) -> tuple[Figure, ...]:
    """The same figures elsewhere."""
    return tuple(_shifted(figure, right_mm, down_mm) for figure in figures)


def _shifted(figure: Figure, right_mm: float, down_mm: float) -> Figure:
    if isinstance(figure, Line | Area):
        return replace(figure, points=tuple((x + right_mm, y + down_mm) for x, y in figure.points))
    return replace(figure, x_mm=figure.x_mm + right_mm, y_mm=figure.y_mm + down_mm)


def grade_sign(grade: Grade, x_mm: float, y_mm: float, size_mm: float) -> tuple[Figure, ...]:
    """A grade as a shape centred on a point: circle, triangle, diamond, crossed square."""
    half, fill = size_mm / 2, GRADE_COLOURS[grade]
    if grade is Grade.OPEN:
        return (Disc(x_mm, y_mm, half * 0.95, fill, BLACK),)
    if grade is Grade.QUICK:
        corners = ((0.0, -1.1), (1.1, 0.85), (-1.1, 0.85))
    elif grade is Grade.TIGHT:
        corners = ((0.0, -1.2), (1.2, 0.0), (0.0, 1.2), (-1.2, 0.0))  # type: ignore[assignment]
    else:
        box = rectangle(x_mm - half, y_mm - half, size_mm, size_mm, fill, BLACK)
        arm = half * 0.6
        strokes = (
            Line(((x_mm - arm, y_mm - arm), (x_mm + arm, y_mm + arm)), size_mm / 9, WHITE),
            Line(((x_mm - arm, y_mm + arm), (x_mm + arm, y_mm - arm)), size_mm / 9, WHITE),
        )
        return (box, *strokes)
    return (Area(tuple((x_mm + half * x, y_mm + half * y) for x, y in corners), fill, BLACK),)


def text_width_mm(string: str, size_pt: float, bold: bool = False, italic: bool = False) -> float:
    """Set width of a line of text."""
    return pt_to_mm(text_width_pt(string, size_pt, bold, italic))


def line_mm(size_pt: float) -> float:
    """Distance of baselines of running text."""
    return pt_to_mm(size_pt * LEADING)


def wrap(
    string: str, size_pt: float, width_mm: float, bold: bool = False, italic: bool = False
) -> tuple[str, ...]:
    """Break text at spaces, but not at no-break spaces, into lines of at most `width_mm`; a word wider than that is
    broken where it must be."""
    lines: list[str] = []
    for paragraph in string.splitlines():
        line = ""
        for word in filter(None, BREAKS.split(paragraph)):
            longer = f"{line} {word}" if line else word
            if text_width_mm(longer, size_pt, bold, italic) <= width_mm:
                line = longer
                continue
            if line:
                lines.append(line)
            line = word
            while text_width_mm(line, size_pt, bold, italic) > width_mm and len(line) > 1:
                cut = _fitting(line, size_pt, width_mm, bold, italic)
                lines.append(line[:cut])
                line = line[cut:]
        if line:
            lines.append(line)
    return tuple(lines)


def _fitting(word: str, size_pt: float, width_mm: float, bold: bool, italic: bool) -> int:
    """How many letters of a word fit, at least one."""
    return max(
        (n for n in range(1, len(word)) if text_width_mm(word[:n], size_pt, bold, italic) <= width_mm),
        default=1,
    )


def paint_figures(canvas: Canvas, height_mm: float, figures: Iterable[Figure]) -> None:
    """Draw on the current page of a canvas, `height_mm` high.

    The operators are what the canvas itself would write; it takes three times as long over them.
    """
    add = canvas._code.append

    def at(point: Point) -> str:
        return _numbers(mm_to_pt(point[0]), mm_to_pt(height_mm - point[1]))

    for figure in figures:
        if isinstance(figure, Label):
            shift = {"start": 0.0, "middle": 0.5, "end": 1.0}[figure.anchor]
            x_mm = figure.x_mm - (shift * figure.width_mm if shift else 0.0)
            add(f"{_colour(figure.colour)} rg")
            add(f"BT 1 0 0 1 {at((x_mm, figure.y_mm))} Tm {_words(canvas, figure)} T* ET")
            continue
        fill, outline = (None, figure.colour) if isinstance(figure, Line) else (figure.fill, figure.outline)
        if fill:
            add(f"{_colour(fill)} rg")
        if outline:
            dash_mm = figure.dash_mm if isinstance(figure, Line) else ()
            add(f"{_colour(outline)} RG")
            add(f"{_numbers(mm_to_pt(figure.width_mm))} w")
            add(f"[{_numbers(*map(mm_to_pt, dash_mm))}] 0 d")
        if isinstance(figure, Disc):
            x, y = mm_to_pt(figure.x_mm), mm_to_pt(height_mm - figure.y_mm)
            canvas.circle(x, y, mm_to_pt(figure.radius_mm), stroke=bool(outline), fill=bool(fill))
            continue
        path = " l ".join(map(at, figure.points)).replace(" l ", " m ", 1)
        add(f"n {path} l h" if isinstance(figure, Area) else f"n {path} l")
        add(("B*" if outline else "f*") if fill else "S" if outline else "n")


def _words(canvas: Canvas, label: Label) -> str:
    """The operators that set a label in its face."""
    size = f"{_numbers(label.size_pt)} Tf {_numbers(label.size_pt * 1.2)} TL"
    codes = set_codes(canvas._doc, label.string, label.bold, label.italic)
    return " ".join(f"{name} {size} ({canvas._escape(letters)}) Tj" for name, letters in codes)


@cache
def _colour(colour: str) -> str:
    red, green, blue = (int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5))
    return _numbers(red, green, blue)


def _numbers(*values: float) -> str:
    """Numbers as PDF has them, seven digits of them and six after the point at most."""
    return " ".join(map(_number, values))


def _number(value: float) -> str:
    size = abs(value)
    if size <= LEAST_NUMBER:
        return "0"
    digits = f"{value:.{6 if size < 10 else 5 if size < 100 else 4 if size < 1000 else 3}f}".rstrip("0")
    return digits.rstrip(".").removeprefix("0") or "0"


def svg_text(sheet: Sheet, title: str) -> str:
    """A sheet as an SVG document; text stays text, in whatever serif the viewer has."""
    width, height = f"{sheet.width_mm:.2f}", f"{sheet.height_mm:.2f}"
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}mm" height="{height}mm" '
        f'viewBox="0 0 {width} {height}" font-family="serif">'
    )
    paper = f'<rect width="{width}" height="{height}" fill="{WHITE}"/>'
    return "\n".join(
        (head, f"<title>{escape(title)}</title>", paper, *map(svg_element, sheet.figures), "</svg>\n")
    )


def svg_element(figure: Figure) -> str:
    """A figure as an SVG element."""
    if isinstance(figure, Label):
        style = (' font-weight="bold"' if figure.bold else "") + (
            ' font-style="italic"' if figure.italic else ""
        )
        return (
            f'<text x="{figure.x_mm:.2f}" y="{figure.y_mm:.2f}" font-size="{pt_to_mm(figure.size_pt):.2f}" '
            f'text-anchor="{figure.anchor}" fill="{figure.colour}"{style}>{escape(figure.string)}</text>'
        )
    if isinstance(figure, Disc):
        place = f'cx="{figure.x_mm:.2f}" cy="{figure.y_mm:.2f}" r="{figure.radius_mm:.2f}"'
        return f"<circle {place} {_svg_paint(figure.fill, figure.outline, figure.width_mm)}/>"
    points = quoteattr(" ".join(f"{x:.2f},{y:.2f}" for x, y in figure.points))
    if isinstance(figure, Line):
        dash = f' stroke-dasharray="{" ".join(f"{d:.2f}" for d in figure.dash_mm)}"' if figure.dash_mm else ""
        return f"<polyline points={points} {_svg_paint(None, figure.colour, figure.width_mm)}{dash}/>"
    return f"<polygon points={points} {_svg_paint(figure.fill, figure.outline, figure.width_mm)}/>"


def _svg_paint(fill: str | None, outline: str | None, width_mm: float) -> str:
    stroke = f' stroke="{outline}" stroke-width="{width_mm:.2f}"' if outline else ""
    return f'fill="{fill or "none"}"{stroke}'
