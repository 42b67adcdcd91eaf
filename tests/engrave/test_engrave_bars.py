"""Where things stand in a bar: members of chords, and how far directions are moved by an offset of their own."""

from fractions import Fraction

import pytest
from lxml import etree

from optimizer.engrave.bars import placed_bars


def note(step: str, duration: int, before: str = "") -> str:
    pitch = f"<pitch><step>{step}</step><octave>4</octave></pitch>"
    return f"<note>{before}{pitch}<duration>{duration}</duration></note>"


def bar(content: str) -> etree._Element:
    head = "<attributes><divisions>4</divisions></attributes>"
    return etree.fromstring(f'<part id="P1"><measure number="1">{head}{content}</measure></part>')


def test_a_chord_is_what_follows_its_first_note() -> None:
    chord = "<chord/>"
    (placed,) = placed_bars(
        bar(note("C", 4) + note("E", 4, chord) + note("G", 4, chord) + note("D", 4) + note("F", 4, chord))
    )
    steps = [[each.findtext("pitch/step") for each in place.chord()] for place in placed.places]
    assert steps == [["C", "E", "G"], ["D", "F"]]


@pytest.mark.parametrize(
    ("offset", "quarters"),
    [
        ("<offset>2</offset>", Fraction(1, 2)),
        ("<offset>-6</offset>", Fraction(-3, 2)),
        ("<offset>soon</offset>", Fraction(0)),
        ("<offset/>", Fraction(0)),
        ("", Fraction(0)),
    ],
)
def test_a_directions_own_offset(offset: str, quarters: Fraction) -> None:
    words = f"<direction><direction-type><words>dolce</words></direction-type>{offset}</direction>"
    (placed,) = placed_bars(bar(note("C", 4) + words + note("D", 4)))
    place = placed.marks[1]
    assert (place.offset, place.own_offset) == (1, quarters)
