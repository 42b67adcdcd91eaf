"""`quietleaf explain`: what it costs to turn elsewhere, from the command line and against `prepare` itself."""

import json
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner

from optimizer import layout, make_plan, print_plan, why
from optimizer.cli import app
from optimizer.errors import UsageError
from optimizer.layout import Plan
from optimizer.layout.demands import Demand, Kind
from optimizer.pipeline import explain, open_job, prepare
from optimizer.score import read_score
from optimizer.settings import Demands, Settings, Strips, parse_paper
from optimizer.why import Explained, Place, Question, Scope
from optimizer.why.sentences import _scale

SMALL = Settings(staff_mm=6.5, paper=parse_paper("150x200mm"))


@pytest.fixture(scope="module")
def quay(corpora: Path) -> Path:
    """A short piano piece."""
    return corpora / "nets-on-the-quay.musicxml"


@pytest.fixture(scope="module")
def folder(quay: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Its pages on small paper, with a turn."""
    target = tmp_path_factory.mktemp("explain") / "set"
    prepare(quay, target, SMALL)
    return target


@pytest.fixture(scope="module")
def plan(folder: Path) -> Plan:
    return layout.from_json((folder / "plan.json").read_text())


def timeless(plan: Plan) -> Plan:
    return replace(plan, solver=replace(plan.solver, seconds=0.0))


def said(found: Explained) -> str:
    return " ".join(why.sentences(found))


def told(*words: object) -> tuple[int, str, list[str]]:
    """Exit code, standard output, and the lines on standard error but for the stages a slow machine tells."""
    ran = CliRunner().invoke(app, ["explain", *map(str, words)])
    return (
        ran.exit_code,
        ran.stdout,
        [line for line in ran.stderr.splitlines() if not line.endswith(" ...")],
    )


# --- against prepare -------------------------------------------------------------------------------


def test_the_forced_plan_is_what_prepare_makes(quay: Path, folder: Path, tmp_path: Path) -> None:
    found = explain(folder / "plan.json", "10")
    assert found.asked.question is Question.FORCE
    forced = replace(SMALL, demands=Demands(turn_after=("10",)))
    made = prepare(quay, tmp_path / "set", forced).plan
    assert found.difference
    assert timeless(found.difference.after) == timeless(made)
    assert found.asked.settings == forced
    assert "--turn-after 10" in said(found)


def test_the_plan_without_a_turn_is_what_prepare_makes(
    quay: Path, folder: Path, plan: Plan, tmp_path: Path
) -> None:
    bar = plan.turns[0].after_bar
    found = explain(folder / "plan.json", bar)
    assert (found.standing.place, found.asked.question) == (Place.TURN, Question.FORBID)
    made = prepare(quay, tmp_path / "set", replace(SMALL, demands=Demands(no_turn_after=(bar,)))).plan
    assert found.difference
    assert timeless(found.difference.after) == timeless(made)
    assert said(found).startswith(f"There is a turn after bar {bar}, from page 3 to page 4.")


def test_forcing_never_costs_less_than_nothing(quay: Path) -> None:
    """Over all bars: nothing exactly where the plan turns already, and forbidding something exactly there."""
    problem = open_job(quay, SMALL).problem
    best = layout.solve(problem)
    page = {page.number: page for page in best.pages}
    turned = {page[numbers[0]].systems[0].first for numbers in best.spreads[1:]}
    assert turned
    for position in range(1, problem.measures):
        for kind, free in ((Kind.TURN, position in turned), (Kind.NO_TURN, position not in turned)):
            demanded = problem.with_demands([*problem.demands, Demand("x", kind, position, position)])
            cost = layout.solve(demanded).solver.objective - best.solver.objective
            assert cost >= 0
            assert (cost == 0) == free


def test_the_original_score_gives_the_same_as_its_copy(quay: Path, folder: Path) -> None:
    """Beside plan.json stands a copy with the plan's own page breaks in place of the original ones."""
    copy, original = (explain(folder / "plan.json", "20", score_path=path) for path in (None, quay))
    assert copy.difference
    assert original.difference
    assert timeless(copy.difference.after) == timeless(original.difference.after)
    assert why.sentences(copy) == why.sentences(original)


# --- questions of other kinds ----------------------------------------------------------------------


def test_a_turn_that_was_demanded_is_released(quay: Path, plan: Plan, tmp_path: Path) -> None:
    prepare(quay, tmp_path / "set", replace(SMALL, demands=Demands(turn_after=("10", "#10"))))
    found = explain(tmp_path / "set" / "plan.json", "10")
    assert found.asked.question is Question.RELEASE
    assert found.difference
    assert timeless(found.difference.after) == timeless(plan)
    assert "It was asked for (--turn-after 10, --turn-after #10)." in why.sentences(found)
    assert found.difference.cost < 0
    assert "prepare again without --turn-after 10 --turn-after #10" in said(found)


def test_a_demand_in_the_way_is_named(quay: Path, tmp_path: Path) -> None:
    prepare(quay, tmp_path / "set", replace(SMALL, demands=Demands(together=("8-12",))))
    found = explain(tmp_path / "set" / "plan.json", "10")
    assert found.difference is None
    assert found.trouble == "--turn-after 10 contradicts --together 8-12"
    assert found.relax == ("--together 8-12",)
    code, out, lines = told(tmp_path / "set" / "plan.json", "10", "--json")
    assert (code, lines) == (0, [])
    document = json.loads(out)
    assert (document["changed"], document["difference"]) == (None, None)
    assert document["relax"] == ["--together 8-12"]


def test_pages_of_the_file_are_kept_or_nothing(folder: Path, plan: Plan, tmp_path: Path) -> None:
    """No other demand than this one stands in the way of a turn inside a page of the file."""
    prepare(folder / "score.musicxml", tmp_path / "set", replace(SMALL, demands=Demands(as_given=True)))
    inside = plan.pages[0].systems[0].first + 1
    found = explain(tmp_path / "set" / "plan.json", f"#{inside}")
    assert found.difference is None
    assert found.relax == ("--as-given",)
    assert "the pages of the file are kept, and none of them ends there" in said(found)
    assert found.neighbours is None


def test_a_picked_plan_is_changed_among_those_alike(quay: Path, plan: Plan, tmp_path: Path) -> None:
    """As `compare` writes it: not the best of its settings, but of all with as many pages and the same ends."""
    score = read_score(quay)
    more = make_plan(score, replace(SMALL, demands=Demands(pages=len(plan.pages) + 2)))
    print_plan(more, score, tmp_path / "set", SMALL)
    found = explain(tmp_path / "set" / "plan.json", f"#{more.pages[0].systems[-1].last}")
    assert found.scope is Scope.ALIKE
    assert found.difference
    assert found.difference.before == layout.from_json((tmp_path / "set" / "plan.json").read_text())
    assert found.difference.cost >= 0
    changed = found.difference.after
    assert len(changed.pages) == len(more.pages)
    assert [len(changed.spreads[end]) for end in (0, -1)] == [len(more.spreads[end]) for end in (0, -1)]
    assert "picked from a comparison" in said(found)
    assert "compare again with --turn-after" in said(found)


def test_a_plan_worse_than_all_alike_is_refused(quay: Path, plan: Plan, tmp_path: Path) -> None:
    score = read_score(quay)
    elsewhere = Demands(no_turn_after=(plan.turns[0].after_bar,), pages=len(plan.pages))
    worse = make_plan(score, replace(SMALL, demands=elsewhere))
    assert worse.spreads == plan.spreads
    print_plan(worse, score, tmp_path / "set", SMALL)
    with pytest.raises(UsageError, match="planning again gives another plan"):
        explain(tmp_path / "set" / "plan.json", "20")


def test_a_strip_moves_the_turn(corpora: Path, tmp_path: Path) -> None:
    prepared = prepare(
        corpora / "harbour-song.musicxml", tmp_path / "set", Settings(strips=Strips.AUTO, staff_mm=6.0)
    )
    (strip,) = prepared.plan.strips
    for after, start in ((strip.after, "Page "), (strip.turn_after, "The player turns after ")):
        found = explain(tmp_path / "set" / "plan.json", f"#{after + 1}")
        assert found.standing.place is Place.TURN
        assert why.sentences(found)[0].startswith(start)
        assert "printed again" in why.sentences(found)[0]
        assert found.difference
        moved = {each.turn_after for each in found.difference.after.strips}
        kept = {each.after for each in found.difference.after.turns if each.to == each.after + 1}
        assert after not in moved | (kept - {each.after for each in found.difference.after.strips})


# --- the command -----------------------------------------------------------------------------------


def test_sentences_come_first_and_tables_after(folder: Path) -> None:
    code, out, lines = told(folder / "plan.json", "5")
    assert (code, lines) == (0, [])
    sentences, turns, pages, terms = out.split("\n\n")
    assert sentences.startswith("There is no turn after bar 5: it stands inside page 2 (bars 1–10), ")
    assert "A turn there would be " in sentences
    assert "Forcing it costs " in sentences.replace("\n", " ")
    assert turns.startswith("turn ")
    assert pages.startswith("page before")
    assert terms.splitlines()[-1].startswith("all, in points")


def test_json_holds_the_whole_changed_plan(folder: Path, plan: Plan) -> None:
    code, out, lines = told(folder / "plan.json", "10", "--json")
    assert (code, lines) == (0, [])
    document: dict[str, Any] = json.loads(out)
    assert document["schema"] == "quietleaf-explain/1"
    assert document["bar"] == {"named": "10", "after": 9, "number": "10"}
    assert (document["question"], document["options"]) == ("force", ["--turn-after 10"])
    changed = layout.from_json(json.dumps(document["changed"]))
    assert 9 in {turn.after for turn in changed.turns}
    assert layout.origin_from_json(json.dumps(document["changed"])).settings.demands.turn_after == ("10",)
    objective = document["difference"]["objective"]
    assert objective["before"] == plan.solver.objective
    assert objective["more"] == changed.solver.objective - plan.solver.objective >= 0


@pytest.mark.parametrize(
    ("points", "words"),
    [
        (780, "nearly as much as a turn at which notes are lost"),
        (1000, "about as much as a turn at which notes are lost"),
        (1400, "about half as much again as a turn at which notes are lost"),
        (1900, "about as much as two turns at which notes are lost"),
        (125, "about as much as two pages more"),
    ],
)
def test_the_yardstick_tells_800_points_from_1400(points: int, words: str) -> None:
    """Costs are in hundredths; 1000 points are a turn at which notes are lost, 60 a page (README, layout/objective)."""
    assert _scale(points * 100) == words


def test_a_bar_is_named_as_in_the_demands(corpora: Path) -> None:
    score = read_score(corpora / "two-harbour-pictures.musicxml")
    first, second = (why.bar_of(score, bar) for bar in ("1:5", "2:5"))
    assert score.measures[first].movement == 0
    assert score.measures[second].movement == 1
    assert why.bar_of(score, f"#{second + 1}") == second
    for bar, says in (
        ("5", "2 bars have this number; write 1:5 or 2:5"),
        ("9999", "the piece has no such bar"),
        ("#9999", "the file has measures #1 to #"),
        (f"#{len(score.measures)}", "the piece ends there"),
    ):
        with pytest.raises(UsageError, match=f"^BAR {bar}: {says}"):
            why.bar_of(score, bar)


def test_a_plan_of_an_earlier_version_is_told(folder: Path, tmp_path: Path) -> None:
    document = json.loads((folder / "plan.json").read_text())
    del document["settings"]
    old = tmp_path / "plan.json"
    old.write_text(json.dumps(document))
    code, _, lines = told(old, "10")
    assert (code, len(lines)) == (2, 1)
    assert "made by an earlier version" in lines[0]
    assert "run prepare again" in lines[0]
    assert layout.from_json(old.read_text())  # other readers go on taking it


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "not a plan"),
        ("[" * 100_000, "not a plan"),
        ("[]", "not a plan"),
        ('{"schema": "something else/7"}', "schema something else/7"),
        ("\udcff", "is not a plan.json"),
    ],
)
def test_what_is_no_plan_is_told(tmp_path: Path, text: str, says: str) -> None:
    (tmp_path / "plan.json").write_bytes(text.encode("utf-8", "surrogateescape"))
    code, _, lines = told(tmp_path / "plan.json", "10")
    assert (code, len(lines)) == (2, 1)
    assert says in lines[0]


@pytest.mark.parametrize(
    ("path", "number", "says"),
    [
        (("desk", "pages_abreast"), "Infinity", "not a plan"),
        (("staff_mm",), "9" * 400, "not a plan"),
        (("settings", "staff_mm"), "9" * 400, "settings cannot be read"),
        (("settings", "paper", "width_mm"), "1e999", "settings cannot be read"),
        (("settings", "turns", "quick_s"), "NaN", "settings cannot be read"),
    ],
)
def test_numbers_beyond_all_bounds_are_told(
    tmp_path: Path, folder: Path, path: Sequence[str], number: str, says: str
) -> None:
    document = json.loads((folder / "plan.json").read_text())
    inside = document
    for name in path[:-1]:
        inside = inside[name]
    inside[path[-1]] = "here"
    (tmp_path / "plan.json").write_text(json.dumps(document).replace('"here"', number))
    code, _, lines = told(tmp_path / "plan.json", "10")
    assert (code, len(lines)) == (2, 1)
    assert says in lines[0]


def test_a_plan_that_is_not_there_is_told(tmp_path: Path, folder: Path) -> None:
    for path, says in ((tmp_path / "plan.json", "does not exist"), (folder, "is a folder")):
        code, _, lines = told(path, "10")
        assert (code, len(lines)) == (2, 1)
        assert says in lines[0]


def test_a_score_that_is_not_the_plans_is_told(folder: Path, corpora: Path, tmp_path: Path) -> None:
    code, _, lines = told(folder / "plan.json", "10", "--score", corpora / "three-lamps.musicxml")
    assert (code, len(lines)) == (2, 1)
    assert "other notes than the plan was made for" in lines[0]
    (tmp_path / "plan.json").write_text((folder / "plan.json").read_text())
    code, _, lines = told(tmp_path / "plan.json", "10")
    assert (code, len(lines)) == (2, 1)
    assert "name the score with --score" in lines[0]


def test_a_plan_that_its_settings_do_not_give_is_told(folder: Path, quay: Path, tmp_path: Path) -> None:
    document = json.loads((folder / "plan.json").read_text())
    document["settings"]["weights_percent"] = {"turns": 1}
    (tmp_path / "plan.json").write_text(json.dumps(document))
    code, _, lines = told(tmp_path / "plan.json", "10", "--score", quay)
    assert (code, len(lines)) == (2, 1)
    assert "planning again gives another plan" in lines[0]
