"""The question to a plan: where its bar is, what the contrary of the plan demands, and whether the score is its own.

In: `Origin`, `Score`, `Plan`, the bar as the user names it.  Out: a measure, changed settings, an error.  Measures are
0-based.  Always true: bars are found as the demands of `prepare` find them.
"""

from dataclasses import replace
from pathlib import Path
from typing import Final

from optimizer.errors import UsageError
from optimizer.layout.demands import find_end
from optimizer.layout.origin import Origin, origin_from_json
from optimizer.layout.plan import Plan, from_json
from optimizer.score import ScoreFile, load_file, score_from, with_breaks
from optimizer.score.fingerprint import fingerprint
from optimizer.score.model import Score
from optimizer.score.rewrite import Break
from optimizer.settings import Settings
from optimizer.why.model import Asked, Place, Question

OWN_SCORE: Final = "score.musicxml"  # what `prepare` writes beside plan.json


def _read_text(path: Path) -> str:
    """The text of a plan.json."""
    try:
        return path.read_text(encoding="utf-8")
    except FileNotFoundError:
        raise UsageError(f"{path}: does not exist; name the plan.json that prepare wrote") from None
    except IsADirectoryError:
        raise UsageError(f"{path}: is a folder; name the plan.json in it") from None
    except UnicodeDecodeError:
        raise UsageError(f"{path}: is not a plan.json") from None


def read_plan(path: Path) -> tuple[Plan, Origin]:
    """A plan.json, whatever the file is called; UsageError where it is none."""
    text = _read_text(path)
    try:
        return from_json(text), origin_from_json(text)
    except UsageError as error:
        raise UsageError(str(error).replace("plan.json", str(path), 1)) from None


def score_of(plan_path: Path, origin: Origin, score_path: Path | None) -> tuple[ScoreFile, Score]:
    """The score of a plan, broken as the file was that it was made from; UsageError when it is not its score."""
    path = score_path or plan_path.parent / OWN_SCORE
    if score_path is None and not path.exists():
        raise UsageError(f"{path}: does not exist; name the score with --score")
    file = load_file(path)
    score = score_from(file, default_tempo=origin.settings.turns.default_tempo)
    if fingerprint(score) != origin.notes_sha256:
        name = "name another with --score" if score_path else "name its score with --score"
        raise UsageError(f"{path}: other notes than the plan was made for; {name}")
    starts: dict[int, Break] = dict.fromkeys(origin.system_starts, "system")
    starts |= dict.fromkeys(origin.page_starts, "page")
    if _starts(score) == starts:
        return file, score
    file = replace(file, root=with_breaks(file.root, starts))
    return file, score_from(file, default_tempo=origin.settings.turns.default_tempo)


def _starts(score: Score) -> dict[int, Break]:
    return {
        measure.index: "page" if measure.starts_page else "system"
        for measure in score.measures[1:]
        if measure.starts_system
    }


def bar_of(score: Score, bar: str) -> int:
    """The last measure of a bar named as in the demands; UsageError where it is unknown, ambiguous or the last."""
    after = _found(score, bar, "BAR")
    if after == len(score.measures) - 1:
        raise UsageError(f"BAR {bar}: the piece ends there; name an earlier bar")
    return after


def _found(score: Score, bar: str, option: str) -> int:
    numbers, movements, lasts = zip(
        *((measure.number, measure.movement, measure.last_number) for measure in score.measures), strict=True
    )
    return find_end(bar, option, numbers, movements, lasts)


def ask(settings: Settings, score: Score, bar: str, after: int, place: Place) -> Asked:
    """What to plan again: a turn there, none there, or without the user's own demand for it."""
    demands = settings.demands
    if place is not Place.TURN:
        forced = replace(demands, turn_after=(*demands.turn_after, bar))
        return Asked(Question.FORCE, bar, (f"--turn-after {bar}",), replace(settings, demands=forced))
    wanted = [text for text in demands.turn_after if _found(score, text, "--turn-after") == after]
    if wanted:
        left = replace(demands, turn_after=tuple(text for text in demands.turn_after if text not in wanted))
        options = tuple(f"--turn-after {text}" for text in wanted)
        return Asked(Question.RELEASE, bar, options, replace(settings, demands=left))
    forbidden = replace(demands, no_turn_after=(*demands.no_turn_after, bar))
    return Asked(Question.FORBID, bar, (f"--no-turn-after {bar}",), replace(settings, demands=forbidden))
