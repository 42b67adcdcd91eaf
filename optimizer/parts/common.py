"""What stands in one part of a score and concerns every player, given to all of them.

In: a partwise tree that is ours to change.  Out: nothing; the tree then says it in every part.  Always true: each part
has each of these signs once in a bar, at the moment at which it stands in the score; what was in a part stays as it is;
dynamics and ways of playing are never copied.

A score prints tempo, rehearsal marks, jumps and repeats over its top staff, or over some; a player sees one part only.
"""

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from copy import deepcopy
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from lxml import etree

from optimizer.engrave.bars import Place, PlacedBar, placed_parts
from optimizer.parts.holds import give_fermatas
from optimizer.parts.rests import is_parted
from optimizer.score.marks import says_jump
from optimizer.score.movements import is_headline
from optimizer.score.multirests import WAY, decimal
from optimizer.score.technique import TECHNIQUE
from optimizer.score.tempo_words import tempo_wish
from optimizer.score.walk import elements, exact

# Signs that always concern all; words only where they are about tempo or the way through the piece.
_SIGNS: Final = frozenset({"metronome", "rehearsal", "segno", "coda"})
_OF_ALL: Final = ("only-top", "also-top")  # W3C musicxml.xsd 4.0, system-relation
_HEARD: Final = ("tempo", *WAY)  # of <sound>, in all parts
_LAYOUT: Final = ("id", "default-x", "default-y", "relative-x", "relative-y")
# Softer as well as slower: how to play as much as how fast.
_DYING: Final = re.compile(r"(?i)\b(calando|smorz|morendo|perdendo)")
_HOW: Final = re.compile(
    r"(?i)\b(cresc|dim|decresc|dolce|espr|legato|stacc|marc|sost|legg|sotto|mezza|sempre|[pmf]{1,3}\b)"
)
# What a barline may have, in the order of the schema (W3C musicxml.xsd 4.0, barline).
_BARLINE: Final = ("bar-style", "segno", "coda", "fermata", "ending", "repeat")

_Key = tuple[str, str]  # what kind of sign, and its words


@dataclass(frozen=True, slots=True, eq=False)
class Call:
    """A direction, or a sound, that concerns all: `shown`, its signs that do, with what they say; `heard`, attributes
    of its sound, which acts `delay` quarters later than `place`, where the direction stands."""

    place: Place
    shown: tuple[tuple[_Key, etree._Element], ...]
    heard: Mapping[str, str]
    delay: Fraction


def tell_all(tree: etree._Element) -> None:
    """Give every part of a tree, in place, what stands in another and concerns it."""
    parts = placed_parts(tree)
    if len(parts) < 2:
        return
    share_barlines([[bar.element for bar in bars] for bars in parts])
    share_times(parts)
    give_fermatas(parts)
    calls = [[call for bar in bars for call in _calls(bar)] for bars in parts]
    for index, bars in enumerate(parts):
        said = {key for call in calls[index] for key in _keys(call)}
        for call in (call for part in (*calls[:index], *calls[index + 1 :]) for call in part):
            if new := _new_in(call, said):
                said.update(_keys(new))
                _insert(bars[new.place.bar_index], new)


def _calls(bar: PlacedBar) -> Iterator[Call]:
    """What in a bar concerns all."""
    for place in bar.marks:
        if place.element.tag == "attributes":
            continue
        sound = place.element if place.element.tag == "sound" else place.element.find("sound")
        heard = {} if sound is None else {n: v for n in _HEARD if (v := sound.get(n)) is not None}
        shown = tuple(_shown(place.element))
        if shown or heard:
            yield Call(place, shown, heard, _delay(place, sound))


def concerns_all(direction: etree._Element) -> bool:
    """Whether a direction tells something to every player."""
    sound = direction.find("sound")
    heard = sound is not None and any(sound.get(name) is not None for name in _HEARD)
    return heard or next(_shown(direction), None) is not None


def _delay(place: Place, sound: etree._Element | None) -> Fraction:
    """How much later than it stands a sound acts. The offset of a direction moves what is heard only when it says so
    (W3C musicxml.xsd 4.0, offset)."""
    own = None if sound is None else sound.find("offset")
    shown = place.element.find("offset[@sound='yes']")
    return place.quarters(shown if own is None else own)


def _shown(direction: etree._Element) -> Iterator[tuple[_Key, etree._Element]]:
    for kind in direction.iterchildren("direction-type"):
        for sign in elements(kind):
            if sign.tag in _SIGNS or (sign.tag == "words" and _concern_all(sign, direction)):
                yield (str(sign.tag), _text(sign)), sign


def _concern_all(words: etree._Element, direction: etree._Element) -> bool:
    """Whether words are about tempo, the way through the piece or its movements."""
    text = _text(words)
    timed = direction.find("sound[@tempo]") is not None
    if not text or TECHNIQUE.search(text) or (_DYING.search(text) and not timed):
        return False
    if direction.get("system") in _OF_ALL or direction.get("directive") == "yes":
        return True
    if (
        direction.find("direction-type/segno") is not None
        or direction.find("direction-type/coda") is not None
    ):
        return True  # "To" before a coda
    if tempo_wish(text) or says_jump(text) or is_headline(text):
        return True
    return timed and not _HOW.search(text)


def _text(sign: etree._Element) -> str:
    return " ".join("".join(map(str, sign.itertext())).split())


def _keys(call: Call) -> Iterator[tuple[int, _Key]]:
    """By what a sign is known to stand in a bar already: the same twice in one bar is the same."""
    bar = call.place.bar_index
    for (kind, text), _ in call.shown:
        yield bar, (kind, text.casefold())
    for name in call.heard:
        yield bar, (name, str(call.place.offset + call.delay))


def _new_in(call: Call, said: Iterable[tuple[int, _Key]]) -> Call | None:
    """What of a call a part does not say yet."""
    bar = call.place.bar_index
    shown = tuple(
        ((kind, text), sign)
        for (kind, text), sign in call.shown
        if (bar, (kind, text.casefold())) not in said
    )
    at = str(call.place.offset + call.delay)
    heard = {name: value for name, value in call.heard.items() if (bar, (name, at)) not in said}
    return Call(call.place, shown, heard, call.delay) if shown or heard else None


def _insert(bar: PlacedBar, call: Call) -> None:
    """Put a call into a bar of another part, where its moment comes."""
    here, late = _spot(bar, call.place.offset)
    late *= Fraction(bar.quarter, bar.division)
    if call.shown and late and late.denominator == 1:
        # There and back again: an offset is overlooked where words tell a tempo.
        new = [_step("forward", late), _copy(bar, call, Fraction(0)), _step("backup", late)]
    else:
        new = [_copy(bar, call, late)]
    for element in new:
        element.tail = bar.element.text
        if here is None:
            bar.element.append(element)
        else:
            here.addprevious(element)


def _step(tag: str, ticks: Fraction) -> etree._Element:
    step = etree.Element(tag)
    etree.SubElement(step, "duration").text = decimal(ticks)
    return step


def _spot(bar: PlacedBar, offset: Fraction) -> tuple[etree._Element | None, Fraction]:
    """Before which element of a bar a moment comes (None: at its end), and how much later it is than that."""
    latest: tuple[etree._Element | None, Fraction] = None, offset
    position = Fraction(0)
    step = Fraction(bar.division, bar.quarter)
    for element in elements(bar.element):
        begins = element.tag in ("note", "forward", "backup") and element.find("chord") is None
        if (begins and position <= offset and offset - position < latest[1]) or (
            begins and latest[0] is None
        ):
            latest = element, offset - position
        if begins and position == offset:
            return element, Fraction(0)
        if element.find("chord") is None and element.find("grace") is None:
            length = exact(element.findtext("duration")) or Fraction(0)
            if element.tag in ("note", "forward"):
                position += length * step
            elif element.tag == "backup":
                position -= length * step
    return (None, Fraction(0)) if position == offset else latest


def copy_of(sign: etree._Element) -> etree._Element:
    """A sign for another part: without its name in the file, and without the place at which it was drawn."""
    copy = deepcopy(sign)
    copy.tail = None
    for name in _LAYOUT:
        copy.attrib.pop(name, None)
    return copy


def _copy(bar: PlacedBar, call: Call, late: Fraction) -> etree._Element:
    """A call for another part, which stands `late` ticks before its moment."""
    ticks = Fraction(bar.quarter, bar.division)
    sound = etree.Element("sound", dict(call.heard))
    if heard := call.delay * ticks + late:
        etree.SubElement(sound, "offset").text = decimal(heard)
    if not call.shown:
        return sound
    direction = etree.Element("direction", placement="above")
    for _, sign in call.shown:
        etree.SubElement(direction, "direction-type").append(copy_of(sign))
    if shift := call.place.own_offset * ticks + late:
        etree.SubElement(direction, "offset").text = decimal(shift)
    if call.heard:
        direction.append(sound)
    return direction


def share_barlines(parts: Sequence[Sequence[etree._Element]]) -> None:
    """Give the bars of all parts the repeats, endings and styles of barlines that any of them has."""
    for bars in zip(*parts, strict=True):
        for location in ("left", "right"):
            lines = [_barline(bar, location) for bar in bars]
            if any(line is not None for line in lines):
                for bar, line in zip(bars, lines, strict=True):
                    _complete(_new_barline(bar, location) if line is None else line, lines)


def _barline(bar: etree._Element, location: str) -> etree._Element | None:
    lines = (line for line in bar.iterchildren("barline") if line.get("location", "right") == location)
    return next(lines, None)


def _new_barline(bar: etree._Element, location: str) -> etree._Element:
    line = etree.Element("barline", location=location)
    line.tail = bar.text
    if location == "right":
        bar.append(line)
    else:
        bar.insert(sum(1 for _ in bar.iterchildren("print")), line)
    return line


def _complete(line: etree._Element, others: Iterable[etree._Element | None]) -> None:
    """Add to a barline what another has and it has not; a hidden bracket of an ending counts as none."""
    for other in others:
        for place, name in enumerate(_BARLINE):
            theirs = None if other is None else other.find(name)
            own = line.find(name)
            if own is not None and theirs is not None and _is_hidden(own) and not _is_hidden(theirs):
                line.remove(own)
                own = None
            if theirs is not None and own is None:
                after = set(_BARLINE[place + 1 :]) | {"editorial"}
                copied = deepcopy(theirs)
                copied.attrib.pop("id", None)
                before = next((child for child in line if child.tag in after), None)
                if before is None:
                    line.append(copied)
                else:
                    before.addprevious(copied)


def share_times(parts: Sequence[Sequence[PlacedBar]]) -> None:
    """Where a section begins and a part says its time signature again, let all in that meter say it."""
    meters: list[tuple[str, ...]] = [()] * len(parts)
    before: etree._Element | None = None
    for bars in zip(*parts, strict=True):
        signs = [_time(bar) for bar in bars]
        said = [sign for sign in signs if sign is not None and not _is_hidden(sign)]
        if before is not None and said and is_parted(before, bars[0].element):
            for bar, own, meter in zip(bars, signs, meters, strict=True):
                again = next((sign for sign in said if _meter(sign) == meter), None)
                if own is None and again is not None:
                    _say_time(bar.element, again)
        meters = [meter if sign is None else _meter(sign) for sign, meter in zip(signs, meters, strict=True)]
        before = bars[0].element


def _time(bar: PlacedBar) -> etree._Element | None:
    """The time signature at the start of a bar."""
    there = (place.element.find("time") for place in bar.marks if not place.offset)
    return next((sign for sign in there if sign is not None), None)


def _meter(sign: etree._Element) -> tuple[str, ...]:
    return tuple((child.text or "").strip() for child in sign.iterchildren("beats", "beat-type"))


def _say_time(bar: etree._Element, sign: etree._Element) -> None:
    """A time signature at the start of a bar that has none there."""
    attributes = etree.Element("attributes")
    attributes.tail = bar.text
    attributes.append(copy_of(sign))
    left = _barline(bar, "left")
    if left is None:
        bar.insert(sum(1 for _ in bar.iterchildren("print")), attributes)
    else:
        left.addnext(attributes)


def _is_hidden(element: etree._Element) -> bool:
    return element.get("print-object") == "no"
