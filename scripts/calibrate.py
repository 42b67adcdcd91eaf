"""How well the cost of a turn agrees with where editors of printed music turned.

The figure is an AUC: for each turn of the data the share of the other barlines within 8 bars that cost more
(ties count a half), averaged over turns; 0.5 is chance. "pooled" counts all comparisons alike instead of all
turns alike. Page ends at which nothing is turned should come out near chance: there an editor did not care.
The files are halved by work (movements and songs of one print stay together): constants are chosen on the
first half, by cross-validation over works with --search, and checked on the second.
"""

import argparse
import gzip
import json
import sys
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT))

from optimizer.settings import TurnSettings  # noqa: E402
from optimizer.turns.events import MODEL, RANKING, TurnModel, weigh  # noqa: E402

DATA = ROOT.parent / "shared" / "data" / "printbreaks" / "editors_turns.jsonl.gz"
AROUND = 8  # barlines on either side that the editor could have chosen instead
FOLDS = 6

Costs = Callable[[dict], Sequence[float]]


@dataclass(frozen=True)
class Share:
    """Turns of one kind: for each the share of neighbours that cost more, and how many neighbours it has."""

    shares: Sequence[float]
    neighbours: Sequence[int]

    @property
    def mean(self) -> float:
        """Averaged over turns."""
        return float(np.mean(self.shares))

    @property
    def pooled(self) -> float:
        """Averaged over comparisons."""
        return float(np.average(self.shares, weights=self.neighbours))


def read_prints(path: Path) -> list[dict]:
    """One dictionary a print; keys in ../shared/data/README.md."""
    with gzip.open(path, "rt", encoding="utf-8") as lines:
        return [json.loads(line) for line in lines]


def work_of(piece: dict) -> str:
    """What the print belongs to: its file name up to the number of the movement or song."""
    shelf = piece["file"].split("_")[0].removeprefix("pl-wn--")
    return shelf.split("--")[0]


def halves(pieces: Sequence[dict]) -> tuple[list[dict], list[dict]]:
    """Every other work, by name, for choosing constants; the rest for checking."""
    works = sorted({work_of(piece) for piece in pieces})
    chosen = set(works[::2])
    return (
        [piece for piece in pieces if work_of(piece) in chosen],
        [piece for piece in pieces if work_of(piece) not in chosen],
    )


def costs_of(piece: dict, model: TurnModel) -> Sequence[float]:
    """Cost at each inner barline."""
    section_ends = np.zeros(len(piece["barlines_s"]), dtype=bool)
    section_ends[piece["double_bar"]] = True
    barlines_s = np.array(piece["barlines_s"], dtype=float)
    return weigh(piece["hands"], barlines_s, section_ends, TurnSettings(), model=model).cost.tolist()


def agreement(pieces: Sequence[dict], costs: Costs, key: str = "turns") -> Share:
    """Compares the barlines listed under `key` with their neighbours."""
    shares, neighbours = [], []
    for piece in pieces:
        cost = np.asarray(costs(piece))
        for at in piece[key]:
            others = np.delete(cost, at)[max(0, at - AROUND) : at + AROUND]
            shares.append(float((others > cost[at]).mean() + (others == cost[at]).mean() / 2))
            neighbours.append(len(others))
    return Share(shares, neighbours)


def row(name: str, pieces: Sequence[dict], costs: Costs) -> str:
    """One line of the table."""
    piano = [piece for piece in pieces if piece["kind"] == "piano"]
    turns, solo, ends = (
        agreement(pieces, costs),
        agreement(piano, costs),
        agreement(pieces, costs, "page_ends_not_turned"),
    )
    cells = "  ".join(f"{share.mean:.3f} ({share.pooled:.3f})" for share in (turns, solo, ends))
    return f"{name:34s} {cells}  {turns.mean - ends.mean:+.3f}"


def table(pieces: Sequence[dict]) -> None:
    """The model and its parts on both halves."""
    chosen, kept = halves(pieces)
    models = {
        "free time alone": replace(RANKING, carry_points=0, dropped_points=0, section_points=0),
        "and section ends": replace(RANKING, carry_points=0, dropped_points=0),
        "calibrated terms": RANKING,
        "whole cost, with grades": MODEL,
    }
    for name, part in (("choosing half", chosen), ("checking half", kept), ("all", pieces)):
        print(f"{name}: {len(part)} prints, {sum(len(piece['turns']) for piece in part)} turns")
        print(
            f"{'AUC, mean (pooled)':34s} {'turns':13s}  {'solo piano':13s}  {'no turn':13s}  turns - no turn"
        )
        for label, model in models.items():
            print(row(label, part, lambda piece, model=model: costs_of(piece, model)))
        print()


def search(pieces: Sequence[dict]) -> None:
    """Cross-validation on the choosing half: for each constant by itself, the value that is best on five
    sixths of the works is judged on the other sixth; beside it the figure of each value on all of them."""
    chosen, _ = halves(pieces)
    works = sorted({work_of(piece) for piece in chosen})
    fold_of = [works.index(work_of(piece)) % FOLDS for piece in chosen for _ in piece["turns"]]
    for name, values in SEARCHED.items():
        models = {value: replace(RANKING, **{name: value}) for value in values}
        shares = {
            value: np.array(agreement(chosen, lambda piece, model=model: costs_of(piece, model)).shares)
            for value, model in models.items()
        }
        held_out: list[float] = []
        for fold in range(FOLDS):
            outside = np.array(fold_of) == fold
            best = max(values, key=lambda value: shares[value][~outside].mean())
            held_out += shares[best][outside].tolist()
        figures = "  ".join(f"{value:g}: {shares[value].mean():.3f}" for value in values)
        print(
            f"{name:15s} now {getattr(RANKING, name):g}; cross-validated {np.mean(held_out):.3f};  {figures}"
        )


SEARCHED: dict[str, Sequence[float]] = {
    "before_s": (0.75, 1.0, 1.25, 1.5, 2.0),
    "after_s": (0.0, 0.25, 0.5, 0.75, 1.0),
    "held": (0.0, 0.15, 0.35, 0.5, 0.7),
    "enough_s": (0.4, 0.6, 0.8, 1.0, 1.5),
    "section_points": (0, 50, 100, 150),
    "carry_points": (0, 2, 4, 8),
    "dropped_points": (0, 4, 8, 16),
}


def main() -> None:
    """Prints the table, or searches."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument(
        "--data", type=Path, default=DATA, help="editors_turns.jsonl.gz (default: in ../shared/data)"
    )
    parser.add_argument("--search", action="store_true", help="vary each constant, with cross-validation")
    options = parser.parse_args()
    if not options.data.is_file():
        parser.error(f"{options.data}: no such file; give it with --data")
    pieces = read_prints(options.data)
    search(pieces) if options.search else table(pieces)


if __name__ == "__main__":
    main()
