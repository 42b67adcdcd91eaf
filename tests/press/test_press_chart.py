"""The picture of the turns: one drawing for PDF and SVG, complete, readable without colour."""

import io
from itertools import pairwise
from pathlib import Path

import pytest
from lxml import etree
from pypdf import PdfReader

from optimizer.press.chart import COST_MM, MOST_COST, chart_sheets, draw_chart
from optimizer.press.figures import GRADE_COLOURS, Area, Label
from optimizer.settings import PAPERS, TurnSettings
from optimizer.turns.model import BarlineReading, Grade

SVG = "{http://www.w3.org/2000/svg}"
TURNS = TurnSettings()


def readings(count: int, hands: tuple[str, ...] = ("left", "right")) -> list[BarlineReading]:
    grades = list(Grade)
    return [
        BarlineReading(
            str(n + 1), 137 * n % 1400, grades[n % 4], dict.fromkeys(hands, n % 5 * 0.7), n % 8 == 7
        )
        for n in range(count)
    ]


def svg(found: list[BarlineReading], title: str = "Evening Song") -> etree._Element:
    target = io.BytesIO()
    draw_chart(target, "svg", title, "Piano, two hands", found)
    return etree.fromstring(target.getvalue())


def test_svg_and_pdf_say_the_same():
    target = io.BytesIO()
    draw_chart(target, "pdf", "Píseň & více", "Piano, two hands", readings(20))
    (page,) = PdfReader(io.BytesIO(target.getvalue())).pages
    words = [element.text for element in svg(readings(20), "Píseň & více").iter(f"{SVG}text")]
    pdf_words = " ".join(page.extract_text().split())
    assert all(" ".join(word.split()) in pdf_words for word in words)
    assert words[0] == "Píseň & více"


@pytest.mark.parametrize("count", [1, 59, 148, 894])
def test_every_barline_has_its_column(count):
    found = readings(count)
    sheets = chart_sheets("t", "p", found, TURNS, PAPERS["a4"])
    stems = [
        figure
        for sheet in sheets
        for figure in sheet.figures
        if isinstance(figure, Area) and figure.outline is None and figure.fill in GRADE_COLOURS.values()
    ]
    assert len(stems) == sum(reading.cost > 0 for reading in found)


def test_columns_are_as_high_as_the_turn_is_hard():
    costs = (300, 600, MOST_COST)
    found = [BarlineReading(str(n), cost, Grade.TIGHT, {"left": 0.0}) for n, cost in enumerate(costs)]
    (sheet,) = chart_sheets("t", "p", found, TURNS, PAPERS["a4"])
    stems = [
        f
        for f in sheet.figures
        if isinstance(f, Area) and f.fill == GRADE_COLOURS[Grade.TIGHT] and not f.outline
    ]
    heights = [max(y for _, y in stem.points) - min(y for _, y in stem.points) for stem in stems]
    assert heights == pytest.approx([cost / MOST_COST * COST_MM for cost in costs])


def test_long_scores_wrap_into_rows_that_stay_on_their_sheets():
    sheets = chart_sheets("t", "p", readings(894), TURNS, PAPERS["a4"])
    assert len(sheets) > 1
    for sheet in sheets:
        for figure in sheet.figures:
            points = getattr(figure, "points", None) or [(figure.x_mm, figure.y_mm)]
            assert all(0 <= x <= sheet.width_mm and 0 <= y <= sheet.height_mm for x, y in points)


def test_bar_numbers_do_not_touch():
    (sheet, *_) = chart_sheets("t", "p", readings(894), TURNS, PAPERS["a4"])
    numbers = [f for f in sheet.figures if isinstance(f, Label) and f.anchor == "middle"]
    assert len(numbers) > 20
    for one, two in pairwise(numbers):
        if one.y_mm == two.y_mm:
            assert two.x_mm - one.x_mm >= (one.width_mm + two.width_mm) / 2 + 0.5


def test_axes_and_legend_are_named():
    words = {element.text for element in svg(readings(30)).iter(f"{SVG}text")}
    assert {
        "difficulty",
        "free seconds",
        "bar",
        "1.6 s",
        "3 s",
    } <= words  # times: facts.md, MTM-1 and Quince 2015
    assert {"open", "quick", "tight", "blocked", "free: left", "free: right", "double bar or repeat"} <= words


def test_grades_keep_their_order_in_grey():
    """Relative luminance as of ITU-R BT.709 coefficients falls from open to blocked (from memory)."""

    def luminance(colour: str) -> float:
        red, green, blue = (int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5))
        return 0.2126 * red + 0.7152 * green + 0.0722 * blue

    values = [luminance(GRADE_COLOURS[grade]) for grade in Grade]
    assert all(light - dark > 0.1 for light, dark in pairwise(values))


def test_a_player_with_one_pair_of_hands_and_an_empty_score():
    assert "free: hands" in {e.text for e in svg(readings(5, ("hands",))).iter(f"{SVG}text")}
    assert svg([]).find(f"{SVG}title") is not None


def test_files_are_written_where_asked(tmp_path: Path):
    for form, start in (("pdf", b"%PDF"), ("svg", b"<svg")):
        draw_chart(tmp_path / f"turns.{form}", form, "t", "p", readings(9))  # type: ignore[arg-type]
        assert (tmp_path / f"turns.{form}").read_bytes().startswith(start)
