"""Costs and sentences of steps of the playing order, on scores put together by hand."""

import re
from collections.abc import Callable
from dataclasses import replace

import pytest

from optimizer.score.model import PartKind, Score
from optimizer.settings import Hands, TurnSettings
from optimizer.turns.cost import EXTRA_LEAF_S, JUMP_COST, barline_costs, chart_readings, step_costs
from optimizer.turns.hands import choose_player
from optimizer.turns.model import Grade, StepCost, tenths_s

MakeScore = Callable[..., Score]
Running = Callable[..., list[tuple[int, int, int, float, float, int]]]
SETTINGS = TurnSettings()
ALL = range(8)


def costs_of(
    score: Score, *names: str, hands: Hands = Hands.AUTO, settings: TurnSettings = SETTINGS
) -> tuple[StepCost, ...]:
    return step_costs(score, choose_player(score, names, hands), settings)


@pytest.fixture(scope="module")
def resting(make_score: MakeScore, running: Running) -> Score:
    """Eight bars of 3.6 s; the right hand runs on, the left rests from beat 3 of bar 4 to the end of it, and
    plays the rest of the time."""
    left = [note for note in running(0, 2, ALL, 0.5) if not (note[2] == 3 and note[3] >= 2)]
    return make_score(running(0, 1, ALL, 0.5) + left, 8, beat_s=0.9)


def test_one_cost_a_barline_and_terms_sum_to_it(resting: Score) -> None:
    found = costs_of(resting)
    assert [(cost.from_index, cost.to_index) for cost in found] == [(bar, bar + 1) for bar in range(7)]
    assert all(sum(cost.terms.values()) == cost.cost for cost in found)
    assert all(isinstance(points, int) for cost in found for points in cost.terms.values())
    assert all(cost.jump_cost == 0 < cost.extra_leaf_cost for cost in found)


def test_the_rest_is_the_cheapest_place(resting: Score) -> None:
    found = costs_of(resting)
    best = min(found, key=lambda cost: cost.cost)
    assert best.from_index == 3
    assert (best.grade, best.hand) == (Grade.QUICK, "left")
    assert best.free_s == pytest.approx(1.8 + 0.35 * 0.45)  # the rest, and in part the held eighth before it
    assert best.free_by_hand["left"] > best.free_by_hand["right"]


def test_sentence_names_hand_time_beat_and_carry(resting: Score) -> None:
    sentence = costs_of(resting)[3].sentence
    assert re.fullmatch(
        r"after bar 4: left hand rests from beat 3, free 1\.9 s, carry \d+ notes", sentence
    ), sentence
    assert costs_of(resting)[1].sentence.startswith("after bar 2: no time, carry")


def test_sentence_for_both_hands_and_a_rest_that_began_earlier(
    make_score: MakeScore, running: Running
) -> None:
    bars = [bar for bar in ALL if bar not in (3, 4)]
    score = make_score(running(0, 1, bars, 0.5) + running(0, 2, bars, 0.5), 8)
    assert costs_of(score)[4].sentence == "after bar 5: both hands rest from beat 1 of bar 4, free 3.0 s"
    assert costs_of(score)[4].hand == "either"
    assert costs_of(score)[4].carry == 0


def test_sentence_says_when_the_hand_plays_again_before_the_barline(
    make_score: MakeScore, running: Running
) -> None:
    """The turn is over then: a player who waits for the barline is too late."""
    left = [*running(0, 2, [bar for bar in ALL if bar != 3], 0.5), (0, 2, 3, 3.0, 1.0, 48)]
    score = make_score(running(0, 1, ALL, 0.5) + left, 8, beat_s=0.75)
    assert costs_of(score)[3].sentence.startswith("after bar 4: left hand rests from beat 1 to beat 4, free ")


def test_sentence_for_a_held_note(make_score: MakeScore, running: Running) -> None:
    left = [*running(0, 2, [bar for bar in ALL if bar != 3], 0.5), (0, 2, 3, 0.0, 4.0, 48)]
    score = make_score(running(0, 1, ALL, 0.5) + left, 8, beat_s=0.75)
    assert costs_of(score)[3].sentence.startswith(
        "after bar 4: left hand holds a note from beat 1, free 1.0 s, carry"
    )
    assert costs_of(score)[3].grade is Grade.TIGHT


def test_sentence_at_the_beginning_and_the_end(make_score: MakeScore, running: Running) -> None:
    score = make_score(running(0, 1, ALL, 0.5) + running(0, 2, (3, 4), 0.5), 8)
    sentences = [cost.sentence for cost in costs_of(score)]
    assert "left hand has not begun, free " in sentences[0]
    assert "left hand rests from beat 1 of bar 6 to the end" in sentences[6]


def test_a_movement_end_costs_nothing(make_score: MakeScore, running: Running) -> None:
    """Design section 4; a turn at a movement's end: Music Library Association, Non-standard Paginations."""
    score = make_score(
        running(0, 1, ALL, 0.5) + running(0, 2, ALL, 0.5), 8, movements={bar: int(bar > 3) for bar in ALL}
    )
    end = costs_of(score)[3]
    assert (end.cost, end.extra_leaf_cost, end.carry, end.grade) == (0, 0, 0, Grade.OPEN)
    assert end.free_s == SETTINGS.unhurried_s
    assert end.sentence == "after I, bar 4: the movement ends"
    assert all(cost.cost > 0 for cost in costs_of(score) if cost.from_index != 3)


def test_a_fermata_helps(make_score: MakeScore, running: Running) -> None:
    """It acts through time alone: a dictionary of music calls twice the written length not unusual
    (facts.md)."""
    left = [note for note in running(0, 2, ALL, 0.5) if not (note[2] == 3 and note[3] > 3)]
    right = [note for note in running(0, 1, ALL, 0.5) if not (note[2] == 3 and note[3] > 3)]
    right.append((0, 1, 3, 3.0, 1.0, 60))
    plain, held = (
        make_score(left + right, 8, knots=knots) for knots in ({}, {3: [(0, 0), (3, 1.5), (4, 3.5)]})
    )
    assert costs_of(held)[3].cost < costs_of(plain)[3].cost
    assert costs_of(held)[2].cost == costs_of(plain)[2].cost


def test_a_repeat_is_crossed_twice_and_jumps_back(make_score: MakeScore, running: Running) -> None:
    """Bars 3 to 6 are repeated."""
    order = [0, 1, 2, 3, 4, 5, 2, 3, 4, 5, 6, 7]
    score = make_score(running(0, 1, ALL, 0.5) + running(0, 2, ALL, 0.5), 8, order=order)
    found = {(cost.from_index, cost.to_index): cost for cost in costs_of(score)}
    assert len(found) == 8
    inside, outside, back = found[3, 4], found[0, 1], found[5, 2]
    assert (inside.passes, outside.passes, back.passes) == (2, 1, 1)
    assert inside.cost == 2 * outside.cost
    assert inside.sentence.endswith(", played 2 times")
    assert back.is_jump
    assert back.jump_cost == JUMP_COST
    assert back.sentence.startswith("after bar 6: back to bar 3 on the repeat, ")
    assert back.terms["no-section-end"] == 0 < outside.terms["no-section-end"]


def test_passes_are_judged_by_what_comes_before_and_after(make_score: MakeScore, running: Running) -> None:
    """A rest after the jump helps only on the pass that goes on to it."""
    order = [0, 1, 2, 3, 0, 1, 2, 3, 4, 5]
    bars = [0, 1, 2, 3, 5]
    score = make_score(running(0, 1, bars, 0.5) + running(0, 2, bars, 0.5), 6, order=order, beat_s=1.0)
    found = {(cost.from_index, cost.to_index): cost for cost in costs_of(score)}
    assert found[3, 4].cost < found[3, 0].cost
    assert found[3, 4].grade is Grade.OPEN


def test_a_barline_nobody_crosses_is_free(make_score: MakeScore, running: Running) -> None:
    """Two endings: after the first ending the player goes back, never on."""
    order = [0, 1, 2, 0, 1, 3, 4]
    score = make_score(running(0, 1, range(5), 0.5) + running(0, 2, range(5), 0.5), 5, order=order)
    player = choose_player(score)
    written = barline_costs(score, player, SETTINGS)
    assert [cost.from_index for cost in written] == [0, 1, 2, 3]
    assert not any(cost.is_jump for cost in written)
    assert (written[2].cost, written[2].passes) == (0, 0)
    assert written[2].sentence == "after bar 3: never played straight on to bar 4"
    steps = {(cost.from_index, cost.to_index): cost for cost in step_costs(score, player, SETTINGS)}
    assert written[0] == steps[0, 1]
    assert "on to bar 4" in steps[1, 3].sentence


def test_more_leaves_cost_at_least_a_little(resting: Score) -> None:
    found = costs_of(resting)
    assert found[3].extra_leaf_cost > found[1].extra_leaf_cost > 0
    assert 0 < EXTRA_LEAF_S < SETTINGS.quick_s


def test_a_wind_player_has_only_rests(make_score: MakeScore, running: Running) -> None:
    """Design section 4: a held note does not free a player who needs both hands for it."""
    held = running(0, 1, ALL, 4.0)
    score = make_score(held, 8, parts=(("Flute", PartKind.WIND, 1),), beat_s=2.0)
    found = costs_of(score)[3]
    assert (found.grade, found.hand, found.free_s) == (Grade.BLOCKED, "both", 0.0)
    rests = make_score(
        [note for note in held if note[2] != 3], 8, parts=(("Flute", PartKind.WIND, 1),), beat_s=0.5
    )
    assert costs_of(rests)[3].sentence == "after bar 4: hands rest from beat 1, free 2.0 s"


def test_a_singer_can_always_turn_and_better_in_rests(make_score: MakeScore, running: Running) -> None:
    voice = running(0, 1, [bar for bar in ALL if bar not in (3, 4)], 0.5)
    score = make_score(voice, 8, parts=(("Soprano", PartKind.VOICE, 1),), double_bars=(5,))
    found = costs_of(score)
    assert {cost.grade for cost in found} == {Grade.OPEN}
    assert {cost.hand for cost in found} == {"free"}
    assert found[3].sentence == "after bar 4: a hand is always free"
    assert found[3].cost < found[1].cost
    assert found[5].cost < found[1].cost


def test_hands_may_be_overridden(resting: Score) -> None:
    assert {cost.grade for cost in costs_of(resting, hands=Hands.FREE)} == {Grade.OPEN}
    assert costs_of(resting, hands=Hands.TOGETHER)[3].grade is Grade.BLOCKED


def test_carry_allowance_matters(resting: Score) -> None:
    usual, glad = costs_of(resting), costs_of(resting, settings=replace(SETTINGS, carry_allowance=6))
    assert glad[3].cost < usual[3].cost


def test_the_same_score_gives_the_same_costs(resting: Score) -> None:
    assert costs_of(resting) == costs_of(resting)


def test_a_score_of_one_bar_has_no_barline(make_score: MakeScore, running: Running) -> None:
    assert costs_of(make_score(running(0, 1, (0,), 1.0), 1)) == ()


def test_readings_for_the_picture(make_score: MakeScore, running: Running) -> None:
    score = make_score(running(0, 1, range(5), 0.5), 5, order=[0, 1, 2, 0, 1, 3, 4], double_bars=(2,))
    player = choose_player(score)
    costs = barline_costs(score, player, SETTINGS)
    readings = chart_readings(score, player, costs, SETTINGS)
    assert [reading.after_bar for reading in readings] == ["1", "2", "3", "4"]
    assert [reading.cost for reading in readings] == [cost.cost for cost in costs]
    assert [reading.double_bar for reading in readings] == [False, False, True, False]
    assert {tuple(reading.free_s) for reading in readings} == {("left", "right")}
    assert readings[0].free_s["left"] > readings[0].free_s["right"]


@pytest.mark.parametrize(
    ("free_s", "told"), [(0.599, 0.5), (0.6, 0.6), (1.58, 1.5), (1.6, 1.6), (2.999, 2.9), (3.0, 3.0)]
)
def test_seconds_are_told_so_that_they_agree_with_the_grade(free_s: float, told: float) -> None:
    """The grades' limits are 0.6, 1.6 and 3 s (design, section 4)."""
    assert tenths_s(free_s) == told
