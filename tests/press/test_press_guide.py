"""guide.pdf: every spread to scale, every turn listed, whatever the pattern and however long the list."""

import io
from dataclasses import replace
from itertools import pairwise

import pytest
from pypdf import PdfReader

from optimizer.layout.plan import BlankReason
from optimizer.parts.limits import shared_copy
from optimizer.press.figures import MIN_PT, Area, Figure, Label, grade_sign, moved
from optimizer.press.guide import guide_sheets, print_guide
from optimizer.press.guide_words import guide_words
from optimizer.press.overview import LEAST_PAGE_MM, spread_rows, turn_entries
from optimizer.press.reasons import INSIDE_TURNS
from optimizer.press.warnings import warnings
from optimizer.score.tempo import NO_TEMPO
from optimizer.settings import DESKS, PAPERS, Lang, Settings, SheetSettings
from optimizer.turns.model import Grade, StepCost

PATTERNS = {
    "2s": [(1, 2), (3, 4), (5, 6)],
    "3 first": [(1, 2, 3), (4, 5)],
    "3 last": [(1, 2), (3, 4), (5, 6, 7)],
    "3 first and last": [(1, 2, 3), (4, 5), (6, 7, 8)],
    "all on one": [(1, 2, 3)],
    "4 first": [(1, 2, 3, 4), (5, 6)],
    "1 first": [(1,), (2, 3)],
}


def text_of(case) -> list[str]:
    target = io.BytesIO()
    print_guide(target, case.score, case.plan, case.settings)
    return [page.extract_text() for page in PdfReader(io.BytesIO(target.getvalue())).pages]


def picture(case, lang: Lang = Lang.EN, width_mm: float = 180.0, height_mm: float = 120.0) -> list[Figure]:
    """All spreads, row below row."""
    figures, y = [], 0.0
    for row in spread_rows(case.score, case.plan, case.settings, guide_words(lang), width_mm, height_mm):
        figures += moved(row.figures, 0.0, y)
        y += row.height_mm
    return figures


def page_areas(
    case, width_mm: float = 180.0, height_mm: float = 120.0
) -> list[tuple[float, float, float, float]]:
    """Left, top, width and height of the pictured pages, in reading order."""
    boxes = []
    for figure in picture(case, Lang.EN, width_mm, height_mm):
        if isinstance(figure, Area) and figure.fill == "#ffffff":
            (left, top), (right, _), (_, low), _ = figure.points
            boxes.append((left, top, right - left, low - top))
    assert max(top + high for _, top, _, high in boxes) <= height_mm
    return boxes


@pytest.mark.parametrize(("pattern", "spreads"), PATTERNS.items())
def test_every_pattern_is_drawn_on_the_first_page(make, pattern, spreads):
    case = make.case(spreads, pattern=pattern, settings=Settings(desk=DESKS["grand"]), abreast=4)
    text, *_ = text_of(case)
    for number in (page.number for page in case.plan.pages):
        assert str(number) in text
    for turn in case.plan.turns:
        assert f"Page {turn.from_page}, turn to page {turn.to_page}:" in " ".join(text.split())
    assert ("All pages lie open together" in text) == (len(spreads) == 1)


@pytest.mark.parametrize(("pattern", "spreads"), PATTERNS.items())
def test_pages_are_to_scale_and_lie_side_by_side(make, pattern, spreads):
    case = make.case(spreads, pattern=pattern, settings=Settings(desk=DESKS["grand"]), abreast=4)
    areas = page_areas(case)
    assert len(areas) == len(case.plan.pages)
    assert all(high / wide == pytest.approx(297 / 210) for _, _, wide, high in areas)  # ISO 216: A4
    assert len({round(wide, 6) for _, _, wide, _ in areas}) == 1
    index = 0
    for spread in spreads:
        row = areas[index : index + len(spread)]
        assert all(b[0] == pytest.approx(a[0] + a[2]) and b[1] == a[1] for a, b in pairwise(row))
        index += len(spread)


def test_a_page_that_lies_alone_is_drawn_right_of_the_middle_or_left_of_it(make):
    """Odd pages stand right, even pages left (MOLA guidelines)."""
    first, two, three, last = page_areas(make.case([(1,), (2, 3), (4,)]), height_mm=50.0)
    assert first[1] == two[1] == last[1]  # one row, so that places can be compared
    cell = two[0] - first[0] + two[2]
    assert three[0] == pytest.approx(first[0] + cell)
    assert two[0] == pytest.approx(last[0] - cell)


@pytest.mark.parametrize(
    ("spreads", "beside"),
    [
        ([(1, 2, 3), (4, 5)], ["(1)"]),
        ([(2, 3), (4, 5), (6, 7, 8)], ["(8)", "(8)"]),
        ([(1, 2, 3), (4, 5), (6, 7, 8)], ["(8)", "(1)", "(8)", "(1)"]),
    ],
)
def test_fold_outs_that_lie_out_beside_a_spread_are_drawn_in_brackets(make, spreads, beside):
    case = make.case(spreads, settings=Settings(desk=DESKS["grand"]), abreast=4)
    strings = [figure.string for figure in picture(case) if isinstance(figure, Label)]
    assert [string for string in strings if string.startswith("(")] == beside


def test_no_fold_out_lies_out_where_the_desk_has_no_room_for_it(make):
    case = make.case([(1, 2, 3), (4, 5), (6, 7, 8)], settings=Settings(desk=DESKS["upright"]), abreast=3)
    assert not [f for f in picture(case) if isinstance(f, Label) and f.string.startswith("(")]


@pytest.mark.parametrize("lang", list(Lang))
def test_bars_of_movements_are_told_alike_on_all_pages_and_in_every_language(make, lang):
    """Page 2 goes over into the second movement."""
    case = make.case([(1, 2), (3,)])
    bars = tuple(replace(measure, movement=measure.index // 40) for measure in case.score.measures)
    case = replace(case, score=replace(case.score, measures=bars))
    strings = [figure.string for figure in picture(case, lang) if isinstance(figure, Label)]
    assert [string for string in strings if "I" in string] == ["I 1–25", "I 26–40; II 41–50", "II 51–75"]


def test_twenty_spreads_are_still_drawn_without_touching(make):
    spreads = [(2 * k + 2, 2 * k + 3) for k in range(20)]
    areas = page_areas(make.case(spreads, systems=1))
    assert len(areas) == 40
    rows = {round(top, 3) for _, top, _, _ in areas}
    high = areas[0][3]
    assert all(b - a > high for a, b in pairwise(sorted(rows)))


@pytest.mark.parametrize("count", [45, 80])
def test_very_many_spreads_go_on_over_the_page_and_can_be_read(make, count):
    """A whole opera: no page is smaller than what stands on it."""
    case = make.case([(2 * k + 2, 2 * k + 3) for k in range(count)], systems=1)
    told = []
    for row in spread_rows(case.score, case.plan, case.settings, guide_words(Lang.EN), 180.0, 120.0):
        labels = [figure for figure in row.figures if isinstance(figure, Label) and figure.anchor == "middle"]
        for page in (
            figure for figure in row.figures if isinstance(figure, Area) and figure.fill == "#ffffff"
        ):
            (left, top), (right, _), (_, low), _ = page.points
            assert low - top > LEAST_PAGE_MM - 1e-6
            inside = [label for label in labels if left < label.x_mm < right and top < label.y_mm < low]
            assert all(label.string.endswith("–") for label in inside[1:-1])  # no number is torn
            told.append([inside[0].string, "".join(label.string for label in inside[1:])])
    assert told == [[str(k + 2), f"{5 * k + 1}–{5 * k + 5}"] for k in range(2 * count)]


def test_turns_tell_grade_sentence_and_passes(make):
    turn = make.turn(2, 3, 49, Grade.TIGHT)
    back = make.back_turn(3, 1, 59, 19)
    text = " ".join(text_of(make.case([(1, 2), (3, 4)], [turn], [back]))[0].split())
    assert "tight; after bar 50: left hand rests 2.4 s from beat 3, carry 2 notes." in text
    assert "Page 3, back to page 1: quick; after bar 60 back to bar 20: right hand rests 1.8 s." in text


def test_grades_differ_by_shape_not_only_by_colour():
    def shape(grade: Grade) -> tuple[object, ...]:
        return tuple(
            (type(figure).__name__, getattr(figure, "points", ())) for figure in grade_sign(grade, 0, 0, 2)
        )

    assert len({shape(grade) for grade in Grade}) == len(Grade)


def test_a_long_list_flows_on_and_loses_nothing(make):
    spreads = [(2 * k + 2, 2 * k + 3) for k in range(30)]
    case = make.case(
        spreads, systems=1, back_turns=[make.back_turn(2 * k + 3, 2, 10 * k + 7, 2) for k in range(1, 30)]
    )
    pages = text_of(case)
    assert len(pages) > 1
    text = " ".join(" ".join(pages).split())
    assert sum(f"Page {t.from_page}, turn to page {t.to_page}:" in text for t in case.plan.turns) == 29
    assert sum(f"Page {t.from_page}, back to page 2:" in text for t in case.plan.back_turns) == 29


@pytest.mark.parametrize("spread_count", [2, 12, 30, 60, 100])
def test_type_is_never_smaller_than_seven_points_and_stays_on_the_sheet(make, spread_count):
    case = make.case([(2 * k + 2, 2 * k + 3) for k in range(spread_count)], systems=1)
    for sheet in guide_sheets(case.score, case.plan, case.settings):
        for label in (figure for figure in sheet.figures if isinstance(figure, Label)):
            left = label.x_mm - {"start": 0, "middle": 0.5, "end": 1}[label.anchor] * label.width_mm
            assert label.size_pt >= MIN_PT
            assert left >= 8
            assert left + label.width_mm <= sheet.width_mm - 8
            assert 8 <= label.y_mm <= sheet.height_mm - 8


def test_cautions_appear_where_they_belong(make):
    calm = " ".join(text_of(make.case([(1, 2), (3,)]))[0].split())
    blocked = " ".join(text_of(make.case([(1, 2), (3,)], [make.turn(2, 3, 49, Grade.BLOCKED)]))[0].split())
    assert "Print at 100 %" in calm
    assert "law" in calm
    assert "No hand is free" not in calm
    assert "No hand is free at 1." in blocked


def test_the_ruler_is_a_hundred_millimetres(make):
    case = make.case([(1, 2)], settings=Settings(paper=PAPERS["letter"]), systems=3)
    for sheet in guide_sheets(case.score, case.plan, case.settings):
        lines = [f.points for f in sheet.figures if hasattr(f, "dash_mm") and len(f.points) == 4]
        assert any(points[2][0] - points[1][0] == pytest.approx(100.0) for points in lines)


def test_diacritics_and_markup_characters_in_titles(make):
    text, *_ = text_of(make.case([(1, 2)], title="Říkadla & <Łąka>", composer="Leoš Šťastný"))
    assert "Říkadla & <Łąka>" in text
    assert "Leoš Šťastný" in text


def test_the_same_guide_has_the_same_bytes(make):
    def once() -> bytes:
        target = io.BytesIO()
        case = make.case([(1, 2, 3), (4, 5)])
        print_guide(target, case.score, case.plan, case.settings)
        return target.getvalue()

    assert once() == once()


def test_what_the_terminal_tells_stands_in_the_guide_too(make):
    """Assumed tempo, bars that are never reached, a set that begins with page 2, heavy turns."""
    case = make.case([(2, 3), (4, 5)])

    def said(**changes) -> str:
        changed = replace(case, **changes)
        return " ".join(" ".join(text_of(changed)).split())

    assumed = said(score=replace(case.score, tempo_source=f"{NO_TEMPO}: 96"))
    assert "No tempo in the score. 96 quarters a minute are assumed" in assumed
    assert "The first page is page 2." in assumed
    assert "Never reached" not in assumed
    assert "Never reached: bars 5–6." in said(score=replace(case.score, unreached=(4, 5)))
    light = tuple(replace(turn, carry=6) for turn in case.plan.turns)
    assert "Much to remember" not in said(plan=replace(case.plan, turns=light))
    heavy = tuple(replace(turn, carry=7) for turn in case.plan.turns)
    assert "Much to remember at turn 1." in said(plan=replace(case.plan, turns=heavy))


@pytest.mark.parametrize("lang", list(Lang))
def test_every_language_tells_beats_passes_and_carry(make, lang):
    """The English sentence is taken apart; nothing of it is lost."""
    case = make.case([(1, 2), (3, 4)])
    why = "after bar 50: left hand rests from beat 2½ of bar 49 to beat 4, free 2.4 s, carry 5 notes, played 2 times"
    turns = tuple(
        replace(turn, why=why, hand="left", free_s=2.4, carry=5, passes=2) for turn in case.plan.turns
    )
    sheets = replace(case.settings.sheets, lang=lang)
    told = replace(case, plan=replace(case.plan, turns=turns), settings=replace(case.settings, sheets=sheets))
    text = " ".join(" ".join(text_of(told)).split())
    words = guide_words(lang)
    line = text.partition(words.before_you_play)[0][-200:].replace("\u00a0", " ")
    for part in (words.from_beat(beat="2½"), words.of_bar(bar="49"), words.to_beat(beat="4"), "5"):
        assert part.replace("\u00a0", " ") in line
    assert "2" in words.played_times(2)
    if lang is not Lang.EN:
        assert words.played_times(2).replace("\u00a0", " ") in line


@pytest.mark.parametrize("lang", list(Lang))
def test_who_turns_for_two_at_a_stand_is_said_once(make, lang):
    """As the parts' turns have it in English (optimizer/parts/limits.py)."""
    case = make.case([(1, 2), (3, 4), (5, 6)])
    step = StepCost(0, 1, 1, 0, 0, 0, {}, Grade.TIGHT, "both", 0.0, 1.0, 0, 0, "after bar 1: no time")
    assert shared_copy(step).sentence == step.sentence + INSIDE_TURNS
    words = guide_words(lang)
    sheets = replace(case.settings.sheets, lang=lang)
    for shared in (True, False):
        whys = [f"{turn.why}{INSIDE_TURNS if shared else ''}" for turn in case.plan.turns]
        turns = tuple(replace(turn, why=why) for turn, why in zip(case.plan.turns, whys, strict=True))
        told = replace(
            case, plan=replace(case.plan, turns=turns), settings=replace(case.settings, sheets=sheets)
        )
        text = " ".join(" ".join(text_of(told)).split()).replace("\u00a0", " ")
        assert text.count(words.shared_copy_lead.replace("\u00a0", " ")) == shared
        assert text.count("inside player") == (shared and lang is Lang.EN)


@pytest.mark.parametrize("lang", list(Lang))
def test_how_many_copies_to_print_is_said_where_there_are_several(make, lang):
    case = make.case([(1, 2), (3, 4)], settings=Settings(sheets=SheetSettings(lang=lang)))
    words = guide_words(lang)
    for copies in (1, 3):
        told = replace(case, score=replace(case.score, copies=copies))
        text = " ".join(" ".join(text_of(told)).split()).replace("\u00a0", " ")
        lead = f"{words.copies_lead(n=3)} {words.copies}".replace("\u00a0", " ")
        assert text.count(lead) == (copies == 3)
        assert words.copies_lead(n=1).replace("\u00a0", " ") not in text


SENTENCES = {
    "after bar 50: left hand rests from beat 2½ of bar 49 to beat 4, free 2.4 s, carry 2 notes": (
        "linke Hand 2,4 s frei ab Schlag 2½ in Takt 49 bis Schlag 4, 2 Noten im Kopf"
    ),
    "after bar 50: left hand holds a note from beat 3 of the bar before, free 2.4 s, played 3 times": (
        "linke Hand 2,4 s frei ab Schlag 3 im Takt davor (mit gehaltenem Ton), 3-mal gespielt"
    ),
    "after bar 50: left hand rests from eighth 2 of bar 49 to eighth 6½, free 2.4 s": (
        "linke Hand 2,4 s frei ab Achtel 2 in Takt 49 bis Achtel 6½"
    ),
    "after bar 50: left hand rests from beat 1 of the next bar to the end": (
        "linke Hand 2,4 s frei ab Schlag 1 im nächsten Takt bis zum Schluss"
    ),
    "after bar 50: left hand rests from beat 1 of the 3rd bar before, free 2.4 s": "ab Schlag 1, 3 Takte davor",
    f"after bar 50: no time, carry 2 notes{INSIDE_TURNS}": "keine Zeit, 2 Noten im Kopf",
    "after bar 50: left hand has not begun, carry 2 notes": "linke Hand noch ohne Einsatz, 2 Noten im Kopf",
    "after bar 50: a hand is always free, carry 2 notes": "eine Hand ist immer frei, 2 Noten im Kopf",
}


@pytest.mark.parametrize(("why", "said"), SENTENCES.items())
def test_every_kind_of_sentence_is_told_in_german(make, why, said):
    """The English ones are those of optimizer/turns/sentences.py; German usage from memory."""
    passes = 3 if "3 times" in why else 1
    turn = replace(make.turn(2, 3, 49), why=why, carry=2 if "carry" in why else 0, passes=passes)
    case = make.case([(1, 2), (3, 4)], [turn])
    german = replace(case.settings, sheets=replace(case.settings.sheets, lang=Lang.DE))
    _, entry = turn_entries(case.score, case.plan, german, guide_words(Lang.DE))
    text = entry.text.replace("\u00a0", " ")
    assert text.startswith("bequem; nach Takt 50, ")
    assert said in text


def test_jumps_and_blocked_turns_are_told_in_every_language(make):
    turn = replace(make.turn(2, 3, 49, Grade.BLOCKED), why="after bar 50: no time", carry=0)
    back = replace(
        make.back_turn(4, 1, 59, 19, Grade.OPEN),
        why="after bar 60: back to bar 20 on the repeat, a hand is always free, carry 7 notes",
        carry=7,
        hand="free",
    )
    case = make.case([(1, 2), (3, 4)], [turn], [back])
    french = replace(case.settings, sheets=replace(case.settings.sheets, lang=Lang.FR))
    texts = [
        entry.text.replace("\u00a0", " ")
        for entry in turn_entries(case.score, case.plan, french, guide_words(Lang.FR))
        if entry.text
    ]
    # a space before the semicolon: rule of French typography, from memory
    assert texts[0] == "aucune main libre ; après la mesure 50, pas de temps."
    assert (
        "mais par cœur ; après la mesure 60, retour : mesure 20 (reprise), une main est toujours libre"
        in texts[1]
    )


def test_more_notes_than_are_held_without_learning_are_warned_of(make):
    """About 3 chunks are held without rehearsal (Chen & Cowan); twice that is ours. An allowance beyond it counts."""
    heavy = replace(make.turn(2, 3, 49), carry=7)
    case = make.case([(1, 2), (3, 4)], [heavy])
    generous = replace(case.settings, turns=replace(case.settings.turns, carry_allowance=7))
    for settings, warned in ((case.settings, True), (generous, False)):
        _, entry = turn_entries(case.score, case.plan, settings, guide_words(Lang.EN))
        assert entry.text.startswith("open, but by heart; after bar 50" if warned else "open; after bar 50")
        assert any(
            text.startswith("Much to remember at turn 1.")
            for text in warnings(case.score, case.plan, settings)
        ) == (warned)


def test_an_assumed_tempo_stands_in_the_head(make):
    case = make.case([(1, 2), (3, 4)], tempo_source="no tempo in the file: 96 quarters a minute taken")
    assert "tempo assumed: quarter = 96" in " ".join(text_of(case)[0].replace("\u00a0", " ").split())
    assert "tempo assumed" not in text_of(make.case([(1, 2), (3, 4)]))[0]


@pytest.mark.parametrize(
    ("lang", "told"),
    [
        (
            Lang.EN,
            "With it the turn comes after bar 50 (open). Without it there would be one after bar 44 (tight).",
        ),
        (
            Lang.DE,
            "Mit ihr wird nach Takt 50 gewendet (bequem). Ohne sie wäre nach Takt 44 zu wenden (knapp).",
        ),
        (
            Lang.FR,
            "on tourne après la mesure 50 (large). Sans elle, il faudrait tourner après la mesure 44 (serrée).",
        ),
        (
            Lang.ES,
            "pasa la página tras el compás 50 (cómoda). Sin ella habría que pasarla tras el compás 44 (justa).",
        ),
        (
            Lang.SV,
            "kommer vändningen efter takt 50 (bekväm). Utan den skulle det bli en efter takt 44 (knapp).",
        ),
    ],
)
def test_why_a_page_is_blank_is_told_in_every_language(make, lang, told):
    """Grammar of these languages from memory."""
    case = make.case([(1, 2), (3, 4)], blank=(2,), settings=Settings(sheets=SheetSettings(lang=lang)))
    reason = BlankReason("50", Grade.OPEN, "44", Grade.TIGHT, 120)
    pages = tuple(replace(page, reason=reason) if page.blank else page for page in case.plan.pages)
    blank = replace(case, plan=replace(case.plan, pages=pages))
    assert told in " ".join(" ".join(text_of(blank)).split())


def test_the_steps_begin_below_the_turns_where_that_saves_a_page(make):
    """A set whose steps fill a page and a little more in German: no page of the guide is left nearly empty."""
    spreads = [(1, 2, 3), (4, 5)]
    german = Settings(desk=DESKS["upright"], sheets=SheetSettings(lang=Lang.DE))
    first, *others = text_of(make.case(spreads, settings=german))
    assert len(others) == 1
    assert "Zusammenbauen" in first
    assert "Auf dem Pult" in others[0]
