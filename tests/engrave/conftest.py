"""Scores engraved once for all tests of this folder."""

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import pytest
from lxml import etree

from optimizer.engrave.engraver import ScoreEngraver
from optimizer.engrave.model import Engraved, Measured, SystemSpan
from optimizer.score import load_file

WIDTH_SP = 113.0  # an A4 page with 13 mm margins at a 6.5 mm staff


@dataclass(frozen=True)
class Sample:
    """A score measured, filled into systems greedily, and drawn."""

    engraver: ScoreEngraver
    measured: Measured
    spans: tuple[SystemSpan, ...]
    engraved: Engraved


def fill(measured: Measured, width_sp: float = WIDTH_SP) -> tuple[SystemSpan, ...]:
    """Systems filled greedily."""
    spans: list[SystemSpan] = []
    first, bars = 0, measured.bars
    while first < len(bars):
        used = (measured.label_sp if first else measured.indent_sp) + bars[first].prefix_sp
        last = first
        used += bars[first].width_sp
        while last + 1 < len(bars) and used + bars[last + 1].width_sp + bars[last + 1].suffix_sp <= width_sp:
            last += 1
            used += bars[last].width_sp
        spans.append(SystemSpan(first, last, width_sp))
        first = last + 1
    return tuple(spans)


def engrave(root: etree._Element, **options: bool) -> Sample:
    """Measure, fill, draw; shapes that are not understood are errors."""
    engraver = ScoreEngraver(root, strict=True, **options)
    measured = engraver.measure()
    spans = fill(measured)
    return Sample(engraver, measured, spans, engraver.draw(spans))


@pytest.fixture(scope="session")
def sample(corpora: Path) -> Callable[[str], Sample]:
    """Scores of the corpus by name, engraved when first asked for."""

    @cache
    def engraved(name: str) -> Sample:
        return engrave(load_file(corpora / f"{name}.musicxml").root)

    return engraved


@pytest.fixture(scope="session")
def engrave_root() -> Callable[..., Sample]:
    """Measures, fills and draws a score given as its tree."""
    return engrave


@pytest.fixture(scope="session")
def engrave_text() -> Callable[..., Sample]:
    """Engraves a score given as the inside of one part (a divisions of 1, treble clef, four four) and a part list."""

    def engraved(bars: str, part_list: str = "", **options: bool) -> Sample:
        listed = part_list or '<score-part id="P1"><part-name>Flute</part-name></score-part>'
        return engrave(
            etree.fromstring(
                f'<score-partwise version="4.0"><part-list>{listed}</part-list>'
                f'<part id="P1">{bars}</part></score-partwise>'
            ),
            **options,
        )

    return engraved
