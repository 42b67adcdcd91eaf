"""Where marks stand: below their barline, or in the foot strip without ever leaving it."""

from dataclasses import replace
from itertools import pairwise

import pytest

from optimizer.layout.geometry import FOOT_MM
from optimizer.press.figures import Area, Label
from optimizer.press.foot_words import FootWords
from optimizer.press.marking import FOOT_STYLES, place_marks
from optimizer.press.marks import Mark
from optimizer.press.page import place_pages
from optimizer.settings import PAPERS, Lang, Settings
from optimizer.units import pt_to_mm


def jump(after: int, words: str = "back to bar 20, page 1", sign="V.S.") -> Mark:
    return Mark(sign, words, after, f"bar {after + 1}", is_jump=True)


def placed_marks(make, marks, reserved_mm=0.0, crowded=False, barlines=True, paper="a4"):
    """The labels of the first page and how far its foot is free; `crowded`: ink leaves no white between systems."""
    case = make.case(
        [(1, 2), (3,)], settings=Settings(paper=PAPERS[paper]), systems=3 if paper == "letter" else 5
    )
    placed = place_pages(case.score, case.plan, case.engraved, case.geometry)[0]
    if not barlines:
        placed = tuple(replace(spot, system=replace(spot.system, barlines_sp=())) for spot in placed)
    if crowded:
        placed = tuple(replace(spot, system=filled(spot.system)) for spot in placed)
    figures, free_mm = place_marks(marks, placed, {}, case.geometry, (), reserved_mm)
    return case.geometry, placed, figures, free_mm


def filled(system):
    """The first staff line as thick as the whole page."""
    return replace(system, items=(replace(system.items[0], stroke_sp=200.0), *system.items))


def barline_mm(spot, number: int) -> float:
    return spot.x_mm + spot.system.barlines_sp[number] * spot.staff_mm / 4


def left_of(label: Label) -> float:
    assert label.anchor == "end"
    return label.x_mm - label.width_mm


@pytest.mark.parametrize("number", [1, 2, 3, 4])
def test_a_jump_ends_below_its_barline(make, number):
    _, placed, figures, _ = placed_marks(make, [jump(5 + number)])
    words, sign = figures
    assert sign.x_mm == pytest.approx(barline_mm(placed[1], number))
    assert words.string == "back to bar 20, page 1"
    assert words.x_mm < sign.x_mm
    assert placed[1].bottom_mm < words.y_mm < placed[2].y_mm


def test_a_jump_near_the_left_edge_is_moved_in(make):
    geometry, _, figures, _ = placed_marks(
        make, [jump(5, "on to a place with a very long name indeed, page 6")]
    )
    assert left_of(figures[0]) == pytest.approx(geometry.music_left_mm)


def test_without_white_or_known_barlines_the_mark_goes_to_the_foot_and_names_its_bar(make):
    for options in ({"crowded": True}, {"barlines": False}):
        geometry, _, figures, free_mm = placed_marks(make, [jump(6)], **options)
        assert figures[0].string == "after bar 7: back to bar 20, page 1"
        assert figures[0].y_mm > geometry.paper.height_mm - geometry.margins.bottom_mm - FOOT_MM
        assert free_mm < left_of(figures[0])


def test_two_jumps_after_the_same_bar_stand_over_each_other(make):
    _, placed, figures, _ = placed_marks(make, [jump(8), jump(8, "on to bar 70, page 3")])
    first, second = (figure for figure in figures if figure.string != "V.S.")
    assert second.y_mm - first.y_mm > pt_to_mm(first.size_pt)
    assert second.y_mm < placed[2].y_mm


def test_equal_targets_share_one_mark_at_the_foot(make):
    _, _, figures, _ = placed_marks(make, [jump(6), jump(12)], crowded=True)
    assert [figure.string for figure in figures] == ["after bar 7 and bar 13: back to bar 20, page 1", "V.S."]


@pytest.mark.parametrize("count", [1, 2, 3, 4, 6, 12])
@pytest.mark.parametrize("reserved_mm", [0.0, 60.0])
@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_many_marks_never_leave_the_foot_strip_or_meet(make, count, reserved_mm, paper):
    turn = Mark("V.S.", "turn: 12 bars + 12 over", 24 if paper == "a4" else 14, "bar 25")
    jumps = [jump(k % 13, f"back to bar {k + 20}, page {k + 10}, system 2") for k in range(count)]
    geometry, _, figures, free_mm = placed_marks(make, [turn, *jumps], reserved_mm, crowded=True, paper=paper)
    left, right = geometry.music_left_mm + reserved_mm, geometry.music_left_mm + geometry.music_width_mm
    strip = geometry.paper.height_mm - geometry.margins.bottom_mm
    labels = [figure for figure in figures if isinstance(figure, Label)]
    assert labels[0].string == "turn: 12 bars + 12 over"
    assert sum(label.string == "V.S." for label in labels) == 1
    assert (
        sum(label.string.startswith("after") for label in labels) == count
        or labels[-1].string == FootWords(Lang.EN).more
    )
    for label in labels:
        assert left - 1e-6 <= left_of(label) < label.x_mm <= right + 1e-6
        assert strip - FOOT_MM < label.y_mm - 0.7 * pt_to_mm(label.size_pt) < label.y_mm <= strip
        assert label.size_pt >= FOOT_STYLES[-1].words_pt
        assert free_mm < left_of(label)
    for row in {label.y_mm for label in labels}:
        same = sorted((label for label in labels if label.y_mm == row), key=left_of)
        assert all(one.x_mm < left_of(two) for one, two in pairwise(same))


def test_an_open_turn_is_a_turned_corner_in_the_corner(make):
    geometry, _, figures, _ = placed_marks(make, [Mark("leaf", "", 24, "bar 25")])
    (corner,) = figures
    assert isinstance(corner, Area)
    assert max(x for x, _ in corner.points) == geometry.music_left_mm + geometry.music_width_mm
