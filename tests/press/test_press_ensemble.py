"""ensemble.pdf: the time line of all parts and the table of their turns."""

import itertools
import re
from dataclasses import replace
from io import BytesIO
from string import Formatter

import pytest
from pypdf import PdfReader

from optimizer.errors import UsageError
from optimizer.layout.joint import JointReport
from optimizer.parts.timeline import Ensemble, Lane, Mark, TurnMoment
from optimizer.press.ensemble import ensemble_sheets, print_ensemble
from optimizer.press.ensemble_told import at_once_words, instead_words, together_words
from optimizer.press.ensemble_words import EnsembleWords
from optimizer.press.figures import MARGIN_MM, MIN_PT, Label
from optimizer.press.fonts import missing_letters
from optimizer.press.language import Counted, Phrase, Sentence
from optimizer.score.tempo import NO_TEMPO
from optimizer.settings import PAPERS, Lang, Paper, Settings, SheetSettings
from optimizer.turns.model import Grade

REPORT = JointReport("optimal", 0, 0, 0.1, 0, {}, {})
NAMES = ("Flute", "Clarinet in B-flat", "A very long name of an instrument that nobody plays", "Cello")


def turn(time_s: float, grade: Grade = Grade.QUICK, back: bool = False) -> TurnMoment:
    return TurnMoment(time_s, 3, 2 if back else 4, f"{time_s:g}", grade, 1.7, 2, back, "")


def piece(count: int = 4, duration_s: float = 330.0) -> Ensemble:
    marks = tuple(Mark(2.0 * bar, str(bar + 1), False) for bar in range(int(duration_s / 2)))
    lanes = tuple(
        Lane(
            NAMES[lane % len(NAMES)], "woodwind", 1, 4, 7.0, ((0.0, 50.0 + lane), (90.0, duration_s)),
            (turn(70.0 + lane), turn(200.0 + 20 * lane, Grade.TIGHT, back=lane == 2)),
        )
        for lane in range(count)
    )  # fmt: skip
    return Ensemble("A Piece", "A. Composer", "marked", duration_s, (*marks, Mark(100.0, "B", True)), lanes)


def settings(paper: str = "a4", lang: Lang = Lang.EN) -> Settings:
    return Settings(paper=PAPERS[paper], sheets=SheetSettings(lang=lang))


def labels(together: Ensemble, apart: Ensemble, lang: Lang = Lang.EN) -> list[Label]:
    sheets = ensemble_sheets(together, apart, REPORT, settings(lang=lang))
    return [figure for sheet in sheets for figure in sheet.figures if isinstance(figure, Label)]


@pytest.mark.parametrize("paper", ["a4", "letter"])
@pytest.mark.parametrize("count", [1, 2, 4, 20])
def test_nothing_is_cut_off_or_too_small(count: int, paper: str) -> None:
    sheets = ensemble_sheets(piece(count), piece(count), REPORT, settings(paper))
    for sheet in sheets:
        for label in (figure for figure in sheet.figures if isinstance(figure, Label)):
            assert label.size_pt >= MIN_PT
            left = label.x_mm - {"start": 0.0, "middle": 0.5, "end": 1.0}[label.anchor] * label.width_mm
            assert left >= 5.0
            assert left + label.width_mm <= sheet.width_mm - 5.0
            assert 5.0 < label.y_mm < sheet.height_mm - 5.0


@pytest.mark.parametrize("lang", list(Lang))
def test_later_sheets_carry_title_and_page_number(lang: Lang) -> None:
    for title in ("A Piece", "A very long title that nobody sets in a line " * 4):
        long = replace(piece(20), title=title.strip())
        first, *later = ensemble_sheets(long, long, REPORT, settings(lang=lang))
        said = EnsembleWords(lang)
        assert later
        for number, sheet in enumerate(later, 2):
            head = [f for f in sheet.figures if isinstance(f, Label) and f.y_mm < 5.0 + MARGIN_MM]
            named, paged = sorted(head, key=lambda label: label.x_mm)
            assert named.string[:20] == said.who_turns_when(title=long.title)[:20]
            assert paged.string == said.page(page=number)
            assert named.x_mm + named.width_mm < paged.x_mm - paged.width_mm
        assert not any(f.string == said.page(page=1) for f in first.figures if isinstance(f, Label))


def test_signs_stand_in_the_legend_where_they_stand_in_the_rows() -> None:
    def legend(*turns: TurnMoment) -> set[str]:
        lanes = tuple(Lane(name, "", 1, 2, 7.0, ((0.0, 60.0),), turns) for name in NAMES[:2])
        one = Ensemble("", "", "marked", 60.0, (), lanes)
        keys = {"sounds", "open", "quick", "tight", "blocked", "turns back", "several turn at once"}
        return keys & {label.string for label in labels(one, one)}

    grades = {"sounds", "open", "quick", "tight", "blocked"}
    assert legend() == {"sounds"}
    assert legend(replace(turn(20.0), between=True)) == grades
    assert legend(turn(20.0)) == {*grades, "several turn at once"}
    assert legend(replace(turn(20.0, back=True), between=True)) == {*grades, "turns back"}


def test_pages_of_a_turn_at_the_end_of_a_row_stay_in_it() -> None:
    """To the left of the turn where there is no room at its right."""
    late = tuple(turn(time_s) for time_s in (99.5, 99.9, 110.0, 299.8, 300.0))
    one = replace(piece(1, 300.0), lanes=(Lane("Flute", "", 1, 4, 7.0, (), late),))
    sheet = ensemble_sheets(one, one, REPORT, settings())[0]
    found = [f for f in sheet.figures if isinstance(f, Label) and f.string == "3→4"]
    assert len(found) == 3
    assert all(label.x_mm + label.width_mm <= sheet.width_mm - MARGIN_MM for label in found)


def test_a_movement_that_begins_at_the_end_of_a_row_is_named_inside_it() -> None:
    one = replace(piece(1, 300.0), marks=(Mark(99.9, "VIII", rehearsal=False, movement=True),))
    sheet = ensemble_sheets(one, one, REPORT, settings())[0]
    (numeral,) = (f for f in sheet.figures if isinstance(f, Label) and f.string == "VIII")
    assert numeral.x_mm + numeral.width_mm <= sheet.width_mm - MARGIN_MM + 0.01


def test_texts_of_a_line_do_not_run_into_each_other() -> None:
    for sheet in ensemble_sheets(piece(), piece(), REPORT, settings()):
        lines: dict[float, list[tuple[float, float]]] = {}
        for label in (figure for figure in sheet.figures if isinstance(figure, Label)):
            left = label.x_mm - {"start": 0.0, "middle": 0.5, "end": 1.0}[label.anchor] * label.width_mm
            lines.setdefault(round(label.y_mm, 2), []).append((left, left + label.width_mm))
        for spans in lines.values():
            spans.sort()
            assert all(before[1] <= after[0] for before, after in itertools.pairwise(spans))


def test_every_turn_is_in_the_table_with_those_who_turn_at_once() -> None:
    strings = [label.string for label in labels(piece(), piece())]
    assert len([text for text in strings if re.fullmatch(r"3 (back )?to [24]", text)]) == 8
    assert strings.count("3 back to 2") == 1
    assert any(text.startswith("Clarinet in B-flat, A") for text in strings)  # beside the flute
    assert "1:10" in strings


def test_planning_together_is_set_beside_planning_apart() -> None:
    calm = Ensemble("", "", "", 330.0, (), tuple(
        Lane(name, "", 1, 2, 7.0, (), (turn(20.0 + 10 * place),)) for place, name in enumerate(NAMES)
    ))  # fmt: skip
    text = " ".join(label.string for label in labels(calm, piece())).replace("\u00a0", " ")
    assert (
        "No two parts turn within 3 s of each other. Had each part been planned alone, 3 parts would turn"
        in text
    )
    assert "Had each part" not in " ".join(label.string for label in labels(calm, calm))


@pytest.mark.parametrize(
    ("lang", "told", "never", "some"),
    [
        (
            Lang.EN,
            "Once, 3 parts turn within 3 s of each other; twice, 2 parts.",
            "Had each part been planned alone, no two would turn within 3 s of each other.",
            "Had each part been planned alone, all 4 parts would turn within 3 s of each other once.",
        ),
        (
            Lang.DE,
            "Einmal wenden 3 Stimmen innerhalb von 3 s; zweimal 2 Stimmen.",
            "Wäre jede Stimme für sich geplant, würden nie zwei innerhalb von 3 s wenden.",
            "Wäre jede Stimme für sich geplant, würden alle 4 Stimmen einmal innerhalb von 3 s wenden.",
        ),
        (
            Lang.FR,
            "Une fois, 3 parties tournent à moins de 3 s d’intervalle ; deux fois, 2 parties.",
            "Si chaque partie était planifiée seule, jamais deux ne tourneraient à moins de 3 s d’intervalle.",
            "Si chaque partie était planifiée seule, les 4 parties tourneraient une fois à moins de 3 s "
            "d’intervalle.",
        ),
        (
            Lang.ES,
            "Una vez, 3 partes pasan página con menos de 3 s de diferencia; dos veces, 2 partes.",
            "Si cada parte se hubiera planeado sola, nunca pasarían página dos con menos de 3 s de diferencia.",
            "Si cada parte se hubiera planeado sola, las 4 partes pasarían página una vez con menos de 3 s de "
            "diferencia.",
        ),
        (
            Lang.SV,
            "En gång vänder 3 stämmor inom 3 s; två gånger 2 stämmor.",
            "Om varje stämma hade planerats för sig skulle aldrig två vända inom 3 s.",
            "Om varje stämma hade planerats för sig skulle alla 4 stämmor vända inom 3 s en gång.",
        ),
    ],
)
def test_who_turns_at_once_is_told_in_the_order_of_each_language(
    lang: Lang, told: str, never: str, some: str
) -> None:
    """The order of words from memory."""

    def turning(*times_s: tuple[float, ...]) -> Ensemble:
        lanes = (Lane("", "", 1, 2, 7.0, (), tuple(map(turn, each))) for each in times_s)
        return Ensemble("", "", "", 330.0, (), tuple(lanes))

    def plain(text: str) -> str:
        return text.replace("\u00a0", " ")

    said = EnsembleWords(lang)
    crowded = turning((10.0, 90.0), (11.0, 50.0), (12.0, 51.0), (91.0,))
    calm, full = turning((10.0,), (20.0,), (30.0,), (40.0,)), turning((10.0,), (10.0,), (10.0,), (10.0,))
    assert plain(at_once_words(crowded, said)) == told
    assert plain(instead_words(crowded, calm, said)) == never
    assert plain(instead_words(crowded, full, said)) == some
    assert instead_words(crowded, crowded, said) == ""
    two = Ensemble("", "", "", 330.0, (), full.lanes[:2])
    assert said.some(2, 2) in at_once_words(two, said)
    assert said.some(2, 2) != said.some(2, 3)


@pytest.mark.parametrize(
    ("lang", "some", "never"),
    [
        (
            Lang.EN,
            "Once, both parts turn within 3 s of each other (not counting turns between movements).",
            "No two parts turn within 3 s of each other (not counting turns between movements).",
        ),
        (
            Lang.DE,
            "Einmal wenden beide Stimmen innerhalb von 3 s (Wenden zwischen Sätzen nicht mitgezählt).",
            "Nie wenden zwei Stimmen innerhalb von 3 s (Wenden zwischen Sätzen nicht mitgezählt).",
        ),
        (
            Lang.FR,
            "Une fois, les deux parties tournent à moins de 3 s d’intervalle (sans compter les tournes entre deux "
            "mouvements).",
            "Jamais deux parties ne tournent à moins de 3 s d’intervalle (sans compter les tournes entre deux "
            "mouvements).",
        ),
    ],
)
def test_that_turns_between_movements_are_not_counted_is_said_where_there_are(
    lang: Lang, some: str, never: str
) -> None:
    between = replace(turn(50.0), between=True)

    def told(*turns: TurnMoment) -> str:
        lane = Lane("", "", 1, 2, 7.0, (), turns)
        one = Ensemble("", "", "", 330.0, (), (lane, lane))
        return at_once_words(one, EnsembleWords(lang)).replace("\u00a0", " ")

    assert told(turn(10.0), between) == some
    assert told(between) == never
    assert EnsembleWords(lang).not_between not in told(turn(10.0))


def told_together(together: Ensemble, apart: Ensemble, report: JointReport, lang: Lang = Lang.EN) -> str:
    told = together_words(together, apart, report, EnsembleWords(lang))
    return " ".join(told).replace("\u00a0", " ")


CALM = replace(piece(2), lanes=tuple(replace(lane, turns=()) for lane in piece(2).lanes))
# Costs in hundredths of a point: 1000 points alone, and 95 more together, where limits cost 30.
DEARER = JointReport("optimal", 112_500, 112_500, 0.1, 120_000, {"all": 20_000}, {"all": 3000}, 100_000)


def test_gain_and_cost_of_planning_together_are_told_side_by_side() -> None:
    never = "No two parts turn within 3 s of each other."
    assert told_together(CALM, piece(2), DEARER) == (
        f"{never} Had each part been planned alone, both parts would turn within 3 s of each other once. Planning "
        "together costs the parts themselves 95 points more (1000 points are a turn at which notes are lost)."
    )
    free = replace(DEARER, objective=103_000)
    assert told_together(CALM, piece(2), free).endswith(
        "each other once. Planning together costs the parts themselves nothing."
    )
    # As many turn at once, but with more time, or fewer of a moment's stands.
    assert told_together(CALM, CALM, DEARER).startswith(
        f"{never} Planned together, there are fewer or easier turns"
    )
    assert "95 points more" in told_together(CALM, CALM, DEARER)
    desks = replace(DEARER, limits_apart={"desks": 20_000}, limits_together={"desks": 3000})
    assert f"{never} Planned together, fewer stands turn" in told_together(CALM, CALM, desks)
    # Plans made apart that break what is never broken, a family's soft passage.
    apart = replace(DEARER, apart=None, limits_apart={"family": 0}, limits_together={"family": 0})
    assert "all would turn at once somewhere, or a whole family" in told_together(CALM, CALM, apart)


def test_where_planning_together_changes_nothing_no_cost_is_told() -> None:
    same = replace(DEARER, objective=103_000, limits_apart={"all": 3000})
    assert told_together(CALM, CALM, same) == "No two parts turn within 3 s of each other."
    broken = replace(DEARER, apart=None, broken=("all",))
    assert "costs" not in told_together(CALM, piece(2), broken)


@pytest.mark.parametrize("lang", list(Lang))
def test_points_are_explained_in_every_language(lang: Lang) -> None:
    strings = [
        figure.string
        for figure in ensemble_sheets(CALM, piece(2), DEARER, settings(lang=lang))[0].figures
        if isinstance(figure, Label)
    ]
    assert " 95 " in " ".join(strings).replace("\u00a0", " ")
    assert "(1000 " in " ".join(strings).replace("\u00a0", " ")


@pytest.mark.parametrize("lang", list(Lang))
def test_players_and_copies_of_a_part_are_told_where_there_are_several(lang: Lang) -> None:
    one, two, *others = piece().lanes
    shared = replace(piece(), lanes=(replace(one, players=6, copies=3), replace(two, players=2), *others))
    said = EnsembleWords(lang)
    text = " ".join(label.string for label in labels(shared, shared, lang))
    assert f"({said.section(part='Flute', players=said.players(6), copies=said.copies(3))}; " in text
    assert said.section(part=NAMES[1], players=said.players(2), copies=said.copies(1)) in text
    assert f"{NAMES[3]}:" not in text
    if lang is Lang.EN:
        assert "where time is short the grade is one easier than the time says" in text
    assert said.shared_copies(who="")[:12] not in " ".join(
        label.string for label in labels(piece(), piece(), lang)
    )


def test_the_file_says_what_it_is() -> None:
    target = BytesIO()
    print_ensemble(target, piece(), piece(), REPORT, settings())
    reader = PdfReader(target)
    assert reader.metadata
    assert reader.metadata.title == "A Piece: who turns when"
    assert "proven" not in reader.pages[0].extract_text()


@pytest.mark.parametrize("lang", list(Lang))
def test_a_plan_that_is_not_proven_says_how_much_better_there_could_be(lang: Lang) -> None:
    for objective, percent in ((10_500, 5), (10_501, 6), (10_001, 1)):
        report = JointReport("feasible", objective, 10_000, 0.1, 0, {}, {})
        sheets = ensemble_sheets(piece(), piece(), report, settings(lang=lang))
        strings = [figure.string for figure in sheets[0].figures if isinstance(figure, Label)]
        assert f" {percent} % " in " ".join(strings).replace("\u00a0", " ")


def test_what_must_be_known_by_heart_is_said_and_whose_bar_it_is() -> None:
    heavy = replace(turn(20.0), carry=9, by_heart=True, movement="II")
    one = replace(
        piece(1), lanes=(Lane("Flute", "", 1, 2, 7.0, (), (heavy, replace(heavy, by_heart=False))),)
    )
    strings = [label.string.replace("\u00a0", " ") for label in labels(one, one)]
    assert strings.count("quick, but by heart, 1.7 s free, carry 9 notes") == 1
    assert strings.count("quick, 1.7 s free, carry 9 notes") == 1
    assert strings.count("II, 20") == 2
    divided = replace(one, lanes=(replace(one.lanes[0], turns=(replace(heavy, after_bar="X1"),)),))
    assert "II, –" in [label.string for label in labels(divided, divided)]


def test_what_is_said_of_a_turn_stands_on_one_line_where_nobody_else_turns() -> None:
    long = replace(turn(20.0, Grade.BLOCKED), by_heart=True, carry=10)
    one = replace(piece(1), lanes=(Lane("Violoncello", "", 1, 2, 7.0, (), (long,)),))
    strings = [label.string.replace("\u00a0", " ") for label in labels(one, one, Lang.DE)]
    assert "keine Hand frei, aber auswendig, 1,7 s frei, 10 Noten merken" in strings


def test_a_part_alone_turns_with_nobody() -> None:
    strings = [label.string for label in labels(piece(1), piece(1))]
    assert "Who sounds, who rests, who turns." in strings


@pytest.mark.parametrize("count", [1, 3, 8, 20, 45, 55])
def test_the_table_is_not_left_with_a_line_or_two_on_a_sheet(count: int) -> None:
    for duration_s in (200.0, 330.0, 800.0, 1400.0):
        last = ensemble_sheets(piece(count, duration_s), piece(count), REPORT, settings())[-1]
        lines = {round(figure.y_mm, 1) for figure in last.figures if isinstance(figure, Label)}
        assert len(lines) > 2


@pytest.mark.parametrize("count", [1, 8, 20, 45, 50])
def test_the_head_is_not_left_alone_on_a_sheet(count: int) -> None:
    first = ensemble_sheets(piece(count), piece(count), REPORT, settings())[0]
    assert any(figure.string == NAMES[0] for figure in first.figures if isinstance(figure, Label))


def test_every_page_of_the_table_has_its_heads() -> None:
    sheets = ensemble_sheets(piece(40), piece(40), REPORT, settings())
    rows = [[figure.string for figure in sheet.figures if isinstance(figure, Label)] for sheet in sheets]
    with_turns = [
        strings for strings in rows if any(re.fullmatch(r"3 (back )?to [24]", text) for text in strings)
    ]
    assert len(with_turns) > 1
    assert all("after bar" in strings for strings in with_turns)


@pytest.mark.parametrize("lang", [Lang.DE, Lang.FR, Lang.ES, Lang.SV])
def test_nothing_is_left_in_english(lang: Lang) -> None:
    """But the names of the parts, which are the file's, and two words that are the same."""
    heavy = replace(turn(25.0), by_heart=True, carry=9)
    between = replace(turn(40.0), between=True)
    lane = Lane("Xyz", "", 1, 2, 7.0, (), (turn(20.0), heavy, between, turn(60.0, Grade.BLOCKED, back=True)))
    calm = Ensemble("", "", NO_TEMPO, 330.0, (), (lane, replace(lane, turns=(turn(100.0),))))
    crowded = replace(calm, lanes=(lane, lane))
    report = JointReport("feasible", 10, 5, 0.1, None, {}, {})

    def strings(one: Lang) -> set[str]:
        sheets = ensemble_sheets(calm, crowded, report, settings(lang=one))
        return {figure.string for sheet in sheets for figure in sheet.figures if isinstance(figure, Label)}

    same = {text for text in strings(lang) & strings(Lang.EN) if any(map(str.isalpha, text))}
    assert same <= {"Xyz"} | ({"pages"} if lang is Lang.FR else set())


def test_a_text_stands_in_all_languages_with_the_same_gaps() -> None:
    for name, text in vars(EnsembleWords).items():
        if isinstance(text, Phrase | Sentence | Counted):
            found = [{gap for _, gap, _, _ in Formatter().parse(version) if gap} for version in text.texts]
            assert all(gaps == found[0] for gaps in found), name
            assert missing_letters("".join(text.texts)) == ""


def test_paper_too_small_for_the_lanes_is_refused() -> None:
    with pytest.raises(UsageError, match="too small"):
        ensemble_sheets(piece(20), piece(20), REPORT, Settings(paper=Paper("tiny", 100.0, 100.0)))
