"""quietleaf: printed pages to perform from, with every turn planned and proven optimal.

The public Python API, with the same reach as the command line. Names are loaded when first used, so that importing
the package costs nothing.

    from optimizer import Choices, Settings, compare_plans, make_plan, print_plan, read_score, turn_costs
    from optimizer import PartsSettings, prepare_parts
"""

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from optimizer.api import compare_plans, make_plan, prepare_parts, print_plan, read_score, turn_costs
    from optimizer.compare.model import Choices
    from optimizer.layout.plan import Plan
    from optimizer.parts.model import PartsSettings
    from optimizer.settings import Settings

__all__ = [
    "Choices",
    "PartsSettings",
    "Plan",
    "Settings",
    "compare_plans",
    "make_plan",
    "prepare_parts",
    "print_plan",
    "read_score",
    "turn_costs",
]

_HOMES = {
    "Choices": "optimizer.compare.model",
    "PartsSettings": "optimizer.parts.model",
    "Plan": "optimizer.layout.plan",
    "Settings": "optimizer.settings",
}


def __getattr__(name: str) -> object:
    if name not in __all__:
        raise AttributeError(f"module 'optimizer' has no attribute {name!r}")
    return getattr(import_module(_HOMES.get(name, "optimizer.api")), name)
