"""Every score in every binding, for three desks and two papers: planned, drawn until it fits, and folded in simulation.

One row a score and combination: solver status, staff size, spreads, turns, those graded tight or blocked (each counted
as often as it is played) and of pages simply filled, rounds, seconds. Bars are measured once a score. Ends with totals,
and with exit code 1 when a plan was not optimal, a page overflowed or a set could not be folded.

Usage: scripts/bindings [--bindings taped,ring,stapled,loose] [--desks stand,upright,grand] [--papers a4,letter]
       [--plan-only] [--carry never] [--jobs 2] [SCORE ...]     (default: all of ../shared/data/scores)
"""

import argparse
import itertools
import sys
import time
from collections.abc import Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT))

from optimizer import layout, pipeline  # noqa: E402
from optimizer.binding.packet import packet_of  # noqa: E402
from optimizer.binding.sheets import sheets_of  # noqa: E402
from optimizer.layout.plan import Plan, PlannedBackTurn, PlannedTurn  # noqa: E402
from optimizer.settings import BINDINGS, DESKS, PAPERS, Settings, Strips  # noqa: E402
from optimizer.turns.model import Grade  # noqa: E402

SCORES = ROOT.parent / "shared" / "data" / "scores"
HARD = (Grade.TIGHT, Grade.BLOCKED)


@dataclass(frozen=True)
class Row:
    """One score in one combination."""

    score: str
    paper: str
    desk: str
    binding: str
    status: str
    pattern: str
    staff_mm: float
    spreads: str
    turns: int
    hard: int
    greedy_hard: int
    blank: int
    rounds: int
    seconds: float
    trouble: str

    def __str__(self) -> str:
        return (
            f"{self.score:34.34} {self.paper:6} {self.desk:7} {self.binding:7} {self.status:8} {self.staff_mm:g} mm  "
            f"turns {self.turns:2}, hard {self.hard:2} of {self.greedy_hard:2}, rounds {self.rounds}, "
            f"{self.seconds:5.1f} s  {self.spreads} ({self.pattern}) {self.trouble}"
        )


def main() -> None:
    """Prints the rows and totals."""
    options = _options()
    scores = options.scores or sorted(p for p in SCORES.glob("*") if p.suffix in (".mxl", ".musicxml"))
    if not scores:
        raise SystemExit(f"no scores: name some, or lay them in {SCORES.parent}")
    rows: list[Row] = []
    with ProcessPoolExecutor(options.jobs) as pool:
        for found in pool.map(_rows, scores, itertools.repeat(options)):
            for row in found:
                print(row, flush=True)
            rows += found
    _print_totals(rows)
    raise SystemExit(any(row.trouble for row in rows))


def _options() -> argparse.Namespace:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("scores", nargs="*", type=Path)
    parser.add_argument("--bindings", type=lambda text: text.split(","), default=BINDINGS)
    parser.add_argument("--desks", type=lambda text: text.split(","), default=["stand", "upright", "grand"])
    parser.add_argument("--papers", type=lambda text: text.split(","), default=["a4", "letter"])
    parser.add_argument("--plan-only", action="store_true", help="do not draw the systems")
    parser.add_argument("--carry", type=Strips, choices=list(Strips), default=Strips.NEVER)
    parser.add_argument("--jobs", type=int, default=1)
    return parser.parse_args()


def _rows(score: Path, options: argparse.Namespace) -> list[Row]:
    """All combinations of one score."""
    job = pipeline.open_job(score, Settings())
    rows = []
    for paper, desk, binding in itertools.product(options.papers, options.desks, options.bindings):
        settings = Settings(paper=PAPERS[paper], desk=DESKS[desk], binding=binding, strips=options.carry)
        rows.append(_row(job.otherwise(settings), plan_only=options.plan_only))
    return rows


def _row(job: pipeline.Job, *, plan_only: bool) -> Row:
    started = time.perf_counter()
    if plan_only:
        plan, rounds = layout.solve(job.problem), 0
    else:
        drawn = pipeline.plan_and_draw(job)
        plan, rounds = drawn.plan, drawn.rounds
    seconds = time.perf_counter() - started
    greedy = layout.greedy_plan(job.problem, plan.staff_mm)
    blank = {page.number for page in plan.pages if page.blank}
    return Row(
        score=Path(job.score.path).stem,
        paper=job.settings.paper.name,
        desk=job.settings.desk.name,
        binding=plan.binding,
        status=plan.solver.status,
        pattern=plan.pattern,
        staff_mm=plan.staff_mm,
        spreads=" ".join("·".join("_" if n in blank else str(n) for n in s) for s in plan.spreads),
        turns=len(plan.turns) + len(plan.back_turns),
        hard=_hard(plan),
        greedy_hard=_hard(greedy),
        blank=len(blank),
        rounds=rounds,
        seconds=seconds,
        trouble="; ".join(_troubles(plan, job.settings)),
    )


def _troubles(plan: Plan, settings: Settings) -> Iterator[str]:
    """What is wrong with a plan or its folding."""
    if plan.solver.status != "optimal":
        yield f"status {plan.solver.status}"
    if any(page.blank and not page.why for page in plan.pages):
        yield "a blank side without a reason"
    packet = packet_of(plan, sheets_of(plan, settings))
    if [moment.pages for moment in packet.moments] != list(plan.spreads):
        yield "folds to other spreads"


def _hard(plan: Plan) -> int:
    """Turns and back-turns graded tight or blocked, each counted as often as it is played."""
    turns: list[PlannedTurn | PlannedBackTurn] = [*plan.turns, *plan.back_turns]
    return sum(turn.passes for turn in turns if turn.grade in HARD)


def _print_totals(rows: Sequence[Row]) -> None:
    """By binding and desk."""
    print()
    for binding, desk in dict.fromkeys((row.binding, row.desk) for row in rows):
        some = [row for row in rows if (row.binding, row.desk) == (binding, desk)]
        hard, greedy = sum(row.hard for row in some), sum(row.greedy_hard for row in some)
        optimal = sum(row.status == "optimal" for row in some)
        print(
            f"{binding:8} {desk:8} optimal {optimal}/{len(some)}; tight or blocked turns {hard} of greedy's {greedy} "
            f"({hard / greedy if greedy else 0:.2f}); blank sides {sum(row.blank for row in some)}; "
            f"trouble {sum(bool(row.trouble) for row in some)}"
        )


if __name__ == "__main__":
    main()
