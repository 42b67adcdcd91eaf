"""Cue notes that a full score has no use for, taken out before engraving.

In: a partwise MusicXML tree that is ours to change.  Always true: no sounding note, rest, bar or duration changes.

Cues tell a player what another part plays.  Where they stand on the staff among notes of the player's own, say whose
they are, and that part is printed in the same system, they only make both hard to read.  Cues in rests stay, and so do
small notes for anything else, such as another verse.
"""

from collections.abc import Collection, Iterator, Sequence
from fractions import Fraction
from itertools import chain
from typing import Final

from lxml import etree

from optimizer.engrave.bars import NotePlace, PlacedBar
from optimizer.engrave.directions import remove, remove_shown
from optimizer.engrave.voices import empty

_AROUND: Final = "()[]. "  # around the name of the part that is cued
# When (quarters from the start of the bar) and what: step and alteration, in whichever octave.
_Sound = tuple[Fraction, str, str]


def drop_doubled_cues(tree: etree._Element, parts: Sequence[Sequence[PlacedBar]]) -> None:
    """Clear up a tree, and the bars of its parts, in place."""
    cued = [
        (part_index, bar_index, cues)
        for part_index, bars in enumerate(parts)
        for bar_index, bar in enumerate(bars)
        if (cues := _among_own_notes(bar))
    ]
    names = [set(_names(tree, part)) for part in tree.iterchildren("part")] if cued else []
    for part_index, bar_index, cues in cued:
        bar = parts[part_index][bar_index]
        sounds = set(_sounds(bar.quarter, cues))
        others = (
            other
            for other, bars in enumerate(parts)
            if other != part_index and sounds <= _heard(bars[bar_index])
        )
        words = _words(bar.element, {name for other in others for name in names[other]})
        for element in words:
            remove_shown(element)
        for place in cues if words else ():
            _drop(bar, place)


def _among_own_notes(bar: PlacedBar) -> list[NotePlace]:
    """The cues of a bar, rests of their voices among them, where each stands beside a note of the player's own."""
    if not any("cue" in place.children for place in (*bar.places, *bar.chords)):
        return []
    notes = bar.notes()
    cues = [place for place in notes if _is_cue(place)]
    own = [place for place in notes if not (_is_cue(place) or _is_rest(place))]
    if not all(any(_meet(cue, note) for note in own) for cue in cues):
        return []
    voices = {place.voice for place in cues} - {place.voice for place in own}
    rests = [place for place in notes if _is_rest(place) and not _is_cue(place) and place.voice in voices]
    return [*cues, *rests]


def _meet(cue: NotePlace, note: NotePlace) -> bool:
    return cue.staff == note.staff and cue.onset < note.end and note.onset < cue.end


def _is_rest(place: NotePlace) -> bool:
    return "rest" in place.children


def _is_cue(place: NotePlace) -> bool:
    return "cue" in place.children


def _drop(bar: PlacedBar, place: NotePlace) -> None:
    """Nothing in place of a cue, or of a rest among cues, for as long."""
    if "chord" in place.children:
        remove(place.note)
        bar.chords.remove(place)
    else:
        empty(place)
        bar.places.remove(place)


def _heard(bar: PlacedBar) -> set[_Sound]:
    """What a part plays in a bar."""
    return set(_sounds(bar.quarter, [place for place in bar.notes() if not _is_cue(place)]))


def _sounds(quarter: int, places: Collection[NotePlace]) -> Iterator[_Sound]:
    for place in places:
        pitch = place.children.get("pitch")
        if pitch is not None:
            yield Fraction(place.offset, quarter), pitch.findtext("step", ""), pitch.findtext("alter", "0")


def _names(tree: etree._Element, part: etree._Element) -> Iterator[str]:
    for entry in tree.iterfind("part-list/score-part"):
        if entry.get("id") == part.get("id"):
            texts = chain(entry.iterfind("part-name"), entry.iterfind("part-abbreviation"))
            yield from (_bare(text.text) for text in texts)


def _bare(text: str | None) -> str:
    return (text or "").strip(_AROUND).casefold()


def _words(bar: etree._Element, names: Collection[str]) -> list[etree._Element]:
    """What says whose the cues of a bar are."""
    return [words for words in bar.findall("direction/direction-type/words") if _bare(words.text) in names]
