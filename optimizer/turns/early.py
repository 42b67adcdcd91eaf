"""Turns that must be over before the barline, because the hand plays again ahead of it.

In: the score, its player, and when a planned turn begins.  Out: the beats between which the hand is free.  Always true:
the stretch is the one that the turn was weighed by; beats are rounded down as in `sentences`.
"""

from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import numpy as np

from optimizer.score.model import Score
from optimizer.turns.bars import Count
from optimizer.turns.events import Stretches, stretches
from optimizer.turns.hands import Player, hand_events
from optimizer.turns.sentences import WORTH_SAYING_S, beat_at

ROUNDED_S: Final = 0.0006  # plans tell instants in thousandths of a second


@dataclass(frozen=True, slots=True)
class Early:
    """The hand plays again on beat `until` of measure `measure`; it is free from beat `since` of the same bar, or (then
    `since` is empty) from before it. `count`: what these are, beats or the notes of a compound time."""

    measure: int
    since: str
    until: str
    count: Count = Count.BEAT


class EarlyTurns:
    """Finds them; keeps what the hands play."""

    def __init__(self, score: Score, player: Player) -> None:
        self._score = score
        events = hand_events(score, player)
        self._hands = {hand: stretches(events[hand], 0.0) for hand in player.turning_hands}
        self._steps = {
            (here.measure_index, there.measure_index): there.start_s
            for here, there in reversed(list(pairwise(score.played)))
        }

    def at(self, after: int, to: int, hand: str, instant_s: float, free_s: float) -> Early | None:
        """The turn at the step `after` -> `to` that begins at `instant_s` from the barline; None where the hand is free
        up to the barline. A hand that is none of the player's stands for all of them."""
        barline_s = self._steps[after, to]
        hands = [self._hands[hand]] if hand in self._hands else list(self._hands.values())
        spans = [_span(one, barline_s + instant_s, free_s) for one in hands]
        since_s, until_s = (
            max((low for low, _ in spans), default=0.0),
            min((high for _, high in spans), default=np.inf),
        )
        if instant_s >= 0 or until_s >= barline_s - WORTH_SAYING_S:
            return None
        (begun, since, _), (ended, until, count) = (
            beat_at(self._score, time_s) for time_s in (since_s, until_s)
        )
        same = begun == ended and since != until
        return Early(self._score.played[ended].measure_index, since if same else "", until, count)


def _span(hand: Stretches, instant_s: float, free_s: float) -> tuple[float, float]:
    """From when to when a hand is free around an instant: the rest, or with the held note where that is most of it."""
    index = int(np.searchsorted(hand.onsets, instant_s + ROUNDED_S, side="right"))
    start_s, silent_s, end_s = (float(edge[index]) for edge in (hand.starts, hand.silent, hand.ends))
    return (start_s if end_s - silent_s <= free_s / 2 else silent_s), end_s
