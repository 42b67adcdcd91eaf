"""What a piece is made of: parts, sections, and the marks above and below the notes.

In: voices from `notation`, marks and lyrics as strings.  Out: frozen dataclasses for the writer.  Always true of a
`Piece` that exists: every bar of every voice is exactly full, slurs close, and each verse has a syllable for each note.

A mark is a line `BAR[+OFFSET] COMMAND`, bars counted from 1 within the section, offsets in quarters:
  p, mf, sfz ...            dynamics                 < 3+1, > 4            hairpin to bar 3 after 1 quarter, to bar 4
  tempo Andante q=84        tempo words and beat     words rit. @60        italic words, and the tempo they bring
  reh A                     rehearsal mark           clef 2 treble         clef change in staff 2
  segno, coda, tocoda, dalsegno, fine                8va 4+3               an octave higher than printed, to there
  |:  :|  :|3  ||  |.       barlines (times)         ending 1,2 start      also stop, discontinue
  title II. ...             movement title           pizz, arco            spoken by words
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Final

from composing.notation import Bar, Event, Reader, Voice, rests

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
    group: str = ""


@dataclass(frozen=True, slots=True)
class Mark:
    """One mark, placed. `bar` is 0-based within its section."""

    bar: int
    offset: Fraction
    command: str
    argument: str


def read_marks(text: str) -> tuple[Mark, ...]:
    """Lines of marks."""
    marks = []
    for line in filter(None, (line.strip() for line in text.splitlines())):
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

    `voices` by name; voices left out rest (first of a staff) or are absent. `marks` by part id, or "all" for what
    stands once above the score. `lyrics` by voice name: verse number to syllables (`fer- ry`; `~` is a space,
    `.` leaves a note without).
    `pickup`: the first bar is shorter and not counted; `restart`: bar numbers begin again.
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

    def part_voice(self, section: Section, name: str, first_of_staff: bool) -> Voice:
        """The voice in a section, filled up with rests where it leads its staff, with nothing where it does not."""
        voice = section.voices.get(name, ())
        missing = section.length - len(voice)
        if missing and first_of_staff:
            return (*voice, *rests(missing, section.bar_ql))
        return (*voice, *((),) * missing)


def check_full(where: str, section: Section, voice: Voice) -> None:
    """Each bar must be full (a pickup: at most full; an absent bar of an inner voice: empty)."""
    for index, bar in enumerate(voice):
        filled = sum((event.duration for event in bar), Fraction(0))
        if bar and filled != section.bar_ql and not (section.pickup and index == 0 and filled < section.bar_ql):
            raise ValueError(f"{where}, bar {index + 1}: {filled} quarters instead of {section.bar_ql}")


@dataclass(frozen=True, slots=True)
class Syllable:
    """A syllable under a note."""

    verse: int
    text: str
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
            text_here = word.removesuffix("-").replace("~", "\u00a0")
            placed.setdefault(slot, []).append(Syllable(verse, text_here, syllabic, slot in held and not after))
            before = after
    return placed


def starts(bar: Bar) -> list[tuple[Fraction, Event]]:
    """Events with their offsets."""
    result, offset = [], Fraction(0)
    for event in bar:
        result.append((offset, event))
        offset += event.duration
    return result
