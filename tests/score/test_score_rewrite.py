"""Breaks and layout written back: nothing lost, and valid against the W3C MusicXML 4.0 schema when the input
was."""

from collections.abc import Callable
from pathlib import Path

import pytest
from lxml import etree

from optimizer.score import PageBox, load_file, score_from, with_breaks, with_layout
from optimizer.score.load import ScoreFile
from optimizer.score.multirests import collapsed, expanded
from optimizer.settings import DEFAULT_MARGINS, PAPERS, Margins

PAGE = PageBox(PAPERS["a4"], DEFAULT_MARGINS)
CORPORA = Path(__file__).resolve().parents[2] / "corpora"
# Attributes and children of <print> that say how the old page was laid out.
LAYOUT = {"new-system", "new-page", "blank-page", "page-number", "staff-spacing"}


def some_systems(count: int) -> list[tuple[int, int, bool]]:
    """Systems of three measures, four to a page."""
    return [(first, min(first + 2, count - 1), first % 12 == 0) for first in range(0, count, 3)]


def music(root: etree._Element) -> list[tuple[object, ...]]:
    """All but the layout: everything outside <print>, <defaults> and <encoding>, in order."""
    told: list[tuple[object, ...]] = []
    for element in root.iter():
        inside = [element, *element.iterancestors()]
        tags = {ancestor.tag for ancestor in inside}
        if not tags & {"print", "defaults", "encoding"} and element.tag != "identification":
            text = (element.text or "").strip()
            told.append((len(inside), str(element.tag), sorted(element.attrib.items()), text))
    return told


def prints_kept(root: etree._Element) -> list[tuple[str, ...]]:
    """What is left of <print> elements when breaks and layout are taken away."""
    kept = (
        tuple(str(child.tag) for child in element.iterchildren("measure-numbering", "part-name-display"))
        for element in root.iter("print")
    )
    return [names for names in kept if names]


def breaks(root: etree._Element) -> list[dict[int, str]]:
    """For each part the measures that start a page or a system."""
    found = []
    for part in root.findall("part"):
        own = {}
        for index, measure in enumerate(part.findall("measure")):
            for element in measure.findall("print"):
                for name in ("system", "page"):
                    if element.get(f"new-{name}") == "yes":
                        own[index] = name
        found.append(own)
    return found


def check(file: ScoreFile, schema: etree.XMLSchema | None) -> None:
    """All that must hold of a rewritten score."""
    before = etree.tostring(file.root)
    count = len(file.root.findall("part")[0].findall("measure"))
    systems = some_systems(count)
    data = with_layout(file.root, systems, 6.5, PAGE)
    assert etree.tostring(file.root) == before, "the input tree must not change"
    written = etree.fromstring(data)
    root = collapsed(written)  # multiple rests are one measure in memory, real bars in a file
    expected = {first: "page" if new_page else "system" for first, _, new_page in systems if first}
    assert breaks(root) == [expected] * len(file.root.findall("part"))
    assert music(root) == music(file.root)
    assert prints_kept(root) == prints_kept(file.root)
    if schema is not None and schema.validate(expanded(file.root)):
        schema.assertValid(written)
    again = with_layout(root, systems, 6.5, PAGE)
    assert etree.fromstring(again).xpath("count(//software[. = 'quietleaf'])") == 1.0


@pytest.mark.parametrize("path", sorted(CORPORA.glob("*.musicxml")), ids=lambda path: path.stem)
def test_our_own_scores(path: Path, schema: etree.XMLSchema) -> None:
    file = load_file(path)
    assert schema.validate(file.root)
    check(file, schema)


def test_conformance_suite(shared_data: Path, schema: etree.XMLSchema) -> None:
    valid = 0
    for path in sorted((shared_data / "conformance" / "xmlFiles").iterdir()):
        if path.name.startswith("32ad"):
            continue  # not well-formed
        file = load_file(path)
        check(file, schema)
        valid += bool(schema.validate(expanded(file.root)))
    assert valid >= 140


@pytest.mark.parametrize(
    "name",
    [
        "lied-schubert-erlkoenig.mxl",
        "duo-weber-clarinet-concertino.mxl",
        "print-piano-chopin-op29-impromptu.mxl",
    ],
)
def test_real_scores(name: str, shared_data: Path, schema: etree.XMLSchema) -> None:
    check(load_file(shared_data / "scores" / name), schema)


def test_old_layout_goes_and_the_rest_of_print_stays(
    score_file: Callable[..., ScoreFile], note: Callable[..., str]
) -> None:
    old = (
        '<print new-page="yes" page-number="4"><page-layout/><system-layout/><staff-layout/><measure-layout/>'
        "<measure-numbering>none</measure-numbering></print>"
    )
    file = score_file(note(), old + note(), '<print new-system="yes"/>' + note(), note())
    tree = with_breaks(file.root, {3: "system"})
    assert breaks(tree) == [{3: "system"}]
    kept = tree.find("part/measure[2]/print")
    assert kept is not None
    assert (
        etree.tostring(kept, with_tail=False) == b"<print><measure-numbering>none</measure-numbering></print>"
    )
    assert tree.find("part/measure[3]/print") is None
    assert breaks(file.root) == [{1: "page", 2: "system"}]
    assert breaks(with_breaks(file.root, {1: "system", 2: "page"})) == [{1: "system", 2: "page"}]


def test_scaling_and_page_size_in_tenths(
    score_file: Callable[..., ScoreFile], note: Callable[..., str]
) -> None:
    # W3C musicxml.xsd 4.0, scaling: "for a staff height of 7 mm, millimeters would be set to 7 while tenths
    # is 40".
    header = (
        "<defaults><scaling><millimeters>5</millimeters><tenths>40</tenths></scaling><lyric-font/></defaults>"
    )
    file = score_file(note(), header=header)
    page = PageBox(PAPERS["a4"], Margins(14.0, 7.0, 3.5, 21.0))
    defaults = etree.fromstring(with_layout(file.root, [(0, 0, True)], 7.0, page)).find("defaults")
    assert defaults is not None
    assert [child.tag for child in defaults] == ["scaling", "page-layout", "lyric-font"]
    texts = {element.tag: element.text for element in defaults.iter() if element.text}
    # 210 mm and 297 mm (ISO 216) at 40 tenths to 7 mm.
    assert texts == {
        "millimeters": "7",
        "tenths": "40",
        "page-height": "1697.1429",
        "page-width": "1200",
        "left-margin": "80",
        "right-margin": "40",
        "top-margin": "20",
        "bottom-margin": "120",
    }


def test_mirrored_margins_and_blank_pages(corpora: Path, schema: etree.XMLSchema) -> None:
    """W3C musicxml.xsd 4.0: `page-margins` twice, odd and even; `blank-page` says how many stand before a new page."""
    file = load_file(corpora / "nets-on-the-quay.musicxml")
    page = PageBox(PAPERS["a4"], Margins(20, 13, 11, 11), Margins(13, 20, 11, 11))
    root = etree.fromstring(
        with_layout(file.root, [(0, 7, True), (8, 9, False), (10, 15, True)], 8.0, page, [10])
    )
    schema.assertValid(root)
    margins = {
        box.get("type"): (box.findtext("left-margin"), box.findtext("right-margin"))
        for box in root.iter("page-margins")
    }
    assert margins == {"odd": ("100", "65"), "even": ("65", "100")}  # 40 tenths to 8 mm
    for part in root.iterchildren("part"):
        blanks = [(element.get("new-page"), element.get("blank-page")) for element in part.iter("print")]
        assert blanks.count(("yes", "1")) == 1
        assert blanks.count((None, "1")) == 0
    both = PageBox(PAPERS["a4"], page.margins, page.margins)
    again = etree.fromstring(with_layout(root, [(0, 15, True)], 8.0, both))
    assert [box.get("type") for box in again.iter("page-margins")] == ["both"]
    assert not again.xpath("//print[@blank-page]")


def test_breaks_that_were_not_supported_now_are(
    score_file: Callable[..., ScoreFile], note: Callable[..., str]
) -> None:
    supports = (
        '<supports element="print" attribute="new-page" type="no"/><supports element="beam" type="no"/>'
    )
    header = f"<identification><rights>CC0</rights><encoding>{supports}</encoding></identification>"
    root = etree.fromstring(with_layout(score_file(note(), header=header).root, [(0, 0, True)], 7.0, PAGE))
    assert [element.get("type") for element in root.iter("supports")] == ["yes", "no"]
    assert [element.text for element in root.iter("software")] == ["quietleaf"]


def test_document_type_and_comments_stay(
    tmp_path: Path, document: Callable[..., str], note: Callable[..., str]
) -> None:
    doctype = '<!DOCTYPE score-partwise PUBLIC "-//Recordare//DTD MusicXML 4.0 Partwise//EN" "p.dtd">'
    path = tmp_path / "score.xml"
    path.write_text(doctype + document([["<!-- a remark -->" + note()]]))
    data = with_layout(load_file(path).root, [(0, 0, True)], 7.0, PAGE)
    assert doctype.encode() in data
    assert b"<!-- a remark -->" in data
    assert data.startswith(b"<?xml version='1.0' encoding='UTF-8'?>")


def test_rewritten_score_reads_the_same(shared_data: Path, tmp_path: Path) -> None:
    file = load_file(shared_data / "scores" / "lied-lang-abermals-am-see.mxl")
    before = score_from(file)
    path = tmp_path / "score.musicxml"
    path.write_bytes(with_layout(file.root, some_systems(len(before.measures)), 6.0, PAGE))
    after = score_from(load_file(path))
    assert after.notes == before.notes
    assert after.clocks == before.clocks
    assert after.played == before.played
    assert after.title == before.title
    pages = [measure.index for measure in after.measures if measure.starts_page]
    assert pages == list(range(0, len(before.measures), 12))
