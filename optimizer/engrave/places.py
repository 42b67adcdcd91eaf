"""Where things stand inside the bars of a part.

In: a part of a partwise MusicXML tree.  Out: its elements with their places.  Times are counted in ticks of the part
(`ticks_a_quarter`), so that all are whole; `Place.offset` is in quarters, alike for all parts.  Always true: nothing
changes.
"""

import math
from collections.abc import Collection, Iterator
from dataclasses import dataclass
from fractions import Fraction

from lxml import etree


@dataclass(frozen=True, slots=True)
class Place:
    """An element of a bar. `offset` from the start of the bar and the bar's `length`, in quarters, a direction's own
    `<offset>` not counted; `division`: quarters a division."""

    bar_index: int
    offset: Fraction
    length: Fraction
    division: Fraction
    element: etree._Element


def places(part: etree._Element, tags: Collection[str]) -> Iterator[Place]:
    """Elements of bars with these names, in the order of the file."""
    ticks = ticks_a_quarter(part)
    tick_length = ticks
    sought = {*tags, "attributes"}
    for index, bar in enumerate(part.iterchildren("measure")):
        if all(bar.find(tag) is None for tag in sought):
            continue
        offset = longest = 0
        found: list[tuple[int, int, etree._Element]] = []
        for element in bar:
            tag = element.tag
            if tag == "attributes":
                divisions = whole(element.findtext("divisions"))
                tick_length = ticks // divisions if divisions else tick_length
            if tag in tags:
                found.append((offset, tick_length, element))
            offset += duration(element) * tick_length
            longest = max(longest, offset)
        length = Fraction(longest, ticks)
        for at, tick, element in found:
            yield Place(index, Fraction(at, ticks), length, Fraction(tick, ticks), element)


def duration(element: etree._Element) -> int:
    """What an element of a bar moves the place on by, in divisions."""
    if element.tag not in ("note", "backup", "forward"):
        return 0
    for child in element:  # quicker than to ask for it by name; a chord is told first
        if child.tag == "duration":
            length = whole(child.text) or 0
            return -length if element.tag == "backup" else length
        if child.tag == "chord":
            return 0
    return 0


def ticks_a_quarter(part: etree._Element) -> int:
    """A unit in which all durations of a part are whole."""
    divisions = (whole(element.text) for element in part.iterfind("measure/attributes/divisions"))
    return math.lcm(*(number for number in divisions if number))


def whole(text: str | None) -> int | None:
    """A whole number; divisions and durations that are not whole do not occur outside of the schema."""
    text = (text or "").strip()
    return int(text) if text.isdigit() else None
