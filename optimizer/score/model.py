"""What is written and what is played.

In: nothing. Out: frozen dataclasses that every later stage reads. Musical time is in quarter lengths
(Fraction), clock time in seconds. Always true: measures are in file order, `Measure.index` is its place in
that order, notes are sorted by (measure_index, offset_ql, part_index, staff), and `Score.played` is the
playing order with repeats.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from fractions import Fraction
from typing import Final


class PartKind(StrEnum):
    """How a part is played: decides whose hands are busy (design: turns)."""

    KEYBOARD = "keyboard"
    VOICE = "voice"
    STRINGS = "strings"
    WIND = "wind"
    OTHER = "other"


@dataclass(frozen=True, slots=True)
class Pitch:
    """A pitch; `alter` in semitones (may be fractional for microtones)."""

    step: str
    alter: float
    octave: int

    @property
    def midi(self) -> float:
        """MIDI key number, middle C = 60, fractional for microtones."""
        return (
            {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}[self.step]
            + 12 * (self.octave + 1)
            + self.alter
        )


_TONICS: Final = ("F", "C", "G", "D", "A", "E", "B")  # in fifths, F natural at -1
# How far the tonic of a mode lies from that of major, in fifths (theory of the church modes).
MODES: Final[Mapping[str, int]] = {
    "major": 0,
    "ionian": 0,
    "minor": 3,
    "aeolian": 3,
    "dorian": 2,
    "phrygian": 4,
    "lydian": -1,
    "mixolydian": 1,
    "locrian": 5,
}
_ACCIDENTALS: Final = {-2: "-double-flat", -1: "-flat", 0: "", 1: "-sharp", 2: "-double-sharp"}


@dataclass(frozen=True, slots=True)
class Key:
    """A key at concert pitch. `mode` is one of MODES; `found`: by analysis, the file does not say it."""

    fifths: int
    mode: str
    found: bool = False

    @property
    def tonic(self) -> tuple[str, int]:
        """Step and alteration in semitones of the key's name."""
        place = self.fifths + MODES[self.mode] + 1
        return _TONICS[place % 7], place // 7

    @property
    def has_name(self) -> bool:
        """Whether double accidentals suffice to name it."""
        return self.tonic[1] in _ACCIDENTALS

    def __str__(self) -> str:
        """As it is said in English: "E-flat major"."""
        step, alter = self.tonic
        return f"{step}{_ACCIDENTALS[alter]} {self.mode}"


@dataclass(frozen=True, slots=True)
class Note:
    """One written notehead (ties not merged); `pitch` is as written, `sounding_midi` after `<transpose>`.

    `pitch` is None for unpitched notes. Rests are not notes: time without notes is rest. Grace notes have
    duration 0, and `grace_order` counts them back from their main note (1: the last before it; 0: no grace
    note). `offset_ql` counts from the start of the measure, `staff` is 1-based within the part.
    """

    part_index: int
    measure_index: int
    offset_ql: Fraction
    duration_ql: Fraction
    staff: int
    voice: str
    pitch: Pitch | None
    sounding_midi: float | None
    grace: bool
    cue: bool
    tie_start: bool
    tie_stop: bool
    has_lyric: bool
    grace_order: int = 0


@dataclass(frozen=True, slots=True)
class Part:
    """A part; `staves` is the largest number of staves it uses."""

    index: int
    id: str
    name: str
    staves: int
    kind: PartKind
    has_lyrics: bool


@dataclass(frozen=True, slots=True)
class Measure:
    """One measure of the file (all parts together).

    `number` is the printed number (may repeat, be empty or non-numeric); `offset_ql` the start counted from
    the first measure of the file, without repeats. `double_bar`: a double, final, heavy or repeat barline at
    its right edge (or a double or repeat barline at the next one's left). `movement` counts from 0. `bars`: how
    many bars of rest it stands for, from `number` to `last_number`; 1 for any other measure.
    """

    index: int
    number: str
    implicit: bool
    offset_ql: Fraction
    length_ql: Fraction
    movement: int
    beats: int
    beat_type: int
    key_fifths: int
    double_bar: bool
    repeat_forward: bool
    repeat_backward: bool
    repeat_times: int
    ending_numbers: tuple[int, ...]
    starts_page: bool
    starts_system: bool
    bars: int = 1

    @property
    def last_number(self) -> str:
        """The number of its last bar."""
        return str(int(self.number) + self.bars - 1) if self.bars > 1 else self.number


@dataclass(frozen=True, slots=True)
class Clock:
    """Clock time inside one measure: piecewise linear between knots.

    `knots` are (offset_ql, seconds from the measure's start), both non-decreasing, first (0, 0), last
    (length_ql, duration_s); two knots with equal offset are a pause (caesura). Fermatas stretch the pieces
    they cover.
    """

    knots: tuple[tuple[Fraction, float], ...]

    @property
    def duration_s(self) -> float:
        """Seconds the measure lasts when played once."""
        return self.knots[-1][1]


@dataclass(frozen=True, slots=True)
class PlayedMeasure:
    """One step of the playing order: which measure, the how-many-eth time it is played (1-based), when it
    starts."""

    measure_index: int
    pass_number: int
    start_s: float


@dataclass(frozen=True, slots=True)
class PlayedNote:
    """A note as played: ties merged, repeats unrolled, seconds from the start of the piece.

    `played_index` points into `Score.played` (the measure in which it starts), `note_index` into
    `Score.notes`.
    """

    note_index: int
    played_index: int
    part_index: int
    staff: int
    onset_s: float
    end_s: float
    midi: float | None
    cue: bool


@dataclass(frozen=True, slots=True)
class Score:
    """A score that has been read. `key` is None when the file does not say its mode; see `key.with_key`. `unreached`:
    measures that repeats and jumps do not lead to; `played` has them at the end of their movement. `part_name`:
    whose part it is, as it stands above the music; empty for a score. `copies`: how many of it are to be printed."""

    path: str
    sha256: str
    title: str
    subtitle: str
    composer: str
    lyricist: str
    rights: str
    key: Key | None
    parts: tuple[Part, ...]
    measures: tuple[Measure, ...]
    notes: tuple[Note, ...]
    clocks: tuple[Clock, ...]
    played: tuple[PlayedMeasure, ...]
    tempo_source: str
    warnings: tuple[str, ...] = ()
    movement_titles: Mapping[int, str] = field(default_factory=dict)
    unreached: tuple[int, ...] = ()
    part_name: str = ""
    copies: int = 1

    @property
    def named_title(self) -> str:
        """The title, after the name of the part that this is, if it is one."""
        return " – ".join(filter(None, (self.part_name, self.title)))

    @property
    def duration_s(self) -> float:
        """Seconds the whole piece lasts, with its repeats."""
        last = self.played[-1]
        return last.start_s + self.clocks[last.measure_index].duration_s
