"""Who turns when: moments, and how many turn at once."""

from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import pytest

from optimizer.layout.plan import PlannedBackTurn, PlannedStrip, PlannedTurn
from optimizer.parts.model import Extracted
from optimizer.parts.timeline import Ensemble, Lane, TurnMoment, ensemble
from optimizer.pipeline import measure, plan_and_draw
from optimizer.score import load_file, score_from
from optimizer.settings import Settings, TurnSettings
from optimizer.turns.model import Grade, StripKind


def turn(time_s: float, after_bar: str = "1") -> TurnMoment:
    return TurnMoment(time_s, 1, 2, after_bar, Grade.OPEN, 3.0, 0, False, "")


def parts(*times_s: tuple[float, ...]) -> Ensemble:
    lanes = (
        Lane(str(index), "strings", 1, 2, 7.0, (), tuple(map(turn, times)))
        for index, times in enumerate(times_s)
    )
    return Ensemble("", "", "", 100.0, (), tuple(lanes))


@pytest.mark.parametrize(
    ("times_s", "expected"),
    [
        (((10.0,), (12.9,)), {2: 1}),
        (((10.0,), (13.0,)), {}),  # 3 s apart: not within 3 s
        (((10.0,), (12.0,), (14.0,)), {2: 1}),  # the third is near the second, which belongs to the first
        (((10.0,), (12.0,), (14.0,), (14.5,)), {3: 1}),  # the fullest moment counts: 12, 14, 14.5
        (((10.0, 50.0), (11.0, 51.0), (12.0,)), {3: 1, 2: 1}),
        (((10.0, 11.0),), {}),  # twice the same player
    ],
)
def test_how_many_turn_at_once(times_s: tuple[tuple[float, ...], ...], expected: dict[int, int]) -> None:
    found = parts(*times_s)
    assert found.at_once() == expected
    told = [each for moment in found.moments() for each in moment]
    assert len(told) == sum(map(len, times_s))  # each turn once


def test_between_movements_all_may_turn() -> None:
    lanes = [replace(lane, turns=tuple(replace(each, between=True) for each in lane.turns)) for lane in parts(
        (10.0,), (11.0,), (12.0,)
    ).lanes]  # fmt: skip
    between = replace(parts(), lanes=tuple(lanes))
    assert between.at_once() == {}
    assert between.is_more_between()
    music = replace(lanes[0], turns=(turn(10.0),))
    mixed = replace(parts(), lanes=(music, music, lanes[2]))
    assert mixed.at_once() == {2: 1}
    assert mixed.is_more_between()
    assert not replace(parts(), lanes=(music, music)).is_more_between()
    assert not replace(parts(), lanes=(lanes[0],)).is_more_between()  # with nobody else


def test_every_turn_stands_at_each_time_it_is_played(corpora: Path) -> None:
    """A piece with a D.S., for its one player: moments by the playing order's own clock."""
    file = load_file(corpora / "three-lamps.musicxml")
    score = score_from(file)
    plan = plan_and_draw(measure(file, score, Settings(staff_mm=7.0))).plan
    part = Extracted("P1", "Piano", "keyboards", 1, file, tuple(range(len(score.measures) + 1)))
    lane = ensemble(score, file.root, [part], [score], [plan], Settings()).lanes[0]

    steps = [
        (there.start_s, (here.measure_index, there.measure_index)) for here, there in pairwise(score.played)
    ]
    planned: list[PlannedTurn | PlannedBackTurn] = [*plan.turns, *plan.back_turns]
    expected = sorted(start_s for each in planned for start_s, step in steps if step == (each.after, each.to))
    assert len(lane.turns) == sum(each.passes for each in planned) == len(expected)
    assert [moment.time_s for moment in lane.turns] == sorted(moment.time_s for moment in lane.turns)
    assert all(
        abs(moment.time_s - start_s) <= 4.0 for moment, start_s in zip(lane.turns, expected, strict=True)
    )
    assert any(moment.back for moment in lane.turns) == bool(plan.back_turns)


def test_more_than_anyone_holds_is_by_heart(corpora: Path) -> None:
    """More than 6 notes, or than --carry-notes if that is more (README)."""
    file = load_file(corpora / "three-lamps.musicxml")
    score = score_from(file)
    plan = plan_and_draw(measure(file, score, Settings(staff_mm=7.0))).plan
    part = Extracted("P1", "Piano", "keyboards", 1, file, tuple(range(len(score.measures) + 1)))
    counts = range(5, 11)
    turn = next(turn for turn in plan.turns if turn.to == turn.after + 1)
    for allowance, learnt in ((1, [7, 8, 9, 10]), (8, [9, 10])):
        settings = Settings(turns=TurnSettings(carry_allowance=allowance))
        carried = [
            ensemble(
                score, file.root, [part], [score], [replace(plan, turns=(replace(turn, carry=n),))], settings
            ).lanes[0]
            for n in counts
        ]
        found = [n for n, lane in zip(counts, carried, strict=True) if lane.turns[0].by_heart]
        assert found == learnt


def test_a_turn_with_bars_printed_again_is_where_the_player_turns(corpora: Path) -> None:
    """Two bars at the foot of a page are printed again overleaf: the turn is two bars earlier."""
    file = load_file(corpora / "three-lamps.musicxml")
    score = score_from(file)
    plan = plan_and_draw(measure(file, score, Settings(staff_mm=7.0))).plan
    turn = next(turn for turn in plan.turns if turn.to == turn.after + 1)
    strip = PlannedStrip(
        StripKind.EARLY, turn.to_page, turn.after, turn.after - 1, turn.after, "-", turn.after_bar,
        turn.after - 2, "two before", Grade.BLOCKED, turn.grade,
    )  # fmt: skip
    part = Extracted("P1", "Piano", "keyboards", 1, file, tuple(range(len(score.measures) + 1)))
    lane = ensemble(score, file.root, [part], [score], [replace(plan, strips=(strip,))], Settings()).lanes[0]

    turned = [moment for moment in lane.turns if moment.after_bar == "two before"]
    starts_s = [
        there.start_s for here, there in pairwise(score.played)
        if (here.measure_index, there.measure_index) == (turn.after - 2, turn.after - 1)
    ]  # fmt: skip
    assert [moment.time_s for moment in turned] == pytest.approx([s + turn.instant_s for s in starts_s])
    assert starts_s
    assert not any(moment.after_bar == turn.after_bar and not moment.back for moment in lane.turns)


def test_what_sounds_is_what_is_played(corpora: Path) -> None:
    file = load_file(corpora / "two-harbour-pictures.musicxml")
    score = score_from(file)
    plan = plan_and_draw(measure(file, score, Settings())).plan
    part = Extracted("P1", "Piano", "keyboards", 1, file, tuple(range(len(score.measures) + 1)))
    found = ensemble(score, file.root, [part], [score], [plan], Settings())
    stretches = found.lanes[0].sounding
    assert all(end_s > start_s for start_s, end_s in stretches)
    assert all(before[1] < after[0] for before, after in pairwise(stretches))
    assert stretches[-1][1] <= found.duration_s + 1e-6
    numbers = [mark.text for mark in found.marks if not mark.rehearsal and not mark.movement]
    assert numbers[:3] == ["1", "2", "3"]  # the pickup has no number to be told
    uncounted = replace(score, measures=tuple(replace(m, number="0", implicit=False) for m in score.measures))
    again = ensemble(uncounted, file.root, [part], [score], [plan], Settings())
    assert all(mark.rehearsal or mark.movement for mark in again.marks)
