"""Parts taken out of scores: nothing lost, nothing twice, bars and seconds those of the score."""

from collections import Counter
from collections.abc import Iterator, Sequence
from copy import deepcopy
from fractions import Fraction
from pathlib import Path

import pytest
from lxml import etree

from optimizer.parts.extract import extract, in_time, with_key_of
from optimizer.parts.model import Cues, Extracted, MovementStart, PartsSettings
from optimizer.parts.prepare import measure_parts
from optimizer.progress import silent
from optimizer.score import PageBox, ScoreFile, load_file, score_from, with_layout
from optimizer.score.multirests import bars_of, expanded
from optimizer.settings import DEFAULT_MARGINS, PAPERS, Settings

ROOT = Path(__file__).resolve().parents[2]
SHARED = ROOT.parent / "shared" / "data" / "scores"
SETTINGS = PartsSettings(Settings(), cues=Cues.OFF)
TRIO = ROOT / "corpora" / "three-lanterns.musicxml"
ENSEMBLES = [
    TRIO,
    SHARED / "quartet-schubert-d703.mxl",
    SHARED / "ensemble-purcell-sonata-z807.mxl",
    SHARED / "choir-piano-stanford-sailing-at-dawn.mxl",
]
BARS_HEARD = 60  # of long scores
# Small ensembles that the music21 package carries: an aria with strings, a chorale, a trio sonata.
MUSIC21 = ["handel/rinaldo/lascia_chio_pianga", "bach/bwv66.6", "corelli/opus3no1/1grave"]


def music21_path(name: str, folder: Path) -> Path:
    from music21 import corpus

    return Path(corpus.parse(name).write("musicxml", fp=folder / f"{name.replace('/', '-')}.musicxml"))


@pytest.fixture(scope="module", params=[*ENSEMBLES, *MUSIC21], ids=lambda each: Path(each).stem)
def file(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> ScoreFile:
    if isinstance(request.param, str):
        return load_file(music21_path(request.param, tmp_path_factory.mktemp("music21")))
    if not request.param.exists():
        pytest.skip("../shared/data is not here")
    return load_file(request.param)


@pytest.fixture(scope="module")
def parts(file: ScoreFile) -> tuple[Extracted, ...]:
    return extracted(file)


def extracted(file: ScoreFile, settings: PartsSettings = SETTINGS) -> tuple[Extracted, ...]:
    return extract(file, score_from(file), settings)


def written(part: Extracted) -> bytes:
    return etree.tostring(expanded(part.file.root))


def beginning(root: etree._Element, wanted: bool) -> bytes:
    """The score as a file, or only its first bars."""
    kept = deepcopy(root)
    for part in kept.iterchildren("part") if wanted else ():
        for measure in part.findall("measure")[BARS_HEARD:]:
            part.remove(measure)
    return etree.tostring(kept)


def sounds(stream: object) -> list[tuple[object, ...]]:
    """Notes as music21 reads them: when, how long, which pitches."""
    found = []
    for element in stream.recurse().notes:  # type: ignore[attr-defined]
        at = Fraction(element.getOffsetInHierarchy(stream)).limit_denominator(960)
        pitches = tuple(sorted(pitch.nameWithOctave for pitch in element.pitches))
        length = Fraction(element.quarterLength).limit_denominator(960)
        found.append((at, length, element.duration.isGrace, pitches))
    return sorted(found, key=repr)


def test_notes_equal_music21s_part(file: ScoreFile, parts: Sequence[Extracted], tmp_path: Path) -> None:
    from music21 import converter

    long = file.path.suffix == ".mxl" and "purcell" not in file.name  # music21 would take up to a minute
    whole = tmp_path / "whole.musicxml"
    whole.write_bytes(beginning(expanded(file.root), long))
    streams = list(converter.parse(whole, forceSource=True).parts)
    at = 0
    for part in parts:
        path = tmp_path / "part.musicxml"
        path.write_bytes(beginning(expanded(part.file.root), long))
        own = list(converter.parse(path, forceSource=True).parts)
        for stream in own:  # music21 makes one of each staff
            assert sounds(stream) == sounds(streams[at])
            at += 1
    assert at == len(streams)


def test_notes_equal_the_scores(file: ScoreFile, parts: Sequence[Extracted]) -> None:
    full = score_from(file)
    for index, part in enumerate(parts):
        score = score_from(part.file)
        found = [
            [
                (
                    measures[n.measure_index].offset_ql + n.offset_ql,
                    n.duration_ql,
                    n.pitch,
                    n.staff,
                    n.voice,
                    n.grace,
                )
                for n in notes
            ]
            for measures, notes in (
                (score.measures, score.notes),
                (full.measures, [n for n in full.notes if n.part_index == index]),
            )
        ]
        assert found[0] == found[1]


def test_bars_and_numbers(file: ScoreFile, parts: Sequence[Extracted]) -> None:
    bars = expanded(file.root).findall("part")[0].findall("measure")
    numbers = [bar.get("number") for bar in bars]
    for part in parts:
        score = score_from(part.file)
        assert sum(measure.bars for measure in score.measures) == len(bars)
        assert [bar.get("number") for bar in expanded(part.file.root).iter("measure")] == numbers
        assert len(part.first_bars) == len(score.measures) + 1
        assert part.first_bars[-1] == len(file.root.findall("part")[0].findall("measure"))


def test_rests_are_the_empty_bars(file: ScoreFile, parts: Sequence[Extracted], tmp_path: Path) -> None:
    """As music21 counts bars without a note in the same score."""
    from music21 import converter

    if file.path.suffix == ".mxl":
        pytest.skip("takes music21 too long; the trio and three scores of music21's own are compared")
    whole = tmp_path / "whole.musicxml"
    whole.write_bytes(etree.tostring(expanded(file.root)))
    streams = iter(converter.parse(whole, forceSource=True).parts)
    for part in parts:
        staves = [next(streams) for _ in range(score_from(part.file).parts[0].staves)]
        bars = zip(*(stave.getElementsByClass("Measure") for stave in staves), strict=True)
        empty = sum(not any(bar.recurse().notes for bar in abreast) for abreast in bars)
        silent = [
            bar
            for bar in part.file.root.iter("measure")
            if all(note.find("rest") is not None for note in bar.iterchildren("note"))
        ]
        assert sum(map(bars_of, silent)) == empty


def test_seconds_are_those_of_the_score(file: ScoreFile, parts: Sequence[Extracted]) -> None:
    full = score_from(file)
    for part in parts:
        score = in_time(score_from(part.file), full, part.first_bars)
        assert score.duration_s == pytest.approx(full.duration_s)
        starts = {(step.measure_index, step.pass_number): step.start_s for step in full.played}
        for step in score.played:
            first = part.first_bars[step.measure_index]
            assert step.start_s == pytest.approx(starts[first, step.pass_number])
        lengths = [full.measures[bar].length_ql for bar in range(len(full.measures))]
        for measure in score.measures:
            own = range(part.first_bars[measure.index], part.first_bars[measure.index + 1])
            assert measure.length_ql <= sum(lengths[bar] for bar in own)


def marks(root: etree._Element) -> Iterator[tuple[int, str, str]]:
    """Rehearsal marks and metronome marks, by bar."""
    for index, measure in enumerate(root.findall("part")[0].iterfind("measure")):
        for mark in measure.iterfind("direction/direction-type/*"):
            if mark.tag in ("rehearsal", "metronome", "segno", "coda"):
                yield index, str(mark.tag), " ".join("".join(map(str, mark.itertext())).split())


def test_what_concerns_all_stands_in_each_part_once(file: ScoreFile, parts: Sequence[Extracted]) -> None:
    root = expanded(file.root)
    said: set[tuple[int, str, str]] = set()
    for part in root.findall("part"):
        alone = etree.Element("score-partwise")
        alone.append(etree.fromstring(etree.tostring(part)))
        said.update(marks(alone))
    for each in parts:
        own = Counter(marks(expanded(each.file.root)))
        assert set(own) == said
        assert not [mark for mark, times in own.items() if times > 1 and mark[1] != "metronome"]


def test_repeats_and_endings_are_in_each_part(file: ScoreFile, parts: Sequence[Extracted]) -> None:
    order = [(step.measure_index, step.pass_number) for step in score_from(file).played]
    for part in parts:
        played = score_from(part.file).played
        steps = [
            (bar, step.pass_number)
            for step in played
            for bar in range(part.first_bars[step.measure_index], part.first_bars[step.measure_index + 1])
        ]
        assert steps == order


def test_own_dynamics_only(file: ScoreFile, parts: Sequence[Extracted]) -> None:
    """As many dynamics, hairpins, slurs, words to sing as in the score's part."""
    for source, part in zip(expanded(file.root).findall("part"), parts, strict=True):
        own = expanded(part.file.root).find("part")
        for path in (
            "dynamics",
            "wedge",
            "slur",
            "lyric",
            "clef",
            "pedal",
            "octave-shift",
            "articulations/*",
        ):
            shown = [e for e in source.iterfind(f".//{path}") if path != "clef" or e.getparent() is not None]
            if path != "clef":
                assert len(own.findall(f".//{path}")) == len(shown)  # type: ignore[union-attr]


def test_valid_files(file: ScoreFile, parts: Sequence[Extracted], schema: etree.XMLSchema) -> None:
    """Against the W3C MusicXML 4.0 schema, as written with a layout."""
    if not schema.validate(expanded(file.root)):
        pytest.skip("the score itself is not valid")
    for part in parts:
        count = len(part.file.root.findall("part/measure"))
        data = with_layout(
            part.file.root, [(0, count - 1, True)], 7.0, PageBox(PAPERS["a4"], DEFAULT_MARGINS)
        )
        schema.assertValid(etree.fromstring(data))


def test_rests_of_the_trio() -> None:
    """Read off the score: bars in which each instrument is silent, divided at marks and changes of time."""
    flute, clarinet, cello = extracted(load_file(TRIO))
    rests = [
        [(m.number, m.last_number) for m in score_from(part.file).measures if m.bars > 1]
        for part in (flute, clarinet, cello)
    ]
    assert rests[0] == [("1", "16"), ("33", "40"), ("67", "70"), ("79", "86")]
    assert rests[1] == [("17", "24"), ("49", "50"), ("63", "66")]
    assert rests[2] == [("49", "60")]


def test_name_where_parts_have_it() -> None:
    for part in extracted(load_file(TRIO)):
        score = score_from(part.file)
        assert score.part_name == part.name  # a name that tells its key already stays as it is
        assert score.title == "Three Lanterns"
        assert part.file.root.find("part-list/score-part/part-name").get("print-object") == "no"  # type: ignore[union-attr]


@pytest.mark.parametrize(
    ("name", "chromatic", "told"),
    [
        ("Clarinet", "-2", "Clarinet in B♭"),
        ("Clarinet in Bb", "-2", "Clarinet in B♭"),
        ("B♭ Clarinet", "-2", "B♭ Clarinet"),
        ("Horn", "-7", "Horn in F"),
        ("Alto Saxophone", "-9", "Alto Saxophone in E♭"),
        ("Contrabass", "-12", "Contrabass"),
    ],
)
def test_keys_of_instruments(name: str, chromatic: str, told: str) -> None:
    """What a written C sounds as is the key an instrument is in: general theory, no source needed."""
    part = etree.fromstring(
        f"<part><measure><attributes><transpose><chromatic>{chromatic}</chromatic></transpose></attributes>"
        "</measure></part>"
    )
    assert with_key_of(name, part) == told


def test_movements_begin_as_asked(corpora: Path) -> None:
    file = load_file(corpora / "two-harbour-pictures.musicxml")
    for start in MovementStart:
        part = extracted(file, PartsSettings(Settings(), movements=start, cues=Cues.OFF))[0]
        score = score_from(part.file)
        begins = [m for m in score.measures[1:] if m.movement != score.measures[m.index - 1].movement]
        assert begins
        assert all(m.starts_page == (start is MovementStart.PAGE) and m.starts_system for m in begins)


def test_players_by_name() -> None:
    settings = PartsSettings(Settings(), players={"flute": 3, "clarinet in Bb": 4, "P3": 2}, cues=Cues.OFF)
    assert [part.players for part in extracted(load_file(TRIO), settings)] == [3, 4, 2]


def test_one_copy_for_every_two_players() -> None:
    """As the guide of the part tells."""
    file = load_file(TRIO)
    full = score_from(file)
    settings = PartsSettings(Settings(), players={"flute": 5, "clarinet in Bb": 2})
    measured = measure_parts(full, extract(file, full, settings), settings, silent)
    assert [job.score.copies for job in measured.jobs] == [3, 1, 1]
