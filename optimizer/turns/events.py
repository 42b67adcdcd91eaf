"""How hard a turn is at a barline, from bare events: the model of design section 4 on arrays.

In: for each hand the onsets and ends of its notes, and the barlines, in seconds of playing order.  Out:
`Weighed`, one entry a barline.  The player picks a hand and an instant in a window around the barline; all of
them are tried on a grid and the cheapest is taken.  Always true: costs are whole points, each term is at
least 0, and taking chords away never makes a barline dearer.

Two groups of terms. The calibrated ones (missing-time, dropped, carry, no-section-end) rank barlines as
editors did: scripts/calibrate measures that and repeats the choice of their constants. The `grade` term adds
what the user counts: nearly all of the cost of a blocked and most of that of a tight turn, so that the least
sum of costs also has few of both. Grades go by physical time, editors' choices are satisfied with less, hence
both.
"""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, fields, replace
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from optimizer.settings import TurnSettings
from optimizer.turns.model import Grade

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]
Events = Sequence[tuple[float, ...]]  # onset_s, end_s, and whatever else a note carries

CHORD_S: Final = 0.03  # onsets closer than this are one chord, rolled or not; ours
GRID_S: Final = 0.05  # step of the instants tried; finer changes nothing one could feel
EPS_S: Final = 1e-6  # clock times are sums of floats
TIGHT_S: Final = 0.6  # a fast snatch at the page; below this notes will be lost. Ours, from what editors did
GRADES: Final = tuple(Grade)  # easiest first
TERMS: Final = ("missing-time", "dropped", "carry", "no-section-end", "grade")


@dataclass(frozen=True, slots=True)
class TurnModel:
    """The constants. Window, held notes and `enough_s` were found on 133 prints of the open data set of which
    scripts/calibrate reads a half; the points were chosen on half of that and checked on the rest.
    """

    # Free time counts before the barline rather than after it: 1.25 to 2 s and 0.25 to 0.75 s are flat.
    before_s: float = 1.5
    after_s: float = 0.5
    # A held note frees the hand in part: the pedal or the other hand can take it; 0.15 to 0.5 is flat. For
    # strings and winds nothing can: callers pass 0.
    held: float = 0.35
    # Editors do not care for more free time than this.
    enough_s: float = 1.0
    # Points for no free time at all, and for a barline that ends no section: fitted log-odds 2.6 and 2.0.
    missing_points: int = 130
    section_points: int = 100
    # Memory and lost notes hardly tell editors' turns from their neighbours: small, and bounded, since beyond
    # this many one more makes no difference.
    carry_points: int = 2
    carry_most: int = 8
    dropped_points: int = 4
    dropped_most: int = 3
    # What the user counts, by grade from open to blocked. Two quick turns together are cheaper than one tight
    # one, two tight ones cheaper than a blocked one, and a blocked one costs about BLOCKED_COST with the
    # other terms.
    grade_points: tuple[int, int, int, int] = (0, 20, 300, 750)


MODEL: Final = TurnModel()
RANKING: Final = replace(MODEL, grade_points=(0, 0, 0, 0))  # the calibrated terms alone


@dataclass(frozen=True, slots=True)
class Stretches:
    """The onset-free stretches of one hand: from onset `starts[i]`, sounding until `silent[i]`, to onset
    `ends[i]`.

    The first starts at minus infinity, the last ends at infinity; shape (onsets + 1,). `held`: what a second
    of a held note counts.
    """

    starts: Floats
    silent: Floats
    ends: Floats
    held: float

    @property
    def onsets(self) -> Floats:
        """Chords, one number each."""
        return self.starts[1:]

    def effective(self, index: Ints, low: Floats, high: Floats) -> Floats:
        """Free seconds of stretch `index` between two times; held notes count in part."""
        low, high = np.maximum(self.starts[index], low), np.minimum(self.ends[index], high)
        silent = np.clip(self.silent[index], low, np.maximum(low, high))
        return self.held * (silent - low) + np.maximum(high - silent, 0.0)


@dataclass(frozen=True, slots=True)
class Weighed:
    """One entry a barline; `terms` sum to the cost. `hand` indexes `hands`; `stretch` (barlines, 3) is start,
    silence and end of the stretch used, in seconds of playing order; `free_by_hand` (barlines, hands) is each
    hand's best; `together` says that the other hands are as free at that instant."""

    hands: tuple[str, ...]
    terms: Mapping[str, Ints]
    grade: Ints
    hand: Ints
    instant_s: Floats
    free_s: Floats
    free_by_hand: Floats
    together: Bools
    carry: Ints
    dropped: Ints
    stretch: Floats

    @property
    def cost(self) -> Ints:
        """Sum of all terms."""
        return sum(self.terms.values(), np.zeros(len(self.hand), dtype=np.int64))


def turn_costs_from_events(
    hands: Mapping[str, Sequence[tuple[float, float]]],
    barlines_s: Sequence[float],
    double_bars: Collection[int],
) -> Sequence[float]:
    """How hard a turn is at each barline, from bare events; higher is harder.

    `hands`: onset and end in seconds of each note of each hand of a keyboard player; `double_bars`: indices
    of barlines that end a section. Returns the calibrated part of the cost, that is without the `grade` term:
    with it the order of barlines agrees a little less well with editors, who turn where they must, not where
    there is time.
    """
    section_ends = np.zeros(len(barlines_s), dtype=bool)
    section_ends[list(double_bars)] = True
    times_s = np.asarray(barlines_s, dtype=np.float64)
    weighed = weigh(hands, times_s, section_ends, TurnSettings(), model=RANKING)
    return [float(points) for points in weighed.cost]


def weigh(
    hands: Mapping[str, Events],
    barlines_s: Floats,
    section_ends: Bools,
    settings: TurnSettings,
    *,
    read: Events = (),
    busy: Events = (),
    extra_s: float = 0.0,
    model: TurnModel = MODEL,
) -> Weighed:
    """Tries every hand at every instant of the window around each barline and keeps the cheapest.

    `hands`: those that could turn, at least one; `read`: notes that only have to be known (feet, or the part
    that a singer holds); `busy`: when all hands do what is no note. `extra_s`: by how much longer the turn takes,
    for more than one leaf.
    """
    trial = _Trial(settings, model, extra_s, barlines_s[:, None])
    to_know = stretches([*read, *(event for events in hands.values() for event in events)], 0.0).onsets
    carry = trial.carry(to_know)
    tried = [trial.hand(stretches([*events, *busy], model.held), carry) for events in hands.values()]
    return trial.cheapest(tuple(hands), tried, carry, section_ends)


def easier(one: Weighed, other: Weighed) -> Weighed:
    """Of two ways to play the same music, at each barline the cheaper."""
    takes = other.cost < one.cost

    def chosen(ours: NDArray[Any], theirs: NDArray[Any]) -> NDArray[Any]:
        return np.where(takes.reshape(-1, *[1] * (ours.ndim - 1)), theirs, ours)

    terms = {name: chosen(points, other.terms[name]) for name, points in one.terms.items()}
    rest = {
        field.name: chosen(getattr(one, field.name), getattr(other, field.name))
        for field in fields(Weighed)
        if field.name not in ("hands", "terms")
    }
    return Weighed(hands=one.hands, terms=terms, **rest)


def stretches(events: Events, held: float) -> Stretches:
    """Merges the notes of a hand into chords and lists the stretches between them."""
    ordered = np.array(sorted((event[0], event[1]) for event in events), dtype=np.float64).reshape(-1, 2)
    first = np.diff(ordered[:, 0], prepend=-np.inf) > CHORD_S
    onsets = ordered[first, 0]
    sounding = np.maximum.accumulate(ordered[:, 1])[np.append(first[1:], True)] if len(ordered) else onsets
    starts, ends = np.append(-np.inf, onsets), np.append(onsets, np.inf)
    return Stretches(starts, np.clip(np.append(-np.inf, sounding), starts, ends), ends, held)


def _count(onsets: Floats, low: Floats, high: Floats) -> Ints:
    """Onsets in [low, high)."""
    first, last = np.searchsorted(onsets, low - EPS_S), np.searchsorted(onsets, high - EPS_S)
    return (last - first).clip(0)


@dataclass(frozen=True, slots=True)
class _Tried:
    """One hand at every instant; shapes (barlines, instants) and for `stretch` (barlines, instants, 3)."""

    free_s: Floats
    grade: Ints
    dropped: Ints
    missing_points: Ints
    cost: Ints
    stretch: Floats


@dataclass(frozen=True, slots=True)
class _Trial:
    """What is the same for all hands; `barline_s` has shape (barlines, 1), `instants_s` (barlines,
    instants)."""

    settings: TurnSettings
    model: TurnModel
    extra_s: float
    barline_s: Floats

    @property
    def instants_s(self) -> Floats:
        """When the turn may begin: at the earliest so that the new page is read in time without memory."""
        earliest_s = -(self.turn_s + self.settings.eye_hand_s)
        return self.barline_s + np.arange(earliest_s, self.model.after_s + EPS_S, GRID_S)

    @property
    def turn_s(self) -> float:
        """How long the page is out of sight."""
        return self.settings.quick_s + self.extra_s

    def carry(self, to_know: Floats) -> Ints:
        """Chords to hold in memory at each instant: what is left of the old page beyond the eye-hand span
        when it goes, and what is played from the new one before it has been read."""
        gone_s = np.minimum(self.instants_s + self.settings.eye_hand_s, self.barline_s)
        read_s = np.maximum(self.instants_s + self.turn_s + self.settings.eye_hand_s, self.barline_s)
        return _count(to_know, gone_s, read_s)

    def hand(self, hand: Stretches, carry: Ints) -> _Tried:
        """The terms that depend on hand and instant. Time within the window ranks; up to an unhurried turn's
        time on either side of the barline grades, of a stretch that reaches into the window."""
        model, unhurried_s = self.model, self.settings.unhurried_s
        index = np.searchsorted(hand.onsets, self.instants_s + EPS_S, side="right")
        near_s = hand.effective(index, self.barline_s - model.before_s, self.barline_s + model.after_s)
        all_s = hand.effective(index, self.barline_s - unhurried_s, self.barline_s + unhurried_s)
        free_s = np.where(near_s > 0, np.maximum(all_s - self.extra_s, 0.0), 0.0)
        limits_s = np.array([unhurried_s, self.settings.quick_s, TIGHT_S])
        grade = (free_s[:, :, None] < limits_s - EPS_S).sum(axis=2)
        dropped = _count(hand.onsets, self.instants_s + 2 * EPS_S, self.instants_s + self.turn_s)
        missing_s = np.clip(model.enough_s - (near_s - self.extra_s), 0.0, model.enough_s)
        missing = np.rint(model.missing_points * missing_s / model.enough_s).astype(np.int64)
        cost = missing + self.dropped_points(dropped) + self.carry_points(carry) + self.grade_points(grade)
        edges = np.stack((hand.starts, hand.silent, hand.ends), axis=1)
        return _Tried(free_s, grade, dropped, missing, cost, edges[index])

    def dropped_points(self, dropped: Ints) -> Ints:
        """Term `dropped`: onsets of the turning hand while the page is turned."""
        return self.model.dropped_points * np.minimum(dropped, self.model.dropped_most)

    def carry_points(self, carry: Ints) -> Ints:
        """Term `carry`: chords beyond those that the player is glad to carry."""
        excess = np.clip(carry - self.settings.carry_allowance, 0, self.model.carry_most)
        return self.model.carry_points * excess

    def grade_points(self, grade: Ints) -> Ints:
        """Term `grade`."""
        return np.array(self.model.grade_points, dtype=np.int64)[grade]

    def cheapest(
        self, names: tuple[str, ...], tried: Sequence[_Tried], carry: Ints, section_ends: Bools
    ) -> Weighed:
        """Of equal costs the longer stretch is taken, then the smaller carry, then the instant nearest to
        where the eyes reach the barline."""
        rows = np.arange(len(self.barline_s))
        away_s = np.abs(self.instants_s - (self.barline_s - self.settings.eye_hand_s))
        # (hands, barlines, instants); costs are whole, so the small parts only break ties
        keys = np.stack([one.cost - 1e-3 * one.free_s for one in tried]) + 1e-5 * carry + 1e-8 * away_s
        at_by_hand = keys.argmin(axis=2)
        hand = keys.min(axis=2).argmin(axis=0)
        at = at_by_hand[hand, rows]
        grade = np.stack([one.grade for one in tried])[hand, rows, at]
        dropped = np.stack([one.dropped for one in tried])[hand, rows, at]
        free = np.stack([one.free_s for one in tried])
        free_s = free[hand, rows, at]
        points = (
            np.stack([one.missing_points for one in tried])[hand, rows, at],
            self.dropped_points(dropped),
            self.carry_points(carry[rows, at]),
            np.where(section_ends, 0, self.model.section_points),
            self.grade_points(grade),
        )
        return Weighed(
            hands=names,
            terms=dict(zip(TERMS, points, strict=True)),
            grade=grade,
            hand=hand,
            instant_s=(self.instants_s - self.barline_s)[rows, at],
            free_s=free_s,
            free_by_hand=np.take_along_axis(free, at_by_hand[:, :, None], axis=2)[:, :, 0].T,
            together=(free[:, rows, at] >= free_s - 2 * GRID_S).all(axis=0),
            carry=carry[rows, at],
            dropped=dropped,
            stretch=np.stack([one.stretch for one in tried])[hand, rows, at],
        )
