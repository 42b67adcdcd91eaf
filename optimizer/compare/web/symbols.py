"""Engraved systems as SVG symbols, in as few bytes as will do.

In: `EngravedSystem`s and glyph outlines, staff spaces.  Out: ids to `<use>`, the definitions behind them and the style
rules that these need.  Lengths in grains, `GRAIN` to a staff space, y downwards.  Always true: systems that look alike
are one symbol; texts are escaped; the same systems in the same order give the same text.

A comparison shows some hundred systems of some hundred signs each.  What keeps them small: whole numbers, each relative
to the one before; all lines of one thickness are one path; all signs of one shape are one path too, at whose every
vertex the shape is stamped as a marker.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Final, TypeVar

from markupsafe import Markup, escape

from optimizer.engrave.model import EngravedSystem, Glyph, Path, Text

GRAIN: Final = 25  # 0.065 mm at the usual staff sizes: a quarter of a pixel at true size
# So thin a line is less than a dot of paper printed small, or of a picture of it, and would come out a whole dot black.
THIN: Final = 4

Pen = tuple[bool, int, tuple[int, ...], bool]  # filled, thickness, dashes, round ends
Face = tuple[int, bool, bool, str]  # size, bold, italic, anchor
Shape = tuple[str, tuple[float, ...]]  # a glyph, and how it is scaled and turned

_Key = TypeVar("_Key", Pen, Face, Shape)


class Symbols:
    """Collects systems; ids are given in the order in which they are asked for."""

    def __init__(self) -> None:
        self._ids: dict[EngravedSystem, str] = {}
        self._systems: dict[str, str] = {}
        self._outlines: dict[str, Path] = {}
        self._shapes: dict[Shape, str] = {}
        self._pens: dict[Pen, str] = {}
        self._faces: dict[Face, str] = {}

    def id_of(self, system: EngravedSystem, glyphs: Mapping[str, Path]) -> str:
        """The id of a system's symbol; its origin is the left end of its top staff line."""
        if system not in self._ids:
            body = "".join(self._body(system, glyphs))
            self._ids[system] = self._systems.setdefault(body, f"s{len(self._systems)}")
        return self._ids[system]

    def definitions(self) -> Markup:
        """What the ids stand for."""
        outlines = {name: f"o{place}" for place, name in enumerate(self._outlines)}
        drawn = [
            f'<path id={outlines[name]} d="{_drawn((path,), 1)}"/>' for name, path in self._outlines.items()
        ]
        drawn += [_marker(shape, name, outlines[shape[0]]) for shape, name in self._shapes.items()]
        drawn += [f"<g id={name}>{body}</g>" for body, name in self._systems.items()]
        return Markup("\n".join(drawn))

    def rules(self) -> Markup:
        """The style of pens, faces and shapes."""
        rules = [f".{name}{{fill:none;marker:url(#{name})}}" for name in self._shapes.values()]
        rules += [f".{name}{{{_pen_style(*pen)}}}" for pen, name in self._pens.items()]
        thin = ",".join(
            f".{name}"
            for (filled, thickness, *_), name in self._pens.items()
            if not filled and thickness <= THIN
        )
        rules += [f"@media print{{{thin}{{stroke-opacity:.5}}}}"] if thin else []
        rules += [f".{name}{{{_face_style(*face)}}}" for face, name in self._faces.items()]
        return Markup("\n".join(rules))

    def _body(self, system: EngravedSystem, glyphs: Mapping[str, Path]) -> Iterator[str]:
        """All signs of a system: paths by pen, glyphs by shape, texts by face."""
        paths: dict[str, list[Path]] = {}
        spots: dict[str, list[tuple[int, int]]] = {}
        texts: dict[str, list[Text]] = {}
        for item in system.items:
            if isinstance(item, Path):
                path = _as_dot(item) or item
                paths.setdefault(_named("p", self._pens, _pen(path)), []).append(path)
            elif isinstance(item, Glyph):
                self._outlines.setdefault(item.name, glyphs[item.name])
                *turned, x_sp, y_sp = item.matrix
                shape = item.name, tuple(round(value * GRAIN, 4) for value in turned)
                name = _named("m", self._shapes, shape)
                spots.setdefault(name, []).append((_grains(x_sp), _grains(y_sp)))
            else:
                face = _grains(item.size_sp), item.bold, item.italic, item.anchor
                texts.setdefault(_named("f", self._faces, face), []).append(item)
        for name, drawn in paths.items():
            yield f'<path class={name} d="{_drawn(drawn, GRAIN)}"/>'
        for name, places in spots.items():
            yield f'<path class={name} d="{_stamped(places)}"/>'
        for name, told in texts.items():
            yield f"<g class={name}>{''.join(map(_text, told))}</g>"


def numbers(values: Iterable[float]) -> str:
    """Numbers of at most four decimals, with no more between them than SVG needs."""
    text = ""
    for value in values:
        digits = f"{value:.4f}".rstrip("0").rstrip(".") if value % 1 else f"{value:.0f}"
        text += f" {digits}" if text and not digits.startswith("-") else digits
    return text


def _named(letter: str, names: dict[_Key, str], key: _Key) -> str:
    """The name of a pen, shape or face; a new one where it has none yet."""
    return names.setdefault(key, f"{letter}{len(names)}")


def _grains(length_sp: float) -> int:
    return round(length_sp * GRAIN)


def _as_dot(path: Path) -> Path | None:
    """A filled circle as a round pen put down once; None for anything else."""
    if not path.fill or path.stroke_sp or [kind for kind, *_ in path.segments] != ["M", *"CCCC", "Z"]:
        return None
    xs, ys = ([float(value) for segment in path.segments for value in segment[start::2]] for start in (1, 2))
    left, right, top, low = min(xs), max(xs), min(ys), max(ys)
    if _grains(right - left) != _grains(low - top):
        return None
    centre = (left + right) / 2, (top + low) / 2
    return Path((("M", *centre), ("L", *centre)), False, right - left, round_cap=True)


def _pen(path: Path) -> Pen:
    thickness = max(1, _grains(path.stroke_sp)) if path.stroke_sp else 0
    return path.fill, thickness, tuple(map(_grains, path.dash_sp)), path.round_cap or path.round_join


def _pen_style(filled: bool, thickness: int, dashes: Sequence[int], rounded: bool) -> str:
    style = [] if filled else ["fill:none"]
    style += [f"stroke:#000;stroke-width:{thickness}"] if thickness else []
    style += [f"stroke-dasharray:{' '.join(map(str, dashes))}"] if dashes else []
    style += ["stroke-linecap:round;stroke-linejoin:round"] if rounded else []
    return ";".join(style)


def _face_style(size: int, bold: bool, italic: bool, anchor: str) -> str:
    style = [f"font-size:{size}px"]
    style += ["font-weight:700"] if bold else []
    style += ["font-style:italic"] if italic else []
    style += [f"text-anchor:{anchor}"] if anchor != "start" else []
    return ";".join(style)


def _marker(shape: Shape, name: str, outline: str) -> str:
    """A glyph to be stamped; markers are cut off at their box unless told otherwise."""
    matrix = numbers((*shape[1], 0, 0))
    return (
        f"<marker id={name} markerUnits=userSpaceOnUse overflow=visible>"
        f'<use href="#{outline}" transform="matrix({matrix})"/></marker>'
    )


def _text(text: Text) -> str:
    return f"<text x={_grains(text.x_sp)} y={_grains(text.y_sp)}>{escape(text.string)}</text>"


def _stamped(places: Sequence[tuple[int, int]]) -> str:
    """A path with a vertex at each place; a browser stamps first and last vertices only if there are two of them."""
    steps, x, y = [], 0, 0
    for place_x, place_y in places:
        steps += [place_x - x, place_y - y]
        x, y = place_x, place_y
    return "m" + numbers(steps)


def _drawn(paths: Iterable[Path], scale: float) -> str:
    """Paths as one, rounded to whole numbers."""
    text, pen, start = "", (0, 0), (0, 0)
    for path in paths:
        for kind, *values in path.segments:
            if kind == "Z":
                text, pen = text + "z", start
                continue
            whole = [round(float(value) * scale) for value in values]
            points = list(zip(whole[::2], whole[1::2], strict=True))
            steps = [(x - pen[0], y - pen[1]) for x, y in points]
            pen = points[-1]
            if kind == "M":
                start = pen
            text += _command(str(kind), steps)
    return text


def _command(kind: str, steps: Sequence[tuple[int, int]]) -> str:
    """One relative command of a path."""
    (x, y), *_ = steps
    if kind == "L" and not y:
        return f"h{x}"
    if kind == "L" and not x:
        return f"v{y}"
    return kind.lower() + numbers(value for step in steps for value in step)
