"""The input tree with our own page and system breaks, page size and staff size.

In: a partwise root, which is never changed. Out: a new tree or its bytes. Always true: everything but the
layout the breaks replace is kept, and output is valid against the W3C MusicXML 4.0 schema when the input was.
"""

import copy
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from typing import Final, Literal

from lxml import etree

from optimizer.score.multirests import fill, shorten
from optimizer.settings import Margins, Paper
from optimizer.units import TENTHS_PER_STAFF, mm_to_tenths

Break = Literal["system", "page"]
SOFTWARE: Final = "quietleaf"
# What a <print> says about the system or page it started; the old breaks are gone, so this is void.
_VOID_ATTRIBUTES: Final = ("new-system", "new-page", "blank-page", "page-number", "staff-spacing")
_VOID_CHILDREN: Final = ("page-layout", "system-layout", "staff-layout", "measure-layout")
# Order of the header and of <defaults>: W3C musicxml.xsd 4.0, score-header, identification, defaults.
_HEADER: Final = (
    "work",
    "movement-number",
    "movement-title",
    "identification",
    "defaults",
    "credit",
    "part-list",
)
_IDENTIFICATION: Final = ("creator", "rights", "encoding", "source", "relation", "miscellaneous")
_DEFAULTS: Final = ("scaling", "concert-score", "page-layout")


@dataclass(frozen=True, slots=True)
class PageBox:
    """The sheet and the white around the music; `even`: on the second, fourth ... page, where that differs."""

    paper: Paper
    margins: Margins
    even: Margins | None = None


def with_breaks(root: etree._Element, starts: Mapping[int, Break]) -> etree._Element:
    """A new tree in which only the given measures (0-based) start a system or a page, in all parts."""
    tree = copy.deepcopy(root)
    for part in tree.iterchildren("part"):
        for index, measure in enumerate(part.iterchildren("measure")):
            kept = []
            for element in measure.findall("print"):
                if _strip(element):
                    kept.append(element)
                else:
                    measure.remove(element)
            if index in starts:
                target = kept[0] if kept else _new_print(measure)
                target.set("new-page" if starts[index] == "page" else "new-system", "yes")
    return tree


def _strip(element: etree._Element) -> bool:
    """Take the old layout out of a <print>; whether anything is left of it."""
    for name in _VOID_ATTRIBUTES:
        element.attrib.pop(name, None)
    for child in list(element.iterchildren(*_VOID_CHILDREN)):
        element.remove(child)
    return len(element) > 0 or bool(set(element.attrib) - {"id"})


def _new_print(measure: etree._Element) -> etree._Element:
    element = etree.Element("print")
    element.tail = measure.text
    measure.insert(0, element)
    return element


def with_layout(
    root: etree._Element,
    systems: Sequence[tuple[int, int, bool]],
    staff_mm: float,
    page: PageBox,
    after_blank: Collection[int] = (),
) -> bytes:
    """The score as a MusicXML file laid out as planned. `systems`: first and last measure (0-based, both
    included) and whether the system starts a page; `staff_mm`: staff height; `after_blank`: measures that start a page
    after a blank one."""
    starts: dict[int, Break] = {first: "page" if new_page else "system" for first, _, new_page in systems}
    starts.pop(0, None)  # the first measure starts the first page anyway
    tree = with_breaks(root, starts)
    _set_blanks(tree, after_blank)
    _set_defaults(tree, staff_mm, page)
    _set_encoding(tree)
    shorten(tree)
    fill(tree)
    doctype = root.getroottree().docinfo.doctype if root.tag == "score-partwise" else ""
    return etree.tostring(tree, xml_declaration=True, encoding="UTF-8", doctype=doctype or None)


def _set_blanks(tree: etree._Element, after_blank: Collection[int]) -> None:
    """Say where a page was left blank."""
    for part in tree.iterchildren("part"):
        for index, measure in enumerate(part.iterchildren("measure")):
            for element in measure.iterchildren("print"):
                if index in after_blank and element.get("new-page") == "yes":
                    element.set("blank-page", "1")


def _set_defaults(tree: etree._Element, staff_mm: float, page: PageBox) -> None:
    defaults = _child(tree, "defaults", _HEADER)
    scaling = _fresh_child(defaults, "scaling", _DEFAULTS)
    etree.SubElement(scaling, "millimeters").text = _decimal(staff_mm)
    etree.SubElement(scaling, "tenths").text = _decimal(TENTHS_PER_STAFF)
    layout = _fresh_child(defaults, "page-layout", _DEFAULTS)
    etree.SubElement(layout, "page-height").text = _decimal(mm_to_tenths(page.paper.height_mm, staff_mm))
    etree.SubElement(layout, "page-width").text = _decimal(mm_to_tenths(page.paper.width_mm, staff_mm))
    if page.even is None or page.even == page.margins:
        _set_margins(layout, "both", page.margins, staff_mm)
    else:
        _set_margins(layout, "odd", page.margins, staff_mm)
        _set_margins(layout, "even", page.even, staff_mm)


def _set_margins(
    layout: etree._Element, pages: Literal["both", "odd", "even"], margins: Margins, staff_mm: float
) -> None:
    box = etree.SubElement(layout, "page-margins", type=pages)
    for side in ("left", "right", "top", "bottom"):
        tenths = mm_to_tenths(getattr(margins, f"{side}_mm"), staff_mm)
        etree.SubElement(box, f"{side}-margin").text = _decimal(tenths)


def _set_encoding(tree: etree._Element) -> None:
    """Say who broke the pages, and that the breaks count."""
    encoding = _child(_child(tree, "identification", _HEADER), "encoding", _IDENTIFICATION)
    if SOFTWARE not in (element.text for element in encoding.iterchildren("software")):
        etree.SubElement(encoding, "software").text = SOFTWARE
    for supports in encoding.iterchildren("supports"):
        if supports.get("element") == "print" and supports.get("attribute") in ("new-system", "new-page"):
            supports.set("type", "yes")
            supports.set("value", "yes")


def _decimal(value: float) -> str:
    return f"{value:.4f}".rstrip("0").rstrip(".")


def _child(parent: etree._Element, tag: str, order: Sequence[str]) -> etree._Element:
    """The child of this name, made at its place in the schema's order when it is missing."""
    found = parent.find(tag)
    if found is not None:
        return found
    before = set(order[: order.index(tag)])
    place = max((index + 1 for index, child in enumerate(parent) if child.tag in before), default=0)
    element = etree.Element(tag)
    element.tail = "\n"
    parent.insert(place, element)
    return element


def _fresh_child(parent: etree._Element, tag: str, order: Sequence[str]) -> etree._Element:
    """An empty child of this name in place of any that was there."""
    element = _child(parent, tag, order)
    tail = element.tail
    element.clear()
    element.tail = tail
    return element
