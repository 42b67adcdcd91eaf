"""What the command line shows: progress on stderr, summaries and tables on stdout.

In: results of the pipeline.  Out: text.  Nothing is decided here.
"""

import json
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from itertools import zip_longest
from pathlib import Path

from rich.console import Console
from rich.progress import BarColumn, TaskID, TextColumn, TimeElapsedColumn
from rich.progress import Progress as Bars
from rich.table import Table

from optimizer.compare.difference import Difference
from optimizer.layout import report_rows
from optimizer.layout.plan import Plan, PlannedBackTurn, PlannedPage, PlannedTurn
from optimizer.parallel import vouch_for
from optimizer.pipeline import FoundTurns, Prepared
from optimizer.press.language import words
from optimizer.press.played import graded, turn_names
from optimizer.progress import Progress
from optimizer.settings import DESKS, Desk, Lang, Settings
from optimizer.turns.bars import BarNames
from optimizer.turns.model import Grade, StepCost, tenths_s
from optimizer.why import Explained, document, sentences

SHOWN_AFTER_S = 1.0  # quicker work needs no progress
NO_HAND = "where a turn is blocked no hand is free; decide beforehand who turns."


class _Console(Console):
    """Standard output, as plain as it comes."""

    def on_broken_pipe(self) -> None:
        """Whoever read us has seen enough: the command line ends quietly; rich would end it as failed."""
        raise BrokenPipeError


def new_console() -> Console:
    """Standard output."""
    return _Console(highlight=False)


def plain(text: str) -> str:
    """Text from a score must not be read as markup."""
    return text.replace("[", r"\[")


@contextmanager
def progress() -> Iterator[Progress]:
    """A progress bar on a terminal; elsewhere one line a stage, once the work has lasted a second."""
    console = Console(stderr=True)
    started = time.monotonic()
    if not console.is_terminal:
        told: set[str] = set()

        def tell(stage: str, done: float = 0.0) -> None:
            if stage not in told and time.monotonic() - started > SHOWN_AFTER_S:
                told.add(stage)
                print(f"quietleaf: {stage} ...", file=sys.stderr, flush=True)

        yield tell
        return
    columns = (TextColumn("{task.description}"), BarColumn(), TimeElapsedColumn())
    before = set(threading.enumerate())
    with Bars(*columns, console=console, transient=True) as bars:
        vouch_for(set(threading.enumerate()) - before)  # it only draws the bar, on a console of its own
        tasks: dict[str, TaskID] = {}

        def show(stage: str, done: float = 0.0) -> None:
            if stage not in tasks:
                for task in bars.tasks:
                    bars.update(task.id, completed=1.0)
                tasks[stage] = bars.add_task(stage, total=1.0)
            bars.update(tasks[stage], completed=done)

        yield show


def print_summary(prepared: Prepared) -> None:
    """What was chosen, the turns, the objective's terms, and where the files are."""
    console = new_console()
    plan, score = prepared.plan, prepared.score
    console.print(f"[bold]{plain(score.title or Path(score.path).stem)}[/bold]  {plain(score.composer)}")
    key = f"{score.key}{' (found by analysis)' if score.key.found else ''}, " if score.key else ""
    console.print(key + words(Lang.EN).duration(score.duration_s))
    console.print(
        f"{_pages(plan)}, staff {plan.staff_mm:g} mm, {prepared.settings.paper.name}, "
        f"{_desk(prepared.settings.desk)} ({plan.pages_abreast} abreast): {plan.binding}, {plan.pattern}"
    )
    blank = {page.number for page in plan.pages if page.blank}
    console.print(
        "spreads: "
        + "  ".join(
            "·".join(f"({n} blank)" if n in blank else str(n) for n in spread) for spread in plan.spreads
        )
    )
    console.print(f"turns for: {plain(prepared.player_text)}; tempo: {plain(score.tempo_source)}")
    _print_planned(console, plan, prepared.settings)
    _print_terms(console, prepared)
    if Grade.BLOCKED in {turn.grade for turn in plan.turns} | {turn.grade for turn in plan.back_turns}:
        console.print(f"note: {NO_HAND}", soft_wrap=True)
    for warning in prepared.warnings:
        console.print(f"note: {plain(warning)}", soft_wrap=True)
    for path in prepared.files:
        console.print(f"wrote {plain(str(path))}", soft_wrap=True)


def _pages(plan: Plan) -> str:
    """How many pages; where numbers do not begin at 1, why."""
    count = f"{len(plan.pages)} page{'s' if len(plan.pages) > 1 else ''}"
    first = plan.pages[0].number
    if plan.outside_title:
        return f"{count} and page 1, a title page outside"
    return count if first == 1 else f"{count} (numbered from {first}: odd pages lie right)"


def _desk(desk: Desk) -> str:
    """A desk by its name, or by its width alone."""
    width = f"{desk.width_mm:g} mm"
    return f"{width} desk" if desk.name not in DESKS else f"{desk.name} desk"


def _print_terms(console: Console, prepared: Prepared) -> None:
    """Each term of the objective that is not 0, in points; the user's percents where there are any."""
    solver, weights = prepared.plan.solver, prepared.settings.weights_percent
    rows = [row for row in report_rows(prepared.plan, weights) if row.points]
    table = _table("term", "points", *(("x %",) if weights else ()), "for")
    for row in rows:
        table.add_row(row.term, str(row.points), *((str(row.percent),) if weights else ()), row.meaning)
    if rows:
        console.print(table)
    console.print(
        f"solver: {solver.status}, objective {solver.objective}, bound {solver.bound} "
        f"(hundredths of a point), {solver.seconds:.2f} s"
    )


def _print_planned(console: Console, plan: Plan, settings: Settings) -> None:
    every: list[PlannedTurn | PlannedBackTurn] = [*plan.turns, *plan.back_turns]
    if not every:
        console.print("no turn at all")
        return
    table = Table("turn", "page", "grade", "why", box=None, pad_edge=False, header_style="bold")
    names = turn_names(plan)
    for turn in every:
        grade = graded(turn, settings, words(Lang.EN))
        table.add_row(names[turn], f"{turn.from_page} to {turn.to_page}", grade, plain(turn.why))
    console.print(table)


def print_turns(found: FoundTurns, picture: Path | None, kept: Path | None = None) -> None:
    """A table of every barline; `picture` was drawn, `kept` is an older one that was not drawn over."""
    console = new_console()
    console.print(f"turns for: {plain(found.player_text)}; tempo: {plain(found.score.tempo_source)}")
    table = Table("after bar", "cost", "grade", "hand", "free s", "carry", "why", box=None, pad_edge=False)
    for cost in found.costs:
        number = found.score.measures[cost.from_index].last_number
        row = (
            number,
            str(cost.cost),
            cost.grade.value,
            cost.hand,
            f"{tenths_s(cost.free_s):.1f}",
            str(cost.carry),
            cost.sentence,
        )
        table.add_row(*map(plain, row))
    console.print(table)
    if picture:
        console.print(f"wrote {plain(str(picture))}")
    if kept:
        console.print(f"note: {plain(str(kept))} exists already and was kept; add --replace to draw it again")


def print_turns_json(found: FoundTurns) -> None:
    """The same for machines; `after` is the measure's 0-based place in the file."""
    rows = [_turn_row(cost, found.score.measures[cost.from_index].last_number) for cost in found.costs]
    document = {
        "schema": "quietleaf-turns/1",
        "score": {"title": found.score.title, "composer": found.score.composer, "sha256": found.score.sha256},
        "player": found.player_text,
        "tempo": found.score.tempo_source,
        "barlines": rows,
    }
    json.dump(document, sys.stdout, ensure_ascii=False, indent=1)
    print()


def _turn_row(cost: StepCost, number: str) -> dict[str, object]:
    return {
        "after": cost.from_index,
        "after_bar": number,
        "cost": cost.cost,
        "grade": cost.grade.value,
        "hand": cost.hand,
        "free_s": round(cost.free_s, 3),
        "instant_s": round(cost.instant_s, 3),
        "carry": cost.carry,
        "dropped": cost.dropped,
        "terms": dict(cost.terms),
        "why": cost.sentence,
    }


def print_explained(found: Explained) -> None:
    """The sentences, then what changes: turns, pages, terms of the objective."""
    console = new_console()
    for sentence in sentences(found):
        console.print(plain(sentence))
    if found.difference and not found.difference.is_nothing:
        for table in _change_tables(found.difference, BarNames(found.score)):
            console.print()
            console.print(table)


def _change_tables(change: Difference, names: BarNames) -> Iterator[Table]:
    """What goes, comes and changes."""
    if change.turns_gone or change.turns_new or change.turns_regraded:
        yield _turn_table(change)
    pages = _table("page before", "bars", "page after", "bars")
    for before, after in zip_longest(change.before.pages, change.after.pages):
        pages.add_row(*_page_cells(before, names), *_page_cells(after, names))
    yield pages
    terms = _table("term", "before", "after", "more")
    for term in change.terms:
        terms.add_row(term.term, *(f"{cost / 100:g}" for cost in (term.before, term.after, term.more)))
    costs = change.before.solver.objective, change.after.solver.objective, change.cost
    terms.add_row("all, in points", *(f"{cost / 100:g}" for cost in costs))
    yield terms


def _turn_table(change: Difference) -> Table:
    table = _table("turn", "page", "grade", "why")
    rows = [("goes", turn) for turn in change.turns_gone] + [("comes", turn) for turn in change.turns_new]
    rows += [("becomes", each.after) for each in change.turns_regraded]
    for what, turn in sorted(rows, key=lambda row: (row[1].after, row[1].to)):
        table.add_row(what, f"{turn.from_page} to {turn.to_page}", turn.grade.value, plain(turn.why))
    return table


def _page_cells(page: PlannedPage | None, names: BarNames) -> tuple[str, str]:
    """A page's number and bars; nothing where there is none."""
    if page is None:
        return "", ""
    if page.blank:
        return str(page.number), "blank"
    first, last = page.systems[0].first, page.systems[-1].last
    return str(page.number), plain(names.ranges(first, last) or f"#{first + 1}–#{last + 1}")


def _table(*heads: str) -> Table:
    return Table(*heads, box=None, pad_edge=False, header_style="bold")


def print_explained_json(found: Explained) -> None:
    """The same for machines."""
    json.dump(document(found), sys.stdout, ensure_ascii=False, indent=1)
    print()
