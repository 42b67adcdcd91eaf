"""Where a part is to be played softly.

In: a part's own tree, its score.  Out: the moments, in seconds of the playing order, at which that changes.  Always
true: after a jump there holds what stands last before the bar in the file.

Dynamics are degrees, p one below mp; up to p, rounded, is soft.  A hairpin moves the degree evenly from where it begins
to where it ends, a word (cresc., dim.) to the next dynamic.  Where a dynamic in that direction stands at the end, it
leads there; else one degree up or down, never more than one from the dynamic written last: many hairpins in succession
are phrases, no way into silence.
"""

import re
from bisect import bisect_right
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import accumulate
from typing import Final

from lxml import etree

from optimizer.engrave.bars import PlacedBar, named, placed_parts
from optimizer.score.events import clock_s
from optimizer.score.model import Score
from optimizer.score.walk import elements

_P: Final = 3
_DEGREES: Final = {
    **{"p" * count: 1 + _P - count for count in range(1, 7)},
    "mp": 4,
    "mf": 5,
    **{"f" * count: 5 + count for count in range(1, 7)},
    "pf": 6,
    "n": -3,
    **dict.fromkeys(("fp", "sfp", "sfzp"), _P),
    "sfpp": _P - 1,
}  # a sforzato says nothing of what comes after it
_UNSAID: Final = _DEGREES["mf"]
_SOFT: Final = _P + Fraction(1, 2)  # softer than half the way to mp
# How far behind the end of a hairpin the dynamic may stand that it leads to, in quarters. Ours.
_BEHIND_QL: Final = 1
# How long a word works that no dynamic follows, in quarters: four bars of 4/4. Ours.
_WORD_QL: Final = 16
_LOUDER: Final = re.compile(r"(?i)\bcresc")
_SOFTER: Final = re.compile(r"(?i)\b(decresc|dim(in|\b)|morendo|smorz|calando|perdendo)")

_Moment = tuple[Fraction, Fraction]  # quarters from the start of the file; degree


@dataclass(frozen=True, slots=True)
class _Swell:
    """A hairpin or a word. `end_ql`: None where nothing says it."""

    start_ql: Fraction
    end_ql: Fraction | None
    louder: bool


def softness(root: etree._Element, score: Score) -> tuple[tuple[float, bool], ...]:
    """Seconds at which the music begins to be soft (p or softer), or no longer is."""
    starts = list(accumulate((measure.length_ql for measure in score.measures), initial=Fraction(0)))
    written = sorted(
        (index := bisect_right(starts, at_ql, hi=len(score.measures)) - 1, at_ql - starts[index], soft)
        for bars in placed_parts(root)
        for at_ql, soft in _turning_points(bars, starts)
    )
    places = [(index, offset_ql) for index, offset_ql, _ in written]
    found: list[tuple[float, bool]] = []
    for played in score.played:
        index, clock = played.measure_index, score.clocks[played.measure_index]
        before = bisect_right(places, (index, Fraction(0)))
        changes = [(played.start_s, before > 0 and written[before - 1][2])]
        for there, offset_ql, soft in written[before:]:
            if there > index:
                break
            changes.append((played.start_s + clock_s(clock, offset_ql), soft))
        found += (change for change in changes if not found or found[-1][1] != change[1])
    return tuple(found)


def _turning_points(bars: Sequence[PlacedBar], starts: Sequence[Fraction]) -> Iterator[tuple[Fraction, bool]]:
    """From when, in quarters from the start, a part is soft, or no longer."""
    dynamics = sorted(_dynamics(bars, starts), key=lambda each: (each[0], -each[1]))
    swells = sorted(_swells(bars, starts), key=lambda each: each.start_ql)
    lines = list(_lines(dynamics, swells))
    followers = [*(start_ql for (start_ql, _), _ in lines[1:]), None]
    for ((start_ql, start), (end_ql, end)), next_ql in zip(lines, followers, strict=False):
        yield start_ql, start < _SOFT
        if (start < _SOFT) != (end < _SOFT):
            at_ql = start_ql + (end_ql - start_ql) * (_SOFT - start) / (end - start)
            if next_ql is None or at_ql < next_ql:
                yield at_ql, end < _SOFT


def _lines(dynamics: Sequence[_Moment], swells: Iterable[_Swell]) -> Iterator[tuple[_Moment, _Moment]]:
    """The degree as lines, each from one moment to another, and level from there until the next begins."""
    line: tuple[_Moment, _Moment] = ((Fraction(0), Fraction(_UNSAID)), (Fraction(0), Fraction(_UNSAID)))
    said = Fraction(_UNSAID)
    events: list[tuple[Fraction, int, _Moment | _Swell]] = [
        *((each[0], 0, each) for each in dynamics),
        *((each.start_ql, 1, each) for each in swells),
    ]
    for at_ql, _, event in sorted(events, key=lambda each: each[:2]):
        if isinstance(event, _Swell):
            now = _degree(line, at_ql)
            line = (at_ql, now), _goal(event, now, said, dynamics)
        else:
            said = event[1]
            line = event, event
        yield line


def _degree(line: tuple[_Moment, _Moment], at_ql: Fraction) -> Fraction:
    (start_ql, start), (end_ql, end) = line
    if at_ql >= end_ql:
        return end
    return start + (end - start) * (at_ql - start_ql) / (end_ql - start_ql)


def _goal(swell: _Swell, now: Fraction, said: Fraction, dynamics: Sequence[_Moment]) -> _Moment:
    """When and where a swell ends."""
    after = bisect_right(dynamics, swell.start_ql, key=lambda each: each[0])
    following = dynamics[after] if after < len(dynamics) else None
    if following is not None and (following[1] > now if swell.louder else following[1] < now):
        if swell.end_ql is None:
            return following
        if following[0] <= swell.end_ql + _BEHIND_QL:
            return swell.end_ql, following[1]
    degree = max(now, min(now, said) + 1) if swell.louder else min(now, max(now, said) - 1)
    return swell.start_ql + _WORD_QL if swell.end_ql is None else swell.end_ql, degree


def _dynamics(bars: Sequence[PlacedBar], starts: Sequence[Fraction]) -> Iterator[_Moment]:
    """Dynamics that hold on."""
    for bar, start_ql in zip(bars, starts, strict=False):
        for place in named(bar.marks, "direction"):
            for mark in place.element.iterfind("direction-type/dynamics/*"):
                if mark.tag in _DEGREES:
                    at_ql = start_ql + max(Fraction(0), place.offset + place.own_offset)
                    yield at_ql, Fraction(_DEGREES[str(mark.tag)])
        for note in (*bar.places, *bar.chords):
            for mark in (mark for dynamics in note.marks("dynamics") for mark in elements(dynamics)):
                if mark.tag in _DEGREES:
                    yield start_ql + Fraction(note.offset, bar.quarter), Fraction(_DEGREES[str(mark.tag)])


def _swells(bars: Sequence[PlacedBar], starts: Sequence[Fraction]) -> Iterator[_Swell]:
    """Hairpins and words; a hairpin that does not end works as a word does."""
    begun: dict[str, tuple[Fraction, bool]] = {}
    for bar, start_ql in zip(bars, starts, strict=False):
        for place in named(bar.marks, "direction"):
            at_ql = start_ql + max(Fraction(0), place.offset + place.own_offset)
            for sign in place.element.iterfind("direction-type/*"):
                number = sign.get("number", "1")
                if sign.tag == "wedge" and sign.get("type") in ("crescendo", "diminuendo"):
                    begun[number] = at_ql, sign.get("type") == "crescendo"
                elif sign.tag == "wedge" and sign.get("type") == "stop" and number in begun:
                    since_ql, louder = begun.pop(number)
                    yield _Swell(since_ql, max(since_ql, at_ql), louder)
                elif sign.tag == "words" and _LOUDER.search(sign.text or ""):
                    yield _Swell(at_ql, None, louder=True)
                elif sign.tag == "words" and _SOFTER.search(sign.text or ""):
                    yield _Swell(at_ql, None, louder=False)
    yield from (_Swell(since_ql, None, louder) for since_ql, louder in begun.values())
