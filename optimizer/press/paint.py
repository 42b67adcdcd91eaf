"""Display lists painted on a reportlab canvas, as vectors.

In: `EngravedSystem` and glyph outlines, staff spaces, y downwards.  Out: PDF content on the canvas' current
page. Positions are millimetres from the page's top left corner, y downwards.  Always true: each glyph
outline is defined once a document (form XObject), every font is embedded, and the same input writes the
same bytes.
"""

from collections.abc import Iterator, Mapping
from functools import cache
from typing import Final

from reportlab.pdfgen.canvas import Canvas

from optimizer.engrave.model import EngravedSystem, Glyph, Path, Text
from optimizer.press.fonts import set_codes, text_width_pt
from optimizer.units import SPACES_PER_STAFF, mm_to_pt

# Content is written in whole thousandths of a staff space: below what any printer resolves, and short
# numbers.
GRAIN: Final = 1000.0

_ANCHORS: Final = {"start": 0.0, "middle": 0.5, "end": 1.0}


class Painter:
    """Paints on one canvas; glyphs are defined on it when first used."""

    def __init__(self, canvas: Canvas, glyphs: Mapping[str, Path]) -> None:
        self._canvas, self._glyphs = canvas, glyphs
        self._forms: dict[str, str] = {}

    def paint_system(
        self, system: EngravedSystem, x_mm: float, y_mm: float, staff_mm: float, page_height_mm: float
    ) -> None:
        """Paint a system; x, y is the left end of its top staff line."""
        names = dict.fromkeys(item.name for item in system.items if isinstance(item, Glyph))
        for name in names:
            self._define(name)
        self._canvas._formsinuse.extend(names)
        scale = mm_to_pt(staff_mm) / SPACES_PER_STAFF / GRAIN
        x_pt, y_pt = mm_to_pt(x_mm), mm_to_pt(page_height_mm - y_mm)
        code = self._canvas._code
        code.append(f"q {scale:.8f} 0 0 {-scale:.8f} {x_pt:.4f} {y_pt:.4f} cm 0 g 0 G 0 J 0 j [] 0 d")
        code.extend(self._operators(system))
        code.append("Q")

    def _define(self, name: str) -> None:
        if name in self._forms:
            return
        path = self._glyphs[name]
        values = [value for segment in path.segments for value in segment[1:] if isinstance(value, float)]
        xs, ys = values[::2], values[1::2]
        canvas = self._canvas
        canvas.beginForm(name, min(xs), min(ys), max(xs), max(ys))
        canvas._code.append(_outline(path, 1.0) + " f")
        canvas.endForm()
        self._forms[name] = canvas._doc.getXObjectName(name)

    def _operators(self, system: EngravedSystem) -> Iterator[str]:
        pen: tuple[object, ...] = ()
        for item in system.items:
            if isinstance(item, Path):
                if item.stroke_sp:
                    wanted = (item.stroke_sp, item.dash_sp, item.round_cap, item.round_join)
                    if wanted != pen:
                        pen = wanted
                        yield _pen(item)
                yield _outline(item, GRAIN) + _finish(item)
            elif isinstance(item, Glyph):
                matrix = item.matrix
                x, y = matrix[4] * GRAIN, matrix[5] * GRAIN
                yield f"q {_shape(matrix[:4])} {x:.0f} {y:.0f} cm /{self._forms[item.name]} Do Q"
            else:
                yield self._set(item)

    def _set(self, text: Text) -> str:
        """A text item; the axis is turned back for it."""
        part = _ANCHORS[text.anchor]
        width_sp = text_width_pt(text.string, text.size_sp, text.bold, text.italic) if part else 0.0
        x = (text.x_sp - part * width_sp) * GRAIN
        words = [f"BT 1 0 0 -1 {x:.0f} {text.y_sp * GRAIN:.0f} Tm"]
        for name, codes in set_codes(self._canvas._doc, text.string, text.bold, text.italic):
            words.append(f"{name} {text.size_sp * GRAIN:.0f} Tf ({self._canvas._escape(codes)}) Tj")
        return " ".join((*words, "ET"))


def _outline(path: Path, scale: float) -> str:
    template = _template("".join([str(segment[0]) for segment in path.segments]))
    return template % tuple([value * scale for segment in path.segments for value in segment[1:]])  # type: ignore[operator]


@cache
def _template(kinds: str) -> str:
    """The operators of a path whose segments are of these kinds, numbers left open."""
    return " ".join(_OPERATORS[kind] for kind in kinds)


_OPERATORS: Final = {"M": "%.0f %.0f m", "L": "%.0f %.0f l", "C": "%.0f %.0f %.0f %.0f %.0f %.0f c", "Z": "h"}


@cache
def _shape(turn: tuple[float, float, float, float]) -> str:
    """Size and turn of a glyph, the first four numbers of its matrix: nearly all of a set share them."""
    return " ".join(f"{value * GRAIN:.3f}" for value in turn)


def _finish(path: Path) -> str:
    if path.fill:
        return " B" if path.stroke_sp else " f"
    return " S"


def _pen(path: Path) -> str:
    dash = " ".join(f"{length * GRAIN:.0f}" for length in path.dash_sp)
    return f"{path.stroke_sp * GRAIN:.0f} w {int(path.round_cap)} J {int(path.round_join)} j [{dash}] 0 d"
