"""CP-SAT chooses the spreads of several parts at once.

In: for each part the spreads it may use, the limits on what happens at once.  Out: `ChosenTogether`.  Costs in
hundredths of a point.  Always true: each part obeys and pays what it would alone, see `model.choose`; one worker and a
fixed seed, so the same input gives the same layouts unless the time limit cuts the search short.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from ortools.sat.python import cp_model

from optimizer.layout.bound import Arc
from optimizer.layout.demands import PageLimit
from optimizer.layout.limit import Limit
from optimizer.layout.model import Paper, Paths, add_cost, add_hint, add_paths, new_solver, read_path

Layout = tuple[float, tuple[Arc, ...]]  # staff size, spreads in order


@dataclass(frozen=True, slots=True)
class Choices:
    """What one part may choose from: spreads and costs by staff size, its demands, its paper. `hint`: a layout to start
    from."""

    arcs: Mapping[float, Sequence[Arc]]
    staff_costs: Mapping[float, int]
    forced: Sequence[int]
    forbidden: frozenset[int]
    limit: PageLimit
    paper: Paper
    hint: Layout


@dataclass(frozen=True, slots=True)
class ChosenTogether:
    """What the solver found: "optimal" or "feasible" with a layout for each part, "infeasible", or "unknown"."""

    status: str
    bound: int
    layouts: tuple[Layout, ...]


def choose_together(parts: Sequence[Choices], limits: Sequence[Limit], time_limit_s: float) -> ChosenTogether:
    """The cheapest layouts of all parts, what breaks the limits paid for."""
    model = cp_model.CpModel()
    paths = [add_paths(model, part.arcs, part.forced, part.forbidden) for part in parts]
    own = [
        add_cost(model, path, part.staff_costs, part.limit, part.paper)
        for path, part in zip(paths, parts, strict=True)
    ]
    model.minimize(cp_model.LinearExpr.sum([*own, *_limit_costs(model, paths, limits)]))
    for path, part in zip(paths, parts, strict=True):
        add_hint(model, path.used, *part.hint)
    solver = new_solver(time_limit_s)
    status = solver.solve(model)
    found = status in (cp_model.OPTIMAL, cp_model.FEASIBLE)
    return ChosenTogether(
        solver.status_name(status).lower(),
        round(solver.best_objective_bound),
        tuple(read_path(solver, path) for path in paths) if found else (),
    )


def _limit_costs(
    model: cp_model.CpModel, paths: Sequence[Paths], limits: Sequence[Limit]
) -> Iterator[cp_model.LinearExprT]:
    """What each limit costs that can cost anything; those that are never broken are constraints."""
    members = _Members(model, paths)
    for limit in limits:
        literals = [each for member, at in limit.weighed().items() for each in members.weighed(member, at)]
        heaviest = sum(weight for _, weight in literals)
        at_once = sum(literal * weight for literal, weight in literals)
        if limit.most is not None and heaviest > limit.most:
            model.add(at_once <= limit.most)
        if limit.cost and heaviest > limit.free:
            more = model.new_int_var(0, heaviest - limit.free, f"{limit.what}: too many at once")
            model.add(more >= at_once - limit.free)
            yield more * limit.cost


class _Members:
    """Literals that are true at least when a part turns somewhere, made once each."""

    def __init__(self, model: cp_model.CpModel, paths: Sequence[Paths]) -> None:
        self._model, self._paths = model, paths
        self._known: dict[tuple[int, tuple[int, ...]], cp_model.IntVar] = {}

    def weighed(self, part: int, turns: Sequence[tuple[range, int]]) -> Iterator[tuple[cp_model.IntVar, int]]:
        """The heaviest of a part's turns, as a sum of literals: what each weight adds to the one below it."""
        below = 0
        for weight in sorted({weight for _, weight in turns}):
            literal = self._literal(part, [positions for positions, w in turns if w >= weight])
            if literal is not None:
                yield literal, weight - below
            below = weight

    def _literal(self, part: int, where: Sequence[range]) -> cp_model.IntVar | None:
        """None when the part cannot turn there."""
        turns = self._paths[part].turns
        inside = tuple(position for position in turns if any(position in positions for positions in where))
        if len(inside) < 2:
            return turns[inside[0]] if inside else None
        if (part, inside) not in self._known:
            literal = self._model.new_bool_var(f"{part} turns at any of {inside}")
            for position in inside:
                self._model.add_implication(turns[position], literal)
            self._known[part, inside] = literal
        return self._known[part, inside]
