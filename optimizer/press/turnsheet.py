"""turnsheet.pdf: the piece as it is played, as one line on one page, with every turn at its place; to study on the
train.

In: score, plan, settings.  Out: one sheet of the set's own paper.  Lengths in mm from the top left corner, y downwards;
type in points; time in seconds.  Always true: exactly one sheet; nothing is smaller than 7 pt; one scale of time for
all rows; every bar of the playing order is on the line, and every turn is drawn each time it is played.
"""

from collections import Counter
from collections.abc import Iterator, Sequence
from functools import cache, partial
from itertools import product
from typing import Final

from optimizer.errors import UsageError
from optimizer.layout.plan import Plan
from optimizer.press.blocks import Block
from optimizer.press.breaking import wrap_title
from optimizer.press.document import About, Target, print_sheets
from optimizer.press.figures import (
    GREY,
    MARGIN_MM,
    MIN_PT,
    Figure,
    Label,
    Sheet,
    grade_sign,
    line_mm,
    moved,
    text_width_mm,
    wrap,
)
from optimizer.press.instruments import key_told
from optimizer.press.language import Words, words
from optimizer.press.played import (
    PlayedBar,
    Turn,
    assumed_tempo,
    graded,
    played_bars,
    turn_names,
)
from optimizer.press.reasons import is_shared
from optimizer.press.turnline import STRIP_MM, Frame, Row, Told, lay_row, row_figures
from optimizer.progress import Progress, silent
from optimizer.score.model import Score
from optimizer.settings import Settings
from optimizer.turns.bars import movement_numerals
from optimizer.turns.events import TIGHT_S
from optimizer.turns.model import Grade, is_by_heart, tenths_s
from optimizer.turns.sentences import FREE
from optimizer.units import pt_to_mm

TITLE_PT: Final = 15.0
FACTS_PT: Final = 9.0
LEGEND_PT: Final = 7.5
MOST_TITLE_LINES: Final = 3
HEAD_GAP_MM: Final = 4.0
ROW_GAP_MM: Final = 2.5
MOST_ROW_GAP_MM: Final = 9.0  # a short piece is not torn apart
EVEN: Final = 0.001  # of the whole: how exactly rows are made even
WANTED_BAR_MM: Final = 8.0  # at which bars and their numbers are easy to tell apart
# How much is said of each turn, in which type; tried until all stands on the sheet.
FULL, SHORT, NAME, NOTHING = 3, 2, 1, 0
STYLES: Final = ((FULL, 8.0), (FULL, 7.5), (FULL, MIN_PT), (SHORT, MIN_PT), (NAME, MIN_PT), (NOTHING, MIN_PT))


def print_turn_sheet(
    target: Target, score: Score, plan: Plan, settings: Settings, progress: Progress = silent
) -> None:
    """Write turnsheet.pdf."""
    progress("printing the turn sheet")
    said = words(settings.sheets.lang)
    title = score.named_title or said.untitled
    about = About(f"{title}: {said.turn_sheet}", score.composer, said.turns(len(plan.turns)))
    print_sheets(target, about, (turn_sheet(score, plan, settings),))


def turn_sheet(score: Score, plan: Plan, settings: Settings) -> Sheet:
    """The one sheet."""
    paper, said = settings.paper, words(settings.sheets.lang)
    width = paper.width_mm - 2 * MARGIN_MM
    head, legend = _head(score, plan, settings, said, width), _legend(plan, settings, said, width)
    top, low = MARGIN_MM + head.height_mm + HEAD_GAP_MM, paper.height_mm - MARGIN_MM
    laid = _line(score, plan, settings, said, width, low - legend.height_mm - top)
    if laid is None:  # on very small paper the line comes before what explains it
        legend = Block(0.0, ())
        laid = _line(score, plan, settings, said, width, low - top)
    if laid is None:
        raise UsageError(f"--paper {paper.name}: too small for a turn sheet")
    frame, rows = laid
    spare = low - legend.height_mm - top - sum(row.height_mm for row in rows)
    gap = min(MOST_ROW_GAP_MM, spare / len(rows))
    figures = [*moved(head.figures, MARGIN_MM, MARGIN_MM)]
    y = top
    for row in rows:
        figures += moved(row_figures(frame, row), MARGIN_MM, y)
        y += row.height_mm + gap
    figures += moved(legend.figures, MARGIN_MM, low - legend.height_mm)
    return Sheet(paper.width_mm, paper.height_mm, tuple(figures))


def _line(
    score: Score, plan: Plan, settings: Settings, said: Words, width_mm: float, height_mm: float
) -> tuple[Frame, Sequence[Row]] | None:
    """As much of the turns as fits, in as many rows as help and fit; None where not even the strip fits."""
    bars = played_bars(score, plan)
    names, headings = turn_names(plan), {**movement_numerals(score), **score.movement_titles}
    most = max(1, min(round(len(bars) * WANTED_BAR_MM / width_mm), int(height_mm / (STRIP_MM + ROW_GAP_MM))))
    wrapped = cache(partial(_wrapped, bars))
    # A movement on rows of its own reads better than larger type, all that is to be said better than either.
    ways = sorted(product(STYLES, (True, False)), key=lambda way: (-way[0][0], not way[1]))
    for (detail, size), apart in ways:
        told = (
            {turn: _told(turn, names[turn], settings, said, detail, size) for turn in names} if detail else {}
        )
        for count in range(most, 0, -1):
            parts = wrapped(count, apart)
            scale = width_mm / max(_seconds(part) for part in parts)
            frame = Frame(said, headings, told, size, detail > NOTHING, width_mm, scale)
            if rows := _laid(frame, parts, height_mm):
                return frame, rows
    return None


def _laid(frame: Frame, parts: Sequence[Sequence[PlayedBar]], height_mm: float) -> Sequence[Row]:
    """The rows; none as soon as one of them does not fit."""
    rows: list[Row] = []
    used = 0.0
    for bars in parts:
        row = lay_row(frame, bars)
        used += row.height_mm + ROW_GAP_MM if row else 0.0
        if row is None or used > height_mm:
            return ()
        rows.append(row)
    return rows


def _wrapped(bars: Sequence[PlayedBar], count: int, apart: bool) -> Sequence[Sequence[PlayedBar]]:
    """The bars in at most `count` rows, as even as can be; `apart`: a movement begins a row (there may then be a row
    more for each)."""
    total, longest = sum(bar.duration_s for bar in bars), max(bar.duration_s for bar in bars)
    if apart:
        count = max(count, sum(_begins(bar) for bar in bars))
    low, high = max(total / count, longest), total
    while high - low > total * EVEN:
        middle = (low + high) / 2
        low, high = (low, middle) if len(_filled(bars, middle, apart)) <= count else (middle, high)
    return _filled(bars, high, apart)


def _filled(bars: Sequence[PlayedBar], row_s: float, apart: bool) -> Sequence[Sequence[PlayedBar]]:
    """Rows filled one after the other up to `row_s`."""
    rows: list[list[PlayedBar]] = []
    used = 0.0
    for bar in bars:
        if not rows or (apart and _begins(bar)) or used + bar.duration_s > row_s * (1 + EVEN / 10):
            rows.append([])
            used = 0.0
        rows[-1].append(bar)
        used += bar.duration_s
    return rows


def _begins(bar: PlayedBar) -> bool:
    """Whether a movement begins here for the first time."""
    return bar.begins and bar.pass_number == 1


def _seconds(bars: Sequence[PlayedBar]) -> float:
    return bars[-1].start_s + bars[-1].duration_s - bars[0].start_s


def _told(turn: Turn, name: str, settings: Settings, said: Words, detail: int, size_pt: float) -> Told:
    lines = tuple(_lines(turn, name, settings, said, detail))
    return Told(lines, max(text_width_mm(line, size_pt, bold=not row) for row, line in enumerate(lines)))


def _lines(turn: Turn, name: str, settings: Settings, said: Words, detail: int) -> Iterator[str]:
    """Name and pages, then time, hand and what to carry; less of it where there is little room."""
    pages = f"{turn.from_page} → {turn.to_page}"
    if detail == NAME:
        yield name
    elif detail == SHORT:
        yield f"{name}: {pages}"
        yield said.hand_short(turn.hand) + (
            "" if turn.hand == FREE else f" {said.seconds(tenths_s(turn.free_s))}"
        )
        if turn.carry:
            yield said.notes(turn.carry) + (
                "!" if is_by_heart(turn.carry, settings.turns.carry_allowance) else ""
            )
    else:
        yield f"{name}: {said.page_short(page=pages)}"
        grade = graded(turn, settings, said)
        if turn.hand == FREE or turn.grade is Grade.BLOCKED:
            yield grade
        else:
            yield f"{grade}, {said.seconds(tenths_s(turn.free_s))}"
            yield said.hand(turn.hand)
        if turn.carry:
            yield said.carry(turn.carry)
        if turn.leaves > 1:
            yield said.leaves(turn.leaves)


def _head(score: Score, plan: Plan, settings: Settings, said: Words, width_mm: float) -> Block:
    """Title, names, and what the piece asks of its player in figures."""
    lines = wrap_title(score.named_title or said.untitled, TITLE_PT, width_mm, bold=True)
    size = TITLE_PT
    while len(lines) > MOST_TITLE_LINES and size > MIN_PT:
        size = max(MIN_PT, size * 0.9)
        lines = wrap_title(score.named_title, size, width_mm, bold=True)
    kept = lines[:MOST_TITLE_LINES]
    if len(kept) < len(lines):
        kept = (*kept[:-1], kept[-1][:-2] + "…")
    y, figures = 0.0, list[Figure]()
    for line in kept:
        y += line_mm(size)
        figures.append(Label(0.0, y - pt_to_mm(size) * 0.28, line, size, bold=True))
    for fact in (
        " · ".join(filter(None, (score.composer, key_told(score, said)))),
        " · ".join(_figures(score, plan, settings, said)),
    ):
        for line in wrap(fact, FACTS_PT, width_mm)[:MOST_TITLE_LINES]:
            y += line_mm(FACTS_PT)
            figures.append(Label(0.0, y, line, FACTS_PT, colour=GREY))
    return Block(y + 1.0, tuple(figures))


def _figures(score: Score, plan: Plan, settings: Settings, said: Words) -> Iterator[str]:
    yield said.duration(score.duration_s)
    if assumed := assumed_tempo(score, settings, said):
        yield assumed
    yield said.pages(len(plan.pages))
    if not plan.turns and not plan.back_turns:
        yield said.no_turn
    for turns, counted in ((plan.turns, said.turns), (plan.back_turns, said.back_turns)):
        grades = Counter(turn.grade for turn in turns)
        if turns:
            told = ", ".join(said.graded(grades[grade], grade) for grade in Grade if grades[grade])
            yield f"{counted(len(turns))} ({told})"


def _legend(plan: Plan, settings: Settings, said: Words, width_mm: float) -> Block:
    """What the signs mean."""
    figures: list[Figure] = []
    y = line_mm(LEGEND_PT)
    if plan.turns or plan.back_turns:
        least = {
            Grade.OPEN: settings.turns.unhurried_s,
            Grade.QUICK: settings.turns.quick_s,
            Grade.TIGHT: TIGHT_S,
        }
        x = 0.0
        for grade in Grade:
            words_for = said.grade(grade)
            if grade in least:
                words_for = said.from_time(what=words_for, time=said.seconds(least[grade]))
            if x and x + 4.0 + text_width_mm(words_for, LEGEND_PT) > width_mm:
                x, y = 0.0, y + line_mm(LEGEND_PT)
            figures += grade_sign(grade, x + 1.5, y - 0.9, 2.4)
            label = Label(x + 4.0, y, words_for, LEGEND_PT)
            figures.append(label)
            x += 4.0 + label.width_mm + 6.0
        y += line_mm(LEGEND_PT)
    shared = wrap(said.shared_copies(who=""), LEGEND_PT, width_mm) if is_shared(plan) else ()
    for line in shared:
        figures.append(Label(0.0, y, line, LEGEND_PT))
        y += line_mm(LEGEND_PT)
    for line in wrap(said.how_to_read, LEGEND_PT, width_mm):
        figures.append(Label(0.0, y, line, LEGEND_PT, colour=GREY))
        y += line_mm(LEGEND_PT)
    return Block(y - line_mm(LEGEND_PT) + 1.0, tuple(figures))
