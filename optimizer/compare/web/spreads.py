"""The spreads of an alternative as they lie on the desk, drawn to scale.

In: score, alternative, drawing.  Out: `Spread`s, whose lengths are mm in a frame that all spreads of a comparison
share, y downwards.  Always true: pages carry what is printed on them, but for the marks at their foot; every page of
the plan lies on one spread.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import chain
from typing import Final

from markupsafe import Markup

from optimizer.compare.model import Alternative, Drawing
from optimizer.compare.web.symbols import GRAIN, Symbols, numbers
from optimizer.layout.plan import PlannedBackTurn, PlannedPage
from optimizer.press.figures import svg_element
from optimizer.press.marks import bar_range
from optimizer.press.page import page_words, place_pages
from optimizer.press.placing import PlacedSystem
from optimizer.press.played import Turn, turn_names
from optimizer.press.sheet_words import SheetWords
from optimizer.press.strips import place_strips, strip_figures
from optimizer.score.model import Score
from optimizer.units import SPACES_PER_STAFF

AIR_MM: Final = 8.0  # around the desk and above the pages
LEDGE_MM: Final = 12.0  # below the pages: the desk's ledge


@dataclass(frozen=True, slots=True)
class Frame:
    """What all spreads share: the widest desk or spread and the tallest page with some air."""

    width_mm: float
    height_mm: float

    @property
    def floor_mm(self) -> float:
        """Where pages stand."""
        return self.height_mm - LEDGE_MM

    @property
    def middle_mm(self) -> float:
        """The middle of the desk."""
        return self.width_mm / 2


@dataclass(frozen=True, slots=True)
class Leaving:
    """A turn that leaves a spread; `back`: to an earlier one."""

    name: str
    turn: Turn
    back: bool


@dataclass(frozen=True, slots=True)
class SpreadPage:
    """A page at its place; `why`: what it is left blank for."""

    number: int
    x_mm: float
    y_mm: float
    width_mm: float
    height_mm: float
    blank: bool
    why: str
    content: Markup


@dataclass(frozen=True, slots=True)
class Spread:
    """Pages that lie open together, on a desk of `desk_mm`."""

    pages: tuple[SpreadPage, ...]
    desk_mm: float
    bars: str
    leaving: tuple[Leaving, ...]

    @property
    def title(self) -> str:
        """ "page 3", "pages 4–5"."""
        first, last = self.pages[0].number, self.pages[-1].number
        return f"page {first}" if first == last else f"pages {first}–{last}"


def frame_of(alternatives: Sequence[Alternative]) -> Frame:
    """Room for every spread."""
    widest = max(
        max(a.settings.desk.width_mm, *(len(spread) * a.settings.paper.width_mm for spread in a.plan.spreads))
        for a in alternatives
    )
    tallest = max(a.settings.paper.height_mm for a in alternatives)
    return Frame(widest + 2 * AIR_MM, tallest + AIR_MM + LEDGE_MM)


def spreads_of(
    score: Score, alternative: Alternative, drawing: Drawing, frame: Frame, symbols: Symbols
) -> Iterator[Spread]:
    """All spreads, in order."""
    plan, paper = alternative.plan, alternative.settings.paper
    pages = {page.number: page for page in plan.pages}
    placed = place_pages(score, plan, drawing.engraved, drawing.geometry)
    spots = {page.number: spots for page, spots in zip(plan.pages, placed, strict=True)}
    names = turn_names(plan)
    for numbers_ in plan.spreads:
        left = frame.middle_mm - len(numbers_) * paper.width_mm / 2
        lying = tuple(
            SpreadPage(
                number,
                left + slot * paper.width_mm,
                frame.floor_mm - paper.height_mm,
                paper.width_mm,
                paper.height_mm,
                pages[number].blank,
                pages[number].why,
                _content(score, alternative, drawing, pages[number], spots[number], symbols),
            )
            for slot, number in enumerate(numbers_)
        )
        music = tuple(chain.from_iterable(pages[number].systems for number in numbers_))
        bars = bar_range(score, PlannedPage(numbers_[0], music)) if music else ""
        leaving = tuple(
            Leaving(name, turn, isinstance(turn, PlannedBackTurn))
            for turn, name in names.items()
            if turn.from_page in numbers_
        )
        yield Spread(lying, alternative.settings.desk.width_mm, bars, leaving)


def _content(
    score: Score,
    alternative: Alternative,
    drawing: Drawing,
    page: PlannedPage,
    spots: Sequence[PlacedSystem],
    symbols: Symbols,
) -> Markup:
    """What is printed on a page: words, systems, carry strips."""
    plan, engraved = alternative.plan, drawing.engraved
    geometry = drawing.geometry.on(plan.side(page.number))
    strips = place_strips(plan, page.number, engraved, geometry, page is plan.pages[0])
    figures = page_words(score, plan, page, spots, engraved, drawing.geometry, (), strips=strips)
    figures += strip_figures(score, strips, geometry, SheetWords(alternative.settings.sheets.lang))
    systems = (
        f'<use href="#{symbols.id_of(spot.system, engraved.glyphs)}" transform="translate('
        f"{numbers((round(spot.x_mm, 2), round(spot.y_mm, 2)))})"
        f'scale({numbers((spot.staff_mm / SPACES_PER_STAFF / GRAIN,))})"/>'
        for spot in (*spots, *(strip.spot for strip in strips))
    )
    return Markup("".join((*map(svg_element, figures), *systems)))
