"""The engraving library behind the `Engraver` protocol; the only module that imports it.

In: a partwise MusicXML tree.  Out: `Measured`, `Engraved`.  The score is read by the library once; both passes lay out
what it made of it (MEI), with breaks of ours.  Always true: the library writes nothing to the terminal (its warnings go
to the log), and the input tree is not changed.
"""

import logging
from collections.abc import Collection, Iterator, Mapping, Sequence
from itertools import groupby
from typing import Any, Final

from lxml import etree

from optimizer.engrave import measure as measuring
from optimizer.engrave import mei
from optimizer.engrave.filter import NO_TITLES, printable
from optimizer.engrave.fontdata import TextMetrics, music_outline
from optimizer.engrave.model import Engraved, EngravedSystem, Measured, Path, SystemSpan
from optimizer.engrave.overlaps import without_overlaps
from optimizer.engrave.svg import PageSystem, SvgReader
from optimizer.engrave.systems import engraved_system
from optimizer.errors import QuietleafError

log = logging.getLogger(__name__)

# A page of many systems takes quadratic time, many pages repeat the glyph outlines: both measured.
BARS_PER_PAGE: Final = 15
SYSTEMS_PER_PAGE: Final = 4

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


class EngravingError(QuietleafError):
    """The engraving library cannot make anything of the score."""

    exit_code = 3


class ScoreEngraver:
    """Engraves one score. `name`: what to call it in messages; `playback_marks`: print metronome marks that only steer
    playback; `titles`: what is printed above measures, and not again at their staves; `strict`: raise for shapes that
    are not understood (tests) where otherwise they are logged."""

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
        self._numbers = [_printed_number(bar) for bar in parts[0].findall("measure")] if parts else []
        tree = printable(root, playback_marks, titles)
        self._sung = measuring.sung_bars(tree)
        self._white = WHITE_BETWEEN_SUNG_STAVES if self._sung else WHITE_BETWEEN_STAVES
        self._mei = self._read(tree)
        self._measurer = self._toolkit(_MEASURE)
        self._overhang_sp = self._measure_overhang_sp()

    def measure(self) -> Measured:
        """Sizes of all bars, from one pass over the score."""
        text = mei.with_single_bars(self._mei, BARS_PER_PAGE, STAFF_DISTANCE)
        places = measuring.read_places(self._zones(text), mei.movement_ends(self._mei))
        if len(places) != len(self._numbers):
            raise EngravingError(
                f"{self._name}: engraved {len(places)} bars where the score has {len(self._numbers)}"
            )
        starts = self._start_widths()
        inner_sp = self._inner_widths_sp(starts[0])
        return measuring.sizes(places, starts, inner_sp, self._overhang_sp, self._sung)

    def _start_widths(self) -> list[measuring.StartWidths]:
        """How wide clefs and keys are at each bar, every kind of start engraved once."""
        turns = measuring.staff_turns(measuring.staff_starts(self._mei))
        known = {
            turn: measuring.start_widths(self._zones(measuring.sample_score(turn)))
            for turn in dict.fromkeys(turns)
        }
        return [known[turn] for turn in turns]

    def _inner_widths_sp(self, first: measuring.StartWidths) -> dict[int, float]:
        """Widths of the bars that would be wider at the end of a system, measured again without what widens them."""
        indices = mei.wider_at_system_end(self._mei)
        if not indices:
            return {}
        zones = self._zones(mei.staves_alone(self._mei, indices, BARS_PER_PAGE))
        widths = (
            width / measuring.ZONE_UNITS_PER_SP - first.prefix_sp for width in measuring.measure_widths(zones)
        )
        return dict(zip(indices, widths, strict=True))

    def draw(self, spans: Sequence[SystemSpan]) -> Engraved:
        """The systems of a plan, each justified to its width."""
        glyphs: dict[str, Path] = {}
        metrics = TextMetrics()
        reader = SvgReader(glyphs, metrics, music_outline, self._strict)
        systems: list[EngravedSystem] = []
        for span, page in zip(spans, self._pages(spans, reader), strict=True):
            if page.measures != span.last - span.first + 1:
                raise EngravingError(
                    f"{self._name}: bars {span.first + 1} to {span.last + 1} did not form one system"
                )
            number = self._numbers[span.first] if span.first else ""
            systems.append(engraved_system(without_overlaps(page), span, number, metrics))
        return Engraved(tuple(systems), glyphs)

    def _pages(self, spans: Sequence[SystemSpan], reader: SvgReader) -> Iterator[PageSystem]:
        """The systems one after another; systems of different widths come from layouts of their own."""
        starts = [span.first for span in spans]
        pages = _page_starts(spans)
        width_sp = spans[0].width_sp
        toolkit = self._toolkit({**_DRAW, "pageWidth": self._page_width(width_sp)})
        self._load(toolkit, mei.with_systems(self._mei, starts, pages))
        for number, span in enumerate((span for span in spans if span.first in pages), 1):
            if span.width_sp != width_sp:
                width_sp = span.width_sp
                toolkit.setOptions({"pageWidth": self._page_width(width_sp)})
                toolkit.redoLayout()
            yield from reader.read_page(toolkit.renderToSVG(number))

    def _page_width(self, width_sp: float) -> int:
        return round((width_sp - self._overhang_sp) * measuring.ZONE_UNITS_PER_SP)

    def _measure_overhang_sp(self) -> float:
        """How far brackets and braces stand out beyond the left edge of the library's page."""
        width_sp = 200.0
        options = {**_DRAW, "pageWidth": round(width_sp * measuring.ZONE_UNITS_PER_SP)}
        toolkit = self._toolkit(options)
        score_def = mei.first_score_def(self._mei)
        bar = measuring.sample_bar(score_def)
        self._load(toolkit, mei.score(score_def, f"<pb/>{bar}<sb/>{bar}"))
        reader = SvgReader({}, TextMetrics(), music_outline)
        systems = list(reader.read_page(toolkit.renderToSVG(1)))
        inks = (system.right_sp - width_sp - min(box[0] for box in system.boxes) for system in systems)
        return max(0.0, *inks)

    def _read(self, root: etree._Element) -> str:
        toolkit = self._toolkit(_IMPORT)
        self._load(toolkit, etree.tostring(root, encoding="unicode"))
        text: str = toolkit.getMEI({"removeIds": True})
        if mei.count_measures(text) != len(self._numbers):
            found = mei.count_measures(text)
            raise EngravingError(f"{self._name}: {len(self._numbers)} bars were read as {found}")
        return text

    def _zones(self, text: str) -> str:
        """MEI engraved for measuring and written back with the places of things."""
        self._load(self._measurer, text)
        zones: str = self._measurer.getMEI({"generateFacs": True})
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


def _page_starts(spans: Sequence[SystemSpan]) -> list[int]:
    """First measures of the library's pages: a few systems each, all of one width."""
    starts: list[int] = []
    for _, same in groupby(spans, key=lambda span: span.width_sp):
        starts.extend(span.first for span in list(same)[::SYSTEMS_PER_PAGE])
    return starts


def _printed_number(bar: etree._Element) -> str:
    return "" if bar.get("implicit") == "yes" else bar.get("number", "")
