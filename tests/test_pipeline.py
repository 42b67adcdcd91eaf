"""The whole job: from a score of our own to pages, and the same from Python."""

import json
import os
import re
from pathlib import Path

import pypdf
import pytest

from optimizer import Plan, Settings, make_plan, parallel, print_plan, read_score, turn_costs
from optimizer.errors import UsageError
from optimizer.layout import PlanFaultError, from_json
from optimizer.pipeline import FILES, prepare
from optimizer.settings import DESKS, PAPERS, Demands, Hands


@pytest.fixture(scope="module")
def quay(corpora: Path) -> Path:
    return corpora / "nets-on-the-quay.musicxml"


def without_seconds(plan_json: Path) -> object:
    document = json.loads(plan_json.read_text())
    del document["solver"]["seconds"]
    return document


def test_same_input_gives_the_same_files(quay: Path, tmp_path: Path) -> None:
    """Design, section 7: byte-identical plan.json (but for seconds) and PDF."""
    for folder in ("a", "b"):
        prepare(quay, tmp_path / folder, Settings(staff_mm=6.5))
    for name in FILES:
        if name != "plan.json":
            assert (tmp_path / "a" / name).read_bytes() == (tmp_path / "b" / name).read_bytes(), name
    assert without_seconds(tmp_path / "a" / "plan.json") == without_seconds(tmp_path / "b" / "plan.json")


def test_two_processes_make_the_same_files_as_one(
    corpora: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Movements, words to sing and systems of two widths, wherever the second process takes over."""
    for folder, forks in (("one", False), ("two", hasattr(os, "fork"))):
        monkeypatch.setattr(parallel, "can_fork", lambda forks=forks: forks)
        prepare(corpora / "harbour-song.musicxml", tmp_path / folder, Settings(staff_mm=6.5))
    assert (tmp_path / "one" / "pages.pdf").read_bytes() == (tmp_path / "two" / "pages.pdf").read_bytes()
    assert without_seconds(tmp_path / "one" / "plan.json") == without_seconds(tmp_path / "two" / "plan.json")


def test_python_reaches_what_the_command_reaches(quay: Path, tmp_path: Path) -> None:
    settings = Settings(staff_mm=6.5, desk=DESKS["upright"], paper=PAPERS["letter"])
    prepare(quay, tmp_path / "command", settings)
    score = read_score(quay)
    plan = make_plan(score, settings)
    print_plan(plan, score, tmp_path / "python", settings)
    assert (tmp_path / "command" / "pages.pdf").read_bytes() == (
        tmp_path / "python" / "pages.pdf"
    ).read_bytes()
    read_back = from_json((tmp_path / "command" / "plan.json").read_text())
    assert isinstance(read_back, Plan)
    assert (read_back.pages, read_back.spreads) == (plan.pages, plan.spreads)
    page = pypdf.PdfReader(tmp_path / "python" / "pages.pdf").pages[0].mediabox
    assert (float(page.width), float(page.height)) == pytest.approx(
        (8.5 * 72, 11 * 72), abs=0.01
    )  # US Letter


def test_a_plan_of_another_size_is_refused(quay: Path, tmp_path: Path) -> None:
    score = read_score(quay)
    plan = make_plan(score, Settings(staff_mm=5.5))
    with pytest.raises(UsageError):
        print_plan(plan, score, tmp_path / "set", Settings(staff_mm=9))
    assert not (tmp_path / "set").exists()
    assert PlanFaultError.exit_code == 1


def test_a_plan_of_another_score_is_refused(quay: Path, corpora: Path, tmp_path: Path) -> None:
    score, other = read_score(quay), read_score(corpora / "three-lamps.musicxml")
    settings = Settings(staff_mm=6.5)
    plans = make_plan(score, settings), make_plan(other, settings)
    for plan, wrong in zip(plans, (other, score), strict=True):
        with pytest.raises(UsageError, match="another score"):
            print_plan(plan, wrong, tmp_path / "set", settings)
    assert not (tmp_path / "set").exists()


def test_plans_go_by_the_tempo_at_which_the_score_was_read(quay: Path, tmp_path: Path) -> None:
    silent = tmp_path / "silent.musicxml"
    silent.write_text(
        re.sub(r"(?s)<sound [^>]*/>|<words[^>]*>.*?</words>|<metronome.*?</metronome>", "", quay.read_text())
    )
    assert read_score(silent).tempo_source.startswith("no tempo in the file")
    settings = Settings(staff_mm=6.5, demands=Demands(turn_after=("28",)))
    slow, fast = (make_plan(read_score(silent, default_tempo=tempo), settings) for tempo in (40.0, 200.0))
    assert slow.turns[0].free_s > fast.turns[0].free_s


def test_a_changed_score_is_noticed(quay: Path, tmp_path: Path) -> None:
    copy = tmp_path / "copy.musicxml"
    copy.write_bytes(quay.read_bytes())
    score = read_score(copy)
    copy.write_bytes(copy.read_bytes() + b"\n")
    with pytest.raises(UsageError, match="has changed"):
        make_plan(score)


def test_turn_costs_one_a_barline(quay: Path) -> None:
    score = read_score(quay)
    costs = turn_costs(score)
    assert [cost.from_index for cost in costs] == list(range(len(score.measures) - 1))
    free = turn_costs(score, Settings(hands=Hands.FREE))
    assert sum(cost.cost for cost in free) < sum(cost.cost for cost in costs)
    assert all(cost.grade.value == "open" for cost in free)


def test_staves_are_printed_at_the_size_of_the_plan(corpora: Path, tmp_path: Path) -> None:
    """Measured in the PDF, within 1 % (design, section 7): the five lines of a staff are four spaces apart."""
    import pypdfium2

    from optimizer.units import mm_to_pt

    made = prepare(corpora / "harbour-song.musicxml", tmp_path, Settings(staff_mm=6.5))
    dots_per_pt = 600 / 72
    page = pypdfium2.PdfDocument(tmp_path / "pages.pdf")[1]
    image = page.render(scale=dots_per_pt, grayscale=True).to_numpy()
    if image.ndim == 3:
        image = image[:, :, 0]
    dark = (image < 128).mean(axis=1) > 0.6  # rows in which most of the width is black are staff lines
    rows = [y for y in range(1, len(dark)) if dark[y] and not dark[y - 1]]
    assert len(rows) >= 10
    heights = [(rows[k + 4] - rows[k]) / dots_per_pt for k in range(0, len(rows) - 4, 5)]
    assert made.plan.staff_mm == 6.5
    assert sorted(heights)[len(heights) // 2] == pytest.approx(mm_to_pt(6.5), rel=0.01)
