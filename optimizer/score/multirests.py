"""Multiple rests: several empty bars that are printed, and played, as one.

In and out: partwise trees.  A file has N real bars, the first with `<multiple-rest>N</multiple-rest>`; in memory they
are one measure that lasts N bars, with the number of the first and N in an attribute of ours.  Always true: time,
numbers and notes stay, and `expanded(collapsed(tree))` says what `tree` said but for page and system breaks and layout
inside the rest.  Tempi that are only played keep their moments: `<offset>` may lead a sound into a later bar of the
rest.
"""

from collections.abc import Iterator, Sequence
from copy import deepcopy
from fractions import Fraction
from itertools import pairwise
from typing import Final

from lxml import etree

from optimizer.score.walk import elements, exact, whole

# Attribute of a measure in memory: how many bars it stands for. In a file it would mean nothing.
BARS: Final = "bars"
MAX_DIGITS: Final = 9  # of a bar number; Python refuses to count with thousands of them
TIMED: Final = ("note", "backup", "forward")
_READ: Final = ("harmony", "figured-bass")  # to be read, or played from, while nothing is written out
# Where a multiple rest begins.
_AT_START: Final = frozenset({"print", "attributes", "direction", "sound", "barline", "bookmark", "link"})
# Attributes of a sound that tell the way through the piece.
WAY: Final = ("dacapo", "segno", "dalsegno", "coda", "tocoda", "fine", "forward-repeat")
# What a rest may be made of; anything else (fermatas, words) is to be seen at its own bar.
_REST: Final = frozenset({"rest", "duration", "voice", "type", "dot", "time-modification", "staff"})


def bars_of(measure: etree._Element) -> int:
    """How many bars a measure of a tree in memory stands for."""
    return int(measure.get(BARS, "1"))


def collapsed(root: etree._Element) -> etree._Element:
    """The tree with every multiple rest that all parts have made one measure; the same one where there is none."""
    runs = list(_runs(root))
    if not runs:
        return root
    tree = deepcopy(root)
    for part in tree.iterchildren("part"):
        measures = part.findall("measure")
        for first, count in runs:
            _join(measures[first : first + count])
    return tree


def expanded(root: etree._Element) -> etree._Element:
    """The tree with real bars in place of measures that stand for several; the same one where there is none."""
    if root.find(f"part/measure[@{BARS}]") is None:
        return root
    tree = deepcopy(root)
    shorten(tree)
    fill(tree)
    return tree


def shorten(tree: etree._Element) -> None:
    """Let measures that stand for several bars last but one of them, in place: `fill` adds the others."""
    for measure in tree.iterfind(f"part/measure[@{BARS}]"):
        _scale(measure, 1, bars_of(measure))


def fill(tree: etree._Element) -> None:
    """Add the bars that shortened measures stand for, in place."""
    for measure in list(tree.iterfind(f"part/measure[@{BARS}]")):
        count = bars_of(measure)
        del measure.attrib[BARS]
        timed = list(measure.iterchildren(*TIMED))
        last = measure
        ticks = _whole_rest(measure)
        sounds = [(sound, exact(sound.findtext("offset")) or 0) for sound in measure.iterchildren("sound")]
        for number in range(1, count):
            bar = etree.Element("measure", number=str(int(measure.get("number", "0")) + number))
            bar.text, bar.tail = measure.text, measure.tail
            for sound, at in sounds if ticks else ():
                if at // ticks == number:
                    _shift(sound, -number * ticks)
                    bar.append(sound)
            bar.extend(map(deepcopy, timed))
            last.addnext(bar)
            last = bar
        last.extend(right_barlines(measure))


def say_bars(measure: etree._Element, count: int) -> None:
    """State in a measure that a multiple rest of `count` bars begins with it."""
    style = etree.SubElement(first_attributes(measure), "measure-style")  # last of its kind in the schema
    etree.SubElement(style, "multiple-rest").text = str(count)


def first_attributes(measure: etree._Element) -> etree._Element:
    """The first attributes of a measure; made, after `<print>`, where there are none."""
    attributes = measure.find("attributes")
    if attributes is None:
        attributes = etree.Element("attributes")
        attributes.tail = measure.text
        measure.insert(sum(1 for _ in measure.iterchildren("print")), attributes)
    return attributes


def is_empty(measure: etree._Element) -> bool:
    """Whether nothing sounds in a measure and nothing is to be seen at its rests."""
    return next(measure.iterchildren(*_READ), None) is None and all(
        note.find("rest") is not None and all(child.tag in _REST for child in elements(note))
        for note in measure.iterchildren("note")
    )


def _runs(root: etree._Element) -> Iterator[tuple[int, int]]:
    """First measure and number of bars of every multiple rest that all parts have."""
    parts = [part.findall("measure") for part in root.iterchildren("part")]
    first, bars = 0, len(parts[0])
    while first < bars:
        counts = {_said_bars(measures[first]) for measures in parts}
        count = counts.pop() if len(counts) == 1 else 1
        if count > 1 and all(_can_join(measures[first : first + count], count) for measures in parts):
            yield first, count
            first += count
        else:
            first += 1


def only_steers(sound: etree._Element) -> bool:
    """Whether a sound only steers playback, and leads nowhere."""
    return not any(name in WAY for name in sound.keys())  # noqa: SIM118


def _said_bars(measure: etree._Element) -> int:
    counts = {whole(said.text, 1) for said in measure.iterfind("attributes/measure-style/multiple-rest")}
    return counts.pop() if len(counts) == 1 and measure.get(BARS) is None else 1


def _can_join(bars: Sequence[etree._Element], count: int) -> bool:
    numbers = [bar.get("number", "") for bar in bars]
    return (
        len(bars) == count
        and all(number.isdecimal() and len(number) <= MAX_DIGITS for number in numbers)
        and all(int(here) + 1 == int(there) for here, there in pairwise(numbers))
        and not any(bar.get("implicit") == "yes" or not is_empty(bar) for bar in bars)
        and _begins_plainly(bars[0])
        and all(map(_goes_on_plainly, bars[1:]))
        and not any(divides(line) for bar in bars[:-1] for line in right_barlines(bar))
    )


def _begins_plainly(bar: etree._Element) -> bool:
    """Whether everything that is no rest stands at the start of the bar, or is its right barline."""
    begun, right = False, right_barlines(bar)
    for element in elements(bar):
        if element.tag in TIMED:
            begun = True
        elif element not in right and (begun or element.tag not in _AT_START or _is_late(element)):
            return False
    return True


def _is_late(element: etree._Element) -> bool:
    if element.tag == "sound" and only_steers(element):
        return False
    return bool(exact(element.findtext("offset")) or exact(element.findtext("sound/offset")))


def _goes_on_plainly(bar: etree._Element) -> bool:
    """Whether nothing in the bar is to be seen but rests and its right barline."""
    begun, right = False, right_barlines(bar)
    for element in elements(bar):
        begun |= element.tag in TIMED
        steers = element.tag == "sound" and not begun and only_steers(element) and bool(_whole_rest(bar))
        plain = element.tag in (*TIMED, "print") or (element.tag == "attributes" and not len(element))
        if not (plain or steers or element in right):
            return False
    return True


def _whole_rest(bar: etree._Element) -> Fraction:
    """How long the rest for the whole bar lasts, in the file's own unit; 0 where there is none."""
    duration = bar.find("note/rest[@measure='yes']/../duration")
    return Fraction(0) if duration is None else exact(duration.text) or Fraction(0)


def _shift(sound: etree._Element, ticks: Fraction) -> None:
    """Let a sound act later."""
    offset = sound.find("offset")
    at = (Fraction(0) if offset is None else exact(offset.text) or Fraction(0)) + ticks
    if offset is not None and not at:
        sound.remove(offset)
    elif at:
        if offset is None:
            offset = etree.SubElement(sound, "offset")
        offset.text = decimal(at)


def divides(line: etree._Element) -> bool:
    """Whether a barline is more than the usual one, which files need not state."""
    return line.findtext("bar-style", "regular").strip() not in ("regular", "none") or any(
        child.tag != "bar-style" for child in elements(line)
    )


def right_barlines(bar: etree._Element) -> list[etree._Element]:
    """Those at the end of a bar."""
    return [line for line in bar.iterchildren("barline") if line.get("location", "right") == "right"]


def _join(bars: Sequence[etree._Element]) -> None:
    """Make the first bar stand for all of them."""
    first, last = bars[0], bars[-1]
    ticks, rest = _whole_rest(first), next(first.iterchildren(*TIMED), None)
    for number, bar in enumerate(bars[1:], 1):
        for sound in bar.findall("sound"):
            _shift(sound, number * ticks)
            if rest is not None:
                rest.addprevious(sound)
    for line in right_barlines(first):
        first.remove(line)
    _scale(first, len(bars), 1)
    first.set(BARS, str(len(bars)))
    first.extend(right_barlines(last))
    for bar in bars[1:]:
        parent = bar.getparent()
        if parent is not None:
            parent.remove(bar)


def _scale(measure: etree._Element, times: int, parts: int) -> None:
    """Lengthen, or shorten, everything in a measure that takes time."""
    for duration in measure.iterfind("*/duration"):
        value = exact(duration.text)
        if value is not None:
            duration.text = decimal(value * times / parts)


def decimal(value: Fraction) -> str:
    """A number of divisions as files have it."""
    return str(value.numerator) if value.denominator == 1 else f"{float(value):.9g}"
