"""Two players who share a staff in the score, each with a part of their own.

In: the tree of one part, ours to change, and which player it is for.  Always true: each player has the upper or the
lower notes where there are two, and all notes where both play the same; who does not play while the other plays alone
has rests; time stays; who enters after rests is told the dynamics that the other one got meanwhile.

Who plays what is told by voices, by chords, and by words: "1.", "2.", "a 2", "div.", "unis." and their like.
"""

import re
from collections.abc import Collection, Iterator, Mapping
from copy import deepcopy
from enum import Enum
from fractions import Fraction
from itertools import groupby
from typing import Final

from lxml import etree

from optimizer.engrave.bars import NotePlace, PlacedBar, placed_bars
from optimizer.engrave.directions import remove, remove_shown
from optimizer.errors import UsageError
from optimizer.parts.common import concerns_all, copy_of
from optimizer.parts.rests import may_begin_rest, write_rests
from optimizer.score.multirests import decimal, is_empty
from optimizer.score.walk import elements, exact, whole

# Words that tell who plays; common practice, no source. A number without a full stop may count bars.
_WHO: Final[Mapping[str, re.Pattern[str]]] = {
    "first": re.compile(r"(?i)^(1\.|I\.|1\. ?solo|1er|1st|1mo)$"),
    "second": re.compile(r"(?i)^(2\.|II\.|2\. ?solo|2d|2nd|2do)$"),
    "same": re.compile(r"(?i)^(a ?2|à 2|zu 2|a due|unis\.?|unisono|tutti|zus\.?|zusammen)\.?$"),
    "both": re.compile(r"(?i)^(div\.?|divisi|get\.?|geteilt|1\. ?(,|&|e|u\.|und|and)? ?2\.?)$"),
}
# Of the first note of a chord what belongs to the chord; its ties are its own.
_OF_CHORD: Final = ("beam", "lyric")
_OF_NOTE: Final = frozenset({"tied"})
# What a rest may keep of the note it replaces.
_KEPT: Final = frozenset({"duration", "voice", "type", "dot", "time-modification", "staff"})


class Player(Enum):
    """Which of two."""

    FIRST = "first"
    SECOND = "second"

    @property
    def other(self) -> "Player":
        """The neighbour at the desk."""
        return Player.SECOND if self is Player.FIRST else Player.FIRST


def for_player(root: etree._Element, player: Player) -> None:
    """Leave in a part's tree, in place, what one of its two players plays; UsageError for a part on two staves."""
    for part in root.iterchildren("part"):
        if any((staves.text or "").strip() not in ("", "1") for staves in part.iter("staves")):
            raise UsageError("--split: a part on two staves is one player's")
        who, missed = "both", None
        for bar in placed_bars(part):
            dynamics = _last_dynamics(bar)
            who = _divide(bar, player, who)
            entry = next(
                (note for note in bar.element.iterchildren("note") if note.find("rest") is None), None
            )
            if entry is None:
                missed = missed if dynamics is None else dynamics
            elif missed is not None:
                _enter(entry, missed)
                missed = None


def _last_dynamics(bar: PlacedBar) -> etree._Element | None:
    """The last dynamics of a bar, copied: whoever rests there does not see them."""
    found = bar.element.findall("direction/direction-type/dynamics")
    return copy_of(found[-1]) if found else None


def _enter(entry: etree._Element, missed: etree._Element) -> None:
    """Say before a player's first note after rests which dynamics the other one got meanwhile, if nothing else does."""
    before = entry.itersiblings("direction", preceding=True)
    if any(each.find("direction-type/dynamics") is not None for each in before):
        return
    direction = etree.Element("direction", placement="below")
    etree.SubElement(direction, "direction-type").append(missed)
    entry.addprevious(direction)


def _divide(bar: PlacedBar, player: Player, who: str) -> str:
    """Leave a player's notes in a bar; who plays from there on."""
    voices = sorted({place.voice for place in bar.places if _is_there(place)}, key=_voice_order)
    if len(voices) > 1:
        own = set(voices[:1] if player is Player.FIRST else voices[1:])
        _keep_voices(bar, own)
        _tidy_directions(bar, own)
        return "both"
    played = not is_empty(bar.element)
    who = _keep_line(bar, player, who)
    _tidy_directions(bar, set(voices))
    if played and may_begin_rest(bar):
        write_rests(bar, staves=1)
    return who


def _keep_voices(bar: PlacedBar, own: Collection[str]) -> None:
    """Of several voices a player's own; the other where that has nothing, for there both play the same."""
    taken = [place for place in bar.places if _is_there(place) and place.voice in own]
    for place in bar.places:
        wanted = place.voice in own or not any(_overlap(place, each) for each in taken)
        if not wanted or not _is_there(place):
            _remove(place)
    for note in bar.element.iterchildren("note"):
        for voice in note.iterchildren("voice"):
            voice.text = "1"
        for stem in note.findall("stem"):
            note.remove(stem)
        for rest in note.iterchildren("rest"):
            rest[:] = []
    _net_steps(bar.element)


def _keep_line(bar: PlacedBar, player: Player, who: str) -> str:
    """Of one voice what words and chords give to a player; who plays after the bar."""
    calls = list(_calls(bar))
    for place in bar.places:
        while calls and calls[0][0] <= place.offset:
            who = calls.pop(0)[1]
        chord = place.chord()
        if len(chord) > 1 and who in ("first", "second"):
            who = "both"
        if len(chord) > 1 and who == "both":
            _keep_notes(chord, player)
        elif who == player.other.value and "rest" not in place.children:
            _become_rest(place)
    return calls[-1][1] if calls else who


def _calls(bar: PlacedBar) -> Iterator[tuple[Fraction, str]]:
    """From when in a bar, in ticks, who plays."""
    for place in bar.marks:
        for words in place.element.iterfind("direction-type/words"):
            if who := _who(words):
                yield place.offset * bar.quarter, who


def _who(words: etree._Element) -> str:
    text = " ".join((words.text or "").split())
    return next((who for who, pattern in _WHO.items() if pattern.match(text)), "")


def _is_there(place: NotePlace) -> bool:
    """Rests that are not printed only fill a voice up."""
    return "rest" not in place.children or place.note.get("print-object") != "no"


def _voice_order(voice: str) -> tuple[int, str]:
    return int(voice) if voice.isdecimal() else 0, voice


def _overlap(here: NotePlace, there: NotePlace) -> bool:
    if not here.length or not there.length:
        return here.offset == there.offset
    return here.offset < there.offset + there.length and there.offset < here.offset + here.length


def _remove(place: NotePlace) -> None:
    """Nothing in place of a note, for as long."""
    duration = place.note.find("duration")
    if duration is not None:
        step = etree.Element("forward")
        step.append(deepcopy(duration))
        place.note.addprevious(step)
    for note in place.chord():
        _drop(note)


def _become_rest(place: NotePlace) -> None:
    for note in place.chord()[1:]:
        _drop(note)
    note = place.note
    if not place.length:
        _drop(note)
        return
    for child in list(elements(note)):
        if child.tag not in _KEPT:
            note.remove(child)
    for name in ("dynamics", "attack", "release"):
        note.attrib.pop(name, None)
    note.insert(0, etree.Element("rest"))


def _drop(note: etree._Element) -> None:
    parent = note.getparent()
    if parent is not None:
        parent.remove(note)


def _keep_notes(chord: list[etree._Element], player: Player) -> None:
    """The upper half of a chord, or the lower; what belongs to the whole of it goes to the first note that is kept."""
    high_first = sorted(chord, key=_height, reverse=True)
    half = (len(chord) + 1) // 2
    kept = high_first[:half] if player is Player.FIRST else high_first[half:]
    remaining = [note for note in chord if note in kept]
    head, first = chord[0], remaining[0]
    if first is not head:
        for mark in first.findall("chord"):
            first.remove(mark)
        _hand_over(head, first)
    for note in chord:
        if note not in kept:
            _drop(note)
        for stem in note.findall("stem"):
            note.remove(stem)


def _height(note: etree._Element) -> tuple[int, float]:
    octave = whole(note.findtext("pitch/octave") or note.findtext("unpitched/display-octave"), 0)
    step = note.findtext("pitch/step") or note.findtext("unpitched/display-step") or "C"
    return 7 * octave + "CDEFGAB".index(step), float(exact(note.findtext("pitch/alter")) or 0)


def _hand_over(head: etree._Element, first: etree._Element) -> None:
    """Beams, slurs, signs and words of a chord stand at its first note."""
    for name in _OF_CHORD:
        for old in first.findall(name):
            first.remove(old)
    marks = [
        mark for each in head.findall("notations") for mark in elements(each) if mark.tag not in _OF_NOTE
    ]
    notations = first.find("notations")
    if marks and notations is None:
        notations = etree.SubElement(first, "notations")
    if notations is not None:
        notations.extend(marks)
        for beam in head.findall("beam"):
            notations.addprevious(beam)
    else:
        first.extend(head.findall("beam"))
    first.extend(head.findall("lyric"))


def _net_steps(bar: etree._Element) -> None:
    """Ways forward and back in succession made one, or none; none before nothing."""
    for is_step, run in groupby(list(elements(bar)), key=lambda each: each.tag in ("forward", "backup")):
        steps = list(run) if is_step else []
        ticks = sum((_ticks(step) for step in steps), Fraction(0))
        if (
            ticks
            and next(steps[-1].itersiblings("note", "direction", "sound", "attributes"), None) is not None
        ):
            step = etree.Element("forward" if ticks > 0 else "backup")
            etree.SubElement(step, "duration").text = decimal(abs(ticks))
            steps[0].addprevious(step)
        for step in steps:
            bar.remove(step)


def _ticks(step: etree._Element) -> Fraction:
    ticks = exact(step.findtext("duration")) or Fraction(0)
    return ticks if step.tag == "forward" else -ticks


def _tidy_directions(bar: PlacedBar, own: Collection[str]) -> None:
    """Take out who plays, which is clear now, and what is said to the other player alone."""
    plays = any(note.find("rest") is None for note in bar.element.iterchildren("note"))
    for place in bar.marks:
        direction = place.element
        if direction.tag != "direction":
            continue
        for words in direction.findall("direction-type/words"):
            if _who(words):
                remove_shown(words)
        other = direction.findtext("voice", "").strip() not in ("", *own)
        alone = (other or not plays) and not concerns_all(direction)
        if alone or direction.find("direction-type") is None:
            remove(direction)
        for voice in direction.findall("voice"):
            voice.text = "1"
