"""All turns of an ensemble in order of time, for the teacher.

In: `Ensemble`, words.  Out: `Table`: a head and rows as `Block`s.  Lengths in mm, type in points.  Always true: no text
is cut; what is wider than its column goes on in a further line.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from optimizer.parts.timeline import Ensemble, TurnMoment
from optimizer.press.blocks import Block
from optimizer.press.ensemble_words import EnsembleWords
from optimizer.press.figures import Figure, Label, Line, grade_sign, line_mm, text_width_mm, wrap
from optimizer.turns.bars import bar_number
from optimizer.turns.model import Grade

TEXT_PT: Final = 9.0
GAP_MM: Final = 4.0  # between columns
SIGN_MM: Final = 2.6
SIGN_ROOM_MM: Final = 4.0
NO_NUMBER: Final = "–"  # of a pickup or a bar that a repeat divides
# Of what the figures leave, where it is too little: so much at most for the part, and for what is said of the turn
# unless the last column needs less.
PART_SHARE, TURN_SHARE = 0.3, 0.45


@dataclass(frozen=True, slots=True)
class Table:
    """`head` stands on every page that has rows; it is empty where nobody turns."""

    head: Block
    rows: tuple[Block, ...]


@dataclass(frozen=True, slots=True)
class _Row:
    """The texts of a turn, and its grade, of which the sign stands before the last but one."""

    texts: tuple[str, ...]
    grade: Grade


def turn_table(ensemble: Ensemble, width_mm: float, said: EnsembleWords) -> Table:
    """As often as they are played."""
    rows = tuple(_rows(ensemble, said))
    step = line_mm(TEXT_PT)
    if not rows:
        nobody = Label(0.0, step * 1.6, said.nobody, TEXT_PT)
        return Table(Block(0.0, ()), (Block(step * 2, (nobody,)),))
    heads = (
        said.time_heading,
        said.bar_heading,
        said.part_heading,
        said.pages_row_heading,
        said.turn_heading,
        said.at_once_heading,
    )
    columns = _columns(heads, [row.texts for row in rows], width_mm)
    labels = [
        Label(x, step * 1.8, head, TEXT_PT, bold=True) for head, (x, _) in zip(heads, columns, strict=True)
    ]
    rule = Line(((0.0, step * 2.0), (width_mm, step * 2.0)), 0.15)
    return Table(Block(step * 2.2, (*labels, rule)), tuple(_drawn(row, columns) for row in rows))


def _rows(ensemble: Ensemble, said: EnsembleWords) -> Iterator[_Row]:
    """Each turn with those who turn at the same moment."""
    for crowd in ensemble.moments():
        names = {lane: ensemble.lanes[lane].name for lane, _ in crowd}
        everybody = 2 < len(names) == len(ensemble.lanes)
        for lane, turn in crowd:
            others = ", ".join(name for other, name in names.items() if other != lane)
            yield _row(turn, names[lane], said.all_others if everybody else others, said)


def _row(turn: TurnMoment, name: str, others: str, said: EnsembleWords) -> _Row:
    number = bar_number(turn.after_bar) or NO_NUMBER
    bar = f"{turn.movement}, {number}" if turn.movement else number
    go = said.back_to_page if turn.back else said.on_to_page
    told = said.between if turn.between else ", ".join(_told(turn, said))
    pages = go(here=turn.from_page, there=turn.to_page)
    return _Row((clock(turn.time_s), bar, name, pages, told, others), turn.grade)


def _told(turn: TurnMoment, said: EnsembleWords) -> Iterator[str]:
    """Grade, time, notes to carry."""
    grade = said.grade(turn.grade)
    yield said.but_by_heart(grade=grade) if turn.by_heart else grade
    if turn.free_s:
        yield said.free(time=said.seconds(turn.free_s))
    if turn.carry:
        yield said.carry(turn.carry)


def _columns(
    heads: Sequence[str], rows: Sequence[Sequence[str]], width_mm: float
) -> tuple[tuple[float, float], ...]:
    """Where each column begins, and how wide its texts may be: figures as they need, the rest shared."""
    needed = [text_width_mm(head, TEXT_PT, bold=True) for head in heads]
    for row in rows:
        needed = [max(wide, text_width_mm(text, TEXT_PT)) for wide, text in zip(needed, row, strict=True)]
    time, bar, part, pages, turn, others = needed
    turn += SIGN_ROOM_MM
    rest = max(0.0, width_mm - time - bar - pages - (len(heads) - 1) * GAP_MM)
    if part + turn + others > rest:
        part = min(part, rest * PART_SHARE)
        turn = min(turn, max(rest * TURN_SHARE, rest - part - others))
    wide = time, bar, part, pages, turn, rest - part - turn
    starts = (sum(wide[:place]) + place * GAP_MM for place in range(len(wide)))
    return tuple(zip(starts, wide, strict=True))


def _drawn(row: _Row, columns: Sequence[tuple[float, float]]) -> Block:
    step = line_mm(TEXT_PT)
    figures: list[Figure] = []
    most = 1
    for place, (text, (x, wide)) in enumerate(zip(row.texts, columns, strict=True)):
        indent = SIGN_ROOM_MM if place == len(columns) - 2 else 0.0
        if indent:
            figures += grade_sign(row.grade, x + 1.3, step * 0.5, SIGN_MM)
        lines = wrap(text, TEXT_PT, wide - indent + 0.01)
        most = max(most, len(lines))
        figures += (Label(x + indent, step * (n + 0.75), line, TEXT_PT) for n, line in enumerate(lines))
    return Block(step * (most + 0.1), tuple(figures))


def clock(time_s: float) -> str:
    """Minutes and seconds: 3:07."""
    whole = round(time_s)
    return f"{whole // 60}:{whole % 60:02}"
