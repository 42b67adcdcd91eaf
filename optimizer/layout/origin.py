"""How a plan was made: what plan.json keeps so that planning can go on from it.

In: a score and settings, or the text of a plan.json.  Out: `Origin`.  Measures are 0-based positions in the file.
Always true: with the origin's score, its breaks and its settings the same program finds the same plan.
"""

import json
from collections.abc import Sequence
from dataclasses import dataclass

from optimizer.errors import UsageError
from optimizer.score.fingerprint import fingerprint
from optimizer.score.model import Score
from optimizer.settings import Settings
from optimizer.settings_json import settings_from_json


@dataclass(frozen=True, slots=True)
class Origin:
    """`notes_sha256`: of the score's notes. `page_starts`, `system_starts`: measures at which the file started a page
    or a system, but for the first; score.musicxml has others."""

    settings: Settings
    notes_sha256: str
    page_starts: tuple[int, ...]
    system_starts: tuple[int, ...]


def score_facts(score: Score) -> dict[str, object]:
    """What plan.json says of the score beside its title: enough to know it again and to break it as it was."""
    later = score.measures[1:]
    return {
        "notes_sha256": fingerprint(score),
        "page_starts": [measure.index for measure in later if measure.starts_page],
        "system_starts": [measure.index for measure in later if measure.starts_system],
    }


def origin_from_json(text: str) -> Origin:
    """The origin in a plan.json that `from_json` accepts; UsageError where an earlier version kept none."""
    document = json.loads(text)
    if "settings" not in document:
        raise UsageError(
            "plan.json: made by an earlier version, which did not note the settings; run prepare again"
        )
    settings = settings_from_json(document["settings"])
    try:
        score = document["score"]
        return Origin(
            settings,
            str(score["notes_sha256"]),
            _starts(score["page_starts"]),
            _starts(score["system_starts"]),
        )
    except (KeyError, TypeError, ValueError) as error:
        raise UsageError(
            f"plan.json: does not say what score it is of ({type(error).__name__}: {error})"
        ) from None


def _starts(entries: Sequence[object]) -> tuple[int, ...]:
    return tuple(int(str(entry)) for entry in entries)
