"""Outlines, matrices and the SVG reader; expected values follow from the SVG specification (W3C SVG 1.1, 8.3, 7.6)."""

import pytest

from optimizer.engrave.fontdata import TextMetrics, music_outline
from optimizer.engrave.model import Glyph, Path, Text
from optimizer.engrave.outlines import compose, ellipse, parse_outline, parse_transform, segments_box
from optimizer.engrave.svg import SvgReader, UnknownShapeError
from optimizer.press.fonts import text_width_pt

PAGE = (
    '<svg xmlns="http://www.w3.org/2000/svg"><defs><g id="E0A4-x1">'
    '<path transform="scale(1,-1)" d="M0 0h100v50h-100z"/>'
    '</g></defs><svg class="definition-scale"><g class="page-margin"><g class="system">{}</g></g></svg></svg>'
)
STAFF = "".join(f'<path d="M180 {y} L1980 {y}" stroke-width="13"/>' for y in range(360, 1081, 180))
BAR = '<g class="measure"><g class="staff">{}</g>{}</g>'


def read(inside: str, after: str = "", strict: bool = True):
    reader = SvgReader({}, TextMetrics(), music_outline, strict)
    return next(reader.read_page(PAGE.format(BAR.format(STAFF + inside, after))))


def test_relative_and_short_commands() -> None:
    assert parse_outline("m10 10h5v-5l-5 0z") == [
        ("M", 10, 10),
        ("L", 15, 10),
        ("L", 15, 5),
        ("L", 10, 5),
        ("Z",),
    ]
    assert parse_outline("M0 0C0 1 2 1 2 0S4 -1 4 0") == [
        ("M", 0, 0),
        ("C", 0, 1, 2, 1, 2, 0),
        ("C", 2, -1, 4, -1, 4, 0),
    ]
    assert parse_outline("M0 0q3 3 6 0")[1] == ("C", 2, 2, 4, 2, 6, 0)
    assert parse_outline("M0,0 1,1 2,0") == [("M", 0, 0), ("L", 1, 1), ("L", 2, 0)]


def test_box_of_a_curve_is_its_ink() -> None:
    """The cubic (0,0) (0,4) (4,4) (4,0) rises to 3/4 of its control points."""
    assert segments_box([("M", 0.0, 0.0), ("C", 0.0, 4.0, 4.0, 4.0, 4.0, 0.0)]) == pytest.approx((0, 0, 4, 3))
    assert segments_box(ellipse(1, 2, 3, 4)) == pytest.approx((-2, -2, 4, 6))


def test_transforms() -> None:
    a, b, c, d, e, f = parse_transform("rotate(90 10,0)")
    assert (a * 10 + e, b * 10 + f) == pytest.approx((10, 0))  # the centre stays
    assert (a * 11 + e, b * 11 + f) == pytest.approx((10, 1))
    assert compose(parse_transform("translate(2,3)"), parse_transform("scale(2)")) == (2, 0, 0, 2, 2, 3)
    assert (c, d) == pytest.approx((-1, 0))


def test_staff_lines_of_bars_are_joined() -> None:
    second = BAR.format(STAFF.replace("M180", "M1980").replace("L1980", "L3780"), "")
    reader = SvgReader({}, TextMetrics(), music_outline, True)
    system = next(reader.read_page(PAGE.format(BAR.format(STAFF, "") + second)))
    assert system.measures == 2
    assert system.barlines_sp == (10, 20)
    assert [item.segments for item in system.items] == [
        (("M", 0.0, float(y)), ("L", 20.0, float(y))) for y in range(5)
    ]
    assert all(item.stroke_sp == pytest.approx(13 / 180) for item in system.items)
    assert system.right_sp == 20
    assert (system.staff_tops_sp, system.staff_bottoms_sp) == ((0.0,), (4.0,))


def test_shapes() -> None:
    system = read(
        "",
        '<polygon points="180,360 360,360 360,540"/><rect x="180" y="360" width="90" height="90" fill-opacity="0"'
        ' stroke-width="18"/><ellipse cx="180" cy="360" rx="90" ry="90"/><polyline fill="none" stroke-width="9"'
        ' points="180,360 360,540"/><path d="M180 360 L360 360" stroke-width="18" stroke-dasharray="36 72"/>',
    )
    polygon, rect, dot, line, dashed = (item for item in system.items[5:] if isinstance(item, Path))
    assert polygon.fill
    assert polygon.segments[-1] == ("Z",)
    assert not rect.fill
    assert rect.stroke_sp == pytest.approx(0.1)
    assert dot.fill
    assert not line.fill
    assert dashed.dash_sp == pytest.approx((0.2, 0.4))


def test_glyphs_stand_where_they_are_used() -> None:
    system = read('<use href="#E0A4-x1" transform="translate(360, 540) scale(0.72, 0.72)"/>')
    glyph = next(item for item in system.items if isinstance(item, Glyph))
    assert glyph == Glyph("E0A4", (0.004, 0, 0, 0.004, 1.0, 1.0))
    assert system.boxes[system.items.index(glyph)] == pytest.approx((1.0, 0.8, 1.4, 1.0))


def test_text_inherits_style_and_position() -> None:
    """Classes are italic or bold by the library's own style sheet; attributes overrule it."""
    system = read(
        "",
        '<g class="dir"><text x="180" y="180" font-size="0px"><tspan><tspan font-size="405px">dolce</tspan></tspan>'
        '<tspan x="180" y="570"><tspan font-size="405px" font-style="normal">e</tspan></tspan></text></g>',
    )
    dolce, second = (item for item in system.items if isinstance(item, Text))
    assert (dolce.string, dolce.italic, dolce.size_sp, dolce.y_sp) == ("dolce", True, 2.25, -1.0)
    assert (second.italic, second.y_sp) == (False, pytest.approx(210 / 180))


def test_music_within_text_becomes_glyphs_in_a_row() -> None:
    """Widths are the library's own (Times: = is 0.564 em, a space a quarter); E1D5 is a quarter note in SMuFL."""
    system = read(
        "",
        '<g class="tempo"><text x="180" y="180" font-size="0px"><tspan font-family="Leipzig" font-size="720px">'
        '&#xECA5;</tspan><tspan font-size="405px"> = 60</tspan></text></g>',
    )
    note = next(item for item in system.items if isinstance(item, Glyph))
    words = next(item for item in system.items if isinstance(item, Text))
    assert note.name == "ECA5"
    assert words.bold
    assert words.x_sp > note.matrix[4] + 0.5


def test_hidden_groups_are_left_out() -> None:
    shape = '<path d="M180 360 L360 360" stroke-width="18"/>'
    for group in ('class="pb placeholder"', 'class="note" visibility="hidden"'):
        assert len(read("", f"<g {group}>{shape}</g>").items) == 5


def test_unknown_elements() -> None:
    with pytest.raises(UnknownShapeError, match="image"):
        read("", "<image/>")
    assert len(read("", "<image/>", strict=False).items) == 5


def test_letters_are_as_wide_as_times() -> None:
    """Adobe's font metrics of Times-Roman (from memory): a is 444, space 250, W 944 thousandths of the size."""
    metrics = TextMetrics()
    for letter, width in (("a", 0.444), (" ", 0.25), ("W", 0.944)):
        assert metrics.width(letter, 1.0, False, False, False) == pytest.approx(width, abs=0.001)


def test_the_dot_of_a_metronome_mark_stands_by_its_note() -> None:
    """The library writes a space of the music font between them, which the font does not have."""
    run = '<tspan font-family="Leipzig" font-size="720px">\ueca5 \uecb7</tspan>'
    mark = f'<text x="180" y="0" font-size="0px">{run}</text>'
    note, dot = (item for item in read("", f'<g class="tempo">{mark}</g>').items if isinstance(item, Glyph))
    gap_sp = dot.matrix[4] - note.matrix[4] - TextMetrics().width("\ueca5", 4.0, False, False, True)
    assert 0 < gap_sp < 0.5  # common practice, no source


@pytest.mark.parametrize(("bold", "italic"), [(False, False), (True, False), (False, True), (True, True)])
def test_words_are_reckoned_as_wide_as_they_are_printed(bold: bool, italic: bool) -> None:
    """Frames end after the last letter, and what follows a no-break space follows at once."""
    metrics = TextMetrics()
    for string in ("Solo, quasi Tromba, sul G", "[\xa0", "MWXYZ 1234567890", "abdghknopqu"):
        width = metrics.width(string, 10.0, bold, italic, False)
        assert width == pytest.approx(text_width_pt(string, 10.0, bold, italic), rel=0.002)
