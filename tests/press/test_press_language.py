"""Five languages: nothing missing, nothing left in English, every letter printable, keys named as musicians do."""

import re
import string

import pytest
from music21.key import KeySignature
from music21.pitch import Pitch

from optimizer.press.fonts import missing_letters
from optimizer.press.language import Counted, Phrase, Sentence, words
from optimizer.score.model import Key
from optimizer.settings import PAPERS, Lang
from optimizer.turns.model import Grade

TEXTS = {
    name: value
    for name, value in vars(type(words(Lang.EN))).items()
    if isinstance(value, Phrase | Sentence | Counted)
}
# Words that languages share with English; all others differ.
SAME_AS_ENGLISH = {
    Lang.DE: {"at_pitch", "minutes_and_half"},
    Lang.FR: {"notes", "page", "page_short", "pages", "pages_heading"},
    Lang.ES: set(),
    Lang.SV: {"minutes_and_half"},
}


def gaps(text: str) -> set[str]:
    return {name for _, name, _, _ in string.Formatter().parse(text) if name is not None}


def bare(text: str) -> str:
    """A text without its gaps."""
    return "".join(plain for plain, *_ in string.Formatter().parse(text))


@pytest.mark.parametrize("name", TEXTS)
def test_a_text_stands_in_all_languages_with_the_same_gaps(name: str) -> None:
    texts = TEXTS[name].texts
    assert len(texts) == len(Lang)
    assert all(bare(text) for text in texts)
    assert all(gaps(text) == gaps(texts[0]) for text in texts), texts
    assert all("  " not in text for text in texts)
    if isinstance(TEXTS[name], Counted):
        assert all(text.count("|") == 1 for text in texts)


@pytest.mark.parametrize("lang", SAME_AS_ENGLISH)
def test_nothing_is_left_in_english(lang: Lang) -> None:
    place = list(Lang).index(lang)
    same = {
        name
        for name, value in TEXTS.items()
        if value.texts[place] == value.texts[0] and any(map(str.isalpha, bare(value.texts[0])))
    }
    assert same == SAME_AS_ENGLISH[lang]


def test_french_sets_a_space_before_high_marks() -> None:
    """Colon, semicolon, question and exclamation mark (rule of French typography, from memory)."""
    texts = [value.texts[2] for value in TEXTS.values()]
    tight = [text for text in texts if re.search(r"[^\u00a0][:;?!](\s|$)", text)]
    assert tight == []


def test_every_letter_is_in_the_embedded_faces() -> None:
    letters = "".join(text for value in TEXTS.values() for text in value.texts)
    keys = "".join(
        words(lang).key(Key(fifths, "minor" if fifths % 2 else "major"))
        for lang in Lang
        for fifths in range(-7, 8)
    )
    assert missing_letters(letters + keys) == ""


def test_one_and_many() -> None:
    # Plural of nought: French takes the singular (grammar, from memory).
    nbsp = "\u00a0"
    assert [words(Lang.EN).pages(n) for n in (0, 1, 2)] == [f"0{nbsp}pages", f"1{nbsp}page", f"2{nbsp}pages"]
    assert [words(Lang.FR).notes(n) for n in (0, 1, 2)] == [f"0{nbsp}note", f"1{nbsp}note", f"2{nbsp}notes"]


def test_lists_and_figures() -> None:
    assert words(Lang.EN).listed(["Voice", "Viola", "Piano"]) == "Voice, Viola and Piano"
    assert words(Lang.ES).listed(["Violín", "Instrumento"]) == "Violín e Instrumento"
    assert words(Lang.EN).decimal(2.44) == "2.4"
    assert {words(lang).decimal(2.44) for lang in Lang if lang is not Lang.EN} == {"2,4"}


@pytest.mark.parametrize("mode", ["major", "minor", "dorian", "phrygian", "lydian", "mixolydian", "locrian"])
@pytest.mark.parametrize("fifths", range(-7, 8))
def test_tonics_are_named_as_music21_names_them(fifths: int, mode: str) -> None:
    """music21 knows the notes in German, French and Spanish."""
    key = Key(fifths, mode)
    tonic: Pitch = KeySignature(fifths).asKey(mode).tonic
    german, french, spanish = (
        words(lang).key(key).replace("-", " ").split() for lang in (Lang.DE, Lang.FR, Lang.ES)
    )
    assert german[0].capitalize() == tonic.german
    assert german[0][0].isupper() == (mode in ("major", "lydian", "mixolydian"))
    assert " ".join(french[:-1]) == tonic.french
    assert " ".join(spanish[:-1]) == tonic.spanish


@pytest.mark.parametrize(
    ("fifths", "mode", "names"),
    [
        # From memory, common practice in each language.
        (-3, "major", ("E-flat major", "Es-Dur", "mi bémol majeur", "mi bemol mayor", "Ess-dur")),
        (-3, "minor", ("C minor", "c-Moll", "do mineur", "do menor", "c-moll")),
        (-2, "major", ("B-flat major", "B-Dur", "si bémol majeur", "si bemol mayor", "B-dur")),
        (-5, "minor", ("B-flat minor", "b-Moll", "si bémol mineur", "si bemol menor", "b-moll")),
        (2, "minor", ("B minor", "h-Moll", "si mineur", "si menor", "h-moll")),
        (5, "major", ("B major", "H-Dur", "si majeur", "si mayor", "H-dur")),
        (-4, "major", ("A-flat major", "As-Dur", "la bémol majeur", "la bemol mayor", "Ass-dur")),
        (3, "minor", ("F-sharp minor", "fis-Moll", "fa dièse mineur", "fa sostenido menor", "fiss-moll")),
        (-7, "minor", ("A-flat minor", "as-Moll", "la bémol mineur", "la bemol menor", "ass-moll")),
        (-1, "dorian", ("G dorian", "g-Dorisch", "sol dorien", "sol dórico", "g-dorisk")),
    ],
)  # fmt: skip
def test_keys_as_musicians_say_them(fifths: int, mode: str, names: tuple[str, ...]) -> None:
    assert tuple(words(lang).key(Key(fifths, mode)) for lang in Lang) == names


def test_grades_and_hands_are_told_apart_in_every_language() -> None:
    for lang in Lang:
        said = words(lang)
        assert len({said.grade(grade) for grade in Grade}) == len(Grade)
        assert len({said.hand(name) for name in ("left", "right", "either", "free")}) == 4


@pytest.mark.parametrize("lang", list(Lang))
def test_a_heading_and_what_stands_below_it_do_not_say_the_same(lang: Lang) -> None:
    heading = words(lang).desk_heading.lower()
    assert heading not in words(lang).desk_told("stand").lower().split()
    assert words(lang).desk_told("700mm") == "700\u00a0mm"
    assert "700" not in words(lang).desk("700mm"), "its width is told beside it"


@pytest.mark.parametrize(
    ("paper", "size", "length", "tape"),
    [
        ("a4", "210 × 297 mm", "80 mm", "2 × 4 cm"),
        # Letter is 8.5 by 11 in (US paper size tables), a hole 1.25 in from its upper edge.
        ("letter", "8.5 × 11 in (215.9 × 279.4 mm)", "1.25 in (31.75 mm)", "¾ × 1½ in"),
    ],
)
def test_paper_in_inches_is_measured_in_inches(paper: str, size: str, length: str, tape: str) -> None:
    said, sheet = words(Lang.EN), PAPERS[paper]
    told = [
        said.size(sheet.width_mm, sheet.height_mm, sheet, 1),
        said.length(31.75 if sheet.is_american else 80.0, sheet, 2),
        said.tape_size(sheet),
    ]
    assert [text.replace("\u00a0", " ") for text in told] == [size, length, tape]
    assert words(Lang.DE).length(31.75, PAPERS["letter"], 2) == "1,25\u00a0Zoll (31,75\u00a0mm)"


@pytest.mark.parametrize(
    ("lang", "told"),
    [
        # "turn" is feminine in French and Spanish, of common gender in Swedish; a German adjective behind its noun does
        # not change (grammars, from memory).
        (Lang.EN, "1 open, 2 quick, 3 tight, 2 blocked"),
        (Lang.DE, "1 bequem, 2 rasch, 3 knapp, 2 ohne freie Hand"),
        (Lang.FR, "1 large, 2 rapides, 3 serrées, 2 sans main libre"),
        (Lang.ES, "1 cómoda, 2 rápidas, 3 justas, 2 sin mano libre"),
        (Lang.SV, "1 bekväm, 2 snabba, 3 knappa, 2 utan ledig hand"),
    ],
)
def test_grades_agree_with_their_number(lang: Lang, told: str) -> None:
    counts = {Grade.OPEN: 1, Grade.QUICK: 2, Grade.TIGHT: 3, Grade.BLOCKED: 2}
    assert ", ".join(words(lang).graded(count, grade) for grade, count in counts.items()) == told
