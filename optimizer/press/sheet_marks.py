"""Small marks in the margin that say where paper is folded and punched.

In: an `Impression`, plan, settings.  Out: figures on the paper; mm from its top left corner.  Always true: marks
stand where a printer can print, clear of the margins' inner edge; the cross of a hole lies inside the hole, so that
nothing of it is left once it is punched.
"""

from collections.abc import Iterator, Sequence
from typing import Final

from optimizer.binding.holes import punch_for
from optimizer.binding.imposition import Impression, PlacedSide
from optimizer.layout.patterns import PageSide
from optimizer.layout.plan import Plan
from optimizer.press.figures import Line
from optimizer.settings import Settings

TICK_MM: Final = 4.0
ARM_MM: Final = 2.0  # of a cross; a hole's radius is 3 mm (ISO 838)


def sheet_marks(impression: Impression, plan: Plan, settings: Settings) -> tuple[Line, ...]:
    """Fold and punch marks of one side of a piece of paper; none when they are switched off."""
    if not settings.sheets.marks:
        return ()
    edge = settings.sheets.unprintable_mm
    marks = [*_fold_ticks(impression, edge)]
    if settings.binding == "ring":
        for placed in impression.sides:
            marks += _punch_marks(placed, plan, settings)
    right, low = impression.paper.width_mm - edge, impression.paper.height_mm - edge
    return tuple(
        mark for mark in marks if all(edge <= x <= right and edge <= y <= low for x, y in mark.points)
    )


def _fold_ticks(impression: Impression, edge: float) -> Iterator[Line]:
    """At head and foot of a fold, as long as printers reach."""
    x, height = impression.fold_mm, impression.paper.height_mm
    if x is not None:
        yield Line(((x, edge), (x, edge + TICK_MM)))
        yield Line(((x, height - edge), (x, height - edge - TICK_MM)))


def _punch_marks(placed: PlacedSide, plan: Plan, settings: Settings) -> Iterator[Line]:
    """A cross at each hole, and a tick halfway up the punched edge, where many punches have an arrow."""
    number, paper = placed.side.number, settings.paper
    inward = {PageSide.RIGHT: 1, PageSide.LEFT: -1, PageSide.FOLD_OUT: 0}[_side_of(plan, number)]
    if not inward:
        return
    punch, edge = punch_for(paper, settings.sheets.holes), settings.sheets.unprintable_mm
    spine = placed.x_mm + (paper.width_mm if inward < 0 else 0.0)
    x = spine + inward * punch.from_edge_mm
    for y in punch.heights_mm:
        yield from _cross(x, y)
    tick, middle = spine + inward * edge, paper.height_mm / 2
    yield Line(((tick, middle), (tick + inward * TICK_MM / 2, middle)))


def _side_of(plan: Plan, number: int | None) -> PageSide:
    return PageSide.FOLD_OUT if number is None else plan.side(number)


def _cross(x: float, y: float) -> Sequence[Line]:
    return Line(((x - ARM_MM, y), (x + ARM_MM, y))), Line(((x, y - ARM_MM), (x, y + ARM_MM)))
