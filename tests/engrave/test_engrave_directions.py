"""Words and tempo marks are made fit to print; nothing that counts in the music is lost."""

from collections.abc import Callable

import pytest
from lxml import etree

from optimizer.engrave.bars import marks_of, placed_parts
from optimizer.engrave.directions import drop_titles, tidy_directions
from optimizer.engrave.model import Glyph, Text

NOTE = "<note><rest/><duration>4</duration></note>"


def tidied(*parts: str) -> etree._Element:
    bars = "".join(
        f'<part id="P{index}"><measure number="1"><attributes><divisions>1</divisions></attributes>{content}{NOTE}'
        "</measure></part>"
        for index, content in enumerate(parts, 1)
    )
    tree = etree.fromstring(f"<score-partwise>{bars}</score-partwise>")
    tidy_directions(marks_of(placed_parts(tree)))
    return tree


def direction(*kinds: str, more: str = "", head: str = "") -> str:
    content = "".join(f"<direction-type>{kind}</direction-type>" for kind in kinds)
    return f"<direction{head}>{content}{more}</direction>"


def words(text: str, look: str = "") -> str:
    return f"<words{look}>{text}</words>"


def texts(tree: etree._Element) -> list[str]:
    return [element.text or "" for element in tree.iter("words")]


METRONOME = "<metronome{}><beat-unit>quarter</beat-unit><per-minute>60</per-minute></metronome>"
TEMPO = '<sound tempo="60"/>'


def test_markup_of_exporting_programs() -> None:
    tree = tidied(direction(words('D.S. &lt;font face="X"&gt;\ue04a&lt;/font&gt;')))
    assert texts(tree) == ["D.S.\xa0"]
    assert next(tree.iter("segno"), None) is not None
    tree = tidied(direction(words("&lt;sym&gt;codaSquare&lt;/sym&gt;")))
    assert texts(tree) == []
    assert next(tree.iter("coda"), None) is not None
    assert texts(tidied(direction(words("p &lt; f")))) == ["p < f"]
    endless = "<" + "a" * 100_000  # takes for ever unless it is read in one go
    assert texts(tidied(direction(words(f"&lt;{endless[1:]}")))) == [endless]


def test_words_keep_clear_of_the_sign_after_them() -> None:
    """As in "D.S." before a segno; by eye: the library sets them without a space."""
    for sign in ("<coda/>", "<segno/>", METRONOME.format("")):
        assert texts(tidied(direction(words("To "), sign))) == ["To\xa0"]
    assert texts(tidied(direction("<coda/>", words("Coda")))) == ["Coda"]


def without_titles(*titles: str, content: str) -> list[str]:
    """The words at the start of a measure above which the titles are printed."""
    tree = etree.fromstring(
        f'<score-partwise><part id="P1"><measure>{content}</measure></part></score-partwise>'
    )
    drop_titles(marks_of(placed_parts(tree)), {0: titles})
    return texts(tree)


def test_titles_above_the_music_are_not_printed_again_at_the_staff() -> None:
    """The number goes up, the tempo stays as a tempo mark (common practice, no source)."""
    numeral, tempo = direction(words("II.")), direction(words("Allegretto"), more=TEMPO)
    assert without_titles("II. Allegretto", content=numeral + tempo) == ["Allegretto"]
    assert without_titles("II. Allegretto", content=direction(words("II. Allegretto"))) == ["Allegretto"]
    assert without_titles("II. Allegretto", content=direction(words("II."), words("Allegretto"))) == [
        "Allegretto"
    ]
    named = direction(words("I. Fog Bells")) + direction(words("Maestoso"))
    assert without_titles("Pictures", "I. Fog Bells", content=named) == ["Maestoso"]
    assert without_titles("I. Menuetto", content=direction(words("I.")) + direction(words("Menuetto"))) == []
    assert without_titles("II. Allegretto", content=direction(words("arco"))) == ["arco"]
    assert without_titles("II. Allegretto", content=NOTE + numeral) == ["II."]
    assert without_titles("", content=numeral) == ["II."]


def test_rehearsal_marks_stand_once() -> None:
    """Above the system only (common practice, no source)."""
    letter, other = (direction(f"<rehearsal>{text}</rehearsal>") for text in "CD")
    marks = [mark.text for mark in tidied(letter, letter + other, other).iter("rehearsal")]
    assert marks == ["C", "D"]


def test_letters_that_only_carry_a_tempo() -> None:
    assert texts(tidied(direction(words("T"), more=TEMPO))) == []
    assert texts(tidied(direction(words("T")))) == ["T"]
    assert texts(tidied(direction(words("Lento"), more=TEMPO))) == ["Lento"]
    assert next(tidied(direction(words("T"), more=TEMPO)).iter("sound")).get("tempo") == "60"


def test_words_above_by_their_coordinates_are_above() -> None:
    placed = [
        next(tidied(direction(words("a tempo", look))).iter("direction")).get("placement")
        for look in (' relative-y="20"', ' default-y="-60"', ' font-weight="bold"', "")
    ]
    assert placed == ["above", None, "above", None]


def test_bold_words_stand_upright_unless_the_file_says_otherwise() -> None:
    looks = (' font-weight="bold"', ' font-weight="bold" font-style="italic"', "")
    tree = tidied(direction(*(words("Ruhig", look) for look in looks)))
    assert [element.get("font-style") for element in tree.iter("words")] == ["normal", "italic", None]


def test_tempo_words_stand_once_over_the_topmost_staff() -> None:
    adagio = direction(words("Adagio", ' font-weight="bold"'), more=TEMPO)
    assert texts(tidied(adagio, adagio)) == ["Adagio"]
    assert next(tidied(adagio, adagio).iter("part")).find(".//words") is not None
    legato = direction(words("legato"))
    assert texts(tidied(legato, legato)) == ["legato", "legato"]
    assert len(list(tidied(adagio, adagio).iter("sound"))) == 2


def test_offsets_out_of_the_bar() -> None:
    def offset(value: float | str) -> str | None:
        return next(
            tidied(direction(words("x"), more=f"<offset>{value}</offset>")).iter("direction")
        ).findtext("offset")

    assert offset(2) == "2"
    assert offset(4) is None
    assert offset(-1) is None
    assert [offset(value) for value in (1.5, "nan", "1e999", "1/0")] == ["1.5", "nan", "1e999", "1/0"]


FINE, DACAPO = '<sound fine="yes"/>', '<sound dacapo="yes"/>'
TO_CODA, SEGNO = '<sound tocoda="1"/>', '<sound segno="1"/>'
DOUBLE = '<barline location="right"><bar-style>light-light</bar-style></barline>'


@pytest.mark.parametrize(
    ("content", "offset"),
    [
        (direction(words("D.C. al Fine"), more=DACAPO), "4"),
        (direction(words("Fine"), more=FINE), "4"),
        (direction(words("Fine")), "4"),
        (direction("<coda/>", more=TO_CODA), "4"),
        (direction(words("To Coda"), more="<offset>3</offset>" + TO_CODA), "4"),
        (
            direction(words("Fine"), more="<offset>3</offset>" + FINE),
            "3",
        ),  # after the last note, within the bar
        (direction("<segno/>", more=SEGNO), None),  # there one begins
        (direction(words("D.C.")), None),  # acts where the section ends, in some bar after this
        (direction(words("Andante")), None),
    ],
)
def test_what_acts_at_the_end_of_its_bar_is_put_there(content: str, offset: str | None) -> None:
    (found,) = tidied(content).iter("direction")
    assert found.findtext("offset") == offset
    if offset == "4":
        assert [element.get("halign") for element in found.iter("words")] == ["right"]


def test_words_of_a_jump_stand_at_the_end_of_their_section_already() -> None:
    start = direction(words("D.C."))
    tree = etree.fromstring(
        "<score-partwise><part><measure><attributes><divisions>1</divisions></attributes>"
        f"{start}{NOTE}{DOUBLE}</measure></part></score-partwise>"
    )
    tidy_directions(marks_of(placed_parts(tree)))
    assert next(tree.iter("offset")).text == "4"


HEAD = (
    "<attributes><divisions>1</divisions><time><beats>4</beats><beat-type>4</beat-type></time></attributes>"
)


@pytest.mark.parametrize("look", ["", ' font-weight="bold"'])
@pytest.mark.parametrize(("text", "sound"), [("D.C. al Fine", DACAPO), ("Fine", FINE), ("Fine", "")])
def test_words_of_jumps_end_at_their_barline_on_paper(
    engrave_root: Callable, text: str, sound: str, look: str
) -> None:
    """Written before the notes of the second of three bars: its words end between its last note and the third bar."""
    four = "".join(
        f"<note><pitch><step>{step}</step><octave>5</octave></pitch><duration>1</duration><type>quarter</type></note>"
        for step in "CDCD"
    )
    jump = direction(words(text, look), more=sound, head=' placement="above"')
    root = etree.fromstring(
        '<score-partwise version="4.0"><part-list><score-part id="P1"><part-name>Cello</part-name></score-part>'
        f'</part-list><part id="P1"><measure number="1">{HEAD}{four}</measure><measure number="2">{jump}{four}{DOUBLE}'
        f'</measure><measure number="3">{four}</measure></part></score-partwise>'
    )
    items = engrave_root(root).engraved.systems[0].items
    heads = sorted(
        item.matrix[4] for item in items if isinstance(item, Glyph) and item.name.startswith("E0A4")
    )
    (shown,) = [item for item in items if isinstance(item, Text) and item.string == text]
    assert len(heads) == 12
    assert shown.anchor == "end"
    assert heads[7] < shown.x_sp < heads[8]


def test_a_staff_that_is_no_number_is_the_first() -> None:
    letters = direction("<rehearsal>A</rehearsal>", more="<staff>²</staff>")
    assert len(list(tidied(letters, letters).iter("rehearsal"))) == 1


def test_a_metronome_mark_joins_the_tempo_words_at_its_place() -> None:
    tree = tidied(direction(words("Lento"), more=TEMPO) + direction(METRONOME.format("")))
    shown = [
        [child.tag for kind in each.iter("direction-type") for child in kind]
        for each in tree.iter("direction")
    ]
    assert [kinds for kinds in shown if kinds] == [["words", "metronome"]]


def test_words_before_a_metronome_mark_keep_their_space() -> None:
    for parentheses in ("", ' parentheses="yes"'):
        tree = tidied(direction(words("Moderato "), METRONOME.format(parentheses)))
        assert texts(tree) == ["Moderato\xa0"]
