"""The painter and the fonts, checked in the PDF they write (read back with pypdf and pypdfium2)."""

from collections.abc import Callable, Mapping
from io import BytesIO
from pathlib import Path as File

import pypdfium2
import pytest
from fontTools.ttLib import TTFont
from hypothesis import example, given
from hypothesis import strategies as st
from pypdf import PdfReader
from reportlab.pdfgen.canvas import Canvas

from optimizer.engrave.engraver import ScoreEngraver
from optimizer.engrave.fontdata import TextMetrics
from optimizer.engrave.model import Engraved, EngravedSystem, Glyph, Path, SystemSpan, Text
from optimizer.press import fonts
from optimizer.press.figures import BLACK, GREY, Area, Figure, Label, Line, paint_figures, text_width_mm
from optimizer.press.fonts import serif_name, text_width_pt
from optimizer.press.paint import Painter
from optimizer.score import load_file
from optimizer.units import mm_to_pt

STAFF_MM = 6.5
PAGE_MM = (210.0, 297.0)
LEFT_MM, TOP_MM = 20.0, 40.0
LETTERS = "äöüßéèçñőűłşčřžåøæþðęġħĳŋśŧůŵźșț„“’–"


def pdf(paint: Callable[[Painter], None], glyphs: Mapping[str, Path] | None = None) -> bytes:
    """A page painted on."""
    file = BytesIO()
    canvas = Canvas(file, invariant=1, initialFontName=serif_name())
    canvas.setPageSize((mm_to_pt(PAGE_MM[0]), mm_to_pt(PAGE_MM[1])))
    paint(Painter(canvas, glyphs or {}))
    canvas.save()
    return file.getvalue()


def system(*items: Path | Glyph | Text) -> EngravedSystem:
    return EngravedSystem(0, 0, 4.0, 4.0, 4.0, 0.0, 40.0, tuple(items))


def paint_one(painter: Painter, drawn: EngravedSystem) -> None:
    painter.paint_system(drawn, LEFT_MM, TOP_MM, STAFF_MM, PAGE_MM[1])


def ink(data: bytes, dpi: int = 254) -> tuple[float, float, float, float]:
    """Left, top, right, bottom of everything dark on the first page, mm."""
    image = pypdfium2.PdfDocument(data)[0].render(scale=dpi / 72).to_pil().convert("L")
    box = image.point(lambda value: 255 if value < 128 else 0).getbbox()
    assert box
    left, top, right, bottom = (value * 25.4 / dpi for value in box)
    return left, top, right, bottom


@pytest.fixture(scope="module")
def song(corpora: File) -> Engraved:
    """The first systems of a song with words."""
    engraver = ScoreEngraver(load_file(corpora / "nachtfaehre.musicxml").root, strict=True)
    return engraver.draw([SystemSpan(0, 3, 105.0), SystemSpan(4, 22, 700.0)])


def test_a_staff_is_as_high_as_the_plan_says() -> None:
    """Within 1 % (design, section 7); 0.1 mm is one pixel here."""
    lines = [Path((("M", 0.0, float(y)), ("L", 40.0, float(y))), False, 0.01) for y in range(5)]
    left, top, right, bottom = ink(pdf(lambda painter: paint_one(painter, system(*lines)), {}), dpi=1200)
    assert bottom - top == pytest.approx(STAFF_MM, rel=0.01)
    assert right - left == pytest.approx(10 * STAFF_MM, rel=0.01)
    assert (left, top) == pytest.approx((LEFT_MM, TOP_MM), abs=0.05)


def test_staff_height_in_the_content_of_a_score(song: Engraved) -> None:
    """The scale of the system's matrix, and the staff lines below it."""
    data = pdf(lambda painter: paint_one(painter, song.systems[0]), song.glyphs)
    content = PdfReader(BytesIO(data)).pages[0].get_contents().get_data().decode("latin-1")
    scale = float(content.partition("q ")[2].split()[0])
    horizontal = [
        (float(words[1]), float(words[0]), float(words[3]))
        for words in (line.split() for line in content.splitlines())
        if len(words) == 7 and words[2] == "m" and words[5] == "l" and words[1] == words[4]
    ]
    longest = max(right - left for _, left, right in horizontal)
    staff = sorted(y for y, left, right in horizontal if right - left == longest)[:5]
    assert (staff[4] - staff[0]) * scale == pytest.approx(mm_to_pt(STAFF_MM), rel=0.01)


def test_ink_of_a_system_lies_inside_its_extents(song: Engraved) -> None:
    drawn = song.systems[0]
    left, top, right, bottom = ink(pdf(lambda painter: paint_one(painter, drawn), song.glyphs))
    space = STAFF_MM / 4
    assert top == pytest.approx(TOP_MM - drawn.above_sp * space, abs=0.3)
    assert bottom == pytest.approx(TOP_MM + (drawn.staves_sp + drawn.below_sp) * space, abs=0.3)
    assert left >= LEFT_MM + drawn.left_sp * space - 0.3
    assert right == pytest.approx(LEFT_MM + (drawn.left_sp + drawn.width_sp) * space, abs=0.3)


def test_every_font_is_embedded(song: Engraved) -> None:
    """PDF 1.7, 9.9: an embedded TrueType program is /FontFile2."""
    data = pdf(lambda painter: paint_one(painter, song.systems[0]), song.glyphs)
    found = 0
    for page in PdfReader(BytesIO(data)).pages:
        for font in page["/Resources"]["/Font"].values():
            assert "/FontFile2" in font.get_object()["/FontDescriptor"]
            found += 1
    assert found
    assert b"Helvetica" not in data


def test_words_can_be_searched_for(song: Engraved) -> None:
    data = pdf(lambda painter: paint_one(painter, song.systems[0]), song.glyphs)
    text = PdfReader(BytesIO(data)).pages[0].extract_text()
    words = [item.string.strip() for item in song.systems[0].items if isinstance(item, Text)]
    assert words
    assert all(word in text for word in words if word.isalpha())


@pytest.mark.parametrize(("bold", "italic"), [(False, False), (True, False), (False, True), (True, True)])
def test_letters_of_europe_come_out(bold: bool, italic: bool) -> None:
    drawn = system(Text(0.0, 2.0, 2.0, "start", "serif", bold, italic, LETTERS, None))
    data = pdf(lambda painter: paint_one(painter, drawn))
    assert LETTERS in PdfReader(BytesIO(data)).pages[0].extract_text()


def test_letters_and_accidentals_that_the_faces_lack_are_made() -> None:
    assert fonts.missing_letters(LETTERS + "♭♮♯ǎạẽ") == ""
    assert fonts.missing_letters("a漢") == "漢"
    drawn = system(Text(0.0, 2.0, 2.0, "start", "serif", False, False, "B♭ ǎ", None))
    assert "B♭ ǎ" in PdfReader(BytesIO(pdf(lambda p: paint_one(p, drawn)))).pages[0].extract_text()


@pytest.mark.parametrize("anchor", ["start", "middle", "end"])
def test_text_is_anchored(anchor: str) -> None:
    drawn = system(Text(10.0, 2.0, 2.0, anchor, "serif", False, False, "HHHHHHHH", 12.0))
    left, _, right, _ = ink(pdf(lambda painter: paint_one(painter, drawn)))
    space = STAFF_MM / 4
    width_mm = text_width_mm("HHHHHHHH", mm_to_pt(2 * space))
    expected = LEFT_MM + 10.0 * space - {"start": 0.0, "middle": 0.5, "end": 1.0}[anchor] * width_mm
    assert left == pytest.approx(expected, abs=0.3)
    assert right - left == pytest.approx(width_mm, abs=0.3)


def test_widths_agree_with_what_the_engraving_assumed() -> None:
    """So that syllables stand under their notes."""
    metrics = TextMetrics()
    for string in ("Fremd bin ich eingezogen", "Äöü, ça et là"):
        for bold in (False, True):
            assumed = metrics.width(string, 10.0, bold, False, False)
            assert text_width_pt(string, 10.0, bold) == pytest.approx(assumed, rel=0.02)


def test_glyphs_are_defined_once(song: Engraved) -> None:
    def both(painter: Painter) -> None:
        paint_one(painter, song.systems[0])
        painter.paint_system(song.systems[1], LEFT_MM, 200.0, STAFF_MM, PAGE_MM[1])

    page = PdfReader(BytesIO(pdf(both, song.glyphs))).pages[0]
    used = {item.name for drawn in song.systems for item in drawn.items if isinstance(item, Glyph)}
    assert {name.removeprefix("/FormXob.") for name in page["/Resources"]["/XObject"]} == used


def test_glyph_curves_and_dots_have_the_right_place() -> None:
    square = Path(
        (("M", 0.0, 0.0), ("L", 500.0, 0.0), ("L", 500.0, -500.0), ("L", 0.0, -500.0), ("Z",)), True, 0.0
    )
    drawn = system(Glyph("square", (0.004, 0.0, 0.0, 0.004, 3.0, 2.0)))
    box = ink(pdf(lambda painter: paint_one(painter, drawn), {"square": square}))
    space = STAFF_MM / 4
    assert box == pytest.approx(
        (LEFT_MM + 3 * space, TOP_MM, LEFT_MM + 5 * space, TOP_MM + 2 * space),
        abs=0.15,
    )


def test_dashes_and_fills() -> None:
    """A dashed line leaves white, a filled shape none."""
    line = Path((("M", 0.0, 0.0), ("L", 40.0, 0.0)), False, 1.0, (1.0, 1.0))
    bar = Path((("M", 0.0, 3.0), ("L", 40.0, 3.0), ("L", 40.0, 4.0), ("L", 0.0, 4.0), ("Z",)), True, 0.0)

    def dark(*items: Path) -> int:
        data = pdf(lambda painter: paint_one(painter, system(*items)))
        image = pypdfium2.PdfDocument(data)[0].render(scale=4).to_pil().convert("L")
        return sum(image.histogram()[:128])

    assert dark(line) == pytest.approx(dark(bar) / 2, rel=0.1)


def test_same_input_same_bytes(song: Engraved) -> None:
    assert pdf(lambda p: paint_one(p, song.systems[0]), song.glyphs) == pdf(
        lambda p: paint_one(p, song.systems[0]), song.glyphs
    )


def canvas_of(*figures: Figure) -> Canvas:
    """A canvas with figures drawn on its page."""
    canvas = Canvas(BytesIO(), initialFontName=serif_name(), invariant=1)
    canvas._code.clear()
    paint_figures(canvas, PAGE_MM[1], figures)
    return canvas


@given(st.lists(st.floats(-3000, 3000), min_size=4, max_size=4))
@example([0.0, -0.0, 1e-8, 9.9999999])
def test_shapes_are_written_as_the_canvas_writes_them(numbers: list[float]) -> None:
    """reportlab's own path objects and number format as the outside source."""
    x1, y1, x2, y2 = numbers
    points = ((x1, y1), (x2, y2), (x1, y2))
    ours = canvas_of(Area(points, GREY, BLACK, 0.3), Line(points, 0.2, GREY, (1.0, 0.5)))
    theirs = Canvas(BytesIO())
    theirs._code.clear()
    theirs.setFillColorRGB(0.4, 0.4, 0.4)
    for closed in (True, False):
        theirs.setStrokeColorRGB(*((0.0, 0.0, 0.0) if closed else (0.4, 0.4, 0.4)))
        theirs.setLineWidth(mm_to_pt(0.3 if closed else 0.2))
        theirs.setDash([] if closed else [mm_to_pt(1.0), mm_to_pt(0.5)])
        path = theirs.beginPath()
        path.moveTo(mm_to_pt(x1), mm_to_pt(PAGE_MM[1] - y1))
        for x, y in points[1:]:
            path.lineTo(mm_to_pt(x), mm_to_pt(PAGE_MM[1] - y))
        if closed:
            path.close()
        theirs.drawPath(path, stroke=1, fill=closed)
    assert ours._code == theirs._code


@pytest.mark.parametrize("anchor", ["start", "middle", "end"])
def test_labels_are_written_as_the_canvas_writes_them(anchor: str) -> None:
    ours = canvas_of(Label(100.0, 50.0, "Fin\u00e9 (x)", 12.5, anchor, italic=True))
    theirs = Canvas(BytesIO(), initialFontName=serif_name(), invariant=1)
    theirs._code.clear()
    theirs.setFillColorRGB(0, 0, 0)
    theirs.setFont(serif_name(italic=True), 12.5)
    draw = {"start": "drawString", "middle": "drawCentredString", "end": "drawRightString"}[anchor]
    getattr(theirs, draw)(mm_to_pt(100.0), mm_to_pt(PAGE_MM[1] - 50.0), "Fin\u00e9 (x)")
    assert ours._code == theirs._code


def test_lines_of_text() -> None:
    def draw(painter: Painter) -> None:
        paint_figures(painter._canvas, PAGE_MM[1], [Label(100.0, 50.0, "Fine", 12.0, "middle")])

    left, _, right, bottom = ink(pdf(draw))
    assert bottom == pytest.approx(50.0, abs=0.3)
    assert (left + right) / 2 == pytest.approx(100.0, abs=0.5)
    assert right - left == pytest.approx(text_width_mm("Fine", 12.0), abs=0.8)


def test_faces_are_unpacked_once(tmp_path: File, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    made = fonts._font("Trial", bold=False, italic=False)
    (file,) = (tmp_path / "quietleaf").iterdir()
    first = file.read_bytes()
    assert TTFont(BytesIO(first)).getBestCmap()[0x266D] == "uni266D"
    monkeypatch.setattr(fonts, "_unpack", lambda *_: pytest.fail("unpacked again"))
    again = fonts._font("Trial", bold=False, italic=False)
    assert again.face.charWidths == made.face.charWidths


def test_a_cache_that_is_broken_or_cannot_be_written_does_no_harm(
    tmp_path: File, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    fonts._font("Trial", bold=True, italic=False)
    (file,) = (tmp_path / "quietleaf").iterdir()
    file.write_bytes(b"no font")
    assert fonts._font("Trial", bold=True, italic=False).face.charToGlyph
    (tmp_path / "blocked").write_text("a file where a folder should be")
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "blocked"))
    assert fonts._font("Trial", bold=True, italic=False).face.charToGlyph
