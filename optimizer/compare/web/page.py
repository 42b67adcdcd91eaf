"""compare.html put together.

In: a comparison.  Out: one HTML file.  Always true: the file loads nothing and sends nothing (its own policy forbids
it), every text of the score is escaped, and the same comparison gives the same bytes.
"""

import base64
import hashlib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from importlib.resources import files
from pathlib import Path
from typing import Final

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from optimizer.compare.model import Alternative, Comparison, owned
from optimizer.compare.web import course, words
from optimizer.compare.web.course import Way, course_of, way_of
from optimizer.compare.web.scatter import Scatter, scatter
from optimizer.compare.web.spreads import Spread, frame_of, spreads_of
from optimizer.compare.web.symbols import Symbols
from optimizer.press.figures import GRADE_COLOURS
from optimizer.press.played import Turn, turn_names
from optimizer.turns.bars import BarNames, bar_label
from optimizer.turns.model import Grade

FOLDER: Final = files("optimizer.compare.web") / "templates"
# Widths at which nothing need be scaled: a phone of 360 px and a column of text on a desk.
SCATTER_SIZES: Final = (("narrow", 328.0, 420.0), ("wide", 1000.0, 430.0))
DESK_SHAPES: Final = ("upright", "grand", "stand", "digital")  # others are drawn as a disc


@dataclass(frozen=True, slots=True)
class Told:
    """A turn of the list: `key` tells it from all others of the piece."""

    key: str
    name: str
    turn: Turn
    place: str
    back: bool


@dataclass(frozen=True, slots=True)
class Card:
    """An alternative with all that is shown of it; `best`: the merits in which none of the same desk and
    paper is better; `group`: how these are called."""

    alternative: Alternative
    label: str
    group: str
    desk: str
    shape: str
    paper: str
    hardest: Grade | None
    best: frozenset[str]
    notes: tuple[str, ...]
    spreads: tuple[Spread, ...]
    way: Way
    turns: tuple[Told, ...]


def write_page(target: Path, comparison: Comparison) -> None:
    """Write compare.html."""
    target.write_text(page_text(comparison), encoding="utf-8", newline="\n")


def page_text(comparison: Comparison) -> str:
    """The whole page."""
    alternatives, score = comparison.alternatives, comparison.score
    environment = Environment(
        loader=PackageLoader("optimizer.compare.web"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters["figure"] = words.figure
    environment.filters["pattern"] = words.pattern
    environment.globals["counted"] = words.counted
    symbols, frame = Symbols(), frame_of(alternatives)
    line = course_of(score, comparison.costs, alternatives[0].plan)
    cards = tuple(
        Card(
            alternative=alternative,
            label=words.label(alternative),
            group=words.group_name(alternative, alternatives),
            desk=words.desk_name(alternative.settings.desk),
            shape=_shape(alternative),
            paper=words.paper_name(alternative.settings.paper),
            hardest=words.hardest(alternative.plan),
            best=_best(alternative, alternatives),
            notes=tuple(words.notes(alternative)),
            spreads=tuple(spreads_of(score, alternative, drawing, frame, symbols)),
            way=way_of(score, alternative.plan, line),
            turns=tuple(_told(comparison, alternative)),
        )
        for alternative, drawing in zip(alternatives, comparison.drawings, strict=True)
    )
    script = Markup((FOLDER / "compare.js").read_text(encoding="utf-8"))
    digest = hashlib.sha256(script.encode()).digest()
    return environment.get_template("compare.html").render(
        score=score,
        comparison=comparison,
        compared=words.compared(alternatives),
        tallied=words.tallied(comparison.tally, alternatives),
        cards=cards,
        desks=list(dict.fromkeys((card.desk, card.shape) for card in cards)),
        groups=[
            (group, [card for card in cards if card.group == group])
            for group in dict.fromkeys(card.group for card in cards)
        ],
        owned="desk and paper" if len({card.paper for card in cards}) > 1 else "desk",
        notes_told=words.notes_told(alternatives),
        merits=words.MERITS,
        scatters=[
            (name, *picture)
            for name, width, height in SCATTER_SIZES
            for picture in _scatters(cards, width, height)
        ],
        frame=frame,
        line=line,
        px=course,
        barlines=[(bar_label(score, cost.from_index), cost) for cost in comparison.costs],
        grades=tuple(Grade),
        colours=GRADE_COLOURS,
        symbols=symbols,
        data=_data(cards),
        script=script,
        script_digest=base64.b64encode(digest).decode(),
    )


def _scatters(cards: Sequence[Card], width: float, height: float) -> Sequence[tuple[str, Scatter]]:
    """One picture of all or, where that is crowded, one for each desk and paper, which it is called by."""
    every = [card.alternative for card in cards]
    whole = scatter(every, width, height)
    groups = list(dict.fromkeys(card.group for card in cards))
    if not whole.is_crowded or len(groups) == 1:
        return [("", whole)]
    most = max(alternative.merits.effort for alternative in every)
    return [
        (group, scatter([c.alternative for c in cards if c.group == group], width, height, most))
        for group in groups
    ]


def _shape(alternative: Alternative) -> str:
    name = alternative.settings.desk.name
    return name if name in DESK_SHAPES else "other"


def _best(alternative: Alternative, alternatives: Sequence[Alternative]) -> frozenset[str]:
    """The merits in which it is as good as any of its desk and paper, where not all are alike."""
    rivals = [other for other in alternatives if owned(other.settings) == owned(alternative.settings)]
    found = set()
    for merit in words.MERITS:
        values = {merit.value(other) for other in rivals}
        ideal = max(values) if merit.more_is_better else min(values)
        if len(values) > 1 and merit.value(alternative) == ideal:
            found.add(merit.key)
    return frozenset(found)


def _told(comparison: Comparison, alternative: Alternative) -> Iterator[Told]:
    """Turns and back-turns, in the order of the plan."""
    names = BarNames(comparison.score)
    for turn, name in turn_names(alternative.plan).items():
        yield Told(f"{turn.after}-{turn.to}", name, turn, words.place(names, turn), name.isalpha())


def _data(cards: Sequence[Card]) -> Mapping[str, object]:
    """What the script compares."""
    return {
        "merits": [
            {
                "key": merit.key,
                "name": merit.name,
                "unit": merit.unit,
                "better": merit.better,
                "worse": merit.worse,
                "more": merit.more_is_better,
            }
            for merit in words.MERITS
        ],
        "alternatives": [
            {
                "number": card.alternative.number,
                "label": card.label,
                "group": card.group,
                "values": {merit.key: merit.value(card.alternative) for merit in words.MERITS},
                "turns": [
                    {
                        "key": told.key,
                        "name": told.name,
                        "place": told.place,
                        "grade": told.turn.grade.value,
                        "cost": told.turn.cost,
                        "passes": told.turn.passes,
                        "pages": [told.turn.from_page, told.turn.to_page],
                    }
                    for told in card.turns
                ],
            }
            for card in cards
        ],
    }
