"""The plan: what goes on which page, what lies open together, and why.

In: nothing.  Out: frozen dataclasses and their JSON form `quietleaf-plan/1`.  Measures are 0-based positions
in the file, bar numbers as printed, page numbers as printed (they start at 1 or 2 so that odd numbers stand
on the right).
"""

import json
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, fields
from itertools import chain
from typing import Any, Final, TypeVar

from optimizer.errors import UsageError
from optimizer.layout.origin import score_facts
from optimizer.layout.patterns import PageSide, page_sides
from optimizer.score.model import Score
from optimizer.settings import Settings
from optimizer.settings_json import settings_to_json
from optimizer.turns.model import Grade, StripKind

SCHEMA: Final = "quietleaf-plan/1"

_Record = TypeVar("_Record", "BlankReason", "PlannedTurn", "PlannedBackTurn", "PlannedStrip", "SolverReport")


@dataclass(frozen=True, slots=True)
class PlannedSystem:
    """Measures first..last, both included."""

    first: int
    last: int


@dataclass(frozen=True, slots=True)
class BlankReason:
    """What a blank page is there for: a turn after bar `after_bar`, of this grade (None: nobody turns there).

    Without blank sides there would be the turn after `instead_bar` (empty: none but those there are), and the set would
    cost `points` more (None: not reckoned), or, `forced`, there would be no layout that meets all demands.
    """

    after_bar: str
    grade: Grade | None
    instead_bar: str = ""
    instead_grade: Grade | None = None
    points: int | None = None
    forced: bool = False


@dataclass(frozen=True, slots=True)
class PlannedPage:
    """One printed side. `why`: what a blank one is there for, in an English sentence; `reason`: the same as facts."""

    number: int
    systems: tuple[PlannedSystem, ...]
    blank: bool = False
    why: str = ""
    reason: BlankReason | None = None


@dataclass(frozen=True, slots=True)
class PlannedTurn:
    """A turn to a later spread, played `passes` times. Also a forward jump (second ending, coda) that leaves
    the spread."""

    from_page: int
    to_page: int
    after: int
    after_bar: str
    to: int
    to_bar: str
    grade: Grade
    cost: int
    hand: str
    instant_s: float
    free_s: float
    carry: int
    passes: int
    leaves: int
    why: str


@dataclass(frozen=True, slots=True)
class PlannedBackTurn:
    """A turn back to an earlier spread."""

    from_page: int
    to_page: int
    after: int
    after_bar: str
    to: int
    to_bar: str
    leaves: int
    cost: int
    grade: Grade
    hand: str
    free_s: float
    passes: int
    why: str
    carry: int = 0


@dataclass(frozen=True, slots=True)
class PlannedStrip:
    """Measures first..last printed again, small, on `page`: `late` ones at its foot, before the turn to them, `early`
    ones at its head, after the turn from them. `after`: the last measure before the turn as it is printed, where its
    `PlannedTurn` is listed; `turn_after`: the measure after which the player turns instead, which is what grade, hand
    and seconds there tell of. `grade_before`: without the strip."""

    kind: StripKind
    page: int
    after: int
    first: int
    last: int
    first_bar: str
    last_bar: str
    turn_after: int
    turn_after_bar: str
    grade_before: Grade
    grade: Grade


@dataclass(frozen=True, slots=True)
class SolverReport:
    """What the solver says, in hundredths of a point. `terms`: each term of the objective by name, weighted
    (points times percent); they sum to `objective`."""

    status: str
    objective: int
    bound: int
    seconds: float
    terms: dict[str, int]


@dataclass(frozen=True, slots=True)
class Plan:
    """A whole layout. `spreads` lists page numbers lying open together, left to right. With `outside_title` the first
    side, page 1, is a title page outside: it is not among `pages`, and the music starts on its back."""

    staff_mm: float
    pages_abreast: int
    binding: str
    pattern: str
    pages: tuple[PlannedPage, ...]
    spreads: tuple[tuple[int, ...], ...]
    turns: tuple[PlannedTurn, ...]
    back_turns: tuple[PlannedBackTurn, ...]
    solver: SolverReport
    outside_title: bool = False
    strips: tuple[PlannedStrip, ...] = ()

    def strip_at(self, turn: PlannedTurn | PlannedBackTurn) -> PlannedStrip | None:
        """The strip that moves a turn."""
        return next((s for s in self.strips if (s.after, s.after + 1) == (turn.after, turn.to)), None)

    def side(self, number: int) -> PageSide:
        """Where a page lies in its spread."""
        sides = page_sides([len(spread) for spread in self.spreads])
        return dict(zip(chain.from_iterable(self.spreads), chain.from_iterable(sides), strict=True))[number]


def to_json(plan: Plan, score: Score, player: Mapping[str, object], settings: Settings) -> str:
    """plan.json; `player` as {"parts": part ids, "kind": words}. The same plan gives the same text. It keeps how it was
    made, see `origin`."""
    paper = settings.paper
    document = {
        "schema": SCHEMA,
        "score": {
            "title": score.title,
            "composer": score.composer,
            "key": str(score.key or ""),
            "key_by_analysis": score.key is not None and score.key.found,
            "measures": len(score.measures),
            "sha256": score.sha256,
            **score_facts(score),
        },
        "player": dict(player),
        "paper": {
            "name": paper.name,
            "width_mm": round(paper.width_mm, 3),
            "height_mm": round(paper.height_mm, 3),
        },
        "desk": {"name": settings.desk.name, "pages_abreast": plan.pages_abreast},
        "binding": plan.binding,
        "pattern": plan.pattern,
        "outside_title": plan.outside_title,
        "staff_mm": plan.staff_mm,
        "settings": settings_to_json(settings),
        "solver": asdict(plan.solver),
        "pages": [asdict(page) for page in plan.pages],
        "spreads": [{"pages": list(numbers)} for numbers in plan.spreads],
        "turns": [asdict(turn) for turn in plan.turns],
        "back_turns": [asdict(turn) for turn in plan.back_turns],
        "strips": [asdict(strip) for strip in plan.strips],
    }
    return json.dumps(document, ensure_ascii=False, indent=1) + "\n"


def from_json(text: str) -> Plan:
    """The plan in a plan.json; UsageError when it is none."""
    try:
        document = json.loads(text)
        if document["schema"] != SCHEMA:
            raise UsageError(f"plan.json: schema {document['schema']}; this program reads {SCHEMA}")
        return Plan(
            staff_mm=float(document["staff_mm"]),
            pages_abreast=int(document["desk"]["pages_abreast"]),
            binding=str(document["binding"]),
            pattern=str(document["pattern"]),
            pages=tuple(_page(entry) for entry in document["pages"]),
            spreads=tuple(tuple(int(number) for number in entry["pages"]) for entry in document["spreads"]),
            turns=tuple(_record(PlannedTurn, entry) for entry in document["turns"]),
            back_turns=tuple(_record(PlannedBackTurn, entry) for entry in document["back_turns"]),
            solver=_record(SolverReport, document["solver"]),
            outside_title=bool(document.get("outside_title", False)),
            strips=tuple(_record(PlannedStrip, entry) for entry in document.get("strips", ())),
        )
    except (KeyError, TypeError, ValueError, AttributeError, OverflowError, RecursionError) as error:
        raise UsageError(f"plan.json: not a plan ({type(error).__name__}: {error})") from None


def _page(entry: Mapping[str, Any]) -> PlannedPage:
    """A page from its JSON form."""
    systems: Sequence[Mapping[str, Any]] = entry["systems"]
    reason = entry.get("reason")
    return PlannedPage(
        int(entry["number"]),
        tuple(PlannedSystem(int(system["first"]), int(system["last"])) for system in systems),
        bool(entry["blank"]),
        str(entry.get("why", "")),
        None if reason is None else _record(BlankReason, reason),
    )


def _record(kind: type[_Record], entry: Mapping[str, Any]) -> _Record:
    """A turn, strip or solver report from its JSON form: every field, by name."""
    values = {field.name: entry[field.name] for field in fields(kind)}
    words: Mapping[str, type[Grade] | type[StripKind]] = {
        "grade": Grade, "grade_before": Grade, "instead_grade": Grade, "kind": StripKind,
    }  # fmt: skip
    values |= {name: word(values[name]) for name, word in words.items() if values.get(name) is not None}
    return kind(**values)
