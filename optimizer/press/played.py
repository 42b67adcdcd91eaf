"""The playing order as one line of bars, with what happens at the end of each; and what turns are called in print,
the tempo they are reckoned with, and which ask for too much memory.

In: score, plan.  Out: `PlayedBar`s in playing order, names of turns.  Clock time in seconds from the start; bars and
pages as printed. Always true: every turn and back-turn of the plan stands at each of its passes, and where a bar is not
followed by the next one there is a jump or the end of a movement.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from string import ascii_lowercase

from optimizer.layout.plan import Plan, PlannedBackTurn, PlannedTurn
from optimizer.press.language import Words
from optimizer.score.model import Measure, PlayedMeasure, Score
from optimizer.score.tempo import NO_TEMPO
from optimizer.settings import Settings
from optimizer.turns.bars import bar_number
from optimizer.turns.model import is_by_heart

Turn = PlannedTurn | PlannedBackTurn


class JumpSign(StrEnum):
    """By which sign the music goes on elsewhere."""

    REPEAT = "repeat"
    ENDING = "ending"  # past an ending that is not played this time
    DACAPO = "D.C."
    DALSEGNO = "D.S."
    CODA = "Coda"
    FINE = "Fine"  # the movement ends before its last written bar


@dataclass(frozen=True, slots=True)
class PlayedBar:
    """A bar as played once. `number` is empty where it is not counted; `begins`: the first of its movement;
    `jump`, `goal`: how the music leaves the bar and the number it goes on at (empty: the beginning, without a number);
    `turn`: the turn at its end."""

    measure: Measure
    number: str
    page: int
    pass_number: int
    start_s: float
    duration_s: float
    begins: bool
    jump: JumpSign | None
    goal: str
    turn: Turn | None


def played_bars(score: Score, plan: Plan) -> tuple[PlayedBar, ...]:
    """The line of bars."""
    page_of = {
        measure: page.number
        for page in plan.pages
        for system in page.systems
        for measure in range(system.first, system.last + 1)
    }
    every: tuple[Turn, ...] = (*plan.turns, *plan.back_turns)
    turns: Mapping[tuple[int, int], Turn] = {_turned(plan, turn): turn for turn in every}
    starts = {
        m.index for m in score.measures if not m.index or score.measures[m.index - 1].movement < m.movement
    }
    bars = []
    for here, there in zip(score.played, (*score.played[1:], None), strict=True):
        measure = score.measures[here.measure_index]
        jump = _jump(score, here, there, starts)
        bars.append(
            PlayedBar(
                measure=measure,
                number=bar_number(measure.number),
                page=page_of[measure.index],
                pass_number=here.pass_number,
                start_s=here.start_s,
                duration_s=score.clocks[measure.index].duration_s,
                begins=measure.index in starts,
                jump=jump,
                goal=_goal(score, there.measure_index, starts) if there and jump else "",
                turn=turns.get((measure.index, there.measure_index)) if there else None,
            )
        )
    return tuple(bars)


def _turned(plan: Plan, turn: Turn) -> tuple[int, int]:
    """The bars between which the player turns: not those at the edges of pages where some are printed again."""
    strip = plan.strip_at(turn)
    return (strip.turn_after, strip.turn_after + 1) if strip else (turn.after, turn.to)


def turn_names(plan: Plan) -> dict[Turn, str]:
    """Turns are numbered 1, 2, 3 wherever they are shown, back-turns lettered a, b, c."""
    names: dict[Turn, str] = {turn: str(number) for number, turn in enumerate(plan.turns, start=1)}
    return names | {turn: _letters(index) for index, turn in enumerate(plan.back_turns)}


def graded(turn: Turn, settings: Settings, said: Words) -> str:
    """The grade, and a word of warning where it is no help: "open, but by heart"."""
    grade = said.grade(turn.grade)
    return (
        said.but_by_heart(grade=grade) if is_by_heart(turn.carry, settings.turns.carry_allowance) else grade
    )


def assumed_tempo(score: Score, settings: Settings, said: Words) -> str:
    """ "tempo assumed: quarter = 96" where the score has none; else empty."""
    if not score.tempo_source.startswith(NO_TEMPO):
        return ""
    return said.tempo_assumed(tempo=said.number(settings.turns.default_tempo))


def _letters(index: int) -> str:
    """a to z, then aa, ab, ..."""
    high, low = divmod(index, len(ascii_lowercase))
    return (ascii_lowercase[high - 1] if high else "") + ascii_lowercase[low]


def _goal(score: Score, goal: int, starts: set[int]) -> str:
    """The number of a bar to go to; of the one it leads up to where it has none."""
    if goal in starts:
        return bar_number(score.measures[goal].number)
    numbers = (bar_number(measure.number) for measure in score.measures[goal:])
    return next(filter(None, numbers), "")


def _jump(
    score: Score, here: PlayedMeasure, there: PlayedMeasure | None, starts: set[int]
) -> JumpSign | None:
    """The sign that leads away; read off the order, which the marks have already made."""
    origin = here.measure_index
    successor = score.measures[origin + 1] if origin + 1 < len(score.measures) else None
    measure = score.measures[origin]
    if there is None or score.measures[there.measure_index].movement != measure.movement:
        return JumpSign.FINE if successor and successor.movement == measure.movement else None
    goal = there.measure_index
    if goal == origin + 1:
        return None
    if goal > origin:
        at_ending = measure.ending_numbers or (successor and successor.ending_numbers)
        return JumpSign.ENDING if at_ending else JumpSign.CODA
    if measure.repeat_backward and (measure.ending_numbers or here.pass_number < measure.repeat_times):
        return JumpSign.REPEAT
    return JumpSign.DACAPO if goal in starts else JumpSign.DALSEGNO
