"""Where a part is to be played softly.

In: a part's own tree, its score.  Out: the moments, in seconds of the playing order, at which that changes.  Always
true: after a jump there holds what stands last before the bar in the file.  Hairpins are not followed: where they lead
is a dynamic of its own, or nobody says it.
"""

from bisect import bisect_right
from collections.abc import Iterator
from fractions import Fraction
from typing import Final

from lxml import etree

from optimizer.score.events import clock_s
from optimizer.score.model import Score

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
    for part in root.iterfind("part"):
        divisions = Fraction(1)
        for index, measure in enumerate(part.iterfind("measure")):
            at = Fraction(0)
            for element in measure:
                divisions = _number(element, "attributes", "divisions") or divisions
                here = at + _number(element, "direction", "offset") / divisions
                if element.find("chord") is not None:
                    here -= _number(element, "note", "duration") / divisions
                for soft in _soft(element):
                    yield index, max(Fraction(0), here), soft
                at += _moved(element) / divisions


def _moved(element: etree._Element) -> Fraction:
    """How far an element moves the place in its measure, divisions."""
    if element.find("chord") is not None:
        return Fraction(0)
    back = _number(element, "backup", "duration")
    return _number(element, "note", "duration") + _number(element, "forward", "duration") - back


def _number(element: etree._Element, tag: str, child: str) -> Fraction:
    """The number in a child of an element of this tag; 0 where there is none."""
    text = element.findtext(child) if element.tag == tag else None
    return Fraction(text.strip()) if text and text.strip() else Fraction(0)


def _soft(element: etree._Element) -> Iterator[bool]:
    """The dynamics of an element, as soft or not."""
    path = {"direction": "direction-type/dynamics/*", "note": "notations/dynamics/*"}.get(str(element.tag))
    for mark in element.iterfind(path) if path else ():
        if mark.tag not in _ACCENTS:
            yield mark.tag in _SOFT
