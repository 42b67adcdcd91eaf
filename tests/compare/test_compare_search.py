"""What is shown is what nobody beats: against a naive filter over all cells solved, planning alone, and the check."""

import re
from collections.abc import Sequence
from dataclasses import replace
from itertools import product
from pathlib import Path
from typing import cast

import pytest
from hypothesis import given
from hypothesis import strategies as st

from optimizer import parallel, pipeline, press
from optimizer.binding.imposition import impressions
from optimizer.binding.sheets import sheets_of
from optimizer.compare.alternatives import compare, make_cases
from optimizer.compare.merits import merits_of, most_merits
from optimizer.compare.model import Alternative, Choices, Comparison, Merits, owned, usual_staffs_mm
from optimizer.compare.search import Candidate, Case, front, search
from optimizer.engrave.model import Engraved, EngravedSystem, Measured, SystemSpan
from optimizer.errors import NoLayoutError, UsageError
from optimizer.layout import check_plan, evaluate, solve, system_spans
from optimizer.layout.cells import Cell
from optimizer.layout.demands import Demand, Kind
from optimizer.layout.patterns import Shape
from optimizer.pipeline import Job
from optimizer.settings import DESKS, PAPERS, Demands, Desk, Paper, Settings, Strips, parse_paper

UPRIGHT, GRAND, STAND = DESKS["upright"], DESKS["grand"], DESKS["stand"]
A4 = PAPERS["a4"]
SHORT = parse_paper("210x170mm")  # so that our short scores need many pages
WIDE = parse_paper("220x165mm")
STAFFS_MM = (6.5, 5.5)

Owned = tuple[Desk, Paper]


@pytest.fixture(scope="module")
def ferry(corpora: Path) -> Job:
    """A short song, read and measured once."""
    return pipeline.open_job(corpora / "nachtfaehre.musicxml", Settings(desk=GRAND, paper=SHORT))


@pytest.fixture(scope="module")
def lamps(corpora: Path) -> Path:
    """A score in which turns are played up to three times."""
    return corpora / "three-lamps.musicxml"


def cases_of(
    job: Job,
    base: Settings,
    desks: Sequence[str],
    bindings: Sequence[str],
    papers: Sequence[Paper] = (SHORT,),
) -> list[Case]:
    each = [
        replace(base, desk=DESKS[desk], paper=paper, binding=binding)
        for desk, paper, binding in product(desks, papers, bindings)
    ]
    return make_cases([(one, job.otherwise(one).problem) for one in each], STAFFS_MM)


@pytest.mark.parametrize("name", ["nachtfaehre", "harbour-band"])
def test_what_is_shown_is_what_a_naive_filter_over_all_cells_leaves(corpora: Path, name: str) -> None:
    """Every cell that has a layout is solved; of these, those stay that no other one of their desk and paper beats, and
    the one that costs least."""
    job = pipeline.open_job(corpora / f"{name}.musicxml", Settings(desk=GRAND))
    choices = ("upright", "grand"), ("taped", "stapled", "loose"), (SHORT, WIDE)
    found = search(cases_of(job, Settings(), *choices))
    solved: list[tuple[Owned, Merits, int]] = []
    sums: dict[Owned, int] = {}
    impossible = 0
    for case in cases_of(job, Settings(), *choices):
        own = owned(case.settings)
        choosing = replace(case.problem, staff_sizes_mm=STAFFS_MM)
        sums[own] = min(sums.get(own, 10**9), solve(choosing).solver.objective)
        cells = list(case.family.cells(case.problem.pattern))
        impossible += sum(least is None for _, least in cells)
        case.family.solve([cell for cell, least in cells if least])
        for cell, least in cells:
            if least:
                plan, settings = case.family.plan(cell, case.problem), case.at(cell.staff_mm)
                merits = merits_of(case.family.problem(cell.staff_mm, case.problem), plan, settings)
                most = most_merits(cell, least, settings)
                assert all(a <= b for a, b in zip(most.rank(), merits.rank(), strict=True))
                assert most.sheets == merits.sheets
                solved.append((own, merits, plan.solver.objective))
    best = set()
    for own, merits, objective in solved:
        rivals = [(other, cost) for at, other, cost in solved if at == own]
        better = any(
            all(a <= b for a, b in zip(other.rank(), merits.rank(), strict=True)) and other != merits
            for other, _ in rivals
        )
        if not better and objective == min(cost for other, cost in rivals if other == merits):
            best.add((own, merits, objective))
    shown = [(owned(c.case.settings), c.merits, c.objective) for c in found.shown]
    least = {(owned(c.case.settings), c.merits, c.objective) for c in found.least}
    assert {owned(c.case.settings): c.in_sum for c in found.least} == sums  # each what `prepare` itself finds
    assert len(shown) == len(set(shown)) > 6
    assert set(shown) == best | least
    tally = found.tally
    assert (tally.cells, tally.impossible) == (len(solved) + impossible, impossible)
    assert tally.cells == tally.solved + tally.dominated + tally.impossible
    assert tally.solved < len(solved) / 4  # proofs without solving are what makes it quick
    assert tally.solved - tally.beaten == len(shown)


def test_each_plan_is_what_planning_with_its_pattern_and_pages_finds(ferry: Job) -> None:
    """One solver run for each, with `--staff` and `--pages` and a pattern of the alternative's own."""
    found = search(cases_of(ferry, Settings(), ("stand", "grand"), ("taped", "stapled")))
    assert len({candidate.plan.pattern for candidate in found.shown if candidate.plan}) > 2
    for candidate in found.shown:
        cell, plan = candidate.cell, candidate.plan
        assert plan is not None
        pattern = replace(candidate.case.problem.pattern, whole=(), first=(cell.first,), last=(cell.last,))
        if len(plan.spreads) == 1:
            pattern = replace(pattern, whole=(cell.first,), first=(), last=())
        sides = len(plan.pages) + plan.outside_title
        problem = replace(
            candidate.case.problem,
            staff_sizes_mm=(cell.staff_mm,),
            pattern=pattern,
            demands=(Demand("--pages", Kind.PAGES, sides),),
        )
        assert solve(problem).solver.objective == candidate.objective == plan.solver.objective
        check_plan(problem, plan)


CHOICES = Choices((UPRIGHT, GRAND), (SHORT, WIDE), ("taped", "ring"), STAFFS_MM)


@pytest.fixture(scope="module")
def compared(lamps: Path) -> Comparison:
    return pipeline.compare_plans(lamps, CHOICES, Settings())


def test_every_alternative_is_checked_fits_and_is_drawn_as_it_would_be_alone(
    compared: Comparison, lamps: Path
) -> None:
    job = pipeline.open_job(lamps, Settings(desk=GRAND))
    assert [a.number for a in compared.alternatives] == list(range(1, len(compared.alternatives) + 1))
    assert len(compared.drawings) == len(compared.alternatives) > 2
    for alternative, drawing in zip(compared.alternatives, compared.drawings, strict=True):
        plan, settings = alternative.plan, alternative.settings
        assert settings.staff_mm == plan.staff_mm
        assert plan.solver.status == "optimal"
        problem = job.otherwise(settings).problem
        check_plan(problem, plan)
        assert alternative.merits == merits_of(problem, plan, settings)
        assert not press.overflowing_pages(job.score, plan, drawing.engraved, drawing.geometry)
        assert drawing.geometry == problem.geometry
        alone = job.engraver.begin(system_spans(problem, plan))()
        assert list(map(rounded, drawing.engraved.systems)) == list(map(rounded, alone.systems))


def rounded(system: EngravedSystem) -> str:
    """All of a system, lengths to a millionth of a space: where it stood on a page shows in the last digits."""
    return re.sub(r"-?\d+\.\d+(e-\d+)?", lambda number: f"{float(number[0]) + 0.0:.6f}", repr(system))


def test_alternatives_come_by_desk_and_then_by_rank(compared: Comparison) -> None:
    groups = list(product((UPRIGHT, GRAND), (SHORT, WIDE)))
    keys = [(groups.index(owned(a.settings)), a.merits.rank()) for a in compared.alternatives]
    assert keys == sorted(keys)
    assert [owned(a.settings) for a in compared.alternatives if a.least] == groups
    for one, other in product(compared.alternatives, repeat=2):
        if owned(one.settings) == owned(other.settings) and not other.least:
            assert not one.merits.beats(other.merits)


def test_what_another_paper_beats_is_shown_and_says_so(compared: Comparison) -> None:
    """Paper that one owns is a fact like the desk."""
    papers = {(a.settings.desk.name, a.settings.paper.name) for a in compared.alternatives}
    assert len(papers) == len(CHOICES.desks) * len(CHOICES.papers)
    for alternative in compared.alternatives:
        better = [
            other.number
            for other in compared.alternatives
            if other.settings.desk == alternative.settings.desk and other.merits.beats(alternative.merits)
        ]
        assert alternative.beaten_by == min(better, default=None)
    assert any(alternative.beaten_by for alternative in compared.alternatives)


def timeless(alternatives: Sequence[Alternative]) -> list[Alternative]:
    """But for the solver's seconds."""
    return [
        replace(a, plan=replace(a.plan, solver=replace(a.plan.solver, seconds=0.0))) for a in alternatives
    ]


def test_same_input_gives_the_same_comparison(compared: Comparison, lamps: Path) -> None:
    again = pipeline.compare_plans(lamps, CHOICES, Settings())
    assert timeless(again.alternatives) == timeless(compared.alternatives)
    assert again.drawings == compared.drawings
    assert replace(again.tally, solver_s=0) == replace(compared.tally, solver_s=0)
    assert [cost.from_index for cost in again.costs] == list(range(len(again.score.measures) - 1))


def test_two_processes_compare_like_one(
    compared: Comparison, lamps: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(parallel, "can_fork", lambda: False)
    alone = pipeline.compare_plans(lamps, CHOICES, Settings())
    assert timeless(alone.alternatives) == timeless(compared.alternatives)
    drawn = [[rounded(system) for system in one.engraved.systems] for one in alone.drawings]
    assert drawn == [[rounded(system) for system in one.engraved.systems] for one in compared.drawings]


def test_choices_named_twice_count_once_and_impossible_ones_are_refused(lamps: Path) -> None:
    once = pipeline.compare_plans(lamps, Choices((STAND,), (A4,), ("taped",)), Settings(staff_mm=6.0))
    twice = Choices((STAND, STAND), (A4, A4), ("taped", "taped"), (6.0, 6.0))
    again = pipeline.compare_plans(lamps, twice, Settings())
    assert timeless(again.alternatives) == timeless(once.alternatives)
    assert again.tally.cells == once.tally.cells
    with pytest.raises(UsageError, match="--staff 20"):
        pipeline.compare_plans(lamps, Choices((STAND,), (A4,), ("taped",), (20.0,)), Settings())


# --- merits ----------------------------------------------------------------------------------------


def test_merits_count_turns_as_often_as_they_are_played(lamps: Path) -> None:
    """Sums over the plan's own lists; the hardest one counts once; reach is the objective's term unweighted."""
    settings = Settings(desk=STAND, paper=SHORT, staff_mm=6.5, weights_percent={"reach": 250})
    job = pipeline.open_job(lamps, settings)
    plan = solve(job.problem)
    turns = [*plan.turns, *plan.back_turns]
    assert any(turn.passes > 1 for turn in turns)
    merits = merits_of(job.problem, plan, settings)
    assert merits.effort == sum(turn.cost for turn in turns)
    assert merits.worst - 1 < max(turn.cost / turn.passes for turn in turns) <= merits.worst
    assert merits.back_turns == sum(turn.passes for turn in plan.back_turns)
    wide = replace(settings, desk=GRAND)
    problem = job.otherwise(wide).problem
    problem = replace(problem, reach={n: [[7] * problem.measures] * n for n in range(1, 5)})
    plan = solve(problem)
    assert merits_of(problem, plan, wide).reach == evaluate(problem, plan)["reach"] > 0


@pytest.mark.parametrize("binding", ["taped", "ring", "stapled", "loose"])
def test_sheets_are_the_pieces_of_paper_that_are_printed(ferry: Job, binding: str) -> None:
    """One or two impressions a piece, by how the printer takes it (optimizer/binding/imposition.py)."""
    for desk in (STAND, GRAND):
        settings = Settings(desk=desk, paper=SHORT, binding=binding, staff_mm=6.5)
        plan = solve(ferry.otherwise(settings).problem)
        printed = impressions(sheets_of(plan, settings), settings)
        single = binding in ("taped", "ring") or (len(plan.spreads) == 1 and not plan.outside_title)
        single = single and binding != "stapled"
        sheets = merits_of(ferry.otherwise(settings).problem, plan, settings).sheets
        assert sheets == (len(printed) if single else len(printed) / 2)


merit = st.integers(0, 3)
some_merits = st.builds(Merits, merit, merit, merit, merit, st.sampled_from([6.0, 6.5]), merit)


@given(st.lists(st.tuples(some_merits, st.integers(0, 2)), max_size=12))
def test_the_front_is_what_a_naive_filter_leaves(listed: list[tuple[Merits, int]]) -> None:
    """And each one left out is beaten or equalled by one that stays."""
    candidates = [
        Candidate(cast(Case, None), Cell(merits.staff_mm, sides, Shape(2), Shape(2)), merits, cost, 0)
        for sides, (merits, cost) in enumerate(listed)
    ]
    kept = front(candidates)
    for candidate in candidates:
        beaten = any(other.merits.beats(candidate.merits) for other in candidates)
        equal = [other for other in candidates if other.merits == candidate.merits]
        first = min(equal, key=lambda other: (other.objective, other.cell.sides))
        assert (candidate in kept) == (not beaten and candidate is first)
        assert candidate in kept or any(other.covers(candidate) for other in kept)


# --- demands ---------------------------------------------------------------------------------------


def test_demands_hold_in_every_alternative(corpora: Path) -> None:
    """Also where nothing needs so many pages as are demanded."""
    demands = Demands(turn_after=("12",), no_turn_after=("20",), together=("30-34",), pages=7)
    choices = Choices((UPRIGHT,), (A4,), ("taped", "loose"), (6.5,))
    path = corpora / "nets-on-the-quay.musicxml"
    found = pipeline.compare_plans(path, choices, Settings(demands=demands))
    assert found.alternatives
    for alternative in found.alternatives:
        plan = alternative.plan
        after = {turn.after_bar for turn in plan.turns if turn.to == turn.after + 1}
        assert "12" in after
        assert not after & {"20", "30", "31", "32", "33"}
        assert len(plan.pages) + plan.outside_title == 7
        assert alternative.settings.demands == demands


def test_demands_may_need_more_than_twice_the_pages_of_the_music(corpora: Path) -> None:
    turns = ("5", "10", "15", "20", "25", "30", "35", "40")
    choices = Choices((UPRIGHT,), (A4,), ("taped",), (6.5,))
    path = corpora / "nets-on-the-quay.musicxml"
    few = pipeline.compare_plans(path, choices, Settings())
    many = pipeline.compare_plans(path, choices, Settings(demands=Demands(turn_after=turns)))
    assert max(len(a.plan.pages) for a in few.alternatives) * 2 < len(turns) + 1
    for alternative in many.alternatives:
        assert {turn.after_bar for turn in alternative.plan.turns} >= set(turns)


@pytest.mark.parametrize(
    ("demands", "relax"),
    [
        (Demands(turn_after=("12",), no_turn_after=("12",)), {"--turn-after 12", "--no-turn-after 12"}),
        (Demands(max_pages=1), {"--max-pages 1"}),
        (Demands(pages=400), {"--pages 400"}),
    ],
)
def test_demands_that_nothing_meets_name_what_to_relax(
    corpora: Path, demands: Demands, relax: set[str]
) -> None:
    choices = Choices((UPRIGHT, GRAND), (A4,), ("taped",), (7.0, 6.5))
    with pytest.raises(NoLayoutError) as caught:
        pipeline.compare_plans(corpora / "nets-on-the-quay.musicxml", choices, Settings(demands=demands))
    assert set(caught.value.relax) == relax


def test_as_given_needs_pages_in_the_file(corpora: Path) -> None:
    choices = Choices((UPRIGHT,), (A4,), ("taped",))
    with pytest.raises(UsageError, match="--as-given: the file has no page breaks"):
        pipeline.compare_plans(
            corpora / "nachtfaehre.musicxml", choices, Settings(demands=Demands(as_given=True))
        )


def test_the_pages_of_the_file_are_one_alternative_of_each_desk(corpora: Path, tmp_path: Path) -> None:
    """At the largest staff size at which they hold the music; the others know nothing of them."""
    path = tmp_path / "paged.musicxml"
    text = (corpora / "nets-on-the-quay.musicxml").read_text()
    for number in (13, 29):
        text = re.sub(f'<measure number="{number}"[^>]*>', r'\g<0><print new-page="yes"/>', text)
    path.write_text(text)
    choices = Choices((STAND, UPRIGHT), (A4,), ("loose", "taped"), (9.5, 7.5, 5.5))
    found = pipeline.compare_plans(path, choices, Settings())
    given_ones = [alternative for alternative in found.alternatives if alternative.as_given]
    assert [alternative.settings.desk for alternative in given_ones] == [STAND, UPRIGHT]
    assert list(found.alternatives[-2:]) == given_ones
    sizes = {}
    for alternative in given_ones:
        assert [page.systems[0].first for page in alternative.plan.pages if page.systems] == [0, 12, 28]
        assert alternative.settings.demands.as_given
        sizes[alternative.settings.desk] = alternative.plan.staff_mm
    for larger in (size for size in choices.staffs_mm if size > sizes[STAND]):
        with pytest.raises(NoLayoutError):
            solve(pipeline.open_job(path, replace(given_ones[0].settings, staff_mm=larger)).problem)
    tiny = replace(choices, papers=(SHORT,))
    found = pipeline.compare_plans(path, tiny, Settings())
    assert not any(alternative.as_given for alternative in found.alternatives)
    assert "stand: the file's own pages do not hold the music at a staff of 5.5 mm or more" in found.warnings
    only = pipeline.compare_plans(path, choices, Settings(demands=Demands(as_given=True)))
    assert all(alternative.as_given for alternative in only.alternatives)


def test_carry_strips_ease_turns_in_the_bounds_too(ferry: Job) -> None:
    """With strips the bounds of merits are bounds and no more; nothing that belongs there is left out."""
    settings = Settings(strips=Strips.ALWAYS)
    found = search(cases_of(ferry, settings, ("stand",), ("taped",)))
    case = cases_of(ferry, settings, ("stand",), ("taped",))[0]
    cells = [(cell, least) for cell, least in case.family.cells(case.problem.pattern) if least]
    case.family.solve([cell for cell, _ in cells])
    ranks = []
    for cell, least in cells:
        plan = case.family.plan(cell, case.problem)
        merits = merits_of(case.family.problem(cell.staff_mm, case.problem), plan, case.at(cell.staff_mm))
        most = most_merits(cell, least, case.at(cell.staff_mm))
        assert all(a <= b for a, b in zip(most.rank(), merits.rank(), strict=True))
        ranks.append(merits)
    assert any(case.family.plan(cell, case.problem).strips for cell, _ in cells)
    assert {c.merits for c in found.shown} == {m for m in ranks if not any(o.beats(m) for o in ranks)}


def test_strips_are_drawn_too(corpora: Path) -> None:
    choices = Choices((STAND,), (SHORT,), ("taped",), (6.0,))
    path = corpora / "harbour-band.musicxml"
    found = pipeline.compare_plans(path, choices, Settings(strips=Strips.ALWAYS))
    strips = [
        (
            {(strip.first, strip.last) for strip in a.plan.strips},
            {(s.first, s.last) for s in d.engraved.strips},
        )
        for a, d in zip(found.alternatives, found.drawings, strict=True)
    ]
    assert any(planned for planned, _ in strips)
    assert all(planned == drawn for planned, drawn in strips)


# --- pages that turn out too high ------------------------------------------------------------------


class _Tall:
    """An engraver whose systems of many bars come out a third higher than they were measured."""

    def __init__(self, job: Job) -> None:
        self._engraver = job.engraver
        self.drawn: list[SystemSpan] = []

    def measure(self) -> Measured:
        return self._engraver.measure()

    def draw(self, spans: Sequence[SystemSpan]) -> Engraved:
        raise AssertionError("systems are drawn together")

    def draw_strips(self, spans: Sequence[SystemSpan]) -> Engraved:
        return self._engraver.draw_strips(spans)

    def draw_all(self, spans: Sequence[SystemSpan]) -> Engraved:
        self.drawn += spans
        drawn = self._engraver.draw_all(spans)
        return replace(drawn, systems=tuple(map(self._taller, drawn.systems)))

    def _taller(self, system: EngravedSystem) -> EngravedSystem:
        more = system.staves_sp / 3 if system.last - system.first >= 4 else 0.0
        return replace(system, above_sp=system.above_sp + more)


def test_no_shown_page_overflows_where_systems_come_out_higher_than_predicted(ferry: Job) -> None:
    settings = Settings(desk=UPRIGHT, paper=SHORT)
    engraver = _Tall(ferry)
    stages: list[str] = []
    found = compare(
        ferry.score,
        engraver,
        [(settings, ferry.otherwise(settings).problem)],
        (6.5, 6.0),
        lambda stage, done=0.0: stages.append(stage),
    )
    assert stages.count("engraving systems") > 1  # the first plans did not fit
    assert len(engraver.drawn) == len(set(engraver.drawn))  # and nothing is drawn twice
    for alternative, drawing in zip(found.alternatives, found.drawings, strict=True):
        assert not press.overflowing_pages(ferry.score, alternative.plan, drawing.engraved, drawing.geometry)
    tally = found.tally
    assert tally.cells == tally.solved + tally.dominated + tally.impossible


def test_usual_staffs_go_by_how_many_staves_there_are() -> None:
    """Rastral sizes 3 to 6 (Gould, Behind Bars, pp. 482-483; from memory)."""
    assert usual_staffs_mm(3) == (7.0, 6.5, 6.0, 5.5)
    assert usual_staffs_mm(4) == (6.0, 5.5, 4.8)
