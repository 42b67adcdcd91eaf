"""pages.pdf as the printer gets it: pypdf reads order, places and orientation back, pdfium shows the ink.

Sources: ISO 838 (holes), ISO 216 (A3), imposition handouts (8-1, 2-7, 6-3, 4-5); margins lost by printers: the user's
value.
"""

import io
from contextlib import closing
from dataclasses import replace
from math import hypot

import numpy as np
import pytest
from pypdf import PdfReader
from pypdfium2 import PdfDocument

from optimizer import pipeline
from optimizer.binding.holes import punch_for
from optimizer.binding.imposition import impressions
from optimizer.binding.sheets import sheets_of
from optimizer.layout.patterns import PageSide
from optimizer.press.booklet import print_pages
from optimizer.press.calibration import calibration_figures
from optimizer.press.figures import Label, Line
from optimizer.press.sheet_marks import sheet_marks
from optimizer.press.sheet_words import SheetWords
from optimizer.settings import (
    DESKS,
    PAPERS,
    Holes,
    Lang,
    Printer,
    Settings,
    SheetSettings,
    SheetSize,
    parse_paper,
)
from optimizer.units import in_to_mm, pt_to_mm

DPI = 300
INK = 160  # of 255; thin lines are grey


def printed(case, player) -> bytes:
    target = io.BytesIO()
    print_pages(target, case.score, case.plan, case.engraved, case.geometry, case.settings, player)
    return target.getvalue()


def make_set(make, spreads, binding, title=False, blank=(), systems=2, paper=PAPERS["a4"], **sheets):
    settings = Settings(binding=binding, paper=paper, sheets=SheetSettings(**sheets))
    case = make.case(spreads, settings=settings, blank=blank, systems=systems)
    return replace(case, plan=replace(case.plan, binding=binding, outside_title=title))


def book(pages: int):
    return [(1,), *((n, n + 1) if n < pages else (n,) for n in range(2, pages + 1, 2))]


def words_on(page) -> list[tuple[str, float, float, bool]]:
    """Each piece of text, where it begins (mm from the left and upper edge), whether it stands on its head."""
    found = []

    def visit(text, cm, tm, font, size):
        if text.strip():
            a, e, f = cm[0] * tm[0], cm[0] * tm[4] + cm[4], cm[3] * tm[5] + cm[5]
            found.append((text.strip(), pt_to_mm(e), pt_to_mm(float(page.mediabox.height) - f), a < 0))

    page.extract_text(visitor_text=visit)
    return found


def numbers_on(page) -> list[str]:
    """Printed page numbers from left to right."""
    return [text for text, *_ in sorted(words_on(page), key=lambda word: word[1]) if text.isdecimal()]


def darkness(data: bytes, index: int, dpi: int = DPI) -> np.ndarray:
    """Which dots of a page are inked."""
    with closing(PdfDocument(data)) as pdf:
        bitmap = pdf[index].render(scale=dpi / 72, grayscale=True)
        return bitmap.to_numpy().reshape(bitmap.height, -1)[:, : bitmap.width] < INK


def dots(mm: float) -> int:
    return round(mm * DPI / 25.4)


def is_inked(page: np.ndarray, x_mm: float, y_mm: float, around_mm: float = 0.3) -> bool:
    x, y, r = dots(x_mm), dots(y_mm), dots(around_mm)
    return bool(page[y - r : y + r + 1, x - r : x + r + 1].any())


# --- order and orientation ---------------------------------------------------------------------------------------


def test_double_sheets_read_back_as_every_handout_says(make):
    """8-1, 2-7, 6-3, 4-5; A3 lying (ISO 216: 420 x 297 mm)."""
    reader = PdfReader(
        io.BytesIO(printed(make_set(make, book(8), "stapled", sheet=SheetSize.DOUBLE), make.player))
    )
    assert [numbers_on(page) for page in reader.pages[:4]] == [["8"], ["2", "7"], ["6", "3"], ["4", "5"]]
    assert "Evening Song" in [
        text for text, x, *_ in words_on(reader.pages[0]) if x > 210
    ]  # page 1, right half
    assert list(reader.page_labels) == ["8, 1", "2, 7", "6, 3", "4, 5", "Test page"]
    for page in reader.pages:
        size_mm = pt_to_mm(float(page.mediabox.width)), pt_to_mm(float(page.mediabox.height))
        assert size_mm == pytest.approx((420, 297))
        assert page.rotation == 0


@pytest.mark.parametrize("size", SheetSize)
@pytest.mark.parametrize(
    ("pages", "printer", "sides"),
    [
        (1, None, "one side only"),
        (1, Printer.SINGLE, "one side only"),
        (2, None, "both sides, flipped over the long edge"),
        (2, Printer.SINGLE, "one side, in two runs"),
    ],
)
def test_one_leaf_is_printed_on_the_paper_of_a_page(make, size, pages, printer, sides):
    """No white sides, no half of a sheet of twice the size (ISO 216: A4 is 210 x 297 mm)."""
    case = make_set(make, [(n,) for n in range(1, pages + 1)], "stapled", sheet=size, printer=printer)
    reader = PdfReader(io.BytesIO(printed(case, make.player)))
    assert list(reader.page_labels) == [*map(str, range(1, pages + 1)), "Test page"]
    for page in reader.pages:
        size_mm = pt_to_mm(float(page.mediabox.width)), pt_to_mm(float(page.mediabox.height))
        assert size_mm == pytest.approx((210, 297))
    told = " ".join(reader.pages[-1].extract_text().split())
    assert "paper A4 (210 × 297 mm)" in told.replace("\u00a0", " ")
    assert sides in told


def test_bookmarks_keep_reading_order_on_double_sheets(make):
    reader = PdfReader(
        io.BytesIO(printed(make_set(make, book(8), "stapled", sheet=SheetSize.DOUBLE), make.player))
    )
    marks = [entry for item in reader.outline for entry in (item if isinstance(item, list) else [item])]
    pages = [entry for entry in marks if entry.title.startswith("Page")]
    assert [entry.title.split(":")[0] for entry in pages] == [f"Page {n}" for n in range(1, 9)]
    assert [reader.get_destination_page_number(entry) for entry in pages] == [0, 1, 2, 3, 3, 2, 1, 0]
    assert [pt_to_mm(float(entry.left)) > 200 for entry in pages] == [True, False, True, False] * 2


@pytest.mark.parametrize(
    ("size", "printer", "head_down"),
    [
        (SheetSize.PAGES, Printer.LONG, False),
        (SheetSize.PAGES, Printer.SHORT, True),
        (SheetSize.DOUBLE, Printer.SHORT, False),
        (SheetSize.DOUBLE, Printer.LONG, True),
    ],
)
def test_backs_read_back_head_up_or_down(make, size, printer, head_down):
    case = make_set(make, book(8), "stapled", sheet=size, printer=printer)
    reader = PdfReader(io.BytesIO(printed(case, make.player)))
    for index, page in enumerate(reader.pages[:-1]):
        assert {on_head for *_, on_head in words_on(page)} == {head_down and index % 2 == 1}


def test_a_page_printed_head_down_is_the_same_page_turned(make):
    up, down = (
        darkness(printed(make_set(make, book(4), "loose", printer=printer), make.player), 1, 100)
        for printer in (Printer.LONG, Printer.SHORT)
    )
    assert up.any()
    assert (up != down[::-1, ::-1]).mean() < 0.005  # but for dots at the edges of lines


def test_creep_moves_inner_pages_towards_the_fold(make):
    """0.127 mm a sheet at 103.6 g/m2 (printer's handout: 0.005 in at 70 lb offset): page 10 of 20 lies on the fifth
    sheet, moved by four times that to the right, towards the fold in the middle."""
    shifted, plain = (
        {text: x for text, x, *_ in words_on(PdfReader(io.BytesIO(printed(case, make.player))).pages[9])}
        for case in (
            make_set(make, book(20), "stapled", sheet=SheetSize.DOUBLE, grammage_gsm=grammage)
            for grammage in (103.6, 40)
        )
    )
    grown = 4 * 0.127 * (1 - 40 / 103.6)
    assert shifted["10"] - plain["10"] == pytest.approx(grown, abs=0.01)
    assert shifted["11"] - plain["11"] == pytest.approx(-grown, abs=0.01)


# --- sides without music -----------------------------------------------------------------------------------------


def test_sides_that_fill_up_a_sheet_are_empty(make):
    data = printed(make_set(make, book(5), "stapled"), make.player)
    assert len(PdfReader(io.BytesIO(data)).pages) == 8 + 1
    assert not any(darkness(data, index, 72).any() for index in (5, 6, 7))


@pytest.mark.parametrize("lang", Lang)
def test_a_blank_side_inside_the_music_says_after_which_bar_the_turn_comes(make, lang):
    case = make_set(make, [(1,), (2, 3), (4, 5)], "stapled", blank=[3], lang=lang)
    page = PdfReader(io.BytesIO(printed(case, make.player))).pages[2]
    (note,) = page.extract_text().strip().splitlines()
    assert note.endswith("20.")  # ten bars a page


def test_a_title_page_is_the_first_side(make):
    data = printed(make_set(make, [(2, 3), (4,)], "stapled", title=True), make.player)
    text = PdfReader(io.BytesIO(data)).pages[0].extract_text()
    assert all(word in text for word in ("Evening Song", "Clara Beispiel", "piano"))
    assert numbers_on(PdfReader(io.BytesIO(data)).pages[1])[0] == "2"


# --- marks in the margin -----------------------------------------------------------------------------------------


def test_fold_ticks_stand_at_head_and_foot_of_the_inner_side(make):
    case = make_set(make, book(8), "stapled", sheet=SheetSize.DOUBLE)
    data = printed(case, make.player)
    outer, inner = darkness(data, 0), darkness(data, 1)
    for y_mm in (7.0, 297 - 7.0):  # in the margin, beyond 5 mm
        assert is_inked(inner, 210, y_mm)
        assert not is_inked(outer, 210, y_mm)
    plain = replace(
        case, settings=replace(case.settings, sheets=SheetSettings(sheet=SheetSize.DOUBLE, marks=False))
    )
    assert not is_inked(darkness(printed(plain, make.player), 1), 210, 7.0)


@pytest.mark.parametrize(
    ("holes", "heights_mm"),
    [(Holes.TWO, (108.5, 188.5)), (Holes.FOUR, (28.5, 108.5, 188.5, 268.5))],  # ISO 838, and two more
)
def test_holes_are_marked_at_the_inner_edge_of_both_pages(make, holes, heights_mm):
    """12 mm from the edge (ISO 838): left on odd pages, right on even ones; a fold-out gets none."""
    data = printed(make_set(make, [(1, 2, 3), (4, 5)], "ring", holes=holes), make.player)
    outs, even, odd = (darkness(data, index) for index in range(3))
    for y_mm in heights_mm:
        assert is_inked(odd, 12, y_mm)
        assert is_inked(even, 210 - 12, y_mm)
        assert not is_inked(outs, 12, y_mm)
        assert not is_inked(outs, 210 - 12, y_mm)


@pytest.mark.parametrize("edge_mm", [0.0, 5.0, 8.0, 13.0])
@pytest.mark.parametrize("paper", ["a4", "letter"])
@pytest.mark.parametrize(("binding", "sheet"), [("ring", SheetSize.PAGES), ("stapled", SheetSize.DOUBLE)])
def test_no_mark_stands_where_the_printer_cannot_print(make, binding, sheet, paper, edge_mm):
    case = make_set(make, book(4), binding, paper=PAPERS[paper], sheet=sheet, unprintable_mm=edge_mm)
    sides = impressions(sheets_of(case.plan, case.settings), case.settings)
    marks = [(mark, side.paper) for side in sides for mark in sheet_marks(side, case.plan, case.settings)]
    assert len(marks) >= 2
    for mark, sheet_of_paper in marks:
        assert all(edge_mm <= x <= sheet_of_paper.width_mm - edge_mm for x, _ in mark.points)
        assert all(edge_mm <= y <= sheet_of_paper.height_mm - edge_mm for _, y in mark.points)


def test_the_cross_of_a_hole_is_punched_away(make):
    """A hole is 6 mm wide (ISO 838)."""
    case = make_set(make, [(2, 3), (4, 5)], "ring")
    first = impressions(sheets_of(case.plan, case.settings), case.settings)[0]
    arms = [
        line for line in sheet_marks(first, case.plan, case.settings) if abs(line.points[0][0] - 198) <= 3
    ]
    assert len(arms) == 4
    for line in arms:
        assert all(min(hypot(x - 198, y - hole) for hole in (108.5, 188.5)) < 3 for x, y in line.points)


@pytest.fixture(scope="module")
def song(corpora) -> pipeline.Job:
    settings = Settings(binding="ring", desk=DESKS["upright"], staff_mm=6.0)
    return pipeline.open_job(corpora / "harbour-song.musicxml", settings)


@pytest.mark.parametrize(
    ("paper", "holes", "radius_mm"),
    [("a4", Holes.FOUR, 3.0), ("letter", Holes.THREE, in_to_mm(9 / 64))],  # ISO 838; from memory
)
def test_no_note_lies_under_a_hole(song, paper, holes, radius_mm):
    """A real song with part names, lyrics and fold-outs, drawn without marks: within each hole the paper is white."""
    sheets = SheetSettings(holes=holes, marks=False)
    settings = replace(song.settings, paper=PAPERS[paper], sheets=sheets)
    job = song.otherwise(settings)
    drawn = pipeline.plan_and_draw(job)
    target = io.BytesIO()
    print_pages(target, job.score, drawn.plan, drawn.engraved, job.problem.geometry, settings, job.player)
    punch = punch_for(settings.paper, holes)
    sides = [drawn.plan.side(page.number) for page in drawn.plan.pages]
    assert {PageSide.LEFT, PageSide.RIGHT} <= set(sides)
    for index, side in enumerate(sides):
        if side is not PageSide.FOLD_OUT:
            page = darkness(target.getvalue(), index)
            x_mm = (
                punch.from_edge_mm if side is PageSide.RIGHT else settings.paper.width_mm - punch.from_edge_mm
            )
            assert not any(is_inked(page, x_mm, y_mm, radius_mm) for y_mm in punch.heights_mm)
            assert page.any()


# --- test page ---------------------------------------------------------------------------------------------------


def runs_mm(lines: np.ndarray) -> list[float]:
    """The longest run of ink in each row."""
    longest = []
    for row in lines:
        edges = np.flatnonzero(np.diff(np.concatenate(([0], row.astype(int), [0]))))
        longest.append(max(edges[1::2] - edges[::2], default=0) * 25.4 / DPI)
    return longest


@pytest.mark.parametrize("sheet", SheetSize)
def test_both_scales_measure_100_mm_and_the_staff_its_size(make, sheet):
    case = make_set(make, book(4), "stapled", sheet=sheet)
    data = printed(case, make.player)
    page = darkness(data, len(PdfReader(io.BytesIO(data)).pages) - 1)
    inside = page[dots(6) : -dots(6), dots(6) : -dots(6)]
    across, down = runs_mm(inside), runs_mm(inside.T)
    assert max(across) == pytest.approx(100, abs=0.4)
    assert max(down) == pytest.approx(100, abs=0.4)
    staff = [row for row, length in enumerate(across) if 40 < length < 50]
    lines = [row for row in staff if row - 1 not in staff]
    assert len(lines) == 5
    assert (lines[-1] - lines[0]) * 25.4 / DPI == pytest.approx(case.plan.staff_mm, rel=0.02)


def test_the_frame_stands_where_the_printer_begins_to_print(make):
    data = printed(make_set(make, [(1,)], "taped", unprintable_mm=7.0), make.player)
    page = darkness(data, 1)
    rows, columns = np.flatnonzero(page.any(axis=1)), np.flatnonzero(page.any(axis=0))
    edges_mm = [rows[0], page.shape[0] - rows[-1], columns[0], page.shape[1] - columns[-1]]
    assert [dot * 25.4 / DPI for dot in edges_mm] == pytest.approx([7.0] * 4, abs=0.2)


@pytest.mark.parametrize("lang", Lang)
@pytest.mark.parametrize("paper", [*PAPERS.values(), parse_paper("148x210mm"), parse_paper("420x297mm")])
def test_nothing_of_the_test_page_leaves_its_frame_or_overlaps(paper, lang):
    settings = Settings(paper=paper, sheets=SheetSettings(unprintable_mm=10, lang=lang))
    figures = calibration_figures(
        paper, 7.0, SheetWords(lang).sides(Printer.SINGLE, two_sided=True), settings
    )
    for figure in figures[1:]:
        ends = (
            ((figure.x_mm, figure.y_mm), (figure.x_mm + figure.width_mm, figure.y_mm))
            if isinstance(figure, Label) and figure.anchor == "start"
            else figure.points
            if isinstance(figure, Line)
            else ()
        )
        assert all(10 <= x <= paper.width_mm - 10 and 10 <= y <= paper.height_mm - 10 for x, y in ends)
    words = " ".join(figure.string for figure in figures if isinstance(figure, Label))
    assert "100\u00a0%" in words
    rows = [figure.y_mm for figure in figures if isinstance(figure, Label)]
    assert len(set(rows)) == len(rows)


def test_the_test_page_names_paper_and_what_to_choose(make):
    reader = PdfReader(
        io.BytesIO(printed(make_set(make, book(4), "stapled", sheet=SheetSize.DOUBLE), make.player))
    )
    text = " ".join(reader.pages[-1].extract_text().split())
    assert "A3 (420 × 297 mm)" in text
    assert "both sides, flipped over the short edge" in text


def test_the_same_input_gives_the_same_bytes(make):
    case = make_set(make, book(8), "stapled", sheet=SheetSize.DOUBLE, printer=Printer.LONG)
    assert printed(case, make.player) == printed(case, make.player)
