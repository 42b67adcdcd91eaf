"""Demands: bars are found by their printed numbers; what cannot be met names what to relax."""

from collections.abc import Callable
from dataclasses import replace

import pytest

from optimizer.errors import NoLayoutError, UsageError
from optimizer.layout import solve
from optimizer.layout.demands import Demand, Kind, find_bar, find_end, resolve
from optimizer.layout.plan import Plan
from optimizer.layout.problem import Problem
from optimizer.layout.systems import is_short
from optimizer.settings import Demands

MakeProblem = Callable[..., Problem]
NUMBERS = ["0", "1", "2", "2", "X1", "1", "2", "12a"]
MOVEMENTS = [0, 0, 0, 0, 0, 1, 1, 1]


def turn(bar: int) -> Demand:
    return Demand(f"--turn-after {bar}", Kind.TURN, bar, bar)


def no_turn(bar: int) -> Demand:
    return Demand(f"--no-turn-after {bar}", Kind.NO_TURN, bar, bar)


def together(first: int, last: int) -> Demand:
    return Demand(f"--together {first}-{last}", Kind.TOGETHER, first, last - 1)


def spread_starts(plan: Plan) -> list[int]:
    first = {page.number: page.systems[0].first for page in plan.pages if page.systems}
    return [first[spread[0]] for spread in plan.spreads[1:]]


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("0", (0, 0)),
        ("X1", (4, 4)),
        ("1:2", (2, 3)),
        ("2:2", (6, 6)),
        ("#3", (2, 2)),
        ("12a", (7, 7)),
        (" #8 ", (7, 7)),
    ],
)
def test_bars_are_found(text: str, found: tuple[int, int]) -> None:
    assert find_bar(text, "--turn-after", NUMBERS, MOVEMENTS) == found


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("1", "--turn-after 1: 2 bars have this number; write 1:1 or 2:1"),
        ("99", "--turn-after 99: the piece has no such bar"),
        ("3:1", "--turn-after 3:1: movement 3 has no such bar"),
        ("#9", "--turn-after #9: the file has measures #1 to #8"),
        ("#x", "the file has measures"),
    ],
)
def test_bars_that_cannot_be_found(text: str, message: str) -> None:
    with pytest.raises(UsageError, match=message):
        find_bar(text, "--turn-after", NUMBERS, MOVEMENTS)


def test_the_same_number_twice_in_a_movement_is_named_by_place() -> None:
    with pytest.raises(UsageError, match="2 bars have this number; write #1 or #3"):
        find_bar("7", "--turn-after", ["7", "8", "7"], [0, 0, 0])


def test_resolving() -> None:
    wishes = Demands(
        turn_after=("1:2", "1:2"), no_turn_after=("X1",), together=("1:1-X1",), pages=4, max_pages=6
    )
    found = resolve(wishes, 6.5, NUMBERS, MOVEMENTS)
    assert [(demand.option, demand.kind, demand.low, demand.high) for demand in found] == [
        ("--turn-after 1:2", Kind.TURN, 4, 4),
        ("--no-turn-after X1", Kind.NO_TURN, 5, 5),
        ("--together 1:1-X1", Kind.TOGETHER, 2, 4),
        ("--pages 4", Kind.PAGES, 4, 0),
        ("--max-pages 6", Kind.MAX_PAGES, 6, 0),
        ("--staff 6.5", Kind.STAFF, 0, 0),
    ]


@pytest.mark.parametrize(
    ("wishes", "message"),
    [
        (Demands(turn_after=("12a",)), "--turn-after 12a: the piece ends there"),
        (Demands(together=("12a-0",)), "bar 0 stands before bar 12a"),
        (Demands(together=("0",)), "write two bars, such as 12-20"),
        (Demands(together=("0-55",)), "no such bar"),
    ],
)
def test_demands_that_make_no_sense(wishes: Demands, message: str) -> None:
    with pytest.raises(UsageError, match=message):
        resolve(wishes, None, NUMBERS, MOVEMENTS)


def test_a_dash_in_a_bar_number() -> None:
    (found,) = resolve(Demands(together=("1-a-2",)), None, ["1-a", "2", "3"], [0, 0, 0])
    assert (found.low, found.high) == (1, 1)


def test_turns_where_they_are_wanted_and_not_elsewhere(make_problem: MakeProblem) -> None:
    problem = make_problem(2, 60)
    free = spread_starts(solve(problem))
    moved = spread_starts(solve(problem.with_demands([turn(17), no_turn(free[-1])])))
    assert 17 in moved
    assert free[-1] not in moved
    kept = spread_starts(solve(problem.with_demands([together(free[0] - 3, free[0] + 3)])))
    assert not set(kept) & set(range(free[0] - 2, free[0] + 4 - 1))


@pytest.mark.parametrize("pages", [4, 5, 6, 7])
def test_number_of_pages(make_problem: MakeProblem, pages: int) -> None:
    problem = make_problem(2, 45, sizes=(6.0,))
    assert len(solve(problem.with_demands([Demand("--pages", Kind.PAGES, pages)])).pages) == pages
    assert len(solve(problem.with_demands([Demand("--max-pages", Kind.MAX_PAGES, pages)])).pages) <= pages


@pytest.mark.parametrize(
    ("demands", "problem_words", "relax"),
    [
        ([turn(9), no_turn(9)], "9 contradicts --no-turn-after 9", {"--turn-after 9", "--no-turn-after 9"}),
        ([turn(9), together(4, 20)], "9 contradicts --together 4-20", {"--turn-after 9", "--together 4-20"}),
        (
            [Demand("--pages 8", Kind.PAGES, 8), Demand("--max-pages 5", Kind.MAX_PAGES, 5)],
            "--pages 8 contradicts --max-pages 5",
            {"--pages 8", "--max-pages 5"},
        ),
        ([turn(9), Demand("--max-pages 1", Kind.MAX_PAGES, 1)], "no layout", {"--max-pages 1"}),
        ([together(1, 59), no_turn(60)], "no layout", {"--together 1-59"}),
        (
            [turn(9), no_turn(9), turn(30), together(25, 40)],
            "contradicts",
            {
                "--turn-after 9 and --turn-after 30",
                "--turn-after 9 and --together 25-40",
                "--no-turn-after 9 and --turn-after 30",
                "--no-turn-after 9 and --together 25-40",
            },
        ),
    ],
)  # fmt: skip
def test_contradictions_name_what_to_relax(
    make_problem: MakeProblem, demands: list[Demand], problem_words: str, relax: set[str]
) -> None:
    problem = make_problem(2, 62).with_demands(demands)
    with pytest.raises(NoLayoutError, match=problem_words) as caught:
        solve(problem)
    assert set(caught.value.relax) == relax
    assert caught.value.exit_code == 4


def test_a_staff_that_is_too_large_names_one_that_works(make_problem: MakeProblem) -> None:
    problem = make_problem(1, 8, staves=14, sizes=(10.0,)).with_demands([Demand("--staff 10", Kind.STAFF)])
    with pytest.raises(
        NoLayoutError, match=r"bar 1 \(#1\) does not fit on a page at a staff of 10 mm"
    ) as caught:
        solve(problem)
    (words,) = caught.value.relax
    staff_mm = float(words.removeprefix("--staff 10 (").removesuffix(" mm works)"))
    assert solve(replace(problem, demands=(), staff_sizes_mm=(staff_mm,))).staff_mm == staff_mm


def test_nothing_fits_and_nothing_is_demanded(make_problem: MakeProblem) -> None:
    with pytest.raises(NoLayoutError, match=r"does not fit on a page at a staff of 9\.5 mm; try --staff 7$"):
        solve(make_problem(1, 4, staves=8, height_mm=250.0, sizes=(10.0, 9.5)))
    with pytest.raises(NoLayoutError, match="try larger --paper or smaller --margins"):
        solve(make_problem(1, 4, staves=8, height_mm=80.0, sizes=(4.0,)))


# --- --as-given ---


def as_given(problem: Problem, pages: tuple[int, ...], systems: tuple[int, ...] = ()) -> Problem:
    demand = Demand("--as-given", Kind.AS_GIVEN)
    return replace(problem, given_pages=pages, given_systems=systems, demands=(demand, *problem.demands))


def test_pages_as_given_and_the_pattern_chosen(
    make_problem: MakeProblem, make_step: Callable[..., object]
) -> None:
    problem = make_problem(2, 60, abreast=3, sizes=(5.5,))
    hard = {36: 40}  # of all pages only the one that starts with measure 36 may be turned to
    steps = tuple(make_step(i, i + 1, hard.get(i + 1, 900)) for i in range(59))
    pages = (10, 22, 36, 47)
    plan = solve(as_given(replace(problem, steps=steps), pages))
    assert [page.systems[0].first for page in plan.pages] == [0, *pages]
    assert spread_starts(plan) == [36]


def test_systems_as_given_where_they_fit(make_problem: MakeProblem) -> None:
    problem = make_problem(2, 30, sizes=(5.5,))
    fitting = solve(as_given(problem, (14,)))
    own = tuple(s.first for page in fitting.pages for s in page.systems if s.first)
    shifted = tuple(sorted({*own, *(first + 1 for first in own[:1])} - {own[0]}))
    plan = solve(as_given(problem, (14,), shifted))
    starts = tuple(s.first for page in plan.pages for s in page.systems if s.first)
    assert starts[-3:] == shifted[-3:]
    overfull = solve(as_given(problem, (14,), (14, 29)))  # fifteen bars in a system do not fit
    assert {s.first for s in overfull.pages[1].systems} != {14, 29}


def test_bars_of_a_page_as_given_are_spread_evenly(make_problem: MakeProblem) -> None:
    """No bar or two alone at the foot of a page (common practice): only the end of the piece may be short."""
    problem = make_problem(2, 30, sizes=(5.5,))
    box = problem.box(5.5)
    for end in range(12, 19):
        last = solve(as_given(problem, (end,))).pages[0].systems[-1]
        assert last.last == end - 1
        assert not is_short(problem, box, last.first, end), end
        room, music = box.width - problem.lead(last.first), problem.music(last.first, end, box.width)
        assert room < 2 * music, f"measures {last.first} to {last.last} fill less than half a line"


def test_a_page_of_the_file_that_does_not_fit(make_problem: MakeProblem) -> None:
    problem = make_problem(2, 60, sizes=(7.0,)).with_demands([Demand("--staff 7", Kind.STAFF)])
    with pytest.raises(
        NoLayoutError, match="the file's page of bars 6 to 60 does not fit on one at a staff of 7 mm"
    ) as caught:
        solve(as_given(problem, (5,)))
    assert [words.split(" (")[0] for words in caught.value.relax] == ["--as-given", "--staff 7"]


# Bars 10 to 20 are one rest, which is printed as one measure.
RESTED = ["9", "10", "21", "22"]
LASTS = ["9", "20", "21", "22"]


@pytest.mark.parametrize("text", ["10", "17", "20", "#2"])
def test_bars_inside_a_multiple_rest_are_found(text: str) -> None:
    assert find_bar(text, "--together", RESTED, [0] * 4, LASTS) == (1, 1)


def test_a_turn_can_be_had_after_a_multiple_rest_only() -> None:
    assert find_end("20", "--turn-after", RESTED, [0] * 4, LASTS) == 1
    assert find_end("#2", "--turn-after", RESTED, [0] * 4, LASTS) == 1
    for text in ("10", "17"):
        with pytest.raises(UsageError, match=f"--turn-after {text}: stands inside a rest of bars 10 to 20"):
            find_end(text, "--turn-after", RESTED, [0] * 4, LASTS)


def test_no_turn_inside_a_multiple_rest_asks_for_nothing() -> None:
    demands = Demands(no_turn_after=("17", "20"), together=("12-21",))
    resolved = resolve(demands, None, RESTED, [0] * 4, LASTS)
    assert [(demand.kind, demand.low, demand.high) for demand in resolved] == [
        (Kind.NO_TURN, 2, 2),
        (Kind.TOGETHER, 2, 2),
    ]
