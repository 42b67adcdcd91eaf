"""From a score that was read to a layout problem: sizes, staff candidates, demands, titles, units."""

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
from lxml import etree

from optimizer.engrave.measure import sung_bars
from optimizer.engrave.model import BarSize, Measured
from optimizer.errors import UsageError
from optimizer.layout import Problem, make_problem, solve
from optimizer.layout.geometry import PageGeometry
from optimizer.layout.problem import Bar, titled_measures, to_msp
from optimizer.score import Score, read_score
from optimizer.settings import DESKS, Demands, Settings
from optimizer.turns import choose_player, step_costs


@pytest.fixture(scope="module")
def score(corpora: Path) -> Score:
    return read_score(corpora / "harbour-song.musicxml")


@pytest.fixture(scope="module")
def build(score: Score) -> Callable[..., Problem]:
    """A problem from the song with bars of equal size."""
    steps = step_costs(score, choose_player(score), Settings().turns)

    def make(settings: Settings, staves: int = 3) -> Problem:
        bar = BarSize(24.0, 9.0, 3.0, 3.0, (7.0,) * (staves - 1))
        measured = Measured((bar,) * len(score.measures), 12.0, 4.0, staves)
        geometry = PageGeometry(settings.paper, settings.margins, 1, 1, 1)
        return make_problem(score, measured, steps, {}, geometry, settings)

    return make


def test_staff_candidates_depend_on_the_staves(build: Callable[..., Problem]) -> None:
    usual, small = build(Settings()).staff_sizes_mm, build(Settings(), staves=4).staff_sizes_mm
    assert (usual[:3], usual[-1], len(usual)) == ((7.0, 6.9, 6.8), 5.5, 16)
    assert (small[:3], small[-1], len(small)) == ((6.0, 5.9, 5.8), 4.8, 13)
    assert build(Settings(staff_mm=6.2)).staff_sizes_mm == (6.2,)


def test_lengths_are_rounded_up_but_not_by_noise() -> None:
    assert [to_msp(length) for length in (0.0, 1.0, 0.1 + 0.2, 1.0004, 1.00051)] == [0, 1000, 300, 1001, 1001]


def test_words_to_sing_and_room_at_the_end_reach_the_planner() -> None:
    note, lyric = "<note><rest/></note>", "<note><lyric><text>la</text></lyric></note>"
    bars = ("", note, note + lyric, "<note><lyric><extend/></lyric></note>")
    parts = "".join(
        f"<part>{''.join(f'<measure>{bar}</measure>' for bar in part)}</part>" for part in (bars, bars[::-1])
    )
    assert sung_bars(etree.fromstring(f"<score-partwise>{parts}</score-partwise>")) == {1, 2}
    bar = Bar.of(BarSize(20.0, 9.0, 3.0, 3.0, (7.0,), 4.0004, sung=True))
    assert (bar.suffix, bar.sung) == (4001, True)


def test_a_page_in_millispaces_is_never_larger_than_in_millimetres(build: Callable[..., Problem]) -> None:
    problem = build(Settings())
    for staff_mm in (5.5, 6.5, 7.3):
        box = problem.box(staff_mm)
        assert box.width * staff_mm / 4000 <= problem.geometry.music_width_mm
        for first in (True, False):
            height_mm = (box.steps(first) * box.step - 2000) * staff_mm / 4000
            room_mm = problem.geometry.music_height_mm(first)
            assert room_mm - 1.0 < height_mm <= room_mm


def test_the_song_is_planned_with_its_own_turns(build: Callable[..., Problem], score: Score) -> None:
    plan = solve(build(Settings(desk=DESKS["upright"], demands=Demands(turn_after=("20",)))))
    first = {page.number: page.systems[0].first for page in plan.pages if page.systems}
    after = next(measure.index for measure in score.measures if measure.number == "20")
    assert after + 1 in [first[spread[0]] for spread in plan.spreads[1:]]
    assert plan.pages_abreast == 3
    assert all(turn.why for turn in plan.turns)


def test_demands_that_name_nothing(build: Callable[..., Problem], score: Score) -> None:
    with pytest.raises(UsageError, match="--turn-after 9999: the piece has no such bar"):
        build(Settings(demands=Demands(turn_after=("9999",))))
    assert not any(measure.starts_page for measure in score.measures[1:])
    with pytest.raises(UsageError, match="--as-given: the file has no page breaks"):
        build(Settings(demands=Demands(as_given=True)))


def test_movement_titles_that_repeat_the_title_are_not_set_twice(score: Score) -> None:
    half = len(score.measures) // 2
    measures = tuple(replace(m, movement=int(m.index >= half)) for m in score.measures)
    titles = {0: score.title, 1: "Reprise"}
    assert titled_measures(replace(score, measures=measures, movement_titles=titles)) == (half,)
