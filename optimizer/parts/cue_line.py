"""The line that a cue shows: one voice of another part, made plain.

In: a bar of the full score.  Out: its notes and rests, in order, none at the same time as another.  Always true:
together they last as long as what they show.

Of chords the highest note counts.  Tremolo on two notes, or written out, is one held note: the first, tied to itself
where that takes two note values; one that no two fill stays as it is.  So is a note with strokes in a tuplet.
"""

from collections.abc import Collection, Iterator, Mapping, Sequence
from copy import deepcopy
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from lxml import etree

from optimizer.engrave.bars import NotePlace, PlacedBar, placed_parts
from optimizer.parts.tremolo import Struck, begins_pair, has_strokes, is_marked, written_out
from optimizer.score.model import Note, Pitch, Score
from optimizer.score.walk import NOTE_VALUES_QL, exact, whole

# Note values from a demisemiquaver to a breve by their length in quarters, with one dot too: name and dots.
_VALUES: Final = {
    value_ql * factor: (name, dots)
    for name, value_ql in NOTE_VALUES_QL.items()
    if Fraction(1, 8) <= value_ql <= 8
    for dots, factor in enumerate((Fraction(1), Fraction(3, 2)))
}


@dataclass(frozen=True, slots=True)
class Line:
    """One voice on one staff of a part of the full score."""

    part_index: int
    staff: int
    voice: str


@dataclass(frozen=True, slots=True, eq=False)
class Sources:
    """The full score, from which cues are taken: its tree, how it is read, the bars of its parts; by bar what each line
    sounds, grace notes apart; in which bars (part, bar) a part plays."""

    root: etree._Element
    score: Score
    bars: Sequence[Sequence[PlacedBar]]
    notes: Sequence[Mapping[Line, Sequence[Note]]]
    played: Collection[tuple[int, int]]


def sources(root: etree._Element, score: Score) -> Sources:
    """A full score made ready, once for all parts."""
    own = [note for note in score.notes if not note.cue]
    notes: list[dict[Line, list[Note]]] = [{} for _ in score.measures]
    for note in own:
        if note.sounding_midi is not None and not note.grace:
            line = Line(note.part_index, note.staff, note.voice)
            notes[note.measure_index].setdefault(line, []).append(note)
    played = {(note.part_index, note.measure_index) for note in own}
    return Sources(root, score, placed_parts(root), notes, played)


def melody(bar: PlacedBar, line: Line) -> list[NotePlace]:
    """The notes and rests of a line; of chords the main note, whose pitch is the highest's."""
    found: list[NotePlace] = []
    places = _places(bar, line)
    tremolo = {run.start: run for run in _in_turn(places, bar)}
    index = 0
    while index < len(places):
        run = tremolo.get(index, range(index, index + 1))
        several = places[run.start : run.stop]
        found += (_held(several, bar) if len(run) > 1 or _abbreviates(several[0]) else []) or several
        index = run.stop
    return found


def tremolo_share(bars: Sequence[PlacedBar], line: Line) -> float:
    """How much of a line's notes is tremolo, 0 to 1."""
    shaken = ticks = 0
    for bar in bars:
        places = _places(bar, line)
        in_turn = {index for run in _in_turn(places, bar) for index in run}
        for index, place in enumerate(places):
            if "rest" not in place.children:
                ticks += place.length
                shaken += place.length * (index in in_turn or is_marked(place.note))
    return shaken / ticks if ticks else 0.0


def pitch_of(place: NotePlace) -> Pitch | None:
    """What a place sounds at the top, as it is written in its own part."""
    return None if "pitch" not in place.children else _read_pitch(highest(place))


def highest(place: NotePlace) -> etree._Element:
    """Of a chord the note that sounds highest."""

    def height(note: etree._Element) -> float:
        return _read_pitch(note).midi if note.find("pitch") is not None else -1.0

    return max(place.chord(), key=height)


def _read_pitch(note: etree._Element) -> Pitch:
    step, octave = note.findtext("pitch/step", "C").strip(), whole(note.findtext("pitch/octave"), 4)
    return Pitch(step, float(exact(note.findtext("pitch/alter")) or 0), octave)


def _places(bar: PlacedBar, line: Line) -> list[NotePlace]:
    found: list[NotePlace] = []
    end = 0
    for place in sorted(bar.places, key=lambda place: (place.offset, place.order)):
        here = (place.voice or "1", place.staff) == (line.voice, str(line.staff))
        whole_bar = "rest" in place.children and place.children["rest"].get("measure") == "yes"
        if here and place.length and place.offset >= end and not whole_bar and "cue" not in place.children:
            found.append(place)
            end = place.offset + place.length
    return found


def _in_turn(places: Sequence[NotePlace], bar: PlacedBar) -> Iterator[range]:
    """Which places, in succession, are one tremolo."""
    yield from (range(at, at + 2) for at, place in enumerate(places[:-1]) if begins_pair(place.note))
    yield from written_out([_struck(place, bar) for place in places])


def _abbreviates(place: NotePlace) -> bool:
    """Whether a note stands for several of a tuplet: without its strokes the tuplet tells nothing."""
    return "time-modification" in place.children and has_strokes(place.note)


def _struck(place: NotePlace, bar: PlacedBar) -> Struck:
    pitch = pitch_of(place)
    offset, length = (Fraction(ticks, bar.quarter) for ticks in (place.offset, place.length))
    return offset, length, None if pitch is None else pitch.midi


def _held(places: Sequence[NotePlace], bar: PlacedBar) -> list[NotePlace]:
    """The first note held in place of all; nothing where no note values are as long."""
    first, found = places[0], list[NotePlace]()
    offset, onset = first.offset, first.onset
    values = _values(Fraction(places[-1].end - first.onset, bar.quarter))
    for number, length_ql in enumerate(values, 1):
        ticks = int(length_ql * bar.quarter)
        note = _plain(first, *_VALUES[length_ql], tied=number < len(values))
        children = {child.tag: child for child in note.iterchildren(reversed=True)}
        found.append(
            NotePlace(offset, onset, onset + ticks, first.order, first.voice, first.staff, note, children)
        )
        offset, onset = offset + ticks, onset + ticks
    return found if onset == places[-1].end else []


def _values(length_ql: Fraction) -> list[Fraction]:
    """The note value that is so long, or two that are together, the longer first."""
    if length_ql in _VALUES:
        return [length_ql]
    split = (value for value in sorted(_VALUES, reverse=True) if length_ql - value in _VALUES)
    return next(([value, length_ql - value] for value in split), [])


def _plain(place: NotePlace, name: str, dots: int, *, tied: bool) -> etree._Element:
    """A note of another value, with the pitch of a place."""
    note = etree.Element("note")
    note.extend(deepcopy(pitch) for pitch in highest(place).iterchildren("pitch"))
    etree.SubElement(note, "type").text = name
    note.extend(etree.Element("dot") for _ in range(dots))
    if tied:
        etree.SubElement(etree.SubElement(note, "notations"), "tied", type="start")
    return note
