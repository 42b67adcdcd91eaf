"""Where a part is to be played softly.

In: a part's own tree, its score.  Out: the moments, in seconds of the playing order, at which that changes.  Always
true: after a jump there holds what stands last before the bar in the file.  Hairpins are not followed: where they lead
is a dynamic of its own, or nobody says it.
"""

from bisect import bisect_right
from collections.abc import Iterable, Iterator
from fractions import Fraction
from typing import Final

from lxml import etree

from optimizer.engrave.bars import named, placed_parts
from optimizer.score.events import clock_s
from optimizer.score.model import Score
from optimizer.score.walk import elements

_SOFT: Final = frozenset({"p", "pp", "ppp", "pppp", "ppppp", "pppppp", "n", "fp", "sfp", "sfpp", "sfzp"})
# A sforzato says nothing of what comes after it.
_ACCENTS: Final = frozenset({"sf", "sfz", "sffz", "fz", "rf", "rfz", "other-dynamics"})


def softness(root: etree._Element, score: Score) -> tuple[tuple[float, bool], ...]:
    """Seconds at which the music begins to be soft (p or softer), or no longer is."""
    written = sorted(_written(root))
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


def _written(root: etree._Element) -> Iterator[tuple[int, Fraction, bool]]:
    """Dynamics that hold on: measure, quarters from its start, whether soft."""
    for bars in placed_parts(root):
        for index, bar in enumerate(bars):
            for place in named(bar.marks, "direction"):
                for soft in _soft(place.element.iterfind("direction-type/dynamics/*")):
                    yield index, max(Fraction(0), place.offset + place.own_offset), soft
            for note in (*bar.places, *bar.chords):
                for dynamics in note.marks("dynamics"):
                    for soft in _soft(elements(dynamics)):
                        yield index, Fraction(note.offset, bar.quarter), soft


def _soft(marks: Iterable[etree._Element]) -> Iterator[bool]:
    """Dynamic marks, as soft or not."""
    for mark in marks:
        if mark.tag not in _ACCENTS:
            yield mark.tag in _SOFT
