"""Says in a player's words what happens at a barline.

In: the score and what the model found for one step of the playing order.  Out: one sentence without a full
stop, such as "after bar 42: left hand rests 2.4 s from beat 3, carry 2 notes".  Always true: bars go by their
printed number, a bar without one by its place in the file ("#57").
"""

from bisect import bisect_right
from dataclasses import dataclass
from typing import Final

import numpy as np

from optimizer.score.model import Measure, Score
from optimizer.turns.hands import BOTH
from optimizer.turns.model import Grade

QUARTERS: Final = ("", "¼", "½", "¾")
EITHER, FREE = "either", "free"
WORTH_SAYING_S: Final = 0.05  # less would be printed as 0.0 s


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
        self._starts_s = [played.start_s for played in score.played]

    def step(self, from_index: int, to_index: int, moment: Moment, passes: int) -> str:
        """The sentence for one step of the playing order."""
        measures = self._score.measures
        head = f"after {bar_name(measures[from_index])}: "
        if measures[from_index].movement != measures[to_index].movement:
            return f"{head}the movement ends"
        parts = [*self._jump(from_index, to_index), self._time(from_index, moment)]
        if moment.carry:
            parts.append(f"carry {_notes(moment.carry)}")
        if passes > 1:
            parts.append(f"played {passes} times")
        return head + ", ".join(parts)

    def never(self, index: int) -> str:
        """The sentence for a barline that the playing order never crosses."""
        here, there = self._score.measures[index : index + 2]
        return f"after {bar_name(here)}: never played straight on to {bar_name(there)}"

    def _jump(self, from_index: int, to_index: int) -> list[str]:
        if to_index == from_index + 1:
            return []
        target = bar_name(self._score.measures[to_index])
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
        if moment.grade is Grade.BLOCKED:
            little = f", {who} {'has' if s else 'have'} {moment.free_s:.1f} s"
            return "no time" + (little if moment.free_s >= WORTH_SAYING_S else "")
        if moment.silent_s == -np.inf:
            return f"{who} {'has' if s else 'have'} not begun"
        rest_s = moment.next_s - moment.silent_s
        if rest_s <= moment.free_s / 2:
            held_s, onset = moment.next_s - moment.onset_s, self._place(moment.onset_s, from_index)
            return f"{who} hold{s} a note {held_s:.1f} s from {onset}"
        length, until = ("", " to the end") if rest_s == np.inf else (f" {rest_s:.1f} s", "")
        return f"{who} rest{s}{length} from {self._place(moment.silent_s, from_index)}{until}"

    def _place(self, time_s: float, from_index: int) -> str:
        """Beat, and the bar when it is not the one before the turn. Beats are those of the time signature's
        unit."""
        played = self._score.played[max(0, bisect_right(self._starts_s, time_s + 1e-6) - 1)]
        measure, clock = self._score.measures[played.measure_index], self._score.clocks[played.measure_index]
        offsets_ql, seconds = zip(*clock.knots, strict=True)
        offset_ql = np.interp(time_s - played.start_s, seconds, [float(offset) for offset in offsets_ql])
        beats = beats_before(measure) + float(offset_ql) * measure.beat_type / 4
        whole, quarter = divmod(int(beats * 4 + 1e-6), 4)
        beat = f"beat {whole + 1}{QUARTERS[quarter]}"
        return beat if played.measure_index == from_index else f"{beat} of {bar_name(measure)}"


def bar_name(measure: Measure) -> str:
    """ "bar 42", or "bar #57" by place in the file where no number is printed."""
    return f"bar {measure.number or f'#{measure.index + 1}'}"


def beats_before(measure: Measure) -> float:
    """Beats missing at the start of a bar that the file marks as incomplete: a pickup counts from its end."""
    missing = measure.beats - float(measure.length_ql) * measure.beat_type / 4
    return max(0.0, missing) if measure.implicit else 0.0


def _notes(count: int) -> str:
    return f"{count} note{'s' if count != 1 else ''}"
