"""Staves, their clefs, names and groups made fit to print in any layout.

In: a partwise MusicXML tree that is ours to change, and its marks.  Always true: no note, rest, bar or duration
changes.

Staves that a file hides in some systems of its old layout are printed throughout; clefs stated again without changing
go; later systems are labelled by abbreviations where parts are many; neighbouring instruments are
bracketed where a file groups nothing.
"""

from collections.abc import Iterable, Sequence
from itertools import groupby
from typing import Final

from lxml import etree

from optimizer.engrave.bars import Marks, Place, named
from optimizer.score.model import PartKind
from optimizer.score.parts import part_kind
from optimizer.score.walk import PartFacts, whole

_ABBREVIATIONS: Final = ("part-abbreviation", "part-abbreviation-display")
# Few parts are told apart at a glance; names beside every line would cost them width (common practice, no source).
_LABELLED_PARTS: Final = 3
_MANY_PARTS: Final = 4  # of so many, the ones that have an abbreviation keep it, though others have none
_GROUPED: Final = (PartKind.STRINGS, PartKind.WIND)


def tidy_staves(tree: etree._Element, marks: Marks) -> None:
    """Clear up a tree in place."""
    for part, places in zip(tree.iterchildren("part"), marks, strict=True):
        attributes = list(named(places, "attributes"))
        _show_staves(part, attributes)
        _drop_repeated_clefs(attributes)
    _settle_labels(tree)
    _bracket_instruments(tree, marks)


def _show_staves(part: etree._Element, attributes: Iterable[Place]) -> None:
    """Print staves that are hidden now and then; one that is hidden from first to last stays hidden."""
    hidden: dict[str, list[int]] = {}
    details: list[etree._Element] = []
    shown: set[str] = set()
    for place in attributes:
        for detail in place.element.iterchildren("staff-details"):
            printed = detail.get("print-object")
            if printed is None:
                continue
            details.append(detail)
            if printed == "no":
                hidden.setdefault(detail.get("number", "1"), []).append(place.bar_index)
            else:
                shown.add(detail.get("number", "1"))
    bars = part.iterchildren("measure") if hidden else ()
    starts = {0, *(index for index, bar in enumerate(bars) if _starts_system(bar))}
    always = {
        staff
        for staff, said in hidden.items()
        if staff not in shown and said[0] == 0 and (len(said) == 1 or starts <= set(said))
    }
    for detail in details:
        if detail.get("number", "1") not in always:
            del detail.attrib["print-object"]


def _starts_system(bar: etree._Element) -> bool:
    return any(
        "yes" in (print_.get("new-system"), print_.get("new-page")) for print_ in bar.iterfind("print")
    )


def _drop_repeated_clefs(attributes: Iterable[Place]) -> None:
    """A clef that says what already holds on its staff would be drawn again in the middle of a line."""
    stated = sorted(
        (
            (place.bar_index, place.offset, order, clef)
            for order, place in enumerate(attributes)
            for clef in place.element.iterchildren("clef")
        ),
        key=lambda item: item[:3],
    )
    in_force: dict[str, tuple[str, bool]] = {}
    for _, _, _, clef in stated:
        staff = clef.get("number", "1")
        text = " ".join(f"{child.tag!s}={(child.text or '').strip()}" for child in clef)
        printed = clef.get("print-object") != "no"
        if printed and in_force.get(staff) == (text, True):
            clef.getparent().remove(clef)  # type: ignore[union-attr]
        in_force[staff] = (text, printed)


def _settle_labels(tree: etree._Element) -> None:
    """Later systems name parts by abbreviations: all of three parts or none, of more parts those that have one."""
    entries = _entries(tree)
    named = [entry for entry in entries if _is_abbreviated(entry)]
    if len(entries) < _LABELLED_PARTS or (len(entries) < _MANY_PARTS and len(named) < len(entries)):
        named = []
    for entry in (entry for entry in entries if entry not in named):
        for tag in _ABBREVIATIONS:
            for label in entry.findall(tag):
                entry.remove(label)


def _is_abbreviated(entry: etree._Element) -> bool:
    name, short = (" ".join(entry.findtext(tag, "").split()) for tag in ("part-name", "part-abbreviation"))
    return 0 < len(short) < len(name)


def _bracket_instruments(tree: etree._Element, marks: Marks) -> None:
    """Neighbouring strings, or winds, share a bracket and barlines, unless the file says how parts are grouped."""
    listed = tree.find("part-list")
    if listed is None or listed.find("part-group") is not None or len(marks) < 2:
        return
    kinds = [
        (part_kind(entry, _facts(part, places)), entry)
        for entry, part, places in zip(_entries(tree), tree.iterchildren("part"), marks, strict=False)
    ]
    for number, (kind, run) in enumerate(groupby(kinds, key=lambda item: item[0]), 1):
        entries = [entry for _, entry in run]
        if kind in _GROUPED and len(entries) > 1:
            start = etree.Element("part-group", type="start", number=str(number))
            etree.SubElement(start, "group-symbol").text = "bracket"
            etree.SubElement(start, "group-barline").text = "yes"
            entries[0].addprevious(start)
            entries[-1].addnext(etree.Element("part-group", type="stop", number=str(number)))


def _entries(tree: etree._Element) -> list[etree._Element]:
    """The list's entries of the parts that are there, in their order."""
    listed = {entry.get("id"): entry for entry in tree.iterfind("part-list/score-part")}
    ids = (part.get("id") for part in tree.iterchildren("part"))
    return [listed[identity] for identity in ids if identity in listed]


def _facts(part: etree._Element, places: Sequence[Place]) -> PartFacts:
    """What tells the kind of a part."""
    attributes = [place.element for place in named(places, "attributes")]
    staves = max((whole(element.findtext("staves"), 1) for element in attributes), default=1)
    return PartFacts(
        staves=staves,
        has_lyrics=staves == 1 and next(part.iter("lyric"), None) is not None,  # of more staves nobody asks
        clefs={clef.findtext("sign", "") for element in attributes for clef in element.iterchildren("clef")},
    )
