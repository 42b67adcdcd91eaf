"""The plan: staff size, systems, pages, spreads and turns, chosen together and proven optimal."""

from optimizer.layout.check import PlanFaultError, check_plan, evaluate, knows_strips, misfit
from optimizer.layout.greedy import greedy_plan
from optimizer.layout.origin import Origin, origin_from_json
from optimizer.layout.plan import Plan, from_json, to_json
from optimizer.layout.problem import Problem, make_problem
from optimizer.layout.report import TermRow, report_rows
from optimizer.layout.solve import solve
from optimizer.layout.strips import MOST_BARS, strip_spans, with_strips
from optimizer.layout.systems import system_spans

__all__ = [
    "MOST_BARS",
    "Origin",
    "Plan",
    "PlanFaultError",
    "Problem",
    "TermRow",
    "check_plan",
    "evaluate",
    "from_json",
    "greedy_plan",
    "knows_strips",
    "make_problem",
    "misfit",
    "origin_from_json",
    "report_rows",
    "solve",
    "strip_spans",
    "system_spans",
    "to_json",
    "with_strips",
]
