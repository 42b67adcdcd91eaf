"""Every alternative that is worth looking at, drawn.

In: `Case`s, staff sizes, an engraver.  Out: `Compared`.  Progress names the same stages as the pipeline.  Always true: no
page of an alternative overflows as drawn.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

from optimizer import press
from optimizer.compare.draw import Drawer
from optimizer.compare.given import GivenPages
from optimizer.compare.merits import merits_of
from optimizer.compare.model import Alternative, Drawing, Merits, Tally
from optimizer.compare.search import Candidate, Case, Family, search
from optimizer.engrave.model import Engraved, Engraver
from optimizer.errors import QuietleafError
from optimizer.layout.demands import Kind, contradiction, has
from optimizer.layout.relax import no_layout
from optimizer.layout.plan import Plan
from optimizer.layout.problem import Problem
from optimizer.layout.solve import has_layout
from optimizer.progress import Progress
from optimizer.score.model import Score
from optimizer.settings import Settings

# Each round feeds real heights back for some staff sizes; a plan takes one or two.
MAX_ROUNDS: Final = 40


@dataclass(frozen=True, slots=True)
class Compared:
    """Alternatives and their drawings, in the same order."""

    alternatives: tuple[Alternative, ...]
    drawings: tuple[Drawing, ...]
    tally: Tally
    warnings: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Shown:
    """A plan to be shown with the problem that it solves; `owner`: who has to plan again if it overflows."""

    settings: Settings
    problem: Problem
    plan: Plan
    merits: Merits
    owner: Family | GivenPages
    as_given: bool

    def correct(self, engraved: Engraved) -> None:
        """Tells its owner what it looks like drawn."""
        if isinstance(self.owner, GivenPages):
            self.owner.correct(engraved)
        else:
            self.owner.correct(self.plan.staff_mm, engraved)


def compare(
    score: Score, engraver: Engraver, cases: Sequence[Case], staffs_mm: Sequence[float], progress: Progress
) -> Compared:
    """NoLayoutError where nothing satisfies the demands."""
    _refuse_contradictions(cases)
    families = _families(cases, staffs_mm)
    desks = list(dict.fromkeys(case.settings.desk for case in cases))
    by_desk = [[case for case in cases if case.settings.desk == desk] for desk in desks]
    given = [GivenPages([case.problem for case in same], staffs_mm) for same in by_desk]
    drawer = Drawer(engraver)
    for rounds in range(MAX_ROUNDS):
        progress("choosing pages and turns", rounds / MAX_ROUNDS)
        found = search(cases, families)
        shown = [_searched(candidate, cases, families) for candidate in found.shown]
        shown += [s for same, pages in zip(by_desk, given, strict=True) if (s := _given(same, pages))]
        if not shown:
            problem = replace(cases[0].problem, staff_sizes_mm=tuple(sorted(staffs_mm, reverse=True)))
            raise no_layout(problem, has_layout)
        progress("engraving systems")
        drawn = drawer.draw([(one.problem, one.plan) for one in shown])
        overflowing = [
            (one, engraved)
            for one, engraved in zip(shown, drawn, strict=True)
            if press.overflowing_pages(score, one.plan, engraved, one.problem.geometry)
        ]
        if not overflowing:
            return _compared(shown, drawn, found.tally)
        for one, engraved in overflowing:
            one.correct(engraved)
    raise QuietleafError(
        f"{score.path}: pages still overflow after {MAX_ROUNDS} rounds; please report this score"
    )


def _refuse_contradictions(cases: Sequence[Case]) -> None:
    for case in cases:
        if contradiction(case.problem.demands):
            raise no_layout(case.problem, has_layout)


def _families(cases: Sequence[Case], staffs_mm: Sequence[float]) -> list[Family]:
    """One for each paper and binding, with the tables of its widest desk."""
    numbers = sorted({case.family for case in cases})
    same = ([case.problem for case in cases if case.family == number] for number in numbers)
    return [Family(max(problems, key=lambda problem: problem.abreast), staffs_mm) for problems in same]


def _searched(candidate: Candidate, cases: Sequence[Case], families: Sequence[Family]) -> _Shown:
    case = cases[candidate.case]
    family = families[case.family]
    assert candidate.plan
    return _Shown(
        replace(case.settings, staff_mm=candidate.cell.staff_mm),
        family.on_desk(case.problem, candidate.cell.staff_mm),
        candidate.plan,
        candidate.merits,
        family,
        has(case.problem.demands, Kind.AS_GIVEN),
    )


def _given(cases: Sequence[Case], pages: GivenPages) -> _Shown | None:
    planned = pages.plan()
    if not planned:
        return None
    index, problem, plan = planned
    settings = replace(
        cases[index].settings,
        staff_mm=plan.staff_mm,
        demands=replace(cases[index].settings.demands, as_given=True),
    )
    return _Shown(settings, problem, plan, merits_of(problem, plan, settings), pages, True)


def _compared(shown: Sequence[_Shown], drawn: Sequence[Engraved], tally: Tally) -> Compared:
    """By desk as asked for; numbered from 1."""
    alternatives = [
        Alternative(number, one.settings, one.plan, one.merits, one.as_given)
        for number, one in enumerate(shown, start=1)
    ]
    drawings = [Drawing(engraved, one.problem.geometry) for one, engraved in zip(shown, drawn, strict=True)]
    return Compared(tuple(alternatives), tuple(drawings), tally, ())
