"""Cue notes that a full score has no use for, taken out before engraving.

In: a partwise MusicXML tree that is ours to change.  Always true: no sounding note, rest, bar or duration changes.

Cues tell a player what another part plays.  Where they stand on the staff among notes of the player's own, say whose
they are, and that part is printed in the same system, they only make both hard to read.  Cues in rests stay, and so do
small notes for anything else, such as another verse.
"""

from collections import defaultdict
from collections.abc import Collection, Iterator
from fractions import Fraction
from itertools import chain
from typing import Final

from lxml import etree

from optimizer.engrave.bars import NotePlace, PlacedBar, placed_bars
from optimizer.engrave.directions import remove, remove_shown
from optimizer.engrave.voices import empty

_AROUND: Final = "()[]. "  # around the name of the part that is cued
# When (quarters from the start of the bar) and what: step and alteration, in whichever octave.
_Sound = tuple[Fraction, str, str]


def drop_doubled_cues(tree: etree._Element) -> None:
    """Clear up a tree in place."""
    if next(tree.iter("cue"), None) is None:
        return
    parts = list(tree.iterchildren("part"))
    cued = [
        (part, index, cues)
        for part in parts
        for index, bar in enumerate(placed_bars(part))
        if (cues := _among_own_notes(bar))
    ]
    heard = _heard(parts, {index for _, index, _ in cued})
    for part, index, (quarter, places) in cued:
        sounds = set(_sounds(quarter, places))
        others = (other for other in parts if other is not part and sounds <= heard[other, index])
        words = _words(part[index], {name for other in others for name in _names(tree, other)})
        for element in words:
            remove_shown(element)
        for place in places if words else ():
            if place.note.find("chord") is None:
                empty(place)
            else:
                remove(place.note)


_Cues = tuple[int, list[NotePlace]]  # ticks a quarter, and the cues of a bar


def _among_own_notes(bar: PlacedBar) -> _Cues | None:
    """The cues of a bar, rests of their voices among them, where each stands beside a note of the player's own."""
    cues = [place for place in bar.notes() if _is_cue(place)]
    own = [place for place in bar.notes() if not (_is_cue(place) or _is_rest(place))]
    if not cues or not all(any(_meet(cue, note) for note in own) for cue in cues):
        return None
    voices = {place.voice for place in cues} - {place.voice for place in own}
    rests = [
        place for place in bar.notes() if _is_rest(place) and not _is_cue(place) and place.voice in voices
    ]
    return bar.quarter, [*cues, *rests]


def _meet(cue: NotePlace, note: NotePlace) -> bool:
    return cue.staff == note.staff and cue.onset < note.end and note.onset < cue.end


def _is_rest(place: NotePlace) -> bool:
    return place.note.find("rest") is not None


def _is_cue(place: NotePlace) -> bool:
    return place.note.find("cue") is not None


def _heard(
    parts: Collection[etree._Element], bars: Collection[int]
) -> dict[tuple[etree._Element, int], set[_Sound]]:
    """What each part plays in some bars."""
    heard: dict[tuple[etree._Element, int], set[_Sound]] = defaultdict(set)
    for part in parts if bars else ():
        for index, bar in enumerate(placed_bars(part)):
            if index in bars:
                own = [place for place in bar.notes() if not _is_cue(place)]
                heard[part, index] = set(_sounds(bar.quarter, own))
    return heard


def _sounds(quarter: int, places: Collection[NotePlace]) -> Iterator[_Sound]:
    for place in places:
        pitch = place.note.find("pitch")
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
