"""Beams that do not close inside their bar, those of graces, and tuplets under them, mended before engraving.

In: the voices of a `PlacedBar`, ours to change.  Always true: beams that are whole stay as they are, and no beam of
ours ends inside a tuplet.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import Final

from lxml import etree

from optimizer.engrave.bars import NotePlace, PlacedBar

_BEAMED_TYPES: Final = frozenset({"eighth", "16th", "32nd", "64th", "128th", "256th", "512th", "1024th"})
_AFTER_BEAMS: Final = (
    "notations",
    "lyric",
    "play",
    "listen",
)  # order of elements: W3C musicxml.xsd 4.0, note


def mend_beams(voices: Sequence[Sequence[NotePlace]], beat: int) -> None:
    """Beam by beats, in ticks, where beams are broken; whole beams beside them are kept."""
    for places in voices:
        beams = _beams(places)
        if not any(beams):
            continue
        kept = _whole_groups(beams)
        for is_kept, run in groupby(range(len(places)), kept.__contains__):
            indices = list(run)
            if not is_kept and any(beams[index] for index in indices):
                _beam_by_beats([places[index] for index in indices], beat)


def flag_graces(bar: PlacedBar) -> None:
    """Grace notes on two staves get flags: the library draws no beam between them, and long stems without any."""
    for (grace, _), run in groupby(bar.places, key=lambda place: (not place.length, place.voice)):
        places = [place for place in run if grace and "beam" in place.children]
        if len({place.staff for place in places}) > 1:
            for place in places:
                _drop_beams(place)


def _drop_beams(place: NotePlace) -> None:
    for beam in place.note.findall("beam"):
        place.note.remove(beam)
    place.children.pop("beam", None)


def _beams(places: Sequence[NotePlace]) -> list[str | None]:
    """Of each note what its first-level beam does there."""
    return [beam.text if (beam := place.children.get("beam")) is not None else None for place in places]


def _whole_groups(beams: Sequence[str | None]) -> set[int]:
    """Indices of the notes under first-level beams that begin and end."""
    found: set[int] = set()
    first: int | None = None
    for index, beam in enumerate(beams):
        if beam == "begin":
            first = index
        elif beam == "end":
            if first is not None:
                found.update(range(first, index + 1))
            first = None
    return found


def _beam_by_beats(places: Sequence[NotePlace], beat: int) -> None:
    groups: list[list[NotePlace]] = []
    last: int | None = None
    in_tuplet, of_tuplet = False, 0
    for place in places:
        _drop_beams(place)
        kinds = {mark.get("type") for mark in place.marks("tuplet")}
        if not in_tuplet:
            of_tuplet = place.offset // beat
        in_tuplet = (in_tuplet or "start" in kinds) and "stop" not in kinds
        if "rest" in place.children or place.note.findtext("type") not in _BEAMED_TYPES:
            last = None
            continue
        if last is None or of_tuplet != last:
            groups.append([])
        groups[-1].append(place)
        last = of_tuplet
    for group in groups:
        for order, place in enumerate(group if len(group) > 1 else ()):
            beam = place.children["beam"] = etree.Element("beam", number="1")
            beam.text = "begin" if order == 0 else "end" if order == len(group) - 1 else "continue"
            _place_beam(place.note, beam)


def _place_beam(note: etree._Element, beam: etree._Element) -> None:
    for index, child in enumerate(note):
        if child.tag in _AFTER_BEAMS:
            note.insert(index, beam)
            return
    note.append(beam)


@dataclass(frozen=True, slots=True)
class _Tuplet:
    """A tuplet in ticks from the start of its bar; `mark` is its beginning in the file; `beamed`: a beam is as long;
    `alone`: it is one note."""

    offset: int
    end: int
    ratio: tuple[str, str]
    voice: str
    staff: str
    order: int
    beamed: bool
    alone: bool
    shown: bool
    mark: etree._Element


def mend_tuplets(voices: Sequence[Sequence[NotePlace]]) -> None:
    """A beam as long as a tuplet needs no bracket, nor does a single note, repeated (tremolo); voices of a staff that
    divide alike need one number for all."""
    tuplets = [tuplet for places in voices for tuplet in _tuplets(places)]
    for tuplet in tuplets:
        if tuplet.alone:
            tuplet.mark.set("bracket", "no")
        if tuplet.beamed:
            tuplet.mark.set("bracket", "no")
            tuplet.mark.attrib.pop("placement", None)  # the number goes with the beam
    for tuplet in tuplets:
        if any(_speaks_for(other, tuplet) for other in tuplets):
            tuplet.mark.set("bracket", "no")
            tuplet.mark.set("show-number", "none")


def _speaks_for(other: _Tuplet, tuplet: _Tuplet) -> bool:
    """Whether the number of another voice's tuplet, as long or longer, tells all about this one."""
    if not other.shown or other.voice == tuplet.voice:
        return False
    if (other.staff, other.ratio) != (tuplet.staff, tuplet.ratio):
        return False
    if (other.offset, other.end) == (tuplet.offset, tuplet.end):
        return (not other.beamed, other.order) < (not tuplet.beamed, tuplet.order)
    return other.offset <= tuplet.offset and tuplet.end <= other.end


def _tuplets(places: Sequence[NotePlace]) -> Iterator[_Tuplet]:
    """The tuplets of a voice; one that is not closed lasts to the end of the bar."""
    opened: dict[str, tuple[int, etree._Element]] = {}
    for index, place in enumerate(places):
        for mark in place.marks("tuplet"):
            number = mark.get("number", "1")
            if mark.get("type") == "start":
                opened[number] = index, mark
            elif number in opened:
                first, start = opened.pop(number)
                yield _tuplet(places[first : index + 1], start)
    for first, start in opened.values():
        yield _tuplet(places[first:], start)


def _tuplet(places: Sequence[NotePlace], mark: etree._Element) -> _Tuplet:
    first, last = places[0], places[-1]
    beams = _beams(places)
    change = first.children.get("time-modification")
    return _Tuplet(
        offset=first.offset,
        end=last.offset + last.length,
        ratio=("", "")
        if change is None
        else (change.findtext("actual-notes", ""), change.findtext("normal-notes", "")),
        voice=first.voice,
        staff=first.staff,
        order=first.order,
        beamed=beams[0] == "begin" and beams[-1] == "end" and not {"begin", "end"} & set(beams[1:-1]),
        alone=len(places) == 1,
        shown=first.note.get("print-object") != "no" and mark.get("show-number") != "none",
        mark=mark,
    )
