"""Empty bars of a part, counted and printed as one.

In: the tree of one part, ours to change, with real bars.  Out: a tree with multiple rests (score/multirests.py).
Always true: where there is something to see or to know, bars stay apart: rehearsal marks, words, double bars, repeats,
endings, fermatas, places to jump to, a new key, time or clef, a pickup, the end of a movement.  Tempi that are only
played stay at their moments inside a rest; a tempo that is only drawn further right than the start of a rest stands
over its start.
"""

from collections.abc import Iterator, Sequence
from fractions import Fraction
from typing import Final

from lxml import etree

from optimizer.engrave.bars import Place, PlacedBar, placed_bars, still_there
from optimizer.score.marks import leaving
from optimizer.score.multirests import (
    MAX_DIGITS,
    TIMED,
    collapsed,
    decimal,
    divides,
    is_empty,
    only_steers,
    right_barlines,
    say_bars,
)
from optimizer.score.walk import elements, whole

_IN_FORCE: Final = ("divisions", "key", "time", "clef")


def with_multiple_rests(root: etree._Element) -> etree._Element:
    """The tree with every run of empty bars made one measure."""
    for part in root.iterchildren("part"):
        bars = placed_bars(part)
        _drop_restated(bars)
        staves = staves_of(part)
        for run in _runs(bars):
            if len(run) > 1:
                for bar in run:
                    write_rests(bar, staves)
                say_bars(run[0].element, len(run))
    return collapsed(root)


def staves_of(part: etree._Element) -> int:
    """On how many staves a part is written at most."""
    return max((whole(found.text, 1) for found in part.iter("staves")), default=1)


def _drop_restated(bars: Sequence[PlacedBar]) -> None:
    """Take out of empty bars what only says again which key, time or clef holds; a time signature at the start of a
    section is there for the player."""
    said: dict[tuple[str, str], str] = {}
    for index, bar in enumerate(bars):
        empty = is_empty(bar.element)
        at_section = index > 0 and is_parted(bars[index - 1].element, bar.element)
        for attributes in bar.element.findall("attributes"):
            for child in attributes.findall("*"):
                kind, text = (str(child.tag), child.get("number", "")), _content(child)
                kept = at_section and child.tag == "time"
                if empty and child.tag in _IN_FORCE and said.get(kind) == text and not kept:
                    attributes.remove(child)
                said[kind] = text
            if empty and not len(attributes):
                bar.element.remove(attributes)


def _content(element: etree._Element) -> str:
    return "|".join(f"{child.tag!s}={(child.text or '').strip()}" for child in element.iter("*"))


def _runs(bars: Sequence[PlacedBar]) -> Iterator[list[PlacedBar]]:
    """Bars that belong together: empty ones that nothing keeps apart, and every other alone."""
    run: list[PlacedBar] = []
    for bar in bars:
        if run and _is_countable(bar) and may_begin_rest(run[0]) and _goes_on(run[-1].element, bar):
            run.append(bar)
        else:
            yield run
            run = [bar]
    yield run


def _is_countable(bar: PlacedBar) -> bool:
    """Whether a bar is empty, whole and counted."""
    element = bar.element
    number = element.get("number", "")
    if not number.isdecimal() or len(number) > MAX_DIGITS:
        return False
    if not is_empty(element) or element.get("implicit") == "yes":
        return False
    length = max((place.offset + place.length for place in bar.places), default=0)
    return not bar.places or length == (bar.full or 4 * bar.quarter)


def may_begin_rest(bar: PlacedBar) -> bool:
    """Whether everything to be seen in an empty bar stands at its start."""
    seen = (place for place in still_there([bar.marks])[0] if _is_seen(place.element))
    return _is_countable(bar) and all(_moment(place) <= 0 for place in seen)


def _moment(place: Place) -> Fraction:
    """From when a mark holds, in quarters from the start of its bar."""
    return place.offset + (0 if _is_drawn_aside(place.element) else place.own_offset)


def _is_drawn_aside(element: etree._Element) -> bool:
    """Whether a tempo is drawn further right than it is heard from: beside the words before it, say. Sounds stay where
    they are written unless they say otherwise (W3C musicxml.xsd 4.0, offset)."""
    shown = {sign.tag for sign in element.iterfind("direction-type/*")}
    offset = element.find("offset")
    return (
        offset is not None
        and offset.get("sound") != "yes"
        and shown <= {"metronome", "words"}
        and element.find("sound[@tempo]") is not None
        and element.find("sound/offset") is None
    )


def _goes_on(here: etree._Element, bar: PlacedBar) -> bool:
    """Whether nothing stands at the barline before a bar, or inside it, nor leads away from there."""
    there = bar.element
    if int(there.get("number", "")) != int(here.get("number", "")) + 1:
        return False
    if any(leaving(mark) for mark in here.iterchildren("direction", "sound")):
        return False
    return not is_parted(here, there) and not any(map(_is_seen, elements(there)))


def is_parted(here: etree._Element, there: etree._Element) -> bool:
    """Whether more than a plain barline stands between a bar and the next, or inside that."""
    ends = (line for line in here.iterchildren("barline") if line.get("location") != "left")
    begins = (line for line in there.iterchildren("barline") if line.get("location") in ("left", "middle"))
    return any(map(divides, (*ends, *begins)))


def _is_seen(element: etree._Element) -> bool:
    """Whether an element of an empty bar, barlines apart, is there for the player."""
    if element.tag == "direction":
        shown = element.iterfind("direction-type/*")
        seen = any(sign.tag != "words" or (sign.text or "").strip() for sign in shown)
        sound = element.find("sound")
        return seen or (sound is not None and not only_steers(sound))
    return (
        not only_steers(element)
        if element.tag == "sound"
        else element.tag not in (*TIMED, "print", "barline")
    )


def write_rests(bar: PlacedBar, staves: int) -> None:
    """Say in the plainest way that a bar is empty: a rest for the whole bar on every staff, and before it what else
    there is."""
    element = bar.element
    ticks = Fraction(bar.full or 4 * bar.quarter, bar.division)
    marks = still_there([bar.marks])[0]
    sounds = [sound for place in marks for sound in _steering(place, bar)]
    for child in list(element.iterchildren(*TIMED)):
        element.remove(child)
    for place in marks:
        if place.element.tag != "attributes" and not _is_seen(place.element):
            element.remove(place.element)
        elif _is_drawn_aside(place.element):
            for offset in place.element.findall("offset"):
                place.element.remove(offset)
    right = right_barlines(element)
    element.extend(sounds)
    for staff in range(1, staves + 1):
        if staff > 1:
            etree.SubElement(etree.SubElement(element, "backup"), "duration").text = decimal(ticks)
        note = etree.SubElement(element, "note")
        etree.SubElement(note, "rest", measure="yes")
        etree.SubElement(note, "duration").text = decimal(ticks)
        etree.SubElement(note, "voice").text = str(4 * staff - 3)  # as is common: 1 to 4 on the first staff
        if staves > 1:
            etree.SubElement(note, "staff").text = str(staff)
    element.extend(right)


def _steering(place: Place, bar: PlacedBar) -> Iterator[etree._Element]:
    """What a mark that is not seen does to playback, as a sound at the start of the bar."""
    sound = place.element if place.element.tag == "sound" else place.element.find("sound")
    if sound is None or _is_seen(place.element):
        return
    alone = etree.Element("sound", {name: sound.get(name, "") for name in sound.keys() if name != "id"})  # noqa: SIM118
    at = (place.offset + place.quarters(sound.find("offset"))) * bar.quarter / bar.division
    if at:
        etree.SubElement(alone, "offset").text = decimal(at)
    yield alone
