"""Headings, paragraphs and pictures with text beside them, and how they flow into columns and pages.

In: texts and figures.  Out: `Block`s.  Lengths in mm, type in points.  Always true: a block knows its height, and
nothing in it is wider than it was allowed.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

from optimizer.press.diagrams import Picture
from optimizer.press.figures import GREY, Figure, Label, Line, line_mm, moved, text_width_mm, wrap
from optimizer.press.guide_words import GuideWords

PICTURE_MM: Final = 42.0  # a wider picture stands below its text
PICTURE_GAP_MM: Final = 4.0
PARAGRAPH_MM: Final = 1.2  # white after a paragraph
STEP_MM: Final = 3.5  # white after a step
INDENT_MM: Final = 11.0  # of paragraphs with a sign
RULER_MM: Final = 100.0
RULER_PT: Final = 7.0


@dataclass(frozen=True, slots=True)
class Entry:
    """A paragraph: a sign with a name left of it, a bold beginning, then text. Without text: a heading. Signs are
    drawn around the middle of a small letter."""

    lead: str
    text: str
    sign: tuple[Figure, ...] = ()
    name: str = ""


@dataclass(frozen=True, slots=True)
class Block:
    """Something of a known height; figures count from its top left corner. `heading`: never last in a column."""

    height_mm: float
    figures: tuple[Figure, ...]
    heading: bool = False


def entry_block(entry: Entry, size_pt: float, width_mm: float) -> Block:
    """A heading or a paragraph."""
    return paragraph(entry, size_pt, width_mm) if entry.text else heading(entry.lead, size_pt)


def heading(title: str, size_pt: float) -> Block:
    """A bold line that keeps with what follows."""
    step = line_mm(size_pt + 2)
    return Block(step + 3.0, (Label(0.0, 1.5 + step * 0.8, title, size_pt + 2, bold=True),), heading=True)


def paragraph(entry: Entry, size_pt: float, width_mm: float) -> Block:
    """Bold beginning and text, broken together, with a sign hanging to the left."""
    step = line_mm(size_pt)
    indent = INDENT_MM if entry.sign else 0.0
    figures: list[Figure] = []
    if entry.sign:
        figures += moved(entry.sign, 0.0, step * 0.8 - step * 0.24)
        figures.append(Label(5.8, step * 0.8, entry.name, size_pt, "end", bold=True))
    lines = _break(entry, size_pt, indent, width_mm)
    figures += [replace(run, y_mm=step * (row + 0.8)) for row, line in enumerate(lines) for run in line]
    return Block(step * len(lines) + PARAGRAPH_MM, tuple(figures))


def _break(entry: Entry, size_pt: float, indent: float, width_mm: float) -> list[list[Label]]:
    """The words of an entry in lines, each line a bold run and a plain run at most."""
    space = text_width_mm(" ", size_pt)
    lines: list[list[Label]] = [[]]
    x = indent
    for text, bold in ((entry.lead, True), (entry.text, False)):
        fresh = True  # a run begins with the text and with the line
        for word in filter(None, text.split(" ")):
            wide = text_width_mm(word, size_pt, bold)
            if x > indent and x + wide > width_mm:
                lines.append([])
                x, fresh = indent, True
            if fresh:
                lines[-1].append(Label(x, 0.0, word, size_pt, bold=bold))
            else:
                lines[-1][-1] = replace(lines[-1][-1], string=f"{lines[-1][-1].string} {word}")
            x = lines[-1][-1].x_mm + lines[-1][-1].width_mm + space
            fresh = False
    return lines


def step_block(
    number: int, title: str, texts: Sequence[str], picture: Picture | None, size_pt: float, width_mm: float
) -> Block:
    """A numbered step: its picture left of the text, or below it when it is wide."""
    beside = picture is not None and picture.width_mm <= PICTURE_MM
    left = PICTURE_MM + PICTURE_GAP_MM if beside else 0.0
    head = Entry(f"{number}. {title}.", texts[0] if texts else "")
    entries = (head, *(Entry("", text) for text in texts[1:]))
    figures: list[Figure] = []
    y = 0.0
    for entry in entries:
        block = paragraph(entry, size_pt, width_mm - left)
        figures += moved(block.figures, left, y)
        y += block.height_mm
    if picture is not None:
        x, top = ((PICTURE_MM - picture.width_mm) / 2, 0.0) if beside else (0.0, y + 1.5)
        figures += moved(picture.figures, x, top)
        y = max(y, top + picture.height_mm)
    return Block(y + STEP_MM, tuple(figures))


def title_block(title: str, size_pt: float, width_mm: float) -> Block:
    """A large line or more."""
    lines = wrap(title, size_pt, width_mm, bold=True)
    step = line_mm(size_pt)
    labels = (Label(0.0, step * (row + 0.8), line, size_pt, bold=True) for row, line in enumerate(lines))
    return Block(step * len(lines) + 2.0, tuple(labels), heading=True)


def flow(blocks: Sequence[Block], columns: int, first_mm: float, later_mm: float) -> list[list[list[Block]]]:
    """Blocks into columns, columns into pages; a heading goes on with what follows it."""
    pages: list[list[list[Block]]] = [[[]]]
    used = 0.0
    for index, block in enumerate(blocks):
        follower = blocks[index + 1].height_mm if block.heading and index + 1 < len(blocks) else 0.0
        limit = first_mm if len(pages) == 1 else later_mm
        if pages[-1][-1] and used + block.height_mm + follower > limit:
            if len(pages[-1]) < columns:
                pages[-1].append([])
            else:
                pages.append([[]])
            used = 0.0
        pages[-1][-1].append(block)
        used += block.height_mm
    return pages


def ruler(words: GuideWords) -> tuple[Figure, ...]:
    """A line of 100 mm to lay a ruler on, its foot at the origin."""
    ends = ((0.0, -1.5), (0.0, 0.0), (RULER_MM, 0.0), (RULER_MM, -1.5))
    return Line(ends, 0.25), Label(RULER_MM + 2, 0.0, words.ruler, RULER_PT, colour=GREY)
