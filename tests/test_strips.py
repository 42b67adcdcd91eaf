"""Carry strips from the score to the files, on a song of our own that has a blocked turn without them."""

import json
from dataclasses import replace
from pathlib import Path

import pytest
from lxml import etree
from pypdf import PdfReader

from optimizer import Plan, Settings, print_plan, read_score
from optimizer.errors import UsageError
from optimizer.layout import from_json
from optimizer.pipeline import prepare
from optimizer.settings import Strips

AUTO = Settings(strips=Strips.AUTO)
HARD = ("tight", "blocked")


@pytest.fixture(scope="module")
def song(corpora: Path) -> Path:
    return corpora / "harbour-song.musicxml"


@pytest.fixture(scope="module")
def printed(song: Path, tmp_path_factory: pytest.TempPathFactory) -> tuple[Plan, Path]:
    folder = tmp_path_factory.mktemp("strips") / "song"
    return prepare(song, folder, AUTO).plan, folder


def test_a_hard_turn_becomes_an_easier_one(printed: tuple[Plan, Path]) -> None:
    plan, folder = printed
    (strip,) = plan.strips
    turn = next(turn for turn in plan.turns if turn.after == strip.after)
    assert strip.grade_before in HARD
    assert turn.grade is strip.grade
    assert strip.grade not in HARD
    assert from_json((folder / "plan.json").read_text()) == plan
    assert json.loads((folder / "plan.json").read_text())["solver"]["terms"]["strips"] > 0


def test_the_bars_are_printed_twice_and_written_once(song: Path, printed: tuple[Plan, Path]) -> None:
    """Design, section 7: each measure exactly once but for bars printed again on purpose; not so in the score."""
    plan, folder = printed
    (strip,) = plan.strips
    page = PdfReader(folder / "pages.pdf").pages[strip.page - plan.pages[0].number].extract_text()
    assert f"bars {strip.first_bar}–{strip.last_bar}, printed again" in page
    shown = [bar for p in plan.pages for s in p.systems for bar in range(s.first, s.last + 1)]
    assert shown == list(range(len(shown)))
    before, after = (etree.parse(path) for path in (song, folder / "score.musicxml"))
    assert len(after.findall(".//measure")) == len(before.findall(".//measure"))


def test_a_plan_with_strips_is_printed_with_the_settings_it_was_made_with(
    song: Path, printed: tuple[Plan, Path], tmp_path: Path
) -> None:
    plan, folder = printed
    score = read_score(song)
    print_plan(plan, score, tmp_path / "again", AUTO)
    assert (tmp_path / "again" / "pages.pdf").read_bytes() == (folder / "pages.pdf").read_bytes()
    with pytest.raises(UsageError, match="prints other bars again"):
        print_plan(plan, score, tmp_path / "never", replace(AUTO, strips=Strips.NEVER))
