"""What would overprint or stick out is put right on the display list; notes stay where they are."""

from dataclasses import replace

import pytest

from optimizer.engrave.model import Glyph, Item, Path, Text
from optimizer.engrave.outlines import Box, rectangle, segments_box
from optimizer.engrave.overlaps import (
    LEAST_HYPHEN_SP,
    OVER_BARLINE_SP,
    RINGING_BESIDE_SP,
    RINGING_SP,
    STUBS_SP,
    WHITE_SP,
    WORDS_WHITE_SP,
    without_overlaps,
)
from optimizer.engrave.svg import Group, PageSystem

RIGHT_SP = 100.0


def glyph(left: float, top: float, width: float = 2.0, height: float = 1.5) -> tuple[Item, Box]:
    return Glyph("x", (1.0, 0.0, 0.0, 1.0, left, top)), (left, top, left + width, top + height)


def words(left: float, baseline: float, width: float) -> tuple[Item, Box]:
    item = Text(left, baseline, 2.0, "start", "serif", False, True, "words")
    return item, (left, baseline - 1.5, left + width, baseline)


def stroke(left: float, top: float, width: float) -> tuple[Item, Box]:
    return Path(tuple(rectangle(left, top, width, 0.2)), True, 0.0), (left, top, left + width, top + 0.2)


def page(*drawn: tuple[str, tuple[Item, Box]], barlines: tuple[float, ...] = (50.0, RIGHT_SP)) -> PageSystem:
    return PageSystem(
        measures=len(barlines),
        items=tuple(item for _, (item, _) in drawn),
        boxes=tuple(box for _, (_, box) in drawn),
        groups=tuple(Group(kind, index) for index, (kind, _) in enumerate(drawn)),
        staff_tops_sp=(0.0, 14.0),
        staff_bottoms_sp=(4.0, 18.0),
        right_sp=RIGHT_SP,
        barlines_sp=barlines,
    )


def test_dynamics_that_would_read_as_another_move_apart() -> None:
    crowded = page(("dynam", glyph(10, 6)), ("dynam", glyph(11.5, 6)), ("notehead", glyph(12, 1)))
    first, second, note = without_overlaps(crowded).boxes
    assert first == crowded.boxes[0]
    assert note == crowded.boxes[2]
    assert second == (first[2] + WHITE_SP, 6, first[2] + WHITE_SP + 2, 7.5)


def test_a_dynamic_moves_down_where_it_would_leave_its_bar() -> None:
    left = 50 - 2 + OVER_BARLINE_SP - 0.1
    crowded = page(("dynam", glyph(left - 0.5, 6)), ("dynam", glyph(left, 6)))
    first, second = without_overlaps(crowded).boxes
    assert second[0] == left
    assert second[1] == first[3] + WHITE_SP


def test_dynamics_with_room_stay() -> None:
    roomy = page(("dynam", glyph(10, 6)), ("dynam", glyph(13, 6)), ("dynam", glyph(10, 20)))
    assert without_overlaps(roomy) == roomy


def test_a_dynamic_may_stand_close_below_another_but_not_at_its_corner() -> None:
    below = page(("dynam", glyph(10, 6)), ("dynam", glyph(10.2, 7.8)))
    assert without_overlaps(below) == below
    corner = page(("dynam", glyph(10, 6)), ("dynam", glyph(11.9, 7.8)))
    assert without_overlaps(corner).boxes[1][0] == 12 + WHITE_SP


@pytest.mark.parametrize("kind", ["reh", "fermata"])
def test_words_that_begin_at_a_rehearsal_mark_or_a_fermata_move_off_it(kind: str) -> None:
    frame = (kind, stroke(10, -4, 2.5))
    tempo = ("tempo", words(12.6, -3.0, 8.0))
    mark, moved = without_overlaps(page(frame, tempo)).boxes
    assert mark == frame[1][1]
    assert moved[0] == pytest.approx(mark[2] + WHITE_SP)
    for left, baseline in ((13.1, -3.0), (12.6, -5.0), (10.2, -3.0)):  # with room; higher; meant to be there
        other = page(frame, ("tempo", words(left, baseline, 8.0)))
        assert without_overlaps(other).boxes[1] == other.boxes[1]


def test_words_side_by_side_are_parted() -> None:
    first, second = without_overlaps(
        page(("dir", words(10, -3.0, 8.0)), ("dir", words(18.2, -2.5, 4.0)))
    ).boxes
    assert (first[0], second[0]) == (10, pytest.approx(first[2] + WORDS_WHITE_SP))
    over = page(("dir", words(10, -5.0, 8.0)), ("dir", words(18.2, -2.5, 4.0)))
    assert without_overlaps(over) == over


def test_words_end_at_the_right_edge_unless_something_is_in_the_way() -> None:
    out = page(("dir", words(95, -2, 8)))
    assert without_overlaps(out).boxes[0][2] == RIGHT_SP
    moved = without_overlaps(out).items[0]
    assert isinstance(moved, Text)
    assert moved.x_sp == 92
    blocked = page(("dir", words(95, -2, 8)), ("notehead", glyph(92.5, -3)))
    assert without_overlaps(blocked) == blocked


def test_endings_stand_over_the_top_staff_only() -> None:
    twice = page(("voltaBracket", stroke(20, -4, 20)), ("voltaBracket", stroke(20, 11, 20)))
    kept = without_overlaps(twice)
    assert kept.boxes == twice.boxes[:1]
    assert len(kept.items) == len(kept.groups) == 1


def test_a_hairpin_that_ends_at_the_first_note_leaves_no_tip() -> None:
    """By eye: a tip shorter than two spaces looks like an accent; longer ones, and short ones elsewhere, stay."""
    head = ("notehead", glyph(8.0, 0.0))
    tip, longer, inside = (
        ("hairpin", stroke(left, 6.0, width)) for left, width in ((7, 1.2), (5, 4), (9, 1.2))
    )
    assert len(without_overlaps(page(head, tip)).items) == 1
    assert len(without_overlaps(page(head, longer)).items) == 2
    assert len(without_overlaps(page(head, inside)).items) == 2


def slur(left: float, start: float, right: float, end: float) -> tuple[Item, Box]:
    middle = (left + right) / 2, (start + end) / 2
    segments = (("M", left, start), ("C", *middle, *middle, right, end), ("C", *middle, *middle, left, start))
    return Path(segments, True, 0.1), (left, min(start, end), right, max(start, end))


def test_one_dash_of_words_in_the_system_before_is_left_out() -> None:
    head = ("notehead", glyph(10.0, 1.0))
    alone = page(head, ("dynam", stroke(12.0, 6.0, 0.6)), ("syl", stroke(30.0, 6.0, 1.0)))
    assert [group.kind for group in without_overlaps(alone).groups] == ["notehead", "syl"]
    together = page(head, ("dynam", stroke(12.0, 6.0, 0.6)), ("dynam", stroke(20.0, 6.0, 0.6)))
    going_on = replace(together, groups=(Group("notehead", 0), Group("dynam", 1), Group("dynam", 1)))
    assert without_overlaps(going_on) == going_on


def test_a_slur_from_another_staff_comes_in_over_the_notes() -> None:
    """Slurs stay outside the notes that they hold together (common practice, no source)."""
    heads = [("notehead", glyph(left, 1.0, 1.2, 1.0)) for left in (10.0, 20.0, 30.0)]
    coming = without_overlaps(page(*heads, ("slur", slur(6.0, 16.0, 40.0, 0.5))))
    assert coming.boxes[-1][3] < 1.0
    assert (coming.boxes[-1][0], coming.boxes[-1][2]) == pytest.approx((6.0, 40.0))
    for other in (
        slur(6.0, 3.0, 40.0, 0.5),
        slur(12.0, 16.0, 40.0, 0.5),
    ):  # of one staff; begun in this system
        kept = without_overlaps(page(*heads, ("slur", other))).items[-1]
        assert isinstance(kept, Path)
        assert isinstance(other[0], Path)
        assert [part[-2:] for part in kept.segments] == [part[-2:] for part in other[0].segments]


def test_a_slur_that_ends_at_once_is_long_enough_to_be_seen() -> None:
    head = ("notehead", glyph(10.0, 1.0, 1.2, 1.0))
    left, top, right, bottom = without_overlaps(page(head, ("slur", slur(9.5, 16.0, 10.0, 0.5)))).boxes[-1]
    assert right - left >= 2.0
    assert bottom - top < 2.0


def test_what_comes_in_to_the_first_note_is_long_enough_to_be_seen() -> None:
    """It keeps its end, and stays clear of clef and key; what begins in the system is as short as its notes stand."""
    head, flat = ("notehead", glyph(10.0, 1.0, 1.2, 1.0)), ("keyAccid", glyph(7.2, 1.0, 1.0, 2.5))
    free = without_overlaps(page(head, flat, ("slur", slur(8.9, 5.5, 9.6, 4.5)))).boxes[-1]
    assert (free[0], free[2]) == pytest.approx((9.6 - STUBS_SP[0], 9.6))
    assert (free[1], free[3]) == pytest.approx((4.5, 5.5), abs=0.2)
    beside = without_overlaps(page(head, flat, ("tie", stroke(8.9, 2.0, 0.7)))).boxes[-1]
    assert (beside[0], beside[2]) == pytest.approx((9.6 - STUBS_SP[-1], 9.6))
    later = page(("notehead", glyph(5.0, 1.0)), head, ("slur", slur(8.9, 5.5, 9.6, 4.5)))
    assert without_overlaps(later) == later


def test_frames_hold_all_of_their_words() -> None:
    """By eye: white on both sides."""
    item, box = words(10.5, -2.0, 8.0)
    frame = Path((*rectangle(10.0, -4.0, 8.5, 2.5),), False, 0.1)
    framed = page(("dir", (frame, (9.95, -4.05, 18.55, -1.45))), ("dir", (item, box)))
    together = replace(framed, groups=(Group("dir", 0), Group("dir", 0)))
    (left, _, right, _), letters = without_overlaps(together).boxes
    assert right - letters[2] == pytest.approx(letters[0] - left)
    alone = without_overlaps(framed).boxes[0]  # the words are others; they are only kept apart
    assert (alone[0], alone[2]) == (9.95, 18.55)


def test_lyric_lines_end_at_the_edge_and_short_ones_go() -> None:
    syllable = ("syl", words(90, 7, 3))
    lines = page(
        syllable, ("syl", stroke(94, 6.8, 9)), ("syl", stroke(60, 6.8, 0.5)), ("syl", stroke(40, 6.2, 0.5))
    )
    kept = without_overlaps(lines)
    assert [box[0] for box in kept.boxes] == [
        90,
        94,
        40,
    ]  # the short extender is gone, the short hyphen stays
    assert kept.boxes[1][2] == RIGHT_SP
    hyphen = without_overlaps(page(syllable, ("syl", stroke(RIGHT_SP - 0.3, 6.2, 1.2))))
    assert hyphen.boxes[1][2] == RIGHT_SP - 0.3 + LEAST_HYPHEN_SP


def tie(left: float, right: float, y: float, depth: float) -> tuple[Item, Box]:
    """As the library draws them; the deepest point of a cubic is at three quarters of its control points."""
    segments = (
        ("M", right, y),
        ("C", right, y + depth, left, y + depth, left, y),
        ("C", left, y + depth, right, y + depth, right, y),
    )
    return Path(segments, True, 0.05), (left, min(y, y + depth * 0.75), right, max(y, y + depth * 0.75))


def test_ties_to_nothing_are_long_enough_to_be_seen() -> None:
    ties = (tie(40, 40.1, 1, -0.9), tie(60, 60.1, 5, 0.9), tie(80, 83, 1, -0.9), tie(99, 99.1, 1, -0.9))
    drawn = page(*(("lv", one) for one in ties))
    system = without_overlaps(drawn)
    up, down, long, last = (segments_box(item.segments) for item in system.items if isinstance(item, Path))
    assert (up[0], up[2], up[3]) == (40, 40 + RINGING_SP, 1)
    assert (down[0], down[2], down[1]) == (60, 60 + RINGING_SP, 5)
    assert 0.3 < 1 - up[1] < 1
    assert 0.3 < down[3] - 5 < 1
    assert system.items[2] == drawn.items[2]
    assert (long[0], long[2]) == (80, 83)
    assert last[2] == system.boxes[3][2] == RIGHT_SP  # no farther than the staff


def test_ties_to_nothing_begin_beside_the_head_that_they_would_be_drawn_on() -> None:
    head = ("notehead", glyph(10.0, 1.0, 1.6, 1.0))
    within = without_overlaps(page(head, ("lv", stroke(10.8, 1.5, 0.8)))).boxes[1]
    assert within[0] > 11.6
    assert within[2] - within[0] == pytest.approx(RINGING_BESIDE_SP)
    over = without_overlaps(page(head, ("lv", stroke(10.8, 0.3, 2.5))))
    assert over.boxes[1][0] == 10.8


def test_nothing_else_is_touched() -> None:
    music = page(("notehead", glyph(99, 1)), ("slur", stroke(90, -3, 15)), ("beam", stroke(10, 9, 5)))
    assert without_overlaps(music) == music
