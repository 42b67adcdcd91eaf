"""The four bindings: what may follow what, page numbers, whole sheets, blank sides, margins; facts of the trade."""

from collections.abc import Callable, Sequence
from dataclasses import replace
from itertools import chain

import pytest

from optimizer.errors import NoLayoutError
from optimizer.layout import Plan, PlanFaultError, check_plan, from_json, greedy_plan, solve, to_json
from optimizer.layout import objective as o
from optimizer.layout.check import complaints
from optimizer.layout.demands import Demand, Kind
from optimizer.layout.geometry import LEAST_INNER_MM, PageGeometry, bound_margins
from optimizer.layout.patterns import (
    PageSide,
    Shape,
    first_page_number,
    page_sides,
    pattern_for,
    pattern_name,
)
from optimizer.layout.problem import Problem
from optimizer.score.model import Score
from optimizer.settings import BINDINGS, DEFAULT_MARGINS, PAPERS, Margins, Settings
from optimizer.turns.model import Grade

MakeProblem = Callable[..., Problem]
MakeStep = Callable[..., object]
L, R, F = PageSide.LEFT, PageSide.RIGHT, PageSide.FOLD_OUT
TITLE_AND_PAIR = Shape(2, title=True)
SINGLE_SIDED, TWO_SIDED = ("taped", "ring"), ("stapled", "loose")


def shapes(*sizes: int) -> list[Shape]:
    return [Shape(size) for size in sizes]


def test_every_binding_has_a_pattern() -> None:
    assert BINDINGS == ("taped", "ring", "stapled", "loose")
    assert [pattern_for(binding, 3).binding for binding in BINDINGS] == list(BINDINGS)


@pytest.mark.parametrize(
    ("binding", "abreast", "spreads"),
    [
        ("ring", 3, shapes(3, 2, 3)),
        ("ring", 4, shapes(4, 2, 1)),
        ("ring", 2, [Shape(1), Shape(2, blank=1), Shape(2)]),
        ("stapled", 2, shapes(1)),
        ("stapled", 2, [TITLE_AND_PAIR]),  # four sides: title, two of music, one white
        ("stapled", 4, shapes(1, 2, 2, 1)),
        ("stapled", 2, [TITLE_AND_PAIR, Shape(2, blank=1), Shape(2)]),
        ("loose", 4, shapes(4)),
        ("loose", 3, shapes(1, 2, 2)),
        ("loose", 2, [TITLE_AND_PAIR, Shape(1)]),
    ],
)
def test_spreads_that_can_be_bound(binding: str, abreast: int, spreads: Sequence[Shape]) -> None:
    assert pattern_for(binding, abreast).allows(spreads)


@pytest.mark.parametrize(
    ("binding", "abreast", "spreads"),
    [
        ("ring", 3, shapes(4, 2)),
        ("ring", 3, [TITLE_AND_PAIR, Shape(2)]),  # single-sided: there is no other side for a title
        ("stapled", 3, shapes(3)),  # nothing can be folded out of a folded sheet
        ("stapled", 4, shapes(1, 3)),
        ("stapled", 2, shapes(2, 2)),  # something must stand on side 1
        ("stapled", 2, shapes(2)),
        ("stapled", 2, shapes(1, 1, 2)),
        ("loose", 2, shapes(3)),
        ("loose", 4, shapes(4, 2)),  # sheets abreast would have to be turned together
        ("loose", 4, shapes(2, 2)),
        ("loose", 2, [Shape(1), TITLE_AND_PAIR]),
        ("loose", 2, [Shape(1), Shape(2, blank=1)]),  # ends are shortened, not left blank
    ],
)
def test_spreads_that_cannot_be_bound(binding: str, abreast: int, spreads: Sequence[Shape]) -> None:
    assert not pattern_for(binding, abreast).allows(spreads)


@pytest.mark.parametrize("binding", BINDINGS)
@pytest.mark.parametrize("abreast", [2, 3, 4])
def test_in_the_middle_lie_pairs_only(binding: str, abreast: int) -> None:
    """Three in the middle are never used (common practice, no source); a turned leaf is two pages."""
    assert {shape.pages for shape in pattern_for(binding, abreast).middle} == {2}


def test_folded_sheets_have_four_sides() -> None:
    """Sides a multiple of 4 (imposition handouts; arithmetic); white backs of other bindings count for nothing."""
    counts = range(1, 10)
    assert [pattern_for("stapled", 2).sides_of_paper(n) for n in counts] == [4, 4, 4, 4, 8, 8, 8, 8, 12]
    for binding in ("taped", "ring", "loose"):
        assert [pattern_for(binding, 2).sides_of_paper(n) for n in counts] == list(counts)


@pytest.mark.parametrize(
    ("spreads", "first"),
    [(shapes(1, 2, 1), 1), ([TITLE_AND_PAIR, Shape(2)], 2), ([TITLE_AND_PAIR], 2), (shapes(2), 1), (shapes(4), 1)],
)  # fmt: skip
def test_a_title_page_is_page_1(spreads: Sequence[Shape], first: int) -> None:
    assert first_page_number(spreads) == first


@pytest.mark.parametrize(
    ("sizes", "sides"),
    [
        ((1,), ((R,),)),
        ((2,), ((L, R),)),
        ((3,), ((F, L, R),)),
        ((4,), ((F, L, R, F),)),
        ((3, 2, 3), ((F, L, R), (L, R), (L, R, F))),
        ((4, 2, 4), ((F, F, L, R), (L, R), (L, R, F, F))),
        ((1, 2, 1), ((R,), (L, R), (L,))),
        ((2, 2), ((L, R), (L, R))),
    ],
)
def test_fold_outs_hang_outside(sizes: Sequence[int], sides: Sequence[Sequence[PageSide]]) -> None:
    assert page_sides(sizes) == sides


@pytest.mark.parametrize("sizes", [(3, 2, 3), (4, 2, 4), (1, 2, 2, 1), (2, 2, 1), (1, 2, 4)])
def test_left_pages_are_even_and_right_pages_odd(sizes: Sequence[int]) -> None:
    """MOLA guidelines: odd pages right, even pages left; fold-outs have no such side."""
    sides = chain.from_iterable(page_sides(sizes))
    for number, side in enumerate(sides, start=first_page_number(shapes(*sizes))):
        assert side is F or (side is R) == (number % 2 == 1)


@pytest.mark.parametrize(
    ("spreads", "name"),
    [
        ([TITLE_AND_PAIR], "title outside, one spread of 2"),
        ([TITLE_AND_PAIR, Shape(2)], "title outside, 2s"),
        ([TITLE_AND_PAIR, Shape(2, blank=1), Shape(1)], "title outside, 1 last, 1 blank"),
        (shapes(1, 2, 2), "1 first"),
    ],
)
def test_names_of_patterns(spreads: Sequence[Shape], name: str) -> None:
    assert pattern_name(spreads) == name


# --- planned ---------------------------------------------------------------------------------------


def page_by_page(
    make_problem: MakeProblem,
    make_step: MakeStep,
    binding: str,
    pages: int,
    easy: set[int],
    **changes: object,
) -> Problem:
    """A piece of so many bars, each of which fills a page; the page before each bar of `easy` turns well, all others
    badly."""
    problem = make_problem(1, pages, binding=binding, sizes=(6.5,), height_mm=95.0, width_mm=130.0, **changes)
    bar = replace(problem.bars[0], width=40_000)
    steps = tuple(make_step(i, i + 1, 0 if i + 1 in easy else 900) for i in range(pages - 1))
    return replace(problem, bars=(bar,) * pages, steps=steps)


def turned_before(plan: Plan) -> list[int]:
    """The bars that stand first after a turn."""
    return [turn.to for turn in plan.turns]


@pytest.mark.parametrize("binding", BINDINGS)
def test_a_blank_side_buys_a_turn(make_problem: MakeProblem, make_step: MakeStep, binding: str) -> None:
    """Seven pages, good turns before pages 3, 4 and 6 of the music: between the first two only one page can lie.

    By hand: without a blank side the pairs start at 2, 4, 6 or at 3, 5, 7, so at least one turn of 900 points;
    the blank side costs 280, the fourth sheet of four sides 240 where there is one.
    """
    problem = page_by_page(make_problem, make_step, binding, 7, {2, 3, 5})
    plan = solve(problem)
    assert turned_before(plan) == [2, 3, 5]
    (blank,) = [page for page in plan.pages if page.blank]
    assert blank.number % 2 == 1  # the right-hand page of its pair
    assert blank.why == (
        "left blank so that the turn comes after bar 3 (open); "
        "without blank sides the best layout turns after bar 1 (blocked)"
    )
    assert blank.reason is not None
    facts = (blank.reason.after_bar, blank.reason.grade, blank.reason.instead_bar, blank.reason.instead_grade)
    assert facts == ("3", Grade.OPEN, "1", Grade.BLOCKED)
    without = solve(replace(problem, pattern=problem.pattern.without_blanks()))
    assert turned_before(without)[0] == 1
    assert without.turns[0].grade is Grade.BLOCKED


def test_a_blank_side_without_a_choice_says_so(make_problem: MakeProblem, make_step: MakeStep) -> None:
    problem = page_by_page(make_problem, make_step, "loose", 7, set())
    demands = [Demand(f"--turn-after {bar}", Kind.TURN, bar, bar) for bar in (2, 3)]
    (blank,) = [page for page in solve(problem.with_demands(demands)).pages if page.blank]
    assert blank.why.endswith("(blocked); no layout without blank sides meets all demands")
    assert blank.reason is not None
    assert blank.reason.forced


@pytest.mark.parametrize("binding", TWO_SIDED)
@pytest.mark.parametrize(
    ("easy", "title", "first"),
    [({1, 3, 5}, False, 1), ({2, 4, 6}, True, 2)],
    ids=["recto", "verso"],
)
def test_the_music_starts_where_its_turns_want_it(
    make_problem: MakeProblem, make_step: MakeStep, binding: str, easy: set[int], title: bool, first: int
) -> None:
    """A cover or blank shifts turns (needs.md): with a title page outside they come after the even pages of music."""
    plan = solve(page_by_page(make_problem, make_step, binding, 7, easy))
    assert turned_before(plan) == sorted(easy)
    assert plan.outside_title == title
    assert [page.number for page in plan.pages] == list(range(first, first + 7))
    assert all(spread[-1] % 2 == 1 for spread in plan.spreads[1:] if len(spread) == 2)


@pytest.mark.parametrize("binding", SINGLE_SIDED)
def test_single_sided_sets_have_no_title_page(
    make_problem: MakeProblem, make_step: MakeStep, binding: str
) -> None:
    plan = solve(page_by_page(make_problem, make_step, binding, 7, {2, 4, 6}))
    assert (plan.outside_title, plan.pages[0].number) == (False, 2)  # 2-3-4-5: Music Library Association


@pytest.mark.parametrize(("pages", "paper"), [(3, 4), (4, 4), (5, 8), (6, 8), (9, 12)])
def test_a_stapled_set_pays_for_whole_sheets(
    make_problem: MakeProblem, make_step: MakeStep, pages: int, paper: int
) -> None:
    """Sides a multiple of 4 (imposition handouts; arithmetic)."""
    plan = solve(page_by_page(make_problem, make_step, "stapled", pages, set(range(1, pages))))
    assert plan.solver.terms["paper"] == 100 * o.PAGE * paper
    assert len(plan.pages) + plan.outside_title <= paper


def test_a_title_page_counts_as_a_page(make_problem: MakeProblem, make_step: MakeStep) -> None:
    """Of four sides three are left for music once one is a title page."""
    problem = page_by_page(make_problem, make_step, "stapled", 4, {2})
    limit = [Demand("--max-pages 4", Kind.MAX_PAGES, 4)]
    assert solve(problem).outside_title
    assert not solve(problem.with_demands(limit)).outside_title
    with pytest.raises(NoLayoutError):
        solve(problem.with_demands([*limit, Demand("--turn-after 2", Kind.TURN, 2, 2), NO_TURN_AFTER_1]))


NO_TURN_AFTER_1 = Demand("--no-turn-after 1", Kind.NO_TURN, 1, 1)


@pytest.mark.parametrize(("pages", "abreast", "sizes"), [(3, 3, [3]), (4, 4, [4]), (4, 3, [1, 2, 1])])
def test_loose_sheets_lie_side_by_side_as_far_as_they_fit(
    make_problem: MakeProblem, make_step: MakeStep, pages: int, abreast: int, sizes: list[int]
) -> None:
    problem = page_by_page(make_problem, make_step, "loose", pages, {1, 3}, abreast=abreast)
    plan = solve(replace(problem, reach={}))
    assert [len(spread) for spread in plan.spreads] == sizes
    assert not plan.outside_title


@pytest.mark.parametrize("binding", BINDINGS)
@pytest.mark.parametrize("measures", [8, 60])
def test_simply_filled_pages_are_legal_too(make_problem: MakeProblem, binding: str, measures: int) -> None:
    problem = make_problem(3, measures, binding=binding, abreast=3, sizes=(6.0,))
    greedy = greedy_plan(problem, 6.0)
    assert list(complaints(problem, greedy)) == []
    assert not greedy.outside_title or len(greedy.spreads) == 1


# --- checked ---------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def stapled(make_problem: MakeProblem, make_step: MakeStep) -> Problem:
    """Seven pages with a title page and a blank side."""
    return page_by_page(make_problem, make_step, "stapled", 7, {2, 3, 5})


TAMPERINGS: dict[str, Callable[[Plan], Plan]] = {
    "no title page": lambda p: replace(p, outside_title=False),
    "the title page not counted": lambda p: renumbered(p, -1),
    "a side of a sheet not paid": lambda p: replace(
        p, solver=replace(p.solver, terms={**p.solver.terms, "paper": 100 * o.PAGE * 9})
    ),
    "music right of a blank side": lambda p: replace(p, pages=(*p.pages[:2], *p.pages[3:1:-1], *p.pages[4:])),
    "music called blank": lambda p: replace(p, pages=(replace(p.pages[0], why="left blank"), *p.pages[1:])),
}


def renumbered(plan: Plan, by: int) -> Plan:
    return replace(
        plan,
        pages=tuple(replace(page, number=page.number + by) for page in plan.pages),
        spreads=tuple(tuple(number + by for number in spread) for spread in plan.spreads),
    )


@pytest.mark.parametrize("name", TAMPERINGS)
def test_the_check_catches(stapled: Problem, name: str) -> None:
    plan = solve(stapled)
    check_plan(stapled, plan)
    with pytest.raises(PlanFaultError):
        check_plan(stapled, TAMPERINGS[name](plan))


def test_title_and_blanks_survive_as_json(stapled: Problem) -> None:
    plan = solve(stapled)
    score = Score("f", "ab", "Title", "", "Composer", "", "", None, (), (), (), (), (), "default")
    again = from_json(
        to_json(plan, score, {"parts": ["P1"], "kind": "keyboard"}, Settings(binding="stapled"))
    )
    assert again == plan
    assert again.outside_title
    assert [bool(page.why) for page in again.pages] == [page.blank for page in plan.pages]


# --- margins ---------------------------------------------------------------------------------------


def geometry(binding: str, margins: Margins = DEFAULT_MARGINS, paper: str = "a4") -> PageGeometry:
    bound, mirrored = bound_margins(margins, binding)
    return PageGeometry(PAPERS[paper], bound, 1, 0, 1, mirrored)


@pytest.mark.parametrize("paper", ["a4", "letter"])
@pytest.mark.parametrize("margins", [DEFAULT_MARGINS, Margins(5, 8, 10, 10), Margins(30, 10, 10, 10)])
def test_no_hole_meets_music(margins: Margins, paper: str) -> None:
    """Gutter about 20 mm (needs.md, from memory). ISO 838: centres 12 +- 1 mm from the edge, 6 +- 0.5 mm wide, so holes
    end 16.25 mm in at most; US three-ring: 1/2 in and 5/16 in wide (from memory), 16.7 mm."""
    ring = geometry("ring", margins, paper)
    left, right = ring.on(L), ring.on(R)
    width_mm = PAPERS[paper].width_mm
    inner_mm = [right.music_left_mm, width_mm - left.music_left_mm - left.music_width_mm]
    assert inner_mm == pytest.approx([max(20.0, margins.left_mm)] * 2)
    assert min(inner_mm) > max(12 + 1 + 6.5 / 2, 25.4 / 2 + 25.4 * 5 / 32)
    outer_mm = [left.music_left_mm, width_mm - right.music_left_mm - right.music_width_mm]
    assert outer_mm == pytest.approx([margins.right_mm] * 2)


@pytest.mark.parametrize("binding", BINDINGS)
def test_music_is_as_wide_and_high_on_every_page(binding: str) -> None:
    page = geometry(binding)
    for side in PageSide:
        there = page.on(side)
        assert there.music_width_mm == pytest.approx(page.music_width_mm)
        assert there.music_height_mm(False) == page.music_height_mm(False)
        free_mm = PAPERS["a4"].width_mm - there.music_left_mm - there.music_width_mm
        assert min(there.music_left_mm, free_mm) >= DEFAULT_MARGINS.left_mm - 1e-9


def test_margins_are_mirrored_at_rings_and_folds_only() -> None:
    lefts = {
        binding: [geometry(binding).on(side).music_left_mm for side in (L, R, F)] for binding in BINDINGS
    }
    assert lefts == {
        "taped": [13.0, 13.0, 13.0],
        "ring": [13.0, 20.0, 16.5],
        "stapled": [13.0, 15.0, 14.0],
        "loose": [13.0, 13.0, 13.0],
    }
    assert LEAST_INNER_MM == {"ring": 20.0, "stapled": 15.0}
