"""Printed editions' own pages against ours, at the same staff size and with as many pages abreast.

For each score with page breaks and each desk: the largest staff size at which the file's own pages hold the music
(`--as-given`), pages, effort (points of all turns as often as they are played), the hardest turn and back-turns of the
edition; then the same of what `prepare` chooses at that staff size. Nothing is drawn.

Usage: scripts/editions [--desks stand,upright,grand] [--paper a4] [--binding taped] [SCORE ...]
       (default: ../shared/data/scores/print-*)
"""

import argparse
import sys
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT))

from optimizer import pipeline  # noqa: E402
from optimizer.compare.given import GivenPages  # noqa: E402
from optimizer.compare.merits import merits_of  # noqa: E402
from optimizer.compare.model import Merits  # noqa: E402
from optimizer.layout import Plan, solve  # noqa: E402
from optimizer.settings import Settings, parse_desk, parse_paper  # noqa: E402

SCORES = ROOT.parent / "shared" / "data" / "scores"
# From the largest usual staff down to the smallest that prepare takes.
STAFFS_MM = tuple(tenths / 10 for tenths in range(70, 34, -1))
HEAD = f"{'':47} {'staff':>5} | {'the edition':^27} | {'ours':^27}"
COLUMNS = f"{'pages effort hardest   back':>27}"


def main() -> None:
    """Prints the table."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("scores", nargs="*", type=Path)
    parser.add_argument("--desks", default="stand,upright,grand")
    parser.add_argument("--paper", default="a4")
    parser.add_argument("--binding", default="taped")
    options = parser.parse_args()
    scores = options.scores or sorted(SCORES.glob("print-*"))
    if not scores:
        raise SystemExit(f"no scores: name some, or lay them in {SCORES.parent}")
    print(HEAD, f"{'score':38} {'desk':>8} {'mm':>5} | {' | '.join([COLUMNS] * 2)}", sep="\n")
    base = Settings(paper=parse_paper(options.paper), binding=options.binding)
    efforts = [found for score in scores for found in _rows(score, base, options.desks.split(","))]
    theirs, ours = (sum(column) for column in zip(*efforts, strict=True))
    print(f"effort in all: editions {theirs}, ours {ours} ({ours / max(1, theirs):.2f})")


def _rows(score: Path, base: Settings, desks: list[str]) -> Iterator[tuple[int, int]]:
    """Prints a row for each desk; gives both efforts."""
    job = pipeline.open_job(score, base)
    for desk in desks:
        settings = replace(base, desk=parse_desk(desk))
        problem = job.otherwise(settings).problem
        found = GivenPages([problem], STAFFS_MM).plan()
        if not found:
            print(f"{score.stem:38} {desk:>8}: its pages do not hold the music at any staff size")
            continue
        given = found[2]
        alone = replace(problem, staff_sizes_mm=(given.staff_mm,))
        both = [(plan, merits_of(alone, plan, settings)) for plan in (given, solve(alone))]
        texts = " | ".join(_text(plan, merits) for plan, merits in both)
        print(f"{score.stem[:38]:38} {desk:>8} {given.staff_mm:5.1f} | {texts}", flush=True)
        yield both[0][1].effort, both[1][1].effort


def _text(plan: Plan, merits: Merits) -> str:
    return f"{len(plan.pages):5} {merits.effort:6} {merits.worst:7} {merits.back_turns:6}"


if __name__ == "__main__":
    main()
