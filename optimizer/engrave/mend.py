"""Slips of encoding that would spoil the print, mended before engraving.

In: a partwise MusicXML tree that is ours to change.  Always true: no note, rest, bar or duration changes.

Mended are parts that the list does not name, beams that do not close inside their bar, ties to nowhere, and keys stated
again without changing.
"""

from collections import defaultdict
from dataclasses import dataclass
from typing import Final

from lxml import etree

from optimizer.engrave.places import ticks_a_quarter, whole

_BEAMED_TYPES: Final = frozenset({"eighth", "16th", "32nd", "64th", "128th", "256th", "512th", "1024th"})


def mend(tree: etree._Element) -> None:
    """Mend a tree in place."""
    _complete_parts(tree)
    for part in tree.iterchildren("part"):
        _drop_repeated_keys(part)
        _mend_beams_and_ties(part)


def _complete_parts(tree: etree._Element) -> None:
    """The library reads only parts that the list names and that begin with attributes."""
    listed = tree.find("part-list")
    if listed is None:
        listed = etree.Element("part-list")
        tree.insert(0, listed)
    known = {entry.get("id", "") for entry in listed.iterchildren("score-part")}
    used = {part.get("id", "") for part in tree.iterchildren("part")}
    spare = [
        entry.get("id", "") for entry in listed.iterchildren("score-part") if entry.get("id", "") not in used
    ]
    for number, part in enumerate(tree.iterchildren("part"), 1):
        if part.get("id", "") not in known:
            part.set("id", spare.pop(0) if spare else _new_entry(listed, f"unlisted{number}"))
        first = part.find("measure")
        if first is not None and first.find("attributes") is None:
            attributes = etree.Element("attributes")
            etree.SubElement(attributes, "divisions").text = "1"
            first.insert(0, attributes)


def _new_entry(listed: etree._Element, name: str) -> str:
    entry = etree.SubElement(listed, "score-part", id=name)
    etree.SubElement(entry, "part-name")
    return name


def _drop_repeated_keys(part: etree._Element) -> None:
    """A key that says what already holds would be drawn again in the middle of a line."""
    in_force: dict[str, str] = {}
    for attributes in part.iter("attributes"):
        for key in attributes.findall("key"):
            staff = key.get("number", "")
            text = " ".join(
                f"{child.tag!s}={child.text}" for child in key if child.tag not in ("mode", "cancel")
            )
            if in_force.get(staff, in_force.get("")) == text and key.get("print-object") != "no":
                attributes.remove(key)
            if not staff:
                in_force.clear()
            in_force[staff] = text


@dataclass(slots=True)
class _Place:
    """A note in ticks from the start of its bar (`offset`) and of the part; `order` as written in the file."""

    offset: int
    onset: int
    end: int
    order: int
    voice: str
    note: etree._Element


def _mend_beams_and_ties(part: etree._Element) -> None:
    ticks = ticks_a_quarter(part)
    tick_length, beat, start, order = ticks, ticks, 0, 0
    ties: list[tuple[_Place, etree._Element]] = []
    for bar in part.iterchildren("measure"):
        voices: dict[str, list[_Place]] = defaultdict(list)
        offset = onset = longest = 0
        for element in bar:
            tag = element.tag
            if tag == "attributes":
                divisions = whole(element.findtext("divisions"))
                tick_length = ticks // divisions if divisions else tick_length
                beat = _beat(element.find("time"), beat, ticks)
                continue
            length = (whole(element.findtext("duration")) or 0) * tick_length
            if not length:
                continue
            alone = element.find("chord") is None
            if alone:
                onset = offset
                offset += -length if tag == "backup" else length
                longest = max(longest, offset)
            if tag == "note":
                voice = element.findtext("voice", "1")
                place = _Place(onset, start + onset, start + onset + length, order, voice, element)
                order += 1
                ties += ((place, tied) for tied in element.iterfind("notations/tied"))
                if alone:
                    voices[voice].append(place)
        start += longest
        for places in voices.values():
            if not _closed([place.note.findtext("beam") for place in places]):
                _beam_by_beats(places, beat)
    _let_open_ties_ring(ties)


def _let_open_ties_ring(ties: list[tuple[_Place, etree._Element]]) -> None:
    """A tie to nowhere would be drawn on and on; so would one to another voice that is written before it."""
    stops: dict[tuple[int, str | None, str | None], list[_Place]] = defaultdict(list)
    for place, tied in ties:
        if tied.get("type") == "stop":
            stops[place.onset, *_pitch(place.note)].append(place)
    for place, tied in ties:
        ends = stops.get((place.end, *_pitch(place.note)), ())
        if tied.get("type") != "start" or any(e.voice == place.voice or e.order > place.order for e in ends):
            continue
        tied.set("type", "let-ring")
        for tie in place.note.findall("tie"):
            if tie.get("type") == "start":
                place.note.remove(tie)


def _pitch(note: etree._Element) -> tuple[str | None, str | None]:
    return note.findtext("pitch/step"), note.findtext("pitch/octave")


def _beat(time: etree._Element | None, before: int, ticks: int) -> int:
    """What is beamed together, in ticks: a quarter, or three eighths in compound time."""
    beats, unit = (
        (None, None) if time is None else (whole(time.findtext("beats")), whole(time.findtext("beat-type")))
    )
    if not beats or not unit:
        return before
    return ticks * 3 // 2 if unit == 8 and beats % 3 == 0 else ticks


def _closed(beams: list[str | None]) -> bool:
    """Whether every first-level beam of a voice begins and ends inside the bar."""
    inside = False
    for beam in beams:
        if beam in ("continue", "end") and not inside:
            return False
        if beam == "begin" and inside:
            return False
        if beam == "begin":
            inside = True
        elif beam == "end":
            inside = False
    return not inside


def _beam_by_beats(places: list[_Place], beat: int) -> None:
    groups: list[list[etree._Element]] = []
    last_beat: int | None = None
    for place in places:
        note, offset = place.note, place.offset
        for beam in note.findall("beam"):
            note.remove(beam)
        if note.find("rest") is not None or note.findtext("type") not in _BEAMED_TYPES:
            last_beat = None
            continue
        if last_beat is None or offset // beat != last_beat:
            groups.append([])
        groups[-1].append(note)
        last_beat = offset // beat
    for group in groups:
        for order, note in enumerate(group if len(group) > 1 else ()):
            beam = etree.Element("beam", number="1")
            beam.text = "begin" if order == 0 else "end" if order == len(group) - 1 else "continue"
            _place_beam(note, beam)


def _place_beam(note: etree._Element, beam: etree._Element) -> None:
    """Beams stand before notations and lyrics (W3C musicxml.xsd 4.0, note)."""
    for index, child in enumerate(note):
        if child.tag in ("notations", "lyric", "play", "listen"):
            note.insert(index, beam)
            return
    note.append(beam)
