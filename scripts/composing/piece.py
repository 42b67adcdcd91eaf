"""What a piece is made of: parts, sections, and the marks above and below the notes.

In: voices from `notation`, marks and lyrics as strings.  Out: frozen dataclasses for the writer.  Always true
of a `Piece` that exists: every bar of every voice is exactly full, and every slur that begins ends.

Marks are divided by `;`, each is `BAR[+OFFSET] COMMAND`, bars counted from 1 within the section, offsets in
quarters:
  p, mf, sfz ...       dynamics
  < 3+1, > 4           hairpin to bar 3 after one quarter, to the beginning of bar 4
  8va 4+3, ped 4+3     printed an octave lower than it sounds, pedal down: to there
  tempo Andante q=84   tempo words and beat
  words rit. @60       italic words and the tempo they bring; `^` puts them above, `2:` below the left hand
  pizz, arco           for the player and for playback
  reh A                rehearsal mark
  title II. Gulls      movement title
  clef 2 treble        clef change in staff 2
  |: :| :|3 || |.      barlines; `:|3` is played three times
  ending 1,2 start     also stop, discontinue
  segno, coda, tocoda, dalsegno
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Final

from composing.notation import Pitch, Reader, Voice, length, rests

MARK: Final = re.compile(r"(\d+)(?:\+(\S+))?\s+(\S+)\s*(.*)")


@dataclass(frozen=True, slots=True)
class Part:
    """A part: its staves' clefs, the voices on each staff, and how far it sounds from where it is written."""

    id: str
    name: str
    short: str
    sound: str  # a standard sound of MusicXML 4.0
    clefs: tuple[str, ...]
    voices: tuple[tuple[str, int], ...]  # (voice name, staff)
    program: int
    transpose: tuple[int, int] = (0, 0)  # steps, semitones from written to sounding

    @property
    def key_shift(self) -> int:
        """Fifths from the sounding to the written key."""
        steps, semitones = self.transpose
        return 12 * steps - 7 * semitones

    def written(self, tone: Pitch) -> Pitch:
        """A sounding pitch as the player reads it."""
        steps, semitones = self.transpose
        natural = Pitch(tone.line - steps, 0)
        return Pitch(natural.line, tone.midi - semitones - natural.midi)


@dataclass(frozen=True, slots=True)
class Mark:
    """One mark, placed. `bar` is 0-based within its section."""

    bar: int
    offset: Fraction
    command: str
    argument: str


def read_marks(text: str) -> tuple[Mark, ...]:
    """Marks divided by semicolons."""
    marks = []
    for line in filter(None, (line.strip() for line in text.split(";"))):
        match = MARK.fullmatch(line)
        if not match:
            raise ValueError(f"not a mark: {line}")
        bar, offset, command, argument = match.groups()
        marks.append(Mark(int(bar) - 1, Fraction(offset or 0), command, argument))
    return tuple(marks)


def place(text: str) -> tuple[int, Fraction]:
    """`3+1.5` as (bar from 0, offset)."""
    bar, _, offset = text.partition("+")
    return int(bar) - 1, Fraction(offset or 0)


@dataclass(frozen=True, slots=True)
class Section:
    """Some bars in one key and metre.

    `voices` by name; voices left out rest (first of a staff) or are absent. `marks` by part id, or "all" for
    what stands once above the score. `lyrics` by voice name: verse number to syllables (`fer- ry`; `~` is a
    space, `_` runs two words together, `.` leaves a note without). `pickup`: the first bar is shorter and not
    counted; `restart`: bar numbers begin again.
    """

    fifths: int
    time: tuple[int, int]
    voices: Mapping[str, Voice]
    marks: Mapping[str, str] = field(default_factory=dict)
    lyrics: Mapping[str, Mapping[int, str]] = field(default_factory=dict)
    mode: str = "major"
    pickup: bool = False
    restart: bool = False

    @property
    def bar_ql(self) -> Fraction:
        """Length of a full bar."""
        return bar_length(self.time)

    @property
    def length(self) -> int:
        """Number of bars."""
        return max(len(voice) for voice in self.voices.values())

    def voice(self, name: str, leads: bool) -> Voice:
        """A voice, filled up with rests where it leads its staff, else with nothing."""
        voice = self.voices.get(name, ())
        missing = self.length - len(voice)
        return (*voice, *(rests(missing, self.bar_ql) if leads else ((),) * missing))


def bar_length(time: tuple[int, int]) -> Fraction:
    """Quarters in a bar of this metre."""
    return Fraction(4 * time[0], time[1])


def reader(fifths: int, time: tuple[int, int]) -> Reader:
    """A reader for a section's strings."""
    return Reader(fifths, bar_length(time))


@dataclass(frozen=True, slots=True)
class Piece:
    """A whole piece."""

    file: str
    title: str
    subtitle: str
    composer: str
    lyricist: str
    parts: tuple[Part, ...]
    sections: tuple[Section, ...]

    def __post_init__(self) -> None:
        for number, section in enumerate(self.sections, 1):
            for name, voice in section.voices.items():
                check_full(f"{self.file}, section {number}, {name}", section, voice)
                check_slurs(f"{self.file}, section {number}, {name}", voice)


def check_full(where: str, section: Section, voice: Voice) -> None:
    """Each bar must be full (a pickup: at most full; an absent bar of an inner voice: empty)."""
    for index, bar in enumerate(voice):
        filled = length(bar)
        if (
            bar
            and filled != section.bar_ql
            and not (section.pickup and index == 0 and filled < section.bar_ql)
        ):
            raise ValueError(f"{where}, bar {index + 1}: {filled} quarters instead of {section.bar_ql}")


def check_slurs(where: str, voice: Voice) -> None:
    """Slurs must close within their section and not nest."""
    inside = False
    for index, bar in enumerate(voice):
        for event in bar:
            if (event.slur_stop and not inside) or (event.slur_start and inside and not event.slur_stop):
                raise ValueError(
                    f"{where}, bar {index + 1}: a slur ends before it begins, or begins inside another"
                )
            inside = (inside and not event.slur_stop) or event.slur_start
    if inside:
        raise ValueError(f"{where}: a slur does not end")


@dataclass(frozen=True, slots=True)
class Syllable:
    """A syllable under a note; several texts are words run together, `syllabic` is the last one's."""

    verse: int
    texts: tuple[str, ...]
    syllabic: str
    extend: bool


def underlay(where: str, voice: Voice, verses: Mapping[int, str]) -> dict[tuple[int, int], list[Syllable]]:
    """Syllables by (bar, event): one for each note that is not tied or slurred to the one before."""
    slots: list[tuple[int, int]] = []
    held: set[tuple[int, int]] = set()
    slurred = tied = False
    for bar_index, bar in enumerate(voice):
        for index, event in enumerate(bar):
            if not event.pitches or event.grace:
                continue
            if not slurred and not tied:
                slots.append((bar_index, index))
            if event.tied or event.slur_start:
                held.update(slots[-1:])
            slurred, tied = (slurred or event.slur_start) and not event.slur_stop, event.tied
    placed: dict[tuple[int, int], list[Syllable]] = {}
    for verse, text in sorted(verses.items()):
        words = text.split()
        if len(words) != len(slots):
            raise ValueError(f"{where}, verse {verse}: {len(words)} syllables for {len(slots)} notes")
        before = False
        for slot, word in zip(slots, words, strict=True):
            if word == ".":
                continue
            after = word.endswith("-")
            syllabic = {(0, 0): "single", (0, 1): "begin", (1, 1): "middle", (1, 0): "end"}[before, after]
            texts = tuple(word.removesuffix("-").replace("~", "\u00a0").split("_"))
            placed.setdefault(slot, []).append(Syllable(verse, texts, syllabic, slot in held and not after))
            before = after
    return placed
