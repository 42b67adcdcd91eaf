"""Plans for several parts, made together: what no part can see alone is weighed too.

In: a `Problem` for each part, `Limit`s on what happens at once.  Out: `Joint`.  Costs in hundredths of a point.
Always true: every plan has passed the check of its own problem; "optimal" is said only when every spread was weighed
that can be in a best set of plans.

Why that can be known: no part costs less than its plan alone, its `least`. So when plans together that cost `upper` are
known, no part spends more than `upper` less all the others' `least` in any better ones: the slack. A spread whose
cheapest layout exceeds its part's `least` by more than the slack can be left out, and plans that use one that was left
out cost at least all `least` and the slack.
"""

import time
from collections import Counter
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import partial
from typing import Final

from optimizer.errors import NoLayoutError
from optimizer.layout.blanks import explain_blanks, name_blanks
from optimizer.layout.bound import Arc
from optimizer.layout.demands import contradiction, forbidden_turns, forced_turns, page_limit
from optimizer.layout.joint_model import Choices, ChosenTogether, Layout, choose_together
from optimizer.layout.limit import Limit
from optimizer.layout.model import Chosen, Paper
from optimizer.layout.objective import PAGE
from optimizer.layout.pages import NEVER
from optimizer.layout.plan import Plan
from optimizer.layout.problem import Problem
from optimizer.layout.relax import no_layout
from optimizer.layout.solve import bounds_at, has_layout, least_cost, planned, solve, staff_cost
from optimizer.layout.spreads import SpreadTable
from optimizer.parallel import Partner
from optimizer.progress import Progress, silent
from optimizer.turns.model import BLOCKED_COST

__all__ = ["Joint", "JointReport", "Limit", "solve_together"]

STAGE: Final = "planning the parts together"
TIME_LIMIT_S: Final = 60.0  # of the solver; quartets took less than a tenth of it
# A part may cost so much more than alone, hundredths of a point, in a first look; it is kept at hand up to the second,
# more than the joint plan of any quartet asked for. Both only save time: what is needed in the end is found out.
FIRST_SLACK: Final = 10_000
SLACK_AT_HAND: Final = 100_000
WIDER: Final = 4  # the slack grows so fast while no plans keep the limits
WORTH_A_PROCESS: Final = 200  # measures of all parts together; looking into fewer takes a tenth of a second
MOST_ARCS: Final = 60_000  # of a part; more than a minute's work for the solver
# Where what must never happen cannot be avoided: far more than any turn costs, each time.
BROKEN: Final = 10 * BLOCKED_COST * 100
MOST_ROUNDS: Final = 4  # of parts planned one after the other, until none changes any more

_Turns = Sequence[Collection[int]]  # positions turned at, by part


@dataclass(frozen=True, slots=True)
class JointReport:
    """What joint planning found. `status`: "optimal" or "feasible"; `objective`, `bound`: sums over all parts and
    limits, hundredths of a point; `apart`: what the plans made for each part alone come to, limits included, or None
    where they break one that is never broken; `limits`: what the limits cost, by name, apart and together.
    `own_apart`: the plans made alone without limits; `broken`: names of limits that should never be broken and are,
    for nothing better was found: `BROKEN` is in the objective for each; `arcs`: spreads the solver chose from."""

    status: str
    objective: int
    bound: int
    seconds: float
    apart: int | None
    limits_apart: Mapping[str, int]
    limits_together: Mapping[str, int]
    own_apart: int = 0
    broken: tuple[str, ...] = ()
    arcs: int = 0


@dataclass(frozen=True, slots=True)
class Joint:
    """Plans for all parts, made together, and those made for each alone. `pools`: what is known of the parts, for
    another round."""

    plans: tuple[Plan, ...]
    report: JointReport
    apart: tuple[Plan, ...] = ()
    pools: tuple["Pool", ...] = field(default=(), repr=False)


def solve_together(
    problems: Sequence[Problem],
    limits: Sequence[Limit],
    *,
    names: Sequence[str] = (),
    time_limit_s: float = TIME_LIMIT_S,
    before: Joint | None = None,
    progress: Progress = silent,
) -> Joint:
    """The best plans of all parts and limits together; NoLayoutError, naming the part by `names`, when one has none.

    `time_limit_s` is the solver's; when it is over the best plans so far are taken, which then depend on the machine.
    `before`: an earlier round; of problems that are the same objects as there nothing is looked into again.
    """
    started_s = time.perf_counter()
    known = {id(pool.problem): pool for pool in before.pools} if before else {}
    told = names or [f"part {number}" for number, _ in enumerate(problems, 1)]
    pools = _pools(problems, told, known, lambda done: progress(STAGE, done / 2))
    search = _Search(pools, limits, time_limit_s)
    search.run(lambda done: progress(STAGE, 0.5 + done / 2))
    report = search.report(round(time.perf_counter() - started_s, 3))
    plans, apart = zip(
        *(
            _plans(pool, layout, report.seconds)
            for pool, layout in zip(search.pools, search.best, strict=True)
        ),
        strict=True,
    )
    return Joint(plans, report, apart, tuple(search.pools))


# --- what a part may choose from -------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Pool:
    """Spreads of a part with the least cost of any layout that uses them (its staff size included), dearest last:
    all that cost at most `slack` more than its best layout, `path`, which costs `least`. `is_full`: there are more, but
    no room for them."""

    problem: Problem
    least: int
    slack: int
    is_full: bool
    path: Layout
    arcs: Sequence[tuple[int, float, Arc]]

    def choices(self, slack: int, hint: Layout) -> Choices:
        """The spreads of all layouts that cost at most `slack` more than the best, and those of the hint."""
        problem, demands = self.problem, self.problem.demands
        by_size: dict[float, dict[Arc, None]] = {}
        for cost, staff_mm, arc in self.arcs:
            if cost > self.least + slack:
                break
            by_size.setdefault(staff_mm, {})[arc] = None
        by_size.setdefault(hint[0], {}).update(dict.fromkeys(hint[1]))
        return Choices(
            {staff_mm: tuple(arcs) for staff_mm, arcs in sorted(by_size.items(), reverse=True)},
            {staff_mm: staff_cost(problem, staff_mm) for staff_mm in by_size},
            forced_turns(demands),
            forbidden_turns(demands),
            page_limit(demands),
            Paper(problem.pattern.sides_a_sheet, PAGE * problem.weights["paper"]),
            hint,
        )

    def cost(self, layout: Layout) -> int:
        """What a layout costs the part itself."""
        staff_mm, arcs = layout
        sides = sum(arc.shape.sides for arc in arcs)
        unused = self.problem.pattern.sides_of_paper(sides) - sides
        paper = unused * PAGE * self.problem.weights["paper"]
        return staff_cost(self.problem, staff_mm) + sum(arc.cost for arc in arcs) + paper


def _pools(
    problems: Sequence[Problem],
    names: Sequence[str],
    known: Mapping[int, Pool],
    tell: Callable[[float], None],
) -> list[Pool]:
    """Of all problems; those known by the problem's identity stay. Every other part is looked into in a second process,
    where together they are long enough for that."""
    asked = list(zip(problems, names, strict=True))
    new = [index for index, problem in enumerate(problems) if id(problem) not in known]
    is_long = sum(problems[index].measures for index in new) >= WORTH_A_PROCESS
    there = new[1::2] if is_long else []
    partner = Partner(partial(_pools_of, [asked[index] for index in there])) if there else None
    here = [index for index in new if index not in there]
    found: dict[int, Pool] = {}
    for done, index in enumerate(here):
        tell(done / len(here))
        found[index] = _pool_of(*asked[index])
    for index, pool in zip(there, partner.here() if partner else (), strict=True):
        found[index] = replace(pool, problem=problems[index])  # the same object again: it is known by that
    if partner:
        partner.close()
    return [known.get(id(problem)) or found[index] for index, problem in enumerate(problems)]


def _pools_of(asked: Sequence[tuple[Problem, str]]) -> list[Pool]:
    return [_pool_of(problem, name) for problem, name in asked]


def _pool_of(problem: Problem, name: str = "", slack: int = SLACK_AT_HAND) -> Pool:
    """The spreads of all layouts within the slack, at most MOST_ARCS; one staff size after the other, so that only one
    table is held at a time."""
    least = NEVER
    path: Layout | None = None
    most, cut = NEVER, NEVER
    kept: list[tuple[int, float, Arc]] = []
    for staff_mm in problem.staff_sizes_mm if not contradiction(problem.demands) else ():
        if least_cost(problem, staff_mm) > most:
            continue
        bound, size = bounds_at(problem, staff_mm), staff_cost(problem, staff_mm)
        if bound.best() + size < least:
            least, path = bound.best() + size, (staff_mm, bound.path())
        most = min(cut, least + slack, NEVER - 1)
        kept += ((cost + size, staff_mm, arc) for arc, cost in bound.priced_arcs(most - size))
        kept = sorted((each for each in kept if each[0] <= most), key=lambda each: each[0])
        if len(kept) > MOST_ARCS:
            most = cut = kept[MOST_ARCS][0] - 1
            kept = [each for each in kept if each[0] <= most]
    if path is None:
        error = no_layout(problem, has_layout)
        raise NoLayoutError(f"{name}: {error.problem}", error.relax)
    return Pool(problem, least, most - least, cut < NEVER, path, kept)


# --- the search ------------------------------------------------------------------------------------


class _Search:
    """Looks for the best layouts of all parts: `best`, of which `bound` says how good they are."""

    def __init__(self, pools: Sequence[Pool], limits: Sequence[Limit], time_limit_s: float) -> None:
        self.pools, self._limits = list(pools), tuple(limits)
        self._at = _places(limits)
        self._least = sum(pool.least for pool in pools)
        self.best: tuple[Layout, ...] = tuple(pool.path for pool in pools)
        self._upper = self._cost(self.best)
        self._apart, self._bound, self._arcs = self.best, self._least, 0
        self._left_s = time_limit_s

    def run(self, tell: Callable[[float], None]) -> None:
        """Until the best is proven, or the time is over, or there is no room for what could be better."""
        slack, budget_s = FIRST_SLACK, self._left_s
        self._one_after_the_other()
        while self._bound < self._upper and self._left_s > 0:
            tell(1 - self._left_s / budget_s)
            wanted = min(slack, self._upper - self._least)
            weighed = self._widen(wanted)
            parts = [pool.choices(weighed, at) for pool, at in zip(self.pools, self.best, strict=True)]
            self._arcs = sum(len(arcs) for part in parts for arcs in part.arcs.values())
            # Who breaks what is never to be broken pays more than the best known plans: then it may be forbidden.
            cheap = self._upper - self._least < BROKEN
            limits = self._limits if cheap else tuple(_softened(self._limits))
            found = self._choose(parts, limits, self._left_s)
            self._take(found.layouts)
            self._bound = max(self._bound, min(found.bound, self._least + weighed + 1))
            if found.status != "optimal" or weighed < wanted:
                break
            slack *= WIDER

    def _choose(self, parts: Sequence[Choices], limits: Sequence[Limit], most_s: float) -> ChosenTogether:
        started_s = time.perf_counter()
        found = choose_together(parts, limits, most_s)
        self._left_s = max(0.0, self._left_s - (time.perf_counter() - started_s))
        return found

    def _take(self, layouts: tuple[Layout, ...]) -> bool:
        """Whether there are any, better than the best so far, which they then are."""
        cost = self._cost(layouts) if layouts else self._upper
        better = cost < self._upper
        if better:
            self.best, self._upper = layouts, cost
        return better

    def _widen(self, slack: int) -> int:
        """Sees to it that all spreads within a slack are at hand; the slack within which they are, if that is less."""
        for index, pool in enumerate(self.pools):
            if pool.slack < slack and not pool.is_full:
                self.pools[index] = _pool_of(pool.problem, slack=slack)
        return min(slack, *(pool.slack for pool in self.pools))

    def _one_after_the_other(self) -> None:
        """Each part in turn as well as can be while the others stay as they are: a good beginning, for large ensembles
        perhaps all there is time for."""
        for _ in range(MOST_ROUNDS):
            changed = False
            for part, pool in enumerate(self.pools):
                spare = min(self._upper - self._least, pool.slack)
                if spare > 0 and self._left_s > 0:
                    own = tuple(_softened(self._seen_by(part)))
                    choices = [pool.choices(spare, self.best[part])]
                    for layout in self._choose(choices, own, self._left_s / len(self.pools)).layouts:
                        changed |= self._take((*self.best[:part], layout, *self.best[part + 1 :]))
            if not changed:
                break

    def _cost(self, layouts: Sequence[Layout]) -> int:
        """All parts and limits."""
        own = sum(pool.cost(layout) for pool, layout in zip(self.pools, layouts, strict=True))
        turns = _turns(layouts)
        near = (self._limits[index] for index in self._near(turns))
        return own + sum(limit.excess_cost(turns) for limit in _softened(near))

    def _near(self, turns: _Turns) -> Collection[int]:
        """The limits to which these turns belong; all others cost nothing."""
        return {
            index
            for member, positions in enumerate(turns)
            for position in positions
            for index in self._at.get((member, position), ())
        }

    def _seen_by(self, part: int) -> Iterator[Limit]:
        """The limits that a part can break or keep while the others turn where they do; it is the only member."""
        others = [() if index == part else at for index, at in enumerate(_turns(self.best))]
        near = self._near(others)
        for index, limit in enumerate(self._limits):
            own = {(0, position): w for (member, position), w in limit.turns.items() if member == part}
            spans = {(0, a, b): weight for (member, a, b), weight in limit.spans.items() if member == part}
            if own or spans:
                taken = limit.weight(others) if index in near else 0
                most = None if limit.most is None else limit.most - taken
                yield Limit(limit.what, own, limit.free - taken, limit.cost, most, spans)

    def report(self, seconds: float) -> JointReport:
        """What was found."""
        apart, together = _turns(self._apart), _turns(self.best)
        return JointReport(
            status="optimal" if self._bound >= self._upper else "feasible",
            objective=self._upper,
            bound=min(self._bound, self._upper),
            seconds=seconds,
            apart=None if any(limit.is_broken(apart) for limit in self._limits) else self._cost(self._apart),
            limits_apart=_by_name(self._limits, apart),
            limits_together=_by_name(self._limits, together),
            own_apart=self._least,
            broken=tuple(dict.fromkeys(limit.what for limit in self._limits if limit.is_broken(together))),
            arcs=self._arcs,
        )


def _turns(layouts: Sequence[Layout]) -> _Turns:
    """Where each part turns."""
    return [{arc.start for arc in arcs if arc.start} for _, arcs in layouts]


def _by_name(limits: Sequence[Limit], turns: _Turns) -> Mapping[str, int]:
    """What limits cost, without what is never to be broken."""
    costs: Counter[str] = Counter()
    for limit in limits:
        costs[limit.what] += limit.excess_cost(turns)
    return dict(sorted(costs.items()))


def _softened(limits: Iterable[Limit]) -> Iterator[Limit]:
    """The same, what should never be broken at the price of BROKEN."""
    for limit in limits:
        yield replace(limit, most=None)
        if limit.most is not None:
            yield replace(limit, free=limit.most, cost=BROKEN, most=None)


def _places(limits: Sequence[Limit]) -> Mapping[tuple[int, int], Sequence[int]]:
    """The limits, by their place in the list, to which a member's turn at a position belongs."""
    found: dict[tuple[int, int], list[int]] = {}
    for index, limit in enumerate(limits):
        for member, weighed in limit.weighed().items():
            for position in {position for positions, _ in weighed for position in positions}:
                found.setdefault((member, position), []).append(index)
    return found


def _plans(pool: Pool, layout: Layout, seconds: float) -> tuple[Plan, Plan]:
    """A part's plan, and the one it has alone, checked; blank sides are explained where the plan is one for itself."""
    problem = pool.problem
    tables = {staff_mm: bounds_at(problem, staff_mm).table for staff_mm in {layout[0], pool.path[0]}}
    plan, apart = (_plan(pool, each, tables[each[0]], seconds) for each in (layout, pool.path))
    if pool.cost(layout) > pool.least:
        return name_blanks(problem, plan), name_blanks(problem, apart)
    plan = explain_blanks(problem, plan, solve)
    return plan, plan if layout == pool.path else name_blanks(problem, apart)


def _plan(pool: Pool, layout: Layout, table: SpreadTable, seconds: float) -> Plan:
    """By itself it is optimal where it costs no more than alone."""
    staff_mm, arcs = layout
    cost = pool.cost(layout)
    status = "optimal" if cost == pool.least else "feasible"
    return planned(pool.problem, table, Chosen(staff_mm, arcs, status, cost, pool.least), seconds)
