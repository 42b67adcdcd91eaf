"""Sizes of bars from one pass in which every measure is a system of its own.

In: the engraving library's MEI, written back with the places of measures, staves and systems (zones, whole units, 18 to
a staff space).  Out: `Measured`.  Always true: `prefix_sp + width_sp + suffix_sp` is the width the library gave the bar
when it stood alone.
"""

import re
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

from lxml import etree

from optimizer.engrave.mei import score, staff_numbers
from optimizer.engrave.model import BarSize, Measured
from optimizer.engrave.systems import NUMBER_TOP_SP

ZONE_UNITS_PER_SP: Final = 18.0
STAFF_HEIGHT_SP: Final = 4.0
MARGIN_BELOW_SP: Final = 1.0  # white that the library adds below a system; seen alike in all scores

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


def read_places(mei: str, movement_ends: Collection[int] = ()) -> list[BarPlace]:
    """Places of all bars from MEI with zones, laid out by `mei.with_single_bars`; a system that follows the end of a
    movement is left out."""
    places: list[BarPlace] = []
    top, measures, staves = 0, list[tuple[int, int]](), list[int]()
    for kind, text in _ZONE.findall(mei):
        values = dict(_ATTRIBUTE.findall(text))
        what = "surface" if kind == "surface" else values.get("type", "")
        if what in ("surface", "sb"):
            bottom = int(values.get("uly", 0))
            if measures:
                places.append(BarPlace(top, bottom, *measures[0], tuple(staves)))
            top, measures, staves = bottom, [], []
        elif what == "measure":
            measures.append((int(values["ulx"]), int(values["lrx"])))
        elif what == "staff":
            staves.append(int(values["uly"]))
    apart = {index + order for order, index in enumerate(movement_ends, 1)}
    return [place for index, place in enumerate(places) if index not in apart]


@dataclass(frozen=True, slots=True)
class StartWidths:
    """Of a bar: `prefix_sp`, clefs and keys repeated at the start of a system; `change_sp`, the new key where it
    follows another inside a system."""

    prefix_sp: float
    change_sp: float


def sizes(
    places: Sequence[BarPlace],
    starts: Sequence[StartWidths],
    inner_sp: Mapping[int, float],
    overhang_sp: float,
    sung: Collection[int] = (),
) -> Measured:
    """Sizes of all bars. `inner_sp`: widths, without prefix, of the bars that would be wider at the end of a system;
    `overhang_sp`: how far brackets and braces stand out to the left of where the library begins a system; `sung`:
    bars with words to sing."""
    bars = []
    for index, (place, start) in enumerate(zip(places, starts, strict=True)):
        alone_sp = (place.right - place.left) / ZONE_UNITS_PER_SP - start.prefix_sp
        inside_sp = min(alone_sp, inner_sp.get(index, alone_sp))
        bars.append(_size(place, start, inside_sp, alone_sp - inside_sp, index in sung))
    return Measured(
        bars=tuple(bars),
        indent_sp=places[0].left / ZONE_UNITS_PER_SP + overhang_sp,
        label_sp=max((place.left for place in places[1:]), default=0) / ZONE_UNITS_PER_SP + overhang_sp,
        staves=max(len(place.staff_tops) for place in places),
    )


def _size(place: BarPlace, start: StartWidths, inside_sp: float, suffix_sp: float, sung: bool) -> BarSize:
    tops_sp = [(top - place.top) / ZONE_UNITS_PER_SP for top in place.staff_tops]
    height_sp = (place.bottom - place.top) / ZONE_UNITS_PER_SP
    return BarSize(
        width_sp=inside_sp + start.change_sp,
        prefix_sp=start.prefix_sp - start.change_sp,
        above_sp=max(tops_sp[0], NUMBER_TOP_SP),
        below_sp=max(0.0, height_sp - tops_sp[-1] - STAFF_HEIGHT_SP - MARGIN_BELOW_SP),
        gaps_sp=tuple(low - high - STAFF_HEIGHT_SP for high, low in pairwise(tops_sp)),
        suffix_sp=suffix_sp,
        sung=sung,
    )


def sung_bars(root: etree._Element) -> frozenset[int]:
    """The bars of a partwise MusicXML tree with words to sing in any part."""
    return frozenset(
        index
        for part in root.iter("part")
        for index, bar in enumerate(part.findall("measure"))
        if bar.find("note/lyric/text") is not None
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
    for element in root.iter(
        *(_MEI + name for name in ("measure", "staff", "staffDef", "scoreDef", "clef", "keySig"))
    ):
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
                now[number] = (
                    StaffStart(text, before.key) if name == "clef" else StaffStart(before.clef, text)
                )
    return starts


def _bare(element: etree._Element) -> str:
    """An element without identifiers, as text."""
    text = etree.tostring(element, encoding="unicode", with_tail=False)
    return re.sub(r' (xml:id|xmlns(:\w+)?|facs|corresp)="[^"]*"', "", text)


@dataclass(frozen=True, slots=True, order=True)
class StaffTurn:
    """A staff at a barline: its clef, its key and the key before (MEI elements)."""

    clef: str
    key: str
    before: str


def staff_turns(starts: Sequence[Sequence[StaffStart]]) -> list[tuple[StaffTurn, ...]]:
    """What decides about widths at the start of every bar: the different staves, in any order."""
    befores = [starts[0], *starts]
    return [
        tuple(
            sorted({StaffTurn(now.clef, now.key, was.key) for was, now in zip(before, start, strict=False)})
        )
        for before, start in zip(befores, starts, strict=False)
    ]


def sample_score(turn: Sequence[StaffTurn]) -> str:
    """Equal bars, to be read by `start_widths`: one under the keys before, two after the change, one that begins a
    system."""
    staves = changes = ""
    for number, staff in enumerate(turn, 1):
        staves += f'<staffDef n="{number}" lines="5">{staff.clef}{staff.before}</staffDef>'
        changes += f'<staffDef n="{number}">{staff.key}</staffDef>' if staff.key != staff.before else ""
    score_def = f"<scoreDef><staffGrp>{staves}</staffGrp></scoreDef>"
    bar = sample_bar(score_def)
    change = f"<scoreDef><staffGrp>{changes}</staffGrp></scoreDef>" if changes else ""
    return score(score_def, f"<pb/>{bar}{change}{bar}{bar}<sb/>{bar}")


def sample_bar(score_def: str) -> str:
    """A bar of rests on the staves of a score definition."""
    rests = '<rest dur="4"/>' * 4
    staves = (
        f'<staff n="{number}"><layer n="1">{rests}</layer></staff>' for number in staff_numbers(score_def)
    )
    return f"<measure>{''.join(staves)}</measure>"


def start_widths(zones: str) -> StartWidths:
    """Widths at the start of a bar, from the sample score engraved."""
    _, changed, plain, first = (width / ZONE_UNITS_PER_SP for width in measure_widths(zones))
    return StartWidths(prefix_sp=first - plain, change_sp=changed - plain)


def measure_widths(zones: str) -> list[int]:
    """Widths of all measures in the library's units."""
    found = (dict(_ATTRIBUTE.findall(text)) for kind, text in _ZONE.findall(zones) if kind == "zone")
    return [int(values["lrx"]) - int(values["ulx"]) for values in found if values.get("type") == "measure"]
