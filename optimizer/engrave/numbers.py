"""The number of the bar that each system begins with, as it is printed.

In: the bars of a part, as the file has them.  Out: a text for each; empty for a bar that is not counted and belongs to
none: the pickup of a movement.
"""

import re
from collections.abc import Iterator, Sequence
from typing import Final

from lxml import etree

from optimizer.score.multirests import MAX_DIGITS, bars_of, right_barlines

_COUNTED: Final = re.compile(r"\d+")  # of "12" and "12a" of an ending
_FINAL: Final = "light-heavy"


def printed_numbers(bars: Sequence[etree._Element]) -> list[str]:
    """Of each bar its own number; of the second half of a bar that is split by a repeat or an ending, the number of
    that bar in parentheses."""
    own = [_own_number(bar) for bar in bars]
    pickups = set(_pickups(bars, own))
    printed, halved = [], ""
    for index, (bar, number) in enumerate(zip(bars, own, strict=True)):
        halved = "" if index in pickups else _last_number(number, bars_of(bar)) or halved
        printed.append(number or (f"({halved})" if halved else ""))
    return printed


def _own_number(bar: etree._Element) -> str:
    """None for incomplete bars; files also call them 0."""
    number = bar.get("number", "")
    return "" if bar.get("implicit") == "yes" or number == "0" else number


def _pickups(bars: Sequence[etree._Element], numbers: Sequence[str]) -> Iterator[int]:
    """Bars without a number after which the numbers start again, as far as they begin a movement and do not end one."""
    before, first = -1, 0
    for index, number in enumerate(numbers):
        counted = _value(number)
        if counted is not None:
            yield from range(first, index) if counted < before else ()
            before = counted
        if counted is not None or _ends_movement(bars[index]):
            first = index + 1


def _ends_movement(bar: etree._Element) -> bool:
    return any(line.findtext("bar-style", "").strip() == _FINAL for line in right_barlines(bar))


def _value(number: str) -> int | None:
    match = _COUNTED.match(number)
    return int(match[0][:MAX_DIGITS]) if match else None


def _last_number(number: str, bars: int) -> str:
    """The number of the last bar of a multiple rest, or of a bar."""
    return str(int(number) + bars - 1) if bars > 1 and number.isdecimal() else number
