"""One small comparison for the tests of its page, made once."""

from dataclasses import replace
from pathlib import Path

import pytest

from optimizer import pipeline
from optimizer.compare.model import Choices, Comparison
from optimizer.settings import DESKS, Settings, parse_paper

SMALL = parse_paper("150x170mm")  # so that our short scores have many turns


@pytest.fixture(scope="session")
def comparison(corpora: Path) -> Comparison:
    """A song with repeats on two desks, in two bindings: turns that are played three times, and back-turns."""
    desks = tuple(
        replace(DESKS[name], width_mm=DESKS[name].width_mm * 150 / 210) for name in ("stand", "upright")
    )
    choices = Choices(desks, (SMALL,), ("taped", "stapled"), (6.5, 5.0))
    return pipeline.compare_plans(corpora / "three-lamps.musicxml", choices, Settings())
