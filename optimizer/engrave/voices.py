"""Rests, cues and grace notes put into the voices where they can be read, before engraving.

In: a `PlacedBar`, ours to change.  Always true: what sounds, and when, is as before.

Mended are grace notes without a voice beside voices, rests for a whole bar in voices that have more, rests after a bar
is full, and rests for a whole bar that would be printed on cue notes.
"""

from collections.abc import Iterator, Sequence
from itertools import groupby
from typing import Final

from lxml import etree

from optimizer.engrave.bars import NotePlace, PlacedBar
from optimizer.score.walk import exact, whole

_AFTER_VOICE: Final = frozenset(
    {"type", "dot", "accidental", "time-modification", "stem", "notehead", "notehead-text", "staff", "beam"}
    | {"notations", "lyric", "play", "listen"}
)  # order of elements: W3C musicxml.xsd 4.0, note

# Steps of the scale, counted from C0, where clefs have the middle line of a staff.
_STEPS: Final = "CDEFGAB"
_CLEF_NOTES: Final = {"G": ("G", 4), "F": ("F", 3), "C": ("C", 4)}
_CLEF_LINES: Final = {"G": 2, "F": 4}  # where a clef says none; others stand on the middle line
_STEM: Final = 7  # an octave
_REST_AT: Final = 2  # where a rest for a whole bar hangs, in steps above the middle line
_OUTSIDE: Final = 4  # the outer lines, in steps from the middle line


def mend_voices(bar: PlacedBar) -> None:
    """Mend a bar in place; `bar.places` tells the truth afterwards."""
    _join_graces(bar)
    for places in bar.voices():
        _fit_rests(bar, places)
    _clear_cues(bar)


def _join_graces(bar: PlacedBar) -> None:
    """Grace notes without a voice, beside voices, go with the note that begins then, or else with the one that ends."""
    stray = [place for place in bar.places if not place.voice and not place.length]
    hosts = [place for place in bar.places if place.voice and place.length]
    if not stray or not hosts:
        return
    for (offset, staff), run in groupby(stray, key=lambda place: (place.offset, place.staff)):
        graces = list(run)
        near = [host for host in hosts if host.staff == staff]
        begun = next((host for host in near if host.offset == offset), None)
        ended = [host for host in near if host.offset + host.length == offset and "rest" not in host.children]
        host = begun or next(iter(sorted(ended, key=lambda host: (not _trilled(host), -host.order))), None)
        if host is None:
            continue
        notes = [note for grace in graces for note in _chord(grace.note)]
        around = notes[0].getprevious(), notes[-1].getnext()
        last = _chord(host.note)[-1]
        for note in notes:
            _set_voice(note, host.voice)
            if begun:
                host.note.addprevious(note)
            else:
                last.addnext(note)
                last = note
        for grace in graces:
            grace.voice = host.voice
        _drop_round_trip(*around)


def _trilled(place: NotePlace) -> bool:
    return bool(place.marks("ornaments"))


def _chord(note: etree._Element) -> list[etree._Element]:
    """A note and the others of its chord."""
    notes = [note]
    for after in note.itersiblings():
        if after.tag != "note" or after.find("chord") is None:
            break
        notes.append(after)
    return notes


def _set_voice(note: etree._Element, name: str) -> None:
    voice = etree.Element("voice")
    voice.text = name
    index = next((index for index, child in enumerate(note) if child.tag in _AFTER_VOICE), len(note))
    note.insert(index, voice)


def _drop_round_trip(there: etree._Element | None, back: etree._Element | None) -> None:
    """A way forward to grace notes and back again, which now would make room for a voice of nothing."""
    if there is None or back is None or (there.tag, back.tag) != ("forward", "backup"):
        return
    parent = there.getparent()
    if (
        parent is not None
        and there.getnext() is back
        and there.findtext("duration") == back.findtext("duration")
    ):
        parent.remove(there)
        parent.remove(back)


def _fit_rests(bar: PlacedBar, places: Sequence[NotePlace]) -> None:
    """A rest for a whole bar is none after other things in its voice; neither is a rest after a full bar."""
    rests = [place for place in places if place.offset and "rest" in place.children]
    if not rests:
        return
    sounding = max((p.offset + p.length for p in bar.places if "rest" not in p.children), default=0)
    for place in rests:
        late = place.children["rest"].get("measure") == "yes" and any(
            other.staff == place.staff and other.offset + other.length <= place.offset for other in places
        )
        beyond = bar.full is not None and place.offset >= max(bar.full, sounding)
        left = (bar.full or 0) - place.offset
        kind = _rest_type(bar, left) if late and 0 < left < place.length else None
        if kind:
            _cut_rest(bar, place, left, kind)
        elif late or beyond:
            empty(place)
            bar.places.remove(place)


def _rest_type(bar: PlacedBar, length: int) -> str | None:
    """The plain rest of this length, if there is one."""
    types = ((4, "whole"), (2, "half"), (1, "quarter"))
    found = next((name for quarters, name in types if length == quarters * bar.quarter), None)
    return "eighth" if 2 * length == bar.quarter else found


def _cut_rest(bar: PlacedBar, place: NotePlace, length: int, kind: str) -> None:
    note, duration = place.note, place.children["duration"]
    place.children["rest"].attrib.pop("measure", None)
    duration.text = str(length // bar.division)
    for old in note.findall("type"):
        note.remove(old)
    named = etree.Element("type")
    named.text = kind
    place.children.get("voice", duration).addnext(named)
    place.end = place.onset + length


def empty(place: NotePlace) -> None:
    """Nothing in place of a rest, for as long."""
    forward = etree.Element("forward")
    for name in ("duration", "voice", "staff"):
        forward.extend(place.note.findall(name))
    parent = place.note.getparent()
    if parent is not None:
        parent.replace(place.note, forward)


def _clear_cues(bar: PlacedBar) -> None:
    """A rest for a whole bar moves out of the way of cue notes that cross it."""
    cues = [place for place in bar.places if "cue" in place.children]
    for place in bar.places if cues else ():
        rest = place.children.get("rest")
        if rest is None or rest.get("measure") != "yes":
            continue
        middle = _middle_line(bar, place.staff)
        given = _step(rest, "display-")
        at = _REST_AT if given is None else given - middle
        spans = list(_ink(cues, place.staff, middle))
        if not any(low < at + 1 and high > at - 2 for low, high in spans):
            continue
        top = max(_OUTSIDE, *(high + 2 for _, high in spans))
        bottom = min(-_OUTSIDE, *(low - 2 for low, _ in spans))
        step = middle + (top + top % 2 if top <= -bottom else bottom - bottom % 2)
        for child in list(rest):
            rest.remove(child)
        etree.SubElement(rest, "display-step").text = _STEPS[step % 7]
        etree.SubElement(rest, "display-octave").text = str(step // 7)


def _step(element: etree._Element, prefix: str) -> int | None:
    """Step and octave, if they are given, in steps from C0."""
    step, octave = element.findtext(f"{prefix}step", "").strip(), exact(element.findtext(f"{prefix}octave"))
    return (
        7 * int(octave) + _STEPS.index(step)
        if len(step) == 1 and step in _STEPS and octave is not None
        else None
    )


def _middle_line(bar: PlacedBar, staff: str) -> int:
    clef = bar.clefs.get(staff)
    sign, line, shift = "G", 2, 0
    if clef is not None:
        sign = clef.findtext("sign", "G").strip()
        line = whole(clef.findtext("line"), _CLEF_LINES.get(sign, 3))
        shift = whole(clef.findtext("clef-octave-change"), 0)
    step, octave = _CLEF_NOTES.get(sign, _CLEF_NOTES["G"])
    return 7 * (octave + shift) + _STEPS.index(step) + 2 * (3 - line)


def _ink(cues: Sequence[NotePlace], staff: str, middle: int) -> Iterator[tuple[int, int]]:
    """From where to where notes and their stems reach, in steps above the middle line."""
    for cue in cues:
        pitch = cue.children.get("pitch")
        step = None if pitch is None or cue.staff != staff else _step(pitch, "")
        if step is not None:
            stem = cue.note.findtext("stem")
            at = step - middle
            yield at - (_STEM if stem != "up" else 1), at + (_STEM if stem != "down" else 1)
