"""Compact strings into notes.

In: a voice as a string, bars separated by `|`, and the key signature it is read in.  Out: bars of `Event`.
Durations are quarter lengths (Fraction).  A letter means what the staff shows: `B4` is B flat in F major;
`#`, `b`, `n`, `##` and `bb` override the key for that one note.

A token is  PITCHES DURATION MARKS:
  pitches    `C4`, a chord `C4+E4`, `-` a rest; in a figure also the notes of its stack: `0`, `1+2`
  duration   `w h q e s t` (whole to 32nd) with dots, `m` the whole bar; left out: as before in the bar,
             at its beginning `q`
  marks      `~` tied on, `(` slur begins, `)` slur ends; then `!` and letters: s staccato, t tenuto,
             a accent, f fermata, r rolled, l trill, b breath mark
  `*` before a pitch makes a grace note; `{` before and `}` after a run make a triplet.
"""

import re
from collections.abc import Iterable
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import zip_longest
from typing import Final

STEPS: Final = "CDEFGAB"
SEMITONES: Final = (0, 2, 4, 5, 7, 9, 11)
SHARP_ORDER: Final = "FCGDAEB"
ALTERS: Final = {"#": 1, "##": 2, "b": -1, "bb": -2, "n": 0}
DURATIONS: Final = {
    "w": ("whole", Fraction(4)),
    "h": ("half", Fraction(2)),
    "q": ("quarter", Fraction(1)),
    "e": ("eighth", Fraction(1, 2)),
    "s": ("16th", Fraction(1, 4)),
    "t": ("32nd", Fraction(1, 8)),
}
TONE: Final = r"(?:[A-G](?:##|#|bb|b|n)?\d|\d)"
TOKEN: Final = re.compile(
    rf"(?P<open>\{{?)(?P<grace>\*?)(?P<pitches>-|{TONE}(?:\+{TONE})*)"
    r"(?P<duration>m|[whqest]\.*)?(?P<marks>[~()]*)(?:!(?P<arts>[a-z]+))?(?P<close>\}?)"
)
NAME: Final = re.compile(r"([A-G])(##|#|bb|b|n)?(\d)")


@dataclass(frozen=True, slots=True, order=True)
class Pitch:
    """`line` counts white keys from C0 (C4 is 28), `alter` in semitones."""

    line: int
    alter: int

    @property
    def midi(self) -> int:
        """MIDI key number."""
        return 12 * (self.line // 7 + 1) + SEMITONES[self.line % 7] + self.alter

    def __str__(self) -> str:
        return f"{STEPS[self.line % 7]}{'#' * self.alter}{'b' * -self.alter}{self.line // 7}"


@dataclass(frozen=True, slots=True)
class Event:
    """A chord, note or rest (no pitches). `kind` is the note type, empty for a rest of a whole bar."""

    pitches: tuple[Pitch, ...]
    duration: Fraction
    kind: str
    dots: int = 0
    grace: bool = False
    tied: bool = False
    slur_start: bool = False
    slur_stop: bool = False
    marks: str = ""
    triplet: str = ""  # "start", "in", "stop"


Bar = tuple[Event, ...]
Voice = tuple[Bar, ...]


def length(bar: Bar) -> Fraction:
    """Quarter lengths that fill a bar."""
    return sum((event.duration for event in bar), Fraction(0))


def starts(bar: Bar) -> list[tuple[Fraction, Event]]:
    """Events with their offsets."""
    return [(length(bar[:index]), event) for index, event in enumerate(bar)]


def key_alter(step: str, fifths: int) -> int:
    """What the key signature does to a step: -1, 0 or 1."""
    if fifths >= 0:
        return 1 if step in SHARP_ORDER[:fifths] else 0
    return -1 if step in SHARP_ORDER[fifths:] else 0


def pitch(name: str, fifths: int) -> Pitch:
    """`C#5` or, with the key, `C5`."""
    match = NAME.fullmatch(name)
    if not match:
        raise ValueError(f"not a pitch: {name}")
    step, sign, octave = match.groups()
    alter = ALTERS[sign] if sign else key_alter(step, fifths)
    return Pitch(7 * int(octave) + STEPS.index(step), alter)


def read_bar(text: str, fifths: int, bar_ql: Fraction, stack: tuple[Pitch, ...] = ()) -> Bar:
    """One bar. Digits are notes of `stack`. Whether it is full is checked when the piece is put together."""
    events: list[Event] = []
    last, in_triplet = "q", False
    for word in text.split():
        match = TOKEN.fullmatch(word)
        if not match:
            raise ValueError(f"cannot read {word!r} in {text!r}")
        last = match["duration"] or last
        in_triplet = in_triplet or bool(match["open"])
        triplet = "stop" if match["close"] else "start" if match["open"] else "in" if in_triplet else ""
        kind, dots, duration = read_duration(last, bar_ql)
        names = match["pitches"].split("+")
        tones = [stack[int(name)] if name.isdigit() else pitch(name, fifths) for name in names if name != "-"]
        events.append(
            Event(
                pitches=tuple(sorted(tones)),
                duration=Fraction(0)
                if match["grace"]
                else duration * Fraction(2, 3)
                if triplet
                else duration,
                kind=kind,
                dots=dots,
                grace=bool(match["grace"]),
                tied="~" in match["marks"],
                slur_start="(" in match["marks"],
                slur_stop=")" in match["marks"],
                marks=match["arts"] or "",
                triplet=triplet,
            )
        )
        in_triplet = in_triplet and not match["close"]
    return tuple(events)


def read_duration(word: str, bar_ql: Fraction) -> tuple[str, int, Fraction]:
    """Note type, dots and quarter length of `q.` and the like; `m` has no type and fills the bar."""
    if word == "m":
        return "", 0, bar_ql
    kind, plain = DURATIONS[word[0]]
    dots = len(word) - 1
    return kind, dots, plain * (2 - Fraction(1, 2**dots))


@dataclass(frozen=True, slots=True)
class Reader:
    """Reads strings in one key and metre."""

    fifths: int
    bar_ql: Fraction

    def voice(self, text: str) -> Voice:
        """Bars separated by `|`; `%` repeats the bar before."""
        bars: list[Bar] = []
        for piece in text.strip().strip("|").split("|"):
            bars.append(bars[-1] if piece.strip() == "%" else read_bar(piece, self.fifths, self.bar_ql))
        return tuple(bars)

    def figure(self, text: str, *patterns: str) -> Voice:
        """Stacks of notes (`F2.C3.A3`, lowest first) played as a pattern.

        Stacks share the bar evenly or carry a duration (`F2.C3.A3:h`); the first pattern of that
        length is used, or number n with `/n`. A bar beginning with `=` is written out; `%` repeats the bar before.
        """
        read: list[Bar] = []
        for piece in text.strip().strip("|").split("|"):
            words = piece.split()
            if words == ["%"]:
                read.append(read[-1])
            elif piece.strip().startswith("="):
                read.append(read_bar(piece.strip()[1:], self.fifths, self.bar_ql))
            else:
                read.append(
                    tuple(event for word in words for event in self._played(word, len(words), patterns))
                )
        return tuple(read)

    def runs(self, text: str, shape: str, kind: str = "s") -> Voice:
        """A shape of white-key steps, in equal notes, from each starting note; `=` bars are written out."""
        steps = [int(step) for step in shape.split()]
        bars: list[Bar] = []
        for piece in text.strip().strip("|").split("|"):
            if piece.strip().startswith("="):
                bars.append(read_bar(piece.strip()[1:], self.fifths, self.bar_ql))
                continue
            first = pitch(piece.strip(), self.fifths).line
            lines = [first + step for step in steps]
            names = [f"{STEPS[line % 7]}{line // 7}{kind}" for line in lines]
            bars.append(read_bar(" ".join(names), self.fifths, self.bar_ql))
        return tuple(bars)

    def _played(self, word: str, share: int, patterns: tuple[str, ...]) -> Bar:
        word, _, choice = word.partition("/")
        names, _, lasting = word.partition(":")
        stack = tuple(pitch(name, self.fifths) for name in names.split("."))
        wanted = read_duration(lasting, self.bar_ql)[2] if lasting else self.bar_ql / share
        offered = [patterns[int(choice)]] if choice else patterns
        for pattern in offered:
            bar = read_bar(pattern, self.fifths, self.bar_ql, stack)
            if length(bar) == wanted:
                return bar
        raise ValueError(f"no pattern of length {wanted} for {word}")


def shifted(voice: Voice, octaves: int) -> Voice:
    """The same notes some octaves higher."""
    return tuple(
        tuple(
            replace(event, pitches=tuple(Pitch(p.line + 7 * octaves, p.alter) for p in event.pitches))
            for event in bar
        )
        for bar in voice
    )


def in_octaves(voice: Voice, octaves: int = -1) -> Voice:
    """Every top note doubled at an octave."""

    def double(event: Event) -> Event:
        if not event.pitches or event.grace:
            return event
        top = event.pitches[-1]
        return replace(
            event, pitches=tuple(sorted({*event.pitches, Pitch(top.line + 7 * octaves, top.alter)}))
        )

    return tuple(tuple(double(event) for event in bar) for bar in voice)


def filled(upper: Voice, inner: Voice) -> Voice:
    """One voice of chords from two: the inner notes join what starts with them in the upper voice."""

    def fill(bar: Bar, other: Bar) -> Bar:
        below = {offset: event.pitches for offset, event in starts(other)}
        return tuple(
            replace(event, pitches=tuple(sorted({*event.pitches, *below.get(offset, ())})))
            if event.pitches
            else event
            for offset, event in starts(bar)
        )

    return tuple(fill(bar, other) for bar, other in zip_longest(upper, inner, fillvalue=()))


def rests(count: int, bar_ql: Fraction) -> Voice:
    """Whole bars of rest."""
    return tuple((Event((), bar_ql, ""),) for _ in range(count))


def join(*voices: Iterable[Bar]) -> Voice:
    """One after the other."""
    return tuple(bar for voice in voices for bar in voice)
