"""The last page of pages.pdf: shows whether the printer keeps the size, and what to choose in its dialog.

In: the printed paper, staff size, sides to print on, settings.  Out: figures; mm from the paper's top left corner.
Always true: scales and staff are drawn at true size; nothing stands outside the frame, which is where printers begin
to print.
"""

from collections.abc import Iterator
from dataclasses import replace
from typing import Final

from optimizer.press.figures import (
    BLACK,
    GREY,
    Figure,
    Label,
    Line,
    line_mm,
    moved,
    rectangle,
    wrap,
)
from optimizer.press.language import Words
from optimizer.press.sheet_words import SheetWords
from optimizer.settings import Paper, Settings
from optimizer.units import pt_to_mm, sp_to_mm

SCALES_MM: Final = (100.0, 50.0)  # the shorter one for paper that does not hold the longer
SHRUNK: Final = 0.97  # the example of a page scaled to fit: A4 without 5 mm on either side is about that
INSET_MM: Final = 9.0  # from the frame to the words
WIDEST_MM: Final = 150.0  # of running text, for lines that can be read
TEXT_SIZES_PT: Final = (11.0, 10.0, 9.0, 8.0, 7.0, 6.0)
HEAD_SHARE: Final = 1.6  # of the text's size
AFTER_MM: Final = 2.5  # below a paragraph
TICK_MM: Final = 2.0
LONG_TICK_MM: Final = 4.0
STAFF_WIDE_MM: Final = 45.0
STAFF_LINE_SP: Final = 0.12


def calibration_figures(paper: Paper, staff_mm: float, sides: str, settings: Settings) -> tuple[Figure, ...]:
    """Words above, below them two scales that meet at a corner, with a staff between them. `sides`: which ones of the
    paper to print, in words."""
    words = SheetWords(settings.sheets.lang)
    edge = settings.sheets.unprintable_mm
    frame = rectangle(edge, edge, paper.width_mm - 2 * edge, paper.height_mm - 2 * edge, None, BLACK)
    left = edge + INSET_MM
    width, height = paper.width_mm - 2 * left, paper.height_mm - 2 * left
    scale_mm = next((mm for mm in SCALES_MM if mm <= width and mm <= height * 0.6), SCALES_MM[-1])
    texts = tuple(_texts(paper, scale_mm, sides, edge, words))
    for size in TEXT_SIZES_PT:
        above = tuple(_paragraphs(texts, words.test_page, size, min(width, WIDEST_MM)))
        y = max(label.y_mm for label in above) + AFTER_MM + line_mm(size)
        if y + scale_mm <= height:
            break
    ruled = moved(_scales(scale_mm, size), 0.0, y)
    staff = moved(
        _staff(staff_mm, size, scale_mm - 2 * LONG_TICK_MM, words), 2 * LONG_TICK_MM, y + scale_mm / 3
    )
    return (frame, *moved((*above, *ruled, *staff), left, left))


def paper_name(paper: Paper, words: Words) -> str:
    """ "A4 (210 × 297 mm)"; a paper without a name of its own by its size only."""
    size = words.size(paper.width_mm, paper.height_mm, paper, 1)
    if paper.name.endswith(("mm", "in")):
        return size
    size = size.replace(" (", ", ").removesuffix(")")
    return f"{paper.name[0].upper()}{paper.name[1:]} ({size})"


def _texts(paper: Paper, scale_mm: float, sides: str, edge: float, words: SheetWords) -> Iterator[str]:
    yield words.test_first
    yield words.choose(paper=paper_name(paper, words), sides=sides)
    yield words.measure(length=f"{scale_mm:.0f}", percent=f"{100 * SHRUNK:.0f}")
    yield words.frame(edge=words.number(edge))


def _paragraphs(texts: tuple[str, ...], head: str, size: float, width: float) -> Iterator[Label]:
    """The heading, then each text broken into lines, the first one bold."""
    y = pt_to_mm(size * HEAD_SHARE)
    yield Label(0.0, y, head, size * HEAD_SHARE, bold=True)
    y += AFTER_MM
    for index, text in enumerate(texts):
        for line in wrap(text, size, width, bold=index == 0):
            y += line_mm(size)
            yield Label(0.0, y, line, size, bold=index == 0)
        y += AFTER_MM


def _scales(length: float, size: float) -> Iterator[Figure]:
    """One scale to the right and one down from (0, 0), ticks every 10 mm, turned inwards."""
    for across in (True, False):
        ticks = [Line(((0.0, 0.0), (length, 0.0)), 0.25)]
        for step in range(int(length) // 10 + 1):
            ends = step in (0, int(length) // 10)
            tall = LONG_TICK_MM if ends else TICK_MM
            ticks.append(Line(((step * 10.0, 0.0), (step * 10.0, tall)), 0.25 if ends else 0.15))
        yield from (
            ticks
            if across
            else (replace(tick, points=tuple((y, x) for x, y in tick.points)) for tick in ticks)
        )
    yield Label(length - 1.0, LONG_TICK_MM + pt_to_mm(size), f"{length:.0f} mm", size, "end")
    yield Label(LONG_TICK_MM + 1.0, length, f"{length:.0f} mm", size)


def _staff(staff_mm: float, size: float, width: float, words: SheetWords) -> Iterator[Figure]:
    """Five lines at true size, a measuring arrow beside them, words below."""
    space, wide = sp_to_mm(1, staff_mm), min(STAFF_WIDE_MM, width - 2 * LONG_TICK_MM)
    thick = space * STAFF_LINE_SP
    for line in range(5):
        yield Line(((LONG_TICK_MM, line * space), (LONG_TICK_MM + wide, line * space)), thick)
    x = LONG_TICK_MM / 2
    yield Line(((x, 0.0), (x, staff_mm)), 0.15, GREY)
    for y in (0.0, staff_mm):
        yield Line(((x - 1.0, y), (x + 1.0, y)), 0.15, GREY)
    text = words.staff_here(staff=words.number(staff_mm))
    for row, words_in_line in enumerate(wrap(text, size, width), start=1):
        yield Label(0.0, staff_mm + AFTER_MM + row * line_mm(size), words_in_line, size)
