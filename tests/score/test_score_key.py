"""Keys that the file does not tell: found by analysis, marked as found, and for free where the file tells."""

import subprocess
import sys
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
from music21.analysis.discrete import AardenEssen
from music21.converter import parse

from optimizer.score import ScoreFile, read_score, score_from
from optimizer.score.key import with_key
from optimizer.score.model import Key

Build = Callable[..., ScoreFile]
Note = Callable[..., str]

# Keys from memory and from the titles; their files give a signature without a mode.
REAL = {
    "choir-piano-stanford-sailing-at-dawn": "E-flat major",
    "ensemble-purcell-sonata-z807": "G minor",  # says the title
    "lied-schubert-abschied": "E-flat major",
    "lied-schubert-erlkoenig": "G minor",
    "lied-schubert-gute-nacht": "D minor",
    "lied-wolf-waldmaedchen": "G major",
    "print-piano-chopin-op53-polonaise": "A-flat major",
    "print-trio-chopin-op8-1": "G minor",
    "quartet-boccherini-g213": "A major",  # says the title
    "quartet-schubert-d703": "C minor",  # says the title
}


@pytest.mark.parametrize(("name", "key"), REAL.items())
def test_keys_of_real_scores(name: str, key: str, shared_data: Path) -> None:
    score = read_score(shared_data / "scores" / f"{name}.mxl")
    assert score.key is None
    found = with_key(score).key
    assert found is not None
    assert (str(found), found.found) == (key, True)


@pytest.mark.parametrize("name", ["nachtfaehre", "nets-on-the-quay"])
def test_analysis_agrees_with_music21s_of_the_whole_score(name: str, corpora: Path) -> None:
    """Pieces without a change of key: our distribution of pitch classes must be theirs."""
    path = corpora / f"{name}.musicxml"
    score = read_score(path)
    theirs = AardenEssen().getSolution(parse(path))
    assert with_key(replace(score, key=None)).key == Key(theirs.sharps, theirs.mode, found=True)
    assert with_key(score) is score


def test_an_old_signature_lacks_a_flat(score_file: Build, note: Note) -> None:
    """G minor with one flat, as 17th-century prints have it (common practice, no source)."""
    scale = [
        ("G", 0),
        ("A", 0),
        ("B", -1),
        ("C", 0),
        ("D", 0),
        ("E", -1),
        ("F", 1),
        ("G", 0),
        ("D", 0),
        ("G", 0),
    ]
    notes = [
        f"<note><pitch><step>{step}</step><alter>{alter}</alter><octave>4</octave></pitch>"
        "<duration>4</duration></note>"
        for step, alter in scale
    ]
    key = "<attributes><divisions>1</divisions><key><fifths>-1</fifths></key></attributes>"
    score = score_from(score_file(key + notes[0], *notes[1:]))
    assert score.key is None
    assert with_key(score).key == Key(-2, "minor", found=True)


def test_nothing_is_found_where_nothing_sounds(score_file: Build) -> None:
    rest = "<note><rest/><duration>4</duration></note>"
    assert with_key(score_from(score_file(rest))).key is None


def test_a_known_key_does_not_load_music21(corpora: Path) -> None:
    code = (
        "import sys; from pathlib import Path; from optimizer.score import read_score;"
        "from optimizer.score.key import with_key;"
        f"with_key(read_score(Path({str(corpora / 'nachtfaehre.musicxml')!r})));"
        "sys.exit('music21' in sys.modules)"
    )
    assert subprocess.run([sys.executable, "-c", code], cwd=corpora.parent, check=False).returncode == 0
