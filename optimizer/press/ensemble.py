"""ensemble.pdf: who sounds, who rests and who turns, along the time of the piece; and all turns in a table.

In: `Ensemble`s of the parts as planned and as they would be had each been planned alone, settings.  Out: sheets of
paper.  Lengths in mm from the top left corner, type in points, time in seconds of the playing order.  Always true:
nothing is smaller than 7 pt; one scale of time for all rows; every turn stands there as often as it is played; later
sheets say of what they are.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from math import inf
from typing import Final

from optimizer.errors import UsageError
from optimizer.layout.joint import JointReport
from optimizer.parts.timeline import Ensemble, Lane
from optimizer.press.blocks import Block, flow
from optimizer.press.breaking import wrap_title
from optimizer.press.document import About, Target, print_sheets
from optimizer.press.ensemble_table import TEXT_PT, Table, clock, turn_table
from optimizer.press.ensemble_told import proof_words, shared_words, together_words
from optimizer.press.ensemble_words import EnsembleWords, ensemble_words
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
from optimizer.settings import Settings
from optimizer.turns.model import Grade
from optimizer.units import pt_to_mm

TITLE_PT: Final = 15.0
HEAD_MM: Final = 8.0  # of later pages
# Height of a lane, and white between rows, tried in turn: the first that takes the fewest sheets. In a lower lane than
# PAGES_LANE_MM the pages of a turn would touch the lane above: only MANY parts, of which one row fills half a sheet, do
# without them there, as the table has them too.
SPACINGS: Final = ((7.0, 5.0), (6.3, 4.0), (5.2, 3.0))
PAGES_LANE_MM: Final = 6.0
MANY: Final = 12
# Of more parts than fit so: as high as lets a row stand below the head.
LEAST_LANE_MM, LEAST_GAP_MM = 4.2, 3.0
AXIS_MM: Final = 6.5  # above the lanes: bar numbers and rehearsal marks
NAMES_MM: Final = 30.0  # at most, left of the lanes
SOUND_MM: Final = 2.6
SIGN_MM: Final = 2.6
USUAL_ROW_S: Final = 100.0  # at which a second is wide enough to see who turns first
NUMBER_ROOM_MM: Final = 9.0
STEPS: Final = (1, 2, 5, 10, 20, 50, 100)
STRETCH_MM: Final = 6.0  # more white at most below each block of a page that is not full
LEAST_ROWS: Final = 4  # of the table: fewer do not begin below the time line


@dataclass(frozen=True, slots=True)
class _Frame:
    """What all rows have in common. `names_mm`: room for the names of the lanes; `scale`: mm a second; `crowds`: from
    the first to the last turn of each moment at which several turn."""

    ensemble: Ensemble
    lane_mm: float
    gap_mm: float
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
    target: Target, together: Ensemble, apart: Ensemble, report: JointReport, settings: Settings
) -> None:
    """Write ensemble.pdf."""
    said = ensemble_words(settings.sheets.lang)
    title = said.who_turns_when(title=together.title or said.untitled)
    about = About(title, together.composer, said.turns_of(parts=said.parts(len(together.lanes))))
    print_sheets(target, about, ensemble_sheets(together, apart, report, settings))


def ensemble_sheets(
    together: Ensemble, apart: Ensemble, report: JointReport, settings: Settings
) -> tuple[Sheet, ...]:
    """The time line, then the table; as many sheets as they need."""
    paper, said = settings.paper, ensemble_words(settings.sheets.lang)
    width, room = paper.width_mm - 2 * MARGIN_MM, paper.height_mm - 2 * MARGIN_MM
    later = room - HEAD_MM
    common = _frame(together, width)  # crowds take long to find
    head = _head(together, apart, report, common, said)
    table = turn_table(together, width, said)
    lanes, below = len(together.lanes), room - head.height_mm - AXIS_MM
    fitting = ((lane, gap) for lane, gap in SPACINGS if lanes * lane + gap <= below)
    spacings = [each for each in fitting if lanes > MANY or each[0] >= PAGES_LANE_MM]
    lowest = max(LEAST_LANE_MM, (below - LEAST_GAP_MM) / lanes), LEAST_GAP_MM
    found: list[list[tuple[Figure, ...]]] = []
    for lane_mm, gap_mm in spacings or (lowest,):
        frame = replace(common, lane_mm=lane_mm, gap_mm=gap_mm)
        blocks = (head, *(_row(frame, row) for row in range(frame.rows)))
        if max(head.height_mm - HEAD_MM, *(block.height_mm for block in (*blocks[1:], *table.rows))) > later:
            raise UsageError(f"--paper {paper.name}: too small for the time line of {lanes} parts")
        found.append(list(_pages(blocks, table, room)))
    pages = min(found, key=len)
    heads = ((), *(_running_head(together, number, width, said) for number in range(2, len(pages) + 1)))
    return tuple(
        Sheet(paper.width_mm, paper.height_mm, (*head, *page))
        for head, page in zip(heads, pages, strict=True)
    )


def _pages(blocks: Sequence[Block], table: Table, room_mm: float) -> Iterator[tuple[Figure, ...]]:
    """Blocks one under the other, then the table, its heads on each of its pages. Later pages leave HEAD_MM."""
    later_mm = room_mm - HEAD_MM
    pages = [stack for (stack,) in flow(blocks, 1, room_mm, later_mm)]
    here_mm = room_mm if len(pages) == 1 else later_mm
    left = here_mm - sum(block.height_mm for block in pages[-1]) - table.head.height_mm
    if sum(row.height_mm for row in table.rows[:LEAST_ROWS]) > left:
        pages.append([])
        left = later_mm - table.head.height_mm
    first, *further = flow(table.rows, 1, left, later_mm - table.head.height_mm)
    pages[-1] += [table.head, *first[0]]
    pages += [[table.head, *stack] for (stack,) in further]
    for index, stack in enumerate(pages):
        page: list[Figure] = []
        high_mm = later_mm if index else room_mm
        spare = (high_mm - sum(block.height_mm for block in stack)) / max(1, len(stack) - 1)
        apart = 0.0 if table.head in stack else min(spare, STRETCH_MM)
        y = MARGIN_MM + room_mm - high_mm
        for block in stack:
            page += moved(block.figures, MARGIN_MM, y)
            y += block.height_mm + apart
        yield tuple(page)


def _running_head(ensemble: Ensemble, number: int, width_mm: float, said: EnsembleWords) -> Iterator[Figure]:
    """Title and page number of a later page."""
    page = Label(
        MARGIN_MM + width_mm,
        MARGIN_MM + pt_to_mm(TEXT_PT),
        said.page(page=number),
        TEXT_PT,
        "end",
        colour=GREY,
    )
    title = said.who_turns_when(title=ensemble.title or said.untitled)
    room_mm = width_mm - page.width_mm - 5.0
    yield replace(page, x_mm=MARGIN_MM, string=_shortened(title, room_mm), anchor="start")
    yield page


def _frame(ensemble: Ensemble, width_mm: float) -> _Frame:
    """Rows of about equal length, in the widest spacing."""
    names = max(text_width_mm(lane.name, TEXT_PT) for lane in ensemble.lanes)
    names_mm = min(NAMES_MM, names) + 3.0
    count = max(1, round(ensemble.duration_s / USUAL_ROW_S))
    row_s = max(1.0, ensemble.duration_s / count)
    scale = (width_mm - names_mm) / row_s
    numbered = [mark for mark in ensemble.marks if not mark.rehearsal and not mark.movement]
    bar_mm = scale * ensemble.duration_s / max(1, len(numbered))
    every = next((step for step in STEPS if step * bar_mm >= NUMBER_ROOM_MM), STEPS[-1])
    crowds = tuple(_crowded(ensemble))
    return _Frame(ensemble, *SPACINGS[0], names_mm, width_mm, count, row_s, scale, every, crowds)


# --- the head ----------------------------------------------------------------------------------------------


def _head(
    together: Ensemble, apart: Ensemble, report: JointReport, frame: _Frame, said: EnsembleWords
) -> Block:
    """Title, facts, what planning together has changed, and what the signs mean."""
    width_mm = frame.width_mm
    figures: list[Figure] = []
    y = 0.0
    for line in wrap_title(together.title or said.untitled, TITLE_PT, width_mm, bold=True):
        y += line_mm(TITLE_PT)
        figures.append(Label(0.0, y - 1.5, line, TITLE_PT, bold=True))
    for text in _sentences(together, apart, report, said):
        for line in wrap(text, TEXT_PT, width_mm):
            y += line_mm(TEXT_PT)
            figures.append(Label(0.0, y, line, TEXT_PT))
        y += 0.8
    legend = _legend(frame, said)
    return Block(y + 2.0 + legend.height_mm, (*figures, *moved(legend.figures, 0.0, y + 2.0)))


def _sentences(
    together: Ensemble, apart: Ensemble, report: JointReport, said: EnsembleWords
) -> Iterator[str]:
    facts = together.composer, said.parts(len(together.lanes)), said.duration(together.duration_s)
    yield " · ".join(filter(None, facts))
    if together.tempo_source.startswith(NO_TEMPO):
        yield said.no_tempo
    yield " ".join((said.who, *together_words(together, apart, report, said)))
    if shared := shared_words(together, said):
        yield shared
    if report.status != "optimal":
        yield proof_words(report, said)


def _legend(frame: _Frame, said: EnsembleWords) -> Block:
    """What the signs mean, of those that are there, and the figures above the rows."""
    x, y = 0.0, line_mm(TEXT_PT)
    figures: list[Figure] = []
    for sign, text in _keys(frame, said):
        label = Label(5.5, 0.0, text, TEXT_PT)
        if x + 5.5 + label.width_mm > frame.width_mm:
            x, y = 0.0, y + line_mm(TEXT_PT)
        figures += [*moved(sign, x + 2.0, y - 1.0), *moved((label,), x, y)]
        x += 5.5 + label.width_mm + 5.5
    for line in wrap(said.axis, TEXT_PT, frame.width_mm):
        y += line_mm(TEXT_PT)
        figures.append(Label(0.0, y + 1.0, line, TEXT_PT, colour=GREY))
    return Block(y + 5.0, tuple(figures))


def _keys(frame: _Frame, said: EnsembleWords) -> Iterator[tuple[tuple[Figure, ...], str]]:
    """The signs, drawn around the origin, and their meaning."""
    yield (rectangle(-2.0, -1.3, 4.0, SOUND_MM, PALE),), said.sounds
    turns = [turn for lane in frame.ensemble.lanes for turn in lane.turns]
    if turns:
        for grade in Grade:
            yield grade_sign(grade, 0.0, 0.0, SIGN_MM), said.grade(grade)
    if any(turn.back for turn in turns):
        yield tuple(_back_sign(0.0, 0.0)), said.turns_back
    if frame.crowds:
        yield tuple(_band(-2.0, 4.0, -2.0, 4.0)), said.several


# --- the rows ----------------------------------------------------------------------------------------------


def _row(frame: _Frame, row: int) -> Block:
    """One stretch of time, all lanes; the last one holds what is said to come after the end."""
    lanes = frame.ensemble.lanes
    height = AXIS_MM + frame.lane_mm * len(lanes)
    start_s = row * frame.row_s
    end_s = start_s + frame.row_s
    turns_end_s = inf if row == frame.rows - 1 else end_s
    figures = [*_crowds(frame, start_s, end_s, height), *_axis(frame, start_s, end_s, height)]
    for index, lane in enumerate(lanes):
        drawn = (*_lane(frame, lane, start_s, end_s), *_turns(frame, lane, start_s, turns_end_s))
        figures += moved(drawn, 0.0, AXIS_MM + frame.lane_mm * (index + 0.5))
    return Block(height + frame.gap_mm, tuple(figures))


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
    yield Label(0.0, AXIS_MM - 2.0, clock(start_s), MIN_PT, colour=GREY)
    marks = [mark for mark in frame.ensemble.marks if start_s <= mark.time_s < end_s]
    boxed: list[tuple[float, float]] = []
    for mark in (mark for mark in marks if mark.rehearsal):
        x = frame.x(mark.time_s, start_s)
        yield from _boxed(mark.text, x, height)
        beside = 3.0 + text_width_mm(mark.text, MIN_PT)
        boxed.append((x - beside, x + beside))
    for mark in (mark for mark in marks if mark.movement):
        x = frame.x(mark.time_s, start_s)
        yield Line(((x, AXIS_MM - 1.2), (x, height)), 0.3)
        label = Label(_clear_of(boxed, x), AXIS_MM - 2.0, mark.text, MIN_PT + 1, bold=True)
        if label.x_mm + label.width_mm > frame.width_mm:
            label = replace(label, x_mm=frame.width_mm - label.width_mm)
        yield label
        boxed.append((label.x_mm - 1.0, label.x_mm + label.width_mm + 1.0))
    taken = frame.names_mm - 1.0
    for mark in marks:
        if mark.rehearsal or mark.movement or not mark.text.isdecimal() or int(mark.text) % frame.every:
            continue
        x = frame.x(mark.time_s, start_s)
        label = Label(x, AXIS_MM - 2.0, mark.text, MIN_PT, "middle", colour=GREY)
        left, right = x - label.width_mm / 2, x + label.width_mm / 2
        yield Line(((x, AXIS_MM - 1.2), (x, height)), 0.08, PALE)
        if left > taken and right < frame.width_mm and all(right < a or left > b for a, b in boxed):
            yield label
            taken = right + 1.5


def _clear_of(boxed: Sequence[tuple[float, float]], x: float) -> float:
    """From where there is room to the right of a place."""
    return max((right for left, right in boxed if left <= x <= right), default=x)


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
        yield Line(((x, -frame.lane_mm / 2 + 0.4), (x, frame.lane_mm / 2 - 0.4)), 0.25)
        yield from _back_sign(x, 2.0) if turn.back else ()
        yield from grade_sign(turn.grade, x, 0.0, SIGN_MM)
        if frame.lane_mm < PAGES_LANE_MM:
            continue
        label = Label(x + 2.0, -1.7, f"{turn.from_page}→{turn.to_page}", MIN_PT)
        if label.x_mm + label.width_mm > frame.width_mm:
            label = replace(label, x_mm=x - 2.0 - label.width_mm)
        if label.x_mm > free_from:
            yield rectangle(label.x_mm - 0.2, -3.75, label.width_mm + 0.4, 2.3, WHITE)  # lines end at it
            yield label
            free_from = label.x_mm + label.width_mm


def _back_sign(x: float, y: float) -> Iterator[Figure]:
    """An arrow to the left, below the turn's own sign."""
    yield Line(((x + 2.4, y), (x - 1.6, y)), 0.25)
    yield Area(((x - 2.6, y), (x - 1.3, y - 0.6), (x - 1.3, y + 0.6)))


def _shortened(text: str, width_mm: float) -> str:
    """As much of it as there is room for."""
    if text_width_mm(text, TEXT_PT) <= width_mm:
        return text
    while text and text_width_mm(f"{text}…", TEXT_PT) > width_mm:
        text = text[:-1].rstrip()
    return f"{text}…"
