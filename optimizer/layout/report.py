"""The report on a plan: every term of the objective by name, with what it stands for.

In: `Plan`, weights.  Out: rows for a table.  Points as in `objective`.  Always true: the
costs of the rows add up to the objective.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from optimizer.layout.plan import Plan
from optimizer.settings import TERMS

MEANINGS: Final[Mapping[str, str]] = {
    "turns": "turning the leaves, and jumps forward to another spread",
    "back-turns": "turning back at repeats and D.S. or D.C.",
    "strips": "bars next to a turn printed again",
    "reach": "bars far from the hands on wide spreads",
    "spacing": "systems stretched or squeezed",
    "fill": "pages short or crammed, blank sides",
    "paper": "pages",
    "fold-outs": "pages to unfold beyond two on a spread",
    "staff-size": "staff smaller than the largest considered",
}


@dataclass(frozen=True, slots=True)
class TermRow:
    """One term: its points, the user's percent, and points times percent (hundredths of a point)."""

    term: str
    meaning: str
    points: int
    percent: int
    cost: int


def report_rows(plan: Plan, weights: Mapping[str, int]) -> tuple[TermRow, ...]:
    """A row for each term, in the order of `settings.TERMS`. Points of a term weighted 0 are not known: 0."""
    rows = []
    for term in TERMS:
        percent, cost = weights.get(term, 100), plan.solver.terms.get(term, 0)
        rows.append(TermRow(term, MEANINGS[term], cost // percent if percent else 0, percent, cost))
    return tuple(rows)
