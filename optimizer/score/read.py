"""The whole reading of a score: a file in, a `Score` out.

In: a path or a `ScoreFile`. Out: a `Score` (quarters as Fractions, seconds as floats). Always true: the same
file and arguments give the same score.
"""

from collections.abc import Sequence
from fractions import Fraction
from pathlib import Path
from typing import Final

from lxml import etree

from optimizer.score.endings import ending_groups
from optimizer.score.header import key_of, read_header
from optimizer.score.load import ScoreFile, load_file
from optimizer.score.marks import Bar, BarMarks, gather_bars, gather_jumps, with_implied_fine
from optimizer.score.model import Clock, Measure, Note, PlayedMeasure, Score
from optimizer.score.movements import movement_of_measures, movement_titles, opening_words
from optimizer.score.multirests import bars_of
from optimizer.score.parts import describe_parts
from optimizer.score.playing_order import Order, playing_order
from optimizer.score.tempo import clocks, tempo_marks, tempo_points, tempo_source
from optimizer.score.walk import COMMON_TIME, ZERO, Placed, Walk, walk
from optimizer.settings import DEFAULT_TEMPO

# A measure overfull by less than this, and by no plain fraction, is rounding in the file (music21 decides
# likewise).
ROUNDING_QL: Final = Fraction(1, 2)
PLAIN_PARTS: Final = (16, 12)


def read_score(path: Path, *, default_tempo: float = DEFAULT_TEMPO) -> Score:
    """Read a score from a file; ScoreError when that cannot be done."""
    return score_from(load_file(path), default_tempo=default_tempo)


def score_from(file: ScoreFile, *, default_tempo: float = DEFAULT_TEMPO) -> Score:
    """What is written and what is played. `default_tempo` (quarters a minute) counts where the file is silent."""
    walked = walk(file)
    elements = file.root.findall("part")[0].findall("measure")
    lengths = _lengths(walked, [bars_of(element) for element in elements])
    bars = gather_bars(walked.barlines, len(elements))
    gather_jumps(walked.directions, lengths, bars)
    words = opening_words(walked.directions)
    movements = movement_of_measures([element.get("number", "") for element in elements], bars, words)
    marks = [_bar_marks(*each) for each in zip(bars, movements, elements, strict=True)]
    marks = with_implied_fine(marks, walked.directions)
    measures = _measures(elements, walked, lengths, bars, marks)
    said = tempo_marks(walked.directions)
    points = tempo_points(said, measures, default_tempo)
    times = clocks(points, walked.holds, [bar.fermata for bar in bars], measures)
    order = playing_order(marks)
    header = read_header(file.root)
    return Score(
        path=str(file.path),
        sha256=file.sha256,
        title=header.title,
        subtitle=header.subtitle,
        composer=header.composer,
        lyricist=header.lyricist,
        rights=header.rights,
        part_name=header.part_name,
        key=key_of(walked.keys[0][1] if 0 in walked.keys else None),
        parts=describe_parts(file.root, walked.parts),
        measures=measures,
        notes=_sorted_notes(walked),
        clocks=times,
        played=_played(order, times),
        tempo_source=tempo_source(said, measures, default_tempo),
        warnings=(*file.notes, *dict.fromkeys(walked.warnings), *order.warnings),
        movement_titles=movement_titles(movements, words),
        unreached=order.unreached,
    )


def _lengths(walked: Walk, bars: Sequence[int]) -> list[Fraction]:
    """How long each measure is: what its longest part fills; an empty one lasts what its time signature
    says. `bars`: how many each stands for."""
    meter = COMMON_TIME
    lengths = []
    for index, (content, count) in enumerate(zip(walked.content_ql, bars, strict=True)):
        meter = walked.meters.get(index, meter)
        full = meter.length_ql * count
        excess = content - full
        plain = any((excess * parts).denominator == 1 for parts in PLAIN_PARTS)
        rounded = 0 < excess < ROUNDING_QL and not plain
        lengths.append(full if content == 0 or rounded else content)
    return lengths


def _bar_marks(bar: Bar, movement: int, element: etree._Element) -> BarMarks:
    return BarMarks(
        number=element.get("number", ""),
        movement=movement,
        repeat_forward=bar.repeat_forward,
        repeat_backward=bar.repeat_backward and bar.times != 1,
        times=bar.times,
        after_jump=bar.after_jump,
        ending_start=bar.ending_start,
        ending_stop=bar.ending_stop,
        jumps=tuple(bar.jumps.values()),
    )


def _measures(
    elements: Sequence[etree._Element], walked: Walk, lengths: Sequence[Fraction], bars: Sequence[Bar],
    marks: Sequence[BarMarks],
) -> tuple[Measure, ...]:  # fmt: skip
    pages, systems = _breaks(walked.prints)
    endings = _ending_numbers(marks)
    meter, fifths = COMMON_TIME, 0
    offset = ZERO
    measures = []
    for index, (element, bar, mark) in enumerate(zip(elements, bars, marks, strict=True)):
        meter = walked.meters.get(index, meter)
        if index in walked.keys:
            fifths = walked.keys[index][1].fifths
        following = bars[index + 1] if index + 1 < len(bars) else None
        divides = following is not None and (following.double_left or following.repeat_forward)
        measures.append(
            Measure(
                index=index,
                number=mark.number,
                implicit=element.get("implicit") == "yes",
                offset_ql=offset,
                length_ql=lengths[index],
                movement=mark.movement,
                beats=meter.beats,
                beat_type=meter.beat_type,
                key_fifths=fifths,
                double_bar=bar.double_right or bar.repeat_backward or divides,
                repeat_forward=mark.repeat_forward,
                repeat_backward=mark.repeat_backward,
                repeat_times=mark.times,
                ending_numbers=endings.get(index, ()),
                starts_page=index in pages,
                starts_system=index in systems,
                bars=bars_of(element),
            )
        )
        offset += lengths[index]
    return tuple(measures)


def _breaks(prints: Sequence[Placed]) -> tuple[set[int], set[int]]:
    """Measures that start a page and those that start a system; the first starts both."""
    pages = {0} | {print_.measure_index for print_ in prints if print_.element.get("new-page") == "yes"}
    systems = pages | {print_.measure_index for print_ in prints if print_.element.get("new-system") == "yes"}
    return pages, systems


def _ending_numbers(marks: Sequence[BarMarks]) -> dict[int, tuple[int, ...]]:
    groups, _ = ending_groups(marks)
    return {
        index: ending.numbers
        for group in groups
        for ending in group.endings
        for index in range(ending.first, ending.last + 1)
    }


def _sorted_notes(walked: Walk) -> tuple[Note, ...]:
    # Floats sort much faster than Fractions and tell apart any two offsets that occur in music.
    return tuple(
        sorted(
            walked.notes,
            key=lambda note: (note.measure_index, float(note.offset_ql), note.part_index, note.staff),
        )
    )


def _played(order: Order, times: Sequence[Clock]) -> tuple[PlayedMeasure, ...]:
    start_s = 0.0
    played = []
    for index, pass_number in order.steps:
        played.append(PlayedMeasure(index, pass_number, start_s))
        start_s += times[index].duration_s
    return tuple(played)
