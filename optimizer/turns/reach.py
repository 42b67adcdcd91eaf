"""How far each bar lies from the hands when it stands on an outer page of a wide spread.

In: a score, its player, pages abreast, page width.  Out: whole points for each spread size, slot and measure.
Always true: nothing on spreads of one or two pages, and nothing for anybody but a keyboard player.

The middle of a spread is over the middle of the keyboard. A bar costs more the further its page's centre is
from the hands' centre beyond what a turn of the head covers, squared, times how much there is to read in it.
"""

from typing import Final

import numpy as np

from optimizer.score.events import played_notes
from optimizer.score.model import Score
from optimizer.turns.events import CHORD_S, Floats
from optimizer.turns.hands import NOT_TURNING, Player, PlayerKind

WHITE_KEY_MM: Final = 23.5  # keyboard size article (facts.md)
# White keys, and black ones between them, from C in key widths; the middle of 88 keys is between E4 and F4.
KEY_IN_OCTAVE: Final = (0.0, 0.5, 1.0, 1.5, 2.0, 3.0, 3.5, 4.0, 4.5, 5.0, 5.5, 6.0)
KEYS_IN_OCTAVE: Final = 7
MIDDLE_KEY: Final = KEYS_IN_OCTAVE * 5 + 2.5  # octave 4 is the fifth from MIDI 0; E is key 2, F key 3
SMALLEST_WIDE_SPREAD: Final = 3
# Two facing A4 pages read well with both hands two octaves to one side: 105 mm + 2 x 164 mm is within this.
# Ours.
TOLERANCE_MM: Final = 400.0
# Points a chord at one page width (A4) beyond the tolerance: with two hands in the bass (around A2) a page of
# 24 bars of 8 chords on page four then costs about as much as a tight turn. The trade calls it uncomfortable
# (facts.md).
POINTS_PER_CHORD: Final = 2.0
UNIT_MM: Final = 210.0

Reach = dict[int, tuple[tuple[int, ...], ...]]


def reach_costs(score: Score, player: Player, abreast: int, page_width_mm: float) -> Reach:
    """Points for reading each measure from each page: `reach_costs(...)[pages][slot][measure_index]`.

    `pages` runs from 1 to `abreast`, `slot` from 0 (leftmost) to pages - 1. A measure played twice costs
    twice.
    """
    count = len(score.measures)
    nothing = (0,) * count
    if player.kind is not PlayerKind.KEYBOARD or abreast < SMALLEST_WIDE_SPREAD:
        return {pages: (nothing,) * pages for pages in range(1, abreast + 1)}
    centre_mm, chords = hands_by_measure(score, player)
    return {
        pages: tuple(
            tuple(_points((slot - (pages - 1) / 2) * page_width_mm, centre_mm, chords))
            if pages >= SMALLEST_WIDE_SPREAD
            else nothing
            for slot in range(pages)
        )
        for pages in range(1, abreast + 1)
    }


def key_mm(midi: float) -> float:
    """Where a key lies, mm to the right of the keyboard's middle (the joint of E4 and F4)."""
    octave, within = divmod(round(midi), 12)
    return (octave * KEYS_IN_OCTAVE + KEY_IN_OCTAVE[within] - MIDDLE_KEY) * WHITE_KEY_MM


def hands_by_measure(score: Score, player: Player) -> tuple[Floats, Floats]:
    """For each measure the mean place of the notes under the hands (mm, 0 where there are none) and how many
    chords they are, over all passes."""
    staves = {
        staff for hand, found in player.hand_staves.items() if hand not in NOT_TURNING for staff in found
    }
    place_mm, notes, chords = np.zeros((3, len(score.measures)))
    last: dict[int, float] = {}
    for note in played_notes(score):
        if note.cue or note.midi is None or (note.part_index, note.staff) not in staves:
            continue
        measure = score.played[note.played_index].measure_index
        place_mm[measure] += key_mm(note.midi)
        notes[measure] += 1
        if note.onset_s - last.get(measure, -np.inf) > CHORD_S:
            chords[measure] += 1
            last[measure] = note.onset_s
    return place_mm / np.maximum(notes, 1), chords


def _points(page_mm: float, centre_mm: Floats, chords: Floats) -> list[int]:
    beyond = np.maximum(np.abs(page_mm - centre_mm) - TOLERANCE_MM, 0.0) / UNIT_MM
    points: list[int] = np.rint(POINTS_PER_CHORD * chords * beyond**2).astype(int).tolist()
    return points
