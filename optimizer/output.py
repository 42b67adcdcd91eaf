"""Files written all or nothing.

In: a target folder and a writer for each file name, which may lead into folders inside it.  Out: the files' paths.
Always true: either every file is complete in its place or the folder is as it was before; other files in it are never
touched.
"""

import contextlib
import os
import shutil
import tempfile
from collections.abc import Callable, Iterable, Mapping
from pathlib import Path

from optimizer.errors import UsageError

Writer = Callable[[Path], None]


def writes(data: bytes) -> Writer:
    """What writes a file that is there already as bytes."""

    def write(target: Path) -> None:
        target.write_bytes(data)

    return write


def write_together(folder: Path, writers: Mapping[str, Writer], replace: bool) -> tuple[Path, ...]:
    """Write all files into `folder`, made if need be; UsageError when one exists and `replace` is not set."""
    targets = {name: folder / name for name in writers}
    check_free(targets.values(), replace)
    made: list[Path] = []
    try:
        for inner in dict.fromkeys((folder, *(target.parent for target in targets.values()))):
            _make_folders(inner, made)
        with tempfile.TemporaryDirectory(prefix=".quietleaf-", dir=folder) as name:
            fresh = Path(name)
            for file, write in writers.items():
                (fresh / file).parent.mkdir(parents=True, exist_ok=True)
                write(fresh / file)
            _move_in(fresh, targets)
    except BaseException:
        for made_folder in reversed(made):
            with contextlib.suppress(OSError):  # the first failure is the one to tell
                made_folder.rmdir()
        raise
    return tuple(targets.values())


def write_one(target: Path, write: Writer, replace: bool) -> None:
    """Write a single file the same way."""
    write_together(target.absolute().parent, {target.name: write}, replace)


def check_free(targets: Iterable[Path], replace: bool) -> None:
    """UsageError when a file exists and may not be replaced, or its folder is a file or cannot be written to."""
    for target in targets:
        folder = next(path for path in target.absolute().parents if path.exists())
        if not folder.is_dir():
            raise UsageError(f"{folder}: is a file; name a folder to write to")
        if not os.access(folder, os.W_OK | os.X_OK):
            raise UsageError(f"{folder}: cannot be written to; write elsewhere or change its permissions")
        if target.is_dir():
            raise UsageError(f"{target}: is a folder where a file must go; move it away")
        if target.exists() and not replace:
            raise UsageError(f"{target}: exists already; add --replace or write elsewhere")


def _make_folders(folder: Path, made: list[Path]) -> None:
    """Make a folder and its parents; adds to `made` the ones that were missing, outermost first."""
    for path in [path for path in (folder, *folder.parents) if not path.exists()][::-1]:
        path.mkdir()
        made.append(path)


def _move_in(fresh: Path, targets: Mapping[str, Path]) -> None:
    """Move finished files into place; on failure put back what was there."""
    kept = fresh / "replaced"
    kept.mkdir()
    moved: list[str] = []
    try:
        for name, target in targets.items():
            if target.exists():
                (kept / name).parent.mkdir(parents=True, exist_ok=True)
                shutil.copy2(target, kept / name)
            os.replace(fresh / name, target)
            moved.append(name)
    except BaseException:
        for name in moved:
            if (kept / name).exists():
                os.replace(kept / name, targets[name])
            else:
                targets[name].unlink()
        raise
