"""Systems on a page: even spreading with a limit, inside the music box, refused when they do not fit."""

from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from optimizer.engrave.model import EngravedSystem
from optimizer.layout.geometry import (
    MIN_GAP_SP,
    ONE_STAFF_GAP_SP,
    PageGeometry,
    SystemExtent,
    stack_height_mm,
)
from optimizer.press.placing import (
    WIDEST_DISTANCE_SP,
    PageOverflowError,
    overflow_mm,
    place_systems,
    widest_distance_sp,
)
from optimizer.settings import DEFAULT_MARGINS, PAPERS
from optimizer.units import sp_to_mm

GEOMETRY = PageGeometry(PAPERS["a4"], DEFAULT_MARGINS, 1, 1, 1)
STAFF_MM = 6.5


def system(above: float = 4.0, below: float = 3.0, staves: float = 14.0, left: float = 0.0) -> EngravedSystem:
    return EngravedSystem(0, 4, above, below, staves, left, 113.23, ())


def distances(placed):
    return [lower.y_mm - upper.bottom_mm for upper, lower in pairwise(placed)]


def test_full_page_is_spread_evenly_to_its_foot():
    placed = place_systems([system()] * 6, GEOMETRY, STAFF_MM, first=False)
    assert max(distances(placed)) - min(distances(placed)) < 1e-9
    low = GEOMETRY.music_top_mm(False) + GEOMETRY.music_height_mm(False)
    assert placed[-1].ink_bottom_mm == pytest.approx(low)


def test_a_system_with_much_ink_gets_what_it_needs_and_the_others_stay_even():
    page = [system(), system(below=14.0), system(), system(), system()]
    gaps = distances(place_systems(page, GEOMETRY, STAFF_MM, first=False))
    assert gaps[1] > gaps[0]
    assert gaps[0] == pytest.approx(gaps[2]) == pytest.approx(gaps[3])


def test_short_page_is_not_torn_apart():
    placed = place_systems([system()] * 3, GEOMETRY, STAFF_MM, first=False)
    assert distances(placed) == pytest.approx([sp_to_mm(WIDEST_DISTANCE_SP, STAFF_MM)] * 2)
    assert placed[0].ink_top_mm == pytest.approx(GEOMETRY.music_top_mm(False), abs=STAFF_MM)


def test_facing_pages_begin_and_end_at_the_same_height_when_there_is_room():
    left = place_systems([system(above=1.5, below=1.2)] * 6, GEOMETRY, STAFF_MM, first=False)
    right = place_systems([system(above=2.5, below=2.8)] * 6, GEOMETRY, STAFF_MM, first=False)
    assert left[0].y_mm == pytest.approx(right[0].y_mm)
    assert left[-1].bottom_mm == pytest.approx(right[-1].bottom_mm)


def test_staves_begin_at_the_left_edge_and_end_at_the_right_margin():
    with_name = replace(system(), left_sp=-8.0)
    placed = place_systems([with_name, system()], GEOMETRY, STAFF_MM, first=True)
    right = GEOMETRY.music_left_mm + GEOMETRY.music_width_mm
    assert [round(spot.right_mm, 2) for spot in placed] == [round(right, 2)] * 2
    assert placed[0].x_mm == pytest.approx(GEOMETRY.music_left_mm + sp_to_mm(8, STAFF_MM))
    assert placed[1].x_mm == GEOMETRY.music_left_mm


def test_a_movement_title_has_its_room():
    plain = place_systems([system()] * 5, GEOMETRY, STAFF_MM, first=False)
    titled = place_systems(
        [system()] * 5, GEOMETRY, STAFF_MM, first=False, heads_mm=(0, 0, 9.0, 0, 0), widest_sp=1
    )
    assert titled[2].ink_top_mm - titled[1].ink_bottom_mm == pytest.approx(
        9.0 + sp_to_mm(MIN_GAP_SP, STAFF_MM)
    )
    assert plain[-1].bottom_mm >= titled[-1].bottom_mm


def test_too_many_systems_are_refused_by_how_much_they_overflow():
    page = [system()] * 8
    assert overflow_mm(page, GEOMETRY, STAFF_MM, first=False) > 0
    with pytest.raises(PageOverflowError, match="mm too high"):
        place_systems(page, GEOMETRY, STAFF_MM, first=False)


def test_the_first_page_holds_less_by_its_title_block():
    page = [system()] * 5
    difference = overflow_mm(page, GEOMETRY, STAFF_MM, True) - overflow_mm(page, GEOMETRY, STAFF_MM, False)
    assert difference == pytest.approx(GEOMETRY.title_block_mm())


def test_the_last_page_is_set_like_the_one_before():
    before = place_systems([system()] * 5, GEOMETRY, STAFF_MM, first=False)
    last = place_systems([system()] * 2, GEOMETRY, STAFF_MM, False, widest_sp=widest_distance_sp(before))
    assert distances(last)[0] == pytest.approx(distances(before)[0])


def test_gaps_give_way_only_as_far_as_the_page_needs():
    room = GEOMETRY.music_height_mm(False)
    count = next(n for n in range(2, 40) if overflow_mm([system()] * n, GEOMETRY, STAFF_MM, False) > 0) - 1
    spare = room - stack_height_mm(
        [SystemExtent(s.above_sp, s.staves_sp, s.below_sp) for s in [system()] * count], STAFF_MM, MIN_GAP_SP
    )
    grown = replace(system(), below_sp=system().below_sp + (spare + 1.0) / sp_to_mm(1, STAFF_MM))
    placed = place_systems([*[system()] * (count - 1), grown], GEOMETRY, STAFF_MM, first=False)
    gaps = [lower.ink_top_mm - upper.ink_bottom_mm for upper, lower in pairwise(placed)]
    assert min(gaps) == pytest.approx(sp_to_mm(MIN_GAP_SP, STAFF_MM) - 1.0 / (count - 1))
    assert placed[-1].ink_bottom_mm == pytest.approx(GEOMETRY.music_top_mm(False) + room)


extents = st.tuples(st.floats(0, 12), st.floats(0, 12), st.floats(4, 40))


@settings(max_examples=150, deadline=None)
@given(
    page=st.lists(extents, min_size=1, max_size=9),
    first=st.booleans(),
    gap_sp=st.sampled_from([MIN_GAP_SP, ONE_STAFF_GAP_SP]),
)
def test_ink_stays_in_the_box_and_keeps_its_distance(page, first, gap_sp):
    systems = [system(*extent) for extent in page]
    geometry = replace(GEOMETRY, gap_sp=gap_sp)
    if overflow_mm(systems, geometry, STAFF_MM, first) > 0:
        return
    placed = place_systems(systems, geometry, STAFF_MM, first)
    top = GEOMETRY.music_top_mm(first)
    assert placed[0].ink_top_mm >= top - 1e-6
    assert placed[-1].ink_bottom_mm <= top + GEOMETRY.music_height_mm(first) + 1e-6
    for upper, lower in pairwise(placed):
        assert lower.ink_top_mm - upper.ink_bottom_mm >= sp_to_mm(0.7 * gap_sp, STAFF_MM) - 1e-6
