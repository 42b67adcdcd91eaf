"""Levels change what they say; parts are printed in the sizes that librarians ask for."""

from dataclasses import replace
from pathlib import Path

import pytest

from optimizer import pipeline
from optimizer.errors import UsageError
from optimizer.parts.levels import PART_WEIGHTS, applied, effects, staff_sizes_mm
from optimizer.parts.model import Level, PartsSettings
from optimizer.settings import Settings, TurnSettings

# MOLA 2017, p. 5, from memory (facts.md): best, tolerable, avoided above.
MOLA_BEST_MM, MOLA_TOLERABLE_MM, MOLA_MOST_MM = 7.5, 7.0, 8.5


@pytest.mark.parametrize("level", Level)
def test_staff_sizes_begin_with_what_is_read_best(level: Level) -> None:
    sizes = staff_sizes_mm(applied(PartsSettings(Settings(), level=level)))
    assert MOLA_BEST_MM <= sizes[0] <= MOLA_MOST_MM
    assert {MOLA_BEST_MM, MOLA_TOLERABLE_MM} <= set(sizes)
    assert list(sizes) == sorted(sizes, reverse=True)


def test_no_staff_is_smaller_than_the_user_allows() -> None:
    assert staff_sizes_mm(PartsSettings(Settings(), least_staff_mm=7.15))[-1] == 7.2
    assert staff_sizes_mm(PartsSettings(Settings(), least_staff_mm=8.0)) == (8.0,)
    assert staff_sizes_mm(PartsSettings(Settings(staff_mm=6.0))) == (6.0,)


def test_a_staff_smaller_than_the_least_is_refused_but_not_one_smaller_than_a_level_likes() -> None:
    small = PartsSettings(Settings(staff_mm=6.0), level=Level.BEGINNER)
    assert staff_sizes_mm(applied(small)) == (6.0,)
    with pytest.raises(UsageError, match="--staff 6 is smaller than --least-staff"):
        applied(replace(small, least_staff_mm=7.5))


def test_piano_parts_are_smaller_than_those_of_one_staff() -> None:
    # Piano 6-7 mm (needs.md, from memory).
    sizes = staff_sizes_mm(PartsSettings(Settings(), least_staff_mm=6.0), staves=2)
    assert (sizes[0], sizes[-1]) == (7.0, 6.0)


def test_a_lower_level_has_more_time_less_to_remember_larger_staves_and_more_cues() -> None:
    beginner, usual, advanced = (effects(level) for level in Level)
    assert beginner.unhurried_s >= 4.0  # "4 s fine, 3 s tight": needs.md
    assert beginner.quick_s > usual.quick_s
    assert beginner.carry < usual.carry < advanced.carry <= 3  # about 3 chunks: Chen & Cowan
    assert beginner.staff_mm > usual.staff_mm
    assert beginner.least_staff_mm >= MOLA_TOLERABLE_MM
    assert beginner.cue_bars < usual.cue_bars < advanced.cue_bars


def test_the_middle_level_is_the_defaults() -> None:
    found = applied(PartsSettings(Settings()))
    assert found.paper.weights_percent == PART_WEIGHTS  # of parts, whatever the level
    assert replace(found, paper=replace(found.paper, weights_percent={}, in_ensemble=False)) == PartsSettings(
        Settings()
    )
    own = {"staff-size": 100, "turns": 200, "paper": 50}
    both = applied(PartsSettings(Settings(weights_percent=own))).paper.weights_percent
    assert both == {**PART_WEIGHTS, **own}


def test_what_the_user_set_stays() -> None:
    own = PartsSettings(
        Settings(turns=TurnSettings(carry_allowance=3)), level=Level.BEGINNER, cue_bars=5, least_staff_mm=8.0
    )
    found = applied(own)
    assert (found.paper.turns.carry_allowance, found.cue_bars, found.least_staff_mm) == (3, 5, 8.0)
    assert found.paper.turns.unhurried_s == effects(Level.BEGINNER).unhurried_s


def test_a_part_is_printed_in_the_size_it_prefers(corpora: Path) -> None:
    """What fits in any size is printed in the one that is read best."""
    parts = PartsSettings(Settings())
    job = pipeline.open_job(corpora / "nachtfaehre.musicxml", parts.paper)
    problem = replace(job.problem, staff_sizes_mm=staff_sizes_mm(parts))
    points = [problem.staff_points(staff_mm) for staff_mm in (7.5, 7.4, 7.0, 6.5)]
    assert points[0] == 0
    assert points == sorted(points)
