"""What `quietleaf parts` shows: a line a part, who turns at once, where the files are.

In: `PreparedParts`.  Out: text on stdout.
"""

from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Final

from rich.table import Table

from optimizer.parts.prepare import PreparedParts
from optimizer.parts.timeline import Lane
from optimizer.press.ensemble_told import proof_words, together_words
from optimizer.press.ensemble_words import ensemble_words
from optimizer.settings import Lang
from optimizer.terminal import NO_HAND, new_console, plain
from optimizer.turns.model import Grade

NEVER: Final[Mapping[str, str]] = {
    "all": "all turn at once",
    "family": "a whole family of instruments turns at once where it is soft or sustained",
}


def print_prepared_parts(prepared: PreparedParts) -> None:
    """The parts, the joint plan, and what was written."""
    console, found = new_console(), prepared.together
    console.print(f"[bold]{plain(found.title or 'Untitled')}[/bold]  {plain(found.composer)}")
    console.print(f"{ensemble_words(Lang.EN).duration(found.duration_s)}; tempo: {plain(found.tempo_source)}")
    console.print(_table(found.lanes))
    for line in _joint(prepared):
        console.print(line, soft_wrap=True)
    blocked = [lane.name for lane in found.lanes if Grade.BLOCKED in {turn.grade for turn in lane.turns}]
    if blocked:
        console.print(f"note: {plain(', '.join(blocked))}: {NO_HAND}", soft_wrap=True)
    for warning in prepared.warnings:
        console.print(f"note: {plain(warning)}", soft_wrap=True)
    for path in _told(prepared):
        console.print(f"wrote {plain(str(path))}", soft_wrap=True)


def _table(lanes: Sequence[Lane]) -> Table:
    """A line a part; how many players and copies only where there are several."""
    table = Table(box=None, pad_edge=False, header_style="bold", padding=(0, 1))
    shared = any(lane.players > 1 for lane in lanes)
    counts = [*(("players", "copies") if shared else ()), "pages", "sheets", "staff"]
    table.add_column("part")
    for head in counts:
        table.add_column(head, justify="right")
    table.add_column("turns")
    for lane in lanes:
        told = {
            "players": str(lane.players),
            "copies": str(lane.copies),
            "pages": str(lane.pages),
            "sheets": str(lane.sheets),
            "staff": f"{lane.staff_mm:g}",
        }
        table.add_row(plain(lane.name), *(told[head] for head in counts), _turns(lane))
    return table


def _turns(lane: Lane) -> str:
    """ "3: 2 open, 1 tight (but by heart)"."""
    told = ", ".join(filter(None, (_graded(lane, grade) for grade in Grade)))
    return f"{len(lane.turns)}: {told}" if told else "none"


def _graded(lane: Lane, grade: Grade) -> str:
    """How many turns of a grade, and how many of these are no easier for it; empty where there are none."""
    turns = [turn for turn in lane.turns if turn.grade is grade]
    learnt = sum(turn.by_heart for turn in turns)
    some = f" ({'' if learnt == len(turns) else f'{learnt} '}but by heart)" if learnt else ""
    return f"{len(turns)} {grade}{some}" if turns else ""


def _joint(prepared: PreparedParts) -> Iterator[str]:
    """Who turns at once, now and had each part been planned alone; what that costs; how good the plan is."""
    report = prepared.report
    said = ensemble_words(Lang.EN)
    yield from together_words(prepared.together, prepared.apart, report, said)
    for what in report.broken:
        yield (
            f"note: it cannot be avoided that {NEVER[what]}: make the parts differ, for example with --least-staff"
        )
    yield f"{proof_words(report, said)} Planned in {report.seconds:.1f} s."


def _told(prepared: PreparedParts) -> Iterator[Path]:
    """A folder for each part, then the files beside them."""
    folders = dict.fromkeys(path.parent for path in prepared.files)
    root = min(folders, key=lambda folder: len(folder.parts))
    yield from (folder for folder in folders if folder != root)
    yield from (path for path in prepared.files if path.parent == root)
