"""guide.pdf: which pages lie where and when to turn, then how the set is put together.

In: score, plan, settings.  Out: sheets of the set's own paper; the last is the punching template of a ring set.
Lengths in mm, type in points.  Always true: no type is smaller than 7 pt, every turn of the plan is listed, and every
picture of paper is drawn from the simulated packet.
"""

from collections.abc import Iterator, Sequence
from itertools import takewhile
from typing import Final

from optimizer.binding.imposition import printed_paper
from optimizer.binding.packet import packet_of
from optimizer.binding.sheets import sheets_of
from optimizer.layout.plan import Plan
from optimizer.press.assembly import Assembly, Making, assembly
from optimizer.press.blocks import Block, Entry, entry_block, flow, ruler, title_block
from optimizer.press.document import About, Target, print_sheets
from optimizer.press.figures import GREY, MARGIN_MM, MIN_PT, Figure, Label, Sheet, moved
from optimizer.press.guide_words import GuideWords, guide_words
from optimizer.press.overview import (
    CELL_GAP_MM,
    caution_entries,
    header,
    spread_rows,
    turn_entries,
)
from optimizer.press.template import template_sheet
from optimizer.press.warnings import wider_than_desk
from optimizer.progress import Progress, silent
from optimizer.score.model import Score
from optimizer.settings import Settings
from optimizer.units import pt_to_mm

GUTTER_MM: Final = 7.0
COLUMNS_GAP_MM: Final = 2.0  # above steps in two columns
# Columns and type sizes tried until everything stands on one page; the last one flows on.
SETTINGS_TRIED: Final = ((1, 9.5), (1, 8.5), (2, 8.5), (2, 7.5), (2, MIN_PT))
OVERFLOW_SETTING: Final = (2, 8.0)
PLAN_SHARE: Final = 0.42  # of the sheet's height for the picture of the spreads, unless there are very many
FOOT_MM: Final = 8.0  # for the ruler
HEAD_MM: Final = 10.0  # of later pages
ASSEMBLY_PT: Final = 14.0


def print_guide(
    target: Target, score: Score, plan: Plan, settings: Settings, progress: Progress = silent
) -> None:
    """Write guide.pdf."""
    progress("printing the guide")
    words = guide_words(settings.sheets.lang)
    title = score.named_title or words.untitled
    about = About(f"{title}: {words.guide}", score.composer, words.pages(len(plan.pages)))
    print_sheets(target, about, guide_sheets(score, plan, settings))


def guide_sheets(score: Score, plan: Plan, settings: Settings) -> tuple[Sheet, ...]:
    """Spreads and turns on one page when they fit, then putting it together, then a ring set's template."""
    words = guide_words(settings.sheets.lang)
    layout = _Layout(score.named_title or words.untitled, settings, words)
    _overview(layout, score, plan)
    sheets = sheets_of(plan, settings)
    too_wide, tray = wider_than_desk(plan, settings, words), printed_paper(sheets, settings)
    making = Making(packet_of(plan, sheets), too_wide, tray, settings, words)
    parts = assembly(making, layout.width_mm, layout.column_mm(2))
    # On a page of its own, unless that takes a page more than to begin below the turns.
    layout = min(_assembled(layout, parts, fresh=True), _assembled(layout, parts, fresh=False), key=len)
    template = (template_sheet(settings, words),) if plan.binding == "ring" else ()
    return (*layout.sheets(), *template)


def _assembled(layout: "_Layout", parts: Assembly, fresh: bool) -> "_Layout":
    """The layout with all steps, on a new page (`fresh`) unless they fit on this one."""
    laid = layout.copy()
    title = title_block(laid.words.assembling, ASSEMBLY_PT, laid.width_mm)
    whole_mm = sum(block.height_mm for block in (title, *parts.before, *parts.steps, *parts.desk))
    if fresh and whole_mm > laid.room_mm:
        laid.new_page()
    else:
        laid.place(Block(CELL_GAP_MM, ()))
    laid.flow((title, *parts.before), 1)
    laid.balance(parts.steps, whole=not fresh)
    laid.flow(parts.desk, 1)
    return laid


def _overview(layout: "_Layout", score: Score, plan: Plan) -> None:
    """The first page: header, spreads, turns; more pages when the lists are long."""
    settings, words, width = layout.settings, layout.words, layout.width_mm
    labels = tuple(header(score, plan, settings, words, width))
    rows = spread_rows(score, plan, settings, words, width, settings.paper.height_mm * PLAN_SHARE)
    top = max(label.y_mm for label in labels) + 6
    layout.place(Block(top, labels))
    layout.flow(rows, 1)
    layout.place(Block(CELL_GAP_MM, ()))
    entries = (*turn_entries(score, plan, settings, words), *caution_entries(score, plan, settings, words))
    for columns, size in SETTINGS_TRIED:
        blocks = _entry_blocks(entries, size, layout.column_mm(columns))
        if len(flow(blocks, columns, layout.room_mm, layout.room_mm)) == 1:
            break
    else:
        columns, size = OVERFLOW_SETTING
        blocks = _entry_blocks(entries, size, layout.column_mm(columns))
    layout.flow(blocks, columns)


def _entry_blocks(entries: Sequence[Entry], size_pt: float, width_mm: float) -> list[Block]:
    return [entry_block(entry, size_pt, width_mm) for entry in entries]


class _Layout:
    """Pages being filled from the top; lengths from the sheet's upper edge."""

    def __init__(self, title: str, settings: Settings, words: GuideWords) -> None:
        self.title, self.settings, self.words = title, settings, words
        self._pages: list[list[Figure]] = [[]]
        self._y = MARGIN_MM

    def __len__(self) -> int:
        """How many pages."""
        return len(self._pages)

    def copy(self) -> "_Layout":
        """To go on in another way."""
        other = _Layout(self.title, self.settings, self.words)
        other._pages, other._y = [list(page) for page in self._pages], self._y
        return other

    @property
    def width_mm(self) -> float:
        """Between the margins."""
        return self.settings.paper.width_mm - 2 * MARGIN_MM

    @property
    def room_mm(self) -> float:
        """Left on the current page."""
        return self._low - self._y

    @property
    def _low(self) -> float:
        return self.settings.paper.height_mm - MARGIN_MM - FOOT_MM

    def column_mm(self, columns: int) -> float:
        """Width of one of so many columns."""
        return (self.width_mm - (columns - 1) * GUTTER_MM) / columns

    def place(self, block: Block) -> None:
        """Below what is there."""
        self._pages[-1] += moved(block.figures, MARGIN_MM, self._y)
        self._y += block.height_mm

    def flow(self, blocks: Sequence[Block], columns: int, first_mm: float | None = None) -> None:
        """In columns, `first_mm` high on this page, over as many pages as it takes."""
        start = list(takewhile(lambda block: block.heading, blocks))
        start += blocks[len(start) : len(start) + 1]
        if sum(block.height_mm for block in start) > self.room_mm:
            self.new_page()
        later_mm = self._low - MARGIN_MM - HEAD_MM
        for index, page in enumerate(flow(blocks, columns, first_mm or self.room_mm, later_mm)):
            if index:
                self.new_page()
            top, low = self._y, self._y
            for column, stack in enumerate(page):
                x, self._y = MARGIN_MM + column * (self.column_mm(columns) + GUTTER_MM), top
                for block in stack:
                    self._pages[-1] += moved(block.figures, x, self._y)
                    self._y += block.height_mm
                low = max(low, self._y)
            self._y = low

    def balance(self, blocks: Sequence[Block], whole: bool) -> None:
        """In two columns of about the same height where they fit on the page; `whole`: else on the next one."""
        if whole and len(flow(blocks, 2, self.room_mm - COLUMNS_GAP_MM, self.room_mm)) > 1:
            self.new_page()
        self._y += COLUMNS_GAP_MM
        whole_mm = sum(block.height_mm for block in blocks)
        least_mm = max((block.height_mm for block in blocks), default=0.0)
        height_mm = max(whole_mm / 2, least_mm)
        while height_mm < self.room_mm and len(flow(blocks, 2, height_mm, height_mm)) > 1:
            height_mm += 1.0
        self.flow(blocks, 2, min(height_mm, self.room_mm))

    def new_page(self) -> None:
        """Begin another one."""
        words = f"{self.title}: {self.words.guide}, {self.words.page(page=len(self._pages) + 1)}"
        self._pages.append([Label(MARGIN_MM, MARGIN_MM + pt_to_mm(9), words, 9, colour=GREY)])
        self._y = MARGIN_MM + HEAD_MM

    def sheets(self) -> Iterator[Sheet]:
        """The pages, each with a line to lay a ruler on."""
        paper = self.settings.paper
        for figures in self._pages:
            foot = moved(ruler(self.words), MARGIN_MM, paper.height_mm - MARGIN_MM)
            yield Sheet(paper.width_mm, paper.height_mm, (*figures, *foot))
