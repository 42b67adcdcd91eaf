"""Engraving in two processes, which takes little more than half the time where there are two processors.

One process lays out and renders; this one reads what is there already. Only where that means no work twice, they share.

In: a function that makes a `ScoreEngraver`.  Out: what that would give, and its errors.  Always true: nothing depends
on whether there is a second process.
"""

from collections.abc import Callable, Sequence

from optimizer.engrave.engraver import ScoreEngraver, halves, in_order, layers_of
from optimizer.engrave.model import Engraved, Measured, SystemSpan
from optimizer.parallel import Partner


class PairEngraver:
    """An `Engraver` that starts to read and measure its score at once, beside this process, and shares its work."""

    def __init__(self, make: Callable[[], ScoreEngraver]) -> None:
        self._partner = Partner(make)
        self._places = self._partner.begin(ScoreEngraver.places)
        self._resting = False

    def measure(self) -> Measured:
        """Sizes of all bars, from one pass over the score."""
        engraver = self._partner.here()
        starts = engraver.starts()
        return engraver.sizes(self._places(), starts)

    def rest(self) -> None:
        """End the second process until there is something to draw: of many scores, only a few are at work."""
        self._partner.here()
        self._partner.close()
        self._resting = True

    def begin(self, spans: Sequence[SystemSpan]) -> Callable[[], Engraved]:
        """Start to draw the systems of a plan, each justified to its width; what comes back gives them."""
        if self._resting:
            self._partner, self._resting = Partner(self._partner.here), False
        pages = self._partner.stream(ScoreEngraver.rendered, [spans])
        return lambda: in_order(self._partner.here().read(pages), spans)

    def draw_all(self, spans: Sequence[SystemSpan]) -> Engraved:
        """Systems of several plans, which may overlap, in the order given; each justified to its width."""
        engraver, layers = self._partner.here(), layers_of(spans)
        if len(layers) == 1 or not self._partner.beside:
            return in_order(engraver.read(self._partner.stream(ScoreEngraver.rendered, layers)), spans)
        here, there = halves(layers)
        rest = self._partner.begin(ScoreEngraver.draw_layers, there)
        mine, others = engraver.draw_layers(here), rest()
        both = Engraved((*mine.systems, *others.systems), {**others.glyphs, **mine.glyphs})
        return in_order(both, spans)

    def draw_strips(self, spans: Sequence[SystemSpan]) -> Engraved:
        """Bars to be printed again as `strips`, each span a system at its natural width; they may overlap."""
        return self._partner.here().draw_strips(spans)
