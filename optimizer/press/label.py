"""label.pdf and the title side: what a folded set says on the outside.

In: score (with its key), plan, settings.  Out: figures and sheets of the set's own paper; the first sheet is a whole
title page, to be printed onto the blank outside itself or put on top, the second a label to cut out and glue on.
Lengths in mm from the top left corner, y downwards; type in points.  Always true: nothing is smaller than 7 pt, nothing
leaves its box, and no line of text is cut: long ones are broken, and all type shrinks until the block fits.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from optimizer.binding.packet import packet_of
from optimizer.binding.sheets import sheets_of
from optimizer.layout.plan import Plan
from optimizer.press.breaking import wrap_title
from optimizer.press.document import About, Target, print_sheets
from optimizer.press.figures import (
    BLACK,
    GREY,
    HAIR_MM,
    MIN_PT,
    Disc,
    Figure,
    Label,
    Line,
    Sheet,
    line_mm,
    moved,
    text_width_mm,
    wrap,
)
from optimizer.press.instruments import is_transposing, scored_for
from optimizer.press.language import Words, words
from optimizer.press.played import assumed_tempo
from optimizer.progress import Progress, silent
from optimizer.score.model import Score
from optimizer.settings import Settings
from optimizer.units import pt_to_mm

# Type sizes in points: our choice. The label is read at arm's length among twenty others, the key of a song first.
TITLE_PT: Final = 26.0
SUBTITLE_PT: Final = 13.0
NAMES_PT: Final = 12.0
PART_PT: Final = 17.0  # whose part it is: what a player looks for
KEY_PT: Final = 17.0
SONG_KEY_PT: Final = 44.0
FACTS_PT: Final = 11.0
NOTES_PT: Final = 9.0
SHRINK: Final = 0.92  # one step smaller
TITLE_SCALE: Final = 1.25  # of a whole title page
PAGE_MARGIN_SHARE: Final = 0.12  # of a page's width on the title page; clear of holes and taped edges
EDGE_MM: Final = 14.0  # wide enough for every office printer
LABEL_SHARE: Final = 0.72  # of a page's width
PADDING_MM: Final = 8.0
OPTICAL_CENTRE: Final = 0.42  # of a page's height: where a block looks centred (typographers' practice)
GAP_MM: Final = 4.0
COLUMN_GAP_MM: Final = 4.0
TICK_MM: Final = 5.0


@dataclass(frozen=True, slots=True)
class _Row:
    """Centred text; `gap_mm` of white above it. `on_one_line`: shrinks rather than breaks."""

    text: str
    size_pt: float
    gap_mm: float = 0.0
    bold: bool = False
    italic: bool = False
    colour: str = BLACK
    on_one_line: bool = False


@dataclass(frozen=True, slots=True)
class Block:
    """Figures in a box that begins at (0, 0)."""

    width_mm: float
    height_mm: float
    figures: tuple[Figure, ...]


def print_label(
    target: Target, score: Score, plan: Plan, settings: Settings, progress: Progress = silent
) -> None:
    """Write label.pdf."""
    progress("printing the label")
    said = words(settings.sheets.lang)
    title = score.named_title or said.untitled
    about = About(f"{title}: {said.label}", score.composer, said.pages(len(plan.pages)))
    print_sheets(target, about, label_sheets(score, plan, settings))


def label_sheets(score: Score, plan: Plan, settings: Settings) -> tuple[Sheet, ...]:
    """The title page, then the label to cut out."""
    paper = settings.paper
    return (
        Sheet(paper.width_mm, paper.height_mm, title_page_figures(score, plan, settings)),
        Sheet(paper.width_mm, paper.height_mm, _cut_label(score, plan, settings)),
    )


def title_page_figures(score: Score, plan: Plan, settings: Settings) -> tuple[Figure, ...]:
    """The block on a page of the set, its centre a little above the middle."""
    paper, margin = settings.paper, settings.paper.width_mm * PAGE_MARGIN_SHARE
    block = label_block(
        score, plan, settings, paper.width_mm - 2 * margin, paper.height_mm - 2 * margin, TITLE_SCALE
    )
    down = max(margin, paper.height_mm * OPTICAL_CENTRE - block.height_mm / 2)
    return moved(block.figures, margin, down)


def label_block(
    score: Score, plan: Plan, settings: Settings, width_mm: float, height_mm: float, scale: float = 1.0
) -> Block:
    """Title, names, key and facts, in the largest type up to `scale` with which they fit the box."""
    said = words(settings.sheets.lang)
    rows, facts = tuple(_rows(score, said)), tuple(_facts(score, plan, settings, said))
    while True:
        block = _set(rows, facts, scale, width_mm)
        if block.height_mm <= height_mm or scale * TITLE_PT < MIN_PT:
            return block
        scale *= SHRINK


def is_song(score: Score) -> bool:
    """Whether words are sung: singers ask for the key first."""
    return any(part.has_lyrics for part in score.parts)


def _rows(score: Score, said: Words) -> Iterator[_Row]:
    yield _Row(score.composer, NAMES_PT)
    yield _Row(score.title or said.untitled, TITLE_PT, 1.5, bold=True)
    yield _Row(score.subtitle, SUBTITLE_PT, 0.5, italic=True)
    players = scored_for(score.parts, said)
    if score.part_name:
        yield _Row(score.part_name, PART_PT, GAP_MM, bold=True)
    elif players.casefold() not in score.subtitle.casefold():
        yield _Row(players, SUBTITLE_PT, 1.5)
    if score.key:
        size = SONG_KEY_PT if is_song(score) else KEY_PT
        yield _Row(said.key_title(score.key), size, GAP_MM, bold=True, on_one_line=True)
        sounding = said.key_as_it_sounds if is_transposing(score) else ""
        found = said.key_by_analysis if score.key.found else ""
        yield _Row(" · ".join(filter(None, (sounding, found))), NOTES_PT, 0.5, colour=GREY)


def _facts(score: Score, plan: Plan, settings: Settings, said: Words) -> Iterator[tuple[str, str]]:
    assumed = assumed_tempo(score, settings, said)
    duration = said.duration(score.duration_s)
    yield said.duration_heading, f"{duration} ({assumed})" if assumed else duration
    count = len(plan.pages)
    leaves = len(sheets_of(plan, settings).leaves)
    pattern = said.pattern([len(spread) for spread in plan.spreads], leaves)
    yield said.pages_heading, f"{count} ({pattern})" if count > 1 else pattern
    yield said.desk_heading, f"{said.desk_told(settings.desk.name)}, {said.abreast(plan.pages_abreast)}"
    yield said.binding_heading, said.binding(plan.binding, leaves)


def _set(rows: Sequence[_Row], facts: Sequence[tuple[str, str]], scale: float, width_mm: float) -> Block:
    """The rows centred, a rule, then the facts: headings to the left of one line, values to its right."""
    figures: list[Figure] = []
    y = 0.0
    for row in rows:
        size = max(MIN_PT, row.size_pt * scale)
        if row.on_one_line:
            wide = text_width_mm(row.text, size, row.bold)
            size = max(MIN_PT, min(size, size * width_mm / wide))
        lines = wrap_title(row.text, size, width_mm, row.bold, row.italic)
        y += row.gap_mm * scale if lines else 0.0
        for line in lines:
            y += line_mm(size)
            figures.append(
                Label(width_mm / 2, y - _below(size), line, size, "middle", row.bold, row.italic, row.colour)
            )
    y += GAP_MM * scale
    figures.append(Line(((0.0, y), (width_mm, y)), HAIR_MM))
    y += GAP_MM * scale / 2
    size = max(MIN_PT, FACTS_PT * scale)
    column = max(text_width_mm(heading, size) for heading, _ in facts) + COLUMN_GAP_MM
    values = [wrap(value, size, width_mm - column) for _, value in facts]
    used = column + max(text_width_mm(line, size) for lines in values for line in lines)
    left = (width_mm - used) / 2
    for (heading, _), lines in zip(facts, values, strict=True):
        figures.append(Label(left, y + line_mm(size) - _below(size), heading, size, colour=GREY))
        for line in lines:
            y += line_mm(size)
            figures.append(Label(left + column, y - _below(size), line, size))
    return Block(width_mm, y, tuple(figures))


def _below(size_pt: float) -> float:
    """From the baseline to the foot of a line."""
    return pt_to_mm(size_pt) * 0.28


def _cut_label(score: Score, plan: Plan, settings: Settings) -> tuple[Figure, ...]:
    """The label in a broken line with a pair of scissors on it; below it what to do and what to mind."""
    paper, said = settings.paper, words(settings.sheets.lang)
    width = paper.width_mm * LABEL_SHARE
    notes = tuple(_notes(plan, settings, said))
    room = paper.height_mm - 2 * (EDGE_MM + PADDING_MM + TICK_MM) - len(notes) * line_mm(NOTES_PT)
    block = label_block(score, plan, settings, width - 2 * PADDING_MM, room)
    height = block.height_mm + 2 * PADDING_MM
    left, top = (paper.width_mm - width) / 2, EDGE_MM + TICK_MM
    y = top + height + TICK_MM
    words_below = [
        Label(EDGE_MM, y + row * line_mm(NOTES_PT), line, NOTES_PT, colour=GREY)
        for row, line in enumerate(notes, start=1)
    ]
    return (
        *_cut_line(left, top, width, height),
        *moved(block.figures, left + PADDING_MM, top + PADDING_MM),
        *words_below,
    )


def _notes(plan: Plan, settings: Settings, said: Words) -> Iterator[str]:
    for note in (_where_it_goes(plan, settings, said), said.sharp_tools):
        yield from wrap(note, NOTES_PT, settings.paper.width_mm - 2 * EDGE_MM)


def _where_it_goes(plan: Plan, settings: Settings, said: Words) -> str:
    """Cut out, then glue onto what is white outside."""
    if plan.binding == "ring":
        return said.cut_out_binder
    packet = packet_of(plan, sheets_of(plan, settings))
    front, back = packet.white_outside
    if front:
        return said.cut_out
    if not back or plan.outside_title:
        return said.cut_out_folder
    return said.cut_out_back if packet.folding else said.cut_out_white_back


def _cut_line(left: float, top: float, width: float, height: float) -> Iterator[Figure]:
    """A broken frame, a tick outside each of its corners and edges, and scissors about to cut."""
    right, low = left + width, top + height
    frame = ((left, top), (right, top), (right, low), (left, low), (left, top))
    yield Line(frame, HAIR_MM, GREY, dash_mm=(2.0, 1.5))
    for x, outwards in ((left, -1), (right, 1)):
        for y in (top, low):
            yield Line(((x + outwards, y), (x + outwards * TICK_MM, y)), HAIR_MM)
    for y, upwards in ((top, -1), (low, 1)):
        for x in (left, right):
            yield Line(((x, y + upwards), (x, y + upwards * TICK_MM)), HAIR_MM)
    x = left + width * 0.12
    for side in (-1, 1):
        yield Disc(x, top + side * 1.3, 1.1, None, BLACK, 0.35)
        yield Line(((x + 0.9, top + side * 0.8), (x + 6.5, top - side * 0.9)), 0.35)
