"""A cue's notes, written for the player who reads them.

In: the tree of a part with the bars of the full score, ours to change; the full score; whose line, which bars.
Out: in these bars of the part, beside its own rests, the line in small notes.  Always true: durations are exact; the
written pitch is that which sounds, in the player's transposition and clef, octaves apart only where the label says so.

Grace notes, slurs, dynamics, ornaments and all words of the line are left out (slurs ran into the player's own rests);
strokes of tremolo are left out too, and the label says "trem.".
"""

import math
from collections.abc import Mapping, Sequence
from copy import deepcopy
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from typing import Final

from lxml import etree

from optimizer.engrave.bars import NotePlace, PlacedBar, placed_bars
from optimizer.parts.cue_line import Line, Sources, highest, melody, pitch_of, tremolo_share
from optimizer.parts.cue_reader import (
    STEPS,
    TOP_LINE,
    Reader,
    interval_at,
    octaves_moved,
    position,
    reader_at,
    transposed,
)
from optimizer.parts.names import numbered
from optimizer.parts.rests import may_begin_rest, staves_of, write_rests
from optimizer.score.model import Pitch
from optimizer.score.multirests import decimal, first_attributes, right_barlines
from optimizer.score.walk import NOTE_VALUES_QL, exact, whole

WORDS_PT: Final = "8"
_SHARPS: Final = "FCGDAEB"
_ACCIDENTALS: Final = {-2: "flat-flat", -1: "flat", 0: "natural", 1: "sharp", 2: "double-sharp"}
_STEM: Final = 7  # steps
_REST_AWAY: Final = 3  # steps from the note to the line that the player's rest hangs from
# Where strokes stand on a staff without pitches: above it, clear of the player's rest.
_STROKE: Final = ("G", "5")
_ARTICULATIONS: Final = ("accent", "strong-accent", "staccato", "tenuto", "detached-legato", "staccatissimo")
_OCTAVES: Final = {1: "8va", 2: "15ma", 3: "22ma"}
# Children of attributes that come before divisions (W3C musicxml.xsd 4.0).
_BEFORE_DIVISIONS: Final = ("footnote", "level")


def write_cue(part: etree._Element, full: Sources, line: Line, bars: Sequence[int]) -> bool:
    """Write one cue in place; False where the player's clef can show none."""
    theirs, ours = full.bars[line.part_index], placed_bars(part)
    shown = {bar: melody(theirs[bar], line) for bar in bars}
    lengths = {length for bar in bars for place in shown[bar] for length in _times(place, theirs[bar])}
    if _refine(part, ours[bars[0]], lengths):
        ours = placed_bars(part)
    reader = reader_at(ours, bars[0])
    if reader is None:
        return False
    there = interval_at(theirs, bars[0])
    moved = {
        place.note: transposed(pitch, there[0] - reader.interval[0], there[1] - reader.interval[1])
        for bar in bars
        for place in shown[bar]
        if (pitch := pitch_of(place)) is not None
    }
    octaves = 0 if reader.bottom is None else octaves_moved(moved.values(), reader.bottom)
    pitches = {note: Pitch(pitch.step, pitch.alter, pitch.octave + octaves) for note, pitch in moved.items()}
    notes = [place for bar in bars for place in shown[bar]]
    heads = [found for bar in bars if (found := _heads(shown[bar], pitches, reader))]
    stem = _common_stem(heads) if heads and any(map(_beamed, shown.values())) else ""
    writer = _Writer(reader, pitches, _kept_ties(notes), staves_of(part), stem)
    trembles = tremolo_share([theirs[bar] for bar in bars], line) > 0.5
    words = _label(full.root, line.part_index, octaves, trembles=trembles)
    for bar in bars:
        writer.write(ours[bar], theirs[bar], shown[bar], words if bar == bars[0] else "")
    return True


def _times(place: NotePlace, bar: PlacedBar) -> tuple[Fraction, Fraction]:
    return Fraction(place.offset, bar.quarter), Fraction(place.length, bar.quarter)


def _refine(part: etree._Element, bar: PlacedBar, lengths: set[Fraction]) -> bool:
    """Divide quarters finer, where the part's unit is too coarse for these lengths; whether that was needed."""
    divisions = bar.quarter // bar.division
    factor = math.lcm(divisions, *(length.denominator for length in lengths)) // divisions
    if factor == 1:
        return False
    if next(part.iter("divisions"), None) is None:
        _say_divisions(part)
    for element in part.iter("divisions", "duration", "offset"):
        element.text = decimal((exact(element.text) or Fraction(0)) * factor)
    return True


def _say_divisions(part: etree._Element) -> None:
    measure = part.find("measure")
    if measure is None:
        return
    attributes = first_attributes(measure)
    divisions = etree.Element("divisions")
    divisions.text = "1"
    attributes.insert(sum(1 for _ in attributes.iterchildren(*_BEFORE_DIVISIONS)), divisions)


def _label(full: etree._Element, index: int, octaves: int, *, trembles: bool) -> str:
    """Whose notes these are, whether they are held or tremolo, and where they really sound if that is not where they
    are printed."""
    name = _short_names(full)[index] + " trem." * trembles
    if not octaves:
        return name
    return f"{name} ({_OCTAVES[abs(octaves)]} {'lower' if octaves < 0 else 'higher'})"


def _short_names(full: etree._Element) -> list[str]:
    """What parts are called in short; those of one name are numbered."""
    entries = {entry.get("id"): entry for entry in full.iterfind("part-list/score-part")}
    names = []
    for part in full.iterfind("part"):
        entry = entries.get(part.get("id"), part)
        texts = (entry.findtext(tag) for tag in ("part-abbreviation", "part-name"))
        cleaned = (" ".join((text or "").split()) for text in texts)
        names.append(next((text for text in cleaned if text), part.get("id", "")))
    return numbered(names)


def _heads(places: Sequence[NotePlace], pitches: Mapping[etree._Element, Pitch], reader: Reader) -> range:
    """From the lowest to the highest note of a bar, in steps from the middle line; empty where there are none."""
    if reader.bottom is None:
        return range(0)
    middle = reader.bottom + TOP_LINE // 2
    steps = [position(pitches[place.note]) - middle for place in places if place.note in pitches]
    return range(min(steps), max(steps) + 1) if steps else range(0)


def _common_stem(heads: Sequence[range]) -> str:
    """Which way all stems of a cue point, so that with the player's rest on the other side of the notes everything is
    as near to the staff as it can be. A rest on the side of the beams is in their way. Rest opposite stems: common
    practice, no source."""
    reach = {"up": 0, "down": 0}
    for bar in heads:
        reach["up"] += bar[-1] + _STEM - _rest_at(bar, "up")
        reach["down"] += _rest_at(bar, "down") - bar[0] + _STEM
    farthest = max((step for bar in heads for step in (bar[0], bar[-1])), key=abs, default=0)
    return min(reach, key=lambda way: (reach[way], (way == "up") == (farthest >= 0)))


def _rest_at(heads: range, stem: str) -> int:
    """Where the player's rest hangs beside notes with such stems, in steps from the middle line: from a line, outside
    the staff."""
    if stem == "up":
        at = min(-TOP_LINE // 2, heads[0] - _REST_AWAY)
        return at - at % 2
    at = max(TOP_LINE // 2, heads[-1] + _REST_AWAY)
    return at + at % 2


def _kept_ties(places: Sequence[NotePlace]) -> Mapping[etree._Element, tuple[str, ...]]:
    """Which notes are tied to which, of those that are both in the cue."""
    kept: dict[etree._Element, tuple[str, ...]] = {}
    for here, there in pairwise(places):
        pitch = pitch_of(here)
        tied = {mark.get("type") for mark in highest(here).iterfind("notations/tied")}
        tied |= {tie.get("type") for tie in highest(here).iterfind("tie")}
        if pitch is not None and pitch == pitch_of(there) and "start" in tied and here.end == there.onset:
            kept[here.note] = (*kept.get(here.note, ()), "start")
            kept[there.note] = ("stop",)
    return kept


@dataclass(frozen=True, slots=True)
class _Writer:
    """Writes the bars of one cue. By note of the source: what pitch it gets, how it is tied."""

    reader: Reader
    pitches: Mapping[etree._Element, Pitch]
    ties: Mapping[etree._Element, tuple[str, ...]]
    staves: int
    stem: str  # of all notes; "" where each is as in a single voice

    def write(self, bar: PlacedBar, source: PlacedBar, places: Sequence[NotePlace], words: str) -> None:
        """Add a line to a bar after what stands there, in a voice of its own."""
        measure = bar.element
        if may_begin_rest(bar):
            write_rests(bar, self.staves)
        voices = [whole(voice.text, 1) for voice in measure.iterfind("note/voice")]
        several = self.staves > 1 or measure.find(".//staff") is not None
        tail = _Tail(measure, str(max(voices, default=1) + 1), several)
        divisions = Fraction(bar.quarter, bar.division)
        if measure.find("note") is None:
            ticks = source.full or max(place.offset + place.length for place in source.places)
            tail.own_rest(Fraction(ticks, source.quarter) * divisions)
        tail.back()
        cursor = Fraction(0)
        accidentals = {step: self._signature(step) for step in STEPS}
        altered: dict[tuple[str, int], float] = {}
        stems, beamed = self._stems(places), _beamed(places)
        if self.stem:
            self._move_rest(measure, _heads(places, self.pitches, self.reader))
        for place in places:
            offset, length = (value * divisions for value in _times(place, source))
            tail.on(offset - cursor)
            if words and "rest" not in place.children:
                tail.label(words)
                words = ""
            accidental = self._accidental(place, altered, accidentals)
            note = self._note(
                place, length, tail, accidental, stems.get(place.note), beamed=place.note in beamed
            )
            tail.add(note)
            cursor = offset + length

    def _signature(self, step: str) -> int:
        """What the key does to a step."""
        at = _SHARPS.index(step)
        return int(at < self.reader.fifths) - int(at >= 7 + self.reader.fifths)

    def _accidental(
        self, place: NotePlace, altered: dict[tuple[str, int], float], key: Mapping[str, int]
    ) -> str | None:
        """The sign before a note, where the key and the bar so far do not say what it is."""
        pitch = self.pitches.get(place.note)
        if pitch is None or self.reader.bottom is None:
            return None
        at = pitch.step, pitch.octave
        said = altered.get(at, key[pitch.step])
        if said == pitch.alter or "stop" in self.ties.get(place.note, ()):
            return None
        altered[at] = pitch.alter
        return _ACCIDENTALS.get(int(pitch.alter)) if pitch.alter.is_integer() else None

    def _move_rest(self, measure: etree._Element, heads: range) -> None:
        """Put the player's rest for the whole bar on the other side of the notes than their stems."""
        for note in measure.iterchildren("note") if heads else ():
            rest = note.find("rest[@measure='yes']")
            if rest is not None and note.find("cue") is None and note.findtext("staff", "1") == "1":
                at = (self.reader.bottom or 0) + TOP_LINE // 2 + _rest_at(heads, self.stem)
                rest[:] = []
                etree.SubElement(rest, "display-step").text = STEPS[at % 7]
                etree.SubElement(rest, "display-octave").text = str(at // 7)

    def _stems(self, places: Sequence[NotePlace]) -> Mapping[etree._Element, str]:
        """Which way stems point; as in a single voice: away from the middle line, under one beam alike."""
        if self.reader.bottom is None or self.stem:
            return {place.note: self.stem or "up" for place in places}
        found: dict[etree._Element, str] = {}
        group: list[NotePlace] = []
        for place in places:
            if place.note not in self.pitches:
                continue
            group.append(place)
            beam = place.note.findtext("beam")
            if beam in ("begin", "continue"):
                continue
            middle = self.reader.bottom + TOP_LINE // 2
            farthest = max((position(self.pitches[one.note]) - middle for one in group), key=abs)
            found |= dict.fromkeys((one.note for one in group), "up" if farthest < 0 else "down")
            group = []
        return found

    def _note(
        self,
        place: NotePlace,
        ticks: Fraction,
        tail: "_Tail",
        accidental: str | None,
        stem: str | None,
        *,
        beamed: bool,
    ) -> etree._Element:
        """A small note or rest. Order of elements: W3C musicxml.xsd 4.0, note."""
        source = place.children
        note = etree.Element("note")
        if place.note.get("print-object") == "no":
            note.set("print-object", "no")
        etree.SubElement(note, "cue")
        note.append(self._what(place))
        etree.SubElement(note, "duration").text = decimal(ticks)
        etree.SubElement(note, "voice").text = tail.voice
        kind, dots = _written(place)
        if kind:
            etree.SubElement(note, "type", size="cue").text = kind
            note.extend(etree.Element("dot") for _ in range(dots))
        if accidental:
            etree.SubElement(note, "accidental").text = accidental
        if "time-modification" in source:
            note.append(deepcopy(source["time-modification"]))
        if stem and "rest" not in source and kind not in ("whole", "breve"):
            etree.SubElement(note, "stem").text = stem
        if tail.several:
            etree.SubElement(note, "staff").text = "1"
        for beam in place.note.iterchildren("beam") if beamed else ():
            etree.SubElement(note, "beam", number=beam.get("number", "1")).text = beam.text
        self._notations(place, note)
        _sing(place, note)
        return note

    def _what(self, place: NotePlace) -> etree._Element:
        """A pitch, a rest, or a stroke for a player whose staff has no pitches."""
        pitch = self.pitches.get(place.note)
        if pitch is None:
            return etree.Element("rest")
        if self.reader.bottom is None:
            stroke = etree.Element("unpitched")
            etree.SubElement(stroke, "display-step").text = _STROKE[0]
            etree.SubElement(stroke, "display-octave").text = _STROKE[1]
            return stroke
        found = etree.Element("pitch")
        etree.SubElement(found, "step").text = pitch.step
        if pitch.alter:
            etree.SubElement(found, "alter").text = f"{pitch.alter:g}"
        etree.SubElement(found, "octave").text = str(pitch.octave)
        return found

    def _notations(self, place: NotePlace, note: etree._Element) -> None:
        """Ties, tuplets and articulations."""
        notations = etree.Element("notations")
        for kind in sorted(self.ties.get(place.note, ()), reverse=True):
            etree.SubElement(notations, "tied", type=kind)
        for tuplet in place.marks("tuplet"):
            kept = ("type", "number", "bracket", "show-number", "show-type")
            own = {name: value for name in kept if (value := tuplet.get(name))}
            copy = etree.SubElement(notations, "tuplet", own)
            copy.extend(deepcopy(child) for child in tuplet)
        signs = [sign.tag for several in place.marks("articulations") for sign in several]
        if said := [sign for sign in _ARTICULATIONS if sign in signs]:
            articulations = etree.SubElement(notations, "articulations")
            for sign in said:
                etree.SubElement(articulations, sign)
        if len(notations):
            note.append(notations)


class _Tail:
    """The end of a bar, before its right barline, where a voice is added."""

    def __init__(self, measure: etree._Element, voice: str, several: bool) -> None:
        self.voice, self.several = voice, several
        self._measure, self._before = measure, next(iter(right_barlines(measure)), None)

    def add(self, element: etree._Element) -> None:
        if self._before is None:
            self._measure.append(element)
        else:
            self._before.addprevious(element)

    def back(self) -> None:
        """Go to the start of the bar."""
        place = Fraction(0)
        for element in self._measure.iterchildren("note", "backup", "forward"):
            if element.find("chord") is None:
                length = exact(element.findtext("duration")) or Fraction(0)
                place += -length if element.tag == "backup" else length
        if place > 0:
            backup = etree.Element("backup")
            etree.SubElement(backup, "duration").text = decimal(place)
            self.add(backup)

    def on(self, ticks: Fraction) -> None:
        """Leave so much time empty."""
        if ticks > 0:
            forward = etree.Element("forward")
            etree.SubElement(forward, "duration").text = decimal(ticks)
            etree.SubElement(forward, "voice").text = self.voice
            if self.several:
                etree.SubElement(forward, "staff").text = "1"
            self.add(forward)

    def own_rest(self, ticks: Fraction) -> None:
        """The player's own rest, where a bar says nothing at all."""
        note = etree.Element("note")
        etree.SubElement(note, "rest", measure="yes")
        etree.SubElement(note, "duration").text = decimal(ticks)
        etree.SubElement(note, "voice").text = "1"
        if self.several:
            etree.SubElement(note, "staff").text = "1"
        self.add(note)

    def label(self, text: str) -> None:
        """Say whose notes follow."""
        direction = etree.Element("direction", placement="above")
        kind = etree.SubElement(direction, "direction-type")
        words = etree.SubElement(kind, "words", {"font-style": "italic", "font-size": WORDS_PT})
        words.text = text
        etree.SubElement(direction, "voice").text = self.voice
        if self.several:
            etree.SubElement(direction, "staff").text = "1"
        self.add(direction)


def _beamed(places: Sequence[NotePlace]) -> set[etree._Element]:
    """Notes under beams that all of them are there for: some may have gone into a held one."""
    found, group = set[etree._Element](), list[etree._Element]()
    for place in places:
        beam = (place.note.findtext("beam") or "").strip()
        if beam == "begin":
            group = [place.note]
        elif group and beam:
            group.append(place.note)
        elif "rest" not in place.children:
            group = []
        if beam == "end":
            found.update(group)
            group = []
    return found


def _written(place: NotePlace) -> tuple[str, int]:
    """Note value and dots, as the source says; nothing where it does not."""
    kind = place.children.get("type")
    name = "" if kind is None else (kind.text or "").strip()
    return (name, len(place.note.findall("dot"))) if name in NOTE_VALUES_QL else ("", 0)


def _sing(place: NotePlace, note: etree._Element) -> None:
    """The first verse of what is sung."""
    lyric = place.children.get("lyric")
    if lyric is None:
        return
    sung = etree.SubElement(note, "lyric", number="1")
    sung.extend(deepcopy(child) for child in lyric.iterchildren("syllabic", "text", "elision"))
    if sung.find("text") is None:
        note.remove(sung)
