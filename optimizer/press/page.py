"""One page of music at true size: systems, words and signs.

In: score, plan, drawn systems, page boxes, player.  Out: pages painted on a document, or their parts as figures.
Lengths in mm from the page's top left corner, y downwards.  Always true: music stands in the music box, every
system of the plan once.
"""

from collections.abc import Mapping, Sequence

from optimizer.engrave.model import Engraved, EngravedSystem
from optimizer.layout.geometry import (
    MIN_GAP_SP,
    MOVEMENT_TITLE_MM,
    ONE_STAFF_GAP_SP,
    PageGeometry,
    bound_margins,
)
from optimizer.layout.plan import Plan, PlannedPage
from optimizer.layout.problem import titled_measures
from optimizer.press.document import Document
from optimizer.press.figures import Figure
from optimizer.press.marking import place_marks
from optimizer.press.marks import Mark, bar_range, page_marks
from optimizer.press.paint import Painter
from optimizer.press.placing import (
    ROUNDING_MM,
    PlacedSystem,
    overflow_mm,
    place_systems,
    widest_distance_sp,
)
from optimizer.press.sheet_words import SheetWords
from optimizer.press.strips import PlacedStrip, music_box, place_strips, seam_figures, strip_figures
from optimizer.press.words import (
    PART_BESIDE_NUMBER_MM,
    RIGHTS_LEAST_MM,
    movement_title,
    page_number,
    rights_line,
    running_title,
    title_block,
    title_lines,
)
from optimizer.score.model import Score
from optimizer.score.movements import title_above, titles_by_measure
from optimizer.settings import DEFAULT_UNPRINTABLE_MM, Lang, Settings
from optimizer.turns.hands import Player
from optimizer.turns.model import StripKind


def page_geometry(score: Score, settings: Settings) -> PageGeometry:
    """The boxes of the pages, with as many lines in the title block as the score's words need."""
    margins, mirrored = bound_margins(settings.margins, settings.binding)
    bare = PageGeometry(settings.paper, margins, 0, 0, 0)
    title, subtitle, lyricist, composer = title_lines(score, bare.music_width_mm)
    names = max(len(lyricist), len(composer))
    alone = sum(part.staves for part in score.parts) == 1 and not any(part.has_lyrics for part in score.parts)
    gap_sp = ONE_STAFF_GAP_SP if alone else MIN_GAP_SP
    return PageGeometry(settings.paper, margins, len(title), len(subtitle), names, mirrored, gap_sp)


def overflowing_pages(
    score: Score, plan: Plan, engraved: Engraved, geometry: PageGeometry
) -> tuple[int, ...]:
    """Numbers of the pages whose systems, as drawn, are higher than their music box."""
    return tuple(
        page.number
        for page, systems in zip(plan.pages, _systems_of(plan, engraved), strict=True)
        if overflow_mm(
            systems,
            music_box(plan, page.number, engraved, geometry),
            plan.staff_mm,
            page is plan.pages[0],
            _heads_mm(score, systems),
        )
        > ROUNDING_MM
    )


class PagePrinter:
    """Prints single pages of a set, by number; PageOverflowError when one does not hold its systems."""

    def __init__(
        self,
        document: Document,
        score: Score,
        plan: Plan,
        engraved: Engraved,
        geometry: PageGeometry,
        settings: Settings,
        player: Player,
    ) -> None:
        self._document, self._painter = document, Painter(document.canvas, engraved.glyphs)
        self._score, self._plan, self._engraved, self._geometry = score, plan, engraved, geometry
        self._lang, self._unprintable_mm = settings.sheets.lang, settings.sheets.unprintable_mm
        self._marks = page_marks(score, plan, player, self._lang)
        placed = place_pages(score, plan, engraved, geometry)
        self._pages = {page.number: (page, spots) for page, spots in zip(plan.pages, placed, strict=True)}

    def print(self, number: int) -> None:
        """One page, onto the document's current page."""
        page, placed = self._pages[number]
        _bookmark(self._document, self._score, page, placed)
        geometry = self._geometry.on(self._plan.side(number))
        strips = place_strips(self._plan, number, self._engraved, geometry, page is self._plan.pages[0])
        for spot in (*placed, *(strip.spot for strip in strips)):
            self._painter.paint_system(
                spot.system, spot.x_mm, spot.y_mm, spot.staff_mm, geometry.paper.height_mm
            )
        marks = self._marks.get(number, ())
        figures = page_words(
            self._score,
            self._plan,
            page,
            placed,
            self._engraved,
            self._geometry,
            marks,
            self._unprintable_mm,
            strips,
            self._lang,
        )
        figures += strip_figures(self._score, strips, geometry, SheetWords(self._lang))
        first = page is self._plan.pages[0]
        top_mm = geometry.music_top_mm(first)
        room_mm = (top_mm, top_mm + geometry.music_height_mm(first))
        figures += seam_figures(self._score, self._plan, placed, self._engraved.glyphs, room_mm)
        self._document.draw(figures)


def place_pages(
    score: Score, plan: Plan, engraved: Engraved, geometry: PageGeometry
) -> tuple[tuple[PlacedSystem, ...], ...]:
    """The systems of every page in place. The last page is set like the one before it, not stretched."""
    pages: list[tuple[PlacedSystem, ...]] = []
    last = max(index for index, page in enumerate(plan.pages) if page.systems)
    for index, systems in enumerate(_systems_of(plan, engraved)):
        limit = {"widest_sp": widest_distance_sp(pages[-1] if pages else ())} if index == last else {}
        number = plan.pages[index].number
        heads, box = _heads_mm(score, systems), geometry.on(plan.side(number))
        box = music_box(plan, number, engraved, box)
        pages.append(place_systems(systems, box, plan.staff_mm, index == 0, heads, **limit))
    return tuple(pages)


def page_words(
    score: Score,
    plan: Plan,
    page: PlannedPage,
    placed: Sequence[PlacedSystem],
    engraved: Engraved,
    geometry: PageGeometry,
    marks: Sequence[Mark],
    unprintable_mm: float = DEFAULT_UNPRINTABLE_MM,
    strips: Sequence[PlacedStrip] = (),
    lang: Lang = Lang.EN,
) -> tuple[Figure, ...]:
    """All words and signs of ours on a page, but for those of its strips."""
    geometry = geometry.on(plan.side(page.number))
    titles = _movement_titles(score)
    reserved_mm = RIGHTS_LEAST_MM if page is plan.pages[0] and score.rights else 0.0
    floor_mm = next((strip.top_mm for strip in strips if strip.strip.kind is StripKind.LATE), None)
    drawn_marks, foot_right = place_marks(
        marks, placed, engraved.glyphs, geometry, titles, reserved_mm, floor_mm, lang
    )
    figures = list(drawn_marks)
    outer_right = on_right(page.number, plan.spreads)
    if page is plan.pages[0]:
        beside_mm = PART_BESIDE_NUMBER_MM if page.number != 1 else 0.0
        figures += title_block(score, geometry, beside_mm, outer_right)
        figures += rights_line(score, geometry, foot_right, unprintable_mm)
        if page.number != 1:  # so that nobody looks for a page 1
            figures.append(page_number(page.number, outer_right, geometry, bool(score.part_name)))
    else:
        figures.append(page_number(page.number, outer_right, geometry))
        figures += running_title(score, geometry)
    figures += [
        movement_title(titles[spot.system.first], spot, geometry)
        for spot in placed
        if spot.system.first in titles
    ]
    return tuple(figures)


def on_right(number: int, spreads: Sequence[Sequence[int]]) -> bool:
    """Whether a page's outer corner is the right one, as it lies on its spread.

    Outer pages of a spread: the side they lie on. Inner pages, and one that lies alone: odd numbers right (MOLA).
    """
    spread = next((pages for pages in spreads if number in pages), (number,))
    if len(spread) > 1 and number in (spread[0], spread[-1]):
        return number == spread[-1]
    return number % 2 == 1


def _systems_of(plan: Plan, engraved: Engraved) -> tuple[tuple[EngravedSystem, ...], ...]:
    """The drawn systems of each page."""
    drawn = {(system.first, system.last): system for system in engraved.systems}
    return tuple(tuple(drawn[system.first, system.last] for system in page.systems) for page in plan.pages)


def _movement_titles(score: Score) -> Mapping[int, str]:
    """What stands above the first measures of movements."""
    above = {first: title_above(title) for first, title in titles_by_measure(score).items()}
    return {first: title for first, title in above.items() if title}


def _heads_mm(score: Score, systems: Sequence[EngravedSystem]) -> tuple[float, ...]:
    """Room above each system for the title of a movement that begins with it."""
    titled = titled_measures(score)
    return tuple(MOVEMENT_TITLE_MM if system.first in titled else 0.0 for system in systems)


def _bookmark(document: Document, score: Score, page: PlannedPage, placed: Sequence[PlacedSystem]) -> None:
    """Movements, and the pages in them with their bars."""
    titles = titles_by_measure(score)
    for spot in placed:
        first = spot.system.first
        if first == 0:
            document.bookmark(titles.get(0) or score.title or "Untitled", 0, place=page.number)
        elif first in titles:
            document.bookmark(titles[first], 0, spot.ink_top_mm - MOVEMENT_TITLE_MM, page.number)
    bars = bar_range(score, page)
    document.bookmark(f"Page {page.number}" + (f": {bars}" if bars else ""), 1, place=page.number)
