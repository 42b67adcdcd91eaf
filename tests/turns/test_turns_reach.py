"""How far bars are from the hands on wide spreads."""

from collections.abc import Callable

import pytest

from optimizer.score.model import PartKind, Score
from optimizer.turns.events import MODEL
from optimizer.turns.hands import choose_player
from optimizer.turns.model import Grade
from optimizer.turns.reach import Reach, hands_by_measure, key_mm, reach_costs

MakeScore = Callable[..., Score]
Running = Callable[..., list[tuple[int, int, int, float, float, int]]]
A4_MM = 210.0
BASS, TREBLE, MIDDLE = 36, 93, 64
BARS = 24


def both_hands(make_score: MakeScore, running: Running, key: int, length: float = 0.5) -> Score:
    notes = running(0, 1, range(BARS), length, key + 7) + running(0, 2, range(BARS), length, key)
    return make_score(notes, BARS)


def reach(score: Score, abreast: int = 4) -> Reach:
    return reach_costs(score, choose_player(score), abreast, A4_MM)


def test_keys_lie_where_a_keyboard_has_them() -> None:
    """88 keys, 52 of them white, 23.5 mm each, 1222 mm (keyboard size article; 52 x 23.5): A0 (21) to C8
    (108); the middle is between E4 and F4; an octave is 164 to 165 mm."""
    assert key_mm(108) - key_mm(21) == pytest.approx(51 * 23.5)
    assert key_mm(108) == pytest.approx(-key_mm(21))
    assert key_mm(64) == pytest.approx(-key_mm(65))
    assert key_mm(72) - key_mm(60) == pytest.approx(164.5)
    assert key_mm(61) == pytest.approx((key_mm(60) + key_mm(62)) / 2)


def test_bass_on_page_four_costs_more_than_on_page_one(make_score: MakeScore, running: Running) -> None:
    """Common practice: uncomfortable when playing in the bass and reading page four (facts.md)."""
    found = reach(both_hands(make_score, running, BASS))[4]
    assert sum(found[3]) > sum(found[2]) >= sum(found[1]) == sum(found[0]) == 0


def test_treble_on_page_one_costs(make_score: MakeScore, running: Running) -> None:
    found = reach(both_hands(make_score, running, TREBLE))[4]
    assert sum(found[0]) > 0 == sum(found[3])


def test_nothing_on_two_pages_nor_in_the_middle_of_the_keyboard(
    make_score: MakeScore, running: Running
) -> None:
    bass = reach(both_hands(make_score, running, BASS))
    assert all(not any(slot) for pages in (1, 2) for slot in bass[pages])
    middle = reach(both_hands(make_score, running, MIDDLE))
    assert all(not any(slot) for slots in middle.values() for slot in slots)


def test_three_pages_cost_less_than_four(make_score: MakeScore, running: Running) -> None:
    found = reach(both_hands(make_score, running, BASS))
    assert 0 < sum(found[3][2]) < sum(found[4][3])


def test_busy_bars_count_more(make_score: MakeScore, running: Running) -> None:
    slow, fast = (reach(both_hands(make_score, running, BASS, length))[4][3] for length in (1.0, 0.25))
    assert sum(slow) < sum(fast)


def test_a_page_of_bass_on_page_four_is_like_a_tight_turn(make_score: MakeScore, running: Running) -> None:
    """Scale, ours: about as much as one tight turn."""
    tight = MODEL.grade_points[list(Grade).index(Grade.TIGHT)] + MODEL.section_points
    page = sum(reach(both_hands(make_score, running, 40))[4][3])
    assert tight / 2 < page < tight * 2


def test_shape_and_types(make_score: MakeScore, running: Running) -> None:
    score = both_hands(make_score, running, BASS)
    found = reach(score, 3)
    assert sorted(found) == [1, 2, 3]
    assert all(
        len(slots) == pages and all(len(slot) == BARS for slot in slots) for pages, slots in found.items()
    )
    assert all(type(points) is int for slots in found.values() for slot in slots for points in slot)


def test_played_twice_counts_twice(make_score: MakeScore) -> None:
    notes = [(0, 2, 0, beat, 1.0, BASS) for beat in range(4)]
    once, twice = make_score(notes, 2, order=[0, 1]), make_score(notes, 2, order=[0, 0, 1])
    assert (
        hands_by_measure(twice, choose_player(twice))[1][0]
        == 2 * hands_by_measure(once, choose_player(once))[1][0]
    )


def test_only_keyboard_players_sit_in_the_middle(make_score: MakeScore, running: Running) -> None:
    cello = make_score(running(0, 1, range(4), 0.5, BASS), 4, parts=(("Cello", PartKind.STRINGS, 1),))
    assert all(not any(slot) for slots in reach(cello).values() for slot in slots)
