"""The command line as a user meets it: exit codes, one clear line, files."""

import json
import os
import re
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

import pytest

from optimizer import cli
from optimizer.errors import UsageError
from optimizer.settings import Holes, Lang, Printer, Settings, SheetSettings, SheetSize, Strips


class Ran(NamedTuple):
    code: int
    out: str
    err: str


Run = Callable[..., Ran]


@pytest.fixture
def run(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], tmp_path: Path) -> Run:
    """Calls `quietleaf` with these words, in a folder of its own."""
    monkeypatch.chdir(tmp_path)

    def call(*words: object) -> Ran:
        monkeypatch.setattr(sys, "argv", ["quietleaf", *map(str, words)])
        code = 0
        try:
            cli.main()
        except SystemExit as stop:
            code = int(stop.code or 0)
        return Ran(code, *capsys.readouterr())

    return call


@pytest.fixture
def quay(corpora: Path) -> Path:
    """A short piano piece."""
    return corpora / "nets-on-the-quay.musicxml"


FILES = ["guide.pdf", "label.pdf", "pages.pdf", "plan.json", "score.musicxml", "turnsheet.pdf"]


def test_prepare_writes_all_files(run: Run, quay: Path, tmp_path: Path) -> None:
    ran = run("prepare", quay, "-o", "set", "--desk", "upright", "--staff", "6.5")
    assert ran.code == 0, ran.err
    assert sorted(path.name for path in (tmp_path / "set").iterdir()) == FILES
    plan = json.loads((tmp_path / "set" / "plan.json").read_text())
    assert plan["schema"] == "quietleaf-plan/1"
    assert plan["solver"]["status"] == "optimal"
    assert plan["staff_mm"] == 6.5
    assert plan["desk"] == {"name": "upright", "pages_abreast": 3}
    covered = [
        bar for page in plan["pages"] for s in page["systems"] for bar in range(s["first"], s["last"] + 1)
    ]
    assert covered == list(range(plan["score"]["measures"]))
    terms = plan["solver"]["terms"]
    assert any(terms.values())
    for term, cost in terms.items():
        assert bool(re.search(rf"^{term} +\d", ran.out, re.MULTILINE)) == (
            cost > 0
        )  # each term that counts has its line


def test_nothing_is_overwritten_without_replace(run: Run, quay: Path, tmp_path: Path) -> None:
    assert run("prepare", quay, "-o", "set", "--staff", "7").code == 0
    before = (tmp_path / "set" / "plan.json").read_bytes()
    refused = run("prepare", quay, "-o", "set", "--staff", "6")
    assert refused.code == 2
    assert "--replace" in refused.err
    assert (tmp_path / "set" / "plan.json").read_bytes() == before
    assert run("prepare", quay, "-o", "set", "--staff", "6", "--replace").code == 0
    assert (tmp_path / "set" / "plan.json").read_bytes() != before


@pytest.mark.parametrize(
    ("words", "code", "says"),
    [
        (("--desk", "organ"), 2, "--desk organ"),
        (("--paper", "a9"), 2, "--paper a9"),
        (("--staff", "99"), 2, "--staff 99"),
        (("--player", "Tuba"), 2, "--player Tuba"),
        (("--turn-after", "999"), 2, "--turn-after 999"),
        (("--weight", "beauty=3"), 2, "beauty"),
        (("--binding", "glued"), 2, "--binding glued: unknown; use taped, ring, stapled, loose"),
        (("--binding", "stapled", "--holes", "2"), 2, "--holes 2"),
        (("--binding", "ring", "--sheet", "double"), 2, "--sheet double"),
        (("--lang", "xx"), 2, "quietleaf: --lang xx: unknown; use en, de, fr, es, sv"),
        (("--hands", "it"), 2, "quietleaf: --hands it: unknown; use auto, two, together, free"),
        (("--holes", "7"), 2, "quietleaf: --holes 7: unknown; use auto, 2"),
        (("--sheet", "q"), 2, "quietleaf: --sheet q: unknown; use"),
        (("--printer", "q"), 2, "quietleaf: --printer q: unknown; use"),
        (("--carry", "q"), 2, "quietleaf: --carry q: unknown; use"),
        (("--tempo", "fast"), 2, "quietleaf: --tempo fast: give a number"),
        (("--pages", "2.5"), 2, "quietleaf: --pages 2.5: give a whole number"),
        (("--pages", "40"), 4, "--pages 40"),
        (("--turn-after", "9", "--no-turn-after", "9"), 4, "--no-turn-after 9"),
    ],
)
def test_one_clear_line_for_wrong_words(
    run: Run, quay: Path, tmp_path: Path, words: tuple[str, ...], code: int, says: str
) -> None:
    ran = run("prepare", quay, "-o", "set", *words)
    lines = [
        line for line in ran.err.splitlines() if not line.endswith(" ...")
    ]  # a slow machine tells its stages
    assert (ran.code, len(lines)) == (code, 1)
    assert says in lines[0]
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("command", ["prepare", "compare"])
@pytest.mark.parametrize("place", ["mine", "mine/deeper"])
def test_a_file_is_no_folder_to_write_to(run: Run, tmp_path: Path, command: str, place: str) -> None:
    """Refused before anything is read: the score that is not there is not missed."""
    (tmp_path / "mine").write_text("mine")
    ran = run(command, "missing.mxl", "-o", place)
    assert (ran.code, len(ran.err.splitlines())) == (2, 1)
    assert "mine: is a file; name a folder" in ran.err
    assert (tmp_path / "mine").read_text() == "mine"


def test_words_about_paper_become_settings(run: Run, quay: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    seen: list[Settings] = []

    def stop(score: Path, output: Path, settings: Settings, **_: object) -> None:
        seen.append(settings)
        raise UsageError("seen")

    monkeypatch.setattr("optimizer.pipeline.prepare", stop)
    run("prepare", quay, "-o", "set")
    run(
        "prepare", quay, "-o", "set", "--binding", "Stapled", "--sheet", "double", "--printer", "short", "--no-marks",
        "--unprintable", 4, "--grammage", 90, "--lang", "SV", "--carry", "auto",
    )  # fmt: skip
    run("prepare", quay, "-o", "set", "--binding", "ring", "--holes", 4)
    plain, stapled, ring = seen
    assert plain == Settings()
    assert (stapled.binding, stapled.strips) == ("stapled", Strips.AUTO)
    assert stapled.sheets == SheetSettings(
        Printer.SHORT, SheetSize.DOUBLE, marks=False, unprintable_mm=4, grammage_gsm=90, lang=Lang.SV
    )
    assert (ring.binding, ring.sheets) == ("ring", SheetSettings(holes=Holes.FOUR))


def test_long_work_tells_its_stages(run: Run, quay: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Issue text: progress shown for anything over a second; here after none."""
    from optimizer import terminal

    monkeypatch.setattr(terminal, "SHOWN_AFTER_S", 0.0)
    told = run("prepare", quay, "-o", "set", "--staff", "6.5").err.splitlines()
    assert told[0] == "quietleaf: reading the score ..."
    assert "quietleaf: engraving systems ..." in told
    assert len(told) == len(set(told))


def test_unreadable_scores(run: Run, tmp_path: Path) -> None:
    (tmp_path / "bad.musicxml").write_text("<score-partwise><part>")
    for name, says in (("bad.musicxml", "line 1"), ("missing.mxl", "missing.mxl"), (".", "folder")):
        ran = run("prepare", name, "-o", "set")
        assert (ran.code, ran.err.count("\n")) == (3, 1), ran.err
        assert says in ran.err
    assert not (tmp_path / "set").exists()


def test_demands_hold(run: Run, corpora: Path, tmp_path: Path) -> None:
    song = corpora / "harbour-song.musicxml"
    ran = run("prepare", song, "-o", "set", "--staff", "6", "--turn-after", "30", "--together", "40-44")
    assert ran.code == 0, ran.err
    plan = json.loads((tmp_path / "set" / "plan.json").read_text())
    first_of_page = {page["number"]: page["systems"][0]["first"] for page in plan["pages"]}
    bars = [first_of_page[spread["pages"][0]] for spread in plan["spreads"]]
    number = {int(measure): index for index, measure in enumerate(_numbers(song))}
    assert number[30] + 1 in bars
    assert not any(number[40] < start <= number[44] for start in bars)


def _numbers(song: Path) -> list[str]:
    from optimizer import read_score

    return [measure.number for measure in read_score(song).measures]


def test_turns_table_json_and_pictures(run: Run, quay: Path, tmp_path: Path) -> None:
    table = run("turns", quay)
    assert table.code == 0, table.err
    usual = tmp_path / "nets-on-the-quay-turns.pdf"
    assert usual.read_bytes().startswith(b"%PDF")
    usual.write_bytes(b"mine")
    again = run("turns", quay)
    assert (again.code, usual.read_bytes()) == (0, b"mine")  # the table, and nothing is drawn over
    assert "exists already" in again.out
    assert run("turns", quay, "-o", usual.name).code == 2
    assert run("turns", quay, "-o", "t.svg").code == 0
    assert "<svg" in (tmp_path / "t.svg").read_text()
    assert run("turns", quay, "-o", "t.png").code == 2
    (tmp_path / "t.svg").unlink()
    machine = run("turns", quay, "--json")
    found = json.loads(machine.out)
    measures = len(_numbers(quay))
    assert [row["after"] for row in found["barlines"]] == list(range(measures - 1))
    assert all(sum(row["terms"].values()) == row["cost"] for row in found["barlines"])
    assert not (tmp_path / "t.svg").exists()


@pytest.mark.skipif(not hasattr(os, "fork"), reason="pipes of this system do not break")
def test_a_reader_that_has_seen_enough_is_no_failure(corpora: Path, tmp_path: Path) -> None:
    """As in `quietleaf turns SCORE --json | head -1`: more is written than a pipe holds, and nobody reads on."""
    start = [sys.executable, "-c", "from optimizer.cli import main; main()", "turns"]
    for more in ((), ("--json",)):
        words = [*start, str(corpora / "harbour-song.musicxml"), *more]
        with subprocess.Popen(words, stdout=subprocess.PIPE, stderr=subprocess.PIPE, cwd=tmp_path) as work:
            assert work.stdout
            assert work.stderr
            work.stdout.close()
            said = work.stderr.read().decode().splitlines()
        assert all(line.endswith(" ...") for line in said), said  # a slow machine tells its stages
        assert work.returncode == 0


STOPPED = """
import os, signal, sys
from optimizer import cli, press

def stop(target, *_):
    target.write_text("half")
    os.kill(os.getpid(), signal.SIGINT)

press.print_pages = stop
signal.signal(signal.SIGINT, signal.default_int_handler)  # programs in the background are born without it
cli.main()
"""


@pytest.mark.skipif(not hasattr(os, "fork"), reason="signals of this system are of another kind")
def test_stopped_while_writing_leaves_nothing(quay: Path, tmp_path: Path) -> None:
    """In a process of its own: a solver that takes Ctrl-C for itself would end this one as well."""
    words = [sys.executable, "-c", STOPPED, "prepare", str(quay), "-o", "set", "--staff", "6.5"]
    ran = subprocess.run(words, cwd=tmp_path, capture_output=True, text=True)
    assert ran.returncode == 130, ran.stderr
    assert ran.stderr.splitlines()[-1] == "quietleaf: stopped; nothing was written"
    assert list(tmp_path.iterdir()) == []


def test_help_shows_examples_and_loads_nothing_heavy(run: Run) -> None:
    assert "Examples:" in run("prepare", "--help").out
    assert "Examples:" in run("turns", "--help").out
    code = (
        "import sys; sys.argv = ['quietleaf', '--help']\n"
        "from optimizer import cli\n"
        "try: cli.main()\n"
        "except SystemExit: pass\n"
        "heavy = {'ortools', 'verovio', 'reportlab', 'music21', 'numpy', 'lxml'} & set(sys.modules)\n"
        "sys.exit(f'loaded {heavy}' if heavy else 0)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr


def test_a_fault_of_ours_is_one_line_and_exit_1(
    run: Run, quay: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*_: object, **__: object) -> None:
        raise ZeroDivisionError("no systems")

    monkeypatch.setattr("optimizer.pipeline.prepare", broken)
    ran = run("prepare", quay, "-o", "set")
    assert (ran.code, ran.err.count("\n")) == (1, 1)
    assert "no systems" in ran.err
    monkeypatch.setenv("QUIETLEAF_TRACEBACK", "1")
    with pytest.raises(ZeroDivisionError):
        run("prepare", quay, "-o", "set")
