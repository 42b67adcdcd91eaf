"""The scores of our own: made the same way every time, valid, full bars, and with the features they are there for.

Outside sources: the W3C MusicXML 4.0 schema, music21's reading of the same files, and the documentation of MusicXML
4.0 for jumps. What is common practice without a source says so.
"""

import re
import subprocess
import sys
import zipfile
from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path
from typing import Any

import music21
import pytest
from lxml import etree

ROOT = Path(__file__).resolve().parent.parent
NAMES = (
    "harbour-song",
    "harbour-band",
    "nets-on-the-quay",
    "three-lanterns",
    "two-harbour-pictures",
    "nachtfaehre",
    "three-lamps",
)
MAX_BYTES = 500_000
# Ranges amateurs sing and play, as MIDI key numbers: common practice, no source. Clarinet as it sounds.
RANGES = {
    "Voice": (60, 77),
    "Soprano": (62, 81),
    "Alto": (57, 74),
    "Flute": (62, 89),
    "Clarinet in B♭": (52, 79),
    "Violoncello": (36, 64),
    "Piano": (21, 108),
}


@pytest.fixture(scope="module")
def trees(corpora: Path) -> dict[str, etree._Element]:
    """Root elements by name."""
    return {name: etree.parse(corpora / f"{name}.musicxml").getroot() for name in NAMES}


@pytest.fixture(scope="module")
def streams(corpora: Path) -> dict[str, music21.stream.Score]:
    """The scores as music21 reads them."""
    return {name: music21.converter.parse(corpora / f"{name}.musicxml", forceSource=True) for name in NAMES}


def measures(root: etree._Element, part: str) -> list[etree._Element]:
    """Measures of a part."""
    return root.findall(f"part[@id='{part}']/measure")


def onsets(measure: etree._Element, staff: str) -> int:
    """Sounding onsets on a staff: chords and ties count once."""
    notes = [note for note in measure.findall("note") if note.findtext("staff", "1") == staff]
    return sum(
        note.find("rest") is None and note.find("chord") is None and note.find("tie[@type='stop']") is None
        for note in notes
    )


def longest_run(flags: list[bool]) -> int:
    """Length of the longest run of true values."""
    best = here = 0
    for flag in flags:
        here = here + 1 if flag else 0
        best = max(best, here)
    return best


def midi(note: etree._Element) -> int:
    """MIDI key number of a `<note>` with a pitch."""
    step = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}[note.findtext("pitch/step", "")]
    octave, alter = int(note.findtext("pitch/octave", "")), int(note.findtext("pitch/alter", "0"))
    return 12 * (octave + 1) + step + alter


# ---- made the same way every time ----------------------------------------------------------------------------


def test_corpora_come_out_byte_for_byte_the_same(corpora: Path, tmp_path: Path) -> None:
    subprocess.run(
        [sys.executable, ROOT / "scripts" / "make_corpora.py", tmp_path], check=True, capture_output=True
    )
    written = {path.name: path.read_bytes() for path in tmp_path.iterdir()}
    kept = {
        path.name: path.read_bytes() for path in corpora.iterdir() if path.suffix in (".musicxml", ".mxl")
    }
    assert sorted(written) == sorted(kept)
    assert [name for name in kept if written[name] != kept[name]] == []
    assert all(len(data) < MAX_BYTES for data in kept.values())


def test_compressed_score_holds_the_plain_one(corpora: Path) -> None:
    with zipfile.ZipFile(corpora / "nets-on-the-quay.mxl") as archive:
        container = etree.fromstring(archive.read("META-INF/container.xml"))
        inner = container.find("rootfiles/rootfile").get("full-path")
        assert archive.read(inner) == (corpora / "nets-on-the-quay.musicxml").read_bytes()


def test_scores_are_valid_against_the_w3c_schema(
    trees: dict[str, etree._Element], schema: etree.XMLSchema
) -> None:
    for name, root in trees.items():
        assert schema.validate(root), f"{name}: {schema.error_log.last_error}"


@pytest.mark.parametrize("name", NAMES)
def test_files_say_who_made_them_and_that_they_are_free(name: str, trees: dict[str, etree._Element]) -> None:
    root = trees[name]
    assert root.get("version") == "4.0"
    assert [node.text for node in root.iter("software")] == ["quietleaf scripts/make_corpora"]
    assert "CC0" in root.findtext("identification/rights", "")
    creators = root.findall("identification/creator")
    assert {"composer"} <= {node.get("type") for node in creators}
    assert all("invented for quietleaf" in node.text for node in creators)
    assert (root.find(".//lyric") is not None) == any(node.get("type") == "lyricist" for node in creators)


def test_attribution_names_every_file(corpora: Path) -> None:
    text = (corpora / "ATTRIBUTION.md").read_text()
    assert "CC0 1.0" in text
    for path in corpora.glob("*.musicxml"):
        assert f"`{path.name}`" in text


# ---- sound notation ------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", NAMES)
def test_every_voice_fills_its_bar(name: str, streams: dict[str, music21.stream.Score]) -> None:
    # Source: music21's reading.
    for part in streams[name].parts:
        for measure in part.getElementsByClass("Measure"):
            pickup = measure.number == 0
            for voice in measure.voices or [measure]:
                full = measure.barDuration.quarterLength
                assert voice.duration.quarterLength == (1 if pickup else full), (
                    f"{part.id}, bar {measure.number}"
                )


@pytest.mark.parametrize("name", NAMES)
def test_parts_stay_in_the_range_of_amateurs(name: str, streams: dict[str, music21.stream.Score]) -> None:
    for part in streams[name].toSoundingPitch().parts:
        low, high = RANGES[part.partName]
        pitches = [pitch.midi for pitch in part.flatten().pitches]
        assert low <= min(pitches), f"{part.partName} goes down to {min(pitches)}"
        assert max(pitches) <= high, f"{part.partName} goes up to {max(pitches)}"


def beam_levels(root: etree._Element) -> Iterator[tuple[str, list[str]]]:
    """For each part, measure, voice and level: the sequence of beam values."""
    for part in root.findall("part"):
        for measure in part.findall("measure"):
            rows: dict[tuple[str, str], list[str]] = {}
            for note in measure.findall("note"):
                for beam in note.findall("beam"):
                    rows.setdefault((note.findtext("voice"), beam.get("number")), []).append(beam.text)
            for (voice, level), values in rows.items():
                yield f"{part.get('id')}, bar {measure.get('number')}, voice {voice}, beam {level}", values


@pytest.mark.parametrize("name", NAMES)
def test_beams_begin_and_end_within_the_bar(name: str, trees: dict[str, etree._Element]) -> None:
    for where, values in beam_levels(trees[name]):
        row = ",".join(values).replace("forward hook", "hook").replace("backward hook", "hook")
        assert re.fullmatch(r"((begin(,continue)*,end|hook)(,|$))+", row), f"{where}: {row}"


def in_reading_order(measure: etree._Element) -> list[etree._Element]:
    """Notes with pitches, staff by staff, from left to right."""
    time, rows = 0, []
    for place, element in enumerate(measure):
        ticks = int(element.findtext("duration", "0"))
        if element.tag == "backup":
            time -= ticks
        elif element.tag == "note":
            chord = element.find("chord") is not None
            if element.find("pitch") is not None:
                rows.append((element.findtext("staff", "1"), time - ticks if chord else time, place, element))
            time += 0 if chord else ticks
    return [row[-1] for row in sorted(rows, key=lambda row: row[:3])]


@pytest.mark.parametrize("name", NAMES)
def test_what_stands_on_the_staff_reads_as_the_pitch_meant(
    name: str, trees: dict[str, etree._Element]
) -> None:
    # How a player reads (common practice, no source): the last accidental on that line in the bar, else the key.
    signs = {"flat": -1, "natural": 0, "sharp": 1, "double-sharp": 2, "flat-flat": -2}
    for part in trees[name].findall("part"):
        key: dict[str, int] = {}
        for measure in part.findall("measure"):
            if (fifths := measure.findtext("attributes/key/fifths")) is not None:
                steps = "FCGDAEB"[: int(fifths)] if int(fifths) >= 0 else "FCGDAEB"[int(fifths) :]
                key = dict.fromkeys(steps, 1 if int(fifths) > 0 else -1)
            seen: dict[tuple[str, str, str], int] = {}
            for note in in_reading_order(measure):
                step = note.findtext("pitch/step")
                line = (note.findtext("staff", "1"), step, note.findtext("pitch/octave"))
                if (sign := note.findtext("accidental")) is not None:
                    seen[line] = signs[sign]
                if note.find("tie[@type='stop']") is None:
                    read = seen.get(line, key.get(step, 0))
                    assert read == int(note.findtext("pitch/alter", "0")), (
                        f"bar {measure.get('number')}, {line}"
                    )


def outer_notes(measure_groups: list[Any], offset_from_end: bool) -> tuple[Any, Any]:
    """Lowest and highest sounding pitch at the first, or last, moment of a bar over all parts."""
    pitches = []
    for measure in measure_groups:
        for element in measure.flatten().notes:
            end = element.offset + element.duration.quarterLength
            if (end == measure.highestTime) if offset_from_end else (element.offset == 0):
                pitches.extend(element.pitches)
    return (min(pitches), max(pitches)) if pitches else (None, None)


@pytest.mark.parametrize("name", NAMES)
def test_no_parallel_octaves_or_fifths_into_closing_bars(
    name: str, streams: dict[str, music21.stream.Score]
) -> None:
    # Source: music21.voiceLeading; a closing bar has a double, final or repeat barline at its end.
    score = streams[name].toSoundingPitch()
    bars = list(zip(*(part.getElementsByClass("Measure") for part in score.parts), strict=True))
    closing = 0
    for before, bar in pairwise(bars):
        if bar[0].rightBarline is None or bar[0].rightBarline.type == "regular":
            continue
        (low_before, high_before), (low, high) = outer_notes(before, True), outer_notes(bar, False)
        if low_before is None or low is None:
            continue
        closing += 1
        quartet = music21.voiceLeading.VoiceLeadingQuartet(high_before, high, low_before, low)
        assert not quartet.parallelOctave(), f"bar {bar[0].number}"
        assert not quartet.parallelFifth(), f"bar {bar[0].number}"
    assert closing


# ---- what each piece is there for -------------------------------------------------------------------------------


def played_by_music21(score: music21.stream.Score) -> list[int]:
    """Bar numbers in playing order, as music21 expands the repeats."""
    expanded = music21.repeat.Expander(score.parts[0]).process()
    return [measure.number for measure in expanded.getElementsByClass("Measure")]


def test_song_repeats_its_verses_and_gives_the_pianist_places_to_turn(
    trees: dict[str, etree._Element], streams: dict[str, music21.stream.Score]
) -> None:
    root = trees["harbour-song"]
    piano = measures(root, "P2")
    assert 110 <= len(piano) <= 150
    order = played_by_music21(streams["harbour-song"])
    again = list(range(9, 33))
    assert order == [*range(1, 9), *(again + list(range(33, 37))) * 2, *again, *range(37, len(piano) + 1)]
    verses = {
        number: len(root.findall(f"part[@id='P1']/measure/note/lyric[@number='{number}']"))
        for number in "123"
    }
    assert (
        verses["1"] > verses["2"] == verses["3"] == 45
    )  # 4 lines of 11 syllables, and the call to the refrain
    assert root.find(".//repeat[@times='3']") is not None
    assert {node.get("number") for node in root.iter("ending")} == {"1,2", "3"}
    for tag in ("fermata", "wedge", "slur", "tied", "extend", "dynamics"):
        assert root.find(f".//{tag}") is not None, tag
    assert len({node.get("tempo") for node in root.findall(".//sound[@tempo]")}) >= 5
    one_hand_rests = [(onsets(bar, "1") == 0) != (onsets(bar, "2") == 0) for bar in piano]
    assert longest_run(one_hand_rests) >= 3
    both_hands_run = [onsets(bar, "1") >= 12 and onsets(bar, "2") >= 3 for bar in piano]
    assert longest_run(both_hands_run) >= 16


def test_polka_goes_back_to_the_sign_and_on_to_the_coda(trees: dict[str, etree._Element]) -> None:
    # Source: MusicXML 4.0, `sound`: dalsegno names a segno before it, tocoda a coda after it; `repeat`: without
    # after-jump="yes" repeats are not played after the jump.
    bars = measures(trees["harbour-band"], "P1")
    place = {
        kind: [index for index, bar in enumerate(bars) if bar.find(f".//sound[@{kind}]") is not None]
        for kind in ("segno", "tocoda", "dalsegno", "coda")
    }
    assert place == {"segno": [4], "tocoda": [19], "dalsegno": [94], "coda": [95]}
    sound = {kind: bars[index].find(f".//sound[@{kind}]").get(kind) for kind, (index,) in place.items()}
    assert sound["segno"] == sound["dalsegno"]
    assert sound["coda"] == sound["tocoda"]
    assert 90 <= len(bars) <= 120
    assert [node.get("number") for node in trees["harbour-band"].findall(".//ending[@type='start']")] == [
        *"1212"
    ]
    assert trees["harbour-band"].find(".//repeat[@after-jump]") is None
    assert trees["harbour-band"].find(".//grace") is not None


def test_short_piece_frees_the_left_hand_before_the_return(trees: dict[str, etree._Element]) -> None:
    bars = measures(trees["nets-on-the-quay"], "P1")
    assert 40 <= len(bars) <= 48
    free = [index for index, bar in enumerate(bars) if onsets(bar, "2") == 0]
    assert free == [26, 27]
    assert bars[28].find("direction/sound[@tempo]") is not None


def test_trio_rests_long_in_every_part_and_transposes_the_clarinet(
    trees: dict[str, etree._Element], streams: dict[str, music21.stream.Score]
) -> None:
    root = trees["three-lanterns"]
    for part in ("P1", "P2", "P3"):
        assert longest_run([onsets(bar, "1") == 0 for bar in measures(root, part)]) >= 8, part
    assert [node.text for node in root.iter("rehearsal")] == [*"ABCDEFG"]
    assert {node.get("pizzicato") for node in root.findall(".//sound[@pizzicato]")} == {"yes", "no"}
    assert {(node.findtext("beats"), node.findtext("beat-type")) for node in root.iter("time")} == {
        ("4", "4"),
        ("3", "4"),
    }
    assert root.find(".//time-modification") is not None
    # A clarinet in B flat sounds a major second lower than written (common practice); both keys come from music21.
    clarinet = streams["three-lanterns"].parts[1]
    written = clarinet.flatten().notes
    sounding = clarinet.toSoundingPitch().flatten().notes
    assert {music21.interval.Interval(a, b).directedName for a, b in zip(written, sounding, strict=True)} == {
        "M-2"
    }
    assert [
        part.recurse().getElementsByClass("KeySignature")[0].sharps
        for part in streams["three-lanterns"].parts
    ] == [
        -1,
        1,
        -1,
    ]


def test_pictures_are_two_movements_with_a_pickup_far_down_and_far_up(
    trees: dict[str, etree._Element],
) -> None:
    bars = measures(trees["two-harbour-pictures"], "P1")
    assert [bar.get("number") for bar in bars] == [*map(str, range(65)), *map(str, range(1, 81))]
    assert bars[0].get("implicit") == "yes"
    pitches = [[midi(note) for note in bar.findall("note[pitch]")] for bar in bars]
    means = [sum(row) / len(row) for row in pitches]
    middle_c, sixth = 60, 9
    assert longest_run([mean < middle_c - sixth for mean in means]) == 24
    assert longest_run([mean > middle_c + sixth for mean in means]) == 20
    assert bars[64].find("barline[@location='right']/bar-style").text == "light-heavy"
    assert trees["two-harbour-pictures"].find(".//octave-shift[@type='down']") is not None


def sung(root: etree._Element, verse: str) -> str:
    """A verse's text, syllables joined."""
    text = ""
    for lyric in root.findall(f"part[@id='P1']/measure/note/lyric[@number='{verse}']"):
        for node in lyric:
            if node.tag == "syllabic":
                space = node.text in ("single", "begin")
            elif node.tag == "text":
                text += (" " if space else "") + node.text
    return text


def test_lyrics_use_the_letters_of_their_languages(trees: dict[str, etree._Element]) -> None:
    german = sung(trees["nachtfaehre"], "1") + sung(trees["nachtfaehre"], "2")
    assert {*"äöüß"} <= {*german}
    assert "Straße, schlaf, du müdes Haus" in german
    lamps = trees["three-lamps"]
    assert "loď už spí, světlo v okně ještě bdí" in sung(lamps, "1")
    assert "où le cœur vient se bercer." in sung(lamps, "2")
    assert "łódź już śpi, światło w oknie jeszcze lśni" in sung(lamps, "3")
    assert lamps.find(".//elision") is not None


def test_short_songs_repeat_as_music21_plays_them(streams: dict[str, music21.stream.Score]) -> None:
    verse = list(range(5, 16))
    assert played_by_music21(streams["nachtfaehre"]) == [
        *range(1, 5),
        *verse,
        16,
        17,
        18,
        *verse,
        *range(19, 24),
    ]
    verse = list(range(5, 29))
    assert played_by_music21(streams["three-lamps"]) == [*range(1, 5), *verse * 3, *range(29, 33)]
