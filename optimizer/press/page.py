"""pages.pdf: the music at true size, with title block, page numbers, movement titles and marks for the
player.

In: score, plan, drawn systems, page boxes, player.  Out: a PDF with one page for each page of the plan.
Lengths in mm from the page's top left corner, y downwards; type sizes in points.  Always true: music stands
in the music box, words of ours in the strips above and below it or in white between systems.
"""

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

from optimizer.engrave.model import Engraved, EngravedSystem
from optimizer.layout.geometry import (
    FOOT_MM,
    HEAD_MM,
    MOVEMENT_TITLE_MM,
    NAMES_LINE_MM,
    SUBTITLE_LINE_MM,
    TITLE_LINE_MM,
    PageGeometry,
)
from optimizer.layout.plan import Plan, PlannedPage
from optimizer.press.document import About, Document, Target
from optimizer.press.figures import BLACK, GREY, PALE, Area, Figure, Label, line_mm, wrap
from optimizer.press.ink import highest_sp, lowest_sp
from optimizer.press.marks import Mark, bar_range, page_marks
from optimizer.press.paint import Painter
from optimizer.press.placing import PlacedSystem, place_systems, widest_distance_sp
from optimizer.progress import Progress, silent
from optimizer.score.model import Score
from optimizer.settings import Settings
from optimizer.turns.hands import Player
from optimizer.units import mm_to_sp, pt_to_mm, sp_to_mm

# Type sizes in points: our choice, in the proportions of printed piano music and the line heights of
# geometry.py.
TITLE_PT: Final = 21.0
SUBTITLE_PT: Final = 12.5
NAMES_PT: Final = 10.5
MOVEMENT_PT: Final = 13.0
NUMBER_PT: Final = 11.0
RUNNING_PT: Final = 9.0
VS_PT: Final = 12.5
WORDS_PT: Final = 9.0
RIGHTS_SIZES_PT: Final = (7.5, 7.0, 6.5, 6.0, 5.5, 5.0)  # the largest that fits; a rights line is never cut

NAMES_SHARE: Final = 0.47  # of the page's width for the names on either side
RIGHTS_SHARE: Final = 0.6  # of the page's width, so that a turn mark fits beside it
LEAF_MM: Final = 3.2  # the small turned corner of an open turn
AIR_MM: Final = 0.8  # white between a mark and ink
WORDS_SPACE_MM: Final = 2.5  # between words and V.S., and between marks


def page_geometry(score: Score, settings: Settings) -> PageGeometry:
    """The boxes of the pages, with as many lines in the title block as the score's words need."""
    bare = PageGeometry(settings.paper, settings.margins, 0, 0, 0)
    title, subtitle, lyricist, composer = _title_lines(score, bare.music_width_mm)
    names = max(len(lyricist), len(composer))
    return PageGeometry(settings.paper, settings.margins, len(title), len(subtitle), names)


def movement_heads_mm(score: Score, systems: Sequence[EngravedSystem]) -> tuple[float, ...]:
    """Room above each system for the title of a movement that begins with it."""
    return tuple(MOVEMENT_TITLE_MM if _movement_title(score, system.first) else 0.0 for system in systems)


def on_right(number: int, spreads: Sequence[Sequence[int]]) -> bool:
    """Whether a page's outer corner is the right one, as it lies on its spread.

    Outer pages of a spread: the side they lie on. Inner pages and pages that lie alone: odd numbers right
    (MOLA).
    """
    spread = next((pages for pages in spreads if number in pages), (number,))
    if len(spread) > 1 and number == spread[0]:
        return False
    return number == spread[-1] or number % 2 == 1


def print_pages(
    target: Target,
    score: Score,
    plan: Plan,
    engraved: Engraved,
    geometry: PageGeometry,
    settings: Settings,
    player: Player,
    progress: Progress = silent,
) -> None:
    """Write pages.pdf; PageOverflowError when a page does not hold its systems."""
    marks = page_marks(score, plan, player)
    document = Document(target, _about(score, plan, settings))
    painter = Painter(document.canvas, engraved.glyphs)
    for page, placed in zip(plan.pages, place_pages(score, plan, engraved, geometry), strict=True):
        progress("printing pages", (page.number - plan.pages[0].number) / len(plan.pages))
        document.begin_page(geometry.paper.width_mm, geometry.paper.height_mm, page.number)
        _bookmark(document, score, page, placed)
        for system in placed:
            painter.paint_system(
                system.system, system.x_mm, system.y_mm, system.staff_mm, geometry.paper.height_mm
            )
        document.draw(page_words(score, plan, page, placed, engraved, geometry, marks.get(page.number, ())))
    document.close()


def place_pages(
    score: Score, plan: Plan, engraved: Engraved, geometry: PageGeometry
) -> tuple[tuple[PlacedSystem, ...], ...]:
    """The systems of every page in place. The last page is set like the one before it, not stretched."""
    drawn = {(system.first, system.last): system for system in engraved.systems}
    pages: list[tuple[PlacedSystem, ...]] = []
    for index, page in enumerate(plan.pages):
        systems = [drawn[system.first, system.last] for system in page.systems]
        heads = movement_heads_mm(score, systems)
        last = not any(later.systems for later in plan.pages[index + 1 :])
        limit = {"widest_sp": widest_distance_sp(pages[-1] if pages else ())} if last else {}
        pages.append(place_systems(systems, geometry, plan.staff_mm, index == 0, heads, **limit))
    return tuple(pages)


def page_words(
    score: Score,
    plan: Plan,
    page: PlannedPage,
    placed: Sequence[PlacedSystem],
    engraved: Engraved,
    geometry: PageGeometry,
    marks: Sequence[Mark],
) -> tuple[Figure, ...]:
    """All words and signs of ours on a page."""
    figures: list[Figure] = []
    if page is plan.pages[0]:
        figures += title_block(score, geometry)
        figures += rights_line(score, geometry)
    else:
        figures += head(score, page.number, on_right(page.number, plan.spreads), geometry)
    for system in placed:
        if title := _movement_title(score, system.system.first):
            baseline = system.ink_top_mm - MOVEMENT_TITLE_MM * 0.45
            centre = geometry.music_left_mm + geometry.music_width_mm / 2
            figures.append(Label(centre, baseline, title, MOVEMENT_PT, "middle", bold=True))
    if page.blank:
        figures.append(
            Label(
                geometry.paper.width_mm / 2,
                _foot_baseline(geometry),
                "blank page",
                RUNNING_PT,
                "middle",
                colour=GREY,
            )
        )
    return (*figures, *_marks(marks, placed, engraved, geometry))


def title_block(score: Score, geometry: PageGeometry) -> tuple[Figure, ...]:
    """Title and subtitle centred, lyricist left, composer right."""
    left, width = geometry.music_left_mm, geometry.music_width_mm
    centre, right = left + width / 2, left + width
    title, subtitle, lyricist, composer = _title_lines(score, width)
    y = geometry.margins.top_mm + HEAD_MM * 0.4
    figures: list[Figure] = []
    for line in title:
        figures.append(Label(centre, y + TITLE_LINE_MM * 0.72, line, TITLE_PT, "middle", bold=True))
        y += TITLE_LINE_MM
    for line in subtitle:
        figures.append(Label(centre, y + SUBTITLE_LINE_MM * 0.72, line, SUBTITLE_PT, "middle", italic=True))
        y += SUBTITLE_LINE_MM
    lines = max(len(lyricist), len(composer))
    for x, anchor, names in ((left, "start", lyricist), (right, "end", composer)):
        for index, line in enumerate(names, start=lines - len(names) + 1):
            figures.append(Label(x, y + (index - 0.2) * NAMES_LINE_MM, line, NAMES_PT, anchor))  # type: ignore[arg-type]
    return tuple(figures)


def head(score: Score, number: int, right: bool, geometry: PageGeometry) -> tuple[Figure, ...]:
    """Page number in the outer corner, running title in the middle."""
    left, width = geometry.music_left_mm, geometry.music_width_mm
    baseline = geometry.margins.top_mm + pt_to_mm(NUMBER_PT) * 0.7
    x, anchor = (left + width, "end") if right else (left, "start")
    figures: list[Figure] = [Label(x, baseline, str(number), NUMBER_PT, anchor, bold=True)]  # type: ignore[arg-type]
    lines = wrap(score.title, RUNNING_PT, width * 0.75, italic=True)
    if lines:
        running = lines[0] + (" …" if len(lines) > 1 else "")
        figures.append(Label(left + width / 2, baseline, running, RUNNING_PT, "middle", italic=True))
    return tuple(figures)


def rights_line(score: Score, geometry: PageGeometry) -> tuple[Figure, ...]:
    """The rights line at the foot of the first page, left of where a turn mark may stand, in as many lines
    as fit."""
    width = geometry.music_width_mm * RIGHTS_SHARE
    for size in RIGHTS_SIZES_PT:
        lines = wrap(score.rights, size, width)
        if len(lines) * line_mm(size) <= FOOT_MM:
            break
    bottom = geometry.paper.height_mm - geometry.margins.bottom_mm - pt_to_mm(size) * 0.25
    return tuple(
        Label(geometry.music_left_mm, bottom - line_mm(size) * index, line, size, colour=BLACK)
        for index, line in enumerate(reversed(lines))
    )


def _title_lines(score: Score, width_mm: float) -> tuple[tuple[str, ...], ...]:
    names = width_mm * NAMES_SHARE
    return (
        wrap(score.title, TITLE_PT, width_mm, bold=True),
        wrap(score.subtitle, SUBTITLE_PT, width_mm, italic=True),
        wrap(score.lyricist, NAMES_PT, names),
        wrap(score.composer, NAMES_PT, names),
    )


def _movement_title(score: Score, first: int) -> str:
    """The title to print above measure `first`: its movement's, where the movement begins there."""
    movement = score.measures[first].movement
    begins = first == 0 or score.measures[first - 1].movement != movement
    title = score.movement_titles.get(movement, "") if begins else ""
    return "" if title in (score.title, score.subtitle) else title


def _foot_baseline(geometry: PageGeometry) -> float:
    return geometry.paper.height_mm - geometry.margins.bottom_mm - pt_to_mm(VS_PT) * 0.1


def _marks(
    marks: Sequence[Mark], placed: Sequence[PlacedSystem], engraved: Engraved, geometry: PageGeometry
) -> tuple[Figure, ...]:
    """Jumps below the end of their systems where there is white enough, everything else side by side at the
    foot."""
    figures: list[Figure] = []
    right = foot_right = geometry.music_left_mm + geometry.music_width_mm
    for mark in reversed(marks):
        baseline = None if mark.ends_page else _white_below(mark, placed, engraved, geometry)
        if baseline is None:
            drawn, width = _mark(mark, foot_right, _foot_baseline(geometry), at_foot=True)
            foot_right -= width + WORDS_SPACE_MM
        else:
            drawn, _ = _mark(mark, right, baseline, at_foot=False)
        figures += drawn
    return tuple(figures)


def _mark(mark: Mark, right: float, baseline: float, at_foot: bool) -> tuple[tuple[Figure, ...], float]:
    """A mark that ends at `right`, and its width: words first, the sign outermost."""
    if mark.sign == "leaf":
        return _turned_corner(right, baseline), LEAF_MM
    words = Label(right, baseline, mark.full_words(at_foot), WORDS_PT, "end")
    if not mark.sign:
        return (words,), words.width_mm
    sign = Label(right, baseline, mark.sign, VS_PT, "end", bold=True, italic=True)
    if not mark.words:
        return (sign,), sign.width_mm
    sign_width = sign.width_mm + WORDS_SPACE_MM
    return (replace(words, x_mm=right - sign_width), sign), sign_width + words.width_mm


def _turned_corner(right: float, low: float) -> tuple[Figure, ...]:
    """The foot of a leaf with its corner lifted: the edge cut off, and the flap that was the corner."""
    flap = ((right - LEAF_MM, low), (right, low - LEAF_MM), (right - LEAF_MM * 0.85, low - LEAF_MM * 0.85))
    return (Area(flap, PALE, BLACK),)


def _white_below(
    mark: Mark, placed: Sequence[PlacedSystem], engraved: Engraved, geometry: PageGeometry
) -> float | None:
    """Baseline for a mark below the end of its system, close to the ink above; None when the white is too
    low."""
    index = next(i for i, spot in enumerate(placed) if spot.system.first <= mark.after <= spot.system.last)
    upper, lower = placed[index], placed[index + 1] if index + 1 < len(placed) else None
    right = geometry.music_left_mm + geometry.music_width_mm
    _, width = _mark(mark, right, 0.0, at_foot=False)

    def span_sp(spot: PlacedSystem) -> tuple[float, float]:
        return mm_to_sp(right - width - spot.x_mm, spot.staff_mm), mm_to_sp(right - spot.x_mm, spot.staff_mm)

    ink = upper.y_mm + sp_to_mm(lowest_sp(upper.system, engraved.glyphs, *span_sp(upper)), upper.staff_mm)
    if lower:
        limit = lower.y_mm + sp_to_mm(
            highest_sp(lower.system, engraved.glyphs, *span_sp(lower)), lower.staff_mm
        )
    else:
        limit = geometry.paper.height_mm - geometry.margins.bottom_mm - FOOT_MM
    cap = pt_to_mm(VS_PT if mark.sign else WORDS_PT) * 0.7
    baseline = ink + AIR_MM + cap
    return baseline if baseline + AIR_MM <= limit else None


def _about(score: Score, plan: Plan, settings: Settings) -> About:
    """Metadata: what it is, for which paper and pattern; nothing of the machine."""
    count = len(plan.pages)
    pages = f"{count} page{'s' if count > 1 else ''}, {settings.paper.name}, {plan.binding}"
    return About(score.title or "Untitled", score.composer, f"{pages}, spreads {plan.pattern}")


def _bookmark(document: Document, score: Score, page: PlannedPage, placed: Sequence[PlacedSystem]) -> None:
    """Movements, and the pages in them with their bars."""
    for system in placed:
        first = system.system.first
        if first == 0 or _movement_title(score, first):
            title = score.movement_titles.get(score.measures[first].movement) or score.title or "Untitled"
            document.bookmark(title, 0, system.ink_top_mm - MOVEMENT_TITLE_MM if first else 0.0)
    bars = bar_range(score, page)
    document.bookmark(f"Page {page.number}" + (f": {bars}" if bars else ""), 1)
