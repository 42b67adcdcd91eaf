"""The ensemble for machines: the schema `quietleaf-ensemble/1`.

In: `Ensemble`s of the joint plan and of plans made apart, the joint plan's report.  Out: text.  Costs in hundredths of
a point, seconds of the playing order.
"""

import json
from collections.abc import Sequence
from dataclasses import asdict
from typing import Final

from optimizer.layout.joint import JointReport
from optimizer.parts.timeline import AT_ONCE_S, Ensemble, Lane

SCHEMA: Final = "quietleaf-ensemble/1"


def json_text(together: Ensemble, apart: Ensemble, report: JointReport, folders: Sequence[str]) -> str:
    """ensemble.json; `folders`: where each part's files are."""
    lanes = zip(together.lanes, folders, strict=True)
    document = {
        "schema": SCHEMA,
        "score": {
            "title": together.title,
            "composer": together.composer,
            "tempo": together.tempo_source,
            "duration_s": round(together.duration_s, 3),
        },
        "joint": asdict(report),
        "at_once": {
            "within_s": AT_ONCE_S,
            "apart": {str(count): times for count, times in sorted(apart.at_once().items())},
            "together": {str(count): times for count, times in sorted(together.at_once().items())},
        },
        "parts": [_part(lane, folder) for lane, folder in lanes],
    }
    return json.dumps(document, indent=1, ensure_ascii=False) + "\n"


def _part(lane: Lane, folder: str) -> dict[str, object]:
    return {
        "name": lane.name,
        "folder": folder,
        "family": lane.family,
        "players": lane.players,
        "copies": lane.copies,
        "pages": lane.pages,
        "sheets": lane.sheets,
        "staff_mm": lane.staff_mm,
        "sounding_s": [[round(start_s, 3), round(end_s, 3)] for start_s, end_s in lane.sounding],
        "turns": [{**asdict(turn), "time_s": round(turn.time_s, 3)} for turn in lane.turns],
    }
