"""What `explain` finds out, for machines: the schema `quietleaf-explain/1`.

In: `Explained`.  Out: an object for JSON.  Measures are 0-based positions in the file, costs hundredths of a point.
Always true: `changed` is a whole plan.json, as `prepare` with the options named would write it.
"""

import json
from dataclasses import asdict
from typing import Final

from optimizer.compare.difference import AnyTurn, Difference
from optimizer.layout.plan import PlannedBackTurn, PlannedPage, PlannedSystem, to_json
from optimizer.why.model import Explained, Standing
from optimizer.why.sentences import sentences

SCHEMA: Final = "quietleaf-explain/1"


def document(found: Explained) -> dict[str, object]:
    """All of it; `changed` and `difference` are null where no other plan can be had."""
    score, asked, change = found.score, found.asked, found.difference
    return {
        "schema": SCHEMA,
        "score": {"title": score.title, "composer": score.composer, "sha256": score.sha256},
        "bar": {"named": asked.bar, "after": found.after, "number": score.measures[found.after].last_number},
        "sentences": list(sentences(found)),
        "place": _place(found.standing),
        "neighbours": asdict(found.neighbours) if found.neighbours else None,
        "turn": asdict(found.turn),
        "jumps": [asdict(step) for step in found.jumps],
        "turns_there": [_turn(turn) for turn in found.leaving],
        "question": asked.question.value,
        "options": list(asked.options),
        "scope": found.scope.value,
        "trouble": found.trouble,
        "relax": list(found.relax),
        "difference": _difference(change) if change else None,
        "changed": json.loads(to_json(change.after, score, found.player.as_json(score), asked.settings))
        if change
        else None,
    }


def _place(here: Standing) -> dict[str, object]:
    return {
        "kind": here.place.value,
        "page": here.page.number,
        "next_page": here.following.number,
        "spread": list(here.spread),
        "system": asdict(here.system),
        "strip": asdict(here.strip) if here.strip else None,
    }


def _difference(change: Difference) -> dict[str, object]:
    before, after = change.before, change.after
    return {
        "objective": {
            "before": before.solver.objective,
            "after": after.solver.objective,
            "more": change.cost,
        },
        "terms": {each.term: {"before": each.before, "after": each.after} for each in change.terms},
        "staff_mm": {"before": before.staff_mm, "after": after.staff_mm},
        "pattern": {"before": before.pattern, "after": after.pattern},
        "pages": {"gone": _pages(change.pages_gone), "new": _pages(change.pages_new)},
        "systems": {"gone": _systems(change.systems_gone), "new": _systems(change.systems_new)},
        "spreads": {
            "gone": [list(numbers) for numbers in change.spreads_gone],
            "new": [list(numbers) for numbers in change.spreads_new],
        },
        "turns": {
            "gone": [_turn(turn) for turn in change.turns_gone],
            "new": [_turn(turn) for turn in change.turns_new],
            "regraded": [
                {"before": _turn(each.before), "after": _turn(each.after)} for each in change.turns_regraded
            ],
        },
    }


def _turn(turn: AnyTurn) -> dict[str, object]:
    return {"back": isinstance(turn, PlannedBackTurn), **asdict(turn)}


def _pages(pages: tuple[PlannedPage, ...]) -> list[dict[str, object]]:
    return [asdict(page) for page in pages]


def _systems(systems: tuple[PlannedSystem, ...]) -> list[dict[str, object]]:
    return [asdict(system) for system in systems]
