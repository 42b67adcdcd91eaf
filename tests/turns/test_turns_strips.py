"""Bars that can be read on both sides of a turn: which they are, and where the player turns then.

Source: design, section 7 (bars printed again on purpose) and the definition in turns/model.py; which bars follow which
is counted by hand.
"""

from collections.abc import Callable, Mapping

import pytest

from optimizer.score.model import Score
from optimizer.settings import TurnSettings
from optimizer.turns import StripKind, StripTurn, choose_player, step_costs, strip_turns
from optimizer.turns.model import Grade

SETTINGS = TurnSettings()


def strips_of(score: Score, most_bars: int = 3) -> Mapping[tuple[int, StripKind], list[StripTurn]]:
    """Strips by position and kind, shortest first."""
    found: dict[tuple[int, StripKind], list[StripTurn]] = {}
    for strip in strip_turns(score, choose_player(score), SETTINGS, most_bars):
        found.setdefault((strip.position, strip.kind), []).append(strip)
    return found


@pytest.fixture
def busy(running: Callable[..., list]) -> Callable[[range], list]:
    """Eighths for both hands in these bars."""
    return lambda bars: running(0, 1, bars, 0.5) + running(0, 2, bars, 0.5, 48)


def test_a_strip_offers_what_the_barline_at_its_end_offers(
    make_score: Callable[..., Score], busy: Callable[[range], list]
) -> None:
    """Played straight through: the step at the strip's end is the one without strips."""
    score = make_score([*busy(range(5)), *busy(range(7, 12))], 12)  # bars 6 and 7 are empty
    steps = {step.to_index: step for step in step_costs(score, choose_player(score), SETTINGS)}
    strips = strips_of(score)
    for (position, kind), found in strips.items():
        assert [strip.bars for strip in found] == list(range(1, len(found) + 1))
        for strip in found:
            late = kind is StripKind.LATE
            assert (strip.first if late else strip.last + 1) == position
            assert strip.turn == steps[strip.last + 1 if late else strip.first]
    assert len(strips[2, StripKind.LATE]) == len(strips[8, StripKind.EARLY]) == 3
    assert len(strips[2, StripKind.EARLY]) == 1  # nothing to turn from before the first bar
    assert len(strips[11, StripKind.EARLY]) == 3
    assert (11, StripKind.LATE) not in strips
    assert steps[4].grade is Grade.BLOCKED
    assert [strip.turn.grade for strip in strips[4, StripKind.LATE]][1] is Grade.OPEN


def test_a_strip_shows_what_is_played_next_on_every_pass(
    make_score: Callable[..., Score], busy: Callable[[range], list]
) -> None:
    """Bars 3 to 6 are repeated: |: 3 4 5 6 :| from bar 3 to the end of bar 6."""
    order = (0, 1, 2, 3, 4, 5, 2, 3, 4, 5, 6, 7, 8)
    strips = strips_of(make_score(busy(range(9)), 9, order=order))
    assert len(strips[3, StripKind.LATE]) == 2  # bars 4, 5; after bar 6 the first pass jumps back
    assert (5, StripKind.LATE) not in strips
    assert [strip.bars for strip in strips[5, StripKind.EARLY]] == [
        1,
        2,
    ]  # bars 5, 4; bar 3 is reached in two ways
    assert all(strip.turn.passes == 2 for strip in strips[4, StripKind.EARLY])
    assert [strip.turn.passes for strip in strips[2, StripKind.LATE]] == [
        1,
        1,
        1,
    ]  # into the repeat: the first time
    assert all(strip.turn.passes == 1 for strip in strips[6, StripKind.LATE])
    entering, inside = strips[2, StripKind.LATE][0], strips[3, StripKind.LATE][0]
    assert entering.turn.cost < inside.turn.cost


def test_no_strip_crosses_into_another_movement(
    make_score: Callable[..., Score], busy: Callable[[range], list]
) -> None:
    movements = {bar: int(bar >= 4) for bar in range(8)}
    strips = strips_of(make_score(busy(range(8)), 8, movements=movements))
    assert not [key for key in strips if key[0] == 4]
    assert [strip.bars for strip in strips[3, StripKind.LATE]] == [1]  # the last bar; then the movement ends
    assert strips[3, StripKind.LATE][0].turn.grade is Grade.OPEN
    assert [strip.bars for strip in strips[6, StripKind.EARLY]] == [1, 2]
    assert strips_of(make_score(busy(range(1)), 1)) == {}
