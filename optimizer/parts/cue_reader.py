"""How the player who reads a cue has pitches written.

In: the bars of a part, a pitch.  Out: what holds there; the pitch as it is written for another player.  Positions are
in steps from C0, intervals in steps and semitones.  Always true: a transposed pitch sounds as asked.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from lxml import etree

from optimizer.engrave.bars import PlacedBar
from optimizer.score.model import Pitch
from optimizer.score.walk import whole

MOST_LEDGER_LINES: Final = 3
STEPS: Final = "CDEFGAB"
TOP_LINE: Final = 8  # steps above the bottom line
_NATURAL: Final = (0, 2, 4, 5, 7, 9, 11)
# Which note clefs name, in steps from C0, and their usual line.
_CLEFS: Final = {"G": (4 + 7 * 4, 2), "F": (3 + 7 * 3, 4), "C": (7 * 4, 3)}
_UNREADABLE: Final = ("TAB", "jianpu")  # clefs on which notes are no notes


@dataclass(frozen=True, slots=True)
class Reader:
    """What holds on the player's staff at the start of a bar. `bottom`: of the staff, in steps from C0, None where
    notes have no pitch; `interval`: from written to sounding, steps and semitones."""

    bottom: int | None
    fifths: int
    interval: tuple[int, int]


def reader_at(bars: Sequence[PlacedBar], index: int) -> Reader | None:
    """What holds at the start of a bar; None where the clef can show no notes."""
    clef = next(_attributes(bars, index, "clef"), None)
    if clef is not None and clef.findtext("sign") in _UNREADABLE:
        return None
    return Reader(_bottom(clef), _fifths(bars, index), interval_at(bars, index))


def _attributes(bars: Sequence[PlacedBar], index: int, tag: str) -> Iterator[etree._Element]:
    """What holds on the first staff at the start of a bar, the last said first."""
    for at in range(index, -1, -1):
        marks = (mark for mark in bars[at].marks if mark.element.tag == "attributes")
        said = [
            child
            for mark in marks
            if at < index or mark.offset == 0
            for child in mark.element.iterchildren(tag)
            if child.get("number", "1") == "1"
        ]
        yield from reversed(said)


def _bottom(clef: etree._Element | None) -> int | None:
    """The bottom line of a staff, in steps from C0."""
    sign = "G" if clef is None else clef.findtext("sign", "G").strip()
    if sign == "percussion":
        return None
    step, line = _CLEFS.get(sign, _CLEFS["G"])
    if clef is not None:
        line = whole(clef.findtext("line"), line)
        step += 7 * whole(clef.findtext("clef-octave-change"), 0)
    return step - 2 * (line - 1)


def _fifths(bars: Sequence[PlacedBar], index: int) -> int:
    key = next(_attributes(bars, index, "key"), None)
    return 0 if key is None else max(-7, min(7, whole(key.findtext("fifths"), 0)))


def interval_at(bars: Sequence[PlacedBar], index: int) -> tuple[int, int]:
    """How far what is written is from what sounds, steps and semitones."""
    transpose = next(_attributes(bars, index, "transpose"), None)
    if transpose is None:
        return 0, 0
    octaves, chromatic = (
        whole(transpose.findtext("octave-change"), 0),
        whole(transpose.findtext("chromatic"), 0),
    )
    diatonic = whole(transpose.findtext("diatonic"), round(chromatic * 7 / 12))
    return diatonic + 7 * octaves, chromatic + 12 * octaves


def transposed(pitch: Pitch, steps: int, semitones: int) -> Pitch:
    """A pitch moved by an interval; by another name where it would need three accidentals."""
    place = STEPS.index(pitch.step) + 7 * pitch.octave + steps
    midi = pitch.midi + semitones

    def named(at: int) -> Pitch:
        return Pitch(STEPS[at % 7], midi - (12 * (at // 7 + 1) + _NATURAL[at % 7]), at // 7)

    exactly = named(place)
    if abs(exactly.alter) <= 2:
        return exactly
    return min((named(place - 1), named(place + 1)), key=lambda other: abs(other.alter))


def position(pitch: Pitch) -> int:
    """Steps from C0."""
    return STEPS.index(pitch.step) + 7 * pitch.octave


def octaves_moved(pitches: Iterable[Pitch], bottom: int) -> int:
    """By how many octaves a line must be moved to need no more ledger lines than are read at sight."""
    places = [position(pitch) - bottom for pitch in pitches]
    lowest, highest = -2 * MOST_LEDGER_LINES - 1, TOP_LINE + 2 * MOST_LEDGER_LINES + 1

    def trouble(octaves: int) -> tuple[int, int]:
        moved = [place + 7 * octaves for place in places]
        return sum(max(0, lowest - at, at - highest) for at in moved), abs(octaves)

    return min(range(-3, 4), key=trouble)
