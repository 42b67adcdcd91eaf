"""What `quietleaf parts` shows: its table and the sentences below it."""

from dataclasses import replace
from pathlib import Path

import pytest

from optimizer.layout.joint import JointReport
from optimizer.parts.prepare import PreparedParts
from optimizer.parts.timeline import Ensemble, Lane, TurnMoment
from optimizer.terminal_parts import print_prepared_parts
from optimizer.turns.model import Grade

REPORT = JointReport("optimal", 0, 0, 0.1, 0, {}, {})
OPEN = TurnMoment(20.0, 3, 4, "10", Grade.OPEN, 3.0, 1, False, "")
LEARNT = replace(OPEN, time_s=40.0, grade=Grade.BLOCKED, free_s=0.0, carry=9, by_heart=True)


def test_how_many_copies_of_how_many_sheets_to_print(capsys: pytest.CaptureFixture[str]) -> None:
    lane = Lane("Flute", "woodwind", 5, 4, 7.0, (), (), sheets=2, copies=3)
    piece = Ensemble("A Piece", "", "marked", 60.0, (), (lane,))
    print_prepared_parts(
        PreparedParts(piece, piece, REPORT, ("1-flute",), 0, (), (Path("out/ensemble.pdf"),))
    )
    heads, row = (line.split() for line in capsys.readouterr().out.splitlines()[2:4])
    assert dict(zip(heads[1:5], row[1:5], strict=True)) == {
        "players": "5", "copies": "3", "pages": "4", "sheets": "2"
    }  # fmt: skip


def shown(capsys: pytest.CaptureFixture[str], *turns: TurnMoment) -> str:
    lane = Lane("Flute", "woodwind", 1, 4, 7.0, (), turns)
    piece = Ensemble("A Piece", "A. Composer", "marked", 60.0, (), (lane,))
    print_prepared_parts(
        PreparedParts(piece, piece, REPORT, ("1-flute",), 0, (), (Path("out/ensemble.pdf"),))
    )
    return capsys.readouterr().out


def test_what_cannot_be_avoided_is_said(capsys: pytest.CaptureFixture[str]) -> None:
    """Of each limit that is never to be broken (optimizer/parts/limits.py)."""
    piece = Ensemble("A Piece", "", "marked", 60.0, (), (Lane("Flute", "woodwind", 1, 4, 7.0, (), ()),))
    for broken, said in (
        ("all", "all turn at once"),
        ("family", "a whole family of instruments turns at once"),
    ):
        report = replace(REPORT, broken=(broken,))
        print_prepared_parts(PreparedParts(piece, piece, report, ("1-flute",), 0, (), (Path("a/b.pdf"),)))
        assert f"it cannot be avoided that {said}" in capsys.readouterr().out


def test_a_blocked_turn_is_warned_of_by_part(capsys: pytest.CaptureFixture[str]) -> None:
    """As in `prepare`."""
    assert "note: Flute: where a turn is blocked no hand is free" in shown(capsys, OPEN, LEARNT)
    assert "no hand is free" not in shown(capsys, OPEN)


def test_grades_are_counted_and_what_must_be_known_by_heart_is_said(
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert "3: 1 open, 2 blocked (1 but by heart)" in shown(
        capsys, OPEN, LEARNT, replace(LEARNT, by_heart=False)
    )
    assert "2: 1 open, 1 blocked (but by heart)" in shown(capsys, OPEN, LEARNT)
    told = shown(capsys, OPEN)
    assert "1: 1 open" in told
    assert "by heart" not in told


def test_what_planning_together_costs_is_told_with_what_it_gains(capsys: pytest.CaptureFixture[str]) -> None:
    """As in ensemble.pdf, a sentence a line."""
    lane = Lane("Flute", "woodwind", 1, 4, 7.0, (), (OPEN,))
    apart = Ensemble("A Piece", "", "marked", 60.0, (), (lane, lane))
    together = replace(apart, lanes=(lane, replace(lane, turns=())))
    for objective, told in ((1900, "19 points more (1000 points are a turn"), (0, "nothing.")):
        report = replace(REPORT, objective=objective)
        print_prepared_parts(PreparedParts(together, apart, report, ("1",), 0, (), (Path("a/b.pdf"),)))
        lines = capsys.readouterr().out.replace("\u00a0", " ").splitlines()
        (cost,) = (line for line in lines if line.startswith("Planning together costs the parts themselves"))
        assert told in cost
        assert lines[lines.index(cost) - 1].startswith(
            "Had each part been planned alone, both parts would turn"
        )


def test_how_good_the_joint_plan_is_is_said_in_words(capsys: pytest.CaptureFixture[str]) -> None:
    piece = Ensemble("A Piece", "", "marked", 60.0, (), (Lane("Flute", "woodwind", 1, 4, 7.0, (), ()),))
    for status, objective, bound, told in (
        ("optimal", 500, 500, "The joint plan is proven to be the best there is. Planned in 0.1 s."),
        ("feasible", 121, 100, "it costs at most 21 % more than the best there can be. Planned in 0.1 s."),
        ("feasible", 100_001, 100_000, "the best one found in the time given; it costs at most 1 % more"),
        ("feasible", 100, 0, "not proven to be the best there is"),
    ):
        report = replace(REPORT, status=status, objective=objective, bound=bound)
        print_prepared_parts(PreparedParts(piece, piece, report, ("1-flute",), 0, (), (Path("a/b.pdf"),)))
        shown_text = capsys.readouterr().out.replace("\u00a0", " ")
        assert told in shown_text
        assert "feasible" not in shown_text
