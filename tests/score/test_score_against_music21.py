"""Every note and the order of playing, equal to what music21 reads (an independent reader of the same files).

Compared for each note: part, staff, measure, offset, duration, pitch, whether it is a grace note; for each
measure its start, where music21's own parts agree on it; and the order of playing where music21 expands it.

Known differences, all found by reading the files: - music21 puts a chord that reaches into another staff on
one staff; we follow each note's `<staff>`; - in music21 each part has measure starts of its own; where
durations in a file do not add up, its parts drift apart; - music21 has no movements, and takes a repeat that
has no opening sign back to the very beginning, even after other repeats or after a first ending; it knows no
D.C. in German, in French or abbreviated as in "M.D.C.".
"""

from collections import Counter
from collections.abc import Iterator
from fractions import Fraction
from pathlib import Path
from typing import Any

import music21
import pytest

from optimizer.score import Score, read_score

CORPORA = Path(__file__).resolve().parents[2] / "corpora"
PACKAGE = Path(music21.__file__).parent / "corpus"

# Small MusicXML files that the music21 package carries.
PACKAGE_FILES = (
    "bach/bwv1.6.mxl",
    "bach/bwv10.7.mxl",
    "ciconia/quod_jactatur.xml",
    "demos/chorale_with_parallels.mxl",
    "demos/drum_sample.xml",
    "demos/incorrect_time_signature_pv.mxl",
    "demos/two-voices.xml",
    "demos/voices_with_chords.xml",
    "handel/rinaldo/Lascia_chio_pianga.mxl",
    "haydn/opus1no1/movement5.mxl",
    "johnson_j_r/lift_every_voice.mxl",
    "leadSheet/berlinAlexandersRagtime.mxl",
    "leadSheet/fosterBrownHair.mxl",
    "liliuokalani/aloha_oe.mxl",
    "mozart/k156/movement4.mxl",
    "mozart/k545/movement1_exposition.mxl",
    "schoenberg/opus19/movement2.mxl",
    "schumann_robert/opus48no2.mxl",
    "trecento/PMFC_13_01-Kyrie-Summe-Clementissime.mxl",
    "verdi/laDonnaEMobile.mxl",
    "webern/webern_dormi_jesu_op_16_no_2.mxl",
)
# A few of the real scores (all 27 agree; the long ones take music21 half a minute each).
SHARED_FILES = (
    "lied-cschumann-an-einem-lichten-morgen.mxl",
    "lied-lang-abermals-am-see.mxl",
    "lied-paradis-vaterlandslied.mxl",
    "lied-schubert-gute-nacht.mxl",
    "print-part-chopin-op3-cellopart.musicxml",
)
CHORDS_ACROSS_STAVES = ("aloha_oe.mxl",)

Key = tuple[int, int, int, Fraction, Fraction, tuple[str, float, int] | None, bool]


def music21_parts(path: Path) -> Iterator[tuple[int, int, Any]]:
    """Part index, staff and part; a part of several staves is several parts in music21."""
    score = music21.converter.parse(str(path), forceSource=True)
    index = -1
    for part in score.parts:
        several = isinstance(part, music21.stream.PartStaff) and "-Staff" in str(part.id)
        staff = int(str(part.id).rsplit("-Staff", 1)[1]) if several else 1
        index += staff == 1
        yield index, staff, part


def music21_notes(part_index: int, staff: int, part: Any) -> Iterator[Key]:
    for measure_index, measure in enumerate(part.getElementsByClass("Measure")):
        for element in measure.recurse().notes:
            if isinstance(element, music21.harmony.Harmony):
                continue
            offset = Fraction(element.getOffsetInHierarchy(measure)).limit_denominator(10_000)
            duration = Fraction(element.duration.quarterLength).limit_denominator(10_000)
            for note in getattr(element, "notes", (element,)):
                pitch = getattr(note, "pitch", None)
                spelled = None if pitch is None else (pitch.step, float(pitch.alter), pitch.octave)
                yield part_index, staff, measure_index, offset, duration, spelled, element.duration.isGrace


def our_notes(score: Score) -> Iterator[Key]:
    for note in score.notes:
        pitch = None if note.pitch is None else (note.pitch.step, note.pitch.alter, note.pitch.octave)
        offset, duration = (
            note.offset_ql.limit_denominator(10_000),
            note.duration_ql.limit_denominator(10_000),
        )
        yield note.part_index, note.staff, note.measure_index, offset, duration, pitch, note.grace


def without_staff(notes: Counter[Key]) -> Counter[tuple[Any, ...]]:
    result: Counter[tuple[Any, ...]] = Counter()
    for (part, _, *rest), count in notes.items():
        result[(part, *rest)] += count
    return result


def expanded(part: Any) -> list[int] | None:
    """The order of playing as music21 expands it; None where it does not."""
    measures = {id(measure): index for index, measure in enumerate(part.getElementsByClass("Measure"))}
    if not music21.repeat.Expander(part).isExpandable():
        return None
    order = []
    for measure in part.expandRepeats().getElementsByClass("Measure"):
        origin = measure
        while id(origin) not in measures:
            origin = origin.derivation.origin
        order.append(measures[id(origin)])
    return order


def compare(path: Path) -> None:
    score = read_score(path)
    theirs: Counter[Key] = Counter()
    starts: list[set[Fraction]] = [set() for _ in score.measures]
    order = None
    for part_index, staff, part in music21_parts(path):
        theirs.update(music21_notes(part_index, staff, part))
        for measure_index, measure in enumerate(part.getElementsByClass("Measure")):
            starts[measure_index].add(Fraction(measure.offset).limit_denominator(10_000))
        if part_index == 0 and staff == 1:
            order = expanded(part)
    ours = Counter(our_notes(score))
    assert sum(ours.values()) > 0
    if path.name in CHORDS_ACROSS_STAVES:
        assert without_staff(ours) == without_staff(theirs)
    else:
        assert ours == theirs
    if all(len(agreed) == 1 for agreed in starts):
        assert [measure.offset_ql for measure in score.measures] == [next(iter(agreed)) for agreed in starts]
    if order is not None:
        assert [step.measure_index for step in score.played] == order


@pytest.mark.parametrize("path", sorted(CORPORA.glob("*.musicxml")), ids=lambda path: path.stem)
def test_our_own_scores(path: Path) -> None:
    compare(path)


@pytest.mark.parametrize("name", PACKAGE_FILES)
def test_scores_of_the_music21_package(name: str) -> None:
    compare(PACKAGE / name)


@pytest.mark.parametrize("name", SHARED_FILES)
def test_real_scores(name: str, shared_data: Path) -> None:
    compare(shared_data / "scores" / name)
