"""Scores put together by hand, so that these tests do not depend on reading MusicXML."""

from collections.abc import Callable, Mapping, Sequence
from fractions import Fraction
from itertools import pairwise

import pytest

from optimizer.score.model import Clock, Measure, Note, Part, PartKind, PlayedMeasure, Score

STEPS = ("C", "C", "D", "D", "E", "F", "F", "G", "G", "A", "A", "B")
PIANO = (("Piano", PartKind.KEYBOARD, 2),)

PartRow = tuple[str, PartKind, int]
NoteRow = tuple[int, int, int, float, float, int]  # part, staff, bar, offset, length (quarters), key


def _note(row: NoteRow) -> Note:
    part, staff, bar, offset, length, key = row
    return Note(
        part_index=part,
        measure_index=bar,
        offset_ql=Fraction(offset),
        duration_ql=Fraction(length),
        staff=staff,
        voice="1",
        pitch=None,
        sounding_midi=float(key),
        grace=False,
        cue=False,
        tie_start=False,
        tie_stop=False,
        has_lyric=False,
    )


def build_score(
    notes: Sequence[NoteRow],
    bars: int,
    *,
    parts: Sequence[PartRow] = PIANO,
    beats: int = 4,
    beat_s: float = 0.5,
    order: Sequence[int] = (),
    double_bars: Sequence[int] = (),
    movements: Mapping[int, int] | None = None,
    knots: Mapping[int, Sequence[tuple[float, float]]] | None = None,
) -> Score:
    """Bars of `beats` quarters, `beat_s` seconds each. `order`: bars as played; `movements`: bar -> movement;
    `knots`: clocks of single bars."""
    jumps = {here for here, there in pairwise(order) if there <= here}
    measures = tuple(
        Measure(
            index=bar,
            number=str(bar + 1),
            implicit=False,
            offset_ql=Fraction(beats * bar),
            length_ql=Fraction(beats),
            movement=(movements or {}).get(bar, 0),
            beats=beats,
            beat_type=4,
            key_fifths=0,
            double_bar=bar in double_bars,
            repeat_forward=False,
            repeat_backward=bar in jumps,
            repeat_times=2,
            ending_numbers=(),
            starts_page=False,
            starts_system=False,
        )
        for bar in range(bars)
    )
    straight = ((0.0, 0.0), (float(beats), beats * beat_s))
    clocks = tuple(
        Clock(tuple((Fraction(at), seconds) for at, seconds in (knots or {}).get(bar, straight)))
        for bar in range(bars)
    )
    played, now_s = [], 0.0
    passes = dict.fromkeys(range(bars), 0)
    for bar in order or range(bars):
        passes[bar] += 1
        played.append(PlayedMeasure(bar, passes[bar], now_s))
        now_s += clocks[bar].duration_s
    return Score(
        path="made.musicxml",
        sha256="",
        title="",
        subtitle="",
        composer="",
        lyricist="",
        rights="",
        key=None,
        parts=tuple(
            Part(index, f"P{index + 1}", name, staves, kind, kind is PartKind.VOICE)
            for index, (name, kind, staves) in enumerate(parts)
        ),
        measures=measures,
        notes=tuple(map(_note, sorted(notes, key=lambda row: (row[2], row[3], row[0], row[1])))),
        clocks=clocks,
        played=tuple(played),
        tempo_source="made",
    )


def run_of(
    part: int, staff: int, bars: Sequence[int], length: float, key: int = 60, beats: int = 4
) -> list[NoteRow]:
    """Equal notes that fill whole bars."""
    return [
        (part, staff, bar, index * length, length, key)
        for bar in bars
        for index in range(round(beats / length))
    ]


@pytest.fixture(scope="session")
def make_score() -> Callable[..., Score]:
    """`build_score`."""
    return build_score


@pytest.fixture(scope="session")
def running() -> Callable[..., list[NoteRow]]:
    """`run_of`."""
    return run_of
