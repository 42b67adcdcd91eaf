"""The pages of the file itself as one more way to print the piece on a desk.

In: the problems of a desk and paper, one for each binding; staff sizes.  Out: a `Plan`.  Always true: its pages start
where the file says, at the largest staff size at which they hold the music; all other demands are met.
"""

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise
from typing import Final

from optimizer.engrave.model import Engraved
from optimizer.layout.demands import Demand, Kind, has
from optimizer.layout.pages import NEVER, page_table
from optimizer.layout.plan import Plan
from optimizer.layout.problem import Problem
from optimizer.layout.solve import has_layout, solve
from optimizer.layout.systems import system_table

_AS_GIVEN: Final = Demand("--as-given", Kind.AS_GIVEN)


class GivenPages:
    """The file's own pages on one desk and paper, in the first binding that takes the largest staff."""

    def __init__(self, problems: Sequence[Problem], staffs_mm: Sequence[float]) -> None:
        self._left = [
            (index, replace(problem, staff_sizes_mm=(staff_mm,), demands=(*problem.demands, _AS_GIVEN)))
            for staff_mm in sorted(staffs_mm, reverse=True)
            for index, problem in enumerate(problems)
            if problem.given_pages and not has(problem.demands, Kind.AS_GIVEN)
        ]
        self._plan: Plan | None = None

    def plan(self) -> tuple[int, Problem, Plan] | None:
        """Which of the problems is solved, that problem with its demands, and the plan; None where nothing works."""
        while self._left:
            index, problem = self._left[0]
            if self._plan is None and _fits(problem) and has_layout(problem):
                self._plan = solve(problem)
            if self._plan:
                return index, problem, self._plan
            del self._left[0]
        return None

    def correct(self, engraved: Engraved) -> None:
        """The plan does not fit as drawn: real heights are known from now on."""
        index, problem = self._left[0]
        self._left[0] = index, problem.with_measured_heights(engraved.systems, engraved.strips)
        self._plan = None


def _fits(problem: Problem) -> bool:
    """Whether each page of the file holds its music; quicker than to look for a layout."""
    costs = page_table(problem, system_table(problem, problem.staff_sizes_mm[0])).costs
    ends = pairwise((0, *problem.given_pages, problem.measures))
    return all(costs[start, end] < NEVER for start, end in ends)
