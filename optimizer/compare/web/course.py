"""The piece as it is played, as a line of time with the difficulty of a turn above it.

In: score, costs of barlines, plans.  Out: `Course`, the same for all alternatives, and the `Way` of one of them along
it. Lengths in px; rows of `ROW_PX` are windows onto one long line.  Always true: every bar of the playing order is on
the line, and every turn of a plan stands at each of its passes.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby, pairwise
from typing import Final

from optimizer.layout.plan import Plan, PlannedBackTurn
from optimizer.press.chart import MOST_COST
from optimizer.press.played import JumpSign, PlayedBar, Turn, played_bars, turn_names
from optimizer.score.model import Score
from optimizer.turns.bars import bar_number
from optimizer.turns.model import BLOCKED_COST, StepCost

ROW_PX: Final = 1000.0
NARROW_ROW_PX: Final = ROW_PX / 3  # on a phone
WANTED_BAR_PX: Final = 6.0  # at which turns of neighbouring bars can be told apart
NUMBER_ROOM_PX: Final = 34.0
NUMBER_PX: Final = 20.0  # a number of three digits
PAGE_WORD_PX: Final = 30.0  # "p. 12"
WORDS_ROOM_PX: Final = 46.0
ARC_PX: Final = 26.0  # the highest arc
LEAST_ARC_PX: Final = 8.0
HOP_PX: Final = 7.0  # half the width of a jump forward
WORDS_PX: Final = 12.0  # above the highest hill
HILL_PX: Final = 64.0
TOP_PX: Final = 14.0  # words above the arcs
FLOOR_PX: Final = TOP_PX + ARC_PX + WORDS_PX + HILL_PX
BAND_PX: Final = 16.0
HEIGHT_PX: Final = FLOOR_PX + BAND_PX + 34.0


@dataclass(frozen=True, slots=True)
class Arc:
    """A repeat or jump: from where it is played to where these bars were played before (or, forward, a hop).
    `words` end at `x`, or begin there where a row begins shortly before (`on`)."""

    path: str
    words: str
    x: float
    on: bool


@dataclass(frozen=True, slots=True)
class Course:
    """`edges`: where bars begin, and the end; `costs`: points of a turn at every barline that leads on to the next bar,
    each time it is played; `numbers`: bar numbers; `again`: from where to where bars are played once more;
    `windows`: where rows begin; `highest`: the points of the highest hill, dearer ones are cut off."""

    edges: tuple[float, ...]
    costs: tuple[tuple[float, float], ...]
    arcs: tuple[Arc, ...]
    numbers: tuple[tuple[str, float], ...]
    again: tuple[tuple[float, float], ...]
    windows: tuple[float, ...]
    highest: int

    @property
    def narrow_windows(self) -> tuple[float, ...]:
        """Where rows begin on a phone."""
        return tuple(row * NARROW_ROW_PX for row in range(round(self.edges[-1] / NARROW_ROW_PX)))

    @property
    def top(self) -> float:
        """Where the picture begins: lower where there are no arcs."""
        return 0.0 if self.arcs else TOP_PX + ARC_PX

    @property
    def hills(self) -> str:
        """The curve as a path."""
        points = (f"L{x:.1f} {self.y_of(cost):.1f}" for x, cost in self.costs)
        return "".join((f"M0 {FLOOR_PX:g}", *points, f"L{self.edges[-1]:.1f} {FLOOR_PX:g}Z"))

    def y_of(self, cost: float) -> float:
        """The height of a hill of so many points."""
        return FLOOR_PX - HILL_PX * min(cost, self.highest) / self.highest

    @property
    def blocked_y(self) -> float:
        """The line above which no hand is free."""
        return self.y_of(BLOCKED_COST)


@dataclass(frozen=True, slots=True)
class Stop:
    """A turn as it is played once."""

    name: str
    turn: Turn
    back: bool
    x: float
    y: float


@dataclass(frozen=True, slots=True)
class Way:
    """`pages`: number, from, to of every stretch on one page and in one row, and where its name stands."""

    pages: tuple[tuple[int, float, float, float], ...]
    stops: tuple[Stop, ...]


def course_of(score: Score, costs: Sequence[StepCost], plan: Plan) -> Course:
    """What does not depend on the plan (any will do)."""
    bars = played_bars(score, plan)
    rows = max(1, -(-round(len(bars) * WANTED_BAR_PX) // round(ROW_PX)))
    scale = rows * ROW_PX / score.duration_s
    edges = (*(bar.start_s * scale for bar in bars), rows * ROW_PX)
    played = {cost.from_index: cost.cost / cost.passes for cost in costs if cost.passes}
    highest = min(MOST_COST, max(BLOCKED_COST, round(max(played.values(), default=0))))
    return Course(
        edges,
        tuple(
            (x, played[bar.measure.index])
            for bar, x in zip(bars, edges[1:], strict=True)
            if not bar.jump and bar.measure.index in played
        ),
        tuple(_arcs(bars, edges)),
        tuple(_numbers(bars, edges)),
        tuple(_again(bars, edges)),
        tuple(row * ROW_PX for row in range(rows)),
        highest,
    )


def way_of(score: Score, plan: Plan, course: Course) -> Way:
    """Pages and turns of a plan along the course."""
    bars, names = played_bars(score, plan), turn_names(plan)
    pages = []
    for number, stretch in groupby(range(len(bars)), key=lambda index: bars[index].page):
        played = list(stretch)
        left, right = course.edges[played[0]], course.edges[played[-1] + 1]
        cuts = [left, *(x for x in course.windows if left < x < right), right]
        pages += [(number, *piece, _name_at(*piece)) for piece in pairwise(cuts)]
    stops = (
        Stop(
            names[bar.turn], bar.turn, isinstance(bar.turn, PlannedBackTurn), x, course.y_of(_each(bar.turn))
        )
        for bar, x in zip(bars, course.edges[1:], strict=True)
        if bar.turn
    )
    return Way(tuple(pages), tuple(stops))


def _name_at(left: float, right: float) -> float:
    """The middle of a stretch, but not where a narrow row ends."""
    middle, half = (left + right) / 2, PAGE_WORD_PX / 2
    edge = round(middle / NARROW_ROW_PX) * NARROW_ROW_PX
    if abs(middle - edge) >= half:
        return middle
    return edge + half if right - edge >= edge - left else edge - half


def _each(turn: Turn) -> int:
    """Points of a turn each time it is played."""
    return turn.cost // max(1, turn.passes)


def _arcs(bars: Sequence[PlayedBar], edges: Sequence[float]) -> Iterator[Arc]:
    """Back over what is played again; forward, a hop over what is left out."""
    foot, told = TOP_PX + ARC_PX, -WORDS_ROOM_PX  # told: where the last words end
    for index, bar in enumerate(bars):
        if not bar.jump or index + 1 == len(bars):
            continue
        x, back = edges[index + 1], bar.jump not in (JumpSign.ENDING, JumpSign.CODA, JumpSign.FINE)
        goal = bars[index + 1].measure.index
        earlier = next((n for n in range(index, -1, -1) if bars[n].measure.index == goal), None)
        if back and earlier is not None:
            far = edges[earlier]
            high = min(ARC_PX, max(LEAST_ARC_PX, (x - far) / 8))
            top = foot - high * 4 / 3  # control points; the curve itself reaches three quarters of them
            path = f"M{x:.1f} {foot}C{x:.1f} {top:.1f} {far:.1f} {top:.1f} {far:.1f} {foot}"
        else:
            path = f"M{x - HOP_PX:.1f} {foot}Q{x:.1f} {foot - 2 * LEAST_ARC_PX} {x + HOP_PX:.1f} {foot}"
        on = 0 < x % NARROW_ROW_PX < WORDS_ROOM_PX
        begin, end = (x, x + WORDS_ROOM_PX) if on else (x - WORDS_ROOM_PX, x)
        words = _words(bar, back) if begin >= told else ""
        told = end if words else told
        yield Arc(path, words, x, on)


def _words(bar: PlayedBar, back: bool) -> str:
    """ "← 5", "D.S. ← 16", "Coda → 60"."""
    arrow = f"{'←' if back else '→'} {bar.goal or 'start'}"
    if bar.jump is JumpSign.FINE:
        return "Fine"
    return arrow if bar.jump in (JumpSign.REPEAT, JumpSign.ENDING) else f"{bar.jump} {arrow}"


def _numbers(bars: Sequence[PlayedBar], edges: Sequence[float]) -> Iterator[tuple[str, float]]:
    """Bar numbers where the line begins, after jumps, and at every fifth bar, where there is room in the row."""
    last = -NUMBER_ROOM_PX
    for index, (bar, x) in enumerate(zip(bars, edges, strict=False)):
        number = bar_number(bar.measure.number)
        wanted = not index or bars[index - 1].jump or (number.isdecimal() and int(number) % 5 == 0)
        whole = x % NARROW_ROW_PX + NUMBER_PX <= NARROW_ROW_PX
        if number and wanted and whole and x - last >= NUMBER_ROOM_PX:
            last = x
            yield number, x


def _again(bars: Sequence[PlayedBar], edges: Sequence[float]) -> Iterator[tuple[float, float]]:
    """What is played for the second and further times."""
    for times, stretch in groupby(range(len(bars)), key=lambda index: bars[index].pass_number):
        played = list(stretch)
        if times > 1:
            yield edges[played[0]], edges[played[-1] + 1]
