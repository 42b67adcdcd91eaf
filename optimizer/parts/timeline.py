"""What happens when in an ensemble: who sounds, who rests, who turns.

In: the parts as they are read, their plans.  Out: `Ensemble`.  Seconds are those of the playing order, from the start
of the piece.  Always true: a turn stands there as often as it is played, at the instant its player would choose.
"""

from bisect import bisect_left
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from itertools import pairwise
from typing import Final

from lxml import etree

from optimizer.binding.sheets import sheets_to_print
from optimizer.layout.plan import Plan, PlannedBackTurn, PlannedTurn
from optimizer.parts.model import Extracted
from optimizer.score.events import played_notes
from optimizer.score.model import Score
from optimizer.settings import Settings
from optimizer.turns.bars import bar_number, movement_numerals
from optimizer.turns.model import Grade, is_by_heart, tenths_s

# Turns this near each other are heard as one (issue of the project: "not all players turn within the same 3 s"; a turn
# takes 1.6 s, an unhurried one 3).
AT_ONCE_S: Final = 3.0
# A gap between notes that is no rest to the ear; the picture is not cut up for it.
_BREATH_S: Final = 0.3


@dataclass(frozen=True, slots=True)
class TurnMoment:
    """One turn as it is played. `time_s`: when the player turns; `back`: to an earlier spread; `between`: from one
    movement to the next, where all may turn at once; `by_heart`: with more to carry than anyone holds at a glance;
    `movement`: its numeral, where there are several."""

    time_s: float
    from_page: int
    to_page: int
    after_bar: str
    grade: Grade
    free_s: float
    carry: int
    back: bool
    why: str
    between: bool = False
    by_heart: bool = False
    movement: str = ""


@dataclass(frozen=True, slots=True)
class Lane:
    """One part. `name`: as it stands on its pages; `pages`: of music, as everywhere, so without a title page outside;
    `sheets`: of paper that go into the printer for one copy; `copies`: one for two players; `sounding`: start and end
    of each stretch in which it plays."""

    name: str
    family: str
    players: int
    pages: int
    staff_mm: float
    sounding: tuple[tuple[float, float], ...]
    turns: tuple[TurnMoment, ...]
    sheets: int = 0
    copies: int = 1


@dataclass(frozen=True, slots=True)
class Mark:
    """Where one is: a bar's number at its first beat, a rehearsal mark, or the numeral of a movement that begins."""

    time_s: float
    text: str
    rehearsal: bool
    movement: bool = False


@dataclass(frozen=True, slots=True)
class Ensemble:
    """All parts along one time."""

    title: str
    composer: str
    tempo_source: str
    duration_s: float
    marks: tuple[Mark, ...]
    lanes: tuple[Lane, ...]

    def at_once(self) -> Mapping[int, int]:
        """How many moments there are in the music at which so many parts, two or more, turn within AT_ONCE_S."""
        crowds = (len({lane for lane, turn in crowd if not turn.between}) for crowd in self.moments())
        return Counter(count for count in crowds if count > 1)

    def is_more_between(self) -> bool:
        """Whether more turn within AT_ONCE_S from one movement to the next, which `at_once` does not count."""
        if not any(turn.between for lane in self.lanes for turn in lane.turns):
            return False
        crowds = (
            ({lane for lane, _ in crowd}, {lane for lane, turn in crowd if not turn.between})
            for crowd in self.moments()
        )
        return any(len(everybody) > max(1, len(counted)) for everybody, counted in crowds)

    def moments(self) -> Iterator[tuple[tuple[int, TurnMoment], ...]]:
        """All turns with their lanes, in order of time, those within AT_ONCE_S together; each turn belongs to one
        moment, the fullest."""
        left = [(lane, turn) for lane, one in enumerate(self.lanes) for turn in one.turns]
        left.sort(key=lambda each: (each[1].time_s, each[0]))
        found: list[tuple[tuple[int, TurnMoment], ...]] = []
        while left:
            ends = [
                bisect_left(left, AT_ONCE_S, at, key=partial(_after_s, start.time_s))
                for at, (_, start) in enumerate(left)
            ]
            sizes = [len({lane for lane, _ in left[at:end]}) for at, end in enumerate(ends)]
            fullest = sizes.index(max(sizes))
            found.append(tuple(left[fullest : ends[fullest]]))
            del left[fullest : ends[fullest]]
        return iter(sorted(found, key=lambda crowd: crowd[0][1].time_s))


def _after_s(start_s: float, turn: tuple[int, TurnMoment]) -> float:
    return turn[1].time_s - start_s


def ensemble(
    full: Score,
    root: etree._Element,
    parts: Sequence[Extracted],
    scores: Sequence[Score],
    plans: Sequence[Plan],
    settings: Settings,
) -> Ensemble:
    """The parts along the playing order; `root` is the full score's tree."""
    return Ensemble(
        full.title,
        full.composer,
        full.tempo_source,
        full.duration_s,
        tuple(_marks(full, root)),
        tuple(
            _lane(part, score, plan, settings) for part, score, plan in zip(parts, scores, plans, strict=True)
        ),
    )


def _lane(part: Extracted, score: Score, plan: Plan, settings: Settings) -> Lane:
    planned: Sequence[PlannedTurn | PlannedBackTurn] = [*plan.turns, *plan.back_turns]
    numerals = movement_numerals(score)
    moments = (moment for turn in planned for moment in _moments(score, plan, turn, numerals, settings))
    turns = sorted(moments, key=lambda moment: moment.time_s)
    return Lane(
        score.part_name or part.name, part.family, part.players, len(plan.pages), plan.staff_mm, _sounding(score),
        tuple(turns), sheets_to_print(plan, settings), part.desks,
    )  # fmt: skip


def _moments(
    score: Score,
    plan: Plan,
    turn: PlannedTurn | PlannedBackTurn,
    numerals: Mapping[int, str],
    settings: Settings,
) -> Iterator[TurnMoment]:
    """A turn on each of its passes; where bars are printed again, at the barline at which the player turns instead."""
    back = isinstance(turn, PlannedBackTurn)
    between = score.measures[turn.after].movement != score.measures[turn.to].movement
    instant_s = turn.instant_s if isinstance(turn, PlannedTurn) else 0.0
    strip = plan.strip_at(turn)
    turned = (strip.turn_after, strip.turn_after + 1) if strip else (turn.after, turn.to)
    after_bar = strip.turn_after_bar if strip else turn.after_bar
    movement = numerals.get(score.measures[turn.after].movement, "")
    for here, there in pairwise(score.played):
        if (here.measure_index, there.measure_index) == turned:
            yield TurnMoment(
                max(0.0, there.start_s + instant_s), turn.from_page, turn.to_page, after_bar, turn.grade,
                tenths_s(turn.free_s), turn.carry, back, turn.why, between,
                is_by_heart(turn.carry, settings.turns.carry_allowance), movement,
            )  # fmt: skip


def _sounding(score: Score) -> tuple[tuple[float, float], ...]:
    """Stretches without a rest that could be heard; cues are others'."""
    stretches: list[list[float]] = []
    for start_s, end_s in sorted((note.onset_s, note.end_s) for note in played_notes(score) if not note.cue):
        if stretches and start_s <= stretches[-1][1] + _BREATH_S:
            stretches[-1][1] = max(stretches[-1][1], end_s)
        else:
            stretches.append([start_s, end_s])
    return tuple((start_s, end_s) for start_s, end_s in stretches)


def _marks(full: Score, root: etree._Element) -> Iterator[Mark]:
    """Bar numbers and rehearsal marks, each time they are played, and where movements begin."""
    rehearsal, numerals = _rehearsal_marks(root), movement_numerals(full)
    begun: set[int] = set()
    for played in full.played:
        measure = full.measures[played.measure_index]
        if measure.movement not in begun and measure.movement in numerals:
            begun.add(measure.movement)
            yield Mark(played.start_s, numerals[measure.movement], rehearsal=False, movement=True)
        if (number := bar_number(measure.number)) and not measure.implicit:
            yield Mark(played.start_s, number, rehearsal=False)
        for text in rehearsal.get(played.measure_index, ()):
            yield Mark(played.start_s, text, rehearsal=True)


def _rehearsal_marks(root: etree._Element) -> Mapping[int, Sequence[str]]:
    """By measure of the file, whichever part they stand in."""
    found: dict[int, dict[str, None]] = {}
    for part in root.iterfind("part"):
        for index, measure in enumerate(part.iterfind("measure")):
            for mark in measure.iterfind("direction/direction-type/rehearsal"):
                if text := " ".join((mark.text or "").split()):
                    found.setdefault(index, {})[text] = None
    return {index: tuple(texts) for index, texts in found.items()}
