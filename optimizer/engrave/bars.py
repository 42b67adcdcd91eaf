"""Where things stand in the bars of a score, and the notes in which voices.

In: a partwise MusicXML tree.  Out: `PlacedBar`, in ticks of the part (a unit in which all its durations are whole), and
for what is no note a `Place`, in quarters, alike for all parts.  Always true: nothing changes.

To look at every element takes most of the time of making a score fit to print, so it is done once: here.
"""

import math
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from functools import lru_cache
from typing import Final

from lxml import etree

from optimizer.score.walk import Children, exact, read_meter

_MARKS: Final = frozenset({"attributes", "direction", "sound"})


@dataclass(frozen=True, slots=True, eq=False)
class Place:
    """Attributes, a direction or a sound in a bar. `offset` from the start of the bar and the bar's `length`, in
    quarters, a direction's own `<offset>` not counted; `division`: quarters a division."""

    bar_index: int
    offset: Fraction
    length: Fraction
    division: Fraction
    element: etree._Element

    @property
    def own_offset(self) -> Fraction:
        """How much later than it is written a direction stands, by its own `<offset>`, in quarters."""
        return self.quarters(self.element.find("offset"))

    def quarters(self, divisions: etree._Element | None) -> Fraction:
        """What an element says in divisions, in quarters; 0 where there is none, or no number in it."""
        return Fraction(0) if divisions is None else (exact(divisions.text) or Fraction(0)) * self.division


Marks = Sequence[Sequence[Place]]  # of each part, in the order of the file


@dataclass(slots=True, eq=False)
class NotePlace:
    """A note in ticks from the start of its bar (`offset`) and of the part; `order` as written in the file.

    Grace notes begin and end at the same time; `voice` is "" where none is given; `children` by name, of several of one
    name the first.
    """

    offset: int
    onset: int
    end: int
    order: int
    voice: str
    staff: str
    note: etree._Element
    children: Children

    @property
    def length(self) -> int:
        return self.end - self.onset

    def marks(self, tag: str) -> Sequence[etree._Element]:
        """Notations of this name."""
        if "notations" not in self.children:
            return ()
        return [mark for several in self.note.iterchildren("notations") for mark in several.iterchildren(tag)]

    def chord(self) -> list[etree._Element]:
        """The note and the others of its chord, which follow it in the file."""
        notes = [self.note]
        for after in self.note.itersiblings():
            if after.tag != "note" or after.find("chord") is None:
                break
            notes.append(after)
        return notes


@dataclass(slots=True)
class PlacedBar:
    """What stands in a bar. `places`: all notes but those of chords after their first; `chords`: these; `marks`: its
    attributes, directions and sounds.

    `beat`: what is beamed together, `full`: what the time signature asks for (None: nothing), both in ticks;
    `quarter`, `division`: a quarter and a unit of the file's durations in ticks; `clefs` by staff, as they were last.
    """

    element: etree._Element
    quarter: int
    division: int
    beat: int
    full: int | None
    clefs: dict[str, etree._Element]
    places: list[NotePlace] = field(default_factory=list)
    chords: list[NotePlace] = field(default_factory=list)
    marks: list[Place] = field(default_factory=list)

    def notes(self) -> list[NotePlace]:
        """All notes that take time, in the order of the file."""
        notes = (place for place in (*self.places, *self.chords) if place.length)
        return sorted(notes, key=lambda place: place.order)

    def voices(self) -> list[list[NotePlace]]:
        """The places of each voice that take time, in the order of the file."""
        voices: dict[str, list[NotePlace]] = defaultdict(list)
        for place in self.places:
            if place.end > place.onset:
                voices[place.voice].append(place)
        return list(voices.values())


def placed_bars(part: etree._Element) -> list[PlacedBar]:
    """The bars of a part with their places."""
    ticks = _ticks_a_quarter(part)
    bar = PlacedBar(part, ticks, ticks, ticks, None, {})
    bars: list[PlacedBar] = []
    start = order = 0
    for index, element in enumerate(part.iterchildren("measure")):
        bar = PlacedBar(element, ticks, bar.division, bar.beat, bar.full, bar.clefs)
        offset = onset = longest = 0
        found: list[tuple[int, int, etree._Element]] = []
        for child in element:
            tag = child.tag
            if tag == "note":
                children: Children = {entry.tag: entry for entry in child.iterchildren(reversed=True)}
                length = _length(children) * bar.division
                alone = "chord" not in children
                if alone:
                    onset = offset
                    offset += length
                place = NotePlace(
                    onset,
                    start + onset,
                    start + onset + length,
                    order,
                    _text(children, "voice", ""),
                    _text(children, "staff", "1"),
                    child,
                    children,
                )
                order += 1
                (bar.places if alone else bar.chords).append(place)
            elif tag == "backup":
                offset -= _duration(child) * bar.division
            elif tag == "forward":
                offset += _duration(child) * bar.division
            elif tag in _MARKS:
                if tag == "attributes":
                    _read_attributes(child, bar)
                found.append((offset, bar.division, child))
            longest = max(longest, offset)
        start += longest
        if found:
            bar.marks = _marks(index, found, longest, ticks)
        bars.append(bar)
    return bars


def placed_parts(tree: etree._Element) -> list[list[PlacedBar]]:
    """The bars of all parts."""
    return [placed_bars(part) for part in tree.iterchildren("part")]


def marks_of(parts: Sequence[Sequence[PlacedBar]]) -> Marks:
    """What is no note, of all bars."""
    return [[place for bar in bars for place in bar.marks] for bars in parts]


def still_there(marks: Marks) -> Marks:
    """What has not been taken out of the tree since."""
    return [[place for place in part if place.element.getparent() is not None] for part in marks]


def named(places: Iterable[Place], tag: str) -> Iterator[Place]:
    """Those whose elements have this name."""
    return (place for place in places if place.element.tag == tag)


def _marks(
    bar_index: int, found: Sequence[tuple[int, int, etree._Element]], longest: int, ticks: int
) -> list[Place]:
    length = _quarters(longest, ticks)
    return [
        Place(bar_index, _quarters(offset, ticks), length, _quarters(division, ticks), element)
        for offset, division, element in found
    ]


@lru_cache(1 << 12)
def _quarters(length: int, ticks: int) -> Fraction:
    return Fraction(length, ticks)


def _read_attributes(attributes: etree._Element, bar: PlacedBar) -> None:
    for child in attributes:
        tag = child.tag
        if tag == "divisions":
            divisions = _whole(child.text)
            bar.division = bar.quarter // divisions if divisions else bar.division
        elif tag == "time":
            meter = read_meter(child)
            bar.full = math.ceil(bar.quarter * meter.length_ql) if meter else None
            if meter:  # a quarter, or three eighths (16ths ...) in compound time
                compound = meter.beat_type >= 8 and meter.beats % 3 == 0
                bar.beat = max(1, bar.quarter * 12 // meter.beat_type) if compound else bar.quarter
        elif tag == "clef":
            bar.clefs = {**bar.clefs, child.get("number", "1"): child}


def _length(children: Children) -> int:
    duration = children.get("duration")
    return 0 if duration is None else _whole(duration.text) or 0


def _duration(element: etree._Element) -> int:
    return _whole(element.findtext("duration")) or 0


def _text(children: Children, tag: str, default: str) -> str:
    child = children.get(tag)
    return default if child is None else child.text or ""


def _ticks_a_quarter(part: etree._Element) -> int:
    """A unit in which all durations of a part are whole."""
    divisions = (_whole(element.text) for element in part.iterfind("measure/attributes/divisions"))
    return math.lcm(*(number for number in divisions if number))


@lru_cache(1 << 12)
def _whole(text: str | None) -> int | None:
    """A whole number, not negative; for divisions and durations the schema allows others, the library does not."""
    value = exact(text)
    return int(value) if value is not None and value >= 0 and value.denominator == 1 else None
