"""Names of parts: told apart, compared, and never longer than a line or a file system can hold."""

import pytest

from optimizer.parts.names import MOST_LETTERS, file_name, folded, numbered, shortened, split_names
from optimizer.parts.prepare import folder_names


def test_parts_of_one_name_are_numbered() -> None:
    assert numbered(["Flute", "Oboe", "Flute"]) == ["Flute 1", "Oboe", "Flute 2"]
    assert numbered(["Flute", "Flute", "Flute 1"]) == ["Flute 2", "Flute 3", "Flute 1"]
    long = ["A" * 1000 + "1", "A" * 1000 + "2"]  # alike as far as they are shown
    assert len(set(numbered(long))) == 2


@pytest.mark.parametrize("name", ["A" * 100_000, "Flöte " * 20_000, "𝄞𐐀" * 50_000, "../" * 1000 + "x" * 300])
def test_long_names_are_cut(name: str) -> None:
    assert len(shortened(name)) <= MOST_LETTERS
    assert shortened(name).endswith("…")
    assert len(folder_names([name] * 12)[11].encode()) <= 255
    assert "/" not in file_name(name)


def test_names_that_a_line_holds_stay() -> None:
    name = "Violoncello e Contrabbasso (ad libitum)"
    assert shortened(name) == name
    assert folder_names([name]) == ("1-violoncello-e-contrabbasso-ad-libitum",)
    assert folder_names(["…"]) == ("1-part",)


@pytest.mark.parametrize("typed", ["clarinet in bb", "Clarinet  in B♭ ", "CLARINET IN Bb"])
def test_a_flat_may_be_typed(typed: str) -> None:
    assert folded(typed) == folded("Clarinet in B♭")


@pytest.mark.parametrize(
    ("name", "one"),
    [
        ("Flutes 1 & 2", "Flute"),
        ("Clarinets in B♭ I, II", "Clarinet in B♭"),
        ("2 Corni in F", "Corno in F"),
        ("Hörner", "Horn"),
        ("Contrabass", "Contrabass"),  # no plural
        ("HORNS", "HORN"),
    ],
)
def test_one_of_two_players_has_a_name_of_their_own(name: str, one: str) -> None:
    assert split_names(name) == (f"{one} 1", f"{one} 2")
