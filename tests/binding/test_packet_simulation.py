"""The folded set, simulated: what faces the player after each turn, whether paper can fold so, how thick it is."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import combinations, pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from optimizer.binding.packet import Packet, packet_of
from optimizer.binding.pose import BoundError, Edge, Fold, Joint, Pose, laid_flat, piled, swing
from optimizer.binding.seams import Role
from optimizer.binding.sheets import sheets_of
from optimizer.layout.plan import Plan, PlannedPage, SolverReport
from optimizer.settings import Settings


def plan_of(binding: str, sizes: Sequence[int], title: bool = False, blank: Sequence[int] = ()) -> Plan:
    """A plan with nothing but pages and spreads; odd pages right (MOLA guidelines)."""
    number = 2 if title or (len(sizes) > 1 and sizes[0] % 2 == 0) else 1
    spreads = []
    for size in sizes:
        spreads.append(tuple(range(number, number + size)))
        number += size
    pages = tuple(PlannedPage(n, (), n in blank) for spread in spreads for n in spread)
    report = SolverReport("optimal", 0, 0, 0.0, {})
    return Plan(6.5, 4, binding, "", pages, tuple(spreads), (), (), report, outside_title=title)


def folded(binding: str, sizes: Sequence[int], title: bool = False) -> Packet:
    plan = plan_of(binding, sizes, title)
    return packet_of(plan, sheets_of(plan, Settings(binding=binding)))


def numbers(packet: Packet, pose: Pose, column: int) -> list[tuple[int | None, int | None]]:
    """Upper and lower side of what lies in a column, from the top; None: white or without a number."""
    return [
        tuple(side.number if side else None for side in (packet.shown(placed), packet.hidden(placed)))
        for placed in reversed(pose.column(column))
    ]


def facing(packet: Packet, pose: Pose) -> list[int | None]:
    """What faces the player, left to right."""
    return [side.number if (side := packet.shown(placed)) else None for placed in pose.top()]


# --- paper does not pass through paper: checked on the poses alone, without the way they were reached -----------------


def crossings(pose: Pose, joints: Sequence[Joint]) -> Iterator[tuple[Joint, Joint]]:
    """Pairs of joints that cannot both be: the conditions of flat folding along a line (two folds on one side nest or
    stand apart; a flat joint passes no fold; two flat joints keep their order): Demaine & O'Rourke, Geometric Folding
    Algorithms, from memory."""
    level = {placed.panel: height for height, placed in enumerate(pose.stack)}
    place = pose.where()

    def ends(joint: Joint, line: int) -> dict[int, list[int]]:
        """Levels of the panels of a joint, by the column they lie in beside its line."""
        found: dict[int, list[int]] = {line - 1: [], line: []}
        for panel in (joint.left, joint.right):
            found[place[panel].column].append(level[panel])
        return {column: sorted(levels) for column, levels in found.items()}

    for a, b in combinations(joints, 2):
        line = place[a.left].edge_at(a.left_edge)
        if line != place[b.left].edge_at(b.left_edge):
            continue
        first, second = ends(a, line), ends(b, line)
        for column in (line - 1, line):
            here, there = first[column], second[column]
            if len(here) == len(there) == 2 and (
                here[0] < there[0] < here[1] < there[1] or there[0] < here[0] < there[1] < here[1]
            ):
                yield a, b
            for fold, flat in ((here, there), (there, here)):
                if len(fold) == 2 and len(flat) == 1 and fold[0] < flat[0] < fold[1]:
                    yield a, b
        flat = all(len(ends[column]) == 1 for ends in (first, second) for column in (line - 1, line))
        if flat and (first[line - 1] < second[line - 1]) != (first[line] < second[line]):
            yield a, b


def poses(packet: Packet) -> list[Pose]:
    moves = [swing.pose for swing in (*packet.folding, *packet.opening)]
    return [packet.flat, *moves, packet.packed, *(moment.pose for moment in packet.moments)]


def check_paper(packet: Packet) -> None:
    """Every pose holds together, passes through nothing, and folds as its seams say."""
    for pose in poses(packet):
        place = pose.where()
        assert sorted(place) == list(range(len(packet.panels)))
        for joint in packet.joints:
            a, b = place[joint.left], place[joint.right]
            assert a.edge_at(joint.left_edge) == b.edge_at(joint.right_edge)
        assert not list(crossings(pose, packet.joints))
        for seam in packet.seams:
            a, b = place[seam.left], place[seam.right]
            if a.column == b.column:
                fronts_meet = (pose.stack.index(a) < pose.stack.index(b)) == a.front_up
                assert fronts_meet == (seam.fold is Fold.VALLEY)
    assert len(packet.packed.columns) == 1  # one page large
    assert len(packet.packed.stack) == len(packet.panels)


def check_moments(packet: Packet, plan: Plan) -> None:
    """Exactly the planned pages face the player; besides them only fold-outs that lie out all the time."""
    outs = {
        packet.panels[panel].front.number
        for spread in packet.spreads
        for panel in (*spread.left_outs, *spread.right_outs)
    }
    beside = outs if len(plan.spreads) > 1 else set()
    assert len(packet.moments) == len(plan.spreads)
    for spread, moment in zip(plan.spreads, packet.moments, strict=True):
        seen = facing(packet, moment.pose)
        assert [number for number in seen if number in spread] == list(spread)
        assert set(seen) - set(spread) - {None} <= beside  # None: blanks that fill up a sheet
        if len(moment.pose.columns) <= 2 or packet.spreads:
            out = [placed for placed in moment.pose.stack if placed.column not in (-1, 0)]
            assert moment.left_layers + moment.right_layers + len(out) == len(packet.panels)
            assert packet.tucked or len(out) == len(outs)


single_sided = st.integers(2, 4).flatmap(
    lambda abreast: st.one_of(
        st.integers(1, abreast).map(lambda size: [size]),
        st.tuples(
            st.sampled_from(range(1, abreast + 1)), st.integers(0, 8), st.sampled_from(range(1, abreast + 1))
        )
        .map(lambda ends: [ends[0], *[2] * ends[1], ends[2]])
        .filter(lambda sizes: sum(sizes) <= 20),
    )
)
two_sided = st.one_of(
    st.tuples(st.booleans(), st.integers(0, 9), st.sampled_from([1, 2])).map(
        lambda drawn: (drawn[0], [2 if drawn[0] else 1, *[2] * drawn[1], drawn[2]])
    ),
    st.sampled_from([(False, [1]), (True, [2])]),  # one spread is all
)


@given(single_sided, st.sampled_from(["taped", "ring"]))
@settings(max_examples=150, deadline=None)
def test_strips_of_1_to_20_pages_fold_open_and_turn(sizes, binding):
    plan = plan_of(binding, sizes)
    packet = packet_of(plan, sheets_of(plan, Settings(binding=binding)))
    check_paper(packet)
    check_moments(packet, plan)
    for moment in packet.moments[1:]:  # a leaf is two pages back to back
        odd, even = sorted(moment.leaf)
        assert even == odd + 1
        assert {seam.left: seam.role for seam in packet.seams}[odd] is Role.LEAF


@given(two_sided, st.sampled_from(["stapled", "loose"]))
@settings(max_examples=100, deadline=None)
def test_two_sided_sets_open_and_turn_leaf_by_leaf(drawn, binding):
    title, sizes = drawn
    plan = plan_of(binding, sizes, title)
    packet = packet_of(plan, sheets_of(plan, Settings(binding=binding)))
    check_paper(packet)
    check_moments(packet, plan)
    assert all(len(moment.leaf) == 1 for moment in packet.moments[1:])
    sides = sum(sizes) + title
    if sides <= 2:
        assert (len(packet.panels), packet.joints, packet.folding, packet.folded_sheets) == (1, (), (), 0)
    elif binding == "stapled":
        assert len(packet.panels) % 2 == 0  # sides a multiple of four (imposition handouts)
        assert packet.folded_sheets == -(-sides // 4)


@pytest.mark.parametrize("sizes", [[1], [2], [3], [4]])
def test_loose_pages_on_one_spread_lie_side_by_side(sizes):
    plan = plan_of("loose", sizes)
    packet = packet_of(plan, sheets_of(plan, Settings(binding="loose")))
    check_moments(packet, plan)
    assert facing(packet, packet.moments[0].pose) == list(plan.spreads[0])
    assert packet.opening == ()


def test_a_concertina_of_eight_panels_has_four_valleys_and_three_mountains():
    """Bookbinding handout (facts.md): 7 folds, 4 valley and 3 mountain, first and last valley."""
    packet = folded("taped", [2, 2, 2, 2])
    folds = [seam.fold for seam in packet.seams]
    assert len(folds) == 7
    assert folds.count(Fold.VALLEY) == 4
    assert folds[0] is folds[-1] is Fold.VALLEY
    assert all(a is not b for a, b in pairwise(folds))


def test_the_folded_concertina_is_a_book_with_white_covers():
    packet = folded("taped", [2, 2, 2, 2])
    assert packet.outside == (None, None)
    expected = [(None, 2), (3, None), (None, 4), (5, None), (None, 6), (7, None), (None, 8), (9, None)]
    assert numbers(packet, packet.packed, 0) == expected


def test_eight_pages_are_nested_8_1_2_7_6_3_4_5():
    """Imposition handouts (facts.md): 8-1, 2-7, 6-3, 4-5."""
    packet = folded("stapled", [1, 2, 2, 2, 1])
    left, right = packet.flat.column(-1), packet.flat.column(0)
    inner = [(packet.shown(a).number, packet.shown(b).number) for a, b in zip(left, right, strict=True)]
    outer = [(packet.hidden(b).number, packet.hidden(a).number) for a, b in zip(left, right, strict=True)]
    assert outer == [(8, 1), (6, 3)]
    assert inner == [(2, 7), (4, 5)]
    assert numbers(packet, packet.packed, 0) == [(1, 2), (3, 4), (5, 6), (7, 8)]


@pytest.mark.parametrize(
    ("sizes", "outside"),
    [
        ([3, 2], (None, None)),
        ([2, 3], (None, None)),
        ([4, 2, 4], (None, None)),
        ([1, 2, 2], (1, None)),
        ([2, 2, 1], (None, 6)),
        ([1, 1], (1, 2)),
        ([3], (None, None)),
        ([4], (None, None)),
        ([1], (1, None)),
    ],
)
def test_the_outside_is_white_but_for_a_page_that_lies_alone(sizes, outside):
    packet = folded("taped", sizes)
    assert tuple(side.number if side else None for side in packet.outside) == outside


def test_thickness_moves_from_right_to_left_by_a_leaf():
    packet = folded("taped", [2, 2, 2])
    layers = [(moment.left_layers, moment.right_layers) for moment in packet.moments]
    assert layers == [(1, 5), (3, 3), (5, 1)]
    book = folded("stapled", [1, 2, 2, 2, 1])
    assert [(m.left_layers, m.right_layers) for m in book.moments] == [(0, 4), (1, 3), (2, 2), (3, 1), (4, 0)]


def test_fold_outs_lie_face_to_face_with_their_page_and_the_second_back_to_back():
    packet = folded("taped", [4, 2])
    folds = {(seam.left, seam.role): seam.fold for seam in packet.seams}
    assert folds[1, Role.FOLD_OUT] is Fold.VALLEY
    assert folds[0, Role.FOLD_OUT] is Fold.MOUNTAIN


def test_how_wide_the_set_lies_with_every_fold_out_open():
    """A fold-out of the last spread lies beside the first one too: it may not be unfolded while playing."""
    assert folded("taped", [3, 2]).most_abreast == 3
    assert folded("taped", [2, 3]).most_abreast == 3
    assert folded("taped", [3, 2, 3]).most_abreast == 4
    assert folded("taped", [3, 2, 3]).tucked == ()


@given(single_sided, st.sampled_from(["taped", "ring"]))
@settings(max_examples=60, deadline=None)
def test_no_set_is_ever_wider_than_its_desk(sizes, binding):
    """Where fold-outs of both ends have no room, those of the first spread are folded in first."""
    for abreast in range(max(2, *sizes), 5):
        plan = replace(plan_of(binding, sizes), pages_abreast=abreast)
        packet = packet_of(plan, sheets_of(plan, Settings(binding=binding)))
        check_paper(packet)
        check_moments(packet, plan)
        assert packet.most_abreast <= abreast


def test_how_many_fold_outs_are_folded_in_depends_on_the_room():
    """On a grand four abreast (common practice): 4 and 4 pages leave no room for either of the first fold-outs."""
    assert folded("taped", [4, 2, 4]).tucked == (0, 1)
    assert folded("taped", [4, 2, 3]).tucked == (0,)
    assert folded("taped", [3, 2, 4]).tucked == (0,)
    assert folded("taped", [4, 2]).tucked == ()


def test_paper_that_is_held_or_joined_elsewhere_does_not_move():
    joint = Joint(0, Edge.RIGHT, 1, Edge.LEFT)
    flat = laid_flat(range(2), 0)
    with pytest.raises(BoundError, match="joined away"):
        swing(flat, {1}, 2, [joint])
    with pytest.raises(BoundError, match="held down"):
        swing(piled(range(2)), {1}, 0, [])
    assert swing(flat, {1}, 1, [joint]).columns == (0,)


def test_the_crossing_check_sees_crossings():
    """Three panels folded so that the third passes through the first fold."""
    joints = [
        Joint(0, Edge.RIGHT, 1, Edge.LEFT),
        Joint(1, Edge.RIGHT, 2, Edge.LEFT),
        Joint(2, Edge.RIGHT, 3, Edge.LEFT),
    ]
    good = swing(
        swing(swing(laid_flat(range(4), 0), {3}, 3, joints), {2, 3}, 2, joints), {1, 2, 3}, 1, joints
    )
    assert not list(crossings(good, joints))
    levels = {placed.panel: placed for placed in good.stack}
    bad = Pose((levels[0], levels[2], levels[1], levels[3]))
    assert list(crossings(bad, joints))
