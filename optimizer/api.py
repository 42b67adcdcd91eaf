"""The functions of the public API; see the package's docstring.

In: paths, scores, settings.  Out: the frozen dataclasses of the stages.  All raise the errors of errors.py.
"""

from pathlib import Path

from optimizer import pipeline
from optimizer.compare.model import Choices, Comparison
from optimizer.errors import UsageError
from optimizer.layout.plan import Plan
from optimizer.parts import prepare as parts
from optimizer.parts.instruments import player_of
from optimizer.parts.model import PartsSettings
from optimizer.parts.prepare import PreparedParts
from optimizer.progress import Progress, silent
from optimizer.score import Score, ScoreFile, load_file, score_from
from optimizer.settings import DEFAULT_TEMPO, Settings
from optimizer.turns import StepCost, barline_costs


def read_score(path: str | Path, *, default_tempo: float = DEFAULT_TEMPO) -> Score:
    """Read a .musicxml, .xml or .mxl file; `default_tempo` in quarters a minute where it says nothing: what the
    other functions then go by, not `Settings.turns.default_tempo`."""
    return score_from(load_file(Path(path)), default_tempo=default_tempo)


def turn_costs(score: Score, settings: Settings | None = None) -> tuple[StepCost, ...]:
    """The cost of a turn at each inner barline: element i stands for the barline after measure i."""
    settings = settings or Settings()
    player = player_of(_unchanged(score).root, score, settings)
    return barline_costs(score, player, settings.turns)


def make_plan(score: Score, settings: Settings | None = None, *, progress: Progress = silent) -> Plan:
    """The best plan for a score's pages; engraved once to see that they hold it, nothing is written."""
    job = pipeline.measure(_unchanged(score), score, settings or Settings(), progress)
    return pipeline.plan_and_draw(job, progress).plan


def print_plan(
    plan: Plan,
    score: Score,
    folder: str | Path,
    settings: Settings | None = None,
    *,
    replace: bool = False,
    progress: Progress = silent,
) -> tuple[Path, ...]:
    """Write all files of a plan (`pipeline.FILES`), or none; the same settings as for it."""
    file = _unchanged(score)
    return pipeline.print_plan(
        plan, file, score, Path(folder), settings or Settings(), replace=replace, progress=progress
    )


def compare_plans(
    path: str | Path, choices: Choices, settings: Settings | None = None, *, progress: Progress = silent
) -> Comparison:
    """The plans of a score that no other one for the same desk and paper beats, drawn; nothing is written. Desk, paper,
    binding and staff size are those of `choices`, all else is in `settings`."""
    return pipeline.compare_plans(Path(path), choices, settings or Settings(), progress)


def prepare_parts(
    path: str | Path,
    folder: str | Path,
    settings: PartsSettings | None = None,
    *,
    replace: bool = False,
    progress: Progress = silent,
) -> PreparedParts:
    """Plan the parts of a score together and write them, each in a folder of its own, with what concerns them all; or
    nothing. By default stapled, on folding stands."""
    settings = settings or PartsSettings(Settings(binding="stapled"))
    return parts.prepare_parts(Path(path), Path(folder), settings, replace=replace, progress=progress)


def _unchanged(score: Score) -> ScoreFile:
    """The score's file; UsageError when it is no longer the one that was read."""
    file = load_file(Path(score.path))
    if file.sha256 != score.sha256:
        raise UsageError(f"{file.path}: has changed since it was read; read it again")
    return file
