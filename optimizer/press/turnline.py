"""One row of the turn sheet: a stretch of the piece as it is played, drawn as a strip with what happens on it.

In: played bars and a frame that all rows share.  Out: a row's layout (how high it is, whether what is to be said of its
turns has room), then its figures, from the row's own top left corner.  Lengths in mm, y downwards; type in points; time
in seconds.  Always true: a row is as wide as its time, and words in it never touch each other.

From above to below a row has lanes: titles of movements, signs of jumps, times a passage is played, brackets of
endings, the strip itself, bar numbers with the signs of turns, what to know about each turn.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

from optimizer.layout.plan import PlannedBackTurn
from optimizer.press.figures import (
    BLACK,
    GREY,
    HAIR_MM,
    MIN_PT,
    PALE,
    WHITE,
    Area,
    Disc,
    Figure,
    Label,
    Line,
    grade_sign,
    line_mm,
    moved,
    rectangle,
    text_width_mm,
    wrap,
)
from optimizer.press.language import Words
from optimizer.press.played import JumpSign, PlayedBar, Turn

PAGE_PT: Final = 8.5

STRIP_MM: Final = 7.0
WORDS_LANE_MM: Final = 4.0
TIMES_LANE_MM: Final = 3.4
ENDING_LANE_MM: Final = 3.6
NUMBER_LANE_MM: Final = 4.6
LEADER_MM: Final = 2.6
NOTE_GAP_MM: Final = 2.5  # between what is said of neighbouring turns
LEAST_BAR_MM: Final = 1.1  # narrower bars cannot be told apart
NUMBER_SPACE_MM: Final = 9.0  # between bar numbers
NUMBER_STEPS: Final = (1, 2, 5, 10, 20, 50, 100)
SIGN_MM: Final = 3.2
TURN_MM: Final = 0.7
BACK_MM: Final = 3.0  # the arrow of a back-turn
CUT_MM: Final = 1.4  # white in the strip at a jump
TICK_MM: Final = 1.6
DOT_MM: Final = 0.4
REPEAT_MM: Final = 3.0  # a repeat sign with its dots


@dataclass(frozen=True, slots=True)
class Told:
    """What is said of a turn, and how wide that is."""

    lines: tuple[str, ...]
    width_mm: float


@dataclass(frozen=True, slots=True)
class Frame:
    """What all rows share. `told`: by turn; empty where nothing is said. `with_words`: titles and jumps are named."""

    said: Words
    headings: Mapping[int, str]
    told: Mapping[Turn, Told]
    note_pt: float
    with_words: bool
    width_mm: float
    mm_per_s: float


@dataclass(frozen=True, slots=True)
class _Note:
    """What is said of the turn at `x_mm`; `left_mm` is where it found room."""

    told: Told
    x_mm: float
    left_mm: float


@dataclass(frozen=True, slots=True)
class Row:
    """A row laid out: bar i lies between edges i and i + 1; `heads` with the lane of each."""

    bars: Sequence[PlayedBar]
    edges_mm: Sequence[float]
    heads: Sequence[tuple[Label, int]]
    notes: Sequence[_Note]
    height_mm: float


def lay_row(frame: Frame, bars: Sequence[PlayedBar]) -> Row | None:
    """Where everything stands; None where what is to be said of its turns has no room."""
    edges = [(bar.start_s - bars[0].start_s) * frame.mm_per_s for bar in bars]
    edges.append(edges[-1] + bars[-1].duration_s * frame.mm_per_s)
    notes = _notes(frame, bars, edges)
    if notes is None:
        return None
    heads = tuple(_heads(frame, bars, edges)) if frame.with_words else ()
    deepest = max((len(note.told.lines) for note in notes), default=0)
    height = (
        WORDS_LANE_MM * (max((level for _, level in heads), default=-1) + 1)
        + TIMES_LANE_MM * _has_times(bars)
        + ENDING_LANE_MM * _has_endings(bars)
        + STRIP_MM
        + NUMBER_LANE_MM
        + (LEADER_MM + deepest * line_mm(frame.note_pt) if deepest else 0.0)
    )
    return Row(bars, edges, heads, notes, height)


def row_figures(frame: Frame, row: Row) -> Iterator[Figure]:
    """The row, drawn."""
    bars, edges = row.bars, row.edges_mm
    for head, level in row.heads:
        yield from moved((head,), 0.0, WORDS_LANE_MM * (level + 0.7))
    y = WORDS_LANE_MM * (max((level for _, level in row.heads), default=-1) + 1)
    yield from moved(_times(frame, bars, edges), 0.0, y)
    y += TIMES_LANE_MM * _has_times(bars)
    yield from moved(_endings(bars, edges), 0.0, y)
    y += ENDING_LANE_MM * _has_endings(bars)
    yield from moved(_strip(frame, bars, edges), 0.0, y)
    y += STRIP_MM
    yield from moved((*_signs(frame, bars, edges), *_numbers(frame, bars, edges)), 0.0, y)
    yield from moved(_note_figures(frame, row.notes), 0.0, y + NUMBER_LANE_MM)


def _has_times(bars: Sequence[PlayedBar]) -> bool:
    return any(bar.pass_number > 1 for bar in bars)


def _has_endings(bars: Sequence[PlayedBar]) -> bool:
    return any(bar.measure.ending_numbers for bar in bars)


def _heads(frame: Frame, bars: Sequence[PlayedBar], edges: Sequence[float]) -> Iterator[tuple[Label, int]]:
    """Titles of movements and below them signs of jumps, on a baseline at 0, each with its lane."""
    titles, jumps = list[Label](), list[Label]()
    for bar, left, right in zip(bars, edges, edges[1:], strict=False):
        heading = frame.headings.get(bar.measure.movement, "")
        if bar.begins and bar.pass_number == 1 and heading:
            lines = wrap(heading, PAGE_PT, frame.width_mm - PAGE_PT, bold=True)
            text = lines[0] + ("…" if len(lines) > 1 else "")
            titles.append(_kept_inside(Label(left, 0.0, text, PAGE_PT, bold=True), frame.width_mm))
        if bar.jump:
            text = _jump_words(bar.jump, bar.goal or frame.said.the_beginning)
            middle = Label(right, 0.0, text, MIN_PT)
            jumps.append(_kept_inside(replace(middle, x_mm=right - middle.width_mm / 2), frame.width_mm))
    above = 0
    for labels in (titles, jumps):
        levels = [above + level for level in _levels(labels)]
        yield from zip(labels, levels, strict=True)
        above = max(levels, default=above - 1) + 1


def _jump_words(jump: JumpSign, goal: str) -> str:
    """The sign where it is a word, and an arrow to the bar."""
    if jump is JumpSign.FINE:
        return jump.value
    arrow = f"{'→' if jump in (JumpSign.ENDING, JumpSign.CODA) else '←'} {goal}"
    return arrow if jump in (JumpSign.REPEAT, JumpSign.ENDING) else f"{jump.value} {arrow}"


def _kept_inside(label: Label, width_mm: float) -> Label:
    """The label, moved so that it stays in its row."""
    return replace(label, x_mm=min(max(0.0, label.x_mm), width_mm - label.width_mm))


def _levels(labels: Sequence[Label]) -> list[int]:
    """A lane for each label, so that none touches another."""
    ends: list[float] = []
    levels = []
    for label in labels:
        level = next((n for n, end in enumerate(ends) if end + NOTE_GAP_MM <= label.x_mm), len(ends))
        ends[level : level + 1] = [label.x_mm + label.width_mm]
        levels.append(level)
    return levels


def _stretches(bars: Sequence[PlayedBar], same: Callable[[PlayedBar], object]) -> Iterator[tuple[int, int]]:
    """First and last of bars in a row that are alike and not parted by a jump."""
    first = 0
    for index, bar in enumerate(bars):
        if index + 1 == len(bars) or bar.jump or same(bar) != same(bars[index + 1]):
            yield first, index
            first = index + 1


def _times(frame: Frame, bars: Sequence[PlayedBar], edges: Sequence[float]) -> Iterator[Figure]:
    """A line over what is played for the second and further times."""
    y = TIMES_LANE_MM * 0.75
    for first, last in _stretches(bars, lambda bar: bar.pass_number):
        number = bars[first].pass_number
        if number == 1:
            continue
        left, right = edges[first] + 0.6, edges[last + 1] - 0.6
        for text in (frame.said.time(number), f"{number}×"):
            wide = text_width_mm(text, MIN_PT, italic=True)
            if left + wide + 1.0 <= right:
                yield Label(left, y, text, MIN_PT, italic=True)
                left += wide + 1.0
                break
        yield Line(((left, y - 0.8), (right, y - 0.8), (right, y + 0.4)), 0.2)


def _endings(bars: Sequence[PlayedBar], edges: Sequence[float]) -> Iterator[Figure]:
    """Brackets over first, second and further endings."""
    for first, last in _stretches(bars, lambda bar: bar.measure.ending_numbers):
        numbers = bars[first].measure.ending_numbers
        if numbers:
            left, right, low = edges[first] + 0.4, edges[last + 1] - 0.4, ENDING_LANE_MM
            yield Line(((left, low), (left, 0.4), (right, 0.4), (right, low * 0.6)), 0.25)
            text = " ".join(f"{number}." for number in numbers)
            if text_width_mm(text, MIN_PT) <= right - left - 1.0:
                yield Label(left + 0.7, low - 0.8, text, MIN_PT)


def _strip(frame: Frame, bars: Sequence[PlayedBar], edges: Sequence[float]) -> tuple[Figure, ...]:
    """Pages in turn white and shaded, barlines, repeat signs, and a heavy line at every turn."""
    figures: list[Figure] = []
    signs = tuple(_barlines(bars, edges))
    for first, last in _stretches(bars, lambda bar: bar.page):
        left = edges[first] + (CUT_MM / 2 if first and bars[first - 1].jump else 0.0)
        right = edges[last + 1] - (CUT_MM / 2 if bars[last].jump else 0.0)
        page = bars[first].page
        figures.append(rectangle(left, 0.0, right - left, STRIP_MM, WHITE if page % 2 else PALE, BLACK))
        said = frame.said.page_short(page=page)
        for text, size, air in ((said, PAGE_PT, 0.6), (str(page), PAGE_PT, 0.6), (str(page), MIN_PT, 0.2)):
            wide = text_width_mm(text, size, bold=True)
            x = _beside(signs, left + 2 * air, wide, air)
            if x + wide + air < right:
                figures.append(Label(x, STRIP_MM * 0.52, text, size, bold=True))
                break
    shown = frame.mm_per_s * sum(bar.duration_s for bar in bars) / len(bars) >= LEAST_BAR_MM
    for bar, left, right in zip(bars, edges, edges[1:], strict=False):
        if shown:
            figures.append(Line(((right, STRIP_MM - TICK_MM), (right, STRIP_MM))))
        if bar.measure.double_bar and not bar.jump:
            figures.append(Line(((right - 0.6, 0.0), (right - 0.6, STRIP_MM)), 0.2))
        if bar.measure.repeat_forward:
            figures += _repeat_sign(left + CUT_MM / 2, 1)
        if bar.measure.repeat_backward:
            figures += _repeat_sign(right - (CUT_MM / 2 if bar.jump else 0.0), -1)
        if bar.turn:
            figures.append(Line(((right, -TURN_MM), (right, STRIP_MM + TURN_MM)), TURN_MM))
    return tuple(figures)


def _barlines(bars: Sequence[PlayedBar], edges: Sequence[float]) -> Iterator[tuple[float, float]]:
    """From where to where repeat signs and double bars reach, from the left."""
    for bar, left, right in zip(bars, edges, edges[1:], strict=False):
        if bar.measure.repeat_forward:
            yield left, left + REPEAT_MM
        if bar.measure.double_bar:
            yield right - (REPEAT_MM if bar.measure.repeat_backward else 1.0), right


def _beside(taken: Sequence[tuple[float, float]], x: float, width_mm: float, air_mm: float) -> float:
    """The first place from `x` on where something of a width keeps its distance from all else."""
    for left, right in taken:
        if left < x + width_mm + air_mm and x < right + air_mm:
            x = right + air_mm
    return x


def _repeat_sign(x: float, way: int) -> Iterator[Figure]:
    """A repeat sign whose heavy line is at `x`; its dots lie to the right of it, or to the left (`way` -1)."""
    yield Line(((x + way * 0.3, 0.0), (x + way * 0.3, STRIP_MM)), 0.6)
    yield Line(((x + way * 1.1, 0.0), (x + way * 1.1, STRIP_MM)), 0.2)
    for share in (0.36, 0.64):
        yield Disc(x + way * 1.9, STRIP_MM * share, DOT_MM)


def _signs(frame: Frame, bars: Sequence[PlayedBar], edges: Sequence[float]) -> Iterator[Figure]:
    """Grades below the strip, an arrow to the left beside those of back-turns."""
    for bar, right in zip(bars, edges[1:], strict=True):
        if bar.turn:
            x, y = min(right, frame.width_mm - SIGN_MM / 2), NUMBER_LANE_MM / 2
            yield from grade_sign(bar.turn.grade, x, y, SIGN_MM)
            if isinstance(bar.turn, PlannedBackTurn):
                tip = x - SIGN_MM - BACK_MM / 2
                yield Line(((tip, y), (tip + BACK_MM, y)), 0.35)
                yield Area(((tip - 0.4, y), (tip + 1.0, y - 0.9), (tip + 1.0, y + 0.9)))


def _numbers(frame: Frame, bars: Sequence[PlayedBar], edges: Sequence[float]) -> Iterator[Label]:
    """Bar numbers: at the start of the row, of a page and after a jump, then evenly between where there is room."""
    taken = [
        (x - SIGN_MM - (BACK_MM if isinstance(bar.turn, PlannedBackTurn) else 0.0), x + SIGN_MM * 0.7)
        for bar, x in zip(bars, edges[1:], strict=True)
        if bar.turn
    ]
    average = edges[-1] / len(bars)
    step = next((step for step in NUMBER_STEPS if step * average >= NUMBER_SPACE_MM), NUMBER_STEPS[-1])
    starts = [
        not index or bool(bars[index - 1].jump) or bars[index - 1].page != bar.page or bar.begins
        for index, bar in enumerate(bars)
    ]
    regular = [bar.number.isdecimal() and int(bar.number) % step == 0 for bar in bars]
    for bold, wanted in ((True, starts), (False, regular)):
        for index in (index for index, bar in enumerate(bars) if wanted[index] and bar.number):
            behind_turn = index and bars[index - 1].turn
            x = edges[index] + (SIGN_MM * 0.7 + 0.2 if behind_turn else 0.0)
            label = Label(x, NUMBER_LANE_MM * 0.68, bars[index].number, MIN_PT, bold=bold)
            span = x, x + label.width_mm + 0.6
            if span[1] <= frame.width_mm and all(span[1] <= a or b <= span[0] for a, b in taken):
                taken.append(span)
                yield label


def _notes(frame: Frame, bars: Sequence[PlayedBar], edges: Sequence[float]) -> Sequence[_Note] | None:
    """What is said of the turns of a row, side by side as near to them as may be; None where they do not fit."""
    notes = []
    reached = 0.0
    for bar, x in zip(bars, edges[1:], strict=True):
        if bar.turn and bar.turn in frame.told:
            told = frame.told[bar.turn]
            left = max(reached, x - told.width_mm / 2)
            notes.append(_Note(told, min(x, frame.width_mm - SIGN_MM / 2), left))
            reached = left + told.width_mm + NOTE_GAP_MM
    limit = frame.width_mm
    for index in reversed(range(len(notes))):
        left = min(notes[index].left_mm, limit - notes[index].told.width_mm)
        notes[index] = replace(notes[index], left_mm=left)
        limit = left - NOTE_GAP_MM
    return None if notes and notes[0].left_mm < 0 else notes


def _note_figures(frame: Frame, notes: Sequence[_Note]) -> Iterator[Figure]:
    for note in notes:
        middle = note.left_mm + note.told.width_mm / 2
        yield Line(((note.x_mm, 0.0), (middle, LEADER_MM - 0.4)), HAIR_MM, GREY)
        for row, line in enumerate(note.told.lines):
            y = LEADER_MM + line_mm(frame.note_pt) * (row + 0.75)
            yield Label(middle, y, line, frame.note_pt, "middle", bold=not row)
