"""Files are written all or nothing."""

from pathlib import Path

import pytest

from optimizer.errors import UsageError
from optimizer.output import check_free, write_one, write_together


def fails(_: Path) -> None:
    raise OSError("disk full")


def says(text: str):  # type: ignore[no-untyped-def]
    return lambda target: target.write_text(text)


def test_folder_and_files_are_made(tmp_path: Path) -> None:
    written = write_together(tmp_path / "a" / "b", {"x": says("1"), "y": says("2")}, replace=False)
    assert [path.read_text() for path in written] == ["1", "2"]
    assert sorted(path.name for path in (tmp_path / "a" / "b").iterdir()) == ["x", "y"]


def test_files_go_into_folders_of_their_own(tmp_path: Path) -> None:
    (tmp_path / "set" / "a").mkdir(parents=True)
    (tmp_path / "set" / "a" / "x").write_text("old")
    writers = {"a/x": says("1"), "b/x": says("2"), "all": says("3")}
    written = write_together(tmp_path / "set", writers, replace=True)
    assert {str(path.relative_to(tmp_path / "set")): path.read_text() for path in written} == {
        "a/x": "1", "b/x": "2", "all": "3",
    }  # fmt: skip
    with pytest.raises(OSError, match="disk full"):
        write_together(tmp_path / "set", {"a/x": says("new"), "c/x": says("new"), "d/x": fails}, replace=True)
    assert sorted(path.name for path in (tmp_path / "set").iterdir()) == ["a", "all", "b"]
    assert (tmp_path / "set" / "a" / "x").read_text() == "1"


def test_nothing_is_left_when_one_file_fails(tmp_path: Path) -> None:
    with pytest.raises(OSError, match="disk full"):
        write_together(tmp_path / "a" / "b", {"x": says("1"), "y": fails}, replace=False)
    assert list(tmp_path.iterdir()) == []


def test_old_files_survive_a_failure(tmp_path: Path) -> None:
    (tmp_path / "x").write_text("old")
    (tmp_path / "mine").write_text("kept")
    with pytest.raises(OSError, match="disk full"):
        write_together(tmp_path, {"x": says("new"), "y": fails}, replace=True)
    assert {path.name: path.read_text() for path in tmp_path.iterdir()} == {"x": "old", "mine": "kept"}


def test_old_files_are_put_back_when_moving_fails(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "x").write_text("old")
    import optimizer.output as output

    real, moves = output.os.replace, []

    def replace(source: Path, target: Path) -> None:
        moves.append(target)
        if len(moves) == 2:
            raise OSError("gone")
        real(source, target)

    monkeypatch.setattr(output.os, "replace", replace)
    with pytest.raises(OSError, match="gone"):
        write_together(tmp_path, {"x": says("new"), "y": says("new")}, replace=True)
    assert {path.name: path.read_text() for path in tmp_path.iterdir()} == {"x": "old"}


def test_nothing_is_overwritten_silently(tmp_path: Path) -> None:
    (tmp_path / "x").write_text("old")
    with pytest.raises(UsageError, match="--replace"):
        write_together(tmp_path, {"x": says("new")}, replace=False)
    write_together(tmp_path, {"x": says("new")}, replace=True)
    assert (tmp_path / "x").read_text() == "new"


def test_a_file_is_no_folder(tmp_path: Path) -> None:
    (tmp_path / "f").write_text("")
    with pytest.raises(UsageError, match="is a file"):
        write_together(tmp_path / "f", {"x": says("1")}, replace=True)
    (tmp_path / "d").mkdir()
    with pytest.raises(UsageError, match="is a folder"):
        write_one(tmp_path / "d", says("1"), replace=True)


def test_a_folder_that_cannot_be_written_to_is_found_before_the_work(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from optimizer import output

    monkeypatch.setattr(output.os, "access", lambda path, mode: Path(path) != tmp_path)
    with pytest.raises(UsageError, match=f"{tmp_path.name}: cannot be written to"):
        check_free((tmp_path / "new" / "pages.pdf",), replace=True)
