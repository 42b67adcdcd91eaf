"""Fermatas over the rests of players who wait for others.

In: the placed bars of all parts of a tree that is ours to change.  Always true: nothing that sounds changes; a rest may
be written as two, so that the sign stands where time stops.
"""

from collections.abc import Iterator, Sequence
from fractions import Fraction
from typing import Final

from lxml import etree

from optimizer.engrave.bars import NotePlace, PlacedBar

# Rests by their length in quarters.
_TYPES: Final = {
    Fraction(4): ("whole", 0),
    Fraction(3): ("half", 1),
    Fraction(2): ("half", 0),
    Fraction(3, 2): ("quarter", 1),
    Fraction(1): ("quarter", 0),
    Fraction(3, 4): ("eighth", 1),
    Fraction(1, 2): ("eighth", 0),
    Fraction(1, 4): ("16th", 0),
}


def give_fermatas(parts: Sequence[Sequence[PlacedBar]]) -> None:
    """Let every part that rests at a fermata of another have it."""
    for bars in zip(*parts, strict=True):
        held = [list(_fermatas(bar)) for bar in bars]
        if not any(held):
            continue
        span = _shared([each for own in held for each in own])
        for bar, own in zip(bars, held, strict=True):
            waiting = None if own else _waiting(bar, span)
            if waiting:
                _hold(bar, *waiting)


def _fermatas(bar: PlacedBar) -> Iterator[tuple[Fraction, Fraction]]:
    """From where to where notes with a fermata last, in quarters."""
    for place in bar.places:
        if place.length and place.marks("fermata"):
            yield _quarters(bar, place.offset), _quarters(bar, place.offset + place.length)


def _shared(spans: Sequence[tuple[Fraction, Fraction]]) -> tuple[Fraction, Fraction]:
    """The time that overlapping fermatas share, the last in the bar."""
    last = max(spans)
    together = [span for span in spans if span[1] > last[0]]
    return last[0], min(end for _, end in together)


def _quarters(bar: PlacedBar, ticks: int) -> Fraction:
    return Fraction(ticks, bar.quarter)


def _waiting(bar: PlacedBar, span: tuple[Fraction, Fraction]) -> tuple[NotePlace, Fraction] | None:
    """The rest of a part that rests when a fermata begins, or has stopped playing when it ends, and from when it waits;
    None where it plays, or has nothing there."""
    places = [place for place in bar.places if place.length]
    starts = {place.order: _quarters(bar, place.offset) for place in places}
    ends = {place.order: _quarters(bar, place.offset + place.length) for place in places}
    rest = _only_rest([place for place in places if starts[place.order] <= span[0] < ends[place.order]])
    if rest is not None:
        return rest, span[0]
    rest = _only_rest([place for place in places if starts[place.order] < span[1] <= ends[place.order]])
    return None if rest is None else (rest, starts[rest.order])


def _only_rest(places: Sequence[NotePlace]) -> NotePlace | None:
    """Of what stands at a moment the topmost rest, if there is nothing but rests."""
    if not places or any("rest" not in place.children for place in places):
        return None
    return min(places, key=lambda place: (place.staff, place.order))


def _hold(bar: PlacedBar, rest: NotePlace, at: Fraction) -> None:
    """Put a fermata over a rest, or over what is left of it from a moment on."""
    start = _quarters(bar, rest.offset)
    before, after = at - start, start + _quarters(bar, rest.length) - at
    note = rest.note
    whole = all((length * bar.quarter / bar.division).denominator == 1 for length in (before, after))
    if whole and before in _TYPES and after in _TYPES and "time-modification" not in rest.children:
        held = etree.Element("note")
        held.tail = note.tail
        note.addnext(held)
        for element, length in ((note, before), (held, after)):
            _write(bar, element, rest, length)
        note = held
    notations = etree.Element("notations")
    etree.SubElement(notations, "fermata", type="upright")
    later = next(note.iterchildren("lyric", "play", "listen"), None)
    if later is None:
        note.append(notations)
    else:
        later.addprevious(notations)


def _write(bar: PlacedBar, element: etree._Element, rest: NotePlace, length: Fraction) -> None:
    """Make a plain rest of an element."""
    name, dots = _TYPES[length]
    element[:] = []
    etree.SubElement(element, "rest")
    etree.SubElement(element, "duration").text = str(length * bar.quarter / bar.division)
    if rest.voice:
        etree.SubElement(element, "voice").text = rest.voice
    etree.SubElement(element, "type").text = name
    for _ in range(dots):
        etree.SubElement(element, "dot")
    if "staff" in rest.children:
        etree.SubElement(element, "staff").text = rest.staff
