"""Clefs put where no slur crosses them.

In: a `PlacedBar`, ours to change.  Always true: every note stands under the clef that it stood under before.

A beam that comes up, or down, from the other staff brings its slur along, right over a clef just before its first note
on this staff.  Where the staff has only rests since the beam began, the clef stands ahead of them as well.
"""

from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction

from lxml import etree

from optimizer.engrave.bars import NotePlace, Place, PlacedBar


def mend_clefs(bar: PlacedBar) -> None:
    """Mend a bar in place."""
    for index, mark in enumerate(bar.marks):
        staff = _staff_of_clef(mark)
        ahead = _ahead_of_slurs(bar, mark, staff) if staff else None
        if ahead is not None:
            ahead.note.addprevious(mark.element)
            bar.marks[index] = replace(mark, offset=Fraction(ahead.offset, bar.quarter))


def _staff_of_clef(mark: Place) -> str | None:
    """The staff of attributes in the middle of a bar that are a clef and nothing else."""
    if not mark.offset or mark.element.tag != "attributes" or len(mark.element) != 1:
        return None
    (child,) = mark.element
    return child.get("number", "1") if child.tag == "clef" else None


def _ahead_of_slurs(bar: PlacedBar, clef: Place, staff: str) -> NotePlace | None:
    """The rest before which a clef is clear of slurs from another staff; None where it is, or cannot be."""
    at = int(clef.offset * bar.quarter)
    begun = min(_slurs_over(bar, at, staff), default=at)
    if begun == at:
        return None
    rests = list(_rests_before(bar, clef.element, staff))
    rest = next((rest for rest in rests if rest.offset <= begun), None)
    if rest is None:
        return None
    notes = (place for place in bar.places if place.staff == staff and "rest" not in place.children)
    busy = any(place.offset < at and place.offset + place.length > rest.offset for place in notes)
    return None if busy else rest


def _slurs_over(bar: PlacedBar, at: int, staff: str) -> Iterator[int]:
    """Where slurs begin that come from another staff to this one, across a place."""
    opened: dict[tuple[str, str], NotePlace] = {}
    for place in bar.places:
        for slur in place.marks("slur"):
            name = place.voice, slur.get("number", "1")
            if slur.get("type") == "start":
                opened[name] = place
            elif slur.get("type") == "stop" and name in opened:
                first = opened.pop(name)
                if first.offset < at <= place.offset and first.staff != staff == place.staff:
                    yield first.offset


def _rests_before(bar: PlacedBar, element: etree._Element, staff: str) -> Iterator[NotePlace]:
    """The rests of a staff that come right before an element in the file, the last one first."""
    known = {place.note: place for place in bar.places}
    for before in element.itersiblings(preceding=True):
        place = known.get(before)
        if place is None or "rest" not in place.children or place.staff != staff:
            return
        yield place
