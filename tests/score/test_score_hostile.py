"""Files that attack or confuse a reader: each refused with one clear line that says file, place, fault and
remedy."""

import io
import os
import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from optimizer.errors import ScoreError
from optimizer.score import ScoreFile, load_file, read_score, safe_xml
from optimizer.score import archive as archive_module
from optimizer.score import load as load_module

CONTAINER = (
    '<container><rootfiles><rootfile full-path="{path}" media-type="{media}"/></rootfiles></container>'
)
MEDIA = "application/vnd.recordare.musicxml+xml"
DOCTYPE = '<!DOCTYPE score-partwise PUBLIC "-//Recordare//DTD MusicXML 4.0 Partwise//EN" "{where}">'


@pytest.fixture
def plain(document: Callable[..., str], note: Callable[..., str]) -> str:
    """A harmless score of one bar."""
    return document([[note()]])


def zipped(*entries: tuple[str, bytes], container: str | None = "score.xml", media: str = MEDIA) -> bytes:
    """An archive; `container` is the path it names, None leaves it out."""
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_DEFLATED) as target:
        if container is not None:
            target.writestr("META-INF/container.xml", CONTAINER.format(path=container, media=media))
        for name, data in entries:
            target.writestr(name, data)
    return buffer.getvalue()


def refusal(folder: Path, data: bytes, name: str = "score.xml") -> str:
    """The message with which a file is refused: always one line that starts with the file's name."""
    path = folder / name
    path.write_bytes(data)
    with pytest.raises(ScoreError) as caught:
        read_score(path)
    message = str(caught.value)
    assert message.startswith(name)
    assert "\n" not in message
    assert "; " in message
    return message


def accepted(folder: Path, data: bytes, name: str = "score.xml") -> ScoreFile:
    path = folder / name
    path.write_bytes(data)
    return load_file(path)


# --- entities and document types
# -----------------------------------------------------------------------------------


def test_external_entity_is_not_read(tmp_path: Path, plain: str) -> None:
    secret = tmp_path / "secret.txt"
    secret.write_text("do not print me")
    attack = f'<!DOCTYPE x [<!ENTITY s SYSTEM "{secret.as_uri()}">]>' + plain.replace("Part 1", "&s;")
    message = refusal(tmp_path, attack.encode())
    assert "declares entities" in message
    assert "do not print me" not in message


def test_entity_expansion(tmp_path: Path, plain: str) -> None:
    levels = "".join(f'<!ENTITY l{level} "{f"&l{level - 1};" * 10}">' for level in range(1, 12))
    attack = f'<!DOCTYPE x [<!ENTITY l0 "ha">{levels}]>' + plain.replace("Part 1", "&l11;")
    assert "declares entities" in refusal(tmp_path, attack.encode())
    in_attribute = f'<!DOCTYPE x [<!ENTITY l0 "ha">{levels}]>' + plain.replace('number="1"', 'number="&l11;"')
    assert "declares entities" in refusal(tmp_path, in_attribute.encode())


@pytest.mark.parametrize("encoding", ["utf-8", "utf-16", "utf-16-le", "utf-16-be", "utf-32"])
def test_entities_are_seen_in_every_encoding(tmp_path: Path, plain: str, encoding: str) -> None:
    attack = '<!DOCTYPE x [<!ENTITY a "b">]>' + plain
    assert "line 1" in refusal(tmp_path, attack.encode(encoding))


@pytest.mark.parametrize(
    "doctype",
    [
        '<!-- <a> --><?p <b?>\n<!DOCTYPE x [<!ENTITY a "b">]>',
        '<!DOCTYPE x SYSTEM "a[b>c" [<!ENTITY a "b">]>',
        '<!DOCTYPE x [<!-- ]> --><!ENTITY % a "b">]>',
    ],
)
def test_hidden_entities(tmp_path: Path, plain: str, doctype: str) -> None:
    assert "declares entities" in refusal(tmp_path, (doctype + plain).encode())


def test_plain_doctype_is_normal_and_never_fetched(tmp_path: Path, plain: str) -> None:
    trap = tmp_path / "trap.dtd"
    trap.write_text("<!ELEMENT this is not a DTD")
    for where in (trap.as_uri(), str(trap), "trap.dtd", "http://192.0.2.1/partwise.dtd"):
        assert accepted(tmp_path, (DOCTYPE.format(where=where) + plain).encode()).root.tag == "score-partwise"
    os.mkfifo(tmp_path / "pipe.dtd")  # opening it would wait for ever
    accepted(tmp_path, (DOCTYPE.format(where="pipe.dtd") + plain).encode())


def test_undefined_entity(tmp_path: Path, plain: str) -> None:
    text = DOCTYPE.format(where="x.dtd") + "\n" + plain.replace("Part 1", "&nbsp;")
    message = refusal(tmp_path, text.encode())
    assert "line 2" in message
    assert "&nbsp;" in message


# --- size and depth
# ------------------------------------------------------------------------------------------------


def test_deep_nesting(tmp_path: Path, plain: str) -> None:
    for depth in (safe_xml.MAX_DEPTH + 1, 5000):
        attack = plain.replace("</note>", "<a>" * depth + "</a>" * depth + "</note>")
        message = refusal(tmp_path, attack.encode())
        assert "deep" in message or "depth" in message.lower()
    accepted(tmp_path, plain.replace("</note>", "<a>" * 40 + "</a>" * 40 + "</note>").encode())


def test_limits_of_size(tmp_path: Path, plain: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(safe_xml, "MAX_MARKUP", 20)
    assert "more than 20 elements" in refusal(tmp_path, plain.encode())
    monkeypatch.setattr(safe_xml, "MAX_XML_BYTES", 2**20)
    assert "larger than 1 MiB" in refusal(tmp_path, plain.encode() + b" " * 2**20)


def test_empty_elements_and_attributes_count_as_one_each(
    tmp_path: Path, plain: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    spare = sum(1 + len(element.attrib) for element in accepted(tmp_path, plain.encode()).root.iter())
    monkeypatch.setattr(safe_xml, "MAX_MARKUP", spare + 40)
    accepted(tmp_path, plain.replace("</note>", "<a/>" * 20 + '<a b="c"></a>' * 10 + "</note>").encode())
    refusal(tmp_path, plain.replace("</note>", "<a/>" * 41 + "</note>").encode())


def test_a_pipe_or_device_is_read_up_to_the_limit(
    tmp_path: Path, plain: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(load_module, "MAX_FILE_BYTES", 2**20)
    with pytest.raises(ScoreError, match="larger than 1 MiB"):
        load_file(Path("/dev/zero"))


def test_huge_text(tmp_path: Path, plain: str) -> None:
    # libxml2 refuses text nodes over 10 MB unless told otherwise.
    assert "well-formed" in refusal(tmp_path, plain.replace("Part 1", "x" * 11_000_000).encode())


def test_numbers_that_would_take_for_ever(tmp_path: Path, plain: str) -> None:
    for attack in ("1e999999999", "9" * 5000, "-4", "nan", "1/3", ""):
        message = refusal(tmp_path, plain.replace("<duration>16<", f"<duration>{attack}<").encode())
        assert "bar 1" in message
        assert "duration" in message
    assert "divisions" in refusal(tmp_path, plain.replace("<divisions>4<", "<divisions>0<").encode())
    assert "pitch" in refusal(tmp_path, plain.replace("<step>C<", "<step>H<").encode())
    for octave in ("99", "999999999", "-2", "4.5"):
        assert "pitch" in refusal(tmp_path, plain.replace(">4</octave>", f">{octave}</octave>").encode())
    assert "pitch" in refusal(
        tmp_path, plain.replace("<octave>", "<alter>999999999</alter><octave>").encode()
    )
    shift = "<transpose><chromatic>2</chromatic><octave-change>9</octave-change></transpose></attributes>"
    assert "110 semitones" in refusal(tmp_path, plain.replace("</attributes>", shift).encode())


def test_bars_longer_than_any_music(
    tmp_path: Path, document: Callable[..., str], note: Callable[..., str]
) -> None:
    for long in (note(ticks=100_000_000), note() + "<forward><duration>100000000</duration></forward>"):
        message = refusal(tmp_path, document([[note(), long]]).encode())
        assert "bar 2" in message
        assert "lasts more than" in message
    unbarred = read_score(_written(tmp_path, document([[note(ticks=16_000)]])))  # a piece without barlines
    assert unbarred.measures[0].length_ql == 4000


def test_bars_with_more_than_any_line_holds(
    tmp_path: Path, document: Callable[..., str], note: Callable[..., str]
) -> None:
    message = refusal(tmp_path, document([[note(), note(ticks=1) * 2001]]).encode())
    assert "bar 2" in message
    assert "more than 2000" in message
    assert len(read_score(_written(tmp_path, document([[note(ticks=1) * 1500]]))).notes) == 1500


def test_divisions_that_make_fractions_grow_for_ever(
    tmp_path: Path, document: Callable[..., str], note: Callable[..., str]
) -> None:
    """Positions are exact; with a new prime at every step they would get as many digits as the file has notes."""
    primes = [n for n in range(1009, 2000, 2) if all(n % p for p in range(3, 50, 2))]
    unit = "<attributes><divisions>{}</divisions></attributes><forward><duration>1</duration></forward>"
    message = refusal(tmp_path, document([[note() + "".join(map(unit.format, primes))]]).encode())
    assert "divisions differ" in message
    usual = "".join(unit.format(divisions) for divisions in (1, 2, 12, 256, 480, 768, 5040, 10080))
    assert read_score(_written(tmp_path, document([[note() + usual]]))).measures


def test_empty_bars_that_a_small_file_asks_for(
    tmp_path: Path, plain: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(load_module, "MAX_MEASURES_OF_PARTS", 20)
    parts = "".join(f'<part id="P{number}"/>' for number in range(2, 9))
    wide = plain.replace("</part>", "</part>" + parts)
    assert accepted(tmp_path, wide.encode()).root.find("part[8]/measure") is not None
    assert "20 bars in all" in refusal(
        tmp_path, wide.replace("</part>", "<measure/>" * 2 + "</part>", 1).encode()
    )
    timewise = (
        f"<score-timewise><part-list/><measure>{parts}</measure>" + "<measure/>" * 2 + "</score-timewise>"
    )
    assert "20 bars in all" in refusal(tmp_path, timewise.encode())


def test_words_with_many_readings(
    tmp_path: Path, document: Callable[..., str], note: Callable[..., str]
) -> None:
    """ "un poco" is also "un" and "poco": all ways to read it 60 times would take longer than the world has lasted."""
    words = "<direction><direction-type><words>{}</words></direction-type></direction>"
    score = read_score(_written(tmp_path, document([[words.format("un poco " * 60 + "x") + note()]])))
    assert score.tempo_source.startswith("no tempo")
    score = read_score(_written(tmp_path, document([[words.format("un poco " * 60 + "allegro") + note()]])))
    assert score.tempo_source == "tempo words"


def test_bar_numbers_with_more_digits_than_python_counts(tmp_path: Path, plain: str) -> None:
    score = read_score(_written(tmp_path, plain.replace('number="1"', f'number="{"9" * 5000}"')))
    assert score.measures[0].number == "9" * 20
    assert score.warnings == ("bar numbers longer than 20 letters were cut",)


def test_part_ids_with_quotation_marks(tmp_path: Path, plain: str) -> None:
    assert "quotation mark" in refusal(tmp_path, plain.replace("P1", "P']").encode())


def test_endless_titles_are_cut(tmp_path: Path, plain: str) -> None:
    text = plain.replace("<part-list>", f"<movement-title>{'x' * 100_000}</movement-title><part-list>")
    assert len(read_score(_written(tmp_path, text)).title) == 500


def test_faults_are_told_in_our_words(tmp_path: Path, plain: str) -> None:
    for attack, words in (
        (plain[:-60], "cut off"),
        (plain.replace("</note>", "</n>", 1), "closes another element"),
        (plain.replace("<part ", '<part id="P9" '), "given twice"),
    ):
        assert words in refusal(tmp_path, attack.encode())


# --- archives
# ------------------------------------------------------------------------------------------------------


def test_archive_with_any_entry_name(tmp_path: Path, plain: str) -> None:
    data = zipped(("music/my score.xml", plain.encode("utf-16")), container="music/my score.xml")
    assert accepted(tmp_path, data, "wrong-suffix.xml").root.tag == "score-partwise"
    accepted(tmp_path, zipped(("s.xml", plain.encode()), container="s.xml", media=""), "score.mxl")


def test_zip_bomb_by_ratio(tmp_path: Path, plain: str) -> None:
    bomb = zipped(("score.xml", plain.encode() + b" " * 20_000_000))
    assert "times its size" in refusal(tmp_path, bomb, "score.mxl")


def test_zip_bomb_by_size(tmp_path: Path, plain: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(archive_module, "MAX_XML_BYTES", 1000)
    assert "MiB" in refusal(tmp_path, zipped(("score.xml", os.urandom(2000))), "score.mxl")


def test_size_in_the_header_may_lie(tmp_path: Path, plain: str, monkeypatch: pytest.MonkeyPatch) -> None:
    data = zipped(("score.xml", plain.encode() + b" " * 3_000_000))
    monkeypatch.setattr(archive_module, "MAX_RATIO", 10**6)
    true_size, small = len(plain) + 3_000_000, 100
    lying = data.replace(true_size.to_bytes(4, "little"), small.to_bytes(4, "little"))
    assert lying != data
    assert "damaged" in refusal(tmp_path, lying, "score.mxl")


@pytest.mark.parametrize("method", [zipfile.ZIP_BZIP2, zipfile.ZIP_LZMA])
def test_only_the_methods_of_scores_are_unpacked(tmp_path: Path, plain: str, method: int) -> None:
    """Python unpacks others a whole block at a time: a thousand bytes may fill the memory, whatever the header says."""
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", method) as target:
        target.writestr("META-INF/container.xml", CONTAINER.format(path="s.xml", media=MEDIA))
        target.writestr("s.xml", plain)
    assert "compressed in a way" in refusal(tmp_path, buffer.getvalue(), "score.mxl")


def test_crowded_archive(tmp_path: Path, plain: str) -> None:
    pictures = [(f"{number}.png", b"") for number in range(archive_module.MAX_ENTRIES)]
    assert "more than 1000 entries" in refusal(
        tmp_path, zipped(("score.xml", plain.encode()), *pictures), "a.mxl"
    )


@pytest.mark.parametrize(
    "name", ["../evil.xml", "/etc/evil.xml", "a/../../evil.xml", "..\\evil.xml", "C:/evil.xml"]
)
def test_names_that_leave_the_archive(tmp_path: Path, plain: str, name: str) -> None:
    assert "outside" in refusal(tmp_path, zipped(("score.xml", plain.encode()), (name, b"x")), "score.mxl")
    assert "outside" in refusal(tmp_path, zipped(("score.xml", plain.encode()), container=name), "score.mxl")


def test_archives_that_hold_no_score(tmp_path: Path, plain: str) -> None:
    assert "lacks META-INF/container.xml" in refusal(
        tmp_path, zipped(("score.xml", plain.encode()), container=None), "a.mxl"
    )
    assert "lacks score.xml" in refusal(tmp_path, zipped(), "a.mxl")
    assert "names no MusicXML" in refusal(tmp_path, zipped(media="application/pdf"), "a.mxl")
    assert "line 1" in refusal(tmp_path, zipped(("score.xml", b"<score-partwise>")), "a.mxl")


def test_encrypted_archive(tmp_path: Path, plain: str) -> None:
    data = bytearray(zipped(("score.xml", plain.encode())))
    # Set the encryption bit of every entry, in the local headers and in the directory.
    for magic, offset in ((b"PK\x03\x04", 6), (b"PK\x01\x02", 8)):
        place = data.find(magic)
        while place >= 0:
            data[place + offset] |= 1
            place = data.find(magic, place + 4)
    assert "encrypted" in refusal(tmp_path, bytes(data), "score.mxl")


def test_damaged_archive(tmp_path: Path, plain: str) -> None:
    data = zipped(("score.xml", plain.encode() * 50))
    copy_again = "score.mxl: the archive is damaged; copy or export the file again"
    assert refusal(tmp_path, data[: len(data) // 2], "score.mxl") == copy_again
    middle = data.index(b"score.xml") + 40
    assert "score.mxl" in refusal(tmp_path, data[:middle] + b"\0\1\2\3" + data[middle + 4 :], "score.mxl")


# --- files that are no score
# ---------------------------------------------------------------------------------------


def test_files_that_cannot_be_read(tmp_path: Path) -> None:
    for path, words in ((tmp_path / "none.xml", "does not exist"), (tmp_path, "folder")):
        with pytest.raises(ScoreError, match=words):
            load_file(path)
    assert "empty" in refusal(tmp_path, b"")
    assert "empty" in refusal(tmp_path, b" \n")


@pytest.mark.skipif(os.geteuid() == 0, reason="the superuser may read everything")
def test_unreadable_file(tmp_path: Path) -> None:
    path = tmp_path / "score.xml"
    path.write_text("<score-partwise/>")
    path.chmod(0)
    with pytest.raises(ScoreError, match="cannot be read"):
        load_file(path)


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"MThd\0\0\0\6", "MIDI"),
        (b"%PDF-1.7", "PDF"),
        (b"hello", "not XML"),
        (b"<html/>", "not MusicXML"),
        (b"<score-partwise><part-list></score-partwise>", "line 1"),
        (b"<score-partwise>\n<part-list/>\n<oops>", "line 3"),
        (b"<score-partwise/>", "no parts"),
        (b"<score-timewise/>", "no parts"),
        (b'<score-partwise><part id="P1"/></score-partwise>', "no measures"),
        (b'<?xml version="1.0" encoding="made-up"?><a/>', "made-up"),
        (b'<?xml version="1.0" encoding="unicode_escape"?><a/>', "unicode_escape"),
        (b'<?xml version="1.0" encoding="UTF-8"?><a>\xff</a>', "byte 41"),
    ],
)
def test_no_score(tmp_path: Path, data: bytes, words: str) -> None:
    assert words in refusal(tmp_path, data)


@pytest.mark.parametrize(
    "encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "utf-32", "cp1252"]
)
def test_encodings(tmp_path: Path, plain: str, encoding: str) -> None:
    declared = "utf-8" if encoding.startswith("utf-8") else encoding
    text = f'<?xml version="1.0" encoding="{declared}"?>\n' + plain.replace("Part 1", "Flûte")
    file = accepted(tmp_path, text.encode(encoding))
    assert file.root.findtext("part-list/score-part/part-name") == "Flûte"


def test_short_parts_are_filled_up(
    tmp_path: Path, document: Callable[..., str], note: Callable[..., str]
) -> None:
    file = accepted(tmp_path, document([[note(), note()], [note()]]).encode())
    assert [len(part.findall("measure")) for part in file.root.findall("part")] == [2, 2]
    assert file.notes == ("part P2 has 1 measure instead of 2; empty ones were added",)


def test_timewise_is_the_same_music(
    tmp_path: Path, document: Callable[..., str], note: Callable[..., str]
) -> None:
    bars = [[note("C"), note("D")], [note("E"), note("F")]]
    partwise = read_score(_written(tmp_path, document(bars)))
    inner = "".join(
        f'<measure number="{index + 1}"><part id="P1">{_first(index)}{bars[0][index]}</part>'
        f'<part id="P2">{_first(index)}{bars[1][index]}</part></measure>'
        for index in range(2)
    )
    header = document(bars).split("<part ")[0].replace("score-partwise", "score-timewise")
    timewise = read_score(_written(tmp_path, f"{header}{inner}</score-timewise>"))
    assert timewise.notes == partwise.notes
    assert timewise.measures == partwise.measures
    assert timewise.parts == partwise.parts


def _first(index: int) -> str:
    return (
        "<attributes><divisions>4</divisions><time><beats>4</beats><beat-type>4</beat-type></time></attributes>"
        if index == 0
        else ""
    )


def _written(folder: Path, text: str) -> Path:
    path = folder / "score.xml"
    path.write_text(text)
    return path


@settings(deadline=None)
@given(st.binary(max_size=200))
def test_any_bytes_give_a_clear_line(tmp_path_factory: pytest.TempPathFactory, data: bytes) -> None:
    path = tmp_path_factory.getbasetemp() / "any.xml"
    path.write_bytes(data)
    with pytest.raises(ScoreError):
        read_score(path)


def test_whole_conformance_suite(shared_data: Path) -> None:
    """Every file of the open MusicXML test suite gives a score, but the one that is not well-formed."""
    refused = {}
    paths = sorted((shared_data / "conformance" / "xmlFiles").iterdir())
    assert len(paths) == 148
    for path in paths:
        try:
            score = read_score(path)
        except ScoreError as error:
            refused[path.name] = str(error)
            continue
        assert score.measures
        assert score.duration_s > 0
    assert list(refused) == ["32ad-Notations5.musicxml"]
    assert "line 141" in refused["32ad-Notations5.musicxml"]
