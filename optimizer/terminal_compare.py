"""What `quietleaf compare` shows: a table of the alternatives, how they were found, where the files are.

In: `Compared`.  Out: text on stdout.  Always true: what all alternatives share stands above the table and not in it, so
that it goes on a narrow terminal.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from rich.console import Console
from rich.table import Table

from optimizer.compare.model import Alternative
from optimizer.compare.web import words
from optimizer.pipeline import Compared
from optimizer.terminal import new_console, plain
from optimizer.turns.model import Grade

LAST = "pages lie"  # the only column that may be broken
GRADE_ROOM = max(map(len, Grade))
NARROW = 100  # columns of a terminal below which cells stand closer


@dataclass(frozen=True, slots=True)
class _Column:
    """A column of the table. `common`: what is said above it where all cells are alike; empty: never."""

    head: str
    cells: tuple[str, ...]
    common: str = ""
    right: bool = True

    @property
    def is_common(self) -> bool:
        """Whether it is said above the table."""
        return bool(self.common) and len(set(self.cells)) == 1


def print_compared(compared: Compared) -> None:
    """The table, the tally, and what was written."""
    console, found = new_console(), compared.comparison
    columns = _columns(found.alternatives)
    papers = {words.paper_name(alternative.settings.paper) for alternative in found.alternatives}
    shared = sorted(papers) if len(papers) == 1 else []
    shared += [column.common.format(column.cells[0]) for column in columns if column.is_common]
    title = found.score.title or Path(found.score.path).stem
    console.print(f"[bold]{plain(title)}[/bold]  {plain(found.score.composer)}")
    console.print(f"turns for: {plain(found.player_text)}; tempo: {plain(found.score.tempo_source)}")
    if shared:
        console.print(plain(f"all: {', '.join(shared)}"))
    groups = [words.group_name(alternative, found.alternatives) for alternative in found.alternatives]
    for group in dict.fromkeys(groups):
        rows = [index for index, own in enumerate(groups) if own == group]
        abreast = found.alternatives[rows[0]].plan.pages_abreast
        console.print(f"\n[bold]{plain(group)}[/bold], up to {abreast} pages abreast")
        console.print(_table([column for column in columns if not column.is_common], rows, console.width))
    console.print()
    for note, meaning in words.notes_told(found.alternatives):
        console.print(f"{note}: {meaning}", soft_wrap=True)
    console.print(words.tallied(found.tally, found.alternatives).replace("\u00a0", " "), soft_wrap=True)
    _print_files(console, compared)


def _print_files(console: Console, compared: Compared) -> None:
    for warning in compared.comparison.warnings:
        console.print(f"note: {plain(warning)}", soft_wrap=True)
    for path in compared.kept:
        console.print(f"kept {plain(str(path))}, which holds the same comparison", soft_wrap=True)
    for path in compared.files:
        console.print(f"wrote {plain(str(path))}", soft_wrap=True)
    if compared.picked:
        label = words.label(compared.picked).replace("\u00a0", " ")
        console.print(f"printed alternative {compared.picked.number}: {plain(label)}")
    else:
        console.print("to print one, run the same command again with --pick and its number")


def _columns(alternatives: Sequence[Alternative]) -> list[_Column]:
    """What tells alternatives apart, then their merits, then how their pages lie."""
    every = [(one, one.settings, one.merits) for one in alternatives]
    return [
        _Column("no.", tuple(str(one.number) for one in alternatives)),
        _Column("binding", tuple(own.binding for _, own, _ in every), "{}", right=False),
        _Column("staff", tuple(f"{merits.staff_mm:g}" for _, _, merits in every), "staff {} mm"),
        _Column("pages", tuple(str(len(one.plan.pages)) for one in alternatives)),
        _Column("sheets", tuple(str(merits.sheets) for _, _, merits in every)),
        _Column("effort", tuple(str(merits.effort) for _, _, merits in every)),
        _Column("worst", tuple(map(_worst, alternatives))),
        _Column("back", tuple(str(merits.back_turns) for _, _, merits in every)),
        _Column("reach", tuple(str(merits.reach) for _, _, merits in every)),
        _Column(LAST, tuple(map(_lying, alternatives)), right=False),
    ]


def _worst(alternative: Alternative) -> str:
    """The points of the hardest turn, and its grade where there is one."""
    grade = words.hardest(alternative.plan)
    return f"{alternative.merits.worst} {grade or '':<{GRADE_ROOM}}"


def _lying(alternative: Alternative) -> str:
    """How pages lie, and what else is to be said."""
    return ", ".join((words.pattern(alternative.plan.pattern), *words.notes(alternative)))


def _table(columns: Sequence[_Column], rows: Sequence[int], width: int) -> Table:
    """These rows; columns are as wide as for all rows, so that several tables stand below one another."""
    table = Table(
        box=None, pad_edge=False, header_style="bold", padding=(0, 1, 0, 0 if width < NARROW else 1)
    )
    for column in columns:
        widest = max(map(len, (column.head, *column.cells)))
        table.add_column(
            column.head,
            justify="right" if column.right else "left",
            min_width=None if column.head == LAST else widest,
            no_wrap=column.head != LAST,
        )
    for row in rows:
        table.add_row(*(plain(column.cells[row]) for column in columns))
    return table
