"""What the players of an ensemble should not do at once, and what a turn is for two who share a copy.

In: the parts, their scores (in the same seconds of the playing order) and the steps of each with their costs.  Out:
`Limit`s for `layout.joint`; costs there in hundredths of a point, constants here in points as in `layout.objective`.
Always true: a moment is a stretch of AT_ONCE_S with as many turns in it as can be; each pass of a repeat is a moment of
its own; between movements everybody may turn.

Who counts how much at a moment: nothing a player who has a long rest, no note within AROUND_S on either side; LIGHT one
whose turn is open, so that no note of it is touched, or whose desk partner plays on; FULL everybody else.
"""

from bisect import bisect_left, bisect_right
from collections.abc import Callable, Collection, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import accumulate, pairwise
from typing import Final

from optimizer.layout.limit import Limit
from optimizer.layout.problem import crossed, is_back
from optimizer.parts.loudness import softness
from optimizer.parts.model import Extracted
from optimizer.parts.timeline import AT_ONCE_S
from optimizer.score.events import played_notes
from optimizer.score.model import Score
from optimizer.turns.model import Grade, StepCost

# A turn that is not hurried takes 3 s (A. Quince, Part preparation for composers, 2015): who has that before it and
# after it is not missed, and whoever looks up sees a player at rest.
AROUND_S: Final = 3.0
LIGHT, FULL = 1, 2

# Each player more than half of those who play: as much as half the way from a quick turn to a tight one (300 points),
# so that a hole in the sound is worth one turn a little harder, not a blocked one. Half of it for LIGHT. Ours.
TOO_MANY: Final = 150
# Each desk more than half of all that play: a turn's handling (40 points) once more, for the sound of a section is only
# halved by it. Ours.
TOO_MANY_DESKS: Final = 40
# Notes this long are heard to stop: four beats at 160 a minute, two at 80. Ours.
SUSTAINED_S: Final = 1.5

# What the inside player's turn keeps of each term of the turn model, in halves: notes are missed by half of the players
# only; what is carried in memory and where the music divides is the same for both, who read one page.
_HALVED: Final = frozenset({"missing-time", "dropped", "grade"})
_EASIER: Final = {Grade.BLOCKED: Grade.TIGHT, Grade.TIGHT: Grade.QUICK}


def shared_copy(step: StepCost) -> StepCost:
    """A step for two at a desk: the inside player turns while the outside player plays on.

    Points for missing time, dropped notes and grade are halved. The grade is one easier where it was tight or blocked,
    since nobody need hurry: it is not open, which means that nothing stops. A further leaf and finding the place after
    a jump cost both players what they did.
    """
    terms = {name: points // 2 if name in _HALVED else points for name, points in step.terms.items()}
    sentence = f"{step.sentence}; the inside player turns, the outside player plays on"
    grade = _EASIER.get(step.grade, step.grade)
    return replace(step, cost=sum(terms.values()), terms=terms, grade=grade, sentence=sentence)


def limits(
    parts: Sequence[Extracted], scores: Sequence[Score], steps: Sequence[Sequence[StepCost]]
) -> tuple[Limit, ...]:
    """All limits of an ensemble, members numbered as the parts are: "all", "family", "desks".

    "all": never all parts turn at once, and more than half of those who play cost something. "family": never all of a
    family that plays, two parts or more, where they are soft or sustained, unless desk partners play on. "desks": more
    than half of all desks of the sections that play, two or more.
    """
    members = [_Member(*each) for each in zip(parts, scores, steps, strict=True)]
    found: dict[tuple[object, ...], Limit] = {}
    for moment in _moments(members):
        for limit in _limits_at(moment, members):
            key = (
                limit.what,
                limit.free,
                limit.most,
                *sorted(limit.turns.items()),
                *sorted(limit.spans.items()),
            )
            known = found.get(key)
            found[key] = replace(limit, cost=limit.cost + known.cost) if known else limit
    return tuple(found.values())


@dataclass(frozen=True, eq=False)
class _Member:
    """A part, with what can be asked of it at any second."""

    part: Extracted
    score: Score
    steps: Sequence[StepCost]

    @cached_property
    def _notes(self) -> Sequence[tuple[float, float]]:
        """Onset and end of what it plays."""
        return sorted((note.onset_s, note.end_s) for note in played_notes(self.score) if not note.cue)

    @cached_property
    def _longest_s(self) -> float:
        return max((end_s - onset_s for onset_s, end_s in self._notes), default=0.0)

    @cached_property
    def _softness(self) -> tuple[Sequence[float], Sequence[bool]]:
        changes = softness(self.part.file.root, self.score)
        return [time_s for time_s, _ in changes], [soft for _, soft in changes]

    @property
    def has_music(self) -> bool:
        return bool(self._notes)

    def sounding(self, start_s: float, end_s: float) -> Iterator[tuple[float, float]]:
        """The notes that sound between two seconds."""
        low = bisect_left(self._notes, (start_s - self._longest_s,))
        for onset_s, off_s in self._notes[low : bisect_left(self._notes, (end_s,))]:
            if off_s > start_s:
                yield onset_s, off_s

    def plays(self, start_s: float, end_s: float) -> bool:
        """Whether it has a note there, or within AROUND_S."""
        return any(self.sounding(start_s - AROUND_S, end_s + AROUND_S))

    def is_soft(self, time_s: float) -> bool:
        """Whether it is to be played p or softer there; unmarked music is not."""
        times, soft = self._softness
        place = bisect_right(times, time_s)
        return place > 0 and soft[place - 1]


@dataclass(frozen=True, slots=True)
class _Event:
    """A turn that may be: when, whose, at which positions a spread must start for it. `weight`: see the module."""

    time_s: float
    member: int
    positions: range
    is_jump: bool
    weight: int


@dataclass(frozen=True, slots=True)
class _Moment:
    """Turns within AT_ONCE_S. `shares`: in so many moments the most shared of them take part, so that a crowd that
    stands in several is paid for once."""

    events: Sequence[_Event]
    shares: int

    @property
    def start_s(self) -> float:
        return self.events[0].time_s

    @property
    def end_s(self) -> float:
        return self.events[-1].time_s


def _events(index: int, member: _Member) -> Iterator[_Event]:
    """All turns that a part may have, on each pass; none from one movement into the next."""
    score, steps = member.score, {(step.from_index, step.to_index): step for step in member.steps}
    for here, there in pairwise(score.played):
        step = steps.get((here.measure_index, there.measure_index))
        apart = score.measures[here.measure_index].movement != score.measures[there.measure_index].movement
        if step is None or apart or not crossed(step):
            continue
        instant_s = 0.0 if is_back(step) else round(step.instant_s, 3)  # as plans have it
        time_s = max(0.0, there.start_s + instant_s)
        weight = LIGHT if step.grade is Grade.OPEN or member.part.players > 1 else FULL
        weight *= member.plays(time_s, time_s)
        yield _Event(time_s, index, crossed(step), step.is_jump, weight)


def _moments(members: Sequence[_Member]) -> Iterator[_Moment]:
    """Every stretch of AT_ONCE_S whose turns are not all in another one."""
    events = [event for index, member in enumerate(members) for event in _events(index, member)]
    events.sort(key=lambda event: (event.time_s, event.member))
    windows: list[tuple[int, int]] = []
    end = 0
    for start, event in enumerate(events):
        before = end
        while end < len(events) and events[end].time_s - event.time_s < AT_ONCE_S:
            end += 1
        if end > before:
            windows.append((start, end))
    opened = [0] * (len(events) + 1)
    for start, end in windows:
        opened[start] += 1
        opened[end] -= 1
    shares = list(accumulate(opened))
    for start, end in windows:
        yield _Moment(events[start:end], max(shares[start:end]))


def _limits_at(moment: _Moment, members: Sequence[_Member]) -> Iterator[Limit]:
    """The limits of a moment that can be reached."""
    everybody = {index for index, member in enumerate(members) if member.has_music}
    playing = {i for i, member in enumerate(members) if member.plays(moment.start_s, moment.end_s)}
    if len(everybody) > 1 and {event.member for event in moment.events} >= everybody:
        most = len(everybody) - 1
        yield _limit("all", moment, lambda event: event.member in everybody, most, 0, most)
    if len(playing) > 1:
        half = FULL * len(playing) // 2
        yield from _reached(_limit("all", moment, lambda event: event.weight, half, TOO_MANY // FULL))
    for family in dict.fromkeys(members[index].part.family for index in sorted(playing)):
        inside = {index for index in playing if members[index].part.family == family}
        alone = not any(members[index].part.players > 1 for index in inside)
        if len(inside) > 1 and alone and _is_bare([members[index] for index in inside], moment):
            yield from _reached(_family(moment, frozenset(inside)))
    desks = {i: members[i].part.desks for i in playing if members[i].part.players > 1}
    if len(desks) > 1:
        half = sum(desks.values()) // 2
        yield from _reached(
            _limit("desks", moment, lambda event: desks.get(event.member, 0), half, TOO_MANY_DESKS)
        )


def _family(moment: _Moment, members: Collection[int]) -> Limit:
    """Never all of these."""
    most = len(members) - 1
    return _limit("family", moment, lambda event: event.member in members, most, 0, most)


def _is_bare(family: Sequence[_Member], moment: _Moment) -> bool:
    """Whether all of them are soft, or all that they play is long."""
    middle_s = (moment.start_s + moment.end_s) / 2
    notes = [note for member in family for note in member.sounding(moment.start_s, moment.end_s)]
    sustained = bool(notes) and all(off_s - onset_s >= SUSTAINED_S for onset_s, off_s in notes)
    return sustained or all(member.is_soft(middle_s) for member in family)


def _limit(
    what: str,
    moment: _Moment,
    weigh: Callable[[_Event], int],
    free: int,
    points: int,
    most: int | None = None,
) -> Limit:
    """A limit on those of a moment's turns that have a weight."""
    turns: dict[tuple[int, int], int] = {}
    spans: dict[tuple[int, int, int], int] = {}
    for event in moment.events:
        if weight := int(weigh(event)):
            if event.is_jump:
                spans[event.member, event.positions.start, event.positions.stop - 1] = weight
            else:
                turns[event.member, event.positions.start] = weight
    return Limit(what, turns, free, points * 100 // moment.shares, most, spans)


def _reached(limit: Limit) -> Iterator[Limit]:
    """The limit, unless all its turns together are free."""
    if sum(limit.turns.values()) + sum(limit.spans.values()) > limit.free:
        yield limit
