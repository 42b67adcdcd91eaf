"""Marks of a section as MusicXML directions and barlines.

In: `Mark`s.  Out: `Placed` directions with the bar of the piece they stand in, and `<barline>` elements.
A mark that ends at a barline is written at the end of the bar before: nothing hangs over into a new system.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from lxml import etree

from composing.piece import Mark, Part, place
from composing.xml import Element, child, ticks

DYNAMICS: Final = {"ppp", "pp", "p", "mp", "mf", "f", "ff", "fff", "fp", "sf", "sfz"}
BAR_STYLES: Final = {"|:": "heavy-light", ":|": "light-heavy", "||": "light-light", "|.": "light-heavy"}
REPEAT_TIMES: Final = {":|": "", ":|3": "3"}
BEATS: Final = {
    "q": ("quarter", 0, 1.0),
    "q.": ("quarter", 1, 1.5),
    "h": ("half", 0, 2.0),
    "e": ("eighth", 0, 0.5),
}
JUMPS: Final = {
    "segno": ("", {"segno": "segno"}),
    "coda": ("", {"coda": "coda"}),
    "tocoda": ("To Coda", {"tocoda": "coda"}),
    "dalsegno": ("D.S. al Coda", {"dalsegno": "segno"}),
}
SPANS: Final = {"<", ">", "8va", "ped"}
BAR_END: Final = Fraction(1000)  # later than any bar
ENDS, STANDS, BEGINS = 0, 1, 2  # order among marks at one place


@dataclass(frozen=True, slots=True)
class Placed:
    """A direction, ready but for where it is put."""

    offset: Fraction
    rank: int
    staff: int
    element: Element

    def written(self, here: Fraction, bar_ql: Fraction, staves: int) -> Element:
        """The direction as it stands before the note at `here`, moved right where that note is under way."""
        element = self.element
        anchor = len(element.findall("direction-type"))
        if staves > 1:
            child(element, "staff", self.staff)
            element.insert(anchor, element[-1])
        if (distance := min(self.offset, bar_ql) - here) != 0:
            sound = {} if element.find("sound") is None else {"sound": "yes"}
            child(element, "offset", ticks(distance), **sound)
            element.insert(anchor, element[-1])
        return element


def direction(
    mark: Mark, placement: str, *, rank: int = STANDS, staff: int = 1, sound: Mapping[str, str] | None = None
) -> tuple[Placed, Element]:
    """A direction with one empty `<direction-type>`, and that."""
    element = etree.Element("direction", {"placement": placement})
    kind = child(element, "direction-type")
    if sound:
        child(element, "sound", None, **sound)
    return Placed(mark.offset, rank, staff, element), kind


def second_kind(placed: Placed) -> Element:
    """One more `<direction-type>` of a direction."""
    kind = etree.Element("direction-type")
    placed.element.insert(1, kind)
    return kind


def tempo(mark: Mark) -> Placed:
    """`Andante q=84`: words, metronome and sound."""
    words, _, beat = mark.argument.rpartition(" ")
    unit, _, count = beat.partition("=")
    kind, dots, quarters = BEATS[unit]
    placed, first = direction(mark, "above", sound={"tempo": f"{float(count) * quarters:g}"})
    child(first, "words", words, font_weight="bold")
    metronome = child(second_kind(placed), "metronome", parentheses="yes")
    child(metronome, "beat-unit", kind)
    for _ in range(dots):
        child(metronome, "beat-unit-dot")
    child(metronome, "per-minute", count)
    return placed


def jump(mark: Mark) -> Placed:
    """Segno, coda and the words that send the player there."""
    words, sound = JUMPS[mark.command]
    placed, kind = direction(mark, "above", sound=sound)
    if words:
        child(kind, "words", words, font_weight="bold", justify="right")
    else:
        child(kind, mark.command)
    if mark.command == "tocoda":
        child(second_kind(placed), "coda")
    return placed


def words(mark: Mark) -> Placed:
    """Italic words, perhaps with the tempo they bring."""
    text, _, speed = mark.argument.partition(" @")
    staff, text = (2, text[2:]) if text.startswith("2:") else (1, text)
    above = text.startswith("^") or bool(speed)
    sound = {"tempo": speed} if speed else None
    placed, kind = direction(mark, "above" if above else "below", staff=staff, sound=sound)
    child(kind, "words", text.removeprefix("^"), font_style="italic")
    return placed


def plucked(mark: Mark) -> Placed:
    """pizz. and arco."""
    pizzicato = mark.command == "pizz"
    placed, kind = direction(mark, "above", sound={"pizzicato": "yes" if pizzicato else "no"})
    child(kind, "words", "pizz." if pizzicato else "arco", font_style="italic")
    return placed


def rehearsal(mark: Mark) -> Placed:
    """A rehearsal letter in a box."""
    placed, kind = direction(mark, "above", rank=ENDS)
    child(kind, "rehearsal", mark.argument, font_weight="bold", enclosure="rectangle")
    return placed


def title(mark: Mark) -> Placed:
    """A movement's title."""
    placed, kind = direction(mark, "above", rank=ENDS)
    child(kind, "words", mark.argument, font_weight="bold", font_size="14")
    return placed


SINGLE: Final[Mapping[str, Callable[[Mark], Placed]]] = {
    "tempo": tempo,
    "words": words,
    "pizz": plucked,
    "arco": plucked,
    "reh": rehearsal,
    "title": title,
    **dict.fromkeys(JUMPS, jump),
}


def span_sign(kind: Element, command: str, ends: bool) -> None:
    """One end of a hairpin, an octave line or a pedal."""
    if command in ("<", ">"):
        shape = "crescendo" if command == "<" else "diminuendo"
        child(kind, "wedge", type="stop" if ends else shape, number="1")
    elif command == "ped":
        child(kind, "pedal", type="stop" if ends else "start", line="no", sign="yes")
    else:
        child(kind, "octave-shift", type="stop" if ends else "down", size="8", number="1")


def span(mark: Mark, bar: int, sung: bool) -> Iterator[tuple[int, Placed]]:
    """A mark with two ends: (bar, direction) of each."""
    staff = 2 if mark.command == "ped" else 1
    above = mark.command == "8va" or (mark.command in ("<", ">") and sung)
    last, offset = place(mark.argument)
    stop = Mark(last, offset or BAR_END, mark.command, "")
    for here, at, rank in ((mark, bar, BEGINS), (stop, bar + last - mark.bar - (not offset), ENDS)):
        placed, kind = direction(here, "above" if above else "below", rank=rank, staff=staff)
        span_sign(kind, mark.command, rank == ENDS)
        yield at, placed


def directions(mark: Mark, bar: int, part: Part) -> Iterator[tuple[int, Placed]]:
    """The directions of a mark in this bar of the piece, each with its bar; none for a barline or clef."""
    sung = part.sound.startswith("voice")
    if mark.command in DYNAMICS:
        placed, kind = direction(mark, "above" if sung else "below")
        child(child(kind, "dynamics"), mark.command)
        yield bar, placed
    elif mark.command in SPANS:
        yield from span(mark, bar, sung)
    elif mark.command in SINGLE:
        yield bar, SINGLE[mark.command](mark)
    elif mark.command not in {"ending", "clef", *BAR_STYLES, *REPEAT_TIMES}:
        raise ValueError(f"unknown mark: {mark.command}")


def barlines(marks: Sequence[Mark]) -> dict[str, Element]:
    """The barlines of a bar by location ("left", "right"), from the marks that stand in it."""
    made: dict[str, Element] = {}

    def line(location: str) -> Element:
        return made.setdefault(location, etree.Element("barline", {"location": location}))

    # The schema wants style, ending, repeat in this order.
    for sign in (mark.command.removesuffix("3") for mark in marks):
        if sign in BAR_STYLES:
            child(line("left" if sign == "|:" else "right"), "bar-style", BAR_STYLES[sign])
    for mark in marks:
        if mark.command == "ending":
            numbers, kind = mark.argument.split()
            ending = child(line("left" if kind == "start" else "right"), "ending", number=numbers, type=kind)
            if kind == "start":
                ending.text = ", ".join(f"{number}." for number in numbers.split(","))
    for mark in marks:
        if mark.command == "|:":
            child(line("left"), "repeat", direction="forward")
        elif mark.command in REPEAT_TIMES:
            times = REPEAT_TIMES[mark.command]
            child(line("right"), "repeat", direction="backward", **({"times": times} if times else {}))
    return made
