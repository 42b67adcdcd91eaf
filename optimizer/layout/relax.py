"""Why there is no layout, and which demand to relax.

In: a `Problem` without a layout, a function that tells whether a problem has one.  Out: NoLayoutError.
Always true: for every demand named there is a layout without it (alone, or together with those joined by
"and").
"""

from collections.abc import Callable, Iterator
from dataclasses import replace
from itertools import combinations, pairwise
from typing import Final

from optimizer.errors import NoLayoutError
from optimizer.layout.demands import Demand, Kind, contradiction, has
from optimizer.layout.pages import NEVER, page_table
from optimizer.layout.problem import Problem
from optimizer.layout.systems import system_table, too_large
from optimizer.settings import STAFF_RANGE_MM

HasLayout = Callable[[Problem], bool]
# What may be tried instead of a staff size that does not work: the rastral sizes (Gould; from memory) and
# less.
SMALLER_STAFF_MM: Final = (7.0, 6.5, 6.0, 5.5, 4.8, 4.2, 3.7, STAFF_RANGE_MM[0])


def no_layout(problem: Problem, has_layout: HasLayout) -> NoLayoutError:
    """The error to raise."""
    reason = (
        contradiction(problem.demands)
        or _bar_too_large(problem)
        or _given_page_too_full(problem)
        or f"no layout satisfies all demands at a staff of {_sizes(problem)} mm"
    )
    for count in range(1, len(problem.demands) + 1):
        if relax := tuple(_working(problem, has_layout, count)):
            return NoLayoutError(reason + _smaller_remark(problem, has_layout), relax)
    return NoLayoutError(reason + _proposal(problem.with_demands(()), has_layout))


def _working(problem: Problem, has_layout: HasLayout, count: int) -> Iterator[str]:
    """Every set of `count` demands without which there is a layout, in words."""
    for dropped in combinations(problem.demands, count):
        left = problem.with_demands([demand for demand in problem.demands if demand not in dropped])
        if not has(dropped, Kind.STAFF):
            if has_layout(left):
                yield _words(dropped, "")
        elif (smaller := _smaller_staff(left, has_layout)) is not None:
            yield _words(dropped, f" ({smaller:g} mm works)")


def _words(dropped: tuple[Demand, ...], staff_remark: str) -> str:
    """Demands joined by "and"."""
    return " and ".join(
        demand.option + (staff_remark if demand.kind is Kind.STAFF else "") for demand in dropped
    )


def _smaller_staff(problem: Problem, has_layout: HasLayout) -> float | None:
    """The largest of the usual staff sizes below the present ones at which there is a layout."""
    return next(
        (
            staff_mm
            for staff_mm in SMALLER_STAFF_MM
            if staff_mm < min(problem.staff_sizes_mm)
            and has_layout(replace(problem, staff_sizes_mm=(staff_mm,)))
        ),
        None,
    )


def _bar_too_large(problem: Problem) -> str:
    """Says which bar does not fit on a page by itself even at the smallest candidate; empty when all do."""
    staff_mm = min(problem.staff_sizes_mm)
    found = too_large(problem, staff_mm)
    if found is None:
        return ""
    return f"bar {problem.numbers[found]} (#{found + 1}) does not fit on a page at a staff of {staff_mm:g} mm"


def _smaller_remark(problem: Problem, has_layout: HasLayout) -> str:
    """A staff size below the automatic ones that meets all demands; empty when there is none or the user chose one."""
    if contradiction(problem.demands) or has(problem.demands, Kind.STAFF):
        return ""
    smaller = _smaller_staff(problem, has_layout)
    return f" (--staff {smaller:g} would do)" if smaller is not None else ""


def _proposal(problem: Problem, has_layout: HasLayout) -> str:
    """A staff size that works, or larger paper."""
    smaller = _smaller_staff(problem, has_layout)
    return (
        f"; try --staff {smaller:g}" if smaller is not None else "; try larger --paper or smaller --margins"
    )


def _given_page_too_full(problem: Problem) -> str:
    """Says which page of the file does not fit on one even at the smallest candidate; empty when all do."""
    if not has(problem.demands, Kind.AS_GIVEN):
        return ""
    staff_mm = min(problem.staff_sizes_mm)
    costs = page_table(problem, system_table(problem, staff_mm)).costs
    for start, end in pairwise((0, *problem.given_pages, problem.measures)):
        if costs[start, end] >= NEVER:
            first, last = problem.numbers[start], problem.last_number(end - 1)
            page = f"the file's page of bars {first} to {last}"
            return f"{page} does not fit on one at a staff of {staff_mm:g} mm"
    return ""


def _sizes(problem: Problem) -> str:
    """The candidates, in words."""
    largest, smallest = max(problem.staff_sizes_mm), min(problem.staff_sizes_mm)
    return f"{largest:g}" if largest == smallest else f"{largest:g} to {smallest:g}"
