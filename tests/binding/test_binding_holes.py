"""Where holes are. ISO 838: 80 mm apart, centres 12 mm from the edge, 6 mm wide, centred on the long edge. US
three-ring: 4.25 in apart (de facto)."""

import pytest

from optimizer.binding.holes import punch_for
from optimizer.errors import UsageError
from optimizer.layout.geometry import LEAST_INNER_MM
from optimizer.settings import PAPERS, Holes, parse_paper
from optimizer.units import in_to_mm


@pytest.mark.parametrize(
    ("paper", "holes", "heights_mm"),
    [
        ("a4", Holes.TWO, (108.5, 188.5)),  # ISO 838 on ISO 216 A4; arithmetic
        ("a4", Holes.AUTO, (108.5, 188.5)),
        ("a4", Holes.FOUR, (28.5, 108.5, 188.5, 268.5)),  # two more, not ISO
        ("letter", Holes.THREE, tuple(map(in_to_mm, (1.25, 5.5, 9.75)))),  # de facto; arithmetic
        ("letter", Holes.AUTO, tuple(map(in_to_mm, (1.25, 5.5, 9.75)))),
        ("9x12in", Holes.AUTO, tuple(map(in_to_mm, (1.75, 6.0, 10.25)))),
        ("b4", Holes.AUTO, (136.5, 216.5)),
    ],
)
def test_heights_of_holes(paper, holes, heights_mm):
    assert punch_for(PAPERS[paper], holes).heights_mm == pytest.approx(heights_mm)


@pytest.mark.parametrize("holes", list(Holes))
@pytest.mark.parametrize("name", PAPERS)
def test_holes_are_symmetric_and_clear_of_the_inner_margin(name, holes):
    paper = PAPERS[name]
    punch = punch_for(paper, holes)
    turned_over = [paper.height_mm - height for height in reversed(punch.heights_mm)]
    assert punch.heights_mm == pytest.approx(turned_over)
    assert punch.reach_mm < LEAST_INNER_MM["ring"]


def test_iso_838_distances():
    punch = punch_for(PAPERS["a4"], Holes.TWO)
    assert punch.heights_mm[1] - punch.heights_mm[0] == pytest.approx(80, abs=0.5)
    assert punch.from_edge_mm == pytest.approx(12, abs=1)
    assert punch.wide_mm == pytest.approx(6, abs=0.5)


def test_paper_too_small_for_its_holes_is_refused():
    with pytest.raises(UsageError, match="--holes 4"):
        punch_for(parse_paper("150x210mm"), Holes.FOUR)
    assert punch_for(parse_paper("150x210mm"), Holes.TWO).heights_mm == pytest.approx((65, 145))
