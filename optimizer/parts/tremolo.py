"""Tremolo: one note, or two in turn, struck faster than anybody follows.

In: the notes of a line in one bar.  Out: which of them are tremolo.

It is written with strokes, or written out.  Strokes that only abbreviate quavers or semiquavers are none.
"""

from collections.abc import Sequence
from fractions import Fraction
from typing import Final

from lxml import etree

from optimizer.score.walk import whole

LEAST_NOTES: Final = 6  # written out; fewer may be a turn of the melody. Ours.
LONGEST_QL: Final = Fraction(1, 4)  # of its notes
_FLAGS: Final = {"eighth": 1, "16th": 2, "32nd": 3, "64th": 4, "128th": 5}
_LEAST_STROKES: Final = 3  # flags among them: demisemiquavers, too fast to be counted
_USUAL_STROKES: Final = 3

Struck = tuple[Fraction, Fraction, float | None]  # offset and length in quarters; pitch, None for none


def written_out(notes: Sequence[Struck]) -> list[range]:
    """Which notes of a bar, in succession, are tremolo: short ones on one pitch, or on two in turn."""
    found: list[range] = []
    start = 0
    for index in range(1, len(notes) + 1):
        follows = index < len(notes) and _follows(notes[index - 1], notes[index])
        if follows and (index - start < 2 or notes[index][2] == notes[index - 2][2]):
            continue
        enough = index - start >= LEAST_NOTES
        if enough:
            found.append(range(start, index))
        start = index - 1 if follows and not enough else index
    return found


def _follows(here: Struck, there: Struck) -> bool:
    """Whether a short note comes at once after another, as long."""
    at_once = here[0] + here[1] == there[0] and here[1] == there[1] <= LONGEST_QL
    return at_once and here[2] is not None and there[2] is not None


def is_marked(note: etree._Element) -> bool:
    """Whether strokes say that a note is tremolo."""
    flags = _FLAGS.get(note.findtext("type", "").strip(), 0)
    return any(
        mark.get("type") == "unmeasured" or whole(mark.text, _USUAL_STROKES) + flags >= _LEAST_STROKES
        for mark in note.iterfind("notations/ornaments/tremolo")
    )


def has_strokes(note: etree._Element) -> bool:
    """Whether a note stands for several, however fast."""
    return note.find("notations/ornaments/tremolo") is not None


def begins_pair(note: etree._Element) -> bool:
    """Whether strokes between a note and the next say that they are played in turn."""
    return note.find("notations/ornaments/tremolo[@type='start']") is not None
