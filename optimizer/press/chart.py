"""The picture of `quietleaf turns`: bars along the x axis, difficulty above it, free seconds of each hand
below it.

In: one reading for each barline.  Out: a PDF (pages of rows) or an SVG (all rows under one another).
Lengths in mm, type in points.  Always true: PDF and SVG come from the same figures; a grade is told by
colour, shape and height.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final, Literal

from optimizer.press.document import About, Target, print_sheets
from optimizer.press.figures import (
    BLACK,
    GRADE_COLOURS,
    GREY,
    MARGIN_MM,
    PALE,
    WHITE,
    Figure,
    Label,
    Line,
    Sheet,
    grade_sign,
    line_mm,
    moved,
    rectangle,
    svg_text,
    wrap,
)
from optimizer.settings import PAPERS, Paper, TurnSettings
from optimizer.turns.model import BLOCKED_COST, BarlineReading, Grade
from optimizer.units import pt_to_mm

SCALE_MM: Final = 11.0  # left of a row, for the figures of the y axes
COST_MM: Final = 24.0  # height that stands for MOST_COST
AXIS_MM: Final = 5.5  # strip with the bar numbers, between difficulty and free seconds
FREE_MM: Final = 16.0  # height that stands for MOST_FREE_S
ROW_GAP_MM: Final = 9.0
MOST_COST: Final = (
    BLOCKED_COST + BLOCKED_COST // 2
)  # dearer ones are cut off with a notch; turns played twice cost double
MOST_FREE_S: Final = 4.0  # more time makes no turn easier (wind players: 4 s are fine, needs.md)
MOST_BARS_A_ROW: Final = 60
WIDEST_BAR_MM: Final = 9.0
NUMBER_EVERY: Final = (1, 2, 5, 10, 20)  # bar numbers written at the first step that leaves them room
NUMBER_ROOM_MM: Final = 8.5
SMALL_PT: Final = 7.0
HAND_FILLS: Final = (
    "#4d4d4d",
    "#c8c8c8",
    WHITE,
)  # in the order the hands are given; apart in black and white


def draw_chart(
    target: Target,
    form: Literal["pdf", "svg"],
    title: str,
    player: str,
    readings: Sequence[BarlineReading],
    turns: TurnSettings | None = None,
    paper: Paper = PAPERS["a4"],
) -> None:
    """Write the picture; `player` says whose turns these are, `turns` which times are marked."""
    sheets = chart_sheets(title, player, readings, turns or TurnSettings(), paper, endless=form == "svg")
    name = f"{title or 'Untitled'}: page turns"
    if form == "pdf":
        print_sheets(target, About(name, "", f"Difficulty of a page turn after each bar, {player}"), sheets)
        return
    data = svg_text(sheets[0], name).encode()
    if isinstance(target, Path | str):
        Path(target).write_bytes(data)
    else:
        target.write(data)


def chart_sheets(
    title: str,
    player: str,
    readings: Sequence[BarlineReading],
    turns: TurnSettings,
    paper: Paper,
    endless: bool = False,
) -> tuple[Sheet, ...]:
    """Rows of barlines on sheets of paper, or on one sheet as high as they need (`endless`)."""
    width = paper.width_mm - 2 * MARGIN_MM
    head = _stack(_heading(title, player, width), _legend(readings, width))
    rows = [_row(part, width, turns) for part in _parts(readings)]
    room = paper.height_mm - 2 * MARGIN_MM
    sheets: list[tuple[Figure, ...]] = [moved(head.figures, MARGIN_MM, MARGIN_MM)]
    y = head.height_mm
    for row in rows:
        if not endless and y + row.height_mm > room:
            sheets.append(())
            y = 0.0
        sheets[-1] += moved(row.figures, MARGIN_MM, MARGIN_MM + y)
        y += row.height_mm
    height = y + 2 * MARGIN_MM if endless else paper.height_mm
    return tuple(Sheet(paper.width_mm, height, figures) for figures in sheets)


@dataclass(frozen=True, slots=True)
class _Strip:
    """Figures over the whole width, counted from the strip's top left corner."""

    height_mm: float
    figures: tuple[Figure, ...]


def _stack(*strips: _Strip) -> _Strip:
    figures: tuple[Figure, ...] = ()
    y = 0.0
    for strip in strips:
        figures += moved(strip.figures, 0.0, y)
        y += strip.height_mm
    return _Strip(y, figures)


def _parts(readings: Sequence[BarlineReading]) -> Iterator[Sequence[BarlineReading]]:
    """Rows of about equal length."""
    rows = max(1, -(-len(readings) // MOST_BARS_A_ROW))
    size = -(-len(readings) // rows)
    for start in range(0, len(readings), max(1, size)):
        yield readings[start : start + size]


def _heading(title: str, player: str, width: float) -> _Strip:
    y, figures = 0.0, []
    for line in wrap(title or "Untitled", 16, width, bold=True):
        y += line_mm(16)
        figures.append(Label(0.0, y - 1.5, line, 16, bold=True))
    sentence = "how hard a page turn is after each bar, and how long each hand is free for it"
    for line in wrap(f"{player}: {sentence}" if player else sentence.capitalize(), 9.5, width):
        y += line_mm(9.5)
        figures.append(Label(0.0, y, line, 9.5))
    return _Strip(y + 3.0, tuple(figures))


def _legend(readings: Sequence[BarlineReading], width: float) -> _Strip:
    """What the signs mean: only hands and lines that occur, all grades."""
    keys: list[tuple[tuple[Figure, ...], str]] = [
        (grade_sign(grade, 0.0, -1.0, 2.2), str(grade)) for grade in Grade
    ]
    for hand, fill in zip(_hands(readings), HAND_FILLS, strict=False):
        keys.append(((rectangle(-1.0, -2.2, 2.0, 2.4, fill, BLACK),), f"free: {hand}"))
    keys.append(((Line(((0.0, -2.6), (0.0, 0.4)), 0.6, PALE),), "double bar or repeat"))
    if any(reading.cost > MOST_COST for reading in readings):
        keys.append(((rectangle(-0.7, -2.2, 1.4, 2.4), *_notch(0.0, -1.0)), f"above {MOST_COST}"))
    x, y, figures = 2.0, 5.0, []
    for sign, words in keys:
        label = Label(0.0, 0.0, words, 8.5)
        if x + label.width_mm + 3 > width:
            x, y = 2.0, y + line_mm(8.5)
        figures += [*moved(sign, x, y), *moved((label,), x + 2.5, y)]
        x += label.width_mm + 9.0
    return _Strip(y + 6.0, tuple(figures))


def _row(part: Sequence[BarlineReading], width: float, turns: TurnSettings) -> _Strip:
    """One row: y axes left, a column for each barline, bar numbers between difficulty and free seconds."""
    step = min(WIDEST_BAR_MM, (width - SCALE_MM) / max(1, len(part)))
    right = SCALE_MM + step * len(part)
    top = line_mm(SMALL_PT) + 2.5
    axis, below = top + COST_MM, top + COST_MM + AXIS_MM
    figures = list(_scales(top, axis, below, right, turns))
    every = next((n for n in NUMBER_EVERY if n * step >= NUMBER_ROOM_MM), NUMBER_EVERY[-1])
    for index, reading in enumerate(part):
        x = SCALE_MM + step * (index + 0.5)
        if reading.double_bar:
            figures.insert(0, Line(((x, top), (x, below + FREE_MM)), min(1.2, step * 0.4), PALE))
        figures += _column(reading, x, axis, below, step)
        if reading.after_bar.isdecimal() and int(reading.after_bar) and int(reading.after_bar) % every == 0:
            figures.append(Label(x, axis + AXIS_MM * 0.62, reading.after_bar, SMALL_PT, "middle"))
    return _Strip(below + FREE_MM + ROW_GAP_MM, tuple(figures))


def _scales(top: float, axis: float, below: float, right: float, turns: TurnSettings) -> Iterator[Figure]:
    """Axis lines, their figures and names."""
    for cost in (0, BLOCKED_COST // 2, BLOCKED_COST):
        y = axis - COST_MM * cost / MOST_COST
        yield Line(((SCALE_MM, y), (right, y)), 0.2 if cost == 0 else 0.1, BLACK if cost == 0 else GREY)
        yield Label(SCALE_MM - 1.2, y + 0.9, str(cost), SMALL_PT, "end")
    for seconds in (0.0, turns.quick_s, turns.unhurried_s):
        y = below + FREE_MM * seconds / MOST_FREE_S
        dash = (1.0, 0.8) if seconds else ()
        yield Line(((SCALE_MM, y), (right, y)), 0.15, GREY if seconds else BLACK, dash)
        yield Label(SCALE_MM - 1.2, y + 0.9, f"{seconds:g} s", SMALL_PT, "end")
    yield Label(SCALE_MM, top - 2.0, "difficulty", SMALL_PT, italic=True)
    yield Label(SCALE_MM - 1.2, axis + AXIS_MM * 0.62, "bar", SMALL_PT, "end", italic=True)
    yield Label(SCALE_MM, below + FREE_MM + pt_to_mm(SMALL_PT), "free seconds", SMALL_PT, italic=True)


def _column(reading: BarlineReading, x: float, axis: float, below: float, step: float) -> Iterator[Figure]:
    """A stem in the grade's colour with its sign on top; below, what each hand has free."""
    height = COST_MM * min(reading.cost, MOST_COST) / MOST_COST
    stem = min(1.6, step * 0.45)
    if height > 0:
        yield rectangle(x - stem / 2, axis - height, stem, height, GRADE_COLOURS[reading.grade])
    if reading.cost > MOST_COST:
        yield from _notch(x, axis - height * 0.85)
    yield from grade_sign(reading.grade, x, axis - height, min(2.2, step * 0.7))
    thick = step * 0.8 / max(1, len(reading.free_s))
    left = x - step * 0.4
    for fill, free_s in zip(HAND_FILLS, reading.free_s.values(), strict=False):
        if free_s > 0:
            yield rectangle(left, below, thick, FREE_MM * min(free_s, MOST_FREE_S) / MOST_FREE_S, fill, BLACK)
        left += thick


def _notch(x: float, y: float) -> tuple[Figure, ...]:
    """A column is cut off here."""
    return (Line(((x - 1.2, y + 0.4), (x + 1.2, y - 0.4)), 0.6, WHITE),)


def _hands(readings: Sequence[BarlineReading]) -> tuple[str, ...]:
    return tuple(readings[0].free_s) if readings else ()
