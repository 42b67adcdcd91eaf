"""Turns kept off rehearsal marks.

In: a part's steps, its tree.  Out: the same steps, dearer where they are at or just after a mark.  Costs in points.
Always true: grades, seconds and sentences stay what they are: a turn is no harder there, it is in the way.
"""

from collections.abc import Collection, Sequence
from dataclasses import replace
from typing import Final

from lxml import etree

from optimizer.turns.model import StepCost

# A rehearsal stops and begins again at marks: a player who has just begun should not have to turn at once, and one who
# has stopped should find the mark on the page that lies open ("rehearsal marks kept off turns": common practice, no
# source). Dearer than a page more (60 points), far cheaper than a tight turn (300).
AT_MARK: Final = 40
AFTER_MARK: Final = 80
BARS_AFTER: Final = 4
TERM: Final = "rehearsal"


def marked_measures(root: etree._Element) -> tuple[int, ...]:
    """Measures of a part's own tree that begin with a rehearsal mark."""
    measures = root.findall("part")[0].iterfind("measure")
    return tuple(
        index
        for index, measure in enumerate(measures)
        if measure.find("direction/direction-type/rehearsal") is not None
    )


def kept_off_marks(steps: Sequence[StepCost], marked: Collection[int]) -> tuple[StepCost, ...]:
    """The steps with what a mark at or before them costs, once, however often they are played."""
    return tuple(_kept_off(step, marked) for step in steps)


def _kept_off(step: StepCost, marked: Collection[int]) -> StepCost:
    if step.is_jump:
        return step
    after = any(0 < step.to_index - mark <= BARS_AFTER for mark in marked)
    points = AFTER_MARK if after else AT_MARK if step.to_index in marked else 0
    if not points:
        return step
    return replace(step, cost=step.cost + points, terms={**step.terms, TERM: points})
