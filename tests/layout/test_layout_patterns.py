"""Spread patterns, page numbers, papers and desks against published facts and the facts of the trade."""

from collections.abc import Callable
from dataclasses import replace

import pytest

from optimizer.errors import UsageError
from optimizer.layout import solve
from optimizer.layout.patterns import Shape, first_page_number, pattern_for, pattern_name
from optimizer.layout.problem import Problem
from optimizer.settings import DESKS, PAPERS, Desk, pages_abreast, parse_desk, parse_paper

MakeProblem = Callable[..., Problem]


def shapes(*sizes: int) -> list[Shape]:
    return [Shape(size) for size in sizes]


# ISO 216: A4 210 x 297 mm, B4 250 x 353 mm. US paper size tables: Letter 8.5 x 11 in. MOLA (1993): parts 10 x
# 13 in.
@pytest.mark.parametrize(
    ("name", "width_mm", "height_mm"),
    [
        ("a4", 210, 297),
        ("b4", 250, 353),
        ("letter", 215.9, 279.4),
        ("10x13in", 254, 330.2),
        ("9x12in", 228.6, 304.8),
    ],
)
def test_papers(name: str, width_mm: float, height_mm: float) -> None:
    paper = parse_paper(name)
    assert (paper.width_mm, paper.height_mm) == pytest.approx((width_mm, height_mm))


# A grand takes four A4 pages abreast, an upright or digital piano three at most: common practice, no source.
@pytest.mark.parametrize(("desk", "pages"), [("grand", 4), ("upright", 3), ("digital", 3), ("stand", 2)])
@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_pages_abreast(desk: str, pages: int, paper: str) -> None:
    assert pages_abreast(parse_desk(desk), PAPERS[paper]) == pages


# A4 x 2, 3, 4 are 420, 630, 840 mm wide, Letter x 3, 4 are 648, 864 mm: arithmetic.
@pytest.mark.parametrize(
    ("paper", "pages", "width_mm"), [("a4", 3, 630), ("a4", 4, 840), ("letter", 3, 648), ("letter", 4, 864)]
)
def test_a_desk_as_wide_as_the_pages_takes_them(paper: str, pages: int, width_mm: float) -> None:
    assert pages_abreast(Desk("own", width_mm), PAPERS[paper]) == pages
    assert pages_abreast(Desk("own", width_mm - 22), PAPERS[paper]) == pages - 1
    assert DESKS["grand"].width_mm >= width_mm


def test_three_never_lie_in_the_middle() -> None:
    """Nobody unfolds flaps while playing: long spreads only first or last (common practice, no source)."""
    for abreast in (2, 3, 4):
        pattern = pattern_for("taped", abreast)
        assert {shape.pages for shape in pattern.middle} == {2}
        assert max(shape.pages for shape in pattern.shapes()) == abreast
        assert not pattern.allows([Shape(2), Shape(min(3, abreast + 1)), Shape(2)]) or abreast == 2


@pytest.mark.parametrize(
    ("abreast", "sizes"),
    [
        (2, (2, 2, 2)),
        (2, (1, 2, 1)),
        (3, (3, 2, 2)),
        (3, (2, 2, 3)),
        (3, (3, 3)),
        (4, (4, 2, 4)),
        (4, (4,)),
        (3, (3,)),
    ],
)
def test_patterns_of_the_table(abreast: int, sizes: tuple[int, ...]) -> None:
    assert pattern_for("taped", abreast).allows(shapes(*sizes))


@pytest.mark.parametrize(
    ("abreast", "sizes"),
    [(2, (3,)), (2, (3, 2)), (3, (2, 3, 2)), (3, (4, 2)), (4, (2, 4, 2)), (3, (2, 1, 2))],
)
def test_patterns_not_in_the_table(abreast: int, sizes: tuple[int, ...]) -> None:
    assert not pattern_for("taped", abreast).allows(shapes(*sizes))


def test_unknown_binding() -> None:
    with pytest.raises(UsageError, match="--binding glued: unknown; use taped, ring, stapled, loose"):
        pattern_for("glued", 2)


@pytest.mark.parametrize("sizes", [(2, 2), (1, 2, 2), (3, 2, 1), (4, 2), (1, 2, 2, 3)])
def test_odd_pages_stand_right(sizes: tuple[int, ...]) -> None:
    """MOLA guidelines: odd page numbers right, even ones left."""
    number = first_page_number(shapes(*sizes))
    for size in sizes:
        if size == 2:
            assert (number % 2, (number + 1) % 2) == (0, 1)
        number += size


def test_a_piece_on_one_spread_starts_at_1() -> None:
    assert [first_page_number(shapes(size)) for size in (1, 2, 3, 4)] == [1, 1, 1, 1]


@pytest.mark.parametrize(
    ("sizes", "name"),
    [((1,), "one page"), ((3,), "one spread of 3"), ((2, 2), "2s"), ((3, 2), "3 first"), ((2, 2, 1), "1 last"),
     ((3, 2, 3), "3 first, 3 last")],
)  # fmt: skip
def test_names(sizes: tuple[int, ...], name: str) -> None:
    assert pattern_name(shapes(*sizes)) == name


@pytest.mark.parametrize(("abreast", "pages"), [(2, 2), (3, 3), (4, 4)])
def test_what_fits_the_desk_is_not_turned(make_problem: MakeProblem, abreast: int, pages: int) -> None:
    """A piece of as many pages as lie abreast needs no turn (needs.md: page count decides)."""
    problem = make_problem(7, 16 * pages, abreast=abreast, sizes=(6.0,))
    plan = solve(replace(problem, reach={}))
    assert len(plan.spreads) == 1
    assert plan.turns == ()


def test_a_repeat_at_the_start_pulls_the_three_page_spread_to_the_front(
    make_problem: MakeProblem, make_step: Callable[..., object]
) -> None:
    """Upright piano, equal turns everywhere: a repeat over the first three pages calls for the long spread
    first, one over the last three for the long spread last (common practice, no source)."""

    def spreads(repeat: tuple[int, int]) -> list[int]:
        problem = make_problem(11, 92, abreast=3, sizes=(6.0,))
        steps = [make_step(i, i + 1, 120) for i in range(91)] + [make_step(*repeat, 200, jump=100)]
        plan = solve(replace(problem, steps=tuple(steps), reach={}))
        assert len(plan.pages) == 5
        return [len(spread) for spread in plan.spreads]

    assert spreads((48, 0)) == [3, 2]
    assert spreads((91, 45)) == [2, 3]


def test_bass_on_page_four_of_a_grand_moves_the_long_spread(make_problem: MakeProblem) -> None:
    """A four-page spread is uncomfortable when playing in the bass and reading page four (common practice, no
    source): where the last pages lie deep, they do not lie on the right of a long spread."""
    problem = make_problem(4, 66, abreast=4, sizes=(6.0,))
    calm = tuple(replace(step, cost=100) for step in problem.steps)
    nothing = (0,) * 66
    deep = tuple(0 if measure < 40 else 40 for measure in range(66))
    reach = {4: (nothing, nothing, nothing, deep), 3: (nothing,) * 3}
    near, far = (solve(replace(problem, steps=calm, reach=r)) for r in ({}, reach))
    assert len(near.spreads) == 1
    assert len(far.spreads[-1]) < 4
