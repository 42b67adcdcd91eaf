"""The whole job, one line a stage.

In: a score file and settings.  Out: the files of FILES, all or none.  Progress names the
same stages as the functions here.  Always true: a plan that leaves this module has passed layout/check.py and its
systems, as drawn, fit their pages.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from io import BytesIO
from itertools import pairwise
from pathlib import Path
from typing import Final, Literal

from optimizer import layout, press, why
from optimizer.compare import alternatives, listing
from optimizer.compare.command import command
from optimizer.compare.model import Alternative, Choices, Comparison, usual_staffs_mm
from optimizer.compare.web import write_page
from optimizer.engrave.engraver import ScoreEngraver
from optimizer.engrave.model import Engraved, Engraver, Measured
from optimizer.engrave.pair import PairEngraver
from optimizer.errors import QuietleafError, UsageError
from optimizer.layout import Plan, Problem
from optimizer.layout.geometry import PageGeometry
from optimizer.layout.patterns import PageSide
from optimizer.layout.problem import Reach
from optimizer.memory import no_search_for_garbage
from optimizer.output import Writer, check_free, write_one, write_together, writes
from optimizer.parts.instruments import player_of
from optimizer.progress import Progress, silent
from optimizer.score import PageBox, Score, ScoreFile, load_file, score_from, with_layout
from optimizer.score.key import with_key
from optimizer.score.movements import Titles, foreseen_titles, printed_titles
from optimizer.settings import Margins, Paper, Settings, Strips, pages_abreast
from optimizer.turns import (
    Player,
    StepCost,
    barline_costs,
    chart_readings,
    reach_costs,
    step_costs,
    strip_turns,
)
from optimizer.why import Explained

COMPARISON_FILES: Final = ("compare.html", "compare.json", "compare.csv")
FILES: Final = ("pages.pdf", "guide.pdf", "label.pdf", "turnsheet.pdf", "plan.json", "score.musicxml")
CHART_FORMS: Final[Mapping[str, Literal["pdf", "svg"]]] = {".pdf": "pdf", ".svg": "svg"}
# A round feeds the real heights of drawn systems back. Each adds facts about systems, so it ends; one or two rounds
# settled every score tried.
MAX_ROUNDS: Final = 12


@dataclass(frozen=True, slots=True)
class Prepared:
    """What `prepare` made. `rounds`: how often real heights had to be fed back and solved again (0: never)."""

    score: Score
    player_text: str
    settings: Settings
    plan: Plan
    rounds: int
    warnings: tuple[str, ...]
    files: tuple[Path, ...]


@dataclass(frozen=True, slots=True)
class FoundTurns:
    """How hard a turn is at every inner barline of a score, in written order."""

    score: Score
    player_text: str
    costs: tuple[StepCost, ...]


@dataclass(frozen=True, slots=True)
class Compared:
    """What `compare` made. `picked`: the alternative that was printed, if any; `kept`: files of the same comparison
    that were there already."""

    comparison: Comparison
    picked: Alternative | None
    files: tuple[Path, ...]
    kept: tuple[Path, ...]


@dataclass(frozen=True, slots=True)
class Job:
    """A score read, its key found, and measured: all that planning and printing need."""

    file: ScoreFile
    score: Score
    player: Player
    settings: Settings
    engraver: Engraver
    measured: Measured
    problem: Problem

    def otherwise(self, settings: Settings) -> "Job":
        """The same on other paper, desk or binding, without measuring again: player and turns stay what they are."""
        reach = self.problem.reach
        if _lying(settings) != _lying(self.settings):
            reach = _reach(self.score, self.player, settings)
        problem = _problem(self.score, self.player, self.measured, self.problem.steps, reach, settings)
        return replace(self, settings=settings, problem=problem)


@dataclass(frozen=True, slots=True)
class Drawn:
    """A plan and its systems, drawn and found to fit."""

    plan: Plan
    engraved: Engraved
    rounds: int


@no_search_for_garbage()
def prepare(
    path: Path, folder: Path, settings: Settings, *, replace: bool = False, progress: Progress = silent
) -> Prepared:
    """Plan a score's pages and write all FILES into `folder`.

    ScoreError, UsageError or NoLayoutError as errors.py says; nothing is written then.
    """
    check_free((folder / name for name in FILES), replace)
    job = open_job(path, settings, progress)
    made: dict[str, bytes] = {}
    drawn = plan_and_draw(job, progress, lambda plan: made.update(without_music(job, plan, progress)))
    files = write_together(folder, writers(job, drawn, made, progress), replace)
    warnings = (*job.score.warnings, *press.warnings(job.score, drawn.plan, settings, drawn.engraved))
    return Prepared(job.score, job.player.text, settings, drawn.plan, drawn.rounds, warnings, files)


def print_plan(
    plan: Plan,
    file: ScoreFile,
    score: Score,
    folder: Path,
    settings: Settings,
    *,
    replace: bool = False,
    progress: Progress = silent,
) -> tuple[Path, ...]:
    """Print a plan made earlier from the same score with the same settings; UsageError when it fits neither."""
    check_free((folder / name for name in FILES), replace)
    job = measure(file, score, settings, progress)
    laid_out = [n for page in plan.pages for s in page.systems for n in range(s.first, s.last + 1)]
    if laid_out != list(range(len(score.measures))):
        raise _not_its_plan(score, f"it has {len(laid_out)} bars, the score {len(score.measures)}")
    if not layout.knows_strips(job.problem, plan):
        raise _not_its_plan(score, "it prints other bars again")
    engraved = draw(job, plan, progress)
    problem = job.problem.with_measured_heights(engraved.systems, engraved.strips)
    if trouble := layout.misfit(problem, plan) or overflow(job, plan, engraved):
        raise _not_its_plan(score, trouble)
    return _print(job, Drawn(plan, engraved, 0), folder, replace, progress)


def explain(
    plan_path: Path, bar: str, *, score_path: Path | None = None, progress: Progress = silent
) -> Explained:
    """Why a plan.json has a turn after a bar, or none, and what the contrary would change.

    UsageError where the plan, the bar or the score (by default the plan's own score.musicxml) will not do.
    """
    plan, origin = why.read_plan(plan_path)
    if origin.settings.in_ensemble:
        raise UsageError(
            f"{plan_path}: was planned together with other parts, which explain does not weigh; prepare the part's own "
            "score.musicxml and ask its plan"
        )
    progress("reading the score")
    file, score = why.score_of(plan_path, origin, score_path)
    after = why.bar_of(score, bar)
    job = measure(file, score, origin.settings, progress)

    def planned(problem: Problem) -> tuple[Plan, Engraved]:
        drawn = plan_and_draw(replace(job, problem=problem), progress)
        return drawn.plan, drawn.engraved

    again = why.found_again(plan_path, plan, job.problem, planned)
    question = why.ask(origin.settings, score, bar, after, why.standing(plan, after).place)
    problem = job.otherwise(question.settings).problem
    changed, scope = again.changed(problem, planned)
    turn = barline_costs(score, job.player, origin.settings.turns)[after]
    return why.explained(
        job.score, job.player, question, after, plan, changed, scope, again.known(problem), turn
    )


def _not_its_plan(score: Score, trouble: str) -> UsageError:
    return UsageError(
        f"{score.path}: the plan was made for another score or other settings ({trouble}); make it again"
    )


def turns(
    path: Path,
    settings: Settings,
    *,
    picture: Path | None = None,
    replace: bool = False,
    progress: Progress = silent,
) -> FoundTurns:
    """Cost of a turn at every barline; draws `picture` (.pdf or .svg) when one is named."""
    if picture and picture.suffix.lower() not in CHART_FORMS:
        raise UsageError(f"--picture {picture}: the name must end in {' or '.join(CHART_FORMS)}")
    check_free((picture,) if picture else (), replace)
    progress("reading the score")
    file = load_file(path)
    score = score_from(file, default_tempo=settings.turns.default_tempo)
    player = player_of(file.root, score, settings)
    progress("weighing turns")
    costs = barline_costs(score, player, settings.turns)
    if picture:
        progress("drawing the picture")
        readings = chart_readings(score, player, costs, settings.turns)
        form = CHART_FORMS[picture.suffix.lower()]
        draw = press.draw_chart
        write_one(
            picture, lambda to: draw(to, form, score.title, player.text, readings, settings.turns), replace
        )
    return FoundTurns(score, player.text, costs)


@no_search_for_garbage()
def compare(
    path: Path,
    folder: Path,
    choices: Choices,
    settings: Settings,
    *,
    pick: int | None = None,
    replace: bool = False,
    progress: Progress = silent,
) -> Compared:
    """Write COMPARISON_FILES into `folder` and, for the alternative numbered `pick`, FILES: all or none.

    With `pick`, those of the same comparison may be there already and are kept. The errors of `prepare`; UsageError
    also where there is no such number.
    """
    targets = tuple(folder / name for name in COMPARISON_FILES)
    there = pick is not None and not replace and all(target.is_file() for target in targets)
    check_free(() if there else targets, replace)
    check_free((folder / name for name in FILES) if pick is not None else (), replace)
    job, found = _compare(path, folder, choices, settings, progress)
    if there and not listing.is_of((folder / "compare.json").read_text(encoding="utf-8"), found):
        raise UsageError(f"{folder}: holds another comparison; add --replace or write elsewhere")
    picked = _picked(found, pick)
    files = {} if there else dict(_comparison_writers(found))
    if picked:
        drawing = found.drawings[found.alternatives.index(picked)]
        own = job.otherwise(picked.settings)
        made = without_music(own, picked.plan, progress)
        files |= writers(own, Drawn(picked.plan, drawing.engraved, 0), made, progress)
    progress("drawing the comparison")
    return Compared(found, picked, write_together(folder, files, replace), targets if there else ())


def _picked(found: Comparison, pick: int | None) -> Alternative | None:
    """The alternative of that number."""
    if pick is None:
        return None
    for alternative in found.alternatives:
        if alternative.number == pick:
            return alternative
    last = found.alternatives[-1].number
    raise UsageError(
        f"--pick {pick}: " + (f"there are alternatives 1 to {last}" if last > 1 else "there is only 1")
    )


def _comparison_writers(found: Comparison) -> Mapping[str, Writer]:
    """What writes each of COMPARISON_FILES."""
    return {
        "compare.html": lambda to: write_page(to, found),
        "compare.json": writes(listing.json_text(found).encode()),
        "compare.csv": writes(listing.csv_text(found).encode()),
    }


@no_search_for_garbage()
def compare_plans(
    path: Path, choices: Choices, settings: Settings, progress: Progress = silent
) -> Comparison:
    """Every plan worth looking at, for all desks, papers, bindings and staff sizes of `choices`; the errors of
    `prepare`."""
    return _compare(path, Path(path.stem), choices, settings, progress)[1]


def _compare(
    path: Path, folder: Path, choices: Choices, settings: Settings, progress: Progress
) -> tuple[Job, Comparison]:
    """The comparison, which is for this folder, and the score as it was measured for it."""
    each = [
        replace(settings, desk=desk, paper=paper, binding=binding, staff_mm=None)
        for desk in dict.fromkeys(choices.desks)
        for paper in dict.fromkeys(choices.papers)
        for binding in dict.fromkeys(choices.bindings)
    ]
    widest = max(choices.desks, key=lambda desk: desk.width_mm)
    job = open_job(path, replace(each[0], desk=widest), progress)
    wide = {(one.paper, one.binding): job.otherwise(replace(one, desk=widest)).problem for one in each}
    problems = [
        (one, wide[one.paper, one.binding].narrowed(pages_abreast(one.desk, one.paper))) for one in each
    ]
    found = alternatives.compare(
        job.score, job.engraver, problems, _staffs_mm(job, choices, settings), progress
    )
    return job, Comparison(
        score=job.score,
        player_text=job.player.text,
        costs=barline_costs(job.score, job.player, settings.turns),
        alternatives=found.alternatives,
        drawings=found.drawings,
        tally=found.tally,
        command=command(path, folder, choices, settings),
        warnings=(*job.score.warnings, *found.warnings),
    )


def _staffs_mm(job: Job, choices: Choices, settings: Settings) -> tuple[float, ...]:
    """The staff sizes to compare, largest first; UsageError for one that cannot be printed."""
    chosen = choices.staffs_mm or ((settings.staff_mm,) if settings.staff_mm else ())
    staffs_mm = chosen or usual_staffs_mm(job.problem.staves)
    for staff_mm in staffs_mm:
        replace(settings, staff_mm=staff_mm)
    return tuple(sorted(set(staffs_mm), reverse=True))


def open_job(path: Path, settings: Settings, progress: Progress = silent) -> Job:
    """Read the score, weigh its turns and measure its bars."""
    progress("reading the score")
    file = load_file(path)
    titles = foreseen_titles(file.root)
    early = begin_engraver(file, titles, settings) if titles else None  # which begins at once, beside us
    score = score_from(file, default_tempo=settings.turns.default_tempo)
    engraver = (
        early
        if early and titles == printed_titles(score)
        else begin_engraver(file, printed_titles(score), settings)
    )
    return weigh_and_measure(file, score, engraver, settings, progress)


def measure(file: ScoreFile, score: Score, settings: Settings, progress: Progress = silent) -> Job:
    """Weigh the turns of a score that has been read, and measure its bars."""
    return weigh_and_measure(
        file, score, begin_engraver(file, printed_titles(score), settings), settings, progress
    )


def weigh_and_measure(
    file: ScoreFile, score: Score, engraver: Engraver, settings: Settings, progress: Progress
) -> Job:
    player = player_of(file.root, score, settings)
    progress("weighing turns")
    steps, reach = step_costs(score, player, settings.turns), _reach(score, player, settings)
    score = with_key(score)
    progress("measuring bars")
    measured = engraver.measure()
    problem = _problem(score, player, measured, steps, reach, settings)
    return Job(file, score, player, settings, engraver, measured, problem)


def _lying(settings: Settings) -> tuple[Paper, int]:
    """How pages lie on the desk."""
    return settings.paper, pages_abreast(settings.desk, settings.paper)


def _reach(score: Score, player: Player, settings: Settings) -> Reach:
    """How far every bar is from the hands, on each page of the spreads that this desk takes."""
    abreast = pages_abreast(settings.desk, settings.paper)
    return reach_costs(score, player, abreast, settings.paper.width_mm)


def _problem(
    score: Score,
    player: Player,
    measured: Measured,
    steps: Sequence[StepCost],
    reach: Reach,
    settings: Settings,
) -> Problem:
    """What is to be laid out, on this desk and paper and in this binding, with or without carry strips."""
    geometry = press.page_geometry(score, settings)
    problem = layout.make_problem(score, measured, steps, reach, geometry, settings)
    if settings.strips is Strips.NEVER:
        return problem
    moved = strip_turns(score, player, settings.turns, layout.MOST_BARS)
    return layout.with_strips(problem, moved, settings.strips)


def begin_engraver(file: ScoreFile, titles: Titles, settings: Settings) -> Engraver:
    name, marks = file.path.name, settings.playback_marks
    return PairEngraver(lambda: ScoreEngraver(file.root, name=name, playback_marks=marks, titles=titles))


def plan_and_draw(
    job: Job, progress: Progress = silent, meanwhile: Callable[[Plan], object] = lambda plan: None
) -> Drawn:
    """Plan, draw, and where a drawn page turns out too high, plan again with the real heights. `meanwhile`: what else
    there is to do with each plan while the other process draws it."""
    problem = job.problem
    for rounds in range(MAX_ROUNDS):
        progress("choosing pages and turns", rounds / MAX_ROUNDS)
        plan = layout.solve(problem)
        engraved = draw(job, plan, progress, meanwhile)
        if not overflow(job, plan, engraved):
            return Drawn(plan, engraved, rounds)
        problem = problem.with_measured_heights(engraved.systems, engraved.strips)
    raise QuietleafError(
        f"{job.score.path}: pages still overflow after {MAX_ROUNDS} rounds; please report this score"
    )


def overflow(job: Job, plan: Plan, engraved: Engraved) -> str:
    """Which pages are too high as drawn, in words; empty when all fit."""
    pages = press.overflowing_pages(job.score, plan, engraved, job.problem.geometry)
    return f"page {', '.join(map(str, pages))} overflows" if pages else ""


def draw(
    job: Job, plan: Plan, progress: Progress, meanwhile: Callable[[Plan], object] = lambda plan: None
) -> Engraved:
    """The systems of a plan; `meanwhile`: what else there is to do with it."""
    drawing = begin_to_draw(job, plan)
    meanwhile(plan)
    progress("engraving systems")
    return drawing()


def begin_to_draw(job: Job, plan: Plan) -> Callable[[], Engraved]:
    """Start to draw the systems of a plan; what comes back gives them, strips included."""
    drawing = job.engraver.begin(layout.system_spans(job.problem, plan))

    def drawn() -> Engraved:
        systems = drawing()
        if not plan.strips:
            return systems
        again = job.engraver.draw_strips(layout.strip_spans(job.problem, plan))
        return Engraved(systems.systems, {**again.glyphs, **systems.glyphs}, again.strips)

    return drawn


def _print(job: Job, drawn: Drawn, folder: Path, replace: bool, progress: Progress) -> tuple[Path, ...]:
    """Write all files, or none."""
    made = without_music(job, drawn.plan, progress)
    return write_together(folder, writers(job, drawn, made, progress), replace)


def writers(job: Job, drawn: Drawn, made: Mapping[str, bytes], progress: Progress) -> Mapping[str, Writer]:
    """What writes each of FILES, of which those without music are made already."""
    geometry, settings = job.problem.geometry, job.settings

    def pages(to: Path) -> None:
        press.print_pages(to, job.score, drawn.plan, drawn.engraved, geometry, settings, job.player, progress)

    return {name: writes(made[name]) if name in made else pages for name in FILES}


def without_music(job: Job, plan: Plan, progress: Progress) -> Mapping[str, bytes]:
    """The files that need no drawn systems."""
    score, settings = job.score, job.settings
    made: dict[str, bytes] = {
        "plan.json": layout.to_json(plan, score, job.player.as_json(score), settings).encode(),
        "score.musicxml": _with_layout(job.file, plan, job.problem.geometry),
    }
    for name, print_sheets in (
        ("guide.pdf", press.print_guide),
        ("label.pdf", press.print_label),
        ("turnsheet.pdf", press.print_turn_sheet),
    ):
        target = BytesIO()
        print_sheets(target, score, plan, settings, progress)
        made[name] = target.getvalue()
    return made


def _with_layout(file: ScoreFile, plan: Plan, geometry: PageGeometry) -> bytes:
    """The score with the plan's breaks, blank pages, page size, margins and scaling."""
    systems: Sequence[tuple[int, int, bool]] = [
        (system.first, system.last, system is page.systems[0])
        for page in plan.pages
        for system in page.systems
    ]
    after_blank = [
        page.systems[0].first for before, page in pairwise(plan.pages) if before.blank and page.systems
    ]
    box = PageBox(geometry.paper, _margins(plan, geometry, 0), _margins(plan, geometry, 1))
    return with_layout(file.root, systems, plan.staff_mm, box, after_blank)


def _margins(plan: Plan, geometry: PageGeometry, start: int) -> Margins:
    """The margins of every second page from here on; readers of the file count pages from its first one."""
    sides = [plan.side(page.number) for page in plan.pages[start::2]]
    bound = [side for side in sides if side is not PageSide.FOLD_OUT]
    return geometry.on((bound or sides or [PageSide.RIGHT])[0]).margins
