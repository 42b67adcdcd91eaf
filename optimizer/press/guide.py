"""guide.pdf: which pages lie where, where the turns are and how much time they give; on one page when it
fits.

In: score, plan, settings.  Out: sheets of the set's own paper.  Lengths in mm, type in points.  Always
true: desk and pages of all spreads are drawn to one scale, no type is smaller than 7 pt, and every turn of
the plan is listed.
"""

import re
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import chain
from string import ascii_lowercase
from typing import Final

from optimizer.layout.plan import Plan, PlannedBackTurn, PlannedTurn
from optimizer.press.document import About, Target, print_sheets
from optimizer.press.figures import (
    GREY,
    WHITE,
    Area,
    Figure,
    Label,
    Line,
    Sheet,
    grade_sign,
    line_mm,
    moved,
    rectangle,
    text_width_mm,
    wrap,
)
from optimizer.press.language import words as texts
from optimizer.press.marks import bar_range, system_place
from optimizer.press.warnings import cautions
from optimizer.progress import Progress, silent
from optimizer.score.model import Score
from optimizer.settings import Settings
from optimizer.turns.bars import BarNames
from optimizer.turns.model import Grade
from optimizer.units import pt_to_mm

MARGIN_MM: Final = 14.0  # wide enough for every office printer
GUTTER_MM: Final = 7.0
MIN_PT: Final = 7.0
# Columns and type sizes tried until everything stands on one page; the last one flows on.
SETTINGS_TRIED: Final = ((1, 9.5), (1, 8.5), (2, 8.5), (2, 7.5), (2, MIN_PT))
OVERFLOW_SETTING: Final = (2, 8.0)
PLAN_SHARE: Final = 0.42  # of the sheet's height at most for the picture of the spreads
MOST_PAGE_MM: Final = 44.0  # a pictured page is at most this high
MOST_COLUMNS: Final = 6
NEARLY: Final = 0.85  # spreads side by side may be this much smaller than the largest picture: rows read on
LEDGE_MM: Final = 2.0  # the desk's ledge and the white to the next row
# White at the foot of a pictured page, with and without signs of what leaves it.
SIGNED_FOOT_MM: Final = 4.8
PLAIN_FOOT_MM: Final = 1.5
CELL_GAP_MM: Final = 5.0
RULER_MM: Final = 100.0
BARS: Final = re.compile(r"^bars? |,? bars?(?= )")  # left out where the picture is small
SECONDS: Final = re.compile(r"(\d) s\b")  # a figure and its unit stay on one line

Turn = PlannedTurn | PlannedBackTurn


@dataclass(frozen=True, slots=True)
class Entry:
    """A paragraph of the lists: a sign with a name for a turn, a bold beginning, then text."""

    lead: str
    text: str
    turn: Turn | None = None
    name: str = ""


@dataclass(frozen=True, slots=True)
class Block:
    """Something of a known height; figures count from its top left corner. `heading`: never last in a
    column."""

    height_mm: float
    figures: tuple[Figure, ...]
    heading: bool = False


def print_guide(
    target: Target, score: Score, plan: Plan, settings: Settings, progress: Progress = silent
) -> None:
    """Write guide.pdf."""
    progress("printing the guide")
    title = score.title or "Untitled"
    about = About(f"{title}: guide", score.composer, f"Spreads and turns of {len(plan.pages)} pages")
    print_sheets(target, about, guide_sheets(score, plan, settings))


def guide_sheets(score: Score, plan: Plan, settings: Settings) -> tuple[Sheet, ...]:
    """The sheets of the guide, usually one."""
    paper = settings.paper
    width = paper.width_mm - 2 * MARGIN_MM
    fixed, y = list(header(score, plan, settings, width)), MARGIN_MM
    y += max((figure.y_mm for figure in fixed if isinstance(figure, Label)), default=0.0) + 6
    names = turn_names(plan)
    picture = spread_plan(score, plan, settings, names, width, paper.height_mm * PLAN_SHARE)
    top = moved(fixed, MARGIN_MM, MARGIN_MM) + moved(picture.figures, MARGIN_MM, y)
    y += picture.height_mm + CELL_GAP_MM
    low = paper.height_mm - MARGIN_MM - 8
    entries = tuple(
        chain(
            _turn_entries(score, plan, names),
            _back_turn_entries(score, plan, names),
            _cautions(score, plan, settings, names),
        )
    )
    for columns, size in SETTINGS_TRIED:
        pages = _flow(_blocks(entries, size, _column_mm(width, columns)), columns, low - y, low - y)
        if len(pages) == 1:
            break
    else:
        columns, size = OVERFLOW_SETTING
        pages = _flow(
            _blocks(entries, size, _column_mm(width, columns)), columns, low - y, low - MARGIN_MM - 10
        )
    sheets = []
    for index, page in enumerate(pages):
        start = y if index == 0 else MARGIN_MM + 10
        figures = list(top) if index == 0 else list(_continued(score, index + 1))
        for column, blocks in enumerate(page):
            x, down = MARGIN_MM + column * (_column_mm(width, columns) + GUTTER_MM), start
            for block in blocks:
                figures += moved(block.figures, x, down)
                down += block.height_mm
        figures += moved(_ruler(width), MARGIN_MM, paper.height_mm - MARGIN_MM)
        sheets.append(Sheet(paper.width_mm, paper.height_mm, tuple(figures)))
    return tuple(sheets)


def header(score: Score, plan: Plan, settings: Settings, width_mm: float) -> Iterator[Label]:
    """Title, composer and the choices the set was made for."""
    y = 0.0
    for line in wrap(score.title or "Untitled", 17, width_mm, bold=True):
        y += line_mm(17)
        yield Label(0.0, y - 1.5, line, 17, bold=True)
    key = texts(settings.sheets.lang).key(score.key) if score.key else ""
    names = " · ".join(part for part in (score.composer, key) if part)
    for line in wrap(names, 10.5, width_mm):
        y += line_mm(10.5)
        yield Label(0.0, y, line, 10.5)
    y += 1.5
    for fact in _facts(plan, settings):
        for line in wrap(fact, 9, width_mm):
            y += line_mm(9)
            yield Label(0.0, y, line, 9, colour=GREY)


def turn_names(plan: Plan) -> dict[Turn, str]:
    """Turns are numbered 1, 2, 3 in the picture and the lists, back-turns lettered a, b, c."""
    names: dict[Turn, str] = {turn: str(number) for number, turn in enumerate(plan.turns, start=1)}
    return names | {turn: _letters(index) for index, turn in enumerate(plan.back_turns)}


def spread_plan(
    score: Score, plan: Plan, settings: Settings, names: dict[Turn, str], width_mm: float, height_mm: float
) -> Block:
    """Every spread on its desk, all to the largest scale at which they fit."""
    paper, count = settings.paper, len(plan.spreads)
    widest = max(settings.desk.width_mm, max(len(spread) for spread in plan.spreads) * paper.width_mm)

    def scale_for(columns: int) -> float:
        rows = -(-count // columns)
        across = (width_mm - (columns - 1) * CELL_GAP_MM) / columns / widest
        down = (height_mm / rows - LEDGE_MM - line_mm(MIN_PT) - CELL_GAP_MM) / paper.height_mm
        return min(across, down, MOST_PAGE_MM / paper.height_mm)

    choices = range(1, min(count, MOST_COLUMNS) + 1)
    largest = max(map(scale_for, choices))
    columns = max(number for number in choices if scale_for(number) >= NEARLY * largest)
    scale = scale_for(columns)
    cell = (width_mm - (columns - 1) * CELL_GAP_MM) / columns
    row_mm = paper.height_mm * scale + LEDGE_MM + line_mm(MIN_PT) + CELL_GAP_MM
    figures: list[Figure] = []
    for index, spread in enumerate(plan.spreads):
        row, column = divmod(index, columns)
        x, y = column * (cell + CELL_GAP_MM), row * row_mm
        figures += moved(_spread(score, plan, settings, names, spread, scale, cell), x, y)
    return Block(-(-count // columns) * row_mm, tuple(figures))


def _facts(plan: Plan, settings: Settings) -> Iterator[str]:
    paper, desk = settings.paper, settings.desk
    name = paper.name.upper() if paper.name.isalnum() and len(paper.name) == 2 else paper.name.capitalize()
    yield (
        f"Paper {name}, {paper.width_mm:.0f} × {paper.height_mm:.0f} mm · "
        f"desk {desk.name}, {desk.width_mm:.0f} mm wide, {plan.pages_abreast} pages abreast"
    )
    grades = Counter(turn.grade for turn in plan.turns)
    turns = ", ".join(f"{grades[grade]} {grade}" for grade in Grade if grades[grade])
    pages = f"{len(plan.pages)} page{'s' if len(plan.pages) > 1 else ''}"
    yield (
        f"{plan.binding.capitalize()}, spreads {plan.pattern} · staff {plan.staff_mm:g} mm · {pages} · "
        + (f"turns: {turns}" if turns else "no turn")
    )


def _spread(
    score: Score,
    plan: Plan,
    settings: Settings,
    names: dict[Turn, str],
    spread: Sequence[int],
    scale: float,
    cell: float,
) -> Iterator[Figure]:
    """One spread centred in a cell: its pages, the desk's ledge below them, a caption."""
    wide, high = settings.paper.width_mm * scale, settings.paper.height_mm * scale
    desk = settings.desk.width_mm * scale
    centre = cell / 2
    ledge = (
        (centre - desk / 2, high - 1.2),
        (centre - desk / 2, high + 0.5),
        (centre + desk / 2, high + 0.5),
    )
    yield Line((*ledge, (centre + desk / 2, high - 1.2)), 0.5, GREY)
    left = centre - len(spread) * wide / 2
    for slot, number in enumerate(spread):
        yield from _page(score, plan, names, number, left + slot * wide, wide, high)
    pages = f"page {spread[0]}" if len(spread) == 1 else f"pages {spread[0]}–{spread[-1]}"
    yield Label(centre, high + LEDGE_MM + pt_to_mm(MIN_PT), pages, MIN_PT, "middle", colour=GREY)


def _page(
    score: Score, plan: Plan, names: dict[Turn, str], number: int, x: float, wide: float, high: float
) -> Iterator[Figure]:
    """A page with its number, its bars, and the signs of what leaves it at its foot."""
    page = next(page for page in plan.pages if page.number == number)
    yield replace(rectangle(x, 0, wide, high, WHITE, "#000000"), width_mm=0.25)
    size = max(MIN_PT, min(16.0, high / 2.2))
    bars = "blank" if page.blank else bar_range(score, page)
    if ", bar" in bars or text_width_mm(bars, MIN_PT) > wide - 2:
        bars = BARS.sub("", bars)
    rows = wrap(bars, MIN_PT, wide - 2)
    signed = any(turn.from_page == number for turn in names)
    y = min(high * 0.36, high - (SIGNED_FOOT_MM if signed else PLAIN_FOOT_MM) - line_mm(MIN_PT) * len(rows))
    yield Label(x + wide / 2, y, str(number), size, "middle", bold=True)
    for row, words in enumerate(rows, start=1):
        yield Label(x + wide / 2, y + line_mm(MIN_PT) * row, words, MIN_PT, "middle")
    place, low = x + wide - 2.2, high - 2.6
    for turn in [turn for turn in plan.turns if turn.from_page == number][::-1]:
        yield from grade_sign(turn.grade, place, low, 2.4)
        yield Label(place - 1.8, low + 0.9, names[turn], MIN_PT, "end", bold=True)
        place -= 3.4 + text_width_mm(names[turn], MIN_PT, bold=True)
    place, low = x + 2.2, high - 2.6 if wide > 16 or place > x + wide - 3 else high - 6.4
    for back in [turn for turn in plan.back_turns if turn.from_page == number]:
        yield from _back_sign(place, low)
        yield Label(place + 1.8, low + 0.9, names[back], MIN_PT, bold=True)
        place += 3.8 + text_width_mm(names[back], MIN_PT, bold=True)


def _back_sign(x: float, y: float) -> tuple[Figure, ...]:
    """An arrow to the left."""
    return (
        Line(((x + 1.3, y), (x - 0.6, y)), 0.35),
        Area(((x - 1.4, y), (x - 0.1, y - 0.9), (x - 0.1, y + 0.9))),
    )


def _turn_entries(score: Score, plan: Plan, names: dict[Turn, str]) -> Iterator[Entry]:
    if plan.turns:
        yield Entry("Turns", "")
    else:
        yield Entry("No turns", "")
        yield Entry("", "All pages lie open together.")
    bars = BarNames(score)
    for turn in plan.turns:
        verb = "turn" if turn.to == turn.after + 1 else "on"
        yield Entry(_lead(bars, plan, turn, verb), _details(turn), turn, names[turn])


def _back_turn_entries(score: Score, plan: Plan, names: dict[Turn, str]) -> Iterator[Entry]:
    if plan.back_turns:
        yield Entry("Back-turns", "")
    bars = BarNames(score)
    for turn in plan.back_turns:
        yield Entry(_lead(bars, plan, turn, "back"), _details(turn), turn, names[turn])


def _lead(bars: BarNames, plan: Plan, turn: Turn, verb: str) -> str:
    """From page to page; with the systems where a jump's bars cannot be found by their numbers."""
    if turn.to == turn.after + 1 or (bars.is_unique(turn.after) and bars.is_unique(turn.to)):
        return f"Page {turn.from_page}, {verb} to page {turn.to_page}:"
    return f"{system_place(plan, turn.after).capitalize()}, {verb} to {system_place(plan, turn.to)}:"


def _details(turn: Turn) -> str:
    words = [f"{turn.grade}; {turn.why}"]
    if turn.leaves > 1:
        words.append(f"{turn.leaves} leaves at once")
    return SECONDS.sub("\\1\u00a0s", "; ".join(words) + ".")


def _cautions(score: Score, plan: Plan, settings: Settings, names: dict[Turn, str]) -> Iterator[Entry]:
    yield Entry("Before you play", "")
    yield Entry(
        "Print at 100 %",
        "(“actual size”, never “fit to page”), each page on one side of its own sheet. The line at the foot "
        "of this page must then measure 100 mm.",
    )
    blocked = [name for turn, name in names.items() if turn.grade is Grade.BLOCKED]
    if blocked:
        yield Entry(
            f"No hand is free at {', '.join(blocked)}.",
            "Decide beforehand who turns, or which notes may be left out.",
        )
    yield from (Entry(lead, text) for lead, text in cautions(score, plan, settings))
    yield Entry(
        "Copying:",
        "whether this music may be copied and played depends on the law and the practice where you are. "
        "Contests and examinations often want to see an original.",
    )


def _blocks(entries: Sequence[Entry], size_pt: float, width_mm: float) -> list[Block]:
    return [
        _heading(entry.lead, size_pt) if not entry.text else _paragraph(entry, size_pt, width_mm)
        for entry in entries
    ]


def _heading(title: str, size_pt: float) -> Block:
    step = line_mm(size_pt + 2)
    return Block(step + 3.0, (Label(0.0, 1.5 + step * 0.8, title, size_pt + 2, bold=True),), heading=True)


def _paragraph(entry: Entry, size_pt: float, width_mm: float) -> Block:
    """Bold beginning and text, broken together, with a sign hanging to the left."""
    step = line_mm(size_pt)
    indent = 11.0 if entry.turn else 0.0
    figures: list[Figure] = []
    if entry.turn:
        y = step * 0.8 - pt_to_mm(size_pt) * 0.3
        back = isinstance(entry.turn, PlannedBackTurn)
        figures += grade_sign(entry.turn.grade, 8.0, y, 2.6)
        figures += _back_sign(1.6, y) if back else ()
        figures.append(Label(5.8, step * 0.8, entry.name, size_pt, "end", bold=True))
    lines = _break(entry, size_pt, indent, width_mm)
    figures += [replace(run, y_mm=step * (row + 0.8)) for row, line in enumerate(lines) for run in line]
    return Block(step * len(lines) + 1.2, tuple(figures))


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


def _flow(blocks: Sequence[Block], columns: int, first_mm: float, later_mm: float) -> list[list[list[Block]]]:
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


def _column_mm(width_mm: float, columns: int) -> float:
    return (width_mm - (columns - 1) * GUTTER_MM) / columns


def _continued(score: Score, number: int) -> tuple[Figure, ...]:
    words = f"{score.title or 'Untitled'}: guide, page {number}"
    return (Label(MARGIN_MM, MARGIN_MM + pt_to_mm(9), words, 9, colour=GREY),)


def _ruler(width_mm: float) -> Iterator[Figure]:
    """A line of 100 mm to lay a ruler on."""
    yield Line(((0.0, -1.5), (0.0, 0.0), (RULER_MM, 0.0), (RULER_MM, -1.5)), 0.25)
    yield Label(RULER_MM + 2, 0.0, "100 mm when printed at actual size", MIN_PT, colour=GREY)


def _letters(index: int) -> str:
    """a to z, then aa, ab, ..."""
    high, low = divmod(index, len(ascii_lowercase))
    return (ascii_lowercase[high - 1] if high else "") + ascii_lowercase[low]
