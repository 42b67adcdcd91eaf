"""Clock time: how many seconds every moment of every measure takes.

In: directions and holds placed in time, the measures. Out: one `Clock` a measure and words that say where the
tempi come from. Tempi are quarters a minute (W3C musicxml.xsd 4.0, sound).

Precedence at one moment: `<sound tempo>`, then a metronome mark, then words; otherwise the last tempo goes
on, and each movement starts with the stated default. "a tempo" restores the tempo before the last gradual
change, "tempo primo" that of the movement's start. A rit. or accel. that no tempo figures spell out changes
the tempo evenly, beat by beat, over at most `GRADUAL_MEASURES` and then gives it back.
"""

import re
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import groupby, pairwise, zip_longest
from typing import Final

from lxml import etree

from optimizer.score.model import Clock, Measure
from optimizer.score.tempo_words import Ask, TempoWish, tempo_wish
from optimizer.score.walk import NOTE_VALUES_QL, ZERO, Direction, Hold, dotted, exact

TEMPO_RANGE: Final = (5.0, 1000.0)  # a figure outside is a mistake in the file
FERMATA_FACTOR: Final = 2  # "twice the written length is not unusual" (facts.md, general dictionary of music)
CAESURA_S: Final = 1.0  # a caesura or a fermata on a barline: about a breath; common practice, no source
BREATH_S: Final = 0.25  # a breath mark: a lift of the bow or the hand; common practice, no source
PAUSES_S: Final = {"caesura": CAESURA_S, "breath-mark": BREATH_S}
GRADUAL_MEASURES: Final = 2  # how far a rit. reaches when nothing ends it; common practice, no source
GRADUAL_FACTOR: Final = {Ask.SLOWER: 0.7, Ask.FASTER: 1.3}  # tempo at its end; common practice, no source
NO_TEMPO: Final = "no tempo in the file"  # how `tempo_source` then begins
_NUMBER: Final = re.compile(r"\d{1,6}(?:\.\d{1,9})?")


@dataclass(frozen=True, slots=True)
class TempoMark:
    """All that one moment says about tempo: a figure (quarters a minute), a ratio to the old tempo, words."""

    measure_index: int
    offset_ql: Fraction
    figure: float | None = None
    ratio: float | None = None
    wish: TempoWish | None = None
    source: str = ""


@dataclass(frozen=True, slots=True)
class TempoPoint:
    """From this moment on the tempo is `per_minute` quarters a minute."""

    measure_index: int
    offset_ql: Fraction
    per_minute: float


def tempo_marks(directions: Sequence[Direction]) -> list[TempoMark]:
    """One mark for every moment at which any part says something about tempo, in order."""
    moments: dict[tuple[int, Fraction], list[TempoMark]] = defaultdict(list)
    for direction in directions:
        for mark in _marks_of(direction):
            moments[mark.measure_index, mark.offset_ql].append(mark)
    return [_merged(marks) for _, marks in sorted(moments.items(), key=lambda item: item[0])]


def _marks_of(direction: Direction) -> Iterator[TempoMark]:
    index = direction.measure_index
    figure = None if direction.sound is None else _sensible(direction.sound.get("tempo"))
    if figure is not None:
        yield TempoMark(index, direction.sound_ql, figure=figure, source="sound")
    for metronome in direction.metronomes:
        figure, ratio = _metronome(metronome)
        if figure is not None or ratio is not None:
            yield TempoMark(index, direction.offset_ql, figure, ratio, source="metronome mark")
    wish = tempo_wish(direction.text) if direction.text else None
    if wish is not None:
        yield TempoMark(index, direction.offset_ql, wish=wish, source="words")


def _merged(marks: Sequence[TempoMark]) -> TempoMark:
    """The best figure (the last where one part gives several) and the first words of a moment."""
    first = marks[0]
    sounds = [mark for mark in marks if mark.source == "sound"]
    metronomes = [mark for mark in marks if mark.source == "metronome mark"]
    wishes = [mark.wish for mark in marks if mark.wish]
    best = (sounds or metronomes or marks)[-1]
    wish = wishes[0] if wishes else None
    return TempoMark(first.measure_index, first.offset_ql, best.figure, best.ratio, wish, best.source)


def _sensible(text: str | None) -> float | None:
    value = exact(text)
    return float(value) if value is not None and TEMPO_RANGE[0] <= value <= TEMPO_RANGE[1] else None


def _metronome(element: etree._Element) -> tuple[float | None, float | None]:
    """Quarters a minute, or the ratio of a metric modulation ("q = q.": the old quarter lasts as long as the new
    dotted quarter, so the tempo grows by half)."""
    units = _beat_units(element)
    if len(units) == 2:
        return None, float(units[1] / units[0])
    numbers = _NUMBER.findall(element.findtext("per-minute", ""))[:2]
    if len(units) == 1 and numbers:
        # "80-84" means something between.
        per_minute = sum(map(float, numbers)) / len(numbers) * float(units[0])
        return (per_minute if TEMPO_RANGE[0] <= per_minute <= TEMPO_RANGE[1] else None), None
    return None, None


def _beat_units(element: etree._Element) -> list[Fraction]:
    """The note values left and right of the equals sign, in quarters; empty when one is unknown."""
    units: list[tuple[str, int]] = []  # name, dots
    for child in element.iterchildren("beat-unit", "beat-unit-dot", "metronome-note"):
        if child.tag == "beat-unit":
            units.append((child.text or "", 0))
        elif child.tag == "metronome-note":
            units.append((child.findtext("metronome-type", ""), len(child.findall("metronome-dot"))))
        elif units:
            units[-1] = (units[-1][0], units[-1][1] + 1)
    values = [NOTE_VALUES_QL.get(name.strip(), ZERO) * dotted(dots) for name, dots in units]
    return values if all(values) else []


def tempo_points(marks: Sequence[TempoMark], measures: Sequence[Measure], default: float) -> list[TempoPoint]:
    """The tempo as a step function: points in order, the first of each movement at its start."""
    points: list[TempoPoint] = []
    for inside, own in _by_movement(marks, measures):
        points += _movement_points(inside, own, default)
    return points


def _by_movement(
    marks: Sequence[TempoMark], measures: Sequence[Measure]
) -> Iterator[tuple[list[TempoMark], list[Measure]]]:
    """The marks and measures of each movement."""
    for movement, group in groupby(measures, key=lambda measure: measure.movement):
        own = list(group)
        inside = [mark for mark in marks if measures[mark.measure_index].movement == movement]
        yield _from_start(inside, own), own


def _starts_with_tempo(marks: Sequence[TempoMark], measures: Sequence[Measure]) -> bool:
    start = (measures[0].index, ZERO)
    return bool(marks) and (marks[0].measure_index, marks[0].offset_ql) == start and _sets_tempo(marks[0])


def _from_start(marks: list[TempoMark], measures: Sequence[Measure]) -> list[TempoMark]:
    """A first tempo that stands a little late (after a pickup, inside the first bar) counts from the
    start."""
    full_index = next((measure.index for measure in measures if not measure.implicit), measures[0].index)
    if not marks or marks[0].measure_index > full_index or not _sets_tempo(marks[0]):
        return marks
    return [replace(marks[0], measure_index=measures[0].index, offset_ql=ZERO), *marks[1:]]


def _sets_tempo(mark: TempoMark) -> bool:
    return mark.figure is not None or (mark.wish is not None and mark.wish.ask is Ask.TEMPO)


def _movement_points(
    marks: Sequence[TempoMark], measures: Sequence[Measure], default: float
) -> list[TempoPoint]:
    """Follow the marks of one movement. `steady` is the tempo that "a tempo" returns to."""
    current = steady = first = default
    bent: float | None = None  # where a gradual change has led, while it lasts
    gradual = False
    points = [TempoPoint(measures[0].index, ZERO, default)]
    for mark, following in zip_longest(marks, marks[1:]):
        ask = mark.wish.ask if mark.wish else None
        bends = ask in GRADUAL_FACTOR
        current = (
            bent if bends and bent and mark.figure is None else _next_tempo(mark, current, steady, first)
        )
        if not bends and (ask is not None or not gradual):
            steady = current  # figures that spell out a rit. are not what "a tempo" returns to
        gradual = bends or (gradual and ask is None)
        points.append(TempoPoint(mark.measure_index, mark.offset_ql, current))
        if (mark.measure_index, mark.offset_ql) == (measures[0].index, ZERO):
            first = current
        bent = None
        if ask is not None and bends:
            curve = _curve(mark, following, measures, current, current * GRADUAL_FACTOR[ask], steady)
            points += curve
            bent = curve[-1].per_minute if curve and curve[-1].per_minute != steady else None
            current = steady
    return points


def _next_tempo(mark: TempoMark, current: float, steady: float, first: float) -> float:
    if mark.figure is not None:
        return mark.figure
    if mark.ratio is not None:
        return min(max(current * mark.ratio, TEMPO_RANGE[0]), TEMPO_RANGE[1])
    wish = mark.wish
    if wish is None or wish.ask in (Ask.SLOWER, Ask.FASTER):
        return current
    if wish.ask is Ask.TEMPO:
        return wish.value
    if wish.ask is Ask.SCALE:
        return min(max(steady * wish.value, TEMPO_RANGE[0]), TEMPO_RANGE[1])
    return first if wish.ask is Ask.FIRST else steady


def _curve(
    mark: TempoMark,
    following: TempoMark | None,
    measures: Sequence[Measure],
    tempo: float,
    goal: float,
    back: float,
) -> list[TempoPoint]:
    """A gradual change from `tempo` to `goal`, beat by beat, up to the next mark, or over `GRADUAL_MEASURES`
    and then `back`; empty when figures close by spell it out themselves."""
    begin = mark.measure_index - measures[0].index
    reach = measures[begin : begin + GRADUAL_MEASURES]
    start = reach[0].offset_ql + mark.offset_ql
    stop = reach[-1].offset_ql + reach[-1].length_ql
    gives_back = True
    if following is not None:
        next_at = measures[following.measure_index - measures[0].index].offset_ql + following.offset_ql
        if next_at <= stop and following.figure is not None and following.wish is None:
            return []
        gives_back = stop < next_at
        stop = min(stop, next_at)
    beats = int(stop - start)
    tempi = {start + beat: tempo + (goal - tempo) * beat / beats for beat in range(1, beats)}
    if gives_back and beats > 1:
        tempi[stop] = back
    return [
        TempoPoint(measure.index, at_ql - measure.offset_ql, per_minute)
        for at_ql, per_minute in tempi.items()
        for measure in measures[begin : begin + GRADUAL_MEASURES + 1]
        if measure.offset_ql <= at_ql < measure.offset_ql + measure.length_ql
    ]


def clocks(
    points: Sequence[TempoPoint],
    holds: Sequence[Hold],
    barline_fermatas: Sequence[bool],
    measures: Sequence[Measure],
) -> tuple[Clock, ...]:
    """One clock a measure."""
    points_of: dict[int, list[TempoPoint]] = defaultdict(list)
    for point in points:
        points_of[point.measure_index].append(point)
    holds_of: dict[int, list[Hold]] = defaultdict(list)
    for hold in holds:
        holds_of[hold.measure_index].append(hold)
    result = []
    tempo = points[0].per_minute
    for measure in measures:
        tempi = {ZERO: tempo}
        for point in points_of.get(measure.index, ()):
            tempi[min(point.offset_ql, measure.length_ql)] = point.per_minute
        result.append(
            _clock(measure.length_ql, tempi, holds_of.get(measure.index, []), barline_fermatas[measure.index])
        )
        tempo = tempi[max(tempi)]
    return tuple(result)


def _clock(
    length_ql: Fraction, tempi: dict[Fraction, float], holds: Sequence[Hold], fermata_at_end: bool
) -> Clock:
    fermatas = _fermata_spans([hold for hold in holds if hold.sign == "fermata"], length_ql)
    pauses: dict[Fraction, float] = {length_ql: CAESURA_S} if fermata_at_end else {}
    for hold in holds:
        if hold.sign in PAUSES_S:  # signs of several parts at one moment are one pause, the longest
            at_ql = min(hold.offset_ql + hold.duration_ql, length_ql)
            pauses[at_ql] = max(PAUSES_S[hold.sign], pauses.get(at_ql, 0.0))
    cuts = sorted({ZERO, length_ql, *tempi, *pauses, *(edge for span in fermatas for edge in span)})
    knots = [(ZERO, 0.0)]
    tempo = tempi[ZERO]
    for start, end in pairwise(cuts):
        tempo = tempi.get(start, tempo)
        held = any(first <= start < last for first, last in fermatas)
        seconds = float(end - start) * 60 / tempo * (FERMATA_FACTOR if held else 1)
        knots.append((end, knots[-1][1] + seconds))
        if end in pauses:
            knots.append((end, knots[-1][1] + pauses[end]))
    return Clock(tuple(knots) if len(knots) > 1 else (knots[0], (length_ql, 0.0)))


def _fermata_spans(holds: Sequence[Hold], length_ql: Fraction) -> list[tuple[Fraction, Fraction]]:
    """Where time is stretched. Fermatas of several parts that overlap are one, over the time they share:
    players who hold a long note wait for those whose fermata comes later."""
    spans: list[tuple[Fraction, Fraction]] = []
    for hold in sorted(holds, key=lambda hold: (hold.offset_ql, hold.duration_ql)):
        start, end = hold.offset_ql, min(hold.offset_ql + hold.duration_ql, length_ql)
        if spans and start < spans[-1][1]:
            spans[-1] = (max(start, spans[-1][0]), min(end, spans[-1][1]))
        elif start < end:
            spans.append((start, end))
    return spans


def tempo_source(marks: Sequence[TempoMark], measures: Sequence[Measure], default: float) -> str:
    """Where the tempi come from, in words."""
    kinds = {mark.source for mark in marks if mark.figure is not None or mark.ratio is not None}
    if any(mark.figure is None and mark.ratio is None and _sets_tempo(mark) for mark in marks):
        kinds.add("words")
    names = {
        "sound": "playback tempi in the file",
        "metronome mark": "metronome marks",
        "words": "tempo words",
    }
    said = [name for kind, name in names.items() if kind in kinds]
    if not said:
        return f"{NO_TEMPO}: {default:g} quarters a minute taken"
    if any(not _starts_with_tempo(inside, own) for inside, own in _by_movement(marks, measures)):
        said.append(f"{default:g} quarters a minute where nothing is said")
    return ", ".join(said)
