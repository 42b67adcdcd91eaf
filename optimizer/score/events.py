"""Notes as they sound: ties merged, in written order or in the order of playing.

In: a `Score`. Out: tuples of notes sorted by onset, in quarters (`sounding_notes`) or seconds
(`played_notes`). Always true: a note ends no earlier than it begins, and a tie joins two notes only where the
second really follows.
"""

from bisect import bisect_right
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from optimizer.score.model import Clock, Note, PlayedNote, Score

GRACE_S: Final = (
    0.08  # a grace note takes this from the note before its main note; common practice, no source
)
TIE_GAP_QL: Final = Fraction(1, 24)  # rounding in files leaves gaps no player hears


@dataclass(frozen=True, slots=True)
class SoundingNote:
    """A note with its ties merged: `onset_ql` from the first measure of the file, without repeats. Grace
    notes last 0."""

    note_index: int
    part_index: int
    measure_index: int
    staff: int
    onset_ql: Fraction
    duration_ql: Fraction
    midi: float | None
    grace: bool
    cue: bool


@dataclass(slots=True)
class _Open:
    """A note that may still be tied on: `end_ql` and `end` say where it ends so far."""

    place: int
    voice: str
    staff: int
    end_ql: Fraction


class _Ties:
    """Finds the note that a tie continues, among those of the same part and pitch that end where it
    starts."""

    def __init__(self) -> None:
        self._open: dict[tuple[int, float], list[_Open]] = defaultdict(list)

    def place(self, note: Note, start_ql: Fraction, end_ql: Fraction, new_place: int) -> int:
        """The place of the note this one continues, or `new_place` when it begins afresh."""
        if not (note.tie_start or note.tie_stop) or note.pitch is None:
            return new_place
        waiting = self._open[note.part_index, note.pitch.midi]
        if note.tie_stop:
            fitting = [item for item in waiting if abs(item.end_ql - start_ql) <= TIE_GAP_QL]
            fitting.sort(key=lambda item: (item.voice != note.voice, item.staff != note.staff))
            if fitting:
                waiting.remove(fitting[0])
                new_place = fitting[0].place
        if note.tie_start:
            # Older ones that nothing continued are over.
            waiting[:] = [item for item in waiting if item.end_ql + TIE_GAP_QL >= start_ql]
            waiting.append(_Open(new_place, note.voice, note.staff, end_ql))
        return new_place


def sounding_notes(score: Score) -> tuple[SoundingNote, ...]:
    """Every note in written order, ties merged."""
    ties = _Ties()
    found: list[tuple[int, Fraction]] = []
    ends: list[Fraction] = []
    for index, note in enumerate(score.notes):
        start = score.measures[note.measure_index].offset_ql + note.offset_ql
        end = start + note.duration_ql
        place = ties.place(note, start, end, len(found))
        if place < len(found):
            ends[place] = end
            continue
        ends.append(end)
        found.append((index, start))
    merged = (
        _sounding(score.notes[index], index, start, end)
        for (index, start), end in zip(found, ends, strict=True)
    )
    return tuple(sorted(merged, key=lambda note: float(note.onset_ql)))


def _sounding(note: Note, index: int, start_ql: Fraction, end_ql: Fraction) -> SoundingNote:
    return SoundingNote(
        note_index=index,
        part_index=note.part_index,
        measure_index=note.measure_index,
        staff=note.staff,
        onset_ql=start_ql,
        duration_ql=end_ql - start_ql,
        midi=note.sounding_midi,
        grace=note.grace,
        cue=note.cue,
    )


@dataclass(slots=True)
class _Sounding:
    note_index: int
    played_index: int
    onset_s: float
    end_s: float


def played_notes(score: Score) -> tuple[PlayedNote, ...]:
    """Every note as often as it is played, sorted by onset; grace notes sound just before their main note."""
    ties = _Ties()
    found: list[_Sounding] = []
    for played_index, start_s, start_ql, timed in _played_measures(score):
        for note_index, onset_s, end_s in timed:
            note = score.notes[note_index]
            first = start_ql + note.offset_ql
            place = ties.place(note, first, first + note.duration_ql, len(found))
            if place < len(found):
                found[place].end_s = start_s + end_s
            else:
                found.append(
                    _Sounding(
                        note_index, played_index, max(0.0, start_s + onset_s), max(0.0, start_s + end_s)
                    )
                )
    return tuple(
        _played(score.notes[item.note_index], item) for item in sorted(found, key=lambda item: item.onset_s)
    )


def _played(note: Note, item: _Sounding) -> PlayedNote:
    return PlayedNote(
        note_index=item.note_index,
        played_index=item.played_index,
        part_index=note.part_index,
        staff=note.staff,
        onset_s=item.onset_s,
        end_s=item.end_s,
        midi=note.sounding_midi,
        cue=note.cue,
    )


_Timed = list[tuple[int, float, float]]  # note index, onset and end in seconds from the start of the measure


def _played_measures(score: Score) -> Iterator[tuple[int, float, Fraction, _Timed]]:
    """Each step of the playing order: its place, its start in seconds and in quarters played, its notes."""
    by_measure: dict[int, list[int]] = defaultdict(list)
    for index, note in enumerate(score.notes):
        by_measure[note.measure_index].append(index)
    timed: dict[int, _Timed] = {}
    start_ql = Fraction(0)
    for played_index, step in enumerate(score.played):
        index = step.measure_index
        if index not in timed:
            timed[index] = _timed_notes(
                [(place, score.notes[place]) for place in by_measure[index]], score.clocks[index]
            )
        yield played_index, step.start_s, start_ql, timed[index]
        start_ql += score.measures[index].length_ql


def _timed_notes(notes: Sequence[tuple[int, Note]], clock: Clock) -> _Timed:
    timed = []
    for index, note in notes:
        onset_s = clock_s(clock, note.offset_ql)
        if note.grace:
            onset_s -= GRACE_S * note.grace_order
            timed.append((index, onset_s, onset_s + GRACE_S))
        else:
            timed.append(
                (index, onset_s, clock_s(clock, note.offset_ql + note.duration_ql, before_pause=True))
            )
    return timed


def clock_s(clock: Clock, offset_ql: Fraction, *, before_pause: bool = False) -> float:
    """Seconds from the start of a measure to a moment in it; at a pause, its end unless `before_pause`."""
    knots = clock.knots
    if len(knots) == 2:
        length_ql, seconds = knots[1]
        return float(offset_ql / length_ql) * seconds if length_ql else 0.0
    place = bisect_right(knots, offset_ql, key=lambda knot: knot[0])
    if before_pause:
        while place > 1 and knots[place - 1][0] == offset_ql == knots[place - 2][0]:
            place -= 1
    before_ql, before_s = knots[place - 1]
    if place == len(knots) or before_ql == offset_ql:
        return before_s
    after_ql, after_s = knots[place]
    return before_s + float((offset_ql - before_ql) / (after_ql - before_ql)) * (after_s - before_s)
