"""The punching template of a ring set, at true scale.

In: settings, words.  Out: one sheet as large as a page.  Lengths in mm.  Always true: the sheet's own left edge is the
punched edge, so the holes stand on it where they stand on a right-hand page.
"""

from collections.abc import Iterator
from typing import Final

from optimizer.binding.holes import Punch, punch_for
from optimizer.press.blocks import ruler
from optimizer.press.figures import (
    BLACK,
    GREY,
    Disc,
    Figure,
    Label,
    Line,
    Sheet,
    arrow,
    line_mm,
    moved,
    rectangle,
    wrap,
)
from optimizer.press.guide_words import GuideWords
from optimizer.settings import Settings

LEFT_MM: Final = 40.0  # text begins right of holes and measures
TEXT_PT: Final = 10.0
RULER_UP_MM: Final = 14.0
CROSS_MM: Final = 2.2  # arms of the cross beyond a hole's edge


def template_sheet(settings: Settings, words: GuideWords) -> Sheet:
    """Outline, holes and their measures, and how to use them."""
    paper = settings.paper
    punch = punch_for(paper, settings.sheets.holes)
    figures: list[Figure] = [rectangle(0.0, 0.0, paper.width_mm, paper.height_mm, None, BLACK)]
    for height_mm in punch.heights_mm:
        figures += _hole(punch, height_mm)
        place = words.from_top(length=words.length(height_mm, paper, 2))
        figures.append(Label(LEFT_MM, height_mm + 1.2, place, TEXT_PT))
        figures.append(
            Line(((punch.reach_mm + CROSS_MM + 1.0, height_mm), (LEFT_MM - 1.5, height_mm)), 0.15, GREY)
        )
    return Sheet(paper.width_mm, paper.height_mm, (*figures, *_text(settings, punch, words)))


def _hole(punch: Punch, height_mm: float) -> Iterator[Figure]:
    x, arm = punch.from_edge_mm, punch.wide_mm / 2 + CROSS_MM
    yield Disc(x, height_mm, punch.wide_mm / 2, None, BLACK, 0.25)
    yield Line(((x - arm, height_mm), (x + arm, height_mm)), 0.15)
    yield Line(((x, height_mm - arm), (x, height_mm + arm)), 0.15)


def _text(settings: Settings, punch: Punch, words: GuideWords) -> Iterator[Figure]:
    """Title and use, between the first two holes."""
    paper = settings.paper
    width_mm = paper.width_mm - LEFT_MM - 20.0
    y = punch.heights_mm[0] + 14.0
    yield Label(LEFT_MM, y, words.template_title, 16, bold=True)
    y += 3.0
    edge = words.from_edge(length=words.length(punch.from_edge_mm, paper, 2))
    wide = words.hole_wide(length=words.length(punch.wide_mm, paper, 1))
    for text in (words.template, f"{edge} · {wide}"):
        for line in wrap(text, TEXT_PT, width_mm):
            y += line_mm(TEXT_PT)
            yield Label(LEFT_MM, y, line, TEXT_PT)
    y += 12.0
    yield from arrow(((LEFT_MM - 2.0, y - 1.2), (4.0, y - 1.2)))
    yield Label(LEFT_MM, y, words.this_edge, TEXT_PT, bold=True)
    yield from moved(ruler(words), LEFT_MM, paper.height_mm - RULER_UP_MM)
