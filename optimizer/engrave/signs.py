"""Signs of directions that would be printed without need, twice, or run together.

In: the marks of a partwise MusicXML tree that is ours to change, without what is not to be printed.  Always true: no
note, rest, bar or duration changes.

Pedal marks that a file hides, and dynamics and hairpins repeated at their place go; the pieces of a text of several
typefaces are set apart.
"""

import re
from collections.abc import Sequence
from fractions import Fraction
from itertools import pairwise
from typing import Final

from lxml import etree

from optimizer.engrave.bars import Marks, Place, named
from optimizer.engrave.directions import remove_shown, shown
from optimizer.score.walk import exact

_LINE_BREAK: Final = re.compile(r"(?<![ \t])[ \t]*[\r\n]\s*")
_TYPE: Final = ("font-weight", "font-style")  # not size: small capitals change it inside words
_OPENING: Final = "([{„«‘“-–"  # punctuation that the next letter touches, and that touches the letter before
_CLOSING: Final = ")]},.;:!?’”»"
_SPACES: Final = " \t\xa0"

_Instant = tuple[int, Fraction]
_Signs = Sequence[tuple[Place, etree._Element]]  # what directions show, at its place


def tidy_signs(marks: Marks) -> None:
    """Clear up a tree in place."""
    for places in marks:
        signs = [(place, sign) for place in named(places, "direction") for sign in shown(place.element)]
        _drop_hidden_pedals(signs)
        _drop_doubled_dynamics(signs)
        _drop_doubled_wedges(signs)
        for place in dict.fromkeys(place for place, sign in signs if sign.tag == "words"):
            _set_words_apart(place.element)


def _drop_hidden_pedals(signs: _Signs) -> None:
    for _, pedal in signs:
        if pedal.tag == "pedal" and pedal.get("sign") == "no" and pedal.get("line") != "yes":
            remove_shown(pedal)


def _drop_doubled_dynamics(signs: _Signs) -> None:
    """The same dynamic again at the same place of a staff; on the other side of the staff it is another voice's."""
    seen: set[tuple[_Instant, str, str | None, tuple[str, ...]]] = set()
    for place, dynamics in signs:
        if dynamics.tag != "dynamics":
            continue
        key = (
            _instant(place),
            place.element.findtext("staff", "1"),
            place.element.get("placement"),
            tuple(f"{sign.tag!s} {sign.text or ''}".strip() for sign in dynamics),
        )
        if key in seen:
            remove_shown(dynamics)
        seen.add(key)


def _drop_doubled_wedges(signs: _Signs) -> None:
    """Hairpins of the same kind from and to the same places on the same side of a staff are one."""
    opened: dict[tuple[str, str], tuple[etree._Element, _Instant, str | None]] = {}
    seen: set[tuple[str, str, _Instant, _Instant, str | None]] = set()
    for place, wedge in signs:
        if wedge.tag != "wedge":
            continue
        staff = place.element.findtext("staff", "1")
        name = staff, wedge.get("number", "1")
        if wedge.get("type") in ("crescendo", "diminuendo"):
            opened[name] = wedge, _instant(place), place.element.get("placement")
        elif wedge.get("type") == "stop" and name in opened:
            first, start, side = opened.pop(name)
            key = staff, first.get("type", ""), start, _instant(place), side
            if key in seen:
                remove_shown(first)
                remove_shown(wedge)
            seen.add(key)


def _instant(place: Place) -> _Instant:
    """Where a direction is printed."""
    moved = exact(place.element.findtext("offset"))
    return place.bar_index, place.offset + place.division * moved if moved else place.offset


def _set_words_apart(direction: etree._Element) -> None:
    """One space that the library keeps, where it would drop a plain one or where the type changes; lines become one."""
    words = [element for element in shown(direction) if element.tag == "words"]
    for element in words:
        element.text = _LINE_BREAK.sub(" ", element.text or "")
    for left, right in pairwise(shown(direction)):
        if left.tag != "words" or right.tag != "words" or not left.text or not right.text:
            continue
        before, after = left.text.rstrip(_SPACES), right.text.lstrip(_SPACES)
        spaced = before != left.text or after != right.text
        if before and after and (spaced or _type_changes(left, right)):
            left.text, right.text = f"{before}\xa0", after


def _type_changes(left: etree._Element, right: etree._Element) -> bool:
    """Whether a word ends where the typeface changes: nobody changes it inside a word."""
    before, after = (left.text or "")[-1:], (right.text or "")[:1]
    return (
        before not in _OPENING and after not in _CLOSING and any(left.get(a) != right.get(a) for a in _TYPE)
    )
