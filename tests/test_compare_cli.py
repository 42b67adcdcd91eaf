"""`quietleaf compare`: alternatives in a table, as files, and one of them printed."""

import csv
import io
import json
import shlex
from dataclasses import replace
from pathlib import Path

import pytest
from typer.testing import CliRunner

from optimizer import Choices, Settings, compare_plans, pipeline, print_plan, read_score
from optimizer.cli import app
from optimizer.compare import Comparison, listing
from optimizer.compare.choices import parse_choices
from optimizer.compare.command import command
from optimizer.compare.web.words import figure, hardest, notes
from optimizer.errors import UsageError
from optimizer.layout import from_json
from optimizer.layout.plan import Plan
from optimizer.pipeline import COMPARISON_FILES, FILES, Compared
from optimizer.settings import DESKS, PAPERS, Demands
from optimizer.terminal_compare import print_compared

WORDS = (
    "--paper",
    "150x170mm",
    "--desk",
    "340",
    "--desk",
    "480",
    "--binding",
    "taped",
    "--binding",
    "stapled",
)
STAFFS = ("--staff", "6.5", "--staff", "5")
CHOICES = parse_choices(("340", "480"), ("150x170mm",), ("taped", "stapled"), ("6.5", "5"))


@pytest.fixture(scope="module")
def lamps(corpora: Path) -> Path:
    """A short song with repeats."""
    return corpora / "three-lamps.musicxml"


@pytest.fixture(scope="module")
def comparison(lamps: Path) -> Comparison:
    """What the command is to show."""
    return compare_plans(lamps, CHOICES)


@pytest.fixture(scope="module")
def folder(lamps: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """What it wrote."""
    target = tmp_path_factory.mktemp("compare") / "out"
    assert told(lamps, *WORDS, *STAFFS, "-o", target)[0] == 0
    return target


def told(*words: object) -> tuple[int, str, list[str]]:
    """Exit code, standard output, and the lines on standard error but for the stages a slow machine tells."""
    ran = CliRunner(env={"COLUMNS": "80"}).invoke(app, ["compare", *map(str, words)])
    return (
        ran.exit_code,
        ran.stdout,
        [line for line in ran.stderr.splitlines() if not line.endswith(" ...")],
    )


def timeless(plan_json: str) -> object:
    document = json.loads(plan_json)
    document["solver"]["seconds"] = 0
    return document


def test_files_agree_with_the_comparison(folder: Path, comparison: Comparison) -> None:
    assert sorted(path.name for path in folder.iterdir()) == sorted(COMPARISON_FILES)
    document = json.loads((folder / "compare.json").read_text(encoding="utf-8"))
    assert document["schema"] == "quietleaf-compare/1"
    assert document["score"]["sha256"] == comparison.score.sha256
    tally = document["tally"]
    assert tally["cells"] == tally["solved"] + tally["dominated"] + tally["impossible"]
    assert (tally["cells"], tally["shown"]) == (comparison.tally.cells, len(comparison.alternatives))
    assert [barline["cost"] for barline in document["barlines"]] == [cost.cost for cost in comparison.costs]
    rows = csv.DictReader(io.StringIO((folder / "compare.csv").read_bytes().decode(), newline=""))
    for alternative, entry, row in zip(comparison.alternatives, document["alternatives"], rows, strict=True):
        merits, settings = alternative.merits, alternative.settings
        told_merits = {
            key: entry[key] for key in ("effort", "worst", "back_turns", "reach", "staff_mm", "sheets")
        }
        assert told_merits == {key: getattr(merits, key) for key in told_merits}
        assert (entry["desk"], entry["paper"], entry["binding"]) == (
            settings.desk.name,
            settings.paper.name,
            settings.binding,
        )
        assert entry["pages"] == len(entry["plan"]["pages"])
        assert without_seconds(from_json(json.dumps(entry["plan"]))) == without_seconds(alternative.plan)
        assert entry["least"] == alternative.least
        assert entry["beaten_by"] == alternative.beaten_by
        del entry["plan"]
        empty_or_small = {True: "true", False: "false", None: ""}
        assert row == {
            key: empty_or_small[value] if value is None or isinstance(value, bool) else str(value)
            for key, value in entry.items()
        }


def without_seconds(plan: Plan) -> object:
    return replace(plan, solver=replace(plan.solver, seconds=0.0))


def test_csv_is_as_rfc_4180_has_it(folder: Path, comparison: Comparison) -> None:
    """RFC 4180, 2.1 to 2.7: lines end in CR LF, a header, as many fields on each line, quotes around commas."""
    text = (folder / "compare.csv").read_bytes().decode()
    assert text.endswith("\r\n")
    assert text.count("\r\n") == text.count("\n") == len(comparison.alternatives) + 1
    rows = list(csv.reader(io.StringIO(text, newline=""), strict=True))
    assert {len(row) for row in rows} == {len(rows[0])}
    assert rows[0][:4] == ["number", "desk", "paper", "binding"]


def test_the_table_has_every_alternative_on_80_columns(
    lamps: Path, tmp_path: Path, comparison: Comparison
) -> None:
    code, out, _ = told(lamps, *WORDS, *STAFFS, "-o", tmp_path / "out")
    assert code == 0
    table = out[: out.index("\nleast in sum: what prepare would take")]
    assert all(len(line.rstrip()) <= 80 for line in table.splitlines())
    assert "all: 150x170mm" in out  # what all share is said once
    figures = [
        line.split() for line in table.splitlines() if line.strip()[:1].isdigit() and "desk" not in line
    ]
    assert [int(words[0]) for words in figures] == [one.number for one in comparison.alternatives]
    for words, one in zip(figures, comparison.alternatives, strict=True):
        merits = one.merits
        assert words[1] == one.settings.binding
        grade = hardest(one.plan)
        assert words[2:10] == [
            figure(merits.staff_mm),
            str(len(one.plan.pages)),
            str(merits.sheets),
            str(merits.effort),
            str(merits.worst),
            *([grade] if grade else []),
            str(merits.back_turns),
            str(merits.reach),
            *([] if grade else [words[9]]),
        ]
    for note in ("least in sum", "beaten by"):
        noted = [one for one in comparison.alternatives if note in " ".join(notes(one))]
        assert " ".join(table.split()).count(note) == len(noted)
    assert f"{comparison.tally.cells} combinations" in out
    assert f"{len(comparison.alternatives)} alternatives" in out


def test_the_one_picked_is_printed_beside_the_comparison(
    lamps: Path, folder: Path, tmp_path: Path, comparison: Comparison
) -> None:
    before = {name: (folder / name).read_bytes() for name in COMPARISON_FILES}
    picked = comparison.alternatives[1]
    code, out, err = told(lamps, *WORDS, *STAFFS, "-o", folder, "--pick", picked.number)
    assert code == 0, err
    assert f"printed alternative {picked.number}" in out
    assert before == {name: (folder / name).read_bytes() for name in COMPARISON_FILES}  # kept
    document = json.loads(before["compare.json"])
    entry = document["alternatives"][1]["plan"]
    assert timeless((folder / "plan.json").read_text()) == timeless(json.dumps(entry))
    print_plan(picked.plan, read_score(lamps), tmp_path / "again", picked.settings)
    for name in set(FILES) - {"plan.json"}:
        assert (folder / name).read_bytes() == (tmp_path / "again" / name).read_bytes(), name
    for name in FILES:
        (folder / name).unlink()


def test_a_pick_needs_no_comparison_before_it_but_none_of_another_score(
    lamps: Path, corpora: Path, tmp_path: Path
) -> None:
    few = ("--desk", "stand", "--staff", "6")
    code, _, err = told(lamps, *few, "-o", tmp_path, "--pick", 1)
    assert code == 0, err
    assert sorted(path.name for path in tmp_path.iterdir()) == sorted((*COMPARISON_FILES, *FILES))
    for name in FILES:
        (tmp_path / name).unlink()
    before = (tmp_path / "compare.json").read_bytes()
    code, _, err = told(corpora / "nets-on-the-quay.musicxml", *few, "-o", tmp_path, "--pick", 1)
    assert (code, len(err)) == (2, 1)
    assert "another comparison" in err[0]
    assert sorted(path.name for path in tmp_path.iterdir()) == sorted(COMPARISON_FILES)
    assert (tmp_path / "compare.json").read_bytes() == before


def test_nothing_is_overwritten_without_replace(lamps: Path, tmp_path: Path) -> None:
    few = ("--desk", "stand", "--staff", "6", "-o", tmp_path)
    (tmp_path / "compare.csv").write_text("mine")
    code, _, err = told(lamps, *few)
    assert (code, len(err)) == (2, 1)
    assert "--replace" in err[0]
    assert [path.name for path in tmp_path.iterdir()] == ["compare.csv"]
    assert (tmp_path / "compare.csv").read_text() == "mine"
    assert told(lamps, *few, "--replace")[0] == 0
    assert (tmp_path / "compare.csv").read_text().startswith("number,desk")


@pytest.mark.parametrize(
    ("words", "code", "says"),
    [
        (("--desk", "organ"), 2, "--desk organ"),
        (("--desk", "upright", "--desk", "Upright"), 2, "--desk Upright: said twice"),
        (("--paper", "a4,a4"), 2, "--paper a4: said twice"),
        (("--binding", "glued"), 2, "--binding glued: unknown"),
        (("--binding", "ring", "--binding", "ring"), 2, "--binding ring: said twice"),
        (("--staff", "6", "--staff", "6.0"), 2, "--staff 6.0: said twice"),
        (("--staff", "6", "--staff", "auto"), 2, "--staff auto"),
        (("--staff", "99"), 2, "--staff 99"),
        (("--turn-after", "999"), 2, "--turn-after 999"),
        (("--turn-after", "9", "--no-turn-after", "9"), 4, "--no-turn-after 9"),
        (("--desk", "stand", "--staff", "6", "--pick", "40"), 2, "--pick 40: there"),
        (("--desk", "stand", "--staff", "6", "--pick", "0"), 2, "--pick 0: there"),
    ],
)
def test_one_clear_line_for_wrong_words(
    lamps: Path, tmp_path: Path, words: tuple[str, ...], code: int, says: str
) -> None:
    ran = told(lamps, "-o", tmp_path / "out", *words)
    assert (ran[0], len(ran[2])) == (code, 1), ran
    assert says in ran[2][0]
    assert list(tmp_path.iterdir()) == []


def test_a_page_that_cannot_be_drawn_leaves_nothing(
    lamps: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*_: object) -> str:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(listing, "csv_text", full)  # the last of the files
    code, _, err = told(lamps, "--desk", "stand", "--staff", "6", "-o", tmp_path / "out", "--pick", "1")
    assert (code, len(err)) == (2, 1)
    assert list(tmp_path.iterdir()) == []


Seen = list[tuple[Choices, Settings]]


@pytest.fixture
def seen(monkeypatch: pytest.MonkeyPatch) -> Seen:
    """What the command makes of its words, instead of a comparison."""
    seen: Seen = []

    def stop(score: Path, output: Path, choices: Choices, settings: Settings, **_: object) -> None:
        seen.append((choices, settings))
        raise UsageError("seen")

    monkeypatch.setattr(pipeline, "compare", stop)
    return seen


def test_words_become_choices_and_settings(lamps: Path, tmp_path: Path, seen: Seen) -> None:
    told(lamps, "-o", tmp_path)
    told(
        lamps, "-o", tmp_path, "--desk", "stand", "--paper", "b4", "--paper", "letter", "--binding", "ring",
        "--holes", 4, "--staff", "7", "--staff", "6", "--together", "3-5", "--max-pages", 9, "--weight", "reach=50",
    )  # fmt: skip
    (plain_choices, plain), (choices, settings) = seen
    assert plain_choices == Choices((DESKS["upright"], DESKS["grand"]), (PAPERS["a4"],), ("taped",))
    assert plain == Settings()
    assert choices == Choices((DESKS["stand"],), (PAPERS["b4"], PAPERS["letter"]), ("ring",), (7.0, 6.0))
    assert settings.demands == Demands(together=("3-5",), max_pages=9)
    assert settings.weights_percent == {"reach": 50}


@pytest.mark.parametrize(
    "words",
    [
        (),
        ("--desk", "612.5", "--desk", "digital", "--paper", "9x12in", "--paper", "b4", "--staff", "6.15"),
        ("--binding", "ring", "--binding", "loose", "--margins", "12.5,14,11,10", "--holes", "4", "--lang", "sv"),
        ("--binding", "stapled", "--sheet", "double", "--printer", "short", "--no-marks", "--unprintable", "4.2"),
        ("--player", "Viola, Solo", "--player", "it's", "--hands", "together", "--tempo", "72.5", "--carry-notes", "3"),
        ("--turn-after", "2:4", "--turn-after", "#9", "--no-turn-after", "5", "--together", "6-8", "--max-pages", "7"),
        ("--pages", "4", "--as-given", "--weight", "turns=150", "--weight", "reach=0", "--grammage", "90"),
        ("--playback-marks", "--carry", "auto"),
    ],
)  # fmt: skip
def test_the_command_told_is_the_command_given(seen: Seen, words: tuple[str, ...]) -> None:
    """Every option once: the shell's words, read by the command itself, are the same choices and settings."""
    path, folder = Path("a song.mxl"), Path("out of hand")
    told(path, *words, "-o", folder)
    line = command(path, folder, *seen[0])
    name, *again = shlex.split(line)
    assert name == "quietleaf"
    assert again[-2:] == ["-o", str(folder)]
    told(*again[1:])
    assert seen[1] == seen[0]
    assert len(again) == len(words) + 4  # nothing is said that was not


def test_the_files_own_pages_are_marked_and_stand_with_their_desk(
    comparison: Comparison, capsys: pytest.CaptureFixture[str]
) -> None:
    first, *others = comparison.alternatives
    last = replace(first, number=len(others) + 2, as_given=True)
    marked = replace(comparison, alternatives=(first, *others, last))
    rows = csv.DictReader(listing.csv_text(marked).splitlines())
    assert [row["as_given"] == "true" for row in rows] == [one.as_given for one in marked.alternatives]
    print_compared(Compared(marked, None, (), ()))
    one_desk, _, other_desk = capsys.readouterr().out.partition("480 mm desk")
    assert "pages of the file" in one_desk
    assert "pages of the file" not in other_desk.partition("pages of the file: shown")[0]
