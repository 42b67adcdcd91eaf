"""A comparison for machines: compare.json, in the schema `quietleaf-compare/1`, and compare.csv.

In: `Comparison`.  Out: text.  Staff sizes in mm, all costs in points.  Always true: every plan is the plan.json that
`--pick` writes, and the same comparison gives the same text but for the seconds that the solver took.
"""

import csv
import io
import json
from typing import Final

from optimizer.compare.model import Alternative, Comparison
from optimizer.layout.plan import to_json
from optimizer.turns import choose_player

SCHEMA: Final = "quietleaf-compare/1"
_SECONDS: Final = ("seconds", "solver_s")


def row(alternative: Alternative) -> dict[str, object]:
    """The figures of an alternative by name; a line of compare.csv."""
    settings, plan, merits = alternative.settings, alternative.plan, alternative.merits
    return {
        "number": alternative.number,
        "desk": settings.desk.name,
        "paper": settings.paper.name,
        "binding": plan.binding,
        "pattern": plan.pattern,
        "staff_mm": merits.staff_mm,
        "pages": len(plan.pages),
        "sheets": merits.sheets,
        "effort": merits.effort,
        "worst": merits.worst,
        "back_turns": merits.back_turns,
        "reach": merits.reach,
        "as_given": alternative.as_given,
        "least": alternative.least,
        "beaten_by": alternative.beaten_by,
    }


def json_text(comparison: Comparison) -> str:
    """compare.json."""
    return json.dumps(_document(comparison), ensure_ascii=False, indent=1) + "\n"


def csv_text(comparison: Comparison) -> str:
    """compare.csv, as RFC 4180 has it: a header, lines that end in CR and LF. Yes and no are true and false."""
    rows = [row(alternative) for alternative in comparison.alternatives]
    text = io.StringIO(newline="")
    writer = csv.DictWriter(text, list(rows[0]), lineterminator="\r\n")
    writer.writeheader()
    writer.writerows({key: _cell(value) for key, value in cells.items()} for cells in rows)
    return text.getvalue()


def _cell(value: object) -> object:
    return str(value).lower() if isinstance(value, bool) else value


def is_of(text: str, comparison: Comparison) -> bool:
    """Whether a compare.json is of this comparison, whatever the seconds."""
    try:
        told = json.loads(text)
    except ValueError:
        return False
    return bool(_timeless(told) == _timeless(json.loads(json_text(comparison))))


def _timeless(value: object) -> object:
    """A document without the seconds of the solver."""
    if isinstance(value, dict):
        return {key: _timeless(entry) for key, entry in value.items() if key not in _SECONDS}
    return [_timeless(entry) for entry in value] if isinstance(value, list) else value


def _document(comparison: Comparison) -> dict[str, object]:
    score, tally = comparison.score, comparison.tally
    return {
        "schema": SCHEMA,
        "score": {"title": score.title, "composer": score.composer, "sha256": score.sha256},
        "player": comparison.player_text,
        "tempo": score.tempo_source,
        "tally": {
            "cells": tally.cells,
            "solved": tally.solved,
            "dominated": tally.dominated,
            "impossible": tally.impossible,
            "beaten": tally.beaten,
            "shown": len(comparison.alternatives),
            "solver_s": round(tally.solver_s, 3),
        },
        "warnings": list(comparison.warnings),
        "barlines": [
            {
                "after": cost.from_index,
                "after_bar": score.measures[cost.from_index].last_number,
                "cost": cost.cost,
                "grade": cost.grade.value,
            }
            for cost in comparison.costs
        ],
        "alternatives": [
            {**row(alternative), "plan": _plan(comparison, alternative)}
            for alternative in comparison.alternatives
        ],
    }


def _plan(comparison: Comparison, alternative: Alternative) -> object:
    """The alternative's plan.json."""
    score, settings = comparison.score, alternative.settings
    player = choose_player(score, settings.player, settings.hands)
    return json.loads(to_json(alternative.plan, score, player.as_json(score), settings))
