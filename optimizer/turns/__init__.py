"""How hard a page turn is at every barline, and how far each bar is from the hands."""

from optimizer.turns.cost import barline_costs, chart_readings, step_costs, strip_turns
from optimizer.turns.events import turn_costs_from_events
from optimizer.turns.hands import Player, choose_player
from optimizer.turns.model import BLOCKED_COST, BarlineReading, Grade, StepCost, StripKind, StripTurn
from optimizer.turns.reach import reach_costs

__all__ = [
    "BLOCKED_COST",
    "BarlineReading",
    "Grade",
    "Player",
    "StepCost",
    "StripKind",
    "StripTurn",
    "barline_costs",
    "chart_readings",
    "choose_player",
    "reach_costs",
    "step_costs",
    "strip_turns",
    "turn_costs_from_events",
]
