"""Where ink stands on pages that are bound at one edge, measured in the printed file."""

import io
from contextlib import closing
from dataclasses import replace

import pytest
from pypdfium2 import PdfDocument

from optimizer.layout.geometry import MIN_GAP_SP, ONE_STAFF_GAP_SP
from optimizer.press.booklet import print_pages
from optimizer.press.page import page_geometry, place_pages
from optimizer.settings import Margins, Settings, SheetSettings
from optimizer.units import MM_PER_INCH

DPI = 100
MUSIC_MM = 184.0  # the systems of these tests
INNER_MM, OUTER_MM = 20.0, 6.0
RING = Settings(binding="ring", margins=Margins(13, OUTER_MM, 11, 11), sheets=SheetSettings(marks=False))
SPREADS = [(1, 2, 3), (4, 5), (6,)]  # a fold-out, left, right; left, right; the back of the last leaf
SIDES = ["fold-out", "left", "right", "left", "right", "left"]
LEFT_MM = {"fold-out": (INNER_MM + OUTER_MM) / 2, "left": OUTER_MM, "right": INNER_MM}


def ring_case(make):
    case = make.case(SPREADS, settings=RING)
    return replace(case, plan=replace(case.plan, binding="ring"))


def ink_mm(page) -> tuple[float, float]:
    """The leftmost and the rightmost ink."""
    with closing(page.render(scale=DPI / 72, grayscale=True)) as bitmap:
        dark = (bitmap.to_numpy() < 128).reshape(bitmap.height, -1).any(axis=0).nonzero()[0]
    return float(dark[0]) * MM_PER_INCH / DPI, float(dark[-1] + 1) * MM_PER_INCH / DPI


def test_music_keeps_clear_of_the_rings_on_every_page(make):
    """At least 20 mm of white at the edge that is punched (needs.md, from memory), the same width of music."""
    case = ring_case(make)
    target = io.BytesIO()
    geometry = page_geometry(case.score, RING)
    print_pages(target, case.score, case.plan, case.engraved, geometry, RING, make.player)
    with closing(PdfDocument(target.getvalue())) as document:
        for page, side in zip(document, SIDES, strict=False):  # the test page follows
            left, right = ink_mm(page)
            assert left == pytest.approx(LEFT_MM[side], abs=0.5)
            assert right == pytest.approx(LEFT_MM[side] + MUSIC_MM, abs=0.5)


def test_systems_are_placed_by_side(make):
    case = ring_case(make)
    placed = place_pages(case.score, case.plan, case.engraved, page_geometry(case.score, RING))
    assert [page[0].x_mm for page in placed] == pytest.approx([LEFT_MM[side] for side in SIDES])


def test_staves_of_a_part_may_stand_closer(make):
    """Words under the notes run as far as the music: they keep the distance of larger systems."""
    score = ring_case(make).score
    alone = replace(score.parts[0], staves=1)
    ensembles = [(alone,), (replace(alone, has_lyrics=True),), (replace(alone, staves=2),), (alone, alone)]
    gaps_sp = [page_geometry(replace(score, parts=parts), RING).gap_sp for parts in ensembles]
    assert gaps_sp == [ONE_STAFF_GAP_SP, MIN_GAP_SP, MIN_GAP_SP, MIN_GAP_SP]
