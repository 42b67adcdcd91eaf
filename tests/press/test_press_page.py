"""pages.pdf as a reader of the file sees it: size, numbers, words, fonts, bookmarks, bytes."""

import io
from contextlib import closing
from dataclasses import replace
from itertools import pairwise

import pytest
from pypdf import PdfReader
from pypdf.generic import ArrayObject, DictionaryObject
from pypdfium2 import PdfDocument

from optimizer.layout.plan import PlannedBackTurn
from optimizer.press.booklet import print_pages
from optimizer.press.figures import Label
from optimizer.press.marks import page_marks
from optimizer.press.page import on_right, overflowing_pages, page_words, place_pages
from optimizer.press.placing import PageOverflowError
from optimizer.press.words import CLEARANCE_MM, NAMES_PT, rights_line
from optimizer.settings import DEFAULT_UNPRINTABLE_MM, PAPERS, Settings
from optimizer.turns.model import Grade
from optimizer.units import pt_to_mm


def printed(case, player) -> bytes:
    target = io.BytesIO()
    print_pages(target, case.score, case.plan, case.engraved, case.geometry, case.settings, player)
    return target.getvalue()


def read(case, player) -> PdfReader:
    return PdfReader(io.BytesIO(printed(case, player)))


def labels(case, player, number: int) -> list[Label]:
    index = [page.number for page in case.plan.pages].index(number)
    page = case.plan.pages[index]
    placed = place_pages(case.score, case.plan, case.engraved, case.geometry)[index]
    marks = page_marks(case.score, case.plan, player).get(number, ())
    figures = page_words(case.score, case.plan, page, placed, case.engraved, case.geometry, marks)
    return [figure for figure in figures if isinstance(figure, Label)]


@pytest.mark.parametrize(
    ("name", "size_mm"),
    [
        ("a4", (210, 297)),  # ISO 216
        ("b4", (250, 353)),  # ISO 216
        ("letter", (215.9, 279.4)),  # US: 8.5 x 11 in
        ("9x12in", (228.6, 304.8)),  # Arch A
        ("10x13in", (254.0, 330.2)),  # MOLA parts guidelines (1993)
    ],
)
def test_every_page_has_the_size_of_the_paper(make, name, size_mm):
    case = make.case([(1, 2), (3,)], settings=Settings(paper=PAPERS[name]), systems=3)
    for page in read(case, make.player).pages:
        assert (pt_to_mm(float(page.mediabox.width)), pt_to_mm(float(page.mediabox.height))) == pytest.approx(
            size_mm
        )
        assert page.cropbox == page.mediabox


def test_viewers_are_asked_not_to_scale(make):
    catalog = read(make.case([(1,)]), make.player).trailer["/Root"]
    assert catalog["/ViewerPreferences"]["/PrintScaling"] == "/None"


def test_odd_pages_have_their_number_on_the_right_and_even_ones_on_the_left():
    """MOLA guidelines: odd pages right, even pages left."""
    spreads = [(2, 3), (4, 5), (6, 7)]
    assert all(on_right(number, spreads) == (number % 2 == 1) for spread in spreads for number in spread)


def test_numbers_stand_in_the_outer_corner_of_longer_spreads():
    assert [on_right(n, [(1, 2, 3)]) for n in (1, 2, 3)] == [False, False, True]
    assert [on_right(n, [(4, 5, 6)]) for n in (4, 5, 6)] == [False, True, True]
    assert [on_right(n, [(1, 2, 3, 4)]) for n in (1, 2, 3, 4)] == [False, False, True, True]
    assert [on_right(n, [(1,), (2, 3), (4,)]) for n in (1, 4)] == [True, False]


def test_page_number_and_running_title_on_later_pages_only(make):
    case = make.case([(1, 2, 3), (4, 5)])
    assert "1" not in [label.string for label in labels(case, make.player, 1)]
    left, right = (next(w for w in labels(case, make.player, n) if w.string == str(n)) for n in (4, 5))
    assert (left.anchor, left.x_mm) == ("start", case.geometry.music_left_mm)
    assert (right.anchor, right.x_mm) == ("end", case.geometry.music_left_mm + case.geometry.music_width_mm)
    assert "Evening Song" in [label.string for label in labels(case, make.player, 4)]


def test_a_set_that_begins_on_the_left_says_so_on_its_first_page(make):
    case = make.case([(2, 3), (4, 5)])
    number = next(label for label in labels(case, make.player, 2) if label.string == "2")
    assert (number.anchor, number.x_mm) == ("start", case.geometry.music_left_mm)


def test_title_block_says_everything_and_stays_above_the_music(make):
    case = make.case([(1, 2)], rights="© 2024 Clara Beispiel")
    text = read(case, make.player).pages[0].extract_text()
    for words in (
        "Evening Song",
        "for voice and piano",
        "Clara Beispiel",
        "Anna Muster",
        "© 2024 Clara Beispiel",
    ):
        assert words in text
    top = place_pages(case.score, case.plan, case.engraved, case.geometry)[0][0].ink_top_mm
    words = {label.string: label for label in labels(case, make.player, 1)}
    assert all(words[name].y_mm < top for name in ("Evening Song", "Clara Beispiel", "Anna Muster"))
    assert words["Anna Muster"].x_mm < words["Clara Beispiel"].x_mm


@pytest.mark.parametrize("paper", ["a4", "letter", "9x12in"])
@pytest.mark.parametrize("spreads", [[(1, 2)], [(2, 3)]])
@pytest.mark.parametrize(
    "part", ["Viola", "Clarinet in B♭ and Bass Clarinet", "Flute, Piccolo and Alto Flute in G " * 3]
)
@pytest.mark.parametrize(
    "title",
    ["Trio", "String Quartet in A major, G.213 (Op.39)", "A very long title that nobody sets in a line " * 2],
)
def test_the_name_of_a_part_stands_clear_of_title_and_number(make, paper, spreads, part, title):
    case = make.case(spreads, settings=Settings(paper=PAPERS[paper]), systems=3, title=title)
    case = replace(case, score=replace(case.score, part_name=part.strip()))
    found = labels(case, make.player, spreads[0][0])
    boxes = {}
    for label in found:
        height = pt_to_mm(label.size_pt)
        left = label.x_mm - {"start": 0.0, "middle": 0.5, "end": 1.0}[label.anchor] * label.width_mm
        top, low = label.y_mm - 0.7 * height, label.y_mm + 0.22 * height
        boxes[label] = left, left + label.width_mm, top, low
    (name,) = (label for label in found if label.string == part.strip())
    left, right, top, low = boxes.pop(name)
    assert left >= case.geometry.music_left_mm - 0.01
    assert right <= case.geometry.music_left_mm + case.geometry.music_width_mm + 0.01
    assert top >= case.geometry.margins.top_mm - 0.5
    for other in boxes.values():
        beside = other[0] - right >= 2.0 or left - other[1] >= 2.0
        assert beside or other[2] - low >= 1.5
    block = [box for label, box in boxes.items() if label.size_pt >= NAMES_PT and label.y_mm < 80.0]
    assert max(box[3] for box in block) < case.geometry.music_top_mm(True)


@pytest.mark.parametrize("spreads", [[(1, 2)], [(2, 3)], [(3,), (4, 5)]])
def test_page_number_and_name_of_a_part_are_not_read_in_one(make, spreads):
    """ "2 Violin 1": the number in its outer corner, the name in the other one."""
    case = make.case(spreads, systems=3)
    case = replace(case, score=replace(case.score, part_name="Violin 1"))
    number = str(spreads[0][0])
    left, right = case.geometry.music_left_mm, case.geometry.music_left_mm + case.geometry.music_width_mm
    found = {label.string: label for label in labels(case, make.player, spreads[0][0])}
    name = found["Violin 1"]
    assert (name.anchor, name.x_mm) == (("end", right) if number == "2" else ("start", left))
    if number == "1":
        assert number not in found
    else:
        spans = sorted(
            (label.x_mm - label.width_mm * (label.anchor == "end"), label.width_mm)
            for label in (name, found[number])
        )
        assert spans[1][0] - sum(spans[0]) > 100.0


def test_a_name_of_a_part_without_end_stays_on_the_page(make):
    case = make.case([(1, 2)], systems=3)
    case = replace(case, score=replace(case.score, part_name=("Flute and Piccolo " * 27).strip()))
    (name,) = (label for label in labels(case, make.player, 1) if label.string.startswith("Flute"))
    assert name.x_mm + name.width_mm <= case.geometry.music_left_mm + case.geometry.music_width_mm
    assert len(name.string) > 100


def test_long_titles_take_more_lines_and_the_music_moves_down(make):
    short = make.case([(1,)], systems=3)
    long = make.case(
        [(1,)], systems=3, title="A very long title that nobody could set in a single line of such large type"
    )
    assert long.geometry.title_lines == 2
    assert long.geometry.music_top_mm(True) > short.geometry.music_top_mm(True)
    right = long.geometry.paper.width_mm - long.geometry.margins.right_mm
    for label in labels(long, make.player, 1):
        assert {"start": label.x_mm, "middle": label.x_mm + label.width_mm / 2, "end": label.x_mm}[
            label.anchor
        ] <= right


@pytest.mark.parametrize(
    "title", ["Žluťoučký kůň, Łódź, Þingeyri, Ġgantija, Århus, Çeşme, Őrség", "Où l’ça — «Größe»"]
)
def test_diacritics_survive(make, title):
    case = make.case([(1,)], title=title, composer="Dvořák")
    reader = read(case, make.player)
    assert " ".join(reader.pages[0].extract_text().split()).startswith(title)
    assert (reader.metadata.title, reader.metadata.author) == (title, "Dvořák")


RIGHTS = "Edition prepared from the composer’s autograph. "


def rights_labels(case) -> list[Label]:
    """From the top line to the lowest."""
    right = case.geometry.music_left_mm + case.geometry.music_width_mm
    return list(rights_line(case.score, case.geometry, right))[::-1]


@pytest.mark.parametrize(
    ("times", "spare_mm"), [(1, 0), (8, 0), (18, 11.0 - DEFAULT_UNPRINTABLE_MM - CLEARANCE_MM)]
)
def test_a_long_rights_line_is_printed_whole_below_the_music(make, times, spare_mm):
    case = make.case([(1,)], rights=RIGHTS * times)
    lines = rights_labels(case)
    assert " ".join(line.string for line in lines) == (RIGHTS * times).strip()
    foot = case.geometry.music_top_mm(True) + case.geometry.music_height_mm(True)
    assert lines[0].y_mm - 0.7 * pt_to_mm(lines[0].size_pt) >= foot
    assert lines[-1].y_mm <= case.geometry.paper.height_mm - case.geometry.margins.bottom_mm + spare_mm


def test_the_rights_line_keeps_clear_of_what_the_printer_leaves_white(make):
    case = make.case([(1,)], rights=RIGHTS * 30)
    right = case.geometry.music_left_mm + case.geometry.music_width_mm
    lowest = [
        max(line.y_mm for line in rights_line(case.score, case.geometry, right, edge)) for edge in (4, 9)
    ]
    assert 297 - 11 < lowest[0] < 297 - 4
    assert lowest[1] < 297 - 9


def test_an_endless_rights_line_is_cut_visibly(make):
    lines = rights_labels(make.case([(1,)], rights=RIGHTS * 200))
    assert lines[-1].string.endswith("…")


def test_rights_line_and_turn_mark_do_not_meet(make):
    case = make.case([(1,), (2,)], [make.turn(1, 2, 24, Grade.QUICK)], rights=RIGHTS * 5)
    words = labels(case, make.player, 1)
    mark = next(label for label in words if label.string.startswith("turn"))
    rights = [label for label in words if label.size_pt <= 7.5]
    assert rights
    assert max(label.x_mm + label.width_mm for label in rights) < mark.x_mm - mark.width_mm


def test_movement_titles_stand_above_their_first_system(make):
    case = make.case([(1, 2)], systems=4)
    measures = tuple(replace(m, movement=int(m.index >= 20)) for m in case.score.measures)
    score = replace(case.score, measures=measures, movement_titles={1: "II. The Mole"})
    case = replace(case, score=score)
    title = next(label for label in labels(case, make.player, 2) if label.string == "II. The Mole")
    placed = place_pages(score, case.plan, case.engraved, case.geometry)[1]
    assert case.geometry.music_top_mm(False) < title.y_mm < placed[0].ink_top_mm
    outline = [entry.title for entry in flat(read(case, make.player).outline)]
    assert outline == ["Evening Song", "Page 1: I, bars 1–20", "II. The Mole", "Page 2: II, bars 21–40"]


def test_a_quick_turn_is_marked_in_the_outer_bottom_corner(make):
    notes = [
        make.note(m, 0, 4, staff) for m in range(75) for staff in (1, 2) if not 48 <= m <= 50 or staff == 1
    ]
    case = make.case([(1, 2), (3,)], [make.turn(2, 3, 49, Grade.QUICK)], notes=notes)
    assert "turn: 2 bars + 1 over" in read(case, make.player).pages[1].extract_text()
    sign = next(label for label in labels(case, make.player, 2) if label.string == "V.S.")
    assert (sign.anchor, sign.x_mm) == ("end", case.geometry.music_left_mm + case.geometry.music_width_mm)
    assert sign.y_mm > case.geometry.music_top_mm(False) + case.geometry.music_height_mm(False)


def jump(make, after: int) -> PlannedBackTurn:
    return make.back_turn(3, 1, after, 19, Grade.OPEN)


def test_a_jump_is_marked_below_the_system_it_ends(make):
    case = make.case([(1, 2), (3,)], back_turns=[jump(make, 59)])
    mark = next(label for label in labels(case, make.player, 3) if label.string.startswith("back"))
    placed = place_pages(case.score, case.plan, case.engraved, case.geometry)[2]
    assert mark.string == "back to bar 20, page 1"
    assert placed[1].bottom_mm < mark.y_mm < placed[2].y_mm


def test_a_jump_is_marked_at_the_foot_where_ink_leaves_no_room(make):
    case = make.case([(1, 2), (3,)], back_turns=[jump(make, 59)])
    dense = tuple(
        replace(s, below_sp=12.0, items=(*s.items, upright(s.items[0], s.width_sp, -4.0, 26.0)))
        if s.first >= 50
        else s
        for s in case.engraved.systems
    )
    case = replace(case, engraved=replace(case.engraved, systems=dense))
    mark = next(label for label in labels(case, make.player, 3) if "back" in label.string)
    assert mark.string == "after bar 60: back to bar 20, page 1"
    assert mark.y_mm > case.geometry.music_top_mm(False) + case.geometry.music_height_mm(False)


def upright(line, width_sp: float, top_sp: float, low_sp: float):
    """Ink near the right end that fills the white above and below a system."""
    return replace(line, segments=(("M", width_sp - 3.0, top_sp), ("L", width_sp - 3.0, low_sp)))


def test_pages_that_overflow_are_found_before_printing(make):
    case = make.case([(1, 2), (3,)], systems=5)
    assert overflowing_pages(case.score, case.plan, case.engraved, case.geometry) == ()
    high = tuple(replace(s, below_sp=20.0) if s.first >= 25 else s for s in case.engraved.systems)
    engraved = replace(case.engraved, systems=high)
    assert overflowing_pages(case.score, case.plan, engraved, case.geometry) == (2, 3)
    with pytest.raises(PageOverflowError):
        print_pages(io.BytesIO(), case.score, case.plan, engraved, case.geometry, case.settings, make.player)


def test_staff_lines_in_the_rendered_page_are_as_far_apart_as_the_plan_says(make):
    """The staff size of the plan, within 1 %, measured in the page as pdfium draws it at 600 dots an inch."""
    case = make.case([(1,)])
    dpi = 600
    with closing(PdfDocument(printed(case, make.player))) as pdf:
        bitmap = pdf[0].render(scale=dpi / 72, grayscale=True)
        column = bitmap.to_numpy()[:, int(bitmap.width * 0.4)]
    placed = place_pages(case.score, case.plan, case.engraved, case.geometry)[0][0]
    top = int((placed.y_mm - 1) * dpi / 25.4)
    low = int((placed.y_mm + case.plan.staff_mm + 1) * dpi / 25.4)
    dark = [row for row in range(top, low) if column[row] < 128]
    lines = [row for row in dark if row - 1 not in dark]
    assert len(lines) == 5
    assert (lines[-1] - lines[0]) * 25.4 / dpi == pytest.approx(case.plan.staff_mm, rel=0.01)


def test_a_turn_and_a_jump_after_the_same_bar_share_one_sign(make):
    turns = [make.turn(1, 2, 24, Grade.QUICK), make.turn(1, 3, 24, Grade.QUICK, to=60)]
    case = make.case([(1,), (2, 3)], turns)
    words = sorted((w for w in labels(case, make.player, 1) if w.y_mm > 270), key=lambda label: label.x_mm)
    assert [label.string for label in words] == [
        "on to bar 61, page 3",
        "turn: 25\u00a0bars + 50 over",
        "V.S.",
    ]
    assert all(one.x_mm < two.x_mm - two.width_mm for one, two in pairwise(words))


def flat(outline) -> list:
    return [entry for item in outline for entry in (flat(item) if isinstance(item, list) else [item])]


def test_bookmarks_lead_to_every_page(make):
    reader = read(make.case([(2, 3), (4,)]), make.player)
    pages = [entry for entry in flat(reader.outline) if entry.title.startswith("Page")]
    assert [entry.title.split(":")[0] for entry in pages] == ["Page 2", "Page 3", "Page 4"]
    assert [reader.get_destination_page_number(entry) for entry in pages] == [0, 1, 2]
    assert list(reader.page_labels) == ["2", "3", "4", "Test page"]


def test_metadata_names_the_piece_and_nothing_of_the_machine(make):
    case = make.case([(1, 2, 3), (4,)])
    data = printed(case, make.player)
    info = PdfReader(io.BytesIO(data)).metadata
    assert (info.title, info.author) == ("Evening Song", "Clara Beispiel")
    assert info.subject == "4 pages, a4, taped, spreads 3 first"
    assert b"secret" not in data
    assert b"/home" not in data


def test_the_same_input_gives_the_same_bytes(make):
    assert printed(make.case([(1, 2), (3,)]), make.player) == printed(make.case([(1, 2), (3,)]), make.player)


def fonts(resources: DictionaryObject) -> list[DictionaryObject]:
    found = [font.get_object() for font in resources.get("/Font", {}).get_object().values()]
    forms = [
        form.get_object() for form in resources.get("/XObject", DictionaryObject()).get_object().values()
    ]
    return found + [font for form in forms if "/Resources" in form for font in fonts(form["/Resources"])]


def test_every_font_used_is_embedded(make):
    case = make.case([(1, 2), (3,)], [make.turn(2, 3, 49, Grade.QUICK)], rights="© all")
    seen = 0
    for page in read(case, make.player).pages:
        for font in fonts(page["/Resources"]):
            inner = font.get("/DescendantFonts", ArrayObject([font]))[0].get_object()
            assert {"/FontFile", "/FontFile2", "/FontFile3"} & set(inner["/FontDescriptor"])
            seen += 1
    assert seen


def test_a_blank_page_says_that_it_is_meant_to_be(make):
    case = make.case([(1, 2), (3,)], [make.turn(2, 3, 24)], blank=[2])
    assert read(case, make.player).pages[1].extract_text().strip() == (
        "This page is left blank: the page turn comes after bar 25."
    )
