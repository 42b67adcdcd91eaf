"""Carry strips on paper: three quarters of the staff size, apart from the music, marked as printed again.

Sources: Bell & Church (ICMC 2005) for the size; that bar numbers are kept and the repetition is marked is what the
work asks for (design, section 7: bars printed again on purpose).
"""

import io
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pypdf import PdfReader

from optimizer.engrave.model import Text
from optimizer.layout.plan import PlannedStrip
from optimizer.press.booklet import print_pages
from optimizer.press.figures import Area, Label, Line
from optimizer.press.foot_words import FootWords
from optimizer.press.guide_words import GuideWords
from optimizer.press.marks import page_marks
from optimizer.press.overview import turn_entries
from optimizer.press.page import overflowing_pages, place_pages
from optimizer.press.placing import PageOverflowError
from optimizer.press.played import played_bars
from optimizer.press.sheet_words import SheetWords
from optimizer.press.strips import music_box, place_strips, seam_figures, strip_figures
from optimizer.settings import Lang, Settings, SheetSettings
from optimizer.turns.bars import BarNames
from optimizer.turns.model import Grade, StripKind


def planned(kind: StripKind, page: int, after: int, first: int, last: int) -> PlannedStrip:
    turned = last if kind is StripKind.LATE else first - 1
    return PlannedStrip(
        kind, page, after, first, last, str(first + 1), str(last + 1), turned, str(turned + 1),
        Grade.BLOCKED, Grade.QUICK,
    )  # fmt: skip


def stripped(make, lang: Lang = Lang.EN, systems: int = 4, above: float = 4.0, below: float = 3.0):
    """Pages 2, 3 and 4, 5 and 6, 7: a late strip at the first turn, an early one at the second."""
    sheets = SheetSettings(lang=lang)
    case = make.case([(2, 3), (4, 5), (6, 7)], systems=systems, settings=Settings(sheets=sheets))
    ends = [case.plan.pages[1].systems[-1].last, case.plan.pages[3].systems[-1].last]
    late = planned(StripKind.LATE, 3, ends[0], ends[0] + 1, ends[0] + 2)
    early = planned(StripKind.EARLY, 6, ends[1], ends[1] - 2, ends[1])
    turns = [make.turn(3, 4, ends[0], Grade.QUICK), make.turn(5, 6, ends[1], Grade.QUICK)]
    drawn = []
    for strip in (late, early):
        number = Text(0.0, -2.0, 1.6, "start", "serif", False, True, strip.first_bar)
        system = replace(make.system(strip.first, strip.last, above, below), width_sp=60.0)
        drawn.append(replace(system, items=(*system.items, number)))
    plan = replace(case.plan, strips=(late, early), turns=tuple(turns))
    return replace(case, plan=plan, engraved=replace(case.engraved, strips=tuple(drawn)))


def boxes(case, number: int):
    """The music and the strips of a page."""
    index = [page.number for page in case.plan.pages].index(number)
    placed = place_pages(case.score, case.plan, case.engraved, case.geometry)[index]
    return placed, place_strips(case.plan, number, case.engraved, case.geometry, index == 0)


@settings(max_examples=60, deadline=None)
@given(systems=st.integers(1, 5), above=st.floats(0.0, 12.0), below=st.floats(0.0, 12.0))
def test_strips_stand_in_the_music_box_and_clear_of_the_music(make, systems, above, below):
    """Whatever their height, or the page is told to overflow."""
    case = stripped(make, systems=systems, above=above, below=below)
    top = case.geometry.music_top_mm(False)
    low = top + case.geometry.music_height_mm(False)
    if too_high := overflowing_pages(case.score, case.plan, case.engraved, case.geometry):
        assert systems > 3
        assert set(too_high) <= {3, 6}
        with pytest.raises(PageOverflowError):
            boxes(case, too_high[0])
        return
    gap_mm = 2.0 * make.staff_mm / 4  # least distance from ink to ink, layout/geometry.py
    placed, (late,) = boxes(case, 3)
    assert late.low_mm == pytest.approx(low)
    assert late.spot.ink_bottom_mm <= low + 1e-6
    assert late.top_mm - placed[-1].ink_bottom_mm >= gap_mm - 1e-6
    assert late.spot.ink_top_mm - late.top_mm >= 5.0  # words
    placed, (early,) = boxes(case, 6)
    assert early.top_mm == pytest.approx(top)
    assert placed[0].ink_top_mm - early.low_mm >= gap_mm - 1e-6
    assert early.spot.ink_bottom_mm <= early.low_mm - 1.0


def test_strips_are_three_quarters_of_the_staff_size(make):
    case = stripped(make)
    for number in (3, 6):
        _, (strip,) = boxes(case, number)
        assert strip.spot.staff_mm == pytest.approx(0.75 * make.staff_mm)
        assert strip.spot.x_mm == pytest.approx(case.geometry.music_left_mm)


def test_a_wedge_shows_where_to_read_on_and_where_to_turn(make):
    """After a late strip the reader goes on after its last bar; the bars of an early one are not read before it."""
    case = stripped(make)
    late, early = case.plan.strips
    for number, measure in ((4, late.last + 1), (5, early.first)):
        placed, _ = boxes(case, number)
        top = case.geometry.music_top_mm(False)
        room_mm = top, top + case.geometry.music_height_mm(False)
        figures = seam_figures(case.score, case.plan, placed, case.engraved.glyphs, room_mm)
        wedge, bar = figures
        assert isinstance(wedge, Area)
        assert isinstance(bar, Label)
        assert bar.string == str(measure + 1)
        spot = next(s for s in placed if s.system.first <= measure <= s.system.last)
        low, high = min(y for _, y in wedge.points), max(y for _, y in wedge.points)
        assert high < spot.y_mm or low > spot.bottom_mm  # outside the staves
        for other in placed:
            assert other is spot or high < other.ink_top_mm or low > other.ink_bottom_mm
        assert room_mm[0] < low < high < room_mm[1]
    for number in (2, 3, 6, 7):
        placed, _ = boxes(case, number)
        assert not seam_figures(case.score, case.plan, placed, case.engraved.glyphs, (0.0, 297.0))


@pytest.mark.parametrize("lang", list(Lang))
def test_rule_and_words_tell_strips_from_music(make, lang):
    case, words = stripped(make, lang), SheetWords(lang)
    seen = []
    for number in (3, 6):
        placed, strips = boxes(case, number)
        rule, text = strip_figures(case.score, strips, case.geometry, words)
        assert isinstance(rule, Line)
        assert isinstance(text, Label)
        (left, y), (right, _) = rule.points
        assert (left, right - left) == pytest.approx(
            (case.geometry.music_left_mm, case.geometry.music_width_mm)
        )
        edges = (
            sorted([placed[-1].ink_bottom_mm, y, strips[0].spot.ink_top_mm])
            if number == 3
            else sorted([strips[0].spot.ink_bottom_mm, y, placed[0].ink_top_mm])
        )
        assert edges[1] == y  # the rule lies between
        assert strips[0].top_mm < text.y_mm < strips[0].spot.ink_top_mm
        assert text.x_mm + text.width_mm < right
        seen.append(text.string)
    late, early = case.plan.strips
    assert f"{late.first_bar}–{late.last_bar}" in seen[0]
    assert f"{early.first_bar}–{early.last_bar}" in seen[1]
    if lang is Lang.EN:
        assert seen == [
            f"next page: bars {late.first_bar}–{late.last_bar}, printed again",
            f"from the page before: bars {early.first_bar}–{early.last_bar}, printed again",
        ]


def test_the_player_is_told_where_to_turn(make):
    """After the small bars at the foot; before those that are shown overleaf, at their barline."""
    case = stripped(make)
    marks = page_marks(case.score, case.plan, make.player)
    late, early = case.plan.strips
    (at_foot,), (inside,) = marks[3], marks[5]
    assert (at_foot.after, at_foot.sign, at_foot.words) == (late.after, "V.S.", "turn after the small bars")
    assert (inside.after, inside.sign) == (early.first - 1, "V.S.")
    assert inside.words.startswith(f"turn before bar {early.first_bar}:")
    german = page_marks(case.score, case.plan, make.player, Lang.DE)
    assert german[3][0].words == "nach den kleinen Takten wenden"


def test_the_printed_pages_say_so(make):
    case = stripped(make)
    target = io.BytesIO()
    print_pages(target, case.score, case.plan, case.engraved, case.geometry, case.settings, make.player)
    texts = [page.extract_text() for page in PdfReader(target).pages]
    late, early = case.plan.strips
    assert "printed again" in texts[1]
    assert "turn after the small bars" in texts[1]
    assert late.first_bar in texts[1]
    assert f"turn before bar {early.first_bar}" in texts[3]
    assert "from the page before" in texts[4]
    assert early.first_bar in texts[4]
    assert not any("printed again" in texts[index] for index in (0, 2, 5))


def test_a_page_without_strips_keeps_its_boxes(make):
    case = stripped(make)
    assert music_box(case.plan, 4, case.engraved, case.geometry) == case.geometry
    assert music_box(case.plan, 3, case.engraved, case.geometry) != case.geometry


def test_the_turn_sheet_turns_where_the_player_does(make):
    """Not where the paper ends, but after the small bars, or before those that are shown overleaf."""
    case = stripped(make)
    late, early = case.plan.strips
    turned = {bar.measure.index: bar.turn for bar in played_bars(case.score, case.plan) if bar.turn}
    assert turned.keys() == {late.last, early.first - 1}
    assert [turn.after for turn in turned.values()] == [late.after, early.after]


@pytest.mark.parametrize(
    ("lang", "late", "early"),
    [
        (Lang.DE, "am Fuß noch einmal: {}, nach Takt {}", "umseitig noch einmal: {}, nach Takt {}"),
        (Lang.ES, "al pie, otra vez: {}, tras el compás {}", "siguiente, otra vez: {}, tras el compás {}"),
    ],
)
def test_the_guide_says_which_bars_are_small_and_where_to_turn(make, lang, late, early):
    """In English the plan's own sentence does. Bars of these tests are numbered from 1."""
    case = stripped(make, lang)
    names = BarNames(case.score, FootWords(lang).bar_words)
    _, *entries = turn_entries(case.score, case.plan, case.settings, GuideWords(lang))
    for entry, strip, said in zip(entries, case.plan.strips, (late, early), strict=True):
        assert said.format(names.ranges(strip.first, strip.last), strip.turn_after + 1) in entry.text
