"""Dynamics keep white above them where there is room below."""

import pytest

from optimizer.engrave.clearing import cleared
from optimizer.engrave.ground import Ground
from optimizer.engrave.lower import BELOW_SP, MOST_SP, NEXT_STAFF_SP, WHITE_SP, lower_dynamics
from optimizer.engrave.model import Glyph, Item, Path
from optimizer.engrave.outlines import Box, rectangle
from optimizer.engrave.svg import Group, PageSystem

Drawn = tuple[str, Item, Box]


def dynamic(left: float, top: float) -> Drawn:
    return "dynam", Glyph("p", (1.0, 0.0, 0.0, 1.0, left, top)), (left, top, left + 2.0, top + 1.5)


def block(kind: str, left: float, top: float, right: float, bottom: float) -> Drawn:
    path = Path(tuple(rectangle(left, top, right - left, bottom - top)), True, 0.0)
    return kind, path, (left, top, right, bottom)


DEEP = block("notehead", 80.0, 20.0, 81.2, 21.0)  # the system ends low enough


def page(*drawn: Drawn, second_staff: float = 14.0) -> PageSystem:
    """Staves from 0 to 4 and four spaces from `second_staff` on."""
    kinds, items, boxes = zip(*drawn, strict=True)
    groups = tuple(Group(kind, index) for index, kind in enumerate(kinds))
    tops, bottoms = (0.0, second_staff), (4.0, second_staff + 4.0)
    return PageSystem(1, items, boxes, groups, tops, bottoms, 100.0, (100.0,))


def lowered(*drawn: Drawn, second_staff: float = 14.0) -> list[float]:
    """By how much each thing moves down."""
    ground = Ground(page(*drawn, second_staff=second_staff))
    lower_dynamics(ground)
    after = ground.result().boxes
    assert [box[0] for box in after] == [box[2][0] for box in drawn]
    return [new[1] - old[2][1] for new, old in zip(after, drawn, strict=True)]


@pytest.mark.parametrize("staff", [4.0, 18.0])
def test_a_dynamic_that_all_but_touches_its_staff_moves_down(staff: float) -> None:
    assert lowered(dynamic(10, staff + 0.2), DEEP) == pytest.approx([MOST_SP, 0.0])
    assert lowered(dynamic(10, staff + 0.4), DEEP) == pytest.approx([WHITE_SP - 0.4, 0.0])
    assert lowered(dynamic(10, staff + 0.5), DEEP) == [0.0, 0.0]


def test_that_is_part_of_putting_a_system_right() -> None:
    assert cleared(page(dynamic(10, 4.2), DEEP)).boxes[0][1] == pytest.approx(4.2 + MOST_SP)


def test_what_stands_beside_it_moves_along() -> None:
    """The hairpin stays on its level; a dynamic far off is on its own."""
    beside, far = block("hairpin", 13.0, 4.5, 25.0, 5.5), dynamic(60, 5.2)
    assert lowered(dynamic(10, 4.2), beside, far, DEEP) == pytest.approx([MOST_SP, MOST_SP, 0.0, 0.0])


def test_notes_count_as_the_staff_does_but_not_slurs() -> None:
    assert lowered(dynamic(10, 6.2), block("notehead", 10.0, 5.0, 11.2, 6.0), DEEP)[0] == pytest.approx(
        MOST_SP
    )
    assert lowered(dynamic(10, 6.2), block("notehead", 20.0, 5.0, 21.2, 6.0), DEEP)[0] == 0.0
    assert lowered(dynamic(10, 6.2), block("slur", 5.0, 5.7, 21.2, 6.0), DEEP)[0] == 0.0


def test_no_system_grows() -> None:
    lowest = dynamic(10, 18.2)
    assert lowered(lowest) == [0.0]
    assert lowered(lowest, block("notehead", 80.0, 19.0, 81.2, 20.0)) == pytest.approx([0.3, 0.0])


def test_what_is_below_keeps_its_white() -> None:
    close, enough = 5.7 + BELOW_SP + 0.1, 5.7 + BELOW_SP + 0.4
    assert lowered(dynamic(10, 4.2), block("dir", 10.0, close, 20.0, 8.0), DEEP)[0] == 0.0
    assert lowered(dynamic(10, 4.2), block("dir", 10.0, enough, 20.0, 8.0), DEEP)[0] == pytest.approx(0.4)
    assert lowered(dynamic(10, 4.2), DEEP, second_staff=5.8 + NEXT_STAFF_SP) == [0.0, 0.0]
