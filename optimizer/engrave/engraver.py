"""The engraving library behind the `Engraver` protocol; the only module that imports it.

In: a partwise MusicXML tree.  Out: `Measured`, `Engraved`.  The score is read by the library once; both passes lay out
what it made of it (MEI), with breaks of ours.  Always true: the library writes nothing to the terminal (its warnings go
to the log), and the input tree is not changed.
"""

import logging
from collections.abc import Iterator, Mapping, Sequence
from itertools import groupby
from typing import Any, Final

from lxml import etree

from optimizer.engrave import measure, mei
from optimizer.engrave.filter import printable
from optimizer.engrave.fontdata import TextMetrics, music_outline
from optimizer.engrave.model import Engraved, EngravedSystem, Measured, Path, SystemSpan
from optimizer.engrave.svg import PageSystem, SvgReader
from optimizer.engrave.systems import engraved_system
from optimizer.errors import QuietleafError

log = logging.getLogger(__name__)

# A page of many systems takes quadratic time, many pages repeat the glyph outlines: both measured.
BARS_PER_PAGE: Final = 15
SYSTEMS_PER_PAGE: Final = 4

_COMMON: Final[Mapping[str, Any]] = {
    "adjustPageHeight": True,
    "condense": "none",
    "footer": "none",
    "header": "none",
    "minLastJustification": 0.0,
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
    "xmlIdSeed": 1,
}
_IMPORT: Final = {**_COMMON, "breaks": "none"}
_MEASURE: Final = {
    **_COMMON,
    "breaks": "encoded",
    "noJustification": True,
    "pageWidth": 50000,
    "spacingBraceGroup": 0,
    "spacingBracketGroup": 0,
    "spacingStaff": 0,
    "spacingSystem": 0,
}
_DRAW: Final = {**_COMMON, "breaks": "encoded", "spacingSystem": 12}


class EngravingError(QuietleafError):
    """The engraving library cannot make anything of the score."""

    exit_code = 3


class ScoreEngraver:
    """Engraves one score. `name`: what to call it in messages; `playback_marks`: print metronome marks that only steer
    playback; `strict`: raise for shapes that are not understood (tests) where otherwise they are logged."""

    def __init__(
        self, root: etree._Element, *, name: str = "score", playback_marks: bool = False, strict: bool = False
    ) -> None:
        self._name, self._strict = name, strict
        parts = root.findall("part")
        self._numbers = [_printed_number(bar) for bar in parts[0].findall("measure")] if parts else []
        self._mei = self._read(printable(root, playback_marks))
        self._staves = 0

    def measure(self) -> Measured:
        """Sizes of all bars, from one pass over the score."""
        bars = range(len(self._numbers))
        text = mei.with_breaks(self._mei, bars, bars[::BARS_PER_PAGE], closed=True)
        places = measure.read_places(self._zones(text, _MEASURE))
        if len(places) != len(bars):
            raise EngravingError(f"{self._name}: engraved {len(places)} bars where the score has {len(bars)}")
        starts = measure.staff_starts(self._mei)
        known: dict[tuple[measure.StaffStart, ...], float] = {}
        for start in starts:
            if start not in known:
                zones = self._zones(measure.sample_score(start), _MEASURE)
                known[start] = measure.prefix_units(zones) / measure.ZONE_UNITS_PER_SP
        return measure.sizes(places, [known[start] for start in starts], max(len(start) for start in starts))

    def draw(self, spans: Sequence[SystemSpan]) -> Engraved:
        """The systems of a plan, each justified to its width."""
        glyphs: dict[str, Path] = {}
        metrics = TextMetrics()
        reader = SvgReader(glyphs, metrics, music_outline, self._strict)
        systems: list[EngravedSystem] = []
        for span, page in zip(spans, self._pages(spans, reader), strict=True):
            if page.measures != span.last - span.first + 1:
                raise EngravingError(f"{self._name}: bars {span.first + 1} to {span.last + 1} did not form one system")
            number = self._numbers[span.first] if span.first else ""
            systems.append(engraved_system(page, span, number, metrics))
        return Engraved(tuple(systems), glyphs)

    def _pages(self, spans: Sequence[SystemSpan], reader: SvgReader) -> Iterator[PageSystem]:
        """The systems one after another; systems of different widths come from layouts of their own."""
        starts = [span.first for span in spans]
        pages = _page_starts(spans)
        toolkit = self._toolkit({**_DRAW, "pageWidth": _units(spans[0].width_sp)})
        self._load(toolkit, mei.with_breaks(self._mei, starts, pages))
        width = spans[0].width_sp
        page_spans = [span for span in spans if span.first in pages]
        for number, span in enumerate(page_spans, 1):
            if span.width_sp != width:
                width = span.width_sp
                toolkit.setOptions({"pageWidth": _units(width)})
                toolkit.redoLayout()
            yield from reader.read_page(toolkit.renderToSVG(number))

    def _read(self, root: etree._Element) -> str:
        toolkit = self._toolkit(_IMPORT)
        self._load(toolkit, etree.tostring(root, encoding="unicode"))
        text: str = toolkit.getMEI({"removeIds": True})
        if mei.count_measures(text) != len(self._numbers):
            found = mei.count_measures(text)
            raise EngravingError(f"{self._name}: {len(self._numbers)} bars were read as {found}")
        return text

    def _zones(self, text: str, options: Mapping[str, Any]) -> str:
        toolkit = self._toolkit(options)
        self._load(toolkit, text)
        zones: str = toolkit.getMEI({"generateFacs": True})
        return zones

    def _toolkit(self, options: Mapping[str, Any]) -> Any:
        import verovio

        # The library writes straight to the terminal: only where the user asked for that much.
        verovio.enableLog(verovio.LOG_WARNING if log.isEnabledFor(logging.DEBUG) else verovio.LOG_OFF)
        toolkit = verovio.toolkit()
        toolkit.setOptions(dict(options))
        return toolkit

    def _load(self, toolkit: Any, text: str) -> None:
        loaded = toolkit.loadData(text)
        if not loaded or not toolkit.getPageCount():
            raise EngravingError(f"{self._name}: cannot be engraved; check that it is a complete MusicXML score")


def _units(width_sp: float) -> int:
    return round(width_sp * measure.ZONE_UNITS_PER_SP)


def _page_starts(spans: Sequence[SystemSpan]) -> list[int]:
    """First measures of the library's pages: a few systems each, all of one width."""
    starts: list[int] = []
    for _, same in groupby(spans, key=lambda span: span.width_sp):
        starts.extend(span.first for span in list(same)[::SYSTEMS_PER_PAGE])
    return starts


def _printed_number(bar: etree._Element) -> str:
    return "" if bar.get("implicit") == "yes" else bar.get("number", "")
