"""Slips of encoding that would spoil the print, mended before engraving.

In: a partwise MusicXML tree that is ours to change.  Out: its marks, for its bars are read anyway.  Always true: no
note, rest, bar or duration changes.

Mended are parts that the list does not name, names left out of the first system only or with letters for flats, beams
that do not close inside their bar, ties to nowhere, and keys stated again without changing.
"""

import re
from bisect import bisect_left
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import chain
from typing import Final

from lxml import etree

from optimizer.engrave.bars import Marks, NotePlace, PlacedBar, marks_of, named, placed_parts
from optimizer.engrave.beams import flag_graces, mend_beams, mend_tuplets
from optimizer.engrave.clefs import mend_clefs
from optimizer.engrave.cues import drop_doubled_cues
from optimizer.engrave.limits import keep_to_limits
from optimizer.engrave.lyrics import mend_lyrics
from optimizer.engrave.voices import mend_voices

_Pitch = tuple[str | None, str | None]  # step and octave: an accidental is not always said again
_TYPED_FLAT: Final = re.compile(r"\b([A-EG])b(?!\w|\.)")


def mend(tree: etree._Element) -> Marks:
    """Mend a tree in place; its attributes, directions and sounds at their places."""
    _complete_parts(tree)
    for entry in tree.iterfind("part-list/score-part"):
        _show_name(entry)
        _write_flats(entry)
    parts = placed_parts(tree)
    keep_to_limits(tree, parts)
    drop_doubled_cues(tree, parts)
    for bars in parts:
        _drop_repeated_keys(bars)
        _mend_notes(bars)
    return marks_of(parts)


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


def _show_name(entry: etree._Element) -> None:
    """A part that later systems name is named in the first one too."""
    name, short = entry.find("part-name"), entry.find("part-abbreviation")
    if name is None or short is None or name.get("print-object") != "no" or short.get("print-object") == "no":
        return
    if (short.text or "").strip():
        del name.attrib["print-object"]


def _write_flats(entry: etree._Element) -> None:
    """The key of an instrument, typed with a letter b ("Bb Clarinet"), is printed with a flat."""
    for name in (*entry.iterfind("part-name"), *entry.iterfind("part-abbreviation")):
        name.text = with_flats(name.text or "")


def with_flats(name: str) -> str:
    """ "Bb Clarinet" as "B♭ Clarinet"."""
    return _TYPED_FLAT.sub("\\1♭", name)


def _new_entry(listed: etree._Element, name: str) -> str:
    entry = etree.SubElement(listed, "score-part", id=name)
    etree.SubElement(entry, "part-name")
    return name


def _drop_repeated_keys(bars: Sequence[PlacedBar]) -> None:
    """A key that says what already holds would be drawn again in the middle of a line."""
    in_force: dict[str, str] = {}
    for attributes in (place.element for bar in bars for place in named(bar.marks, "attributes")):
        for key in attributes.findall("key"):
            staff = key.get("number", "")
            text = " ".join(
                f"{child.tag!s}={child.text}" for child in key if child.tag not in ("mode", "cancel")
            )
            holds = [in_force.get(staff, in_force.get(""))] if staff else list(in_force.values())
            if holds and all(held == text for held in holds) and key.get("print-object") != "no":
                attributes.remove(key)
            if not staff:
                in_force.clear()
            in_force[staff] = text


def _mend_notes(bars: Sequence[PlacedBar]) -> None:
    """One way through the bars: voices first, for beams and tuplets depend on them."""
    ties: list[_Tied] = []
    for bar in bars:
        mend_voices(bar)
        flag_graces(bar)
        voices = bar.voices()
        mend_beams(voices, bar.beat)
        mend_tuplets(voices)
        mend_lyrics(bar)
        mend_clefs(bar)
        notes = (*bar.places, *bar.chords)
        ties += (_Tied(place, mark, bar) for place in notes if place.length for mark in place.marks("tied"))
    _let_open_ties_ring(ties)


@dataclass(frozen=True, slots=True)
class _Tied:
    """A note with a beginning or an end of a tie (`mark`), in its bar."""

    place: NotePlace
    mark: etree._Element
    bar: PlacedBar


def _let_open_ties_ring(ties: Sequence[_Tied]) -> None:
    """A tie to nowhere would be drawn on and on; so would one to another voice that is written before it."""
    stops: dict[_Pitch, list[_Tied]] = defaultdict(list)
    for tied in sorted(ties, key=lambda tied: tied.place.onset):
        if tied.mark.get("type") == "stop":
            stops[_pitch(tied.place)].append(tied)
    for tied in ties:
        if tied.mark.get("type") != "start" or _ends(tied, stops.get(_pitch(tied.place), ())):
            continue
        tied.mark.set("type", "let-ring")
        for tie in tied.place.note.findall("tie"):
            if tie.get("type") == "start":
                tied.place.note.remove(tie)


def _ends(start: _Tied, stops: Sequence[_Tied]) -> bool:
    """Whether a tie comes to one of these ends of its pitch. In its own voice it may come there less than a beat later:
    the notes of an arpeggio that is written out are held into its chord."""
    place = start.place
    for index in range(bisect_left(stops, place.end, key=lambda stop: stop.place.onset), len(stops)):
        stop = stops[index]
        late = stop.place.onset - place.end
        if late >= start.bar.beat:
            break
        own = stop.place.voice == place.voice
        if (own and not (late and _strikes_again(start, stop))) or (
            not late and stop.place.order > place.order
        ):
            return True
    return False


def _strikes_again(start: _Tied, stop: _Tied) -> bool:
    """Whether the pitch of a tie sounds anew in its voice before the end of the tie."""
    notes = chain.from_iterable((*bar.places, *bar.chords) for bar in (start.bar, stop.bar))
    return any(
        start.place.end <= note.onset < stop.place.onset
        and note.voice == start.place.voice
        and _pitch(note) == _pitch(start.place)
        for note in notes
    )


def _pitch(place: NotePlace) -> _Pitch:
    return place.note.findtext("pitch/step"), place.note.findtext("pitch/octave")
