"""Numbers taken out that the engraving library does not look at before it uses them.

In: a partwise MusicXML tree that is ours to change, and its bars.  Always true: no note, rest, bar or duration changes.

A time signature over nought, or a rest at an octave that is no number, ends its process, and so this program, without a
word; hundreds of staves or millions of repeats keep it busy for ever (all seen with verovio 6.4.1).
"""

from collections.abc import Sequence
from itertools import chain

from lxml import etree

from optimizer.engrave.bars import PlacedBar, named
from optimizer.score.walk import MAX_STAVES, exact, whole


def keep_to_limits(tree: etree._Element, parts: Sequence[Sequence[PlacedBar]]) -> None:
    """Mend a tree in place."""
    for repeat in tree.xpath("part/measure/barline/repeat[@times]"):
        del repeat.attrib["times"]  # how often is played, and not printed
    for bar in chain.from_iterable(parts):
        for place in named(bar.marks, "attributes"):
            _keep_attributes(place.element)
        for note in bar.places:
            rest = note.children.get("rest")
            if rest is not None and len(rest):
                _keep_rest(rest)


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
