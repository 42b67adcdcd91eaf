"""Bars engraved once more, to be printed again: the same music at its natural width, wherever it stands in a plan.

Source: the sizes measured bar by bar, and the systems of a plan drawn by the same library.
"""

from collections.abc import Callable

import pytest

from optimizer.engrave.model import SystemSpan

GRAIN_SP = 0.2  # the library lays out in whole units, 18 to a space: a bar may be one off at either end


def natural(measured, first: int, last: int) -> SystemSpan:
    """Bars as a system of their own."""
    bars = measured.bars[first : last + 1]
    lead = (measured.indent_sp if first == 0 else measured.label_sp) + bars[0].prefix_sp
    return SystemSpan(first, last, lead + sum(bar.width_sp for bar in bars) + bars[-1].suffix_sp)


@pytest.mark.parametrize("name", ["harbour-song", "nets-on-the-quay"])
def test_bars_printed_again_have_their_natural_width(sample: Callable, name: str) -> None:
    """Also where two strips share a bar, and at both ends of the piece."""
    engraved = sample(name)
    last = len(engraved.measured.bars) - 1
    spans = [natural(engraved.measured, *ends) for ends in ((4, 6), (0, 1), (6, 7), (last - 2, last))]
    drawn = engraved.engraver.draw_strips(spans)
    assert drawn.systems == ()
    by_bars = {(strip.first, strip.last): strip for strip in drawn.strips}
    assert by_bars.keys() == {(span.first, span.last) for span in spans}
    for span in spans:
        strip = by_bars[span.first, span.last]
        bars = engraved.measured.bars[span.first : span.last + 1]
        widths = [b - a for a, b in zip(strip.barlines_sp, strip.barlines_sp[1:], strict=False)]
        assert len(strip.barlines_sp) == len(bars)
        assert widths[:-1] == pytest.approx([bar.width_sp for bar in bars[1:-1]], abs=GRAIN_SP)
        assert strip.left_sp + strip.width_sp == pytest.approx(strip.barlines_sp[-1], abs=GRAIN_SP)
        left_sp = engraved.measured.indent_sp if span.first == 0 else engraved.measured.label_sp
        assert -strip.left_sp == pytest.approx(left_sp, abs=GRAIN_SP)


def test_bars_printed_again_are_as_high_as_predicted_or_their_system(sample: Callable) -> None:
    engraved = sample("harbour-song")
    system = engraved.engraved.systems[2]
    drawn = engraved.engraver.draw_strips([natural(engraved.measured, system.first, system.last)])
    (strip,) = drawn.strips
    assert strip.staves_sp == pytest.approx(system.staves_sp, abs=1.0)
    assert len(strip.items) == pytest.approx(len(system.items), rel=0.05)
    names = {item.name for item in strip.items if hasattr(item, "name")}
    assert names <= drawn.glyphs.keys()
