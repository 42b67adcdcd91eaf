"""From a full score to a set of parts: taken out, planned together, printed.

In: a score file and settings.  Out: a folder for each part with the files of `prepare`, and what concerns all of
them; all or none.  Always true: every plan has passed layout/check.py and its systems, as drawn, fit their pages; all
parts go by the clock of the full score.
"""

import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from typing import Final, TypeVar

from optimizer import pipeline, press
from optimizer.engrave.model import Engraver
from optimizer.errors import QuietleafError, UsageError
from optimizer.layout import Plan
from optimizer.layout.demands import Demand, Kind
from optimizer.layout.joint import Joint, JointReport, Limit, solve_together
from optimizer.memory import no_search_for_garbage
from optimizer.output import Writer, check_free, write_together, writes
from optimizer.parts.document import json_text
from optimizer.parts.extract import extract, in_time
from optimizer.parts.levels import applied, staff_sizes_mm
from optimizer.parts.limits import limits, shared_copy
from optimizer.parts.model import Extracted, MovementStart, PartsSettings
from optimizer.parts.names import file_name, folded, shortened
from optimizer.parts.rehearsal import kept_off_marks, marked_measures
from optimizer.parts.timeline import Ensemble, ensemble
from optimizer.pipeline import FILES, MAX_ROUNDS, Drawn, Job
from optimizer.progress import Progress, silent
from optimizer.score import Score, load_file, score_from
from optimizer.score.key import with_key
from optimizer.score.movements import printed_titles

ENSEMBLE_FILES: Final = ("ensemble.pdf", "ensemble.json")
_PART_FOLDER: Final = re.compile(r"\d+-.")

T = TypeVar("T")
R = TypeVar("R")


@dataclass(frozen=True, slots=True)
class PreparedParts:
    """What `prepare_parts` made. `together` and `apart`: the ensemble as planned, and as it would be had each part been
    planned alone; `folders`: of each part; `rounds`: how often real heights had to be fed back."""

    together: Ensemble
    apart: Ensemble
    report: JointReport
    folders: tuple[str, ...]
    rounds: int
    warnings: tuple[str, ...]
    files: tuple[Path, ...]


@dataclass(frozen=True, slots=True)
class Members:
    """The parts, ready to be planned, and what should not happen at once."""

    parts: tuple[Extracted, ...]
    jobs: tuple[Job, ...]
    limits: tuple[Limit, ...]


@dataclass(frozen=True, slots=True)
class Planned:
    """Plans that fit as drawn."""

    joint: Joint
    drawn: tuple[Drawn, ...]
    rounds: int


@no_search_for_garbage()
def prepare_parts(
    path: Path, folder: Path, settings: PartsSettings, *, replace: bool = False, progress: Progress = silent
) -> PreparedParts:
    """Plan the parts of a score together and write FILES for each, in a folder of its own, and ENSEMBLE_FILES.

    ScoreError, UsageError or NoLayoutError as errors.py says; nothing is written then.
    """
    settings = applied(settings)
    progress("reading the score")
    file = load_file(path)
    full = with_key(score_from(file, default_tempo=settings.paper.turns.default_tempo))
    parts = extract(file, full, settings)
    _check_called(full, parts, settings)
    folders = folder_names([part.name for part in parts])
    names = [f"{each}/{name}" for each in folders for name in FILES]
    check_free((folder / name for name in (*names, *ENSEMBLE_FILES)), replace)
    members = measure_parts(full, parts, settings, progress)
    found = plan_parts(members, settings, progress)
    scores = [job.score for job in members.jobs]
    together = ensemble(full, file.root, parts, scores, found.joint.plans, settings.paper)
    apart = ensemble(full, file.root, parts, scores, found.joint.apart, settings.paper)
    report = found.joint.report
    writers = dict(_part_writers(members, found.drawn, folders, progress))
    writers["ensemble.pdf"] = partial(
        press.print_ensemble, together=together, apart=apart, report=report, settings=settings.paper
    )
    writers["ensemble.json"] = writes(json_text(together, apart, report, folders).encode())
    files = write_together(folder, writers, replace)
    warnings = (*_warnings(full, members, found), *_left_over(folder, folders))
    return PreparedParts(together, apart, report, folders, found.rounds, warnings, files)


def _check_called(full: Score, parts: Sequence[Extracted], settings: PartsSettings) -> None:
    """UsageError where the user names a part that there is not."""
    known = {part.name for part in parts} | {part.part_id for part in parts}
    for part in full.parts:
        known |= {part.name, str(part.index + 1)}
    known = {folded(name) for name in known}
    for option, names in (("--players", settings.players), ("--split", settings.split)):
        for name in names:
            if folded(name) not in known:
                every = ", ".join(
                    f"{part.index + 1} {shortened(part.name or part.id)}" for part in full.parts
                )
                raise UsageError(
                    f"{option} {shortened(name)}: no such part; use a name, an id or a number of: {every}"
                )


def folder_names(names: Sequence[str]) -> tuple[str, ...]:
    """A folder for each part, in the order of the score: "1-violin-i", from 10 parts on "01-violin-i"."""
    width = len(str(len(names)))
    return tuple(f"{number:0{width}}-{file_name(name) or 'part'}" for number, name in enumerate(names, 1))


def _left_over(folder: Path, folders: Sequence[str]) -> Iterator[str]:
    """A warning where parts of an earlier set lie among these: somebody would print them too."""
    plans = (path.parent.name for path in folder.glob("*/plan.json"))
    others = sorted(name for name in plans if _PART_FOLDER.match(name) and name not in folders)
    if others:
        yield f"{folder}: parts of another set lie here too: {', '.join(others)}; remove them, or write elsewhere"


def measure_parts(
    full: Score, parts: Sequence[Extracted], settings: PartsSettings, progress: Progress
) -> Members:
    """The parts measured; the next one's second process is at work while one is waited for."""
    jobs = []
    begun = _one_ahead(parts, partial(_begun, full, settings))
    for part, (score, engraver) in zip(parts, begun, strict=True):
        job = pipeline.weigh_and_measure(part.file, score, engraver, settings.paper, _of(part, progress))
        engraver.rest()
        jobs.append(_as_a_part(job, part, settings))
    progress("weighing who turns at once")
    found = limits(parts, [job.score for job in jobs], [job.problem.steps for job in jobs])
    return Members(tuple(parts), tuple(jobs), found)


def _begun(full: Score, settings: PartsSettings, part: Extracted) -> tuple[Score, Engraver]:
    own = score_from(part.file, default_tempo=settings.paper.turns.default_tempo)
    score = replace(in_time(own, full, part.first_bars), key=full.key, copies=part.desks)
    return score, pipeline.begin_engraver(part.file, printed_titles(score), settings.paper)


def _as_a_part(job: Job, part: Extracted, settings: PartsSettings) -> Job:
    """The job with the staff sizes of parts, turns kept off rehearsal marks, and easier for two at a desk; movements on
    pages of their own where the user wants that."""
    steps = map(shared_copy, job.problem.steps) if part.all_share else job.problem.steps
    wanted = settings.movements is MovementStart.PAGE
    pages = (Demand("--movements page", Kind.NEW_PAGE, start, start) for start in job.problem.movement_starts)
    problem = replace(
        job.problem,
        demands=(*job.problem.demands, *(pages if wanted else ())),
        staff_sizes_mm=staff_sizes_mm(settings, job.problem.staves),
        steps=kept_off_marks(tuple(steps), marked_measures(job.file.root)),
    )
    return replace(job, problem=problem)


def _one_ahead(items: Iterable[T], begin: Callable[[T], R]) -> Iterator[R]:
    """What has been begun, each item when the one before it is asked for."""
    ahead: list[R] = []
    for item in items:
        ahead.append(begin(item))
        if len(ahead) > 1:
            yield ahead.pop(0)
    yield from ahead


def plan_parts(members: Members, settings: PartsSettings, progress: Progress) -> Planned:
    """Plan together, draw, and where a drawn page turns out too high, plan again with the real heights."""
    problems = [job.problem for job in members.jobs]
    joint: Joint | None = None
    names = [part.name for part in members.parts]
    for rounds in range(MAX_ROUNDS):
        joint = solve_together(
            problems,
            members.limits,
            names=names,
            time_limit_s=settings.time_limit_s,
            before=joint,
            progress=progress,
        )
        drawn = tuple(_drawn(members, joint.plans, rounds, progress))
        high = [
            bool(pipeline.overflow(job, each.plan, each.engraved))
            for job, each in zip(members.jobs, drawn, strict=True)
        ]
        if not any(high):
            return Planned(joint, drawn, rounds)
        problems = [
            problem.with_measured_heights(each.engraved.systems, each.engraved.strips)
            if too_high
            else problem
            for problem, each, too_high in zip(problems, drawn, high, strict=True)
        ]
    raise QuietleafError(
        f"{members.parts[0].file.path}: pages still overflow after {MAX_ROUNDS} rounds; please report this score"
    )


def _drawn(members: Members, plans: Sequence[Plan], rounds: int, progress: Progress) -> Iterator[Drawn]:
    """The systems of all plans; the next part's second process draws while one is read."""
    each = list(zip(members.jobs, plans, strict=True))
    begun = _one_ahead(each, lambda member: pipeline.begin_to_draw(*member))
    for (job, plan), drawing, part in zip(each, begun, members.parts, strict=True):
        progress(f"{part.name}: engraving systems")
        yield Drawn(plan, drawing(), rounds)
        job.engraver.rest()


def _part_writers(
    members: Members, drawn: Sequence[Drawn], folders: Sequence[str], progress: Progress
) -> Iterator[tuple[str, Writer]]:
    """What writes the files of each part."""
    for part, job, each, folder in zip(members.parts, members.jobs, drawn, folders, strict=True):
        tell = _of(part, progress)
        made = pipeline.without_music(job, each.plan, tell)
        for name, write in pipeline.writers(job, each, made, tell).items():
            yield f"{folder}/{name}", write


def _warnings(full: Score, members: Members, found: Planned) -> Iterator[str]:
    """Those of the score once, then each part's own under its name."""
    yield from full.warnings
    for part, job, each in zip(members.parts, members.jobs, found.drawn, strict=True):
        own = (*job.score.warnings, *press.warnings(job.score, each.plan, job.settings, each.engraved))
        yield from (f"{part.name}: {text}" for text in own if text not in full.warnings)


def _of(part: Extracted, progress: Progress) -> Progress:
    """Progress that says whose it is."""

    def tell(stage: str, done: float = 0.0) -> None:
        progress(f"{part.name}: {stage}", done)

    return tell
