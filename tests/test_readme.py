"""The README says what is true: its options are those of the command, its Python runs."""

import re
import subprocess
import sys
from pathlib import Path

import pytest
import typer.main

from optimizer.cli import app

ROOT = Path(__file__).resolve().parent.parent
README = (ROOT / "README.md").read_text(encoding="utf-8")


PARTS = README.partition("### Parts for an ensemble\n")[2].partition("### Exit codes")[0]


def explained_in(text: str) -> set[str]:
    """Options that lines of tables begin with."""
    rows = re.findall(r"^\| (`--.*?) \| ", text.replace("\\|", "/"), flags=re.MULTILINE)
    return {name for row in rows for name in re.findall(r"--[a-z-]+", row)}


def options_of(command: str) -> set[str]:
    click_command = typer.main.get_command(app).commands[command]  # type: ignore[attr-defined]
    words = [word for option in click_command.params for word in (*option.opts, *option.secondary_opts)]
    return {word for word in words if word.startswith("--")} - {"--help"}


def test_every_option_of_prepare_is_explained() -> None:
    own = README.replace(PARTS, "")
    assert explained_in(own) == options_of("prepare") - {"--output"}


def test_every_option_of_parts_is_explained() -> None:
    """Those that `prepare` has too, in its table."""
    named = explained_in(PARTS)
    assert options_of("parts") - options_of("prepare") <= named <= options_of("parts")


def test_no_option_is_made_up() -> None:
    known = {"--help"}.union(*map(options_of, ("prepare", "turns", "compare", "parts", "explain")))
    assert set(re.findall(r"(?<![\w-])--[a-z][a-z-]+", README)) <= known


def test_examples_on_the_command_line_are_valid_words() -> None:
    examples = re.findall(r"^    quietleaf (\w+) (.+)$", README, flags=re.MULTILINE)
    assert len(examples) >= 4
    for command, words in examples:
        assert set(re.findall(r"--[a-z-]+", words)) <= options_of(command)


def test_the_options_of_compare_are_explained() -> None:
    """Those of `prepare` in its table, the others under their own heading."""
    own = README.partition("### Compare\n")[2].partition("### Exit codes")[0]
    for option in options_of("compare") - options_of("prepare"):
        assert f"`{option}" in own


def test_the_python_examples_run(tmp_path: Path) -> None:
    examples = re.findall(r"```python\n(.*?)```", README, flags=re.DOTALL)
    assert len(examples) == 3
    (tmp_path / "corpora").symlink_to(ROOT / "corpora")
    said = []
    for code in examples:
        done = subprocess.run(
            [sys.executable, "-c", code], cwd=tmp_path, capture_output=True, text=True, check=False
        )
        assert done.returncode == 0, done.stderr
        said.append(done.stdout)
    assert said[0].startswith("after bar ")
    for name in ("song", "easiest", "parts/1-flute"):
        assert (tmp_path / "out" / name / "pages.pdf").exists()


@pytest.mark.parametrize("name", re.findall(r"`((?:scripts|corpora|optimizer)/[\w./-]+)`", README))
def test_files_named_are_there(name: str) -> None:
    assert (ROOT / name).exists()
