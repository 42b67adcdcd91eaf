"""Small scores written in the tests themselves."""

from collections.abc import Callable, Sequence
from pathlib import Path

import pytest
from lxml import etree

from optimizer.score import ScoreFile

ATTRIBUTES = (
    "<attributes><divisions>4</divisions><time><beats>4</beats><beat-type>4</beat-type></time></attributes>"
)


def _note(
    step: str = "C",
    ticks: int = 16,
    octave: int = 4,
    voice: int = 1,
    staff: int = 1,
    extra: str = "",
    before: str = "",
) -> str:
    """A note of `ticks` sixteenths (divisions 4). `extra` follows the staff, `before` comes first."""
    return (
        f"<note>{before}<pitch><step>{step}</step><octave>{octave}</octave></pitch><duration>{ticks}</duration>"
        f"<voice>{voice}</voice><staff>{staff}</staff>{extra}</note>"
    )


def _document(
    parts: Sequence[Sequence[str]],
    header: str = "",
    numbers: Sequence[str] | None = None,
    part_list: str | None = None,
) -> str:
    """A partwise score: for each part the content of its measures. The first measure gets 4/4, four
    divisions."""
    if part_list is None:
        part_list = "".join(
            f'<score-part id="P{index}"><part-name>Part {index}</part-name></score-part>'
            for index in range(1, len(parts) + 1)
        )
    text = [f'<score-partwise version="4.0">{header}<part-list>{part_list}</part-list>']
    for index, measures in enumerate(parts, 1):
        text.append(f'<part id="P{index}">')
        for place, content in enumerate(measures):
            number = numbers[place] if numbers else str(place + 1)
            attributes = ATTRIBUTES if place == 0 and "<divisions>" not in content else ""
            text.append(f'<measure number="{number}">{attributes}{content}</measure>')
        text.append("</part>")
    return "".join([*text, "</score-partwise>"])


@pytest.fixture(scope="session")
def note() -> Callable[..., str]:
    """Writes one note."""
    return _note


@pytest.fixture(scope="session")
def document() -> Callable[..., str]:
    """Writes a whole score."""
    return _document


@pytest.fixture(scope="session")
def score_file() -> Callable[..., ScoreFile]:
    """A score as if loaded from a file: one part from the content of its measures, or `parts=`."""

    def build(*measures: str, parts: Sequence[Sequence[str]] | None = None, **more: object) -> ScoreFile:
        text = _document(parts or [measures], **more)  # type: ignore[arg-type]
        return ScoreFile(Path("test.musicxml"), "", etree.fromstring(text.encode()))

    return build
