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


def options_of(command: str) -> set[str]:
    click_command = typer.main.get_command(app).commands[command]  # type: ignore[attr-defined]
    words = [word for option in click_command.params for word in (*option.opts, *option.secondary_opts)]
    return {word for word in words if word.startswith("--")} - {"--help"}


def test_every_option_of_prepare_is_explained() -> None:
    table = re.findall(r"^\| (`--.*?) \|", README, flags=re.MULTILINE)
    explained = {name for row in table for name in re.findall(r"--[a-z-]+", row)}
    assert explained == options_of("prepare") - {"--output"}


def test_no_option_is_made_up() -> None:
    known = options_of("prepare") | options_of("turns") | options_of("explain") | {"--help"}
    assert set(re.findall(r"(?<![\w-])--[a-z][a-z-]+", README)) <= known


def test_examples_on_the_command_line_are_valid_words() -> None:
    examples = re.findall(r"^    quietleaf (\w+) (.+)$", README, flags=re.MULTILINE)
    assert len(examples) >= 4
    for command, words in examples:
        assert set(re.findall(r"--[a-z-]+", words)) <= options_of(command)


def test_the_python_example_runs(tmp_path: Path) -> None:
    code = re.search(r"```python\n(.*?)```", README, flags=re.DOTALL)
    assert code
    (tmp_path / "corpora").symlink_to(ROOT / "corpora")
    done = subprocess.run(
        [sys.executable, "-c", code[1]], cwd=tmp_path, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr
    assert done.stdout.startswith("after bar ")
    assert (tmp_path / "out" / "song" / "pages.pdf").exists()


@pytest.mark.parametrize("name", re.findall(r"`((?:scripts|corpora|optimizer)/[\w./-]+)`", README))
def test_files_named_are_there(name: str) -> None:
    assert (ROOT / name).exists()
