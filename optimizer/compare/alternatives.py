"""Every alternative worth looking at, drawn.

In: settings of every desk, paper and binding, their problems, staff sizes, an engraver.  Out: `Compared`.  Progress
names the stages of the pipeline.  Always true: no page of an alternative overflows as drawn.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import groupby
from typing import Final

from optimizer import press
from optimizer.compare.draw import Drawer
from optimizer.compare.family import Family, Pages
from optimizer.compare.given import GivenPages
from optimizer.compare.merits import merits_of
from optimizer.compare.model import Alternative, Drawing, Merits, Tally, owned
from optimizer.compare.search import Candidate, Case, search
from optimizer.engrave.model import Engraved, Engraver
from optimizer.errors import QuietleafError
from optimizer.layout.blanks import explain_blanks
from optimizer.layout.demands import Kind, contradiction, has
from optimizer.layout.plan import Plan
from optimizer.layout.problem import Problem
from optimizer.layout.relax import no_layout
from optimizer.layout.solve import has_layout, solve
from optimizer.progress import Progress
from optimizer.score.model import Score
from optimizer.settings import Settings

# A round feeds real heights back where a page overflows. One plan takes one or two (pipeline.MAX_ROUNDS), but what it
# leaves may show another one.
MAX_ROUNDS: Final = 50


@dataclass(frozen=True, slots=True)
class Compared:
    """Alternatives and their drawings, in the same order. `warnings`: what could not be shown."""

    alternatives: tuple[Alternative, ...]
    drawings: tuple[Drawing, ...]
    tally: Tally
    warnings: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Shown:
    """A plan to be shown, with the problem that it solves. `correct`: what to call when it does not fit as drawn."""

    settings: Settings
    problem: Problem
    plan: Plan
    merits: Merits
    as_given: bool
    least: bool
    correct: Callable[[Engraved], None]


def compare(
    score: Score,
    engraver: Engraver,
    problems: Sequence[tuple[Settings, Problem]],
    staffs_mm: Sequence[float],
    progress: Progress,
) -> Compared:
    """Plan, draw, and where a drawn page turns out too high, plan again with the real heights; NoLayoutError where
    nothing meets the demands."""
    for _, problem in problems:
        if contradiction(problem.demands):
            raise no_layout(problem, has_layout)
    cases = make_cases(problems, staffs_mm)
    given = [
        (same, GivenPages([case.problem for case in same], staffs_mm))
        for same in (list(group) for _, group in groupby(cases, key=lambda case: owned(case.settings)))
    ]
    drawer = Drawer(engraver)
    for rounds in range(MAX_ROUNDS):
        progress("choosing pages and turns", rounds / MAX_ROUNDS)
        found = search(cases)
        shown = [_searched(candidate, candidate in found.least) for candidate in found.shown]
        shown += [one for same, pages in given if (one := _given(same, pages))]
        if not shown:
            raise no_layout(replace(problems[0][1], staff_sizes_mm=tuple(staffs_mm)), has_layout)
        progress("engraving systems", rounds / MAX_ROUNDS)
        drawn = drawer.draw([(one.problem, one.plan) for one in shown])
        if not _correct(score, shown, drawn):
            return _compared(shown, drawn, found.tally, tuple(_missing(cases, staffs_mm, shown)))
    raise QuietleafError(
        f"{score.path}: pages still overflow after {MAX_ROUNDS} rounds; please report this score"
    )


def make_cases(problems: Sequence[tuple[Settings, Problem]], staffs_mm: Sequence[float]) -> list[Case]:
    """Each desk, paper and binding; those of one paper and binding share a family, made for the widest desk."""
    widest: dict[tuple[object, str], Problem] = {}
    for settings, problem in problems:
        key = settings.paper, settings.binding
        if key not in widest or problem.abreast > widest[key].abreast:
            widest[key] = problem
    pages: Pages = {}
    families = {key: Family(problem, staffs_mm, pages) for key, problem in widest.items()}
    return [
        Case(settings, problem, families[settings.paper, settings.binding]) for settings, problem in problems
    ]


def _searched(candidate: Candidate, least: bool) -> _Shown:
    """A solved candidate."""
    case, staff_mm = candidate.case, candidate.cell.staff_mm
    if candidate.plan is None:
        raise ValueError("the candidate is not solved")
    problem = case.family.problem(staff_mm, case.problem)
    return _Shown(
        case.at(staff_mm),
        problem,
        candidate.plan,
        candidate.merits,
        has(problem.demands, Kind.AS_GIVEN),
        least,
        lambda engraved: case.family.correct(staff_mm, engraved),
    )


def _given(cases: Sequence[Case], pages: GivenPages) -> _Shown | None:
    """The file's own pages on the desk and paper of these cases, if they work."""
    planned = pages.plan()
    if not planned:
        return None
    index, problem, plan = planned
    settings = cases[index].at(plan.staff_mm)
    settings = replace(settings, demands=replace(settings.demands, as_given=True))
    return _Shown(settings, problem, plan, merits_of(problem, plan, settings), True, False, pages.correct)


def _correct(score: Score, shown: Sequence[_Shown], drawn: Sequence[Engraved]) -> bool:
    """Whether there was something to correct."""
    too_high = [
        (one, engraved)
        for one, engraved in zip(shown, drawn, strict=True)
        if press.overflowing_pages(score, one.plan, engraved, one.problem.geometry)
    ]
    for one, engraved in too_high:
        one.correct(engraved)
    return bool(too_high)


def _missing(cases: Sequence[Case], staffs_mm: Sequence[float], shown: Sequence[_Shown]) -> Iterator[str]:
    """Desks and papers without any alternative, or without the file's own pages although it has some."""
    every = dict.fromkeys(owned(case.settings) for case in cases)
    several = len({paper for _, paper in every}) > 1
    for desk, paper in every:
        name = f"{desk.name} with {paper.name}" if several else desk.name
        own = [one for one in shown if owned(one.settings) == (desk, paper)]
        if not own:
            yield f"{name}: no layout meets all demands"
        elif cases[0].problem.given_pages and not any(one.as_given for one in own):
            least = f"at a staff of {min(staffs_mm):g} mm or more"
            yield f"{name}: the file's own pages do not hold the music {least}"


def _beaten_by(one: _Shown, shown: Sequence[_Shown]) -> int | None:
    """The number of the first on the same desk that beats it."""
    same_desk = (
        (number, other)
        for number, other in enumerate(shown, start=1)
        if other.settings.desk == one.settings.desk
    )
    return next((number for number, other in same_desk if other.merits.beats(one.merits)), None)


def _compared(
    shown: Sequence[_Shown], drawn: Sequence[Engraved], tally: Tally, warnings: tuple[str, ...]
) -> Compared:
    """Numbered from 1, with reasons for blank sides."""
    alternatives = (
        Alternative(
            number=number,
            settings=one.settings,
            plan=explain_blanks(one.problem, one.plan, solve),
            merits=one.merits,
            as_given=one.as_given,
            least=one.least,
            beaten_by=_beaten_by(one, shown),
        )
        for number, one in enumerate(shown, start=1)
    )
    drawings = (Drawing(engraved, one.problem.geometry) for one, engraved in zip(shown, drawn, strict=True))
    return Compared(tuple(alternatives), tuple(drawings), tally, warnings)
