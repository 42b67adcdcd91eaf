"""Turns that are over before the barline: told like the sentence of the same turn."""

from collections.abc import Callable

import pytest

from optimizer.score.model import Score
from optimizer.settings import TurnSettings
from optimizer.turns.cost import step_costs
from optimizer.turns.early import Early, EarlyTurns
from optimizer.turns.hands import choose_player

MakeScore = Callable[..., Score]
Running = Callable[..., list[tuple[int, int, int, float, float, int]]]
ALL = range(8)
BUSY = [bar for bar in ALL if bar != 3]


@pytest.mark.parametrize(
    ("left", "early", "said"),
    [
        ([(0, 2, 3, 3.0, 1.0, 48)], Early(3, "1", "4"), "rests from beat 1 to beat 4, "),
        ([(0, 2, 3, 0.0, 1.0, 48), (0, 2, 3, 3.5, 0.5, 48)], Early(3, "2", "4½"), "rests from beat 2 to beat 4½, "),
        ([(0, 2, 3, 0.0, 3.0, 48), (0, 2, 3, 3.0, 1.0, 48)], Early(3, "1", "4"), "holds a note from beat 1 to beat 4"),
        ([(0, 2, 3, 0.0, 1.0, 48)], None, "rests from beat 2, "),
    ],
)  # fmt: skip
def test_beats_are_those_of_the_sentence(
    make_score: MakeScore,
    running: Running,
    left: list[tuple[int, int, int, float, float, int]],
    early: Early | None,
    said: str,
) -> None:
    score = make_score(running(0, 1, ALL, 0.5) + running(0, 2, BUSY, 0.5) + left, 8, beat_s=0.75)
    player = choose_player(score)
    step = step_costs(score, player, TurnSettings())[3]
    assert f"left hand {said}" in step.sentence
    found = EarlyTurns(score, player).at(3, 4, step.hand, round(step.instant_s, 3), step.free_s)
    assert found == early


def test_a_rest_that_began_earlier_is_told_by_its_end(make_score: MakeScore, running: Running) -> None:
    """Six bars of rest; the hand begins again on beat 4 of the bar before the turn."""
    late = [(0, 2, 6, 3.0, 1.0, 48)]
    score = make_score(running(0, 1, ALL, 0.5) + running(0, 2, [0, 7], 0.5) + late, 8, beat_s=0.75)
    player = choose_player(score)
    step = step_costs(score, player, TurnSettings())[6]
    assert "left hand rests from beat 1 of bar 2 to beat 4, " in step.sentence
    found = EarlyTurns(score, player).at(6, 7, step.hand, step.instant_s, step.free_s)
    assert found == Early(6, "", "4")
