"""The project's figures, as ratios measured in one run, over real scores.

For each score, in a process of its own: turns graded tight or blocked and pages, ours and of pages simply filled at
the same staff size, for each desk; solver status and seconds; how long the whole `prepare` at one staff size takes as a
multiple of one plain engraving pass of the same file (load, automatic breaks, all pages to SVG), both as calls in that
process and as whole processes; peak memory, in sum over the processes at work.  Also how long `quietleaf --help` takes.

With --compare, for each score named, how long a comparison takes instead (upright and grand, the usual staff sizes, its
page included), as the same multiple, in time and in processor time of all processes; and what was compared.

With --parts, for each score named, its parts planned together and each alone: status, processor time of planning and
drawing, points; turns at once, tight or blocked, and pages, ours and of pages simply filled at the same staff sizes.

Usage: scripts/bench [--desks stand,upright,grand] [--repeats 3] [SCORE ...]     (default: all of ../shared/data/scores)
       scripts/bench --compare [--repeats 3] SCORE ...
       scripts/bench --parts SCORE ...
"""

import argparse
import json
import resource
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parent.parent
SCORES = ROOT.parent / "shared" / "data" / "scores"
QUIETLEAF = Path(sys.executable).with_name("quietleaf")
HARD = ("tight", "blocked")
ONE_SIZE_MM = 6.5


def main() -> None:
    """Prints the tables."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("scores", nargs="*", type=Path)
    parser.add_argument("--desks", default="stand,upright,grand")
    parser.add_argument("--repeats", type=int, default=3)
    parser.add_argument("--compare", action="store_true", help="measure comparisons instead")
    parser.add_argument("--parts", action="store_true", help="measure sets of parts instead")
    parser.add_argument("--one", action="store_true", help=argparse.SUPPRESS)
    options = parser.parse_args()
    if options.compare:
        for score in options.scores:
            _print_comparison(score, options.repeats)
        return
    if options.parts:
        for score in options.scores:
            _print_parts(score)
        return
    desks = options.desks.split(",")
    if options.one:
        print(json.dumps(_measure_score(options.scores[0], desks, options.repeats)))
        return
    scores = options.scores or sorted(
        path for path in SCORES.glob("*") if path.suffix in (".mxl", ".musicxml")
    )
    if not scores:
        raise SystemExit(f"no scores: name some, or lay them in {SCORES.parent}")
    help_s = _median(lambda: subprocess.run([QUIETLEAF, "--help"], check=True, capture_output=True), 5)
    print(f"quietleaf --help: {help_s:.2f} s (median of 5)\n", flush=True)
    rows = [_row(score, desks, options.repeats) for score in scores]
    _print_totals(rows, desks)


def _row(score: Path, desks: Sequence[str], repeats: int) -> dict[str, Any]:
    command = [
        sys.executable,
        __file__,
        "--one",
        str(score),
        "--desks",
        ",".join(desks),
        "--repeats",
        str(repeats),
    ]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    if done.returncode:
        raise SystemExit(f"{score.name}: {done.stderr.strip()[-2000:]}")
    row: dict[str, Any] = json.loads(done.stdout.splitlines()[-1])
    print(
        f"{row['name']}, {row['measures']} bars: solver {row['solver_s']:.2f} s, rounds {row['rounds']}, "
        f"ratio {row['ratio']:.2f} (whole process {row['process_ratio']:.2f}), {row['peak_mib']:.0f} MiB"
    )
    for desk, d in row["desks"].items():
        print(
            f"    {desk:8} {d['status']}, staff {d['staff_mm']:g} mm; tight or blocked {d['hard']} of "
            f"{d['greedy_hard']}; pages {d['pages']} of {d['greedy_pages']}",
            flush=True,
        )
    return row


def _measure_score(score: Path, desks: Sequence[str], repeats: int) -> dict[str, Any]:
    """All figures of one score."""
    import plain_pass

    from optimizer import layout, pipeline
    from optimizer.settings import DESKS, Settings

    found: dict[str, Any] = {"name": score.name, "desks": {}}
    seconds = []
    for desk in desks:
        job = pipeline.open_job(score, Settings(desk=DESKS[desk]))
        drawn = pipeline.plan_and_draw(job)
        plan, greedy = drawn.plan, layout.greedy_plan(job.problem, drawn.plan.staff_mm)
        found["desks"][desk] = {
            "status": plan.solver.status,
            "staff_mm": plan.staff_mm,
            "hard": _hard(plan),
            "greedy_hard": _hard(greedy),
            "pages": len(plan.pages),
            "greedy_pages": len(greedy.pages),
            "back": len(plan.back_turns),
            "greedy_back": len(greedy.back_turns),
        }
        found["measures"], found["rounds"] = len(job.score.measures), drawn.rounds
        seconds.append(plan.solver.seconds)
    found["solver_s"] = max(seconds)
    one_size = Settings(staff_mm=ONE_SIZE_MM if job.problem.staves < 4 else 5.5)
    with tempfile.TemporaryDirectory() as name:
        prepare = lambda: pipeline.prepare(score, Path(name), one_size, replace=True)  # noqa: E731
        prepare_s = _median(prepare, repeats)
        found["peak_mib"] = _peak_mib()
        plain_s = _median(lambda: plain_pass.engrave(str(score)), repeats)
        command = [QUIETLEAF, "prepare", score, "-o", name, "--replace", "--staff", f"{one_size.staff_mm:g}"]
        process_s = _median(lambda: subprocess.run(command, check=True, capture_output=True), repeats)
    plain = [sys.executable, plain_pass.__file__, score]
    plain_process_s = _median(lambda: subprocess.run(plain, check=True, capture_output=True), repeats)
    found["ratio"], found["process_ratio"] = prepare_s / plain_s, process_s / plain_process_s
    return found


def _print_comparison(score: Path, repeats: int) -> None:
    """How long a comparison with its page takes, and what is in it."""
    import plain_pass

    from optimizer import pipeline
    from optimizer.compare.model import Choices, Comparison
    from optimizer.compare.web import write_page
    from optimizer.settings import DESKS, PAPERS, Settings

    choices = Choices((DESKS["upright"], DESKS["grand"]), (PAPERS["a4"],), ("taped",))
    found: list[Comparison] = []
    with tempfile.TemporaryDirectory() as name:
        page = Path(name) / "compare.html"

        def compare() -> None:
            found[:] = [pipeline.compare_plans(score, choices, Settings())]
            write_page(page, found[0])

        ratios = [_ratios(compare, lambda: plain_pass.engrave(str(score))) for _ in range(repeats)]
        size_kb = page.stat().st_size / 1000
    ratio, cpu_ratio = map(statistics.median, zip(*ratios, strict=True))
    tally, shown = found[0].tally, len(found[0].alternatives)
    print(
        f"{score.name}, {len(found[0].score.measures)} bars: comparison / plain pass {ratio:.2f}, in processor time "
        f"{cpu_ratio:.2f}; page {size_kb:.0f} kB"
    )
    print(
        f"    cells {tally.cells}, solved {tally.solved}, dominated {tally.dominated}, impossible {tally.impossible}; "
        f"beaten {tally.beaten}, shown {shown}; solver {tally.solver_s:.2f} s",
        flush=True,
    )


def _print_parts(path: Path) -> None:
    """How a score's parts come out, printed files apart."""
    from optimizer import layout
    from optimizer.parts.extract import extract
    from optimizer.parts.levels import applied
    from optimizer.parts.model import PartsSettings
    from optimizer.parts.prepare import measure_parts, plan_parts
    from optimizer.parts.timeline import ensemble
    from optimizer.progress import silent
    from optimizer.score import load_file, score_from
    from optimizer.settings import Settings

    settings = applied(PartsSettings(Settings(binding="stapled")))
    file = load_file(path)
    full = score_from(file, default_tempo=settings.paper.turns.default_tempo)
    members = measure_parts(full, extract(file, full, settings), settings, silent)
    before_s = _processor_s()
    found = plan_parts(members, settings, silent)
    took_s = _processor_s() - before_s
    plans, report = found.joint.plans, found.joint.report
    greedy = [
        layout.greedy_plan(job.problem, plan.staff_mm) for job, plan in zip(members.jobs, plans, strict=True)
    ]
    scores = [job.score for job in members.jobs]
    at_once = {
        name: dict(ensemble(full, file.root, members.parts, scores, each, settings.paper).at_once())
        for name, each in (("together", plans), ("apart", found.joint.apart), ("filled", greedy))
    }
    points = [
        "broken" if each is None else f"{each / 100:.0f}"
        for each in (report.apart, report.objective, report.bound)
    ]
    print(
        f"{path.name}, {len(full.measures)} bars, {len(plans)} parts: {report.status}, in {took_s:.1f} s of processor "
        f"time with drawing, rounds {found.rounds}; points apart {points[0]}, together {points[1]}, bound {points[2]}"
    )
    print(f"    parts turning at once, and how often: {at_once}; limits broken {list(report.broken)}")
    for part, plan, filled in zip(members.parts, plans, greedy, strict=True):
        print(
            f"    {part.name}: tight or blocked {_hard(plan)} of {_hard(filled)}; pages {len(plan.pages)} of "
            f"{len(filled.pages)}; staff {plan.staff_mm:g} mm",
            flush=True,
        )
    print(f"    all: tight or blocked {sum(map(_hard, plans))} of {sum(map(_hard, greedy))}", flush=True)


def _ratios(call: Callable[[], object], yardstick: Callable[[], object]) -> tuple[float, float]:
    """How much longer a call takes, in seconds and processor seconds; measured against before and after, since a
    machine is not always equally quick."""
    before, took, after = _times(yardstick), _times(call), _times(yardstick)
    seconds, processor_s = (2 * time / (b + a) for time, b, a in zip(took, before, after, strict=True))
    return seconds, processor_s


def _times(call: Callable[[], object]) -> tuple[float, float]:
    """Seconds, and processor seconds of this process and of those that it has ended."""
    started, before = time.perf_counter(), _processor_s()
    call()
    return time.perf_counter() - started, _processor_s() - before


def _processor_s() -> float:
    usages = [resource.getrusage(kind) for kind in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)]
    return sum(usage.ru_utime + usage.ru_stime for usage in usages)


def _peak_mib() -> float:
    """Peak of this process and of the largest that it has started, of which there is one at a time; what a copied
    process shares with its original counts twice."""
    kinds = (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)
    return sum(resource.getrusage(kind).ru_maxrss for kind in kinds) / 1024


def _hard(plan: Any) -> int:
    """Turns and back-turns graded tight or blocked, each counted as often as it is played."""
    return sum(turn.passes for turn in (*plan.turns, *plan.back_turns) if turn.grade.value in HARD)


def _median(call: Callable[[], object], repeats: int) -> float:
    times = []
    for _ in range(repeats):
        started = time.perf_counter()
        call()
        times.append(time.perf_counter() - started)
    return statistics.median(times)


def _print_totals(rows: Sequence[dict[str, Any]], desks: Sequence[str]) -> None:
    print(f"\n{len(rows)} scores")
    for desk in desks:
        ours, greedy, pages, greedy_pages = (
            sum(row["desks"][desk][key] for row in rows)
            for key in ("hard", "greedy_hard", "pages", "greedy_pages")
        )
        optimal = sum(row["desks"][desk]["status"] == "optimal" for row in rows)
        share = ours / greedy if greedy else 0.0
        print(
            f"{desk:8} optimal {optimal}/{len(rows)}; tight or blocked turns {ours} of greedy's {greedy} "
            f"({share:.2f}); pages {pages}, greedy {greedy_pages}"
        )
    print(
        f"prepare / plain pass: worst {max(row['ratio'] for row in rows):.2f}, "
        f"median {statistics.median(row['ratio'] for row in rows):.2f}; "
        f"as whole processes: worst {max(row['process_ratio'] for row in rows):.2f}, "
        f"median {statistics.median(row['process_ratio'] for row in rows):.2f}"
    )
    print(f"peak memory {max(row['peak_mib'] for row in rows):.0f} MiB")


if __name__ == "__main__":
    main()
