"""What bars are called; the numbers are those of real files (restarting, missing, X1 for the second half of a bar)."""

from collections.abc import Callable, Sequence
from dataclasses import replace
from fractions import Fraction

import pytest

from optimizer.score.model import Score
from optimizer.settings import TurnSettings
from optimizer.turns.bars import BarNames, Count, beat_ql, counted_in, ordinal
from optimizer.turns.cost import step_costs
from optimizer.turns.hands import choose_player

MakeScore = Callable[..., Score]
Running = Callable[..., list[tuple[int, int, int, float, float, int]]]


def numbered(
    make_score: MakeScore, numbers: Sequence[str], implicit: Sequence[int] = (), **words: object
) -> Score:
    score = make_score([], len(numbers), **words)
    measures = tuple(
        replace(measure, number=number, implicit=measure.index in implicit)
        for measure, number in zip(score.measures, numbers, strict=True)
    )
    return replace(score, measures=measures)


def test_bars_without_a_counted_number(make_score: MakeScore) -> None:
    names = BarNames(numbered(make_score, ["0", "1", "2", "X1", "X2", "3"], implicit=[0, 3, 4]))
    assert [names.name(index) for index in range(6)] == [
        "the pickup", "bar 1", "bar 2", "the bar after 2", "the 2nd bar after 2", "bar 3",
    ]  # fmt: skip
    assert [names.goal(index) for index in (0, 1, 3)] == ["the beginning", "bar 1", "the bar after 2"]
    assert names.ranges(0, 5) == "bars 1–3"
    assert names.ranges(0, 1) == "bar 1"
    assert names.ranges(0, 0) == ""


def test_a_file_without_numbers_goes_by_place(make_score: MakeScore) -> None:
    names = BarNames(numbered(make_score, ["", "", ""]))
    assert [names.name(index) for index in range(3)] == ["the first bar", "bar #2", "bar #3"]


def test_movements_are_said_by_numeral(make_score: MakeScore) -> None:
    movements = {2: 1, 3: 1}
    score = numbered(make_score, ["1", "2", "0", "1"], implicit=[2], movements=movements)
    names = BarNames(score)
    assert [names.name(index) for index in range(4)] == [
        "I, bar 1",
        "I, bar 2",
        "II, the pickup",
        "II, bar 1",
    ]
    assert names.name(0, beside=1) == "bar 1"
    assert names.name(0, beside=3) == "I, bar 1"
    assert names.goal(2, beside=3) == "the beginning"
    assert names.goal(2) == "the beginning of II"
    assert names.ranges(0, 3) == "I, bars 1–2; II, bar 1"
    assert names.is_unique(0)
    assert names.is_unique(3)
    titled = replace(score, movement_titles={0: "III. Scherzo", 1: "IV. Finale"})
    assert BarNames(titled).name(0) == "III, bar 1"
    half_titled = replace(score, movement_titles={0: "III. Scherzo"})
    assert BarNames(half_titled).name(0) == "I, bar 1"


def test_numbers_that_start_again_are_no_names(make_score: MakeScore) -> None:
    names = BarNames(numbered(make_score, ["1", "2", "3", "2", "3", "4"]))
    assert [names.is_unique(index) for index in range(6)] == [True, False, False, False, False, True]
    assert names.ranges(0, 5) == "bars 1–3, 2–4"
    assert names.ranges(1, 2) == "bars 2–3"


def test_a_split_bar_and_endings_are_one_bar(make_score: MakeScore) -> None:
    names = BarNames(numbered(make_score, ["1", "2", "2", "3a", "3b"], implicit=[2]))
    assert all(names.is_unique(index) for index in range(5))
    assert names.name(3) == "bar 3a"


@pytest.mark.parametrize(("numbers", "place"), [("1234", "of bar 2"), ("1212", "of the bar before")])
def test_sentences_count_from_the_turn_where_numbers_come_back(
    make_score: MakeScore, running: Running, numbers: str, place: str
) -> None:
    played = [*running(0, 1, (0, 1, 3), 0.5), *running(0, 2, (0, 1, 3), 0.5)]
    notes = [note for note in played if note[2] != 1 or note[3] < 2]
    score = replace(make_score(notes, 4), measures=numbered(make_score, list(numbers)).measures)
    steps = {step.from_index: step for step in step_costs(score, choose_player(score), TurnSettings())}
    assert steps[2].sentence.endswith(f"from beat 3 {place}, free 3.0 s"), steps[2].sentence


def test_beats_are_those_that_are_counted(make_score: MakeScore) -> None:
    """The unit of the time signature, by its name where beats are of three: nobody counts thirds of a beat."""
    measure = make_score([], 1).measures[0]
    expected = {
        (6, 8): (Count.EIGHTH, Fraction(1, 2)),
        (9, 8): (Count.EIGHTH, Fraction(1, 2)),
        (12, 16): (Count.SIXTEENTH, Fraction(1, 4)),
        (3, 8): (Count.BEAT, Fraction(1, 2)),
        (6, 4): (Count.BEAT, Fraction(1)),
        (2, 2): (Count.BEAT, Fraction(2)),
    }
    for (beats, beat_type), counted in expected.items():
        one = replace(measure, beats=beats, beat_type=beat_type)
        assert (counted_in(one), beat_ql(one)) == counted


def test_ordinals() -> None:
    assert [ordinal(n) for n in (1, 2, 3, 4, 11, 12, 21)] == [
        "1st",
        "2nd",
        "3rd",
        "4th",
        "11th",
        "12th",
        "21st",
    ]


def test_a_multiple_rest_is_left_after_its_last_bar(make_score: MakeScore) -> None:
    score = numbered(make_score, ["9", "10", "21"])
    rest = replace(score.measures[1], bars=11)
    names = BarNames(replace(score, measures=(score.measures[0], rest, score.measures[2])))
    assert [names.name(index) for index in range(3)] == ["bar 9", "bar 20", "bar 21"]
    assert names.goal(1) == "bar 10"
    assert names.within(1, 4) == "bar 14"
    assert names.ranges(0, 1) == "bars 9–20"
    assert names.ranges(1, 1) == "bars 10–20"
