"""Multiple rests: N real bars in a file, one measure in memory; time and numbers stay."""

from collections.abc import Callable
from fractions import Fraction
from pathlib import Path

import pytest
from lxml import etree

from optimizer.engrave.engraver import ScoreEngraver
from optimizer.engrave.model import SystemSpan, Text
from optimizer.score import PageBox, ScoreFile, load_file, score_from, with_layout
from optimizer.score.multirests import bars_of, collapsed, expanded
from optimizer.settings import DEFAULT_MARGINS, PAPERS

Note = Callable[..., str]
Build = Callable[..., ScoreFile]
REST = '<note><rest measure="yes"/><duration>16</duration><voice>1</voice></note>'
FINAL = '<barline location="right"><bar-style>light-heavy</bar-style></barline>'
WORDS = "<direction><direction-type><words>solo</words></direction-type></direction>"


def rests(count: int, bars: int | None = None, end: str = "") -> list[str]:
    """Empty bars, the first of which says how many there are (`bars`: says wrongly)."""
    style = f"<measure-style><multiple-rest>{bars or count}</multiple-rest></measure-style>"
    return [f"<attributes>{style}</attributes>{REST}", *[REST] * (count - 2), REST + end]


def canonical(root: etree._Element) -> bytes:
    return etree.tostring(root, method="c14n")


def said(root: etree._Element) -> list[tuple[str | None, int]]:
    return [(measure.get("number"), bars_of(measure)) for measure in root.iterfind("part[1]/measure")]


def test_one_measure_lasts_as_long_as_all_its_bars(score_file: Build, note: Note) -> None:
    file = score_file(note(), *rests(5), note())
    short = collapsed(file.root)
    assert said(short) == [("1", 1), ("2", 5), ("7", 1)]
    before, after = score_from(file), score_from(ScoreFile(Path("x"), "", short))
    assert [measure.length_ql for measure in after.measures] == [4, 20, 4]
    assert after.measures[1].bars == 5
    assert after.measures[1].last_number == "6"
    assert after.duration_s == pytest.approx(before.duration_s)
    assert [n.offset_ql + after.measures[n.measure_index].offset_ql for n in after.notes] == [
        n.offset_ql + before.measures[n.measure_index].offset_ql for n in before.notes
    ]


def test_there_and_back_again(score_file: Build, note: Note) -> None:
    file = score_file(note(), *rests(5), note(), *rests(2, end=FINAL))
    assert canonical(expanded(collapsed(file.root))) == canonical(file.root)
    assert expanded(file.root) is file.root


def test_plain_barlines_that_a_file_states_part_nothing(score_file: Build, note: Note) -> None:
    plain = '<barline location="right"><bar-style>regular</bar-style></barline>'
    double = '<barline location="right"><bar-style>light-light</bar-style></barline>'
    first, *others = rests(3)
    file = score_file(note(), first + plain, others[0] + plain, others[1] + double, note())
    short = collapsed(file.root)
    assert said(short) == [("1", 1), ("2", 3), ("5", 1)]
    assert [line.findtext("bar-style") for line in short.iter("barline")] == ["light-light"]
    parted = score_file(note(), first + plain, others[0] + double, others[1], note())
    assert len(said(collapsed(parted.root))) == 5


def test_bars_without_any_content_last_by_their_time(score_file: Build, note: Note) -> None:
    style = "<attributes><measure-style><multiple-rest>3</multiple-rest></measure-style></attributes>"
    file = score_file(note(), style, "", "", note())
    score = score_from(ScoreFile(Path("x"), "", collapsed(file.root)))
    assert [measure.length_ql for measure in score.measures] == [4, 12, 4]


@pytest.mark.parametrize(
    "bars",
    [
        [*rests(3)[:2], WORDS + REST],  # something to see inside
        [*rests(3)[:2], '<note><rest/><duration>16</duration><notations><fermata/></notations></note>'],
        [*rests(3)[:2], "{note}"],  # something to play inside
        [rests(3)[0], FINAL + REST, REST],  # a barline inside
        rests(3, bars=9),  # more than there are
    ],
)  # fmt: skip
def test_what_must_be_seen_stays(score_file: Build, note: Note, bars: list[str]) -> None:
    file = score_file(note(), *(bar.format(note=note()) for bar in bars))
    assert collapsed(file.root) is file.root


def test_numbers_that_do_not_run_on_stay(score_file: Build, note: Note) -> None:
    file = score_file(note(), *rests(3), numbers=["1", "2", "X1", "3"])
    assert collapsed(file.root) is file.root


def test_only_what_all_parts_rest(score_file: Build, note: Note) -> None:
    two = score_file(parts=[[note(), *rests(3)], [note(), *[note()] * 3]])
    assert collapsed(two.root) is two.root
    both = score_file(parts=[[note(), *rests(3)], [note(), *rests(3)]])
    assert said(collapsed(both.root)) == [("1", 1), ("2", 3)]


def test_an_attribute_of_ours_in_a_file_means_nothing(tmp_path: Path, document: Note, note: Note) -> None:
    path = tmp_path / "odd.musicxml"
    path.write_text(document([[note(), note()]]).replace('number="2"', 'number="2" bars="7"'))
    assert [measure.bars for measure in score_from(load_file(path)).measures] == [1, 1]


def test_a_file_has_real_bars(score_file: Build, note: Note) -> None:
    file = score_file(note(), *rests(5, end=FINAL))
    page = PageBox(PAPERS["a4"], DEFAULT_MARGINS)
    root = etree.fromstring(with_layout(collapsed(file.root), [(0, 0, True), (1, 1, False)], 7.0, page))
    assert [measure.get("number") for measure in root.iter("measure")] == list("123456")
    assert root.find("part/measure[2]/print").get("new-system") == "yes"
    assert root.find("part/measure[6]/barline") is not None
    assert root.xpath("count(//measure/@bars)") == 0


def test_drawn_as_one(score_file: Build, note: Note) -> None:
    file = score_file(note(), *rests(5), note(), *rests(23))
    engraver = ScoreEngraver(collapsed(file.root), strict=True)
    assert len(engraver.measure().bars) == 4
    text = etree.fromstring(engraver._mei.encode())
    assert text.xpath("//*[local-name() = 'multiRest']/@num") == ["5", "23"]


def test_words_over_a_rest_are_drawn(score_file: Build, note: Note) -> None:
    """The library leaves them out where it reads multiple rests itself."""
    bars = rests(5)
    file = score_file(note(), bars[0].replace(REST, WORDS + REST), *bars[1:], note())
    drawn = ScoreEngraver(collapsed(file.root), strict=True).draw([SystemSpan(0, 2, 80.0)])
    strings = [item.string for item in drawn.systems[0].items if isinstance(item, Text)]
    assert "solo" in strings


def test_playback_tempi_keep_their_moments(score_file: Build, note: Note) -> None:
    tempo = '<sound tempo="60"/>'
    bars = rests(3)
    file = score_file(note(), bars[0], bars[1], tempo + bars[2], note())
    short = collapsed(file.root)
    assert said(short) == [("1", 1), ("2", 3), ("5", 1)]
    assert canonical(expanded(short)) == canonical(file.root)
    assert score_from(ScoreFile(Path("x"), "", short)).duration_s == pytest.approx(
        score_from(file).duration_s
    )


def test_against_music21(tmp_path: Path, score_file: Build, note: Note) -> None:
    """What we write out, read by music21: as many bars, of the same lengths."""
    from music21 import converter

    file = score_file(note(), *rests(5), note())
    path = tmp_path / "written.musicxml"
    path.write_bytes(etree.tostring(expanded(collapsed(file.root))))
    bars = converter.parse(path).parts[0].getElementsByClass("Measure")
    assert [bar.number for bar in bars] == [1, 2, 3, 4, 5, 6, 7]
    assert {Fraction(bar.duration.quarterLength) for bar in bars} == {Fraction(4)}
