"""Words and tempo marks made fit to print.

In: the marks of a partwise MusicXML tree that is ours to change, without what is not to be printed.  Always true: no
note, rest, bar or duration changes, and no sign that plays a part in repeats is lost.

Cleared away are markup of exporting programs, letters that only carry a tempo for playback, tempo words and rehearsal
marks repeated on lower staves and offsets out of the bar; metronome marks join the tempo words at their place. What
acts at the end of its bar (D.C., D.S., To Coda, Fine) ends there.
"""

import re
from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import chain, pairwise
from typing import Final

from lxml import etree

from optimizer.engrave.bars import Marks, Place, named
from optimizer.score.marks import JumpKind, leaving
from optimizer.score.movements import is_tempo_mark, parts_of_title
from optimizer.score.multirests import decimal
from optimizer.score.tempo_words import tempo_wish
from optimizer.score.walk import exact, whole

_TAG: Final = re.compile(r"</?[A-Za-z][^<>]*>")
_NAMED_SIGN: Final = re.compile(r"<sym>(segno|coda)\w*</sym>")
# SMuFL 1.4, range "Repeats": segno, segnoSerpent1, segnoSerpent2; coda, codaSquare.
_SIGNS: Final = {"segno": "\ue047\ue04a\ue04b", "coda": "\ue048\ue049"}
_READ: Final = frozenset({"words", "rehearsal", "metronome"})
_AFTER_SPACE: Final = frozenset({"metronome", *_SIGNS})
_BACK: Final = frozenset({JumpKind.DACAPO, JumpKind.DALSEGNO})
_PRIVATE: Final = re.compile("[\ue000-\uf8ff]")


@dataclass(frozen=True, slots=True)
class _Spot:
    """A direction at its place; `part` and `staff` count from the top."""

    part: int
    staff: int
    place: Place

    @property
    def direction(self) -> etree._Element:
        return self.place.element

    @property
    def instant(self) -> tuple[int, Fraction]:
        return self.place.bar_index, self.place.offset


def tidy_directions(marks: Marks) -> None:
    """Clear up a tree in place."""
    spots = list(_spots(marks))
    for spot in spots:
        for words in _words(spot.direction):
            _clear_markup(words)
        _drop_anchor_letters(spot.direction)
        _place_above(spot.direction)
        _set_bold_upright(spot.direction)
    for place in named(chain.from_iterable(marks), "direction"):
        _keep_in_bar(place)
    _drop_repeated_tempo(spots)
    _drop_repeated_letters(spots)
    _join_metronomes(spots)
    for spot in spots:
        _space_signs(spot.direction)
    for place in named(chain.from_iterable(marks), "direction"):
        _put_at_barline(place)


def drop_titles(marks: Marks, titles: Mapping[int, Collection[str]]) -> None:
    """Words at the start of a measure that its title says above it go; a tempo in them stays, as a tempo mark."""
    spoken = {index: _spoken(texts) for index, texts in titles.items()}
    for part in marks if spoken else ():
        for place in named(part, "direction"):
            said = spoken.get(place.bar_index, {}).get(_letters(_text(place.element)))
            if said is None or place.offset:
                continue
            first, *others = _words(place.element)
            first.text = said
            for words in others if said else (first, *others):
                remove_shown(words)


def _spoken(titles: Iterable[str]) -> dict[str, str]:
    """What titles say, whole and in parts, in letters: what is left to be said at the staff."""
    spoken: dict[str, str] = {}
    for title in titles:
        number, name = parts_of_title(title)
        tempo = name if is_tempo_mark(name) else ""
        spoken |= {_letters(title): tempo, _letters(number): "", _letters(name): tempo}
    spoken.pop("", None)
    return spoken


def _letters(text: str) -> str:
    return "".join(filter(str.isalnum, text)).casefold()


def tempo_bars(marks: Marks) -> set[int]:
    """Bars (0-based) that carry tempo words, or bold words in their place."""
    return {
        place.bar_index
        for part in marks
        for place in named(part, "direction")
        if _is_tempo(place.element) or _is_bold(place.element)
    }


def shown(direction: etree._Element) -> list[etree._Element]:
    """What a direction shows, in its order."""
    return [element for kind in direction.iterchildren("direction-type") for element in kind]


def _spots(marks: Marks) -> Iterator[_Spot]:
    """Directions with something to read: they are few beside dynamics and hairpins."""
    for part_index, part in enumerate(marks):
        for place in named(part, "direction"):
            if _READ.isdisjoint(element.tag for element in shown(place.element)):
                continue
            yield _Spot(part_index, whole(place.element.findtext("staff"), 1), place)


def _words(direction: etree._Element) -> list[etree._Element]:
    return [element for element in shown(direction) if element.tag == "words"]


def _text(direction: etree._Element) -> str:
    words = (element.text or "" for element in _words(direction))
    return " ".join(" ".join(words).split())


def _is_tempo(direction: etree._Element) -> bool:
    """Whether the words of a direction are about tempo: by what they say, or by the tempo played from there."""
    text = _text(direction)
    if not text:
        return False
    return direction.find("sound[@tempo]") is not None or tempo_wish(text) is not None


def _is_bold(direction: etree._Element) -> bool:
    return any(
        words.get("font-weight") == "bold" and (words.text or "").strip() for words in _words(direction)
    )


def _clear_markup(words: etree._Element) -> None:
    """Markup and characters of private fonts, left in words by exporting programs, become signs or nothing."""
    before = words.text or ""
    named = _NAMED_SIGN.search(before)
    sign = named[1] if named else _private_sign(before)
    text = _PRIVATE.sub("", _TAG.sub("", _NAMED_SIGN.sub("", before)))
    kind = words.getparent()
    if text == before or kind is None:
        return
    words.text = text.rstrip()
    if sign and words.text:
        words.text += "\xa0"
    if sign:
        after = etree.Element("direction-type")
        etree.SubElement(after, sign)
        kind.addnext(after)
    if not words.text:
        remove_shown(words)


def _private_sign(text: str) -> str | None:
    return next((sign for sign, signs in _SIGNS.items() if set(signs) & set(text)), None)


def _drop_anchor_letters(direction: etree._Element) -> None:
    """A single letter that only holds a tempo for playback is no word."""
    if direction.find("sound[@tempo]") is not None and len(_text(direction)) == 1:
        for words in _words(direction):
            remove_shown(words)


def _place_above(direction: etree._Element) -> None:
    """Words set above their staff by coordinates, and bold tempo words, belong above."""
    words = direction.find("direction-type/words")
    if words is None or direction.get("placement") is not None:
        return
    height = _number(words.get("default-y")) + _number(words.get("relative-y"))
    if height > 0 or (height == 0 and _is_bold(direction) and _is_tempo(direction)):
        direction.set("placement", "above")


def _set_bold_upright(direction: etree._Element) -> None:
    """The library sets words in italics unless told otherwise; bold ones are headings or tempo, which stand upright."""
    for words in _words(direction):
        if words.get("font-weight") == "bold" and words.get("font-style") is None:
            words.set("font-style", "normal")


def _number(text: str | None) -> Fraction:
    return exact(text) or Fraction(0)


def _keep_in_bar(place: Place) -> None:
    """An offset that leads out of the bar only moves playback, or print by somebody else's measure."""
    offset = place.element.find("offset")
    if offset is None or not shown(place.element):
        return
    at = place.offset + _number(offset.text) * place.division
    if not 0 <= at < place.length:
        place.element.remove(offset)


def _drop_repeated_tempo(spots: Iterable[_Spot]) -> None:
    """Tempo words hold for all parts: they stay on the topmost staff that has them.

    Words in italics are let stand: songs repeat them between the piano's staves for the player.
    """
    seen: set[tuple[tuple[int, Fraction], str]] = set()
    for spot in sorted(spots, key=lambda spot: (spot.part, spot.staff)):
        if not _is_tempo(spot.direction):
            continue
        key = (spot.instant, _text(spot.direction).casefold())
        words = _words(spot.direction)
        if key in seen and not any(element.get("font-style") == "italic" for element in words):
            for element in words:
                remove_shown(element)
        seen.add(key)


def _drop_repeated_letters(spots: Iterable[_Spot]) -> None:
    """Rehearsal marks hold for all parts: they stay on the topmost staff that has them."""
    seen: set[tuple[tuple[int, Fraction], str]] = set()
    for spot in sorted(spots, key=lambda spot: (spot.part, spot.staff)):
        for mark in spot.direction.findall("direction-type/rehearsal"):
            key = (spot.instant, (mark.text or "").strip())
            if key in seen:
                remove_shown(mark)
            seen.add(key)


def _join_metronomes(spots: Iterable[_Spot]) -> None:
    """A metronome mark that stands alone follows the tempo words at its place, on the same line."""
    together: dict[tuple[int, int, tuple[int, Fraction]], list[etree._Element]] = defaultdict(list)
    for spot in spots:
        together[spot.part, spot.staff, spot.instant].append(spot.direction)
    for directions in together.values():
        marks = [direction for direction in directions if _is_only_metronome(direction)]
        words = _tempo_words(directions) if marks else None
        if words is None:
            continue
        last = words.findall("direction-type")[-1]
        for kind in marks[0].findall("direction-type"):
            last.addnext(kind)
            last = kind
        for mark in marks[1:]:
            remove(mark)


def _is_only_metronome(direction: etree._Element) -> bool:
    return [element.tag for element in shown(direction)] == ["metronome"]


def _tempo_words(directions: Sequence[etree._Element]) -> etree._Element | None:
    """The words that a metronome mark belongs to; None where it has a mark of its own or there are none."""
    worded = [direction for direction in directions if {e.tag for e in shown(direction)} == {"words"}]
    return next(chain(filter(_is_tempo, worded), filter(_is_bold, worded)), None)


def _put_at_barline(place: Place) -> None:
    """Words that act at the end of their bar end there: from its start on they would be read as if they acted there.

    Fine within a bar stays, for it follows the last note (W3C musicxml.xsd 4.0, sound). The words D.C. and D.S. without
    a sound may act at the end of a section that is yet to come.
    """
    direction, bar = place.element, place.element.getparent()
    kind = leaving(direction)
    if bar is None or kind is None or not {element.tag for element in shown(direction)} <= {"words", *_SIGNS}:
        return
    within = 0 < place.offset + place.own_offset < place.length
    told = direction.find("sound") is not None
    if (kind is JumpKind.FINE and within) or (kind in _BACK and not told and not _ends_section(bar)):
        return
    if not _words(direction):
        # A sign alone would begin at the barline; beside a word it ends there.
        first = etree.Element("direction-type")
        etree.SubElement(first, "words").text = "\xa0"
        direction.insert(0, first)
    for words in _words(direction):
        words.set("halign", "right")
    offset = direction.find("offset")
    if offset is not None:
        direction.remove(offset)
    if late := place.length - place.offset:
        offset = etree.Element("offset")
        offset.text = decimal(late / place.division)
        direction.findall("direction-type")[-1].addnext(offset)


def _ends_section(bar: etree._Element) -> bool:
    """Whether the barline after a bar is not a plain one."""
    lines = [line for line in bar.iterchildren("barline") if line.get("location") != "left"]
    styles = {line.findtext("bar-style", "regular").strip() for line in lines}
    return bool(styles - {"regular", "none"}) or any(line.find("repeat") is not None for line in lines)


def _space_signs(direction: etree._Element) -> None:
    """Words right before a metronome mark, segno or coda would touch it: the library drops a plain space."""
    for words, mark in pairwise(shown(direction)):
        if words.tag == "words" and mark.tag in _AFTER_SPACE and (words.text or "").strip():
            words.text = f"{(words.text or '').rstrip()}\xa0"


def remove_shown(element: etree._Element) -> None:
    """Take out what a direction shows, and the wrapping that would be left empty."""
    kind = element.getparent()
    remove(element)
    if kind is not None and not len(kind):
        remove(kind)


def remove(element: etree._Element) -> None:
    """Take an element out of its tree."""
    parent = element.getparent()
    if parent is not None:
        parent.remove(element)
