"""Sizes of bars from one pass in which every measure is a system of its own.

In: the engraving library's MEI, written back with the places of measures, staves and systems (`zones`), whole units,
18 to a staff space.  Out: `Measured`.  Always true: `width_sp + prefix_sp` is the width the library gave the bar.
"""

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

from lxml import etree

from optimizer.engrave.model import BarSize, Measured

ZONE_UNITS_PER_SP: Final = 18.0
STAFF_HEIGHT_SP: Final = 4.0
# Least white between staves (the library's default, 12 half spaces); it is kept when drawing, so it is known here.
MIN_STAFF_GAP_SP: Final = 6.0

_ZONE: Final = re.compile(r"<(surface|zone)\b([^>]*)/?>")
_ATTRIBUTE: Final = re.compile(r'(\w+)="([^"]*)"')
_MEI: Final = "{http://www.music-encoding.org/ns/mei}"


@dataclass(frozen=True, slots=True)
class BarPlace:
    """A bar that is a system of its own, in the library's units, from the top left of its page.

    `top`, `bottom`: the room the library gave the system; `left`, `right`: ends of the staff lines; `staff_tops`: top
    line of every staff.
    """

    top: int
    bottom: int
    left: int
    right: int
    staff_tops: tuple[int, ...]


def read_places(mei: str) -> list[BarPlace]:
    """Places of all bars from MEI with zones, every bar a system and an empty system at the end of each page."""
    places: list[BarPlace] = []
    top, measure, staves = 0, (0, 0), list[int]()
    for kind, text in _ZONE.findall(mei):
        values = dict(_ATTRIBUTE.findall(text))
        what = "surface" if kind == "surface" else values.get("type", "")
        if what in ("surface", "sb"):
            bottom = int(values.get("uly", 0))
            if staves:
                places.append(BarPlace(top, bottom, *measure, tuple(staves)))
            top, staves = bottom, []
        elif what == "measure":
            measure = int(values["ulx"]), int(values["lrx"])
        elif what == "staff":
            staves.append(int(values["uly"]))
    return places


def sizes(places: Sequence[BarPlace], prefixes_sp: Sequence[float], staves: int) -> Measured:
    """Sizes of all bars. `prefixes_sp`: width of repeated clefs and keys at each bar."""
    bars = tuple(_size(place, prefix_sp) for place, prefix_sp in zip(places, prefixes_sp, strict=True))
    return Measured(
        bars=bars,
        indent_sp=places[0].left / ZONE_UNITS_PER_SP,
        label_sp=max((place.left for place in places[1:]), default=0) / ZONE_UNITS_PER_SP,
        staves=staves,
    )


def _size(place: BarPlace, prefix_sp: float) -> BarSize:
    tops_sp = [(top - place.top) / ZONE_UNITS_PER_SP for top in place.staff_tops]
    return BarSize(
        width_sp=(place.right - place.left) / ZONE_UNITS_PER_SP - prefix_sp,
        prefix_sp=prefix_sp,
        above_sp=tops_sp[0],
        below_sp=(place.bottom - place.top) / ZONE_UNITS_PER_SP - tops_sp[-1] - STAFF_HEIGHT_SP,
        gaps_sp=tuple(max(low - high - STAFF_HEIGHT_SP, MIN_STAFF_GAP_SP) for high, low in pairwise(tops_sp)),
    )


@dataclass(frozen=True, slots=True)
class StaffStart:
    """What stands at the left end of a staff: clef and key as MEI elements ("" for none)."""

    clef: str
    key: str


def staff_starts(mei: str) -> list[tuple[StaffStart, ...]]:
    """Clefs and keys in force at the start of every measure, for all staves."""
    root = etree.fromstring(mei.encode(), etree.XMLParser(huge_tree=True, resolve_entities=False))
    starts: list[tuple[StaffStart, ...]] = []
    now: dict[str, StaffStart] = {}
    staff = ""
    for element in root.iter(*(_MEI + name for name in ("measure", "staff", "staffDef", "scoreDef", "clef", "keySig"))):
        name = str(element.tag).removeprefix(_MEI)
        if name == "measure":
            starts.append(tuple(now.values()))
        elif name in ("staff", "staffDef"):
            staff = element.get("n", "")
            now.setdefault(staff, StaffStart("", ""))
        elif name == "scoreDef":
            staff = ""
        elif element.get("sameas") is None:
            text = _bare(element)
            for number in [staff] if staff else list(now):
                before = now[number]
                now[number] = StaffStart(text, before.key) if name == "clef" else StaffStart(before.clef, text)
    return starts


def _bare(element: etree._Element) -> str:
    """An element without identifiers, as text."""
    text = etree.tostring(element, encoding="unicode", with_tail=False)
    return re.sub(r' (xml:id|xmlns(:\w+)?|facs|corresp)="[^"]*"', "", text)


def sample_score(starts: Sequence[StaffStart]) -> str:
    """A score of two systems, one bar and two equal bars, that begin with these clefs and keys: see `prefix_units`."""
    defs = "".join(
        f'<staffDef n="{number}" lines="5">{start.clef}{start.key}</staffDef>' for number, start in enumerate(starts, 1)
    )
    rests = '<rest dur="4"/>' * 4
    staves = "".join(f'<staff n="{number}"><layer n="1">{rests}</layer></staff>' for number in range(1, len(starts) + 1))
    bar = f"<measure>{staves}</measure>"
    return (
        '<mei xmlns="http://www.music-encoding.org/ns/mei" meiversion="5.0"><music><body><mdiv><score><scoreDef>'
        f"<staffGrp>{defs}</staffGrp></scoreDef><section><pb/>{bar}<sb/>{bar}{bar}</section></score></mdiv></body></music></mei>"
    )


def prefix_units(zones: str) -> int:
    """What the first bar of a system is wider than the others, from the sample score engraved."""
    single, first, second = (place for place in _measures(zones))
    return (single[1] - single[0]) - (second[1] - second[0]) if first else 0


def _measures(zones: str) -> Iterator[tuple[int, int]]:
    for kind, text in _ZONE.findall(zones):
        values = dict(_ATTRIBUTE.findall(text))
        if kind == "zone" and values.get("type") == "measure":
            yield int(values["ulx"]), int(values["lrx"])
