"""Carry strips on paper: where the bars printed again stand, and the words that tell them from the music of the page.

In: plan, drawn strips, the boxes of a page.  Out: placed systems and figures; what is left of the page.  Lengths in mm
from the page's top left corner, y downwards.  Always true: a strip stands inside the music box, at its foot or head,
behind a rule across the page, and the least gap away from the music.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

from optimizer.engrave.model import Engraved, EngravedSystem, Path
from optimizer.layout.geometry import (
    MIN_INK_SP,
    STRIP_PERMILLE,
    STRIP_WORDS_MM,
    PageGeometry,
    SystemExtent,
)
from optimizer.layout.plan import Plan, PlannedStrip
from optimizer.press.figures import Area, Figure, Label, Line
from optimizer.press.ink import highest_sp, lowest_sp
from optimizer.press.placing import PlacedSystem
from optimizer.press.sheet_words import SheetWords
from optimizer.score.model import Score
from optimizer.turns.bars import bar_label
from optimizer.turns.model import StripKind
from optimizer.units import mm_to_sp, pt_to_mm, sp_to_mm

WORDS_PT: Final = 8.0
RULE_MM: Final = 0.25
DASH_MM: Final = (2.0, 1.2)
RULE_AIR_MM: Final = 1.2  # from the rule to words or ink
SEAM_MM: Final = 2.4  # the wedge where to read on; by eye
SEAM_PT: Final = 9.0
SEAM_AIR_MM: Final = 0.7


@dataclass(frozen=True, slots=True)
class PlacedStrip:
    """A strip where it stands; `top_mm` to `low_mm` is all that belongs to it, words and rule included."""

    strip: PlannedStrip
    spot: PlacedSystem
    top_mm: float
    low_mm: float


def strips_on(plan: Plan, number: int) -> tuple[PlannedStrip, ...]:
    """The strips of a page."""
    return tuple(strip for strip in plan.strips if strip.page == number)


def music_box(plan: Plan, number: int, engraved: Engraved, geometry: PageGeometry) -> PageGeometry:
    """The boxes of a page as its strips leave them to the music."""
    margins = geometry.margins
    gap_mm = sp_to_mm(geometry.gap_sp, plan.staff_mm)
    for strip in strips_on(plan, number):
        taken_mm = _height_mm(_drawn(strip, engraved), plan.staff_mm) + gap_mm
        if strip.kind is StripKind.LATE:
            margins = replace(margins, bottom_mm=margins.bottom_mm + taken_mm)
        else:
            margins = replace(margins, top_mm=margins.top_mm + taken_mm)
    return replace(geometry, margins=margins)


def place_strips(
    plan: Plan, number: int, engraved: Engraved, geometry: PageGeometry, first: bool
) -> tuple[PlacedStrip, ...]:
    """The strips of a page in place; `geometry` is that of the page without any."""
    return tuple(
        _place(strip, _drawn(strip, engraved), geometry, plan.staff_mm, first)
        for strip in strips_on(plan, number)
    )


def _place(
    strip: PlannedStrip, drawn: EngravedSystem, geometry: PageGeometry, staff_mm: float, first: bool
) -> PlacedStrip:
    height_mm, small_mm = _height_mm(drawn, staff_mm), _small(staff_mm)
    top = geometry.music_top_mm(first)
    if strip.kind is StripKind.LATE:
        top += geometry.music_height_mm(first) - height_mm
    # words stand above; the rule, at a strip's inner side, is below one at the head
    ink_top = top + STRIP_WORDS_MM - (RULE_AIR_MM if strip.kind is StripKind.EARLY else 0.0)
    spot = PlacedSystem(
        drawn,
        geometry.music_left_mm - sp_to_mm(drawn.left_sp, small_mm),
        ink_top + sp_to_mm(max(drawn.above_sp, MIN_INK_SP), small_mm),
        small_mm,
    )
    return PlacedStrip(strip, spot, top, top + height_mm)


def strip_figures(
    score: Score, placed: Sequence[PlacedStrip], geometry: PageGeometry, words: SheetWords
) -> tuple[Figure, ...]:
    """Rule and words of the strips of a page."""
    figures: list[Figure] = []
    left, right = geometry.music_left_mm, geometry.music_left_mm + geometry.music_width_mm
    for place in placed:
        late = place.strip.kind is StripKind.LATE
        rule = place.top_mm if late else place.low_mm
        figures.append(Line(((left, rule), (right, rule)), RULE_MM, dash_mm=DASH_MM))
        bars = _bars(score, place.strip, words)
        text = words.strip_late(bars=bars) if late else words.strip_early(bars=bars)
        baseline = place.top_mm + (RULE_AIR_MM if late else 0.0) + pt_to_mm(WORDS_PT)
        figures.append(Label(left, baseline, text, WORDS_PT, italic=True))
    return tuple(figures)


def seam_figures(
    score: Score,
    plan: Plan,
    placed: Sequence[PlacedSystem],
    glyphs: Mapping[str, Path],
    room_mm: tuple[float, float],
) -> tuple[Figure, ...]:
    """Signs on a page, between two heights, at the barlines where a strip takes over from its bars or hands over to
    them, with the number of the bar that begins there; left out where there is no white above the system or below it.
    """
    figures: list[Figure] = []
    for strip in plan.strips:
        measure = strip.last + 1 if strip.kind is StripKind.LATE else strip.turn_after + 1
        for index, spot in enumerate(placed):
            if spot.system.first <= measure <= spot.system.last:
                near = [other for other in placed[max(0, index - 1) : index + 2] if other is not spot]
                bar, x_mm = bar_label(score, measure), _start_mm(measure, spot)
                figures += _seam(bar, x_mm, spot, near, glyphs, room_mm)
    return tuple(figures)


def _start_mm(measure: int, spot: PlacedSystem) -> float:
    """Where a measure begins: at the barline before it, or the left end of the system."""
    before = measure - spot.system.first
    barlines = spot.system.barlines_sp
    return spot.x_mm + (sp_to_mm(barlines[before - 1], spot.staff_mm) if before and barlines else 0.0)


def _seam(
    bar: str,
    x_mm: float,
    spot: PlacedSystem,
    near: Sequence[PlacedSystem],
    glyphs: Mapping[str, Path],
    room_mm: tuple[float, float],
) -> tuple[Figure, ...]:
    """A wedge that points at the barline, and the bar's number beside it; above the system, or else below."""
    number = Label(x_mm + SEAM_MM, 0.0, bar, SEAM_PT, bold=True)
    left, right = x_mm - SEAM_MM / 2, x_mm + SEAM_MM + number.width_mm
    for up in (True, False):
        away = -1.0 if up else 1.0
        ink = _edge_mm(spot, left, right, glyphs, up)
        tip, base = ink + away * SEAM_AIR_MM, ink + away * (SEAM_AIR_MM + SEAM_MM)
        others = [_edge_mm(other, left, right, glyphs, not up) for other in near]
        beyond = [other for other in (*others, room_mm[not up]) if (other - ink) * away > 0]
        if beyond and all((other - base) * away > SEAM_AIR_MM for other in beyond):
            wedge = Area(((x_mm, tip), (x_mm - SEAM_MM / 2, base), (x_mm + SEAM_MM / 2, base)))
            return wedge, replace(number, y_mm=max(tip, base))
    return ()


def _edge_mm(spot: PlacedSystem, left: float, right: float, glyphs: Mapping[str, Path], upper: bool) -> float:
    """The topmost or lowest ink of a system between two x positions."""
    span = (mm_to_sp(left - spot.x_mm, spot.staff_mm), mm_to_sp(right - spot.x_mm, spot.staff_mm))
    edge = (highest_sp if upper else lowest_sp)(spot.system, glyphs, *span)
    return spot.y_mm + sp_to_mm(edge, spot.staff_mm)


def _bars(score: Score, strip: PlannedStrip, words: SheetWords) -> str:
    first, last = bar_label(score, strip.first), bar_label(score, strip.last)
    return words.bar(bar=first) if first == last else words.bars(bars=f"{first}–{last}")


def _drawn(strip: PlannedStrip, engraved: Engraved) -> EngravedSystem:
    return next(drawn for drawn in engraved.strips if (drawn.first, drawn.last) == (strip.first, strip.last))


def _small(staff_mm: float) -> float:
    """The staff size of strips."""
    return staff_mm * STRIP_PERMILLE / 1000


def _ink_mm(drawn: EngravedSystem, staff_mm: float) -> float:
    extent = SystemExtent(drawn.above_sp, drawn.staves_sp, drawn.below_sp)
    return sp_to_mm(extent.height_sp, _small(staff_mm))


def _height_mm(drawn: EngravedSystem, staff_mm: float) -> float:
    """All that a strip takes, but for the gap to the music."""
    return STRIP_WORDS_MM + _ink_mm(drawn, staff_mm)
