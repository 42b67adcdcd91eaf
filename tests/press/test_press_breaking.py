"""Where titles are broken."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from optimizer.press.breaking import wrap_title
from optimizer.press.figures import text_width_mm, wrap

WIDTH_MM = 120.0
SIZE_PT = 26.0


@pytest.mark.parametrize(
    ("title", "lines"),
    [
        ("String Quartet in A major, G.213 (Op.39)", ("String Quartet in A major,", "G.213 (Op.39)")),
        ("Concertino for Clarinet and Piano", ("Concertino", "for Clarinet and Piano")),  # not "Piano" alone
        ("Purcell Sonata in G Minor (Z 807)", ("Purcell Sonata", "in G Minor (Z 807)")),  # not "(Z / 807)"
        ("Sonata for Violin and Piano No. 5 in F major", ("Sonata for Violin and Piano", "No. 5 in F major")),
        ("Three Pieces for the Piano, Op. 26", ("Three Pieces", "for the Piano, Op. 26")),
    ],
)
def test_titles_break_where_one_would_pause(title: str, lines: tuple[str, ...]) -> None:
    assert wrap_title(title, SIZE_PT, WIDTH_MM, bold=True) == lines


def test_what_fits_on_a_line_stays_on_it() -> None:
    assert wrap_title("Der Erlkönig, D. 328", SIZE_PT, WIDTH_MM) == ("Der Erlkönig, D. 328",)
    assert wrap_title("", SIZE_PT, WIDTH_MM) == ()


@given(
    st.lists(
        st.sampled_from(
            ["Op.", "26", "in", "A", "major,", "for", "Piano", "Variationen", "No.", "1", "(WoO"]
        ),
        max_size=14,
    )
)
def test_no_more_lines_than_filling_them_takes_and_no_words_lost(words: list[str]) -> None:
    text = " ".join(words)
    lines, filled = (way(text, SIZE_PT, WIDTH_MM, bold=True) for way in (wrap_title, wrap))
    assert len(lines) == len(filled)
    assert " ".join(lines) == " ".join(filled)
    assert all(text_width_mm(line, SIZE_PT, bold=True) <= WIDTH_MM for line in lines)
