"""Plans for several parts, made together: what no part can see alone is weighed too.

In: a `Problem` for each part, `Limit`s on what happens at once.  Out: `Joint`.  Costs in hundredths of a point.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from optimizer.layout.plan import Plan


@dataclass(frozen=True, slots=True)
class Limit:
    """What should not happen at once. `turns`: (member, position): weight, for turns so near each other that they
    count as one moment; of their weights, `free` cost nothing, each one more `cost` (hundredths of a point); the sum
    is never more than `most`, where that is given. `what`: for reports: "all", "family", "desks"."""

    what: str
    turns: Mapping[tuple[int, int], int]
    free: int
    cost: int
    most: int | None = None


@dataclass(frozen=True, slots=True)
class JointReport:
    """What joint planning found. `status`: "optimal" or "feasible"; `objective`, `bound`: sums over all parts and
    limits, hundredths of a point; `apart`: what the plans made for each part alone come to, limits included, or None
    where they break one that is never broken; `limits`: what the limits cost, by name, apart and together."""

    status: str
    objective: int
    bound: int
    seconds: float
    apart: int | None
    limits_apart: Mapping[str, int]
    limits_together: Mapping[str, int]


@dataclass(frozen=True, slots=True)
class Joint:
    """Plans for all parts, made together."""

    plans: tuple[Plan, ...]
    report: JointReport
