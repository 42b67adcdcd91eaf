"""Says in a player's words what happens at a barline.

In: the score and what the model found for one step of the playing order.  Out: one sentence without a full
stop, such as "after bar 42: left hand rests from beat 3, free 2.4 s, carry 2 notes".  Always true: the seconds are
those that the grade goes by, in tenths, rounded down, as they are told everywhere; bars go by the names of `bars`;
where a number comes back later in its movement, a bar nearby is counted from the turn.
"""

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from optimizer.score.model import Measure, Score
from optimizer.turns.bars import BarNames, Count, beat_ql, counted_in, missing_ql, ordinal
from optimizer.turns.hands import BOTH
from optimizer.turns.model import Grade, tenths_s

HALVES: Final = ("", "¼", "½", "¾")
EITHER, FREE = "either", "free"
WORTH_SAYING_S: Final = 0.05  # before the barline; less is no end of its own
NEAR_BARS: Final = 99  # nobody counts a longer rest


@dataclass(frozen=True, slots=True)
class Moment:
    """What a sentence tells of one pass: seconds of playing order for `onset_s`, `silent_s`, `next_s` (the
    stretch used: last onset, end of its sound, next onset; infinite at the ends of the piece)."""

    hand: str
    grade: Grade
    free_s: float
    carry: int
    onset_s: float
    silent_s: float
    next_s: float


class Narrator:
    """Keeps what is needed to turn seconds into bars and beats."""

    def __init__(self, score: Score) -> None:
        self._score = score
        self._names = BarNames(score)
        self._starts_s = [played.start_s for played in score.played]

    def step(self, from_index: int, to_index: int, moment: Moment, passes: int) -> str:
        """The sentence for one step of the playing order."""
        measures = self._score.measures
        head = f"after {self._names.name(from_index)}: "
        if measures[from_index].movement != measures[to_index].movement:
            return head + ", ".join(["the movement ends", *self._jump(from_index, to_index)])
        parts = [*self._jump(from_index, to_index), self._time(from_index, moment)]
        if moment.carry:
            parts.append(f"carry {_notes(moment.carry)}")
        if passes > 1:
            parts.append(f"played {passes} times")
        return head + ", ".join(parts)

    def never(self, index: int) -> str:
        """The sentence for a barline that the playing order never crosses."""
        here, there = self._names.name(index), self._names.name(index + 1, beside=index)
        return f"after {here}: never played straight on to {there}"

    def _jump(self, from_index: int, to_index: int) -> list[str]:
        if to_index == from_index + 1:
            return []
        target = self._names.goal(to_index, beside=from_index)
        if to_index > from_index:
            return [f"on to {target}"]
        repeat = " on the repeat" if self._score.measures[from_index].repeat_backward else ""
        return [f"back to {target}{repeat}"]

    def _time(self, from_index: int, moment: Moment) -> str:
        """How long which hand is free, and from where."""
        if moment.hand == FREE:
            return "a hand is always free"
        who = {EITHER: "both hands", BOTH: "hands"}.get(moment.hand, f"{moment.hand} hand")
        s = "" if who.endswith("s") else "s"
        free_s = tenths_s(moment.free_s)
        if moment.grade is Grade.BLOCKED:
            return "no time"
        if moment.silent_s == -np.inf:
            return f"{who} {'has' if s else 'have'} not begun, free {free_s:.1f} s"
        rest_s = moment.next_s - moment.silent_s
        if rest_s <= moment.free_s / 2:
            onset, until = self._place(moment.onset_s, from_index), self._until(moment, from_index)
            return f"{who} hold{s} a note from {onset}{until}, free {free_s:.1f} s"
        end = " to the end" if rest_s == np.inf else f"{self._until(moment, from_index)}, free {free_s:.1f} s"
        return f"{who} rest{s} from {self._place(moment.silent_s, from_index)}{end}"

    def _until(self, moment: Moment, from_index: int) -> str:
        """Where the hand plays again, when that is before the barline: there is no time left there."""
        begun = max(0, bisect_right(self._starts_s, moment.onset_s + 1e-6) - 1)
        bars = self._score.played[begun : begun + NEAR_BARS]
        turn = next((n for n, bar in enumerate(bars) if bar.measure_index == from_index), None)
        if turn is None or begun + turn + 1 >= len(self._starts_s):
            return ""
        early = moment.next_s < self._starts_s[begun + turn + 1] - WORTH_SAYING_S
        return f" to {self._place(moment.next_s, from_index)}" if early else ""

    def _place(self, time_s: float, from_index: int) -> str:
        """Beat, and the bar when it is not the one before the turn."""
        position, offset_ql = _position(self._score, self._starts_s, time_s)
        played = self._score.played[position]
        measure = self._score.measures[played.measure_index]
        if measure.bars > 1:
            bar, within_ql = divmod(offset_ql, float(measure.length_ql / measure.bars))
            name = self._names.within(played.measure_index, int(bar), beside=from_index)
            return f"{counted_in(measure)} {_beat(measure, within_ql)} of {name}"
        beat = f"{counted_in(measure)} {_beat(measure, offset_ql)}"
        if played.measure_index == from_index:
            return beat
        if self._names.is_unique(played.measure_index):
            return f"{beat} of {self._names.name(played.measure_index, beside=from_index)}"
        return f"{beat} of the {self._distance(position, from_index)}"

    def _distance(self, position: int, from_index: int) -> str:
        """Where a played bar is, seen from the turn."""
        played = self._score.played
        if position and played[position - 1].measure_index == from_index:
            return "next bar"
        later = (n for n, step in enumerate(played[position:]) if step.measure_index == from_index)
        bars = next(later, 1)
        return "bar before" if bars == 1 else f"{ordinal(bars)} bar before"


def beat_at(score: Score, time_s: float) -> tuple[int, str, Count]:
    """Where in the playing order a time lies, and on which beat, or what else is counted there: "2½"."""
    position, offset_ql = _position(score, [played.start_s for played in score.played], time_s)
    measure = score.measures[score.played[position].measure_index]
    return position, _beat(measure, offset_ql), counted_in(measure)


def _position(score: Score, starts_s: Sequence[float], time_s: float) -> tuple[int, float]:
    """Where in the playing order a time lies, and how far into the measure."""
    position = max(0, bisect_right(starts_s, time_s + 1e-6) - 1)
    played = score.played[position]
    offsets_ql, seconds = zip(*score.clocks[played.measure_index].knots, strict=True)
    offsets = [float(offset) for offset in offsets_ql]
    return position, float(np.interp(time_s - played.start_s, seconds, offsets))


def _beat(measure: Measure, offset_ql: float) -> str:
    """ "2½", rounded down to quarters of what is counted."""
    counted = (offset_ql + float(missing_ql(measure))) / float(beat_ql(measure))
    whole, part = divmod(int(counted * len(HALVES) + 1e-6), len(HALVES))
    return f"{whole + 1}{HALVES[part]}"


def _notes(count: int) -> str:
    return f"{count} note{'s' if count != 1 else ''}"
