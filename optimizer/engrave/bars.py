"""Where the notes of a part stand, bar by bar, and in which voices.

In: a part of a partwise MusicXML tree.  Out: `PlacedBar`, in ticks of the part (`places.ticks_a_quarter`).  Always
true: a bar has been read to its end when it is handed out, so that it may be changed.
"""

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, field

from lxml import etree

from optimizer.engrave.places import ticks_a_quarter, whole


@dataclass(slots=True)
class NotePlace:
    """A note in ticks from the start of its bar (`offset`) and of the part; `order` as written in the file.

    Grace notes begin and end at the same time; `voice` is "" where none is given.
    """

    offset: int
    onset: int
    end: int
    order: int
    voice: str
    staff: str
    note: etree._Element

    @property
    def length(self) -> int:
        return self.end - self.onset


@dataclass(slots=True)
class PlacedBar:
    """What stands in a bar. `places`: all notes but those of chords after their first; `chords`: these.

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

    def notes(self) -> list[NotePlace]:
        """All notes that take time, in the order of the file."""
        notes = (place for place in (*self.places, *self.chords) if place.length)
        return sorted(notes, key=lambda place: place.order)

    def voices(self) -> list[list[NotePlace]]:
        """The places of each voice that take time, in the order of the file."""
        voices: dict[str, list[NotePlace]] = defaultdict(list)
        for place in self.places:
            if place.length:
                voices[place.voice].append(place)
        return list(voices.values())


def placed_bars(part: etree._Element) -> Iterator[PlacedBar]:
    """The bars of a part with their places."""
    ticks = ticks_a_quarter(part)
    division, beat, full, start, order = ticks, ticks, None, 0, 0
    clefs: dict[str, etree._Element] = {}
    for element in part.iterchildren("measure"):
        bar = PlacedBar(element, ticks, division, beat, full, clefs)
        offset = onset = longest = 0
        for child in element:
            tag = child.tag
            if tag == "attributes":
                _read_attributes(child, bar)
                continue
            told = {entry.tag: entry.text for entry in child}  # quicker than to ask for each by name
            length = (whole(told.get("duration")) or 0) * bar.division
            alone = "chord" not in told
            if alone:
                onset = offset
                offset += -length if tag == "backup" else length
                longest = max(longest, offset)
            if tag == "note":
                place = NotePlace(
                    offset=onset,
                    onset=start + onset,
                    end=start + onset + length,
                    order=order,
                    voice=told.get("voice", "") or "",
                    staff=told.get("staff", "1") or "",
                    note=child,
                )
                order += 1
                (bar.places if alone else bar.chords).append(place)
        start += longest
        division, beat, full = bar.division, bar.beat, bar.full
        yield bar


def _read_attributes(attributes: etree._Element, bar: PlacedBar) -> None:
    divisions = whole(attributes.findtext("divisions"))
    if divisions:
        bar.division = bar.quarter // divisions
    time = attributes.find("time")
    if time is not None:
        beats, unit = whole(time.findtext("beats")), whole(time.findtext("beat-type"))
        bar.full = bar.quarter * 4 * beats // unit if beats and unit else None
        if beats and unit:  # a quarter, or three eighths in compound time
            bar.beat = bar.quarter * 3 // 2 if unit == 8 and beats % 3 == 0 else bar.quarter
    for clef in attributes.iterchildren("clef"):
        bar.clefs[clef.get("number", "1")] = clef
