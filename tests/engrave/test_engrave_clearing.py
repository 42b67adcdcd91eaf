"""Dynamics, words, hairpins and rests move off what the library prints them on, and stay with their staves."""

from dataclasses import replace

import pytest

from optimizer.engrave.clearing import CLEF_WHITE_SP, REACH_SP, cleared
from optimizer.engrave.ground import BESIDE_SP, CLEAR_SP
from optimizer.engrave.hairpins import GAP_SP as HAIRPIN_GAP_SP
from optimizer.engrave.hairpins import LEAST_SP as HAIRPIN_LEAST_SP
from optimizer.engrave.hairpins import MOUTH_SP
from optimizer.engrave.model import Glyph, Item, Path, Text
from optimizer.engrave.nearer import LETTERS_SP, WHITE_SP
from optimizer.engrave.outlines import Box, Segment, rectangle, segments_box
from optimizer.engrave.resting import BESIDE_CLEF_SP
from optimizer.engrave.strips import moved, strips
from optimizer.engrave.svg import Group, PageSystem

Drawn = tuple[str, Item, Box]


def words(left: float, top: float, width: float = 4.0) -> Drawn:
    item = Text(left, top + 1.5, 2.0, "start", "serif", False, True, "legato")
    return "dir", item, (left, top, left + width, top + 1.5)


def dynamic(left: float, top: float) -> Drawn:
    return "dynam", Glyph("p", (1.0, 0.0, 0.0, 1.0, left, top)), (left, top, left + 2.0, top + 1.5)


def outline(kind: str, *segments: Segment) -> Drawn:
    return kind, Path(segments, True, 0.0), segments_box(segments)


def block(kind: str, left: float, top: float, right: float, bottom: float) -> Drawn:
    return outline(kind, *rectangle(left, top, right - left, bottom - top))


def hairpin(left: float, right: float, top: float = 6.0) -> Drawn:
    item = Path((("M", right, top), ("L", left, top + 0.5), ("L", right, top + 1.0)), False, 0.0)
    return "hairpin", item, (left, top, right, top + 1.0)


def beam(left: float, right: float, start: float, end: float) -> Drawn:
    corners: tuple[Segment, ...] = (
        ("M", left, start), ("L", right, end), ("L", right, end + 0.5), ("L", left, start + 0.5), ("Z",)
    )  # fmt: skip
    return outline("beamSpan", *corners)


BRACE = block("grpSym", -2, -1, -1, 20)


def page(*drawn: Drawn) -> PageSystem:
    """Three staves, 10 spaces apart; the upper two are 0 to 4 and 14 to 18."""
    kinds, items, boxes = zip(*drawn, strict=True)
    groups = tuple(Group(kind, index) for index, kind in enumerate(kinds))
    return PageSystem(1, items, boxes, groups, (0.0, 14.0, 28.0), (4.0, 18.0, 32.0), 100.0, (100.0,))


def tops(system: PageSystem) -> list[float]:
    return [box[1] for box in system.boxes]


def test_what_stands_clear_stays() -> None:
    system = page(dynamic(10, 6), words(13, 6), hairpin(20, 30), block("notehead", 10, 4.2, 11.2, 5.2))
    assert cleared(system) is system


@pytest.mark.parametrize("sign", [words(10, 6), dynamic(10, 6), hairpin(10, 20)])
def test_a_sign_moves_off_a_slur_by_the_shortest_way(sign: Drawn) -> None:
    system = cleared(page(sign, block("slur", 5, 5.9, 25, 6.3)))
    assert system.boxes[0][1] == pytest.approx(6.3 + CLEAR_SP)
    assert system.boxes[0][3] - system.boxes[0][1] == pytest.approx(sign[2][3] - sign[2][1])
    assert system.boxes[1] == (5, 5.9, 25, 6.3)
    upwards = cleared(page(sign, block("slur", 5, sign[2][3] - 0.3, 25, 8)))
    assert upwards.boxes[0][3] == pytest.approx(sign[2][3] - 0.3 - CLEAR_SP)


def test_the_item_moves_with_its_box() -> None:
    system = cleared(page(words(10, 6), dynamic(20, 6), block("slur", 5, 5.5, 25, 6.3)))
    text, glyph = system.items[:2]
    assert isinstance(text, Text)
    assert text.y_sp == pytest.approx(system.boxes[0][3])
    assert isinstance(glyph, Glyph)
    assert glyph.matrix[5] == pytest.approx(system.boxes[1][1])


def test_a_slanted_beam_leaves_its_corners_free() -> None:
    falling = beam(10, 30, 5, 12)
    assert cleared(page(words(24, 6), falling)).boxes[0][1] == 6
    assert cleared(page(words(13, 6), falling)).boxes[0][1] != 6
    covered = strips(falling[1], falling[2])
    assert (covered[0][0], covered[-1][2]) == pytest.approx((10, 30))
    assert (covered[0][1], covered[-1][3]) == pytest.approx((5, 12.5))
    assert max(bottom - top for _, top, _, bottom in covered) < 1.0


def test_a_slur_is_covered_where_it_is() -> None:
    arch = outline("slur", ("M", 0, 5), ("C", 5, 1, 15, 1, 20, 5), ("C", 15, 1.5, 5, 1.5, 0, 5))
    covered = strips(arch[1], arch[2])
    assert min(top for _, top, _, _ in covered) == pytest.approx(2.0, abs=0.1)
    middle = covered[len(covered) // 2]
    assert middle[3] == pytest.approx(2.375, abs=0.1)  # the lower edge is highest at 5 - 3/4 * 3.5


def test_beams_that_fill_a_pianists_staves_send_words_outside() -> None:
    filled = [beam(5, 25, top, top) for top in (4.8, 6.4, 8.0, 9.6, 11.2, 12.8)]
    moved = cleared(page(words(10, 6), *filled, BRACE)).boxes[0]
    assert moved[3] == pytest.approx(-CLEAR_SP)
    unbraced = page(words(10, 6), *filled)
    assert cleared(unbraced).boxes[0] == unbraced.boxes[0]  # the words of another part may not come so near
    bracket = ("grpSym", Glyph("tip", (1, 0, 0, 1, -2, -1)), (-2.0, -2.0, -1.0, 20.0))
    assert cleared(page(words(10, 6), *filled, bracket)).boxes[0] == unbraced.boxes[0]


def test_nothing_moves_farther_than_it_can_be_read_or_onto_a_staff() -> None:
    blocked = page(words(10, 6), block("slur", 5, 4.1, 25, 7.5 + REACH_SP))
    assert tops(cleared(blocked)) == tops(blocked)


def test_a_letter_moves_aside_where_the_way_up_or_down_is_long() -> None:
    steep = block("slur", 11.5, 4.2, 11.7, 9.0)
    assert cleared(page(dynamic(10, 6), steep)).boxes[0] == (9.0, 6.0, 11.0, 7.5)
    blocked = page(dynamic(10, 6), steep, block("stem", 9.2, 4.2, 9.4, 9.0))
    assert cleared(blocked).boxes[0][:2] == (12.0, 6.0)
    barred = replace(page(dynamic(10, 6), steep), barlines_sp=(9.5, 100.0))
    assert cleared(barred).boxes[0] == (12.0, 6.0, 14.0, 7.5)
    line = page(hairpin(10, 20), block("slur", 19.5, 4.2, 19.9, 9.0))
    assert cleared(line).boxes[0] == line.boxes[0]


def test_between_the_staves_of_one_part_a_sign_may_stand_anywhere() -> None:
    thick = block("slur", 5, 4.2, 25, 10.0)
    assert cleared(page(dynamic(10, 6), thick, BRACE)).boxes[0][1] == pytest.approx(10.0 + CLEAR_SP)
    assert cleared(page(dynamic(10, 6), thick)).boxes[0][1] == 6


def test_a_trill_stays_by_its_note() -> None:
    trill = ("trill", *dynamic(10, -3)[1:])
    assert cleared(page(trill, block("slur", 5, -2, 25, -1.8))).boxes[0][3] == pytest.approx(-2 - CLEAR_SP)
    between = ("trill", *dynamic(10, 6)[1:])
    assert cleared(page(between, block("slur", 5, 4.2, 25, 10.0), BRACE)).boxes[0][1] == 6


def test_signs_that_move_do_not_meet() -> None:
    system = cleared(page(words(10, 6), words(11, 8), block("slur", 5, 5.9, 25, 6.3)))
    first, second = system.boxes[:2]
    assert second[1] >= first[3]


def test_hairpins_end_before_what_comes_next() -> None:
    system = cleared(page(hairpin(10, 20), dynamic(19.5, 5.8), hairpin(21, 30), hairpin(29.5, 35)))
    first, _, second, third = system.boxes
    assert first[2] == pytest.approx(19.5 - HAIRPIN_GAP_SP)
    assert first[0] == 10
    assert second[0] == pytest.approx(21.5 + HAIRPIN_GAP_SP)
    assert second[2] == pytest.approx(third[0] - HAIRPIN_GAP_SP)
    path = system.items[0]
    assert isinstance(path, Path)
    assert segments_box(path.segments) == pytest.approx(first)


def test_a_hairpin_too_short_to_cut_stays() -> None:
    short = page(hairpin(10, 12.2), dynamic(11.8, 5.8))
    assert cleared(short).boxes[0][2] == 12.2


def speck(right: float, high: float) -> Drawn:
    segments = (("M", right, 6.0 + high), ("L", 10.0, 6.0 + high / 2), ("L", right, 6.0))
    return "hairpin", Path(segments, False, 0.1), (10.0, 6.0, right, 6.0 + high)


@pytest.mark.parametrize("high", [0.2, 0.0])
def test_a_hairpin_that_would_be_a_speck_is_opened(high: float) -> None:
    system = cleared(page(speck(10.3, high)))
    item, (left, top, right, bottom) = system.items[0], system.boxes[0]
    assert isinstance(item, Path)
    assert (left, right) == pytest.approx((10.0, 10.0 + HAIRPIN_LEAST_SP), abs=0.1)
    assert (top, bottom) == pytest.approx((6.0, 6.0 + MOUTH_SP), abs=0.1)
    assert item.segments[1][1] < item.segments[0][1]  # it still opens to the right
    at_the_edge = replace(page(speck(10.3, high)), right_sp=10.5)
    assert cleared(at_the_edge).boxes[0][2] == pytest.approx(10.5, abs=0.1)


def test_a_hairpin_of_no_length_stays() -> None:
    nowhere = page(speck(10.0, 0.0))
    assert cleared(nowhere) is nowhere


def rest(top: float, name: str = "E4E5") -> Drawn:  # SMuFL: restQuarter
    return "rest", Glyph(name, (1.0, 0.0, 0.0, 1.0, 20.0, top)), (20.0, top, 21.1, top + 3.0)


def test_a_rest_moves_off_a_note_by_whole_spaces() -> None:
    """So that it keeps its place between the lines; by the shortest way, and clear of what else is there."""
    note = block("notehead", 20.0, 2.0, 21.2, 3.0)
    assert tops(cleared(page(rest(0.5), note)))[0] == pytest.approx(-1.5)
    assert tops(cleared(page(rest(1.5), note)))[0] == pytest.approx(3.5)
    crowded = page(rest(0.5), note, block("beam", 18.0, -2.0, 26.0, -1.5))
    assert tops(cleared(crowded))[0] == pytest.approx(3.5)


def test_the_dots_of_a_rest_move_with_it() -> None:
    note, dot = block("notehead", 20.0, 2.0, 21.2, 3.0), block("dots", 21.6, 1.0, 22.0, 1.4)
    system = cleared(page(rest(0.5), dot, note))
    assert tops(system)[:2] == pytest.approx([-1.5, -1.0])
    other = cleared(page(rest(0.5), note, dot))  # the dot of the note
    assert tops(other)[2] == pytest.approx(1.0)


def test_a_rest_without_room_stays() -> None:
    walled = page(rest(0.5), block("beam", 18.0, -7.0, 26.0, 13.0))
    assert cleared(walled) is walled


def test_a_rest_moves_off_a_stem_however_thin() -> None:
    """Aside where that is the shorter way; one for a whole bar stays in its middle."""
    stem = block("stem", 20.0, -0.5, 20.1, 5.0)
    system = cleared(page(rest(0.5), stem))
    assert system.boxes[0][:2] == pytest.approx((20.1 + BESIDE_SP, 0.5))
    assert tops(cleared(page(rest(0.5), block("stem", 20.0, 3.2, 20.1, 6.7))))[0] == pytest.approx(-0.5)
    whole_bar = ("mRest", *half_rest(-2.0, "E4E3")[1:])
    moved = cleared(page(whole_bar, block("stem", 20.0, -2.8, 20.1, 5.0)))
    assert moved.boxes[0][0] == 20.0
    assert moved.boxes[0][3] <= -2.8 - CLEAR_SP


def half_rest(
    top: float, name: str = "E4E4"
) -> Drawn:  # SMuFL: restHalf sits on a line, restWhole hangs from one
    return "rest", Glyph(name, (1.0, 0.0, 0.0, 1.0, 20.0, top)), (20.0, top, 21.2, top + 0.5)


def test_a_half_rest_takes_its_line_along_or_gets_one_outside_the_staff() -> None:
    line = block("ledgerLines", 19.7, 4.9, 21.5, 5.1)
    note = block("notehead", 20.0, 4.0, 21.2, 5.0)
    system = cleared(page(half_rest(4.5), line, note))
    (_, _, _, bottom), ledger = system.boxes[:2]
    assert bottom == pytest.approx(6.0)
    assert ledger == pytest.approx((19.7, 5.9, 21.5, 6.1))
    inside = cleared(page(half_rest(3.5), block("notehead", 20.0, 3.0, 21.2, 4.0)))
    assert len(inside.items) == len(inside.boxes) == len(inside.groups) == 3
    assert (inside.boxes[2][1] + inside.boxes[2][3]) / 2 == pytest.approx(inside.boxes[0][3])
    assert not 0 <= inside.boxes[0][3] <= 4
    onto_a_line = cleared(page(half_rest(1.5), block("notehead", 20.0, 1.0, 21.2, 2.0)))
    assert onto_a_line.boxes[0][3] == pytest.approx(3.0)
    assert len(onto_a_line.items) == 2


def barline(x: float) -> Drawn:
    return block("barLine", x, 0.0, x + 0.2, 4.0)


def test_a_rest_for_a_bar_stands_in_the_middle_of_what_a_clef_leaves() -> None:
    whole_bar = ("mRest", *half_rest(1.0, "E4E3")[1:])
    clef, fermata = block("clef", 24.0, 0.2, 26.0, 3.5), block("fermata", 19.5, -2.0, 21.7, -0.8)
    others = block("fermata", 19.5, 26.0, 21.7, 27.2)  # over the lowest staff, which has no clef there
    system = cleared(page(whole_bar, barline(14.0), barline(28.0), clef, fermata, others))
    assert system.boxes[0][0] == pytest.approx(20.0 - (28.0 - 24.0) / 2)
    assert system.boxes[4][0] == pytest.approx(19.5 - (28.0 - 24.0) / 2)
    assert system.boxes[5] == others[2]
    overleaf = page(whole_bar, barline(14.0), barline(23.0), clef)  # of the next bar
    assert cleared(overleaf) is overleaf
    below = page(whole_bar, barline(14.0), barline(28.0), block("clef", 24.0, 14.2, 26.0, 17.5))
    assert cleared(below) is below


def test_a_rest_for_several_bars_ends_before_a_clef() -> None:
    drawn = [
        block("multiRest", 10.0, 1.5, 20.0, 2.5),
        block("multiRest", 10.0, 1.0, 10.2, 3.0),
        block("multiRest", 19.8, 1.0, 20.0, 3.0),
        ("multiRestNum", Glyph("E085", (1, 0, 0, 1, 14.0, -2.5)), (14.0, -2.5, 16.0, -0.5)),
        (
            "multiRestNum",
            Glyph("E085", (1, 0, 0, 1, 14.0, 25.5)),
            (14.0, 25.5, 16.0, 27.5),
        ),  # of the lowest staff
    ]
    kinds = page(*drawn, barline(22.0), block("clef", 18.0, 0.2, 20.0, 3.5))
    group = Group("multiRest", 0)
    system = cleared(replace(kinds, groups=(group, group, group, *kinds.groups[3:])))
    end = 18.0 - BESIDE_CLEF_SP
    assert system.boxes[0] == pytest.approx((10.0, 1.5, end, 2.5))
    assert system.boxes[1] == drawn[1][2]
    assert system.boxes[2] == pytest.approx((end - 0.2, 1.0, end, 3.0))
    assert system.boxes[3][0] == pytest.approx(14.0 - (20.0 - end) / 2)
    assert system.boxes[4] == drawn[4][2]


def test_a_clef_stands_beside_arpeggios_and_beams() -> None:
    clef = block("clef", 24.0, 0.2, 26.0, 3.5)
    arpeggio = block("arpeg", 24.4, -8.0, 24.8, 4.0)
    assert cleared(page(clef, arpeggio)).boxes[0][2] == pytest.approx(24.4 - CLEF_WHITE_SP)
    assert cleared(page(clef, block("stem", 24.1, -8.0, 24.2, 1.0))).boxes[0][0] == pytest.approx(
        24.2 + CLEF_WHITE_SP
    )
    between = page(
        clef, arpeggio, block("notehead", 21.5, 1.0, 22.7, 2.0), block("notehead", 25.2, 1.0, 26.4, 2.0)
    )
    assert cleared(between) is between


def below(drawn: Drawn, top: float) -> Drawn:
    """A sign under the last staff, which ends at 32."""
    kind, item, box = drawn
    return kind, moved(item, 0.0, top - box[1]), (box[0], top, box[2], top + box[3] - box[1])


def test_signs_far_below_a_system_come_nearer() -> None:
    """All signs side by side on a level together; the note over one of them keeps all of them away."""
    far = page(below(dynamic(10, 0), 40.0), below(hairpin(13, 25), 40.2), below(dynamic(60, 0), 40.0))
    assert tops(cleared(far)) == pytest.approx([33.0, 33.2, 33.0])
    note = block("notehead", 20.0, 35.0, 21.2, 36.0)
    held = tops(cleared(page(below(dynamic(10, 0), 40.0), below(hairpin(13, 25), 40.2), note)))
    assert held[1] - held[0] == pytest.approx(0.2)
    assert 35.5 < held[0] < 37.0
    assert tops(cleared(page(below(dynamic(60, 0), 34.9), note)))[0] == pytest.approx(34.9)  # near enough
    above = page(dynamic(10, -8.0))
    assert cleared(above) is above


def test_the_dashes_behind_words_stay_out_of_the_notes() -> None:
    """Between notes they would read as marks of theirs: tenuto."""
    letters, dash = below(words(10, 0), 40.0), block("dir", 30.0, 41.4, 30.6, 41.5)
    note = block("notehead", 20.0, 36.0, 21.2, 37.0)
    system = page(letters, dash, note)
    together = replace(system, groups=(Group("dir", 0), Group("dir", 0), Group("notehead", 1)))
    boxes = cleared(together).boxes
    assert boxes[0][1] == pytest.approx(37.0 + WHITE_SP)
    assert boxes[1][1] - boxes[0][1] == pytest.approx(1.4)
    dashes = page(
        dash, block("dir", 40.0, 41.4, 40.6, 41.5), note, block("tupletNum", 30.0, 35.0, 31.0, 36.0)
    )
    going_on = replace(dashes, groups=(Group("dir", 0), Group("dir", 0), *dashes.groups[2:]))
    assert cleared(going_on).boxes[0][3] == pytest.approx(36.0 + WHITE_SP + LETTERS_SP)


def test_a_rest_moves_off_a_slur() -> None:
    crossed = page(rest(0.5), block("slur", 15.0, 0.4, 25.0, 0.8))
    assert tops(cleared(crossed))[0] == pytest.approx(1.5)
