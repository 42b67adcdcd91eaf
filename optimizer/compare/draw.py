"""The engraved systems of several plans, each drawn once.

In: plans with their problems.  Out: `Engraved` for each.  Always true: bars are drawn again only where they make
another system, or one of another width.
"""

from collections.abc import Iterable, Sequence

from optimizer import layout
from optimizer.engrave.model import Engraved, EngravedSystem, Engraver, Path, SystemSpan
from optimizer.layout.plan import Plan
from optimizer.layout.problem import Problem


class Drawer:
    """Draws systems of one score and keeps them."""

    def __init__(self, engraver: Engraver) -> None:
        self._engraver = engraver
        self._systems: dict[SystemSpan, EngravedSystem] = {}
        self._strips: dict[SystemSpan, EngravedSystem] = {}
        self._glyphs: dict[str, Path] = {}

    def draw(self, wanted: Iterable[tuple[Problem, Plan]]) -> list[Engraved]:
        """The systems and strips of each plan."""
        spans = [
            (layout.system_spans(problem, plan), layout.strip_spans(problem, plan))
            for problem, plan in wanted
        ]
        self._draw_systems([system for systems, _ in spans for system in systems])
        self._draw_strips([strip for _, strips in spans for strip in strips])
        return [
            Engraved(
                tuple(self._systems[span] for span in systems),
                self._glyphs,
                tuple(self._strips[span] for span in strips),
            )
            for systems, strips in spans
        ]

    def _draw_systems(self, spans: Sequence[SystemSpan]) -> None:
        if new := [span for span in dict.fromkeys(spans) if span not in self._systems]:
            drawn = self._engraver.draw_all(new)
            self._systems |= zip(new, drawn.systems, strict=True)
            self._glyphs |= drawn.glyphs

    def _draw_strips(self, spans: Sequence[SystemSpan]) -> None:
        if new := [span for span in dict.fromkeys(spans) if span not in self._strips]:
            drawn = self._engraver.draw_strips(new)
            by_bars = {(strip.first, strip.last): strip for strip in drawn.strips}
            self._strips |= {span: by_bars[span.first, span.last] for span in new}
            self._glyphs |= drawn.glyphs
