"""Cues: what another part plays just before an entry after a long rest, in small notes.

In: a full score and its reading, the part that rests.  Out: `Cue`s, and the part's tree with them written in.  Bars are
0-based measures of the full score.  Always true: the part plays what it played before; a cue stands only in bars in
which the part rests, and ends where it enters; the same score and settings give the same cues.

A cue stands before an entry after more than `cue_bars` empty bars, or more than `cue_s` seconds of them, in one
movement, as they are played: repeats count each time, and one time through on which the rest is long is enough. It
stands in the bar written before the entry, so there is none where players come to the entry only by a repeat or a jump.
Two bars are cued, or one where that is long, where the line is silent before it, or where a double bar or a repeat
stands between the two. Which line: the points of `RULE`, all of them common
practice without a source; of equal ones the upper in the score.
"""

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from typing import Final

from lxml import etree

from optimizer.parts.cue_line import Line, Sources, melody, pitch_of, tremolo_share
from optimizer.parts.cue_notes import write_cue
from optimizer.parts.model import Cues, PartsSettings
from optimizer.score.model import Note, Score

LONG_BAR_S: Final = 5.0  # one such bar is enough to find one's place; ours
_SOLO: Final = "solo"
_LOUDNESS: Final = ("pp", "p", "mp", "mf", "f", "ff")  # softer and louder ones count as the outermost
_UNSAID: Final = _LOUDNESS.index("mf")


@dataclass(frozen=True, slots=True)
class Rule:
    """Points for a line, by what makes it a good cue."""

    near: int = 30  # it sounds up to the entry; less 10 for each beat that it is silent before
    silent_beat: int = 10
    move: int = (
        4  # each change of pitch in the cue, up to `most_moves`: a held chord or a drone tells nothing
    )
    most_moves: int = 8
    tremolo: int = (
        20  # taken off where all of it is tremolo, by which nobody knows it; changes in it are no moves
    )
    crowd: int = 2  # taken off for each note beyond `most_notes` a bar: nobody follows them in small print
    most_notes: int = 12
    octave: int = 12  # taken off for each octave of distance from what the player plays next
    top: int = 12  # it is the highest of all lines that sound then: the one that is heard
    louder: int = 5  # each step of loudness, pp to ff
    solo: int = 30  # marked so: more than to be the top and an octave nearer
    waited: int = 25  # taken off where it has rested for as long itself: two who count rely on each other


RULE: Final = Rule()


@dataclass(frozen=True, slots=True)
class Cue:
    """Bars `first` to `last` of the full score in which a part rests and reads `line` of another."""

    first: int
    last: int
    line: Line


def with_cues(
    part: etree._Element, full: Sources, part_index: int, settings: PartsSettings
) -> tuple[Cue, ...]:
    """Write cues into a part's tree, in place; it has the same measures as the full score, multiple rests not yet
    made. What was written."""
    cues = choose_cues(part, full, part_index, settings)
    for cue in cues:
        write_cue(part, full, cue.line, range(cue.first, cue.last + 1))
    return cues


def choose_cues(
    part: etree._Element, full: Sources, part_index: int, settings: PartsSettings
) -> tuple[Cue, ...]:
    """The cues that a part needs, in order."""
    if settings.cues is Cues.OFF or len(full.score.parts) < 2:
        return ()
    lines = _Lines(part, full, part_index)
    found = (lines.cue(entry) for entry in _entries(full.score, lines.bars_played, settings))
    return tuple(cue for cue in found if cue)


def _entries(score: Score, played: Collection[int], settings: PartsSettings) -> list[int]:
    """Bars in which the part enters after so long a rest that the player needs help, read on from the bar before."""
    found: set[int] = set()
    bars, seconds, before = 0, 0.0, -1
    for step in score.played:
        index = step.measure_index
        if before < 0 or score.measures[index].movement != score.measures[before].movement:
            bars, seconds = 0, 0.0
        if index not in played:
            bars, seconds = bars + 1, seconds + score.clocks[index].duration_s
        else:
            if index == before + 1 and (bars > settings.cue_bars or seconds > settings.cue_s):
                found.add(index)
            bars, seconds = 0, 0.0
        before = index
    return sorted(found)


class _Lines:
    """The lines of all parts but one: of each voice, the highest notes."""

    def __init__(self, part: etree._Element, full: Sources, reader: int) -> None:
        self._score, self._reader, self._bars = full.score, reader, full.bars
        self._notes, self._played = full.notes, full.played
        # The player's own bars as they are in this copy, which may be one of two players' of a part.
        self.bars_played, self._cued = _own_bars(part)

    def cue(self, entry: int) -> Cue | None:
        """The best cue before a bar in which the part enters; None where nobody can give one."""
        last = entry - 1
        candidates = {
            line: _top(notes)
            for line, notes in self._notes[last].items()
            if line.part_index != self._reader and self._leads(notes, last)
        }
        if not candidates or last in self._cued:
            return None
        first = last - 1 if self._may_be_two(last) else last
        heard = {
            line: (*(_top(self._notes[first].get(line, ())) if first < last else ()), *notes)
            for line, notes in candidates.items()
        }
        highest = max(heard, key=lambda line: (_height(heard[line]), -line.part_index))
        order = sorted(heard, key=lambda line: (line.part_index, line.staff, line.voice))
        best = max(order, key=lambda line: self.points(line, heard[line], last, line == highest))
        return Cue(first if self._notes[first].get(best) else last, last, best)

    def points(self, line: Line, notes: Sequence[Note], last: int, top: bool) -> float:
        """How good a cue a line is."""
        measure = self._score.measures[last]
        end = max(note.offset_ql + note.duration_ql for note in notes if note.measure_index == last)
        silent_beats = float((measure.length_ql - end) * measure.beat_type / 4)
        bars = [self._bars[line.part_index][bar] for bar in sorted({note.measure_index for note in notes})]
        shown = [pitch for bar in bars for place in melody(bar, line) if (pitch := pitch_of(place))]
        moves = sum(here != there for here, there in pairwise(shown))
        register = abs(_height(notes) - self._next_height(last)) / 12
        return (
            max(0.0, RULE.near - RULE.silent_beat * silent_beats)
            + RULE.move * min(moves, RULE.most_moves)
            - RULE.tremolo * tremolo_share(bars, line)
            - RULE.crowd * max(0, len(shown) - RULE.most_notes * len(bars))
            - RULE.octave * register
            + RULE.top * top
            + RULE.louder * self._loudness(line.part_index, last)
            + RULE.solo * self._is_solo(line.part_index, last)
            - RULE.waited * self._waited(line.part_index, last)
        )

    def _leads(self, notes: Sequence[Note], last: int) -> bool:
        """Whether a line plays before the middle of the bar, and so does not begin with the entry itself."""
        half = self._score.measures[last].length_ql / 2
        return min(note.offset_ql for note in notes) < half

    def _may_be_two(self, last: int) -> bool:
        """Whether the bar before belongs to the same cue."""
        if last == 0:
            return False
        before, here = self._score.measures[last - 1], self._score.measures[last]
        return (
            self._score.clocks[last].duration_s < LONG_BAR_S
            and last - 1 not in self.bars_played
            and not (before.double_bar or here.repeat_forward)
            and before.movement == here.movement
            and before.ending_numbers == here.ending_numbers
        )

    def _waited(self, part_index: int, last: int) -> bool:
        """Whether a part has itself been silent in the four bars before the cue's last two."""
        before = range(max(0, last - 5), last - 1)
        return last > 1 and not any((part_index, bar) in self._played for bar in before)

    def _next_height(self, last: int) -> float:
        """The register in which the player goes on: that of the bar of the entry."""
        midis = [
            note.sounding_midi
            for note in self._score.notes
            if note.part_index == self._reader
            and note.measure_index == last + 1
            and note.sounding_midi is not None
        ]
        return sum(midis) / len(midis) if midis else 60.0

    def _loudness(self, part_index: int, last: int) -> int:
        """The last dynamic sign of a part up to the end of a bar."""
        for bar in reversed(self._bars[part_index][: last + 1]):
            signs = [str(sign.tag) for sign in bar.element.iterfind(".//dynamics/*")]
            known = [sign for sign in signs if set(sign) <= set("mpf")]
            if known:
                sign = known[-1]
                outermost = {"p": "pp", "f": "ff"}.get(sign[0], "mf")
                return _LOUDNESS.index(sign if sign in _LOUDNESS else outermost)
        return _UNSAID

    def _is_solo(self, part_index: int, last: int) -> bool:
        """Whether "solo" stands in one of the last eight bars."""
        return any(
            _SOLO in (words.text or "").casefold()
            for bar in self._bars[part_index][max(0, last - 7) : last + 1]
            for words in bar.element.iterfind("direction/direction-type/words")
        )


def _own_bars(part: etree._Element) -> tuple[set[int], set[int]]:
    """Bars in which a part plays, and those in which it has cues."""
    played, cued = set[int](), set[int]()
    for index, measure in enumerate(part.iterchildren("measure")):
        for note in measure.iterchildren("note"):
            if note.find("rest") is None:
                (played if note.find("cue") is None else cued).add(index)
    return played, cued


def _top(notes: Sequence[Note]) -> tuple[Note, ...]:
    """The highest note at each moment."""
    highest: dict[Fraction, Note] = {}
    for note in notes:
        kept = highest.get(note.offset_ql)
        if kept is None or (note.sounding_midi or 0) > (kept.sounding_midi or 0):
            highest[note.offset_ql] = note
    return tuple(highest[offset] for offset in sorted(highest))


def _height(notes: Sequence[Note]) -> float:
    """The mean sounding pitch, MIDI key number."""
    return sum(note.sounding_midi or 0.0 for note in notes) / len(notes)
