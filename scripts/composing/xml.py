"""Two helpers for building XML trees with lxml, and the one unit conversion: quarters to divisions."""

from fractions import Fraction
from typing import Final

from lxml import etree

DIVISIONS: Final = 24  # of a quarter; holds 32nds and triplets of 16ths

Element = etree._Element


def child(parent: Element, tag: str, text: object = None, **attributes: str) -> Element:
    """A new last child; underscores in attribute names stand for hyphens."""
    element = etree.SubElement(
        parent, tag, {name.replace("_", "-"): value for name, value in attributes.items()}
    )
    if text is not None:
        element.text = str(text)
    return element


def ticks(duration_ql: Fraction) -> int:
    """Quarter lengths as divisions."""
    scaled = duration_ql * DIVISIONS
    if scaled.denominator != 1:
        raise ValueError(f"{duration_ql} quarters do not fit {DIVISIONS} divisions")
    return int(scaled)
