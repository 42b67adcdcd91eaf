"""The report on a plan: every term of the objective by name, with what it stands for.

In: `Plan`, weights.  Out: rows for a table, and plain text.  Points as in `objective`.  Always true: the
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


def report_text(plan: Plan, weights: Mapping[str, int]) -> str:
    """The report in plain text: what was chosen, what the solver says, one line a term."""
    solver = plan.solver
    spreads = " | ".join("-".join(map(str, spread)) for spread in plan.spreads)
    lines = [
        f"{len(plan.pages)} pages at a staff of {plan.staff_mm:g} mm, {plan.pattern}: {spreads}",
        f"{solver.status}: cost {solver.objective}, bound {solver.bound} (hundredths of a point), "
        f"{solver.seconds:.2f} s",
    ]
    lines += [
        f"{row.term:<12}{row.points:>8} x {row.percent:>3} % = {row.cost:>9}  {row.meaning}"
        for row in report_rows(plan, weights)
    ]
    return "\n".join(lines)
