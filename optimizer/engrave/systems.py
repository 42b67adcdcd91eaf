"""Systems of a plan from the library's pages: extents, and bar numbers set above the staff.

In: `PageSystem` from `svg`.  Out: `EngravedSystem`.  Lengths in staff spaces.
"""

from collections.abc import Sequence
from typing import Final

from optimizer.engrave.fontdata import TextMetrics
from optimizer.engrave.model import EngravedSystem, SystemSpan, Text
from optimizer.engrave.outlines import Box
from optimizer.engrave.svg import PageSystem

# Bar numbers: small italic figures over the clef, 1.6 spaces type (8 pt at a 7 mm staff); by eye.
NUMBER_SIZE_SP: Final = 1.6
NUMBER_GAP_SP: Final = 0.5  # white between a bar number and what is below it
NUMBER_LEAST_SP: Final = 1.0  # baseline at least this far above the top line
NUMBER_TOP_SP: Final = 3.0  # top of a bar number above a treble clef, all of the above together


def engraved_system(page: PageSystem, span: SystemSpan, number: str, metrics: TextMetrics) -> EngravedSystem:
    """A finished system; `number` is printed at its start ("" for none)."""
    items, boxes = page.items, list(page.boxes)
    if number:
        text, box = _bar_number(number, boxes, metrics)
        items, boxes = (*items, text), [*boxes, box]
    staves_sp = page.staff_bottoms_sp[-1] if page.staff_bottoms_sp else 0.0
    return EngravedSystem(
        first=span.first,
        last=span.last,
        above_sp=max(0.0, -min((box[1] for box in boxes), default=0.0)),
        below_sp=max(0.0, max((box[3] for box in boxes), default=0.0) - staves_sp),
        staves_sp=staves_sp,
        left_sp=page.right_sp - span.width_sp,
        width_sp=span.width_sp,
        items=items,
        barlines_sp=page.barlines_sp,
    )


def _bar_number(number: str, boxes: Sequence[Box], metrics: TextMetrics) -> tuple[Text, Box]:
    """The number at the left end of the staff, moved up until it is clear of everything there."""
    width_sp = metrics.width(number, NUMBER_SIZE_SP, False, True, False)
    height_sp = metrics.extent(number, NUMBER_SIZE_SP, False, True)[0]
    near = sorted(
        (
            box
            for box in boxes
            if box[0] < width_sp + NUMBER_GAP_SP and box[2] > -NUMBER_GAP_SP and box[1] < 0
        ),
        key=lambda box: -box[3],
    )
    baseline_sp = -NUMBER_LEAST_SP
    for _, top, _, bottom in near:
        if bottom > baseline_sp - height_sp - NUMBER_GAP_SP and top < baseline_sp + NUMBER_GAP_SP:
            baseline_sp = min(baseline_sp, top - NUMBER_GAP_SP)
    text = Text(0.0, baseline_sp, NUMBER_SIZE_SP, "start", "serif", False, True, number, width_sp)
    return text, (0.0, baseline_sp - height_sp, width_sp, baseline_sp)
