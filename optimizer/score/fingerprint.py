"""Tells whether two files hold the same notes.

In: `Score`.  Out: a hexadecimal string.  Always true: it depends on bars and written notes alone, not on the file, its
page breaks, the tempo or the playing order: score.musicxml has that of the file it was made from.
"""

import hashlib
from collections.abc import Iterator

from optimizer.score.model import Score


def fingerprint(score: Score) -> str:
    """The SHA-256 of what is written."""
    digest = hashlib.sha256()
    for line in _lines(score):
        digest.update(f"{line}\n".encode())
    return digest.hexdigest()


def _lines(score: Score) -> Iterator[str]:
    """Every part, bar and note, each on a line."""
    for part in score.parts:
        yield f"{part.id} {part.staves}"
    for measure in score.measures:
        yield f"{measure.number} {measure.length_ql}"
    for note in score.notes:
        pitch = note.pitch and f"{note.pitch.step} {note.pitch.alter:g} {note.pitch.octave}"
        place = f"{note.part_index} {note.measure_index} {note.offset_ql} {note.staff} {note.voice}"
        yield f"{place}: {pitch} {note.duration_ql} {note.grace}"
