"""The engraving library behind the `Engraver` protocol; the only module that imports it.

In: a partwise MusicXML tree.  Out: `Measured`, `Engraved`.  The score is read by the library once; both passes lay out
what it made of it (MEI), with breaks of ours.  Always true: the library writes nothing to the terminal (its warnings go
to the log), the input tree is not changed, and a part of the work comes out as it would in the whole.
"""

import logging
from collections import Counter
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import Any, Final

from lxml import etree

from optimizer.engrave import measure as measuring
from optimizer.engrave import mei
from optimizer.engrave.filter import NO_TITLES, printable
from optimizer.engrave.fontdata import TextMetrics, music_outline
from optimizer.engrave.model import Engraved, EngravedSystem, Measured, Path, SystemSpan
from optimizer.engrave.numbers import printed_numbers
from optimizer.engrave.overlaps import without_overlaps
from optimizer.engrave.svg import SvgReader
from optimizer.engrave.systems import engraved_system
from optimizer.errors import QuietleafError
from optimizer.score.multirests import bars_of

log = logging.getLogger(__name__)

# A page of many systems takes quadratic time, many pages repeat the glyph outlines: both measured.
BARS_PER_PAGE: Final = 15
SYSTEMS_PER_PAGE: Final = 4

# What it takes to read and lay out the score, as a part of what drawing all its systems takes (measured: 0.3 to 0.4).
LAYER_SHARE: Final = 0.35
# The width of what stands between the systems of a layer and is not drawn.
GAP_SP: Final = 0.0

# Least distance of staves in half spaces: 6 staff spaces between lines, as in printed piano music (by eye).
STAFF_DISTANCE: Final = 12
# White between the ink of neighbouring staves, in half spaces: one space, by eye. The library also puts it under every
# verse and hairpin; with words to sing, its own quarter of a space has to do, or a song would lose a staff size.
WHITE_BETWEEN_STAVES: Final = 2.0
WHITE_BETWEEN_SUNG_STAVES: Final = 0.5

_COMMON: Final[Mapping[str, Any]] = {
    "adjustPageHeight": True,
    "condense": "none",
    "footer": "none",
    "header": "none",
    "minLastJustification": 0.0,
    "multiRestStyle": "block",
    "outputFormatRaw": True,
    "pageHeight": 60000,
    "pageMarginBottom": 0,
    "pageMarginLeft": 0,
    "pageMarginRight": 0,
    "pageMarginTop": 0,
    "scale": 100,
    "smuflTextFont": "none",
    "svgFormatRaw": True,
    "svgRemoveXlink": True,
}
# Identifiers are drawn at random; the later passes must not draw again what the import has drawn, or shapes that go on
# in a next system land in the wrong one.
_IMPORT: Final = {**_COMMON, "breaks": "none", "xmlIdSeed": 1}
_MEASURE: Final = {
    **_COMMON,
    "breaks": "encoded",
    "noJustification": True,
    "pageWidth": 50000,
    "spacingStaff": 0,
    "spacingSystem": 0,
    "xmlIdSeed": 2,
}
_DRAW: Final = {
    **_COMMON,
    "breaks": "encoded",
    "spacingStaff": STAFF_DISTANCE,
    "spacingSystem": 12,
    "xmlIdSeed": 3,
}
_DRAW_STRIPS: Final = {**_DRAW, "noJustification": True, "pageWidth": 50000, "xmlIdSeed": 4}


class EngravingError(QuietleafError):
    """The engraving library cannot make anything of the score."""

    exit_code = 3


@dataclass(frozen=True, slots=True)
class _Sheet:
    """A page of the library's: its number and the systems on it, all of one width."""

    number: int
    spans: tuple[SystemSpan, ...]

    @property
    def width_sp(self) -> float:
        return self.spans[0].width_sp


@dataclass(frozen=True, slots=True)
class Starts:
    """Of each bar the room that clefs and keys take at its start; of some, by position, their width in a system."""

    widths: tuple[measuring.StartWidths, ...]
    inner_sp: Mapping[int, float]


@dataclass(frozen=True, slots=True)
class Rendered:
    """A page as the library draws it, and the systems on it."""

    spans: tuple[SystemSpan, ...]
    svg: str


class ScoreEngraver:
    """Engraves one score. `name`: what to call it in messages; `playback_marks`: print metronome marks that only steer
    playback; `titles`: what is printed above measures, and not again at their staves; `strict`: raise for shapes that
    are not understood (tests) where otherwise they are logged.

    It holds texts and numbers, none of the library's objects: one process can make it for another (pair.py)."""

    def __init__(
        self,
        root: etree._Element,
        *,
        name: str = "score",
        playback_marks: bool = False,
        titles: Mapping[int, Collection[str]] = NO_TITLES,
        strict: bool = False,
    ) -> None:
        self._name, self._strict = name, strict
        parts = root.findall("part")
        self._numbers = printed_numbers(parts[0].findall("measure")) if parts else []
        if not self._numbers:
            raise EngravingError(f"{name}: the score has no bars")
        tree = printable(root, playback_marks, titles)
        self._sung = measuring.sung_bars(tree)
        self._white = WHITE_BETWEEN_SUNG_STAVES if self._sung else WHITE_BETWEEN_STAVES
        toolkit = self._toolkit(_IMPORT)
        counts = [bars_of(bar) for bar in parts[0].findall("measure")]
        self._mei = mei.with_multiple_rests(self._read(toolkit, tree), counts)
        self._overhang_sp = self._measure_overhang_sp(toolkit)

    def measure(self) -> Measured:
        """Sizes of all bars, from one pass over the score."""
        return self.sizes(self.places(), self.starts())

    def sizes(self, places: Sequence[measuring.BarPlace], starts: Starts) -> Measured:
        """What the places of the bars and the room at their starts come to."""
        return measuring.sizes(places, starts.widths, starts.inner_sp, self._overhang_sp, self._sung)

    def places(self) -> list[measuring.BarPlace]:
        """Every bar as a system of its own."""
        text = mei.with_single_bars(self._mei, BARS_PER_PAGE, STAFF_DISTANCE)
        zones = self._zones(self._toolkit(_MEASURE), text)
        places = measuring.read_places(zones, mei.movement_ends(self._mei))
        if len(places) != len(self._numbers):
            raise EngravingError(
                f"{self._name}: engraved {len(places)} bars where the score has {len(self._numbers)}"
            )
        return places

    def starts(self) -> Starts:
        """What the width of a bar owes to where in a system it stands."""
        toolkit = self._toolkit(_MEASURE)
        widths = self._start_widths(toolkit)
        return Starts(tuple(widths), self._inner_widths_sp(toolkit, widths[0]))

    def _start_widths(self, toolkit: Any) -> list[measuring.StartWidths]:
        """How wide clefs and keys are at each bar, every kind of start engraved once."""
        turns = measuring.staff_turns(measuring.staff_starts(self._mei))
        known = {
            turn: measuring.start_widths(self._zones(toolkit, measuring.sample_score(turn)))
            for turn in dict.fromkeys(turns)
        }
        return [known[turn] for turn in turns]

    def _inner_widths_sp(self, toolkit: Any, first: measuring.StartWidths) -> dict[int, float]:
        """Widths of the bars that would be wider at the end of a system, measured again without what widens them."""
        indices = mei.wider_at_system_end(self._mei)
        if not indices:
            return {}
        zones = self._zones(toolkit, mei.staves_alone(self._mei, indices, BARS_PER_PAGE))
        widths = (
            width / measuring.ZONE_UNITS_PER_SP - first.prefix_sp for width in measuring.measure_widths(zones)
        )
        return dict(zip(indices, widths, strict=True))

    def draw(self, spans: Sequence[SystemSpan]) -> Engraved:
        """The systems of a plan, each justified to its width."""
        return in_order(self.read(self.rendered([spans])), spans)

    def begin(self, spans: Sequence[SystemSpan]) -> Callable[[], Engraved]:
        """To draw them when they are asked for."""
        return lambda: self.draw(spans)

    def draw_all(self, spans: Sequence[SystemSpan]) -> Engraved:
        """Systems of several plans, which may overlap, in the order given; each justified to its width."""
        return in_order(self.draw_layers(layers_of(spans)), spans)

    def draw_layers(self, layers: Sequence[Sequence[SystemSpan]]) -> Engraved:
        """Systems that overlap only where they are in different layers."""
        return self.read(self.rendered(layers))

    def rendered(self, layers: Iterable[Sequence[SystemSpan]]) -> Iterator[Rendered]:
        """The library's pages of such systems; what no system of a layer holds is laid out with it, not rendered."""
        for layer in layers:
            spans = _without_gaps(layer, len(self._numbers))
            sheets = _sheets(spans)
            starts, pages = [span.first for span in spans], [sheet.spans[0].first for sheet in sheets]
            toolkit: Any = None
            wanted = (sheet for sheet in sheets if sheet.width_sp != GAP_SP)
            for width_sp, group in groupby(wanted, key=lambda sheet: sheet.width_sp):
                page_width = {"pageWidth": self._page_width(width_sp)}
                if toolkit is None:
                    toolkit = self._toolkit({**_DRAW, **page_width})
                    self._load(toolkit, mei.with_systems(self._mei, starts, pages))
                else:
                    toolkit.setOptions(page_width)
                    toolkit.redoLayout()
                yield from (Rendered(sheet.spans, toolkit.renderToSVG(sheet.number)) for sheet in group)

    def read(self, rendered: Iterable[Rendered]) -> Engraved:
        """The systems on the library's pages."""
        glyphs: dict[str, Path] = {}
        reader = SvgReader(glyphs, TextMetrics(), music_outline, self._strict)
        systems = tuple(system for page in rendered for system in self._systems(page, reader))
        return Engraved(systems, glyphs)

    def draw_strips(self, spans: Sequence[SystemSpan]) -> Engraved:
        """Bars to be printed again as `strips`, each span a system at its natural width; they may overlap."""
        drawn = self.read(self._rendered_strips(spans))
        return Engraved((), drawn.glyphs, drawn.systems)

    def _rendered_strips(self, spans: Sequence[SystemSpan]) -> Iterator[Rendered]:
        for layer in _layers(spans):
            starts = sorted({0, *(bar for span in layer for bar in (span.first, span.last + 1))})
            toolkit = self._toolkit(_DRAW_STRIPS)
            self._load(toolkit, mei.with_systems(self._mei, starts, starts))
            for span in layer:
                yield Rendered((span,), toolkit.renderToSVG(starts.index(span.first) + 1))

    def _systems(self, rendered: Rendered, reader: SvgReader) -> Iterator[EngravedSystem]:
        for span, page in zip(rendered.spans, reader.read_page(rendered.svg), strict=True):
            if page.measures != span.last - span.first + 1:
                raise EngravingError(
                    f"{self._name}: bars {span.first + 1} to {span.last + 1} did not form one system"
                )
            number = self._numbers[span.first] if span.first else ""
            yield engraved_system(without_overlaps(page), span, number, reader.metrics)

    def _page_width(self, width_sp: float) -> int:
        return round((width_sp - self._overhang_sp) * measuring.ZONE_UNITS_PER_SP)

    def _measure_overhang_sp(self, toolkit: Any) -> float:
        """How far brackets and braces stand out beyond the left edge of the library's page."""
        width_sp = 200.0
        toolkit.setOptions({**_DRAW, "pageWidth": round(width_sp * measuring.ZONE_UNITS_PER_SP)})
        score_def = mei.first_score_def(self._mei)
        bar = measuring.sample_bar(score_def)
        self._load(toolkit, mei.score(score_def, f"<pb/>{bar}<sb/>{bar}"))
        reader = SvgReader({}, TextMetrics(), music_outline)
        systems = list(reader.read_page(toolkit.renderToSVG(1)))
        inks = (system.right_sp - width_sp - min(box[0] for box in system.boxes) for system in systems)
        return max(0.0, *inks)

    def _read(self, toolkit: Any, root: etree._Element) -> str:
        self._load(toolkit, etree.tostring(root, encoding="unicode"))
        text: str = toolkit.getMEI({"removeIds": True})
        if mei.count_measures(text) != len(self._numbers):
            found = mei.count_measures(text)
            raise EngravingError(f"{self._name}: {len(self._numbers)} bars were read as {found}")
        return mei.with_technique_inside(mei.with_layers_in_order(text))

    def _zones(self, toolkit: Any, text: str) -> str:
        """MEI engraved for measuring and written back with the places of things."""
        self._load(toolkit, text)
        zones: str = toolkit.getMEI({"generateFacs": True})
        return zones

    def _toolkit(self, options: Mapping[str, Any]) -> Any:
        import verovio

        # The library writes straight to the terminal: only where the user asked for that much.
        verovio.enableLog(verovio.LOG_WARNING if log.isEnabledFor(logging.DEBUG) else verovio.LOG_OFF)
        toolkit = verovio.toolkit()
        toolkit.setOptions({**options, "defaultBottomMargin": self._white})
        return toolkit

    def _load(self, toolkit: Any, text: str) -> None:
        loaded = toolkit.loadData(text)
        if not loaded or not toolkit.getPageCount():
            raise EngravingError(
                f"{self._name}: cannot be engraved; check that it is a complete MusicXML score"
            )


def _sheets(spans: Sequence[SystemSpan]) -> list[_Sheet]:
    """The library's pages: a few systems each, all of one width; the most frequent width first."""
    groups: list[tuple[SystemSpan, ...]] = []
    for _, same in groupby(spans, key=lambda span: span.width_sp):
        systems = tuple(same)
        groups += (
            systems[index : index + SYSTEMS_PER_PAGE] for index in range(0, len(systems), SYSTEMS_PER_PAGE)
        )
    counts = Counter(span.width_sp for span in spans)
    sheets = (_Sheet(number, group) for number, group in enumerate(groups, 1))
    return sorted(sheets, key=lambda sheet: (-counts[sheet.width_sp], sheet.width_sp, sheet.number))


def layers_of(spans: Sequence[SystemSpan]) -> list[list[SystemSpan]]:
    """All spans, each once, in groups of which none overlap: of one width, but where one of another has room for all of
    them."""
    layers: list[list[SystemSpan]] = []
    counts = Counter(span.width_sp for span in dict.fromkeys(spans))
    for width_sp in sorted(counts, key=lambda width_sp: (-counts[width_sp], width_sp)):
        for new in _layers([span for span in dict.fromkeys(spans) if span.width_sp == width_sp]):
            bars = {bar for span in new for bar in range(span.first, span.last + 1)}
            free = (
                layer for layer in layers if all(bars.isdisjoint(range(s.first, s.last + 1)) for s in layer)
            )
            if (layer := next(free, None)) is None:
                layers.append(new)
            else:
                layer += new
    return layers


def halves(layers: Sequence[Sequence[SystemSpan]]) -> tuple[list[Sequence[SystemSpan]], ...]:
    """The layers in two parts that take about as long to draw; reading and laying out takes a part of the longest."""
    parts: tuple[list[Sequence[SystemSpan]], ...] = [], []
    efforts = [0.0, 0.0]
    layout = LAYER_SHARE * max(map(len, layers), default=0)
    for layer in sorted(layers, key=len, reverse=True):
        lighter = efforts.index(min(efforts))
        parts[lighter].append(layer)
        efforts[lighter] += len(layer) + layout
    return parts


def in_order(engraved: Engraved, spans: Sequence[SystemSpan]) -> Engraved:
    """The systems in the order of these spans."""
    drawn = {SystemSpan(system.first, system.last, system.width_sp): system for system in engraved.systems}
    return Engraved(tuple(drawn[span] for span in spans), engraved.glyphs)


def _without_gaps(layer: Sequence[SystemSpan], bars: int) -> list[SystemSpan]:
    """The spans of a layer in order, with others for the bars between them."""
    spans = sorted(layer, key=lambda span: span.first)
    lasts, firsts = [-1, *(span.last for span in spans)], [*(span.first for span in spans), bars]
    gaps = (
        SystemSpan(last + 1, first - 1, GAP_SP)
        for last, first in zip(lasts, firsts, strict=True)
        if last + 1 < first
    )
    return sorted([*spans, *gaps], key=lambda span: span.first)


def _layers(spans: Sequence[SystemSpan]) -> list[list[SystemSpan]]:
    """The spans in groups of which none overlap, as few as can be."""
    layers: list[list[SystemSpan]] = []
    for span in sorted(spans, key=lambda span: span.first):
        layer = next((layer for layer in layers if layer[-1].last < span.first), None)
        if layer is None:
            layers.append([span])
        else:
            layer.append(span)
    return layers
