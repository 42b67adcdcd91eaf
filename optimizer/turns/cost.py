"""What a page turn costs at each step of the playing order, and why.

In: a score, its player, the physical times of a turn.  Out: `StepCost`s.  Always true: terms sum to the cost;
a movement end costs nothing; a step played several times costs the sum of its passes and is described by the
worst.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import reduce
from itertools import pairwise
from typing import Final

import numpy as np

from optimizer.score.model import Score
from optimizer.settings import TurnSettings
from optimizer.turns.events import GRADES, MODEL, TERMS, TurnModel, Weighed, easier, weigh
from optimizer.turns.hands import FEET, LEFT, READ, RIGHT, Player, hand_events
from optimizer.turns.model import BarlineReading, Grade, StepCost, StripKind, StripTurn
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

    def passes(self) -> Mapping[tuple[int, int], list[int]]:
        """On which steps each distinct pair is played, in order of first playing."""
        found: dict[tuple[int, int], list[int]] = {}
        for k, pair in enumerate(self.pairs):
            found.setdefault(pair, []).append(k)
        return found


def step_costs(score: Score, player: Player, settings: TurnSettings) -> tuple[StepCost, ...]:
    """One `StepCost` for each distinct pair of successively played measures, in order of first playing."""
    if len(score.played) < 2:
        return ()
    steps = _weigh_steps(score, player, settings)
    narrator = Narrator(score)
    return tuple(
        _step_cost(score, steps, pair, at, narrator, settings) for pair, at in steps.passes().items()
    )


def strip_turns(
    score: Score, player: Player, settings: TurnSettings, most_bars: int
) -> tuple[StripTurn, ...]:
    """Every way to move a turn by up to `most_bars` bars that can be read on both sides of it.

    The bars must be those that are played next on every pass: none across a repeat sign that is obeyed, an ending, a
    jump, or from one movement into the next.
    """
    if len(score.played) < 2:
        return ()
    steps = _weigh_steps(score, player, settings)
    narrator = Narrator(score)
    return tuple(
        StripTurn(to, kind, first, last, _step_cost(score, steps, steps.pairs[at[0]], at, narrator, settings))
        for (here, to), passes in steps.passes().items()
        if to == here + 1 and score.measures[here].movement == score.measures[to].movement
        for kind, first, last, at in _moved(score, steps, to, passes, most_bars)
    )


def _moved(
    score: Score, steps: _Steps, position: int, passes: Sequence[int], most_bars: int
) -> Iterator[tuple[StripKind, int, int, list[int]]]:
    """Kind, first and last bar of each strip at a position, and the steps at which the player turns instead."""
    movement = score.measures[position].movement
    for kind, towards in ((StripKind.LATE, 1), (StripKind.EARLY, -1)):
        for bars in range(1, most_bars + 1):
            first = position if towards > 0 else position - bars
            last = first + bars - 1
            at = [k + towards * bars for k in passes]
            turned = position + towards * bars
            if not (0 < turned < len(score.measures)) or any(
                not 0 <= k < len(steps.pairs) or steps.pairs[k] != (turned - 1, turned) for k in at
            ):
                break
            if score.measures[first].movement != movement or score.measures[last].movement != movement:
                break
            yield kind, first, last, at


def barline_costs(score: Score, player: Player, settings: TurnSettings) -> tuple[StepCost, ...]:
    """One `StepCost` for each inner barline as written, after measure i; free where nobody plays across."""
    played = {step.from_index: step for step in step_costs(score, player, settings) if not step.is_jump}
    narrator = Narrator(score)
    return tuple(
        played.get(index) or _costless(index, index + 1, 0, narrator.never(index), settings)
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
            after_bar=score.measures[cost.from_index].last_number,
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

    def weighed(extra_s: float) -> Weighed:
        ways = (
            weigh(
                hands,
                barlines_s,
                section_ends,
                settings,
                read=read,
                busy=busy,
                extra_s=extra_s,
                model=model,
            )
            for busy in _busy(player)
        )
        return reduce(easier, ways)

    usual, longer = weighed(0.0), weighed(EXTRA_LEAF_S)
    return _Steps(pairs, usual, np.maximum(longer.cost - usual.cost, EXTRA_LEAF_LEAST).tolist())


def _busy(player: Player) -> Sequence[Sequence[tuple[float, float]]]:
    """The ways to do what else takes the hands: all at the start of its rest, or all at its end. Whoever turns chooses
    the one that leaves the time on the other side."""
    early = [(start_s, start_s + taken_s) for start_s, _, taken_s in player.busy]
    late = [(end_s - taken_s, end_s) for _, end_s, taken_s in player.busy]
    return (late, early) if player.busy else ((),)


def _model_of(player: Player) -> TurnModel:
    """Held notes free the hand of a player with two independent hands; a bow or a mouthpiece leaves none."""
    two_hands = {LEFT, RIGHT} <= set(player.turning_hands)
    return MODEL if two_hands else replace(MODEL, held=0.0)


def _step_cost(
    score: Score,
    steps: _Steps,
    pair: tuple[int, int],
    at: Sequence[int],
    narrator: Narrator,
    settings: TurnSettings,
) -> StepCost:
    """Adds up the passes `at` which a step is played, and describes the worst of them."""
    here, to = pair
    weighed = steps.weighed
    worst = max(at, key=lambda k: int(weighed.cost[k]))
    moment = _moment(weighed, worst)
    sentence = narrator.step(here, to, moment, len(at))
    if score.measures[here].movement != score.measures[to].movement:
        return _costless(here, to, len(at), sentence, settings)
    terms = {name: int(points[list(at)].sum()) for name, points in weighed.terms.items()}
    return StepCost(
        from_index=here,
        to_index=to,
        passes=len(at),
        cost=sum(terms.values()),
        extra_leaf_cost=sum(steps.extra_leaf[k] for k in at),
        jump_cost=JUMP_COST * len(at) if to != here + 1 else 0,
        terms=terms,
        grade=moment.grade,
        hand=moment.hand,
        instant_s=float(weighed.instant_s[worst]),
        free_s=moment.free_s,
        carry=moment.carry,
        dropped=int(weighed.dropped[worst]),
        sentence=sentence,
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


def _costless(from_index: int, to_index: int, passes: int, sentence: str, settings: TurnSettings) -> StepCost:
    """A step at which the player takes the time needed: between movements, or never played at all."""
    return StepCost(
        from_index=from_index,
        to_index=to_index,
        passes=passes,
        cost=0,
        extra_leaf_cost=0,
        jump_cost=0,
        terms=dict.fromkeys(TERMS, 0),
        grade=Grade.OPEN,
        hand=FREE,
        instant_s=0.0,
        free_s=settings.unhurried_s,
        carry=0,
        dropped=0,
        sentence=sentence,
    )
