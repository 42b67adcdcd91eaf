"""Turns kept off rehearsal marks (common practice, no source)."""

import pytest
from lxml import etree

from optimizer.parts.rehearsal import kept_off_marks, marked_measures
from optimizer.turns.model import Grade, StepCost


def step(to_index: int, from_index: int | None = None) -> StepCost:
    here = to_index - 1 if from_index is None else from_index
    return StepCost(
        here, to_index, 1, 100, 20, 0, {"time": 100}, Grade.QUICK, "both", 0.0, 2.0, 0, 0, "sentence"
    )


def test_turns_at_and_just_after_a_mark_are_dearer_and_nothing_else_changes() -> None:
    steps = [step(index) for index in range(1, 12)]
    found = kept_off_marks(steps, (5,))
    extra = {new.to_index: new.cost - old.cost for new, old in zip(found, steps, strict=True)}
    assert {index for index, points in extra.items() if points} == {5, 6, 7, 8, 9}
    assert 0 < extra[5] < extra[6] == extra[9]
    for new, old in zip(found, steps, strict=True):
        assert sum(new.terms.values()) == new.cost
        assert (new.grade, new.free_s, new.sentence) == (old.grade, old.free_s, old.sentence)


def test_two_marks_near_each_other_cost_once_and_jumps_nothing() -> None:
    once = kept_off_marks([step(6)], (5,))[0].cost
    assert kept_off_marks([step(6)], (4, 5))[0].cost == once
    jump = step(5, from_index=20)
    assert kept_off_marks([jump], (5,)) == (jump,)


@pytest.mark.parametrize(
    ("measure", "marked"),
    [
        ("<direction><direction-type><rehearsal>B</rehearsal></direction-type></direction>", (1,)),
        ("<direction><direction-type><words>B</words></direction-type></direction>", ()),
    ],
)
def test_marks_are_found_in_the_part(measure: str, marked: tuple[int, ...]) -> None:
    root = etree.fromstring(
        f"<score-partwise><part><measure/><measure>{measure}</measure></part></score-partwise>"
    )
    assert marked_measures(root) == marked
