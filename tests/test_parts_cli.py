"""`quietleaf parts`: a folder for each part, and what concerns the whole ensemble."""

import json
import re
import subprocess
import sys
from pathlib import Path

import pytest
from pypdf import PdfReader

from optimizer.layout import from_json
from optimizer.pipeline import FILES
from optimizer.score import load_file, score_from

FOLDERS = ("1-flute", "2-clarinet-in-b-flat", "3-violoncello")


@pytest.fixture(scope="module")
def trio(corpora: Path) -> Path:
    """A trio for student players."""
    return corpora / "three-lanterns.musicxml"


@pytest.fixture(scope="module")
def made(trio: Path, tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, str]:
    """The set, and what the terminal showed."""
    folder = tmp_path_factory.mktemp("parts") / "set"
    code, out, err = told(trio, "-o", folder)
    assert code == 0, err
    return folder, out


def told(*words: object) -> tuple[int, str, str]:
    """Exit code, standard output, and standard error but for the stages a slow machine tells."""
    command = [sys.executable, "-c", "from optimizer.cli import main; main()", "parts", *map(str, words)]
    ran = subprocess.run(command, capture_output=True, text=True, check=False)
    lines = [line for line in ran.stderr.splitlines() if not line.endswith(" ...")]
    return ran.returncode, ran.stdout, "\n".join(lines)


def test_every_part_has_its_files_and_the_ensemble_its_own(made: tuple[Path, str]) -> None:
    folder, _ = made
    found = sorted(str(path.relative_to(folder)) for path in folder.rglob("*") if path.is_file())
    assert found == sorted(
        [*(f"{each}/{name}" for each in FOLDERS for name in FILES), "ensemble.json", "ensemble.pdf"]
    )


def test_the_document_agrees_with_the_plans(made: tuple[Path, str]) -> None:
    folder, out = made
    document = json.loads((folder / "ensemble.json").read_text(encoding="utf-8"))
    assert document["schema"] == "quietleaf-ensemble/1"
    assert [part["folder"] for part in document["parts"]] == list(FOLDERS)
    assert document["joint"]["status"] == "optimal"
    assert document["joint"]["objective"] == document["joint"]["bound"]
    for part in document["parts"]:
        plan = from_json((folder / part["folder"] / "plan.json").read_text(encoding="utf-8"))
        assert part["pages"] == len(plan.pages)
        sides = part["pages"] + plan.outside_title
        leaves = 1 if sides <= 2 else -(-sides // 4) * 2  # stapled: four sides a folded sheet, two leaves
        assert part["sheets"] == leaves
        assert part["staff_mm"] == plan.staff_mm
        assert len(part["turns"]) == sum(turn.passes for turn in (*plan.turns, *plan.back_turns))
        assert part["name"] in out
    everybody = str(len(document["parts"]))
    assert everybody not in document["at_once"]["together"]


def test_a_part_says_whose_it_is_on_every_page(made: tuple[Path, str]) -> None:
    """Instrument and page on every page (needs.md)."""
    folder, _ = made
    for each, name in zip(FOLDERS, ("Flute", "Clarinet", "Violoncello"), strict=True):
        pages = PdfReader(folder / each / "pages.pdf").pages
        plan = from_json((folder / each / "plan.json").read_text(encoding="utf-8"))
        blank = {page.number for page in plan.pages if page.blank}
        numbers = [*([0] if plan.outside_title else []), *(page.number for page in plan.pages)]
        for page, number in zip(pages, numbers, strict=False):
            if number not in blank:
                assert name.casefold() in page.extract_text().casefold()
        for sheets in ("guide.pdf", "label.pdf", "turnsheet.pdf"):
            reader = PdfReader(folder / each / sheets)
            assert name.casefold() in reader.pages[0].extract_text().casefold()
            assert reader.metadata is not None
            assert name.casefold() in str(reader.metadata.title).casefold()


def test_pages_lie_where_libraries_want_them(made: tuple[Path, str]) -> None:
    """Odd pages right (MOLA guidelines, facts.md); the first page on the right, turns after pages 1 and 3, or 2-3-4-5
    (Music Library Association, Non-standard Paginations, facts.md)."""
    folder, _ = made
    for each in FOLDERS:
        spreads = json.loads((folder / each / "plan.json").read_text(encoding="utf-8"))["spreads"]
        assert spreads[0]["pages"] in ([1], [2, 3])
        for spread in spreads[1:]:
            assert spread["pages"][0] % 2 == 0
            assert spread["pages"] == list(range(spread["pages"][0], spread["pages"][-1] + 1))
            assert len(spread["pages"]) <= 2


def test_a_bar_number_stands_at_every_system_and_staves_are_large_enough(made: tuple[Path, str]) -> None:
    """Bar number at every system (an orchestra library's rule for parts, facts.md), but for the first; 7.5 mm best, 7.0
    tolerable, over 8.5 avoided (MOLA 2017, p. 5, from memory)."""
    folder, _ = made
    for each in FOLDERS:
        plan = from_json((folder / each / "plan.json").read_text(encoding="utf-8"))
        numbers = [m.number for m in score_from(load_file(folder / each / "score.musicxml")).measures]
        assert 7.0 <= plan.staff_mm <= 8.5
        pages = PdfReader(folder / each / "pages.pdf").pages[plan.outside_title :]
        for page, printed in zip(plan.pages, pages, strict=False):
            found = re.findall(r"\d+", printed.extract_text())
            for system in page.systems:
                assert system.first == 0 or numbers[system.first] in found


def test_explain_says_that_it_does_not_weigh_other_parts(made: tuple[Path, str]) -> None:
    folder, _ = made
    command = [sys.executable, "-c", "from optimizer.cli import main; main()", "explain"]
    ran = subprocess.run(
        [*command, str(folder / FOLDERS[0] / "plan.json"), "20"], capture_output=True, text=True, check=False
    )
    assert ran.returncode == 2
    assert "planned together with other parts" in ran.stderr


def test_written_parts_can_be_read_again_and_last_as_long(made: tuple[Path, str], trio: Path) -> None:
    folder, _ = made
    full = score_from(load_file(trio))
    for each in FOLDERS:
        part = score_from(load_file(folder / each / "score.musicxml"))
        assert len(part.parts) == 1
        assert part.duration_s == pytest.approx(full.duration_s)


def test_nothing_is_overwritten_unless_asked(made: tuple[Path, str], trio: Path) -> None:
    folder, _ = made
    before = (folder / "ensemble.json").read_bytes()
    code, _, err = told(trio, "-o", folder)
    assert code == 2
    assert "exists already" in err
    assert (folder / "ensemble.json").read_bytes() == before


def test_parts_of_another_set_are_told_of(trio: Path, corpora: Path, tmp_path: Path) -> None:
    """Who prints the whole folder would print them too."""
    earlier = tmp_path / "4-tuba"
    earlier.mkdir()
    (earlier / "plan.json").write_text("{}")
    (tmp_path / "notes").mkdir()
    code, out, err = told(corpora / "three-lamps.musicxml", "-o", tmp_path)
    assert code == 0, err
    assert "parts of another set lie here too: 4-tuba;" in " ".join(out.split())


@pytest.mark.parametrize(
    ("words", "trouble"),
    [
        (("--players", "Tuba=2"), "no such part"),
        (("--players", "Flute"), "PART=N"),
        (("--players", "Flute=0"), "--players"),
        (("--split", "Tuba"), "no such part"),
        (("--players", "Clarinet in B♭, Bass=2"), "--players Clarinet in B♭, Bass: no such part"),
        (("--split", "Flute, Alto"), "--split Flute, Alto: no such part"),
        (("--level", "expert"), "beginner, intermediate, advanced"),
        (("--players", "Flute=2", "--players", "flute=3"), "named twice"),
        (("--players", "Flute=2", "--players", "1=3"), "--players: Flute and 1 both name Flute"),
        (("--split", "Flute"), "--split Flute: nothing on its staff divides two players"),
        (("--cue-bars", "few"), "whole number"),
        (("--cue-bars", "-5"), "--cue-bars -5: 0 to"),
        (("--cue-seconds", "nan"), "--cue-seconds nan: 0 to"),
        (("--time-limit", "-1"), "--time-limit -1: 0 to"),
        (("--least-staff", "40"), "--least-staff 40: a staff is"),
        (("--staff", "7", "--least-staff", "8"), "--staff 7 is smaller than --least-staff 8"),
        (("--instruments", "/nowhere.toml"), "cannot be read"),
        (("--staff", "1"), "--staff"),
    ],
)
def test_wrong_words_are_one_clear_line(
    trio: Path, tmp_path: Path, words: tuple[str, ...], trouble: str
) -> None:
    code, _, err = told(trio, *words, "-o", tmp_path / "set")
    assert code == 2
    assert trouble in err
    assert len(err.strip().splitlines()) == 1
    assert not (tmp_path / "set").exists()
