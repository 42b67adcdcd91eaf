"""Numbers taken out that the engraving library does not look at before it uses them.

In: a partwise MusicXML tree that is ours to change, and its bars.  Always true: no note, rest, bar or duration changes.

A time signature over nought, a rest at an octave that is no number, an ending whose number has a quotation mark in it,
a chord degree that is no number, a group of parts that neither starts nor stops, or words at a staff of millions end
its process, and so this program, without a word; hundreds of staves or millions of repeats keep it busy for ever (all
seen with verovio 6.4.1).
"""

import re
from collections.abc import Sequence
from itertools import chain
from typing import Final

from lxml import etree

from optimizer.engrave.bars import PlacedBar, named
from optimizer.score.marks import pass_numbers
from optimizer.score.walk import MAX_STAVES, exact, whole

_ENDING: Final = re.compile(r"[\w\s.,–-]{0,100}")  # what numbers of endings are made of
MAX_DEGREE: Final = 99  # of a chord; they go to 13


def keep_to_limits(tree: etree._Element, parts: Sequence[Sequence[PlacedBar]]) -> None:
    """Mend a tree in place."""
    for repeat in tree.xpath("part/measure/barline/repeat[@times]"):
        del repeat.attrib["times"]  # how often is played, and not printed
    _keep_numbers(tree)
    for bar in chain.from_iterable(parts):
        for place in named(bar.marks, "attributes"):
            _keep_attributes(place.element)
        for note in bar.places:
            rest = note.children.get("rest")
            if rest is not None and len(rest):
                _keep_rest(rest)


def _keep_numbers(tree: etree._Element) -> None:
    for ending in tree.iterfind("part/measure/barline/ending"):
        number = ending.get("number", "")
        if not _ENDING.fullmatch(number):
            ending.set("number", ", ".join(map(str, pass_numbers(number))))
    for degree in tree.findall("part/measure/harmony/degree"):
        if not 1 <= whole(degree.findtext("degree-value"), 0) <= MAX_DEGREE:
            _remove(degree)
    for group in tree.findall("part-list/part-group"):
        if group.get("type") not in ("start", "stop"):
            _remove(group)
    for staff in tree.iterfind("part/measure/*/staff"):
        staff.text = str(min(max(1, whole(staff.text, 1)), MAX_STAVES))


def _remove(element: etree._Element) -> None:
    parent = element.getparent()
    if parent is not None:
        parent.remove(element)


def _keep_attributes(attributes: etree._Element) -> None:
    for staves in attributes.findall("staves"):
        staves.text = str(min(max(1, whole(staves.text, 1)), MAX_STAVES))
    for time in attributes.findall("time"):
        if any(whole(unit.text, 0) < 1 for unit in time.iter("beat-type")):
            attributes.remove(time)


def _keep_rest(rest: etree._Element) -> None:
    """A rest where it says, or else where rests stand."""
    octave = exact(rest.findtext("display-octave"))
    if octave is None or not 0 <= octave <= 9:  # W3C musicxml.xsd 4.0, octave
        for child in list(rest):
            rest.remove(child)
