"""pages.pdf: all sides of a set as they go through the printer, at true size, and a test page behind them.

In: score, plan, drawn systems, page boxes, player, settings.  Out: a PDF; one page of it is one side of a piece of
paper.  Lengths in mm from the paper's top left corner, y downwards.  Always true: order and orientation are those of
binding/imposition.py; a blank side carries nothing but, inside the music, a small note why; a shifted or turned page
is the same page.
"""

from collections.abc import Iterator
from typing import Final

from optimizer.binding.imposition import impressions, printed_paper, printer_for
from optimizer.binding.model import Sheets, Side, SideKind
from optimizer.binding.sheets import sheets_of
from optimizer.engrave.model import Engraved
from optimizer.layout.geometry import PageGeometry
from optimizer.layout.plan import Plan
from optimizer.press.calibration import calibration_figures
from optimizer.press.document import About, Document, Target
from optimizer.press.figures import Figure
from optimizer.press.label import title_page_figures
from optimizer.press.page import PagePrinter
from optimizer.press.sheet_marks import sheet_marks
from optimizer.press.sheet_words import SheetWords
from optimizer.press.words import blank_note
from optimizer.progress import Progress, silent
from optimizer.score.model import Score
from optimizer.settings import Settings
from optimizer.turns.hands import Player

NO_NAME: Final = "-"  # what a viewer calls a side that has no number


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
    sheets, words = sheets_of(plan, settings), SheetWords(settings.sheets.lang)
    document = Document(target, _about(score, plan, settings))
    pages = PagePrinter(document, score, plan, engraved, geometry, settings, player)
    others = dict(_other_sides(score, plan, sheets, geometry, settings))
    order = impressions(sheets, settings)
    for index, impression in enumerate(order):
        progress("printing pages", index / len(order))
        paper = impression.paper
        label = ", ".join(_name(placed.side, words) for placed in impression.sides) or NO_NAME
        document.begin_page(paper.width_mm, paper.height_mm, label, impression.upside_down)
        for placed in impression.sides:
            with document.shifted(placed.x_mm):
                if placed.side in others:
                    document.draw(others[placed.side])
                elif placed.side.number is not None:
                    pages.print(placed.side.number)
        document.draw(sheet_marks(impression, plan, settings))
    paper = printed_paper(sheets, settings)
    document.begin_page(paper.width_mm, paper.height_mm, words.test_page)
    sides = words.sides(printer_for(sheets, settings), sheets.two_sided)
    document.draw(calibration_figures(paper, plan.staff_mm, sides, settings))
    document.close()


def _name(side: Side, words: SheetWords) -> str:
    """What a viewer calls a side."""
    if side.kind is SideKind.TITLE:
        return words.title_side
    return NO_NAME if side.number is None else str(side.number)


def _other_sides(
    score: Score, plan: Plan, sheets: Sheets, geometry: PageGeometry, settings: Settings
) -> Iterator[tuple[Side, tuple[Figure, ...]]]:
    """What stands on sides without music: the title; on a blank side inside the music, after which bar the turn
    comes because of it; on other blank sides nothing."""
    for side in sheets.sides:
        if side.kind is SideKind.TITLE:
            yield side, title_page_figures(score, plan, settings)
        elif side.kind is SideKind.BLANK:
            yield (
                side,
                () if side.number is None else _why_blank(score, plan, side.number, geometry, settings),
            )


def _why_blank(
    score: Score, plan: Plan, number: int, geometry: PageGeometry, settings: Settings
) -> tuple[Figure, ...]:
    last = max(page.systems[-1].last for page in plan.pages if page.systems and page.number < number)
    text = SheetWords(settings.sheets.lang).left_blank(bar=score.measures[last].last_number)
    return blank_note(geometry.on(plan.side(number)), text)


def _about(score: Score, plan: Plan, settings: Settings) -> About:
    """Metadata: what it is, for which paper and pattern; nothing of the machine."""
    count = len(plan.pages)
    pages = f"{count} page{'s' if count > 1 else ''}, {settings.paper.name}, {plan.binding}"
    return About(score.named_title or "Untitled", score.composer, f"{pages}, spreads {plan.pattern}")
