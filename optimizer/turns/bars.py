"""What a player calls the bars of a score, and the beats in them.

In: the score.  Out: words such as "bar 42", "II, bar 14", "the pickup", "the bar after 36".  Always true: a
number that is not counted (0, X1, none) is never said; a bar without any counted number before it goes by its
place in the file ("bar #57"), as the demands take it.  A multiple rest is left after its last bar and come to at its
first.
"""

import re
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from itertools import groupby
from typing import Final

from optimizer.score.model import Measure, Score

COUNTED: Final = re.compile(r"0*([1-9]\d*[a-z]?)")  # 12, and 12a of an ending
NUMERAL: Final = re.compile(r"[IVX]+(?=\.)")  # "II. Andante"
ROMAN: Final = ((10, "X"), (9, "IX"), (5, "V"), (4, "IV"), (1, "I"))
COMPOUND_UNIT: Final = 3  # 6/8, 9/8, 12/8 are counted in threes
MOST_RUNS: Final = 3  # stretches of bar numbers on one page that still can be taken in


class Count(StrEnum):
    """What a place in a bar is counted in, from 1."""

    BEAT = "beat"
    EIGHTH = "eighth"
    SIXTEENTH = "sixteenth"


_COUNTS: Final = {8: Count.EIGHTH, 16: Count.SIXTEENTH}


@dataclass(frozen=True, slots=True)
class BarWords:
    """What bars are called, with gaps for `str.format`; `later` has "nth" and "n"."""

    bar: str = "bar {bar}"
    bars: str = "bars {bars}"
    next: str = "the bar after {bar}"
    later: str = "the {nth} bar after {bar}"
    pickup: str = "the pickup"
    first: str = "the first bar"
    beginning: str = "the beginning"
    beginning_of: str = "the beginning of {movement}"


class BarNames:
    """The names of all bars of a score, in English unless other words are given."""

    def __init__(self, score: Score, words: BarWords | None = None) -> None:
        self._words = words or BarWords()
        self._measures = score.measures
        self._counted = [bar_number(measure.number) for measure in score.measures]
        self._last = [bar_number(measure.last_number) for measure in score.measures]
        self._anchors = list(_anchors(score.measures, self._counted))
        self._numerals = movement_numerals(score)
        named = [(m.movement, n) for m, n in zip(score.measures, self._counted, strict=True) if n]
        self._times = Counter(key for key, _ in groupby(named))

    def name(self, index: int, beside: int | None = None) -> str:
        """The bar as a place; its movement is said where there are several, unless `beside` is of the same."""
        return self._with_numeral(self._name(index, self._last), index, beside)

    def within(self, index: int, bar: int, beside: int | None = None) -> str:
        """One bar of a multiple rest, counted from 0."""
        name = self._words.bar.format(bar=_value(self._counted[index]) + bar)
        return self._with_numeral(name, index, beside)

    def goal(self, index: int, beside: int | None = None) -> str:
        """The bar as somewhere to go: "the beginning" where a movement begins without a number."""
        if self._counted[index] or not self._begins(index):
            return self._with_numeral(self._name(index, self._counted), index, beside)
        numeral = self._numeral(index, beside)
        return self._words.beginning_of.format(movement=numeral) if numeral else self._words.beginning

    def is_unique(self, index: int) -> bool:
        """Whether the bar's name is no other's; bars in succession with the same number are one (a bar that is
        split by a repeat, two endings)."""
        anchor = self._anchors[index]
        return anchor is None or self._times[self._measures[anchor].movement, self._counted[anchor]] == 1

    def ranges(self, first: int, last: int) -> str:
        """ "bars 12–31" of a stretch of the file, "bars 38–49, 5–26" where the numbers start again, "I, bars 60–64;
        II, bars 1–9" of several movements; empty where there is nothing to say or too much."""
        runs: list[list[int]] = []
        for index in (index for index in range(first, last + 1) if self._counted[index]):
            if runs and not self._restarts(runs[-1][1], index):
                runs[-1][1] = index
            else:
                runs.append([index, index])
        if not runs or len(runs) > MOST_RUNS:
            return ""
        if self._numerals:
            return "; ".join(
                f"{self._numeral(run[0], None)}, {self._said(self._range(*run))}" for run in runs
            )
        return self._said(", ".join(self._range(*run) for run in runs))

    def _with_numeral(self, name: str, index: int, beside: int | None) -> str:
        numeral = self._numeral(index, beside)
        return f"{numeral}, {name}" if numeral else name

    def _name(self, index: int, numbers: Sequence[str]) -> str:
        anchor = self._anchors[index]
        if anchor == index:
            return self._words.bar.format(bar=numbers[index])
        if anchor is not None:
            after, bar = index - anchor, self._last[anchor]
            words = self._words.next if after == 1 else self._words.later
            return words.format(bar=bar, n=after, nth=ordinal(after))
        if self._begins(index):
            return self._words.pickup if self._measures[index].implicit else self._words.first
        return self._words.bar.format(bar=f"#{index + 1}")

    def _said(self, numbers: str) -> str:
        words = self._words
        return words.bar.format(bar=numbers) if numbers.isalnum() else words.bars.format(bars=numbers)

    def _begins(self, index: int) -> bool:
        return index == 0 or self._measures[index - 1].movement != self._measures[index].movement

    def _numeral(self, index: int, beside: int | None) -> str:
        movement = self._measures[index].movement
        same = beside is not None and self._measures[beside].movement == movement
        return "" if same else self._numerals.get(movement, "")

    def _restarts(self, here: int, there: int) -> bool:
        if self._measures[here].movement != self._measures[there].movement:
            return True
        return _value(self._counted[there]) < _value(self._counted[here])

    def _range(self, first: int, last: int) -> str:
        low, high = self._counted[first], self._last[last]
        return low if low == high else f"{low}–{high}"


def counted_in(measure: Measure) -> Count:
    """What a place in a bar is counted in: beats; where these are in threes, the notes of the time signature, by name,
    because "beat 2 of 6/8" is the second eighth to one player and the fourth to the next."""
    compound = measure.beats > COMPOUND_UNIT and measure.beats % COMPOUND_UNIT == 0
    return _COUNTS.get(measure.beat_type, Count.BEAT) if compound else Count.BEAT


def beat_ql(measure: Measure) -> Fraction:
    """How long one is of what is counted: the time signature's unit."""
    return Fraction(4, measure.beat_type)


def missing_ql(measure: Measure) -> Fraction:
    """What is missing at the start of a bar that the file marks as incomplete: a pickup counts from its end."""
    full = Fraction(4 * measure.beats, measure.beat_type)
    return max(Fraction(0), full - measure.length_ql) if measure.implicit else Fraction(0)


def ordinal(number: int) -> str:
    """1st, 2nd, 3rd, 4th, 11th."""
    teens = 10 < number % 100 < 20
    return f"{number}{'th' if teens else {1: 'st', 2: 'nd', 3: 'rd'}.get(number % 10, 'th')}"


def bar_number(number: str) -> str:
    """A bar's number as it is counted ("12", "12a"); empty for 0, X1 and none."""
    match = COUNTED.fullmatch(number.strip())
    return match[1] if match else ""


def bar_label(score: Score, index: int) -> str:
    """A bar's number, or its place in the file ("#57") where it has none that is counted."""
    return bar_number(score.measures[index].number) or f"#{index + 1}"


def _anchors(measures: Sequence[Measure], counted: Sequence[str]) -> Iterator[int | None]:
    """For each bar: itself or the last one before it in its movement that is counted."""
    anchor: int | None = None
    for index, number in enumerate(counted):
        if index and measures[index - 1].movement != measures[index].movement:
            anchor = None
        anchor = index if number else anchor
        yield anchor


def _value(counted: str) -> int:
    return int(counted.rstrip("abcdefghijklmnopqrstuvwxyz"))


def movement_numerals(score: Score) -> Mapping[int, str]:
    """Roman numerals of the movements: their own where all have one, else by place; empty for one movement."""
    movements = range(score.measures[-1].movement + 1)
    if len(movements) == 1:
        return {}
    own = [NUMERAL.match(score.movement_titles.get(movement, "")) for movement in movements]
    if all(own):
        return {movement: match[0] for movement, match in zip(movements, own, strict=True) if match}
    return {movement: "".join(_roman(movement + 1)) for movement in movements}


def _roman(number: int) -> Iterator[str]:
    for value, letters in ROMAN:
        while number >= value:
            yield letters
            number -= value
