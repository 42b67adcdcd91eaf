"""Signs a file hides or repeats are not printed twice; words of several typefaces do not run together."""

from lxml import etree

from optimizer.engrave.bars import marks_of, placed_parts
from optimizer.engrave.signs import tidy_signs

BAR = """<score-partwise><part id="P1"><measure number="1"><attributes><divisions>1</divisions></attributes>
{}<note><rest/><duration>4</duration></note></measure></part></score-partwise>"""


def tidied(*directions: str) -> etree._Element:
    tree = etree.fromstring(BAR.format("".join(directions)))
    tidy_signs(marks_of(placed_parts(tree)))
    return tree


def direction(content: str, more: str = "", placement: str = "below") -> str:
    kinds = f"<direction-type>{content}</direction-type>"
    return f'<direction placement="{placement}">{kinds}{more}</direction>'


def test_pedal_signs_that_the_file_hides() -> None:
    """MusicXML 4.0, pedal: `sign` and `line` say whether they are shown."""
    hidden = tidied(direction('<pedal type="stop" sign="no"/>'), direction('<pedal type="start"/>'))
    assert [pedal.get("type") for pedal in hidden.iter("pedal")] == ["start"]
    assert len(list(hidden.iter("direction-type"))) == 1
    assert (
        next(tidied(direction('<pedal type="stop" sign="no" line="yes"/>')).iter("pedal"), None) is not None
    )


def test_the_same_dynamic_twice_at_one_place() -> None:
    loud = "<dynamics><f/></dynamics>"
    assert len(list(tidied(direction(loud), direction(loud)).iter("dynamics"))) == 1
    assert len(list(tidied(direction(loud), direction("<dynamics><p/></dynamics>")).iter("dynamics"))) == 2
    assert len(list(tidied(direction(loud), direction(loud, "<staff>2</staff>")).iter("dynamics"))) == 2
    assert len(list(tidied(direction(loud), direction(loud, placement="above")).iter("dynamics"))) == 2
    assert len(list(tidied(direction(loud), direction(loud, "<offset>2</offset>")).iter("dynamics"))) == 2


def test_the_same_hairpin_twice() -> None:
    def hairpins(*kinds_and_sides: tuple[str, str]) -> list[str | None]:
        starts = [
            direction(f'<wedge type="{kind}" number="{number}"/>', placement=side)
            for number, (kind, side) in enumerate(kinds_and_sides)
        ]
        stops = [
            direction(f'<wedge type="stop" number="{number}"/>', "<offset>2</offset>")
            for number in range(len(kinds_and_sides))
        ]
        return [wedge.get("type") for wedge in tidied(*starts, *stops).iter("wedge")]

    falling = "diminuendo", "above"
    assert hairpins(falling, falling) == ["diminuendo", "stop"]
    assert len(hairpins(falling, ("diminuendo", "below"))) == 4
    assert len(hairpins(falling, ("crescendo", "above"))) == 4


def test_pieces_of_a_text_stay_apart() -> None:
    def text(*pieces: str) -> str:
        return "".join(words.text or "" for words in tidied(direction("".join(pieces))).iter("words"))

    bold, plain = '<words font-weight="bold">{}</words>', "<words>{}</words>"
    assert text(bold.format("Langsam"), plain.format("wie zu Anfang")) == "Langsam\xa0wie zu Anfang"
    assert text(plain.format("until "), plain.format("on")) == "until\xa0on"
    assert text(plain.format("un"), plain.format("til")) == "until"
    assert text(bold.format("a"), plain.format(")")) == "a)"
    assert text(plain.format("one \n two")) == "one two"
    assert text(plain.format("one\n\n two\r\nthree")) == "one two three"
    endless = "x" + " " * 100_000 + "x"  # takes for ever unless it is read in one go
    assert text(plain.format(endless)) == endless
