"""compare.html as a document: it holds every alternative, is whole in itself, and no text of a score breaks it."""

import json
import re
from collections import Counter
from dataclasses import replace
from itertools import combinations
from pathlib import Path

import pytest
from fontTools.pens.recordingPen import RecordingPen
from fontTools.svgLib.path import parse_path
from hypothesis import given, settings
from hypothesis import strategies as st
from lxml import html

from optimizer import pipeline
from optimizer.compare.model import Alternative, Choices, Comparison, Merits
from optimizer.compare.web import write_page
from optimizer.compare.web.course import course_of, way_of
from optimizer.compare.web.page import page_text
from optimizer.compare.web.scatter import GAP, LABEL, scatter
from optimizer.compare.web.symbols import GRAIN, Symbols, numbers
from optimizer.compare.web.words import MERITS, figure
from optimizer.engrave.model import Glyph, Text
from optimizer.engrave.model import Path as Drawn
from optimizer.layout.plan import Plan, PlannedPage, SolverReport
from optimizer.settings import DESKS, PAPERS, Desk, Settings

HOSTILE = "</title></script><script>alert(1)</script><!-- <b onload='x'>\" & {{ 7*7 }} \u2028 ]]>"
MOST_BYTES = 2_000_000  # issue 4: a song of about 150 bars, two desks, four staff sizes


@pytest.fixture(scope="module")
def text(comparison: Comparison) -> str:
    return page_text(comparison)


@pytest.fixture(scope="module")
def page(text: str) -> html.HtmlElement:
    return html.document_fromstring(text)


def test_every_alternative_has_its_card_its_row_and_its_mark(
    comparison: Comparison, page: html.HtmlElement
) -> None:
    pictures = page.xpath("//svg[contains(@class, 'scatter')]")
    assert {"scatter wide", "scatter narrow"} == {picture.get("class") for picture in pictures}
    for alternative in comparison.alternatives:
        number = str(alternative.number)
        (card,) = page.xpath("//article[@id=$id]", id=f"alt-{number}")
        (heading,) = card.xpath("header/h3")
        assert heading.text_content().split()[0] == number
        assert card.xpath("string(.//code)") == f"{comparison.command} --pick {number}"
        told = {dt.text_content(): dt.getnext().text_content().split()[0] for dt in card.xpath(".//dt")}
        assert told == {merit.name: figure(merit.value(alternative)) for merit in MERITS}
        (row,) = page.xpath("//table[@class='merits']//tr[@data-number=$n]", n=number)
        values = [cell.text_content().split()[0] for cell in row.xpath("td[@class='figure']")]
        assert values == [str(len(alternative.plan.pages)), *(figure(m.value(alternative)) for m in MERITS)]
        marks = page.xpath("//svg/a[@data-number=$n]", n=number)
        assert [mark.getparent().get("class") for mark in marks] == ["scatter narrow", "scatter wide"]
        for mark in marks:
            assert mark.get("href") == f"#alt-{number}"
            assert str(alternative.merits.effort) in mark.get("aria-label")


def test_words_tell_what_is_least_in_sum_and_what_is_beaten(
    comparison: Comparison, page: html.HtmlElement
) -> None:
    assert any(alternative.least for alternative in comparison.alternatives)
    for alternative in comparison.alternatives:
        card = page.get_element_by_id(f"alt-{alternative.number}")
        (row,) = page.xpath("//table[@class='merits']//tr[@data-number=$n]", n=alternative.number)
        told = [note.text_content() for note in row.xpath(".//*[@class='note']")]
        facts = card.xpath("string(.//*[@class='facts'])")
        for words, holds in (
            ("least in sum", alternative.least),
            (f"beaten by {alternative.beaten_by}", alternative.beaten_by is not None),
        ):
            assert (words in told) == (words in facts) == holds


def test_no_bar_number_is_cut_where_a_row_ends(comparison: Comparison) -> None:
    """Three digits of 11 px are 18 px wide in the faces of the page (measured in Chromium)."""
    course = course_of(comparison.score, comparison.costs, comparison.alternatives[0].plan)
    ends = [*course.windows[1:], *course.narrow_windows[1:], course.edges[-1]]
    assert len(course.narrow_windows) == 3 * len(course.windows)
    assert len(course.numbers) > 3
    assert not [(number, end) for number, x in course.numbers for end in ends if x < end < x + 18]


def test_turns_are_listed_with_grade_and_reason(comparison: Comparison, page: html.HtmlElement) -> None:
    for alternative in comparison.alternatives:
        plan = alternative.plan
        listed = page.xpath("//article[@id=$id]//ul[@class='turns']/li", id=f"alt-{alternative.number}")
        turns = [*plan.turns, *plan.back_turns]
        assert [item.xpath("string(*[@class='why'])") for item in listed] == [turn.why for turn in turns]
        assert [item.xpath("string(*[@class='grade'])") for item in listed] == [turn.grade for turn in turns]


def test_spreads_show_every_page_and_every_system_of_the_plan(
    comparison: Comparison, page: html.HtmlElement
) -> None:
    for alternative in comparison.alternatives:
        plan = alternative.plan
        card = page.get_element_by_id(f"alt-{alternative.number}")
        spreads = card.xpath(".//figure[@class='spread']")
        assert [len(spread.xpath(".//rect[@class='page']")) for spread in spreads] == [
            len(numbers) for numbers in plan.spreads
        ]
        systems = card.xpath(".//use[starts-with(@href, '#s')]")
        assert len(systems) == sum(len(page.systems) for page in plan.pages) + len(plan.strips)
        blank = sum(page.blank for page in plan.pages)
        assert len(card.xpath(".//text[@class='blank']")) == blank


def test_ids_are_unique_and_everything_referred_to_is_there(text: str, page: html.HtmlElement) -> None:
    ids = Counter(page.xpath("//@id"))
    assert set(ids.values()) == {1}
    wanted = [target for target in page.xpath("//@href") if target.startswith("#")]
    wanted += re.findall(r"url\((#[^)]*)\)", text)
    wanted += [f"#{name}" for name in " ".join(page.xpath("//@aria-labelledby | //@for")).split()]
    assert len(wanted) > 100
    assert {target.removeprefix("#") for target in wanted} <= set(ids)


def test_classes_of_the_drawing_have_their_rules(text: str, page: html.HtmlElement) -> None:
    used = set(page.xpath("//svg[@class='definitions']//*[starts-with(@id, 's')]//@class"))
    rules = set(re.findall(r"\.([fmp]\d+)\{", text))
    assert used
    assert used == rules


def test_nothing_is_loaded_from_anywhere(text: str, page: html.HtmlElement) -> None:
    assert not page.xpath("//@src | //@srcset | //@action | //@data | //@poster")
    assert all(target.startswith(("#", "data:,")) for target in page.xpath("//@href"))
    assert "@import" not in text
    assert "@font-face" not in text
    assert not [target for target in re.findall(r"url\(([^)]*)\)", text) if not target.startswith("#")]
    (policy,) = page.xpath("//meta[@http-equiv='Content-Security-Policy']/@content")
    assert policy.startswith("default-src 'none';")


def test_texts_of_the_score_cannot_break_out(comparison: Comparison) -> None:
    """Title, composer, a warning, the player, a desk and a word under the notes, all hostile."""
    score = replace(comparison.score, title=HOSTILE, composer=HOSTILE, path=f"/x/{HOSTILE}.xml")
    alternative, drawing = comparison.alternatives[0], comparison.drawings[0]
    desk = Desk(HOSTILE, alternative.settings.desk.width_mm)
    turns = tuple(replace(turn, why=HOSTILE) for turn in alternative.plan.turns)
    hostile = replace(
        alternative,
        settings=replace(alternative.settings, desk=desk),
        plan=replace(alternative.plan, turns=turns, pattern=HOSTILE),
    )
    word = Text(1.0, 1.0, 2.0, "start", "serif", False, False, HOSTILE)
    systems = tuple(replace(system, items=(*system.items, word)) for system in drawing.engraved.systems)
    page = html.document_fromstring(
        page_text(
            replace(
                comparison,
                score=score,
                player_text=HOSTILE,
                warnings=(HOSTILE,),
                command=HOSTILE,
                alternatives=(hostile, *comparison.alternatives[1:]),
                drawings=(
                    replace(drawing, engraved=replace(drawing.engraved, systems=systems)),
                    *comparison.drawings[1:],
                ),
            )
        )
    )
    assert page.xpath("string(//title)") == f"{HOSTILE}: ways to print it"
    assert page.xpath("string(//h1)") == HOSTILE
    assert HOSTILE in page.xpath("string(//*[@class='facts'])")
    assert page.xpath("string(//section[@id='notes']//li)") == HOSTILE
    assert page.xpath("string(//p[@class='command']/code)") == f"{HOSTILE} --pick 1"
    assert HOSTILE in {text.text for text in page.xpath("//svg[@class='definitions']//text")}
    assert len(page.xpath("//script")) == 2
    assert not page.xpath("//b[@onload] | //comment()")
    data = json.loads(page.xpath("string(//script[@id='data'])"))
    assert len(data["alternatives"]) == len(comparison.alternatives)
    assert len(page.xpath("//article")) == len(comparison.alternatives)


def test_the_same_comparison_gives_the_same_bytes(comparison: Comparison, text: str, tmp_path: Path) -> None:
    write_page(tmp_path / "compare.html", comparison)
    assert (tmp_path / "compare.html").read_bytes() == text.encode()


def test_a_single_alternative_is_compared_with_nothing(comparison: Comparison) -> None:
    alone = replace(
        comparison, alternatives=comparison.alternatives[:1], drawings=list(comparison.drawings)[:1]
    )
    page = html.document_fromstring(page_text(alone))
    assert len(page.xpath("//article")) == 1
    assert not page.xpath("//*[@id='difference'] | //a[@href='#difference']")


def test_systems_that_look_alike_are_drawn_once(comparison: Comparison, page: html.HtmlElement) -> None:
    drawn = page.xpath("//svg[@class='definitions']//g[starts-with(@id, 's')]")
    assert len({html.tostring(one).split(b">", 1)[1] for one in drawn}) == len(drawn)
    assert len(drawn) < len(page.xpath("//article//use[starts-with(@href, '#s')]"))


def test_lines_and_signs_stand_where_they_are_engraved(comparison: Comparison) -> None:
    """The paths read back with fontTools, another's reader of SVG paths: every point within half a grain."""
    engraved = comparison.drawings[0].engraved
    for system in engraved.systems[:4]:
        symbols = Symbols()
        symbols.id_of(system, engraved.glyphs)
        drawn = html.fragment_fromstring(f"<svg>{symbols.definitions()}</svg>")
        found: dict[str, list[tuple[float, float]]] = {"p": [], "m": []}
        for path in drawn.xpath("g/path"):
            pen = RecordingPen()
            parse_path(path.get("d"), pen)
            found[path.get("class")[0]] += [point for _, points in pen.value for point in points]
        glyphs = [item for item in system.items if isinstance(item, Glyph)]
        assert sorted(set(found["m"])) == sorted(
            {(round(item.matrix[4] * GRAIN), round(item.matrix[5] * GRAIN)) for item in glyphs}
        )
        lines = [item for item in system.items if isinstance(item, Drawn) and not item.fill]
        ends = {(seg[-2] * GRAIN, seg[-1] * GRAIN) for item in lines for seg in item.segments if len(seg) > 1}  # type: ignore[operator]
        assert len(ends) > 10
        for x, y in ends:
            assert any(abs(x - px) <= 0.51 and abs(y - py) <= 0.51 for px, py in found["p"])


@given(st.lists(st.floats(-5000, 5000).map(lambda value: round(value, 3)), max_size=8))
def test_numbers_are_read_back_as_they_were_written(values: list[float]) -> None:
    """By the grammar of numbers in SVG paths (W3C, SVG 1.1, section 8.3.9)."""
    found = re.findall(r"[-+]?(?:\d+\.\d*|\.\d+|\d+)(?:[eE][-+]?\d+)?", numbers(values))
    assert list(map(float, found)) == values


@settings(deadline=None, max_examples=60)
@given(st.lists(st.tuples(st.integers(1, 4), st.integers(0, 3), st.floats(5, 7)), min_size=1, max_size=14))
def test_marks_of_the_scatter_never_touch(wanted: list[tuple[int, int, float]]) -> None:
    """Nor leave the picture, their column or the height of their effort, however many alternatives coincide."""
    alternatives = [
        Alternative(
            number,
            Settings(),
            Plan(
                staff_mm,
                2,
                "taped",
                "2s",
                (PlannedPage(1, ()),) * pages,
                (),
                (),
                (),
                SolverReport("", 0, 0, 0, {}),
            ),
            Merits(effort * 100, 0, 0, 0, staff_mm, pages),
        )
        for number, (pages, effort, staff_mm) in enumerate(wanted, start=1)
    ]
    for width, height in ((328.0, 420.0), (1000.0, 430.0)):
        picture = scatter(alternatives, width, height)
        marks, columns = picture.marks, {column.pages: column for column in picture.columns}
        (_, floor), *_, (most, top) = picture.efforts
        for mark in marks:
            effort, column = mark.alternative.merits.effort, columns[len(mark.alternative.plan.pages)]
            assert mark.y == pytest.approx(floor - (floor - top) * effort / most)
            assert column.left <= mark.x - mark.radius < mark.x + mark.radius <= column.right
        assert [mark.alternative.number for mark in marks] == list(range(1, len(wanted) + 1))
        assert all(mark.radius <= mark.x <= width - mark.radius for mark in marks)
        assert all(0 <= mark.y - mark.radius < mark.y + LABEL <= picture.height for mark in marks)
        for mark, other in combinations(marks, 2):
            apart = mark.radius + other.radius + GAP - 1e-6
            assert abs(mark.x - other.x) >= apart or abs(mark.y - other.y) >= apart


def test_turns_stand_on_the_line_each_time_they_are_played(comparison: Comparison) -> None:
    score, costs = comparison.score, comparison.costs
    course = course_of(score, costs, comparison.alternatives[0].plan)
    assert len(course.edges) == len(score.played) + 1
    assert course.arcs, "this score has repeats"
    for alternative in comparison.alternatives:
        plan, way = alternative.plan, way_of(score, alternative.plan, course)
        passes = {turn: turn.passes for turn in (*plan.turns, *plan.back_turns)}
        assert Counter(stop.turn for stop in way.stops) == passes
        assert way.pages[0][1] == 0
        assert way.pages[-1][2] == course.edges[-1]
        assert all(here[2] == there[1] for here, there in zip(way.pages, way.pages[1:], strict=False))


def test_the_height_of_the_hills_is_the_points_of_one_turn(comparison: Comparison) -> None:
    """All passes of a barline together cost what the list of barlines says."""
    course = course_of(comparison.score, comparison.costs, comparison.alternatives[0].plan)
    straight = [cost for cost in comparison.costs if cost.passes]
    assert sum(points for _, points in course.costs) == pytest.approx(sum(cost.cost for cost in straight))


def test_the_page_of_a_song_of_150_bars_can_be_mailed(shared_data: Path, tmp_path: Path) -> None:
    """Two desks, the usual staff sizes."""
    choices = Choices((DESKS["upright"], DESKS["grand"]), (PAPERS["a4"],), ("taped",))
    path = shared_data / "scores" / "lied-schubert-erlkoenig.mxl"
    comparison = pipeline.compare_plans(path, choices, Settings())
    assert 140 <= len(comparison.score.measures) <= 160
    write_page(tmp_path / "compare.html", comparison)
    assert len(comparison.alternatives) >= 8
    assert (tmp_path / "compare.html").stat().st_size < MOST_BYTES


def test_many_alternatives_have_a_picture_for_each_desk_on_a_phone(comparison: Comparison) -> None:
    """So that no sign gets too small for its number; all on one scale of effort."""
    many = comparison.alternatives * 4
    numbered = tuple(replace(alternative, number=n) for n, alternative in enumerate(many, start=1))
    crowd = replace(comparison, alternatives=numbered, drawings=list(comparison.drawings) * 4)
    page = html.document_fromstring(page_text(crowd))
    narrow, wide = (
        page.xpath("//svg[contains(@class, $size)][contains(@class, 'scatter')]", size=size)
        for size in ("narrow", "wide")
    )
    assert [len(picture.xpath(".//a")) for picture in wide] == [len(numbered)]
    desks = {alternative.settings.desk for alternative in numbered}
    assert len(narrow) == len(desks) > 1
    assert sum(len(picture.xpath(".//a")) for picture in narrow) == len(numbered)
    scales = [
        tuple(text.text for text in picture.xpath(".//text[@text-anchor='end']"))[:-1] for picture in narrow
    ]
    assert len({scale[:3] for scale in scales}) == 1
