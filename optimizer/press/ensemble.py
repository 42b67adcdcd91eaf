"""ensemble.pdf: who sounds, who rests and who turns, along the time of the piece; and all turns in a table.

In: `Ensemble`s of the parts as planned and as they would be had each been planned alone.  Out: sheets of paper.
Lengths in mm from the top left corner, type in points, time in seconds of the playing order.  Always true: nothing is
smaller than 7 pt; one scale of time for all rows; every turn stands there as often as it is played.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import inf
from typing import Final

from optimizer.errors import UsageError
from optimizer.layout.joint import JointReport
from optimizer.parts.timeline import AT_ONCE_S, Ensemble, Lane, TurnMoment
from optimizer.press.blocks import Block, flow
from optimizer.press.document import About, Target, print_sheets
from optimizer.press.figures import (
    BLACK,
    GREY,
    MARGIN_MM,
    MIN_PT,
    PALE,
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
from optimizer.score.tempo import NO_TEMPO
from optimizer.settings import Paper
from optimizer.turns.model import Grade

TITLE_PT: Final = 15.0
TEXT_PT: Final = 9.0
LANE_MM: Final = 7.0
AXIS_MM: Final = 6.5  # above the lanes: bar numbers and rehearsal marks
ROW_GAP_MM: Final = 5.0
NAMES_MM: Final = 30.0  # at most, left of the lanes
SOUND_MM: Final = 2.6
SIGN_MM: Final = 2.6
USUAL_ROW_S: Final = 100.0  # at which a second is wide enough to see who turns first
NUMBER_ROOM_MM: Final = 9.0
STEPS: Final = (1, 2, 5, 10, 20, 50, 100)
COLUMNS: Final = (
    ("time", 0.0),
    ("after bar", 14.0),
    ("part", 32.0),
    ("pages", 74.0),
    ("turn", 92.0),
    ("at once", 134.0),
)


@dataclass(frozen=True, slots=True)
class _Frame:
    """What all rows have in common. `names_mm`: room for the names of the lanes; `scale`: mm a second; `crowds`: from
    the first to the last turn of each moment at which several turn."""

    ensemble: Ensemble
    names_mm: float
    width_mm: float
    rows: int
    row_s: float
    scale: float
    every: int
    crowds: tuple[tuple[float, float], ...]

    def x(self, time_s: float, start_s: float) -> float:
        """Where a moment stands in a row."""
        return self.names_mm + (time_s - start_s) * self.scale


def print_ensemble(
    target: Target, together: Ensemble, apart: Ensemble, report: JointReport, paper: Paper
) -> None:
    """Write ensemble.pdf."""
    title = together.title or "Untitled"
    about = About(f"{title}: who turns when", together.composer, f"page turns of {len(together.lanes)} parts")
    print_sheets(target, about, ensemble_sheets(together, apart, report, paper))


def ensemble_sheets(
    together: Ensemble, apart: Ensemble, report: JointReport, paper: Paper
) -> tuple[Sheet, ...]:
    """The time line, then the table; as many sheets as they need."""
    width, room = paper.width_mm - 2 * MARGIN_MM, paper.height_mm - 2 * MARGIN_MM
    frame = _frame(together, width)
    blocks = [_head(together, apart, report, width), _legend(width)]
    blocks += (_row(frame, row) for row in range(frame.rows))
    blocks += _table(together, width)
    if max(block.height_mm for block in blocks) > room:
        raise UsageError(f"--paper {paper.name}: too small for the time line of {len(together.lanes)} parts")
    return tuple(Sheet(paper.width_mm, paper.height_mm, page) for page in _pages(blocks, room))


def _pages(blocks: Sequence[Block], room_mm: float) -> Iterator[tuple[Figure, ...]]:
    """Blocks one under the other."""
    for (stack,) in flow(blocks, 1, room_mm, room_mm):
        page: list[Figure] = []
        y = MARGIN_MM
        for block in stack:
            page += moved(block.figures, MARGIN_MM, y)
            y += block.height_mm
        yield tuple(page)


def _frame(ensemble: Ensemble, width_mm: float) -> _Frame:
    """Rows of about equal length."""
    names = max(text_width_mm(lane.name, TEXT_PT) for lane in ensemble.lanes)
    names_mm = min(NAMES_MM, names) + 3.0
    count = max(1, round(ensemble.duration_s / USUAL_ROW_S))
    row_s = max(1.0, ensemble.duration_s / count)
    scale = (width_mm - names_mm) / row_s
    numbered = [mark.time_s for mark in ensemble.marks if not mark.rehearsal]
    bar_mm = scale * ensemble.duration_s / max(1, len(numbered))
    every = next((step for step in STEPS if step * bar_mm >= NUMBER_ROOM_MM), STEPS[-1])
    return _Frame(ensemble, names_mm, width_mm, count, row_s, scale, every, tuple(_crowded(ensemble)))


# --- the head ----------------------------------------------------------------------------------------------


def _head(together: Ensemble, apart: Ensemble, report: JointReport, width_mm: float) -> Block:
    """Title, facts, and what planning together has changed."""
    figures: list[Figure] = []
    y = 0.0
    for line in wrap(together.title or "Untitled", TITLE_PT, width_mm, bold=True):
        y += line_mm(TITLE_PT)
        figures.append(Label(0.0, y - 1.5, line, TITLE_PT, bold=True))
    for text in _sentences(together, apart, report):
        for line in wrap(text, TEXT_PT, width_mm):
            y += line_mm(TEXT_PT)
            figures.append(Label(0.0, y, line, TEXT_PT))
        y += 0.8
    return Block(y + 2.0, tuple(figures))


def _sentences(together: Ensemble, apart: Ensemble, report: JointReport) -> Iterator[str]:
    facts = (together.composer, f"{len(together.lanes)} parts", f"about {_clock(together.duration_s)}")
    yield " · ".join(filter(None, facts))
    if together.tempo_source.startswith(NO_TEMPO):
        yield "The score gives no tempo: all times follow from one that was assumed (--tempo)."
    yield f"Who sounds, who rests, who turns. {at_once_words(together)} {instead_words(together, apart)}".strip()
    if report.status != "optimal":
        yield "The joint plan is the best one found in the time given, not proven to be the best there is."


def at_once_words(ensemble: Ensemble) -> str:
    """How many parts turn at once, and how often; between movements all may."""
    counts = sorted(ensemble.at_once().items(), reverse=True)
    if not counts:
        return f"No two parts turn within {AT_ONCE_S:g} s of each other."
    parts = len(ensemble.lanes)
    told = [f"{'all' if count == parts else count} {_times(times)}" for count, times in counts]
    return f"Within {AT_ONCE_S:g} s of each other turn: {', '.join(told)}."


def instead_words(together: Ensemble, apart: Ensemble) -> str:
    """The same of plans made apart, where it differs."""
    if apart.at_once() == together.at_once():
        return ""
    return f"Had each part been planned alone: {at_once_words(apart)[0].lower()}{at_once_words(apart)[1:]}"


def _times(count: int) -> str:
    return "once" if count == 1 else f"{count} times"


def _legend(width_mm: float) -> Block:
    """What the signs mean."""
    x, y = 0.0, line_mm(TEXT_PT)
    figures: list[Figure] = []
    keys: list[tuple[tuple[Figure, ...], str]] = [
        ((rectangle(-2.0, -1.3, 4.0, SOUND_MM, PALE),), "sounds"),
        *((grade_sign(grade, 0.0, 0.0, SIGN_MM), str(grade)) for grade in Grade),
        (tuple(_back_sign(0.0, 0.0)), "turns back"),
        (tuple(_band(-2.0, 4.0, -2.0, 4.0)), "several turn at once"),
    ]
    for sign, text in keys:
        label = Label(5.5, 0.0, text, TEXT_PT)
        if x + 5.5 + label.width_mm > width_mm:
            x, y = 0.0, y + line_mm(TEXT_PT)
        figures += [*moved(sign, x + 2.0, y - 1.0), *moved((label,), x, y)]
        x += 5.5 + label.width_mm + 5.5
    return Block(y + 4.0, tuple(figures))


# --- the rows ----------------------------------------------------------------------------------------------


def _row(frame: _Frame, row: int) -> Block:
    """One stretch of time, all lanes; the last one holds what is said to come after the end."""
    lanes = frame.ensemble.lanes
    height = AXIS_MM + LANE_MM * len(lanes)
    start_s = row * frame.row_s
    end_s = start_s + frame.row_s
    turns_end_s = inf if row == frame.rows - 1 else end_s
    figures = [*_crowds(frame, start_s, end_s, height), *_axis(frame, start_s, end_s, height)]
    for index, lane in enumerate(lanes):
        drawn = (*_lane(frame, lane, start_s, end_s), *_turns(frame, lane, start_s, turns_end_s))
        figures += moved(drawn, 0.0, AXIS_MM + LANE_MM * (index + 0.5))
    return Block(height + ROW_GAP_MM, tuple(figures))


def _crowds(frame: _Frame, start_s: float, end_s: float, height: float) -> Iterator[Figure]:
    """Bands behind moments at which several turn."""
    for first_s, last_s in frame.crowds:
        left, right = max(start_s, first_s), min(end_s, last_s)
        if left <= right:
            x = frame.x(left, start_s)
            yield from _band(x - 1.8, (right - left) * frame.scale + 3.6, AXIS_MM, height - AXIS_MM)


def _crowded(ensemble: Ensemble) -> Iterator[tuple[float, float]]:
    """From the first to the last turn of each such moment."""
    for crowd in ensemble.moments():
        inside = [(lane, turn.time_s) for lane, turn in crowd if not turn.between]
        if len({lane for lane, _ in inside}) > 1:
            times = [time_s for _, time_s in inside]
            yield min(times), max(times)


def _band(x: float, width: float, y: float, height: float) -> Iterator[Figure]:
    yield Area(rectangle(x, y, width, height).points, "#f3f3f3", GREY, 0.12)


def _axis(frame: _Frame, start_s: float, end_s: float, height: float) -> Iterator[Figure]:
    """Bar numbers as far as they have room, rehearsal marks in boxes, lines through the lanes."""
    yield Label(0.0, AXIS_MM - 2.0, _clock(start_s), MIN_PT, colour=GREY)
    marks = [mark for mark in frame.ensemble.marks if start_s <= mark.time_s < end_s]
    boxed: list[tuple[float, float]] = []
    for mark in (mark for mark in marks if mark.rehearsal):
        x = frame.x(mark.time_s, start_s)
        yield from _boxed(mark.text, x, height)
        beside = 3.0 + text_width_mm(mark.text, MIN_PT)
        boxed.append((x - beside, x + beside))
    taken = frame.names_mm - 1.0
    for mark in marks:
        if mark.rehearsal or not mark.text.isdecimal() or int(mark.text) % frame.every:
            continue
        x = frame.x(mark.time_s, start_s)
        label = Label(x, AXIS_MM - 2.0, mark.text, MIN_PT, "middle", colour=GREY)
        left, right = x - label.width_mm / 2, x + label.width_mm / 2
        yield Line(((x, AXIS_MM - 1.2), (x, height)), 0.08, PALE)
        if left > taken and right < frame.width_mm and all(right < a or left > b for a, b in boxed):
            yield label
            taken = right + 1.5


def _boxed(text: str, x: float, height: float) -> Iterator[Figure]:
    """A rehearsal mark and its line."""
    label = Label(x, AXIS_MM - 2.0, text, MIN_PT + 1, "middle", bold=True)
    half = label.width_mm / 2 + 0.8
    yield rectangle(x - half, AXIS_MM - 5.2, 2 * half, 4.2, WHITE, BLACK)
    yield label
    yield Line(((x, AXIS_MM - 1.0), (x, height)), 0.15, GREY)


def _lane(frame: _Frame, lane: Lane, start_s: float, end_s: float) -> Iterator[Figure]:
    """A name, what sounds, and the turns; the origin is the middle of the lane's left end."""
    yield Label(0.0, 1.0, _shortened(lane.name, frame.names_mm - 3.0), TEXT_PT)
    yield Line(((frame.names_mm, 0.0), (frame.x(end_s, start_s), 0.0)), 0.12, GREY)
    for first_s, last_s in lane.sounding:
        left, right = max(start_s, first_s), min(end_s, last_s)
        if left < right:
            wide = (right - left) * frame.scale
            yield rectangle(frame.x(left, start_s), -SOUND_MM / 2, wide, SOUND_MM, PALE)


def _turns(frame: _Frame, lane: Lane, start_s: float, end_s: float) -> Iterator[Figure]:
    """Where a lane turns, with the pages where there is room."""
    free_from = frame.names_mm
    for turn in lane.turns:
        if not start_s <= turn.time_s < end_s:
            continue
        x = min(frame.x(turn.time_s, start_s), frame.width_mm)
        yield Line(((x, -LANE_MM / 2 + 0.4), (x, LANE_MM / 2 - 0.4)), 0.25)
        yield from _back_sign(x, 2.2) if turn.back else ()
        yield from grade_sign(turn.grade, x, 0.0, SIGN_MM)
        label = Label(x + 1.8, -1.7, f"{turn.from_page}→{turn.to_page}", MIN_PT)
        if label.x_mm > free_from and label.x_mm + label.width_mm < frame.width_mm + MARGIN_MM / 2:
            yield label
            free_from = label.x_mm + label.width_mm


def _back_sign(x: float, y: float) -> Iterator[Figure]:
    """An arrow to the left, below the turn's own sign."""
    yield Line(((x + 2.4, y), (x - 1.6, y)), 0.25)
    yield Area(((x - 2.6, y), (x - 1.3, y - 0.7), (x - 1.3, y + 0.7)))


# --- the table ---------------------------------------------------------------------------------------------


def _table(ensemble: Ensemble, width_mm: float) -> Iterator[Block]:
    """All turns in order of time, for the teacher."""
    step = line_mm(TEXT_PT)
    if not any(lane.turns for lane in ensemble.lanes):
        yield Block(step * 2, (Label(0.0, step * 1.6, "Nobody has to turn.", TEXT_PT),))
        return
    shrink = min(1.0, width_mm / 182.0)
    columns = [(name, x * shrink) for name, x in COLUMNS]
    heads = [Label(x, step * 1.8, name, TEXT_PT, bold=True) for name, x in columns]
    yield Block(step * 2.2, (*heads, Line(((0.0, step * 2.0), (width_mm, step * 2.0)), 0.15)), heading=True)
    for crowd in ensemble.moments():
        names = {lane: ensemble.lanes[lane].name for lane, _ in crowd}
        for lane, turn in crowd:
            others = ", ".join(name for other, name in names.items() if other != lane)
            yield _table_row(turn, names[lane], others, columns, width_mm)


def _table_row(
    turn: TurnMoment, name: str, others: str, columns: Sequence[tuple[str, float]], width_mm: float
) -> Block:
    step = line_mm(TEXT_PT)
    free = f", {turn.free_s:g} s free" if turn.free_s and not turn.between else ""
    carry = f", carry {turn.carry}" if turn.carry else ""
    pages = f"{turn.from_page} {'back to' if turn.back else 'to'} {turn.to_page}"
    told = "between movements" if turn.between else f"{turn.grade}{free}{carry}"
    texts = (_clock(turn.time_s), turn.after_bar, name, pages, told, others)
    ends = [*(x for _, x in columns[1:]), width_mm + 1.5]
    figures: list[Figure] = []
    for (heading, x), end, text in zip(columns, ends, texts, strict=True):
        indent = 4.0 if heading == "turn" else 0.0
        if indent:
            figures += grade_sign(turn.grade, x + 1.3, step * 0.5, SIGN_MM)
        figures.append(Label(x + indent, step * 0.75, _shortened(text, end - x - indent - 1.5), TEXT_PT))
    return Block(step * 1.1, tuple(figures))


def _shortened(text: str, width_mm: float) -> str:
    """As much of it as there is room for."""
    if text_width_mm(text, TEXT_PT) <= width_mm:
        return text
    while text and text_width_mm(f"{text}…", TEXT_PT) > width_mm:
        text = text[:-1].rstrip()
    return f"{text}…"


def _clock(time_s: float) -> str:
    """Minutes and seconds: 3:07."""
    whole = round(time_s)
    return f"{whole // 60}:{whole % 60:02}"
