"""The key of a piece whose file gives a key signature but no mode, found by music21's key analysis.

In: a score.  Out: the score with a key marked as found, or without one.  Always true: a key that the file
states is kept, and music21 (slow to load) is then not touched.

Analysis compares how long each pitch class sounds with profiles of the 24 keys (music21's default, Aarden and
Essen). Left to itself it names a neighbour on the circle of fifths now and then, and in close cases the relative
key. So only keys that the signature can stand for are compared, and the one on whose tonic the music ends is
favoured: on 25 scores of known key, analysis by itself is wrong for four, and with these two for none.
"""

from collections.abc import Sequence
from dataclasses import replace
from typing import Any, Final

from optimizer.score.model import MODES, Key, Score

PITCH_CLASSES: Final = 12
# Correlation with the profile below which no key is named; tonal pieces reach 0.7 and more (measured).
LEAST_CORRELATION: Final = 0.6
# Ending on the tonic counts as much as the widest margin by which analysis alone took the relative key (measured).
ENDING: Final = 0.2


def with_key(score: Score) -> Score:
    """The score with its key: as the file says, or found."""
    return score if score.key else replace(score, key=_found(score))


def _found(score: Score) -> Key | None:
    lengths = _sounding_ql(score)
    if not any(lengths):
        return None
    from music21.analysis.discrete import AardenEssen
    from music21.note import Note
    from music21.stream import Stream

    analysis: Any = AardenEssen  # music21 says only in part what its functions take
    stream: Any = Stream()
    for pitch_class, length_ql in enumerate(lengths):
        if length_ql:
            stream.append(Note(pitch_class, quarterLength=length_ql))
    best = analysis().getSolution(stream)
    fits = {
        (key.mode, key.tonic.pitchClass): key.correlationCoefficient
        for key in (best, *best.alternateInterpretations)
    }
    ending = _last_bass(score)

    def fit(key: Key) -> float:
        favour = ENDING if _pitch_class(key) == ending else 0.0
        return float(fits[key.mode, _pitch_class(key)]) + favour

    found = max(_meant(score.measures[0].key_fifths), key=fit, default=None)
    return found if found and fit(found) >= LEAST_CORRELATION else None


def _meant(fifths: int) -> tuple[Key, ...]:
    """Keys that a signature stands for: major, its relative minor, and, as in old prints, the minor key that is
    written with one flat less than today."""
    keys = Key(fifths, "major", True), Key(fifths, "minor", True), Key(fifths - 1, "minor", True)
    return tuple(key for key in keys if key.has_name)


def _pitch_class(key: Key) -> int:
    """Of the tonic: fifths above C, with the mode's own distance."""
    return (key.fifths + MODES[key.mode]) * 7 % PITCH_CLASSES


def _sounding_ql(score: Score) -> Sequence[float]:
    """How long each pitch class sounds, in quarters, up to the first change of signature or movement."""
    first = score.measures[0]
    end = next(
        (
            measure.index
            for measure in score.measures
            if measure.key_fifths != first.key_fifths or measure.movement != first.movement
        ),
        len(score.measures),
    )
    lengths = [0.0] * PITCH_CLASSES
    for note in score.notes:
        if note.measure_index < end and note.sounding_midi is not None and not note.cue:
            lengths[round(note.sounding_midi) % PITCH_CLASSES] += float(note.duration_ql)
    return lengths


def _last_bass(score: Score) -> int | None:
    """Pitch class of the lowest note that sounds at the end of the first movement."""
    movement = score.measures[0].movement
    last = [
        played.measure_index
        for played in score.played
        if score.measures[played.measure_index].movement == movement
    ][-1]
    sounding = [
        (-(note.offset_ql + note.duration_ql), note.sounding_midi)
        for note in score.notes
        if note.measure_index == last and note.sounding_midi is not None
    ]
    return round(min(sounding)[1]) % PITCH_CLASSES if sounding else None
