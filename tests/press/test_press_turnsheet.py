"""The turn sheet: one page whatever the piece, every bar and every turn on it, nothing over anything else."""

import io
from collections import Counter
from dataclasses import replace
from fractions import Fraction
from itertools import pairwise

import pytest
from pypdf import PdfReader

from optimizer import Settings, make_plan, read_score
from optimizer.layout.plan import PlannedBackTurn
from optimizer.press.figures import MIN_PT, Area, Disc, Label, Line
from optimizer.press.fonts import missing_letters
from optimizer.press.language import NBSP, words
from optimizer.press.played import JumpSign, played_bars
from optimizer.press.reasons import INSIDE_TURNS
from optimizer.press.turnline import TURN_MM
from optimizer.press.turnsheet import print_turn_sheet, turn_sheet
from optimizer.score.model import PlayedMeasure
from optimizer.settings import PAPERS, Lang, SheetSettings, parse_paper
from optimizer.turns.model import Grade

PT_MM = 25.4 / 72


def labels(sheet) -> list[Label]:
    return [figure for figure in sheet.figures if isinstance(figure, Label)]


def texts(sheet) -> list[str]:
    return [label.string.replace(NBSP, " ") for label in labels(sheet)]


def box(label: Label) -> tuple[float, float, float, float]:
    """Left, top, right and low edge of a line of text; a serif reaches 0.7 of its size up and 0.22 down (by eye)."""
    left = label.x_mm - {"start": 0.0, "middle": 0.5, "end": 1.0}[label.anchor] * label.width_mm
    return (
        left,
        label.y_mm - 0.7 * label.size_pt * PT_MM,
        left + label.width_mm,
        label.y_mm + 0.22 * label.size_pt * PT_MM,
    )


def overlaps(found: list[Label]) -> list[tuple[str, str]]:
    boxes = sorted(((*box(label), label.string) for label in found), key=lambda entry: entry[1])
    pairs = []
    for index, (left, _, right, low, string) in enumerate(boxes):
        for left2, top2, right2, _, string2 in boxes[index + 1 :]:
            if top2 >= low:
                break
            if left < right2 and left2 < right:
                pairs.append((string, string2))
    return pairs


def points(figure) -> list[tuple[float, float]]:
    if isinstance(figure, Label):
        left, top, right, low = box(figure)
        return [(left, top), (right, low)]
    if isinstance(figure, Disc):
        x, y, r = figure.x_mm, figure.y_mm, figure.radius_mm
        return [(x - r, y - r), (x + r, y + r)]
    return list(figure.points)


def check(sheet) -> None:
    """Everything inside the page, nothing on top of other words, all readable."""
    assert overlaps(labels(sheet)) == []
    for figure in sheet.figures:
        for x, y in points(figure):
            assert 8 <= x <= sheet.width_mm - 8, figure
            assert 8 <= y <= sheet.height_mm - 8, figure
    assert all(label.size_pt >= MIN_PT for label in labels(sheet))
    assert missing_letters("".join(label.string for label in labels(sheet))) == ""


def turn_lines(sheet) -> int:
    return sum(isinstance(figure, Line) and figure.width_mm == TURN_MM for figure in sheet.figures)


def repeated(make, spreads, times: int, **more):
    """A case whose music is played several times from the beginning, with the turns back and on that this needs."""
    case = make.case(spreads, **more)
    count = len(case.score.measures)
    order = [*range(count)] * times
    played = tuple(PlayedMeasure(m, 1 + step // count, 4.0 * step) for step, m in enumerate(order))
    back = make.back_turn(spreads[-1][-1], spreads[0][0], count - 1, 0)
    measures = list(case.score.measures)
    measures[0] = replace(measures[0], repeat_forward=True)
    measures[-1] = replace(measures[-1], repeat_backward=True, repeat_times=times, double_bar=True)
    score = replace(case.score, played=played, measures=tuple(measures))
    return replace(case, score=score, plan=replace(case.plan, back_turns=(back,)))


def test_every_turn_is_drawn_each_time_it_is_played(make):
    case = repeated(make, [(1, 2, 3), (4, 5)], 3)
    (turn,) = case.plan.turns
    sheet = turn_sheet(case.score, case.plan, case.settings)
    check(sheet)
    said = texts(sheet)
    assert said.count(f"1: p. {turn.from_page} → {turn.to_page}") == 3
    assert said.count("a: p. 5 → 1") == 2
    assert turn_lines(sheet) == 5
    assert said.count("open, 2.4 s") == 3
    assert said.count("left hand") == 3
    assert said.count("carry 2 notes") == 3
    assert said.count("quick, 1.8 s") == 2
    assert said.count("right hand") == 2
    assert said.count("← 1") == 2
    assert {"2nd time", "3rd time"} <= set(said)


def test_what_a_back_turn_carries_is_said(make):
    case = repeated(make, [(1, 2), (3, 4)], 2)
    back = replace(case.plan.back_turns[0], carry=5)
    sheet = turn_sheet(case.score, replace(case.plan, back_turns=(back,)), case.settings)
    assert texts(sheet).count("carry 5 notes") == 1


@pytest.mark.parametrize("lang", list(Lang))
def test_why_the_grades_of_a_shared_copy_are_easier_than_their_times(make, lang):
    """ "tight, 0.0 s" stands above "tight: from 0.6 s"."""
    case = make.case([(1, 2), (3, 4)], settings=Settings(sheets=SheetSettings(lang=lang)))
    said = words(lang).shared_copies(who="")
    for shared in (True, False):
        turns = [replace(turn, why=turn.why + INSIDE_TURNS * shared) for turn in case.plan.turns]
        sheet = turn_sheet(case.score, replace(case.plan, turns=tuple(turns)), case.settings)
        assert (said in " ".join(label.string for label in labels(sheet))) == shared


def test_time_runs_evenly_from_left_to_right(make):
    """Places of bar numbers are proportional to seconds, with one scale for all rows."""
    case = make.case([(1, 2), (3, 4)])
    sheet = turn_sheet(case.score, case.plan, case.settings)
    numbers = [
        (label.y_mm, label.x_mm, int(label.string)) for label in labels(sheet) if label.string.isdigit()
    ]
    behind_turns = {turn.to + 1 for turn in case.plan.turns}  # these make room for the sign
    rows: dict[float, list[tuple[float, int]]] = {}
    for y, x, number in numbers:
        if number not in behind_turns:
            rows.setdefault(round(y, 3), []).append((x, number))
    steps = [
        (b[0] - a[0]) / (b[1] - a[1])
        for row in rows.values()
        for a, b in pairwise(sorted(row))
        if len(row) > 1
    ]
    assert len(steps) > 10
    assert max(steps) == pytest.approx(min(steps), rel=1e-6)


@pytest.mark.parametrize("lang", Lang)
@pytest.mark.parametrize("paper", ["a4", "letter", "148x210mm"])
def test_one_readable_page_in_every_language(make, lang, paper):
    settings = Settings(paper=parse_paper(paper), sheets=SheetSettings(lang=lang))
    grades = list(Grade)
    spreads = [(2 * k, 2 * k + 1) for k in range(1, 7)]
    turns = [make.turn(2 * k + 1, 2 * k + 2, 50 * k - 1, grades[k % 4]) for k in range(1, 6)]
    case = repeated(make, spreads, 2, turns=turns, settings=settings, composer="Clara " * 40)
    check(turn_sheet(case.score, case.plan, settings))
    target = io.BytesIO()
    print_turn_sheet(target, case.score, case.plan, settings)
    (page,) = PdfReader(io.BytesIO(target.getvalue())).pages
    text = " ".join(page.extract_text().split())
    for grade in grades:
        assert words(lang).grade(grade) in text
    assert (
        words(lang).left_hand in text or words(lang).hand_short("left") in text
    )  # short where paper is small


@pytest.mark.parametrize(
    ("spread_count", "systems", "times"),
    [(1, 1, 1), (2, 5, 1), (16, 6, 1), (16, 6, 3), (30, 3, 8)],
    ids=["a line", "4 pages", "32 pages, 960 bars", "the same three times", "240 turns"],
)
def test_always_one_page(make, spread_count, systems, times):
    spreads = [(2 * k, 2 * k + 1) for k in range(1, spread_count + 1)]
    case = (
        repeated(make, spreads, times, systems=systems) if times > 1 else make.case(spreads, systems=systems)
    )
    sheet = turn_sheet(case.score, case.plan, case.settings)
    check(sheet)
    assert turn_lines(sheet) == (spread_count - 1) * times + (times - 1)
    said = texts(sheet)
    named = Counter(text.split(":")[0] for text in said)
    assert all(named[str(number)] >= times for number in range(1, spread_count))
    assert any("2.4 s" in text for text in said) == (spread_count > 1 and len(case.plan.turns) * times < 200)


def test_a_title_of_any_length_leaves_room_for_the_line(make):
    case = make.case([(1, 2), (3, 4)], title="The harbour master’s second daughter and her boat " * 30)
    sheet = turn_sheet(case.score, case.plan, case.settings)
    check(sheet)
    assert turn_lines(sheet) == 1
    assert any(text.endswith("…") for text in texts(sheet))


def test_pages_and_bars_are_named_where_they_begin(make):
    case = make.case([(1, 2, 3), (4, 5)])
    sheet = turn_sheet(case.score, case.plan, case.settings)
    bold = [label.string.replace(NBSP, " ") for label in labels(sheet) if label.bold]
    for page in case.plan.pages:
        assert f"p. {page.number}" in bold
        assert str(page.systems[0].first + 1) in bold


def test_without_a_turn_the_sheet_says_so(make):
    case = make.case([(1, 2, 3, 4)], pattern="one spread of 4")
    sheet = turn_sheet(case.score, case.plan, case.settings)
    check(sheet)
    assert any("no turn" in text for text in texts(sheet))
    assert turn_lines(sheet) == 0


def jumps(score, plan) -> list[tuple[str, JumpSign, str]]:
    return [(bar.number, bar.jump, bar.goal) for bar in played_bars(score, plan) if bar.jump]


def test_jumps_of_a_piece_with_dal_segno_and_coda(corpora):
    """Read off the file of our own by hand: repeats with endings from 21 and 55, D.S. from 92 to 5, coda at 20."""
    score = read_score(corpora / "harbour-band.musicxml")
    plan = make_plan(score, Settings(staff_mm=6.5))
    found = jumps(score, plan)
    assert found == [
        ("36", JumpSign.REPEAT, "21"),
        ("34", JumpSign.ENDING, "37"),
        ("70", JumpSign.REPEAT, "55"),
        ("69", JumpSign.ENDING, "71"),
        ("95", JumpSign.DALSEGNO, "5"),
        ("20", JumpSign.CODA, "96"),
    ]
    sheet = turn_sheet(score, plan, Settings(staff_mm=6.5))
    check(sheet)
    assert {"← 21", "→ 37", "← 55", "→ 71", "D.S. ← 5", "Coda → 96", "1.", "2.", "2nd time"} <= set(
        texts(sheet)
    )
    steps = [(a.measure_index, b.measure_index) for a, b in pairwise(score.played)]
    due = sum(steps.count((turn.after, turn.to)) for turn in (*plan.turns, *plan.back_turns))
    assert turn_lines(sheet) == due > 0


def test_bars_of_the_line_are_those_of_the_playing_order(corpora):
    score = read_score(corpora / "three-lamps.musicxml")
    plan = make_plan(score, Settings(staff_mm=6.0))
    bars = played_bars(score, plan)
    assert [(bar.measure.index, bar.pass_number, bar.start_s) for bar in bars] == [
        (step.measure_index, step.pass_number, step.start_s) for step in score.played
    ]
    for page in plan.pages:
        shown = {bar.measure.index for bar in bars if bar.page == page.number}
        assert shown <= set(range(page.systems[0].first, page.systems[-1].last + 1))


def test_da_capo_al_fine(make):
    """Bars 1-6, D.C. after 6, Fine after 3 (MusicXML 4.0: dacapo goes to the beginning)."""
    case = make.case([(1, 2)], systems=1)
    order = [*range(6), *range(3)]
    played = tuple(PlayedMeasure(m, 1 + (step >= 6), 4.0 * step) for step, m in enumerate(order))
    score = replace(case.score, played=played)
    assert jumps(score, case.plan) == [("6", JumpSign.DACAPO, "1"), ("3", JumpSign.FINE, "")]
    assert {"D.C. ← 1", "Fine"} <= set(texts(turn_sheet(score, case.plan, case.settings)))


def test_movements_begin_rows_under_their_titles(make):
    case = make.case([(1, 2), (3, 4)])
    measures = tuple(
        replace(measure, movement=int(measure.index >= 50), number=str(measure.index % 50 + 1))
        for measure in case.score.measures
    )
    score = replace(case.score, measures=measures, movement_titles={0: "I. Allegro", 1: "II. Adagio molto"})
    sheet = turn_sheet(score, case.plan, case.settings)
    check(sheet)
    titles = {
        label.string: label for label in labels(sheet) if label.string in score.movement_titles.values()
    }
    assert len(titles) == 2
    assert titles["I. Allegro"].x_mm == titles["II. Adagio molto"].x_mm
    assert titles["I. Allegro"].y_mm < titles["II. Adagio molto"].y_mm


def test_odd_and_even_pages_differ_in_shade(make):
    case = make.case([(2, 3), (4, 5)])
    sheet = turn_sheet(case.score, case.plan, case.settings)
    strips = [f for f in sheet.figures if isinstance(f, Area) and f.outline and len(f.points) == 4]
    shades = Counter(strip.fill for strip in strips)
    assert shades["#ffffff"] >= 2
    assert shades["#d9d9d9"] >= 2


def test_a_piece_of_one_endless_bar(make):
    case = make.case([(1,)], systems=1)
    clock = replace(case.score.clocks[0], knots=((Fraction(0), 0.0), (Fraction(4), 900.0)))
    score = replace(case.score, clocks=(clock, *case.score.clocks[1:]))
    starts = [0.0, *(900.0 + 4.0 * k for k in range(len(score.measures) - 1))]
    played = tuple(replace(step, start_s=start) for step, start in zip(score.played, starts, strict=True))
    check(turn_sheet(replace(score, played=played), case.plan, case.settings))


def test_the_same_sheet_has_the_same_bytes(make):
    def once() -> bytes:
        target = io.BytesIO()
        case = make.case([(1, 2), (3, 4)], settings=Settings(paper=PAPERS["letter"]))
        print_turn_sheet(target, case.score, case.plan, case.settings)
        return target.getvalue()

    assert once() == once()


def test_a_back_turn_has_an_arrow(make):
    once = make.case([(1, 2), (3, 4)])
    twice = repeated(make, [(1, 2), (3, 4)], 2)
    assert isinstance(twice.plan.back_turns[0], PlannedBackTurn)

    def arrows(case) -> int:
        sheet = turn_sheet(case.score, case.plan, case.settings)
        return sum(
            isinstance(figure, Area) and len(figure.points) == 3 and not figure.outline
            for figure in sheet.figures
        )

    assert arrows(once) == 0
    assert arrows(twice) == 1
