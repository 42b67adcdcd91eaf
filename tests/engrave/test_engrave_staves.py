"""Staves, clefs, names and groups fit any layout, not only the one the file was made for."""

from lxml import etree

from optimizer.engrave.bars import marks_of, placed_parts
from optimizer.engrave.staves import tidy_staves

HIDE = '<attributes><staff-details print-object="{}"/></attributes>'
CLEF = "<attributes><clef><sign>{}</sign><line>{}</line></clef></attributes>"


def tidied(entries: str, *parts: tuple[str, ...]) -> etree._Element:
    music = "".join(
        f'<part id="P{index}">'
        + "".join(
            f'<measure number="{number}">{content}<note><rest/><duration>4</duration></note></measure>'
            for number, content in enumerate(bars, 1)
        )
        + "</part>"
        for index, bars in enumerate(parts, 1)
    )
    tree = etree.fromstring(f"<score-partwise><part-list>{entries}</part-list>{music}</score-partwise>")
    tidy_staves(tree, marks_of(placed_parts(tree)))
    return tree


def entry(index: int, name: str, short: str = "") -> str:
    label = f"<part-abbreviation>{short}</part-abbreviation>" if short else ""
    return f'<score-part id="P{index}"><part-name>{name}</part-name>{label}</score-part>'


def hidden(tree: etree._Element) -> list[str]:
    return [
        detail.get("print-object", "")
        for detail in tree.iter("staff-details")
        if "print-object" in detail.attrib
    ]


def test_staves_hidden_in_single_systems_are_printed() -> None:
    new = '<print new-system="yes"/>'
    once = ("", HIDE.format("no"), new)
    assert hidden(tidied(entry(1, "Alto"), once)) == []
    assert hidden(tidied(entry(1, "Alto"), (HIDE.format("no"), HIDE.format("yes")))) == []
    assert hidden(tidied(entry(1, "Alto"), (HIDE.format("no"), "", ""))) == ["no"]
    assert hidden(tidied(entry(1, "Alto"), (HIDE.format("no"), "", new + HIDE.format("no")))) == ["no", "no"]


def test_a_clef_stated_again_is_not_drawn() -> None:
    bars = (CLEF.format("G", 2), CLEF.format("G", 2), CLEF.format("F", 4), CLEF.format("G", 2))
    signs = [clef.findtext("sign") for clef in tidied(entry(1, "Piano"), bars).iter("clef")]
    assert signs == ["G", "F", "G"]


def labels(*entries: tuple[str, str]) -> list[str]:
    listed = "".join(entry(index, *names) for index, names in enumerate(entries, 1))
    tree = tidied(listed, *[("",)] * len(entries))
    return [element.text or "" for element in tree.iter("part-abbreviation")]


def test_labels_of_later_systems() -> None:
    assert labels(("Voice", "V."), ("Piano", "Pno.")) == []
    assert labels(("Voice", "V."), ("Viola", "Va."), ("Piano", "Pno.")) == ["V.", "Va.", "Pno."]
    assert labels(("Voice", "V."), ("Viola", ""), ("Piano", "Pno.")) == []
    choir = (("Solo", ""), ("Soprano", "S"), ("Alto", "A"), ("Piano", "Piano"))
    assert labels(*choir) == ["S", "A"]


def test_neighbouring_strings_share_a_bracket() -> None:
    strings = entry(1, "Violin 1") + entry(2, "Violin 2")
    groups = [group.get("type") for group in tidied(strings, ("",), ("",)).iter("part-group")]
    assert groups == ["start", "stop"]
    grouped = '<part-group type="start" number="1"/>' + strings + '<part-group type="stop" number="1"/>'
    assert len(list(tidied(grouped, ("",), ("",)).iter("part-group"))) == 2
    alone = entry(1, "Violin") + entry(2, "Piano")
    assert not list(tidied(alone, ("",), ("",)).iter("part-group"))
