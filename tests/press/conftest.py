"""Scores, plans and drawn systems made by hand, so that the press is tested without reading, planning or
engraving."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import pairwise
from types import SimpleNamespace

import pytest

from optimizer.engrave.model import Engraved, EngravedSystem, Path
from optimizer.layout.plan import (
    Plan,
    PlannedBackTurn,
    PlannedPage,
    PlannedSystem,
    PlannedTurn,
    SolverReport,
)
from optimizer.press.page import page_geometry
from optimizer.score.model import Clock, Key, Measure, Note, Part, PartKind, PlayedMeasure, Score
from optimizer.settings import Settings
from optimizer.turns.hands import Player, PlayerKind
from optimizer.turns.model import Grade

STAFF_MM = 6.5
BARS_A_SYSTEM = 5
SYSTEMS_A_PAGE = 5
PLAYER = Player(
    (0,), PlayerKind.KEYBOARD, {"right": frozenset({(0, 1)}), "left": frozenset({(0, 2)})}, "Piano, two hands"
)


@dataclass(frozen=True)
class Case:
    """Everything the press is given."""

    score: Score
    plan: Plan
    engraved: Engraved
    settings: Settings

    @property
    def geometry(self):
        return page_geometry(self.score, self.settings)


def make_score(
    measures: int, notes: Sequence[Note] = (), order: Sequence[int] = (), **words: object
) -> Score:
    """A keyboard score in 4/4, one second a quarter, played in `order` (default: straight through)."""
    four = Fraction(4)
    bars = tuple(
        Measure(i, str(i + 1), False, four * i, four, 0, 4, 4, 0, False, False, False, 1, (), False, False)
        for i in range(measures)
    )
    score = Score(
        path="/home/someone/secret/place/score.musicxml",
        sha256="0" * 64,
        title="Evening Song",
        subtitle="for voice and piano",
        composer="Clara Beispiel",
        lyricist="Anna Muster",
        rights="",
        key=Key(-3, "major"),
        parts=(Part(0, "P1", "Piano", 2, PartKind.KEYBOARD, False),),
        measures=bars,
        notes=tuple(notes),
        clocks=(Clock(((Fraction(0), 0.0), (four, 4.0))),) * measures,
        played=tuple(PlayedMeasure(m, 1, 4.0 * step) for step, m in enumerate(order or range(measures))),
        tempo_source="default",
    )
    return replace(score, **words)


def make_note(measure: int, offset: int, length: int, staff: int, cue: bool = False) -> Note:
    """A quarter-counted note of the keyboard part; its pitch does not matter here."""
    return Note(
        0,
        measure,
        Fraction(offset),
        Fraction(length),
        staff,
        "1",
        None,
        None,
        False,
        cue,
        False,
        False,
        False,
    )


def make_system(
    first: int, last: int, above: float = 4.0, below: float = 3.0, staves: float = 14.0
) -> EngravedSystem:
    """Staff lines and barlines of a keyboard system, 184 mm wide at the staff size of these tests."""
    width = 184.0 * 4 / STAFF_MM
    tops = (0.0, staves - 4.0)
    lines = [(0.0, top + line, width, top + line) for top in tops for line in range(5)]
    ends = [
        (width * k / BARS_A_SYSTEM, 0.0, width * k / BARS_A_SYSTEM, staves) for k in range(BARS_A_SYSTEM + 1)
    ]
    items = tuple(Path((("M", a, b), ("L", c, d)), False, 0.12) for a, b, c, d in (*lines, *ends))
    barlines = tuple(x for x, *_ in ends[1:])
    return EngravedSystem(first, last, above, below, staves, 0.0, width, items, barlines)


def make_case(
    spreads: Sequence[Sequence[int]],
    turns: Sequence[PlannedTurn] = (),
    back_turns: Sequence[PlannedBackTurn] = (),
    blank: Sequence[int] = (),
    settings: Settings | None = None,
    systems: int = SYSTEMS_A_PAGE,
    abreast: int = 3,
    pattern: str = "3 first",
    **words: object,
) -> Case:
    """A set of pages with `systems` systems each and, unless given, an open turn after each spread but the
    last."""
    numbers = [number for spread in spreads for number in spread]
    pages, drawn, bar = [], [], 0
    for number in numbers:
        spans = []
        for _ in range(0 if number in blank else systems):
            spans.append(PlannedSystem(bar, bar + BARS_A_SYSTEM - 1))
            drawn.append(make_system(bar, bar + BARS_A_SYSTEM - 1))
            bar += BARS_A_SYSTEM
        pages.append(PlannedPage(number, tuple(spans), number in blank))
    if not turns:
        ends = {page.number: page.systems[-1].last for page in pages if page.systems}
        turns = [make_turn(a[-1], b[0], max(ends.get(n, 0) for n in a)) for a, b in pairwise(spreads)]
    plan = Plan(
        STAFF_MM,
        abreast,
        "taped",
        pattern,
        tuple(pages),
        tuple(tuple(spread) for spread in spreads),
        tuple(turns),
        tuple(back_turns),
        SolverReport("optimal", 10, 10, 0.1, {"turns": 10}),
    )
    return Case(make_score(bar, **words), plan, Engraved(tuple(drawn), {}), settings or Settings())


def make_turn(
    from_page: int, to_page: int, after: int, grade: Grade = Grade.OPEN, to: int | None = None
) -> PlannedTurn:
    """A turn after measure `after`, bar numbers counting from 1."""
    target = after + 1 if to is None else to
    why = f"after bar {after + 1}: left hand rests 2.4 s from beat 3, carry 2 notes"
    return PlannedTurn(
        from_page,
        to_page,
        after,
        str(after + 1),
        target,
        str(target + 1),
        grade,
        0,
        "left",
        -1.0,
        2.4,
        2,
        1,
        1,
        why,
    )


def make_back_turn(
    from_page: int, to_page: int, after: int, to: int, grade: Grade = Grade.QUICK
) -> PlannedBackTurn:
    """A turn back to measure `to`."""
    why = f"after bar {after + 1} back to bar {to + 1}: right hand rests 1.8 s"
    return PlannedBackTurn(
        from_page, to_page, after, str(after + 1), to, str(to + 1), 1, 40, grade, "right", 1.8, 1, why
    )


@pytest.fixture(scope="session")
def make() -> SimpleNamespace:
    """The makers above, for tests: `make.case`, `make.score`, `make.note`, `make.system`, `make.turn`,
    `make.back_turn`."""
    return SimpleNamespace(
        case=make_case,
        score=make_score,
        note=make_note,
        system=make_system,
        turn=make_turn,
        back_turn=make_back_turn,
        player=PLAYER,
        staff_mm=STAFF_MM,
    )
