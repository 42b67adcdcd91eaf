"""What a page turn costs at each step of the playing order, and why.

In: a score, its player, the physical times of a turn.  Out: `StepCost`s.  Always true: terms sum to the cost;
a movement end costs nothing; a step played several times costs the sum of its passes and is described by the
worst.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Final

import numpy as np

from optimizer.score.model import Score
from optimizer.settings import TurnSettings
from optimizer.turns.events import GRADES, MODEL, TurnModel, Weighed, weigh
from optimizer.turns.hands import FEET, LEFT, READ, RIGHT, Player, hand_events
from optimizer.turns.model import BarlineReading, Grade, StepCost
from optimizer.turns.sentences import EITHER, FREE, Moment, Narrator

# A second leaf is lifted and carried over with the hand already there: half of a quick turn (MTM-1: 1.6 s).
EXTRA_LEAF_S: Final = 0.8
EXTRA_LEAF_LEAST: Final = 20  # more paper is never for nothing; ours
# Finding the place on a page that was turned back to: a third of a tight turn, on each pass; ours. Common
# practice is not to turn inside a repeat if it can be avoided.
JUMP_COST: Final = 100


@dataclass(frozen=True, slots=True)
class _Steps:
    """The steps of the playing order: step k goes from `pairs[k][0]` to `pairs[k][1]` (measure indices)."""

    pairs: tuple[tuple[int, int], ...]
    weighed: Weighed
    extra_leaf: Sequence[int]


def step_costs(score: Score, player: Player, settings: TurnSettings) -> tuple[StepCost, ...]:
    """One `StepCost` for each distinct pair of successively played measures, in order of first playing."""
    if len(score.played) < 2:
        return ()
    steps = _weigh_steps(score, player, settings)
    passes: dict[tuple[int, int], list[int]] = {}
    for k, pair in enumerate(steps.pairs):
        passes.setdefault(pair, []).append(k)
    narrator = Narrator(score)
    return tuple(_step_cost(score, player, steps, pair, at, narrator) for pair, at in passes.items())


def barline_costs(score: Score, player: Player, settings: TurnSettings) -> tuple[StepCost, ...]:
    """One `StepCost` for each inner barline as written, after measure i; free where nobody plays across
    it."""
    return written_barlines(score, step_costs(score, player, settings))


def written_barlines(score: Score, steps: Sequence[StepCost]) -> tuple[StepCost, ...]:
    """The same from step costs at hand."""
    played = {step.from_index: step for step in steps if not step.is_jump}
    narrator = Narrator(score)
    return tuple(
        played.get(index) or _no_step(index, narrator.never(index))
        for index in range(len(score.measures) - 1)
    )


def chart_readings(
    score: Score, player: Player, costs: Sequence[StepCost], settings: TurnSettings
) -> tuple[BarlineReading, ...]:
    """What the picture of the turns shows at each of these barlines; an unhurried turn's time where nobody
    plays on."""
    hands = player.turning_hands or (FREE,)
    return tuple(
        BarlineReading(
            after_bar=score.measures[cost.from_index].number,
            cost=cost.cost,
            grade=cost.grade,
            free_s={hand: cost.free_by_hand.get(hand, settings.unhurried_s) for hand in hands},
            double_bar=score.measures[cost.from_index].double_bar,
        )
        for cost in costs
    )


def _weigh_steps(score: Score, player: Player, settings: TurnSettings) -> _Steps:
    """The model on all steps at once; a second time with a longer turn for what one more leaf costs."""
    pairs = tuple((here.measure_index, there.measure_index) for here, there in pairwise(score.played))
    barlines_s = np.array([there.start_s for there in score.played[1:]])
    measures = score.measures
    section_ends = np.array(
        [to != here + 1 or measures[here].double_bar or measures[to].repeat_forward for here, to in pairs]
    )
    events = hand_events(score, player)
    hands = {hand: events[hand] for hand in player.turning_hands} or {FREE: ()}
    read = [event for hand in (FEET, READ) for event in events.get(hand, ())]
    model = _model_of(player)
    usual, longer = (
        weigh(hands, barlines_s, section_ends, settings, read=read, extra_s=extra_s, model=model)
        for extra_s in (0.0, EXTRA_LEAF_S)
    )
    return _Steps(pairs, usual, np.maximum(longer.cost - usual.cost, EXTRA_LEAF_LEAST).tolist())


def _model_of(player: Player) -> TurnModel:
    """Held notes free the hand of a player with two independent hands; a bow or a mouthpiece leaves none."""
    two_hands = {LEFT, RIGHT} <= set(player.turning_hands)
    return MODEL if two_hands else replace(MODEL, held=0.0)


def _step_cost(
    score: Score, player: Player, steps: _Steps, pair: tuple[int, int], at: Sequence[int], narrator: Narrator
) -> StepCost:
    here, to = pair
    movement_end = score.measures[here].movement != score.measures[to].movement
    weighed, jumps = steps.weighed, to != here + 1
    worst = max(at, key=lambda k: int(weighed.cost[k]))
    moment = _moment(weighed, worst)
    terms: Mapping[str, int] = {
        name: 0 if movement_end else int(points[list(at)].sum()) for name, points in weighed.terms.items()
    }
    return StepCost(
        from_index=here,
        to_index=to,
        passes=len(at),
        cost=sum(terms.values()),
        extra_leaf_cost=0 if movement_end else sum(steps.extra_leaf[k] for k in at),
        jump_cost=JUMP_COST * len(at) if jumps and not movement_end else 0,
        terms=terms,
        grade=Grade.OPEN if movement_end else moment.grade,
        hand=moment.hand,
        instant_s=float(weighed.instant_s[worst]),
        free_s=moment.free_s,
        carry=0 if movement_end else moment.carry,
        dropped=0 if movement_end else int(weighed.dropped[worst]),
        sentence=narrator.step(here, to, moment, len(at)),
        free_by_hand=dict(zip(weighed.hands, weighed.free_by_hand[worst].tolist(), strict=True)),
    )


def _moment(weighed: Weighed, k: int) -> Moment:
    """What the model found at step k, for the sentence."""
    either = len(weighed.hands) > 1 and bool(weighed.together[k])
    onset_s, silent_s, next_s = weighed.stretch[k].tolist()
    return Moment(
        hand=EITHER if either else weighed.hands[weighed.hand[k]],
        grade=GRADES[weighed.grade[k]],
        free_s=float(weighed.free_s[k]),
        carry=int(weighed.carry[k]),
        onset_s=onset_s,
        silent_s=silent_s,
        next_s=next_s,
    )


def _no_step(index: int, sentence: str) -> StepCost:
    """A barline that is never crossed: turning there takes no playing time."""
    terms = dict.fromkeys(("missing-time", "dropped", "carry", "no-section-end", "grade"), 0)
    return StepCost(index, index + 1, 0, 0, 0, 0, terms, Grade.OPEN, FREE, 0.0, 0.0, 0, 0, sentence)
