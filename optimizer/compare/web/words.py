"""What the page calls alternatives, their merits and their turns.

In: alternatives and turns.  Out: words, as plain text that is still to be escaped.  Always true: words, never colours
alone, tell what is better.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from optimizer.compare.model import Alternative, Tally
from optimizer.layout.plan import Plan
from optimizer.press.played import Turn
from optimizer.settings import DESKS, Desk, Paper
from optimizer.turns.bars import BarNames
from optimizer.turns.model import Grade


@dataclass(frozen=True, slots=True)
class Merit:
    """One of `Merits`: `key` is its field. `better`, `worse`: what is said of an alternative that has `{by}` less
    than another, or more where `more_is_better`."""

    key: str
    name: str
    unit: str
    better: str
    worse: str
    meaning: str
    more_is_better: bool = False

    def value(self, alternative: Alternative) -> float:
        """The figure."""
        return float(getattr(alternative.merits, self.key))


MERITS: Final = (
    Merit(
        "effort", "turn effort", "points", "is {by} points easier", "is {by} points harder",
        "all turns and back-turns together, each as often as it is played; 1000 is a turn at which notes are lost",
    ),
    Merit(
        "worst", "hardest turn", "points", "is {by} points milder", "is {by} points harder",
        "the hardest single one of them",
    ),
    Merit(
        "back_turns", "back-turns", "", "turns back {by} times less", "turns back {by} times more",
        "how often a page is turned back while playing",
    ),
    Merit(
        "reach", "reach", "points", "is {by} points nearer", "is {by} points farther",
        "how far bars on the outer pages are from the hands that play them",
    ),
    Merit(
        "staff_mm", "staff size", "mm", "is {by} mm larger", "is {by} mm smaller",
        "from the lowest to the highest line of a staff", more_is_better=True,
    ),
    Merit("sheets", "paper", "sheets", "takes {by} fewer", "takes {by} more", "sheets that go into the printer"),
)  # fmt: skip


LEAST: Final = "least in sum"
AS_GIVEN: Final = "pages of the file"
BEATEN: Final = "beaten"


def figure(value: float) -> str:
    """A number as it is printed."""
    return f"{round(value, 2):g}" if value % 1 else str(int(value))


def counted(number: int, word: str) -> str:
    """ "1 page", "2 pages", with a no-break space."""
    return f"{number}\u00a0{word}{'' if number == 1 else 's'}"


def desk_name(desk: Desk) -> str:
    """A desk by its name, or by its width alone."""
    return desk.name if desk.name in DESKS else f"{desk.width_mm:g} mm desk"


def paper_name(paper: Paper) -> str:
    """A4, B4; other papers as they are asked for."""
    return paper.name.upper() if len(paper.name) == 2 else paper.name


def label(alternative: Alternative) -> str:
    """An alternative in a few words."""
    size, pages = f"{alternative.plan.staff_mm:g}\u00a0mm", counted(len(alternative.plan.pages), "page")
    return f"{desk_name(alternative.settings.desk)}, {size}, {pages}"


def group_name(alternative: Alternative, alternatives: Sequence[Alternative]) -> str:
    """Desk and, where there are several papers, paper: those that share it are weighed against each other."""
    papers = {one.settings.paper for one in alternatives}
    paper = f" with {paper_name(alternative.settings.paper)}" if len(papers) > 1 else ""
    return desk_name(alternative.settings.desk) + paper


def notes(alternative: Alternative) -> list[str]:
    """What else is to be said of it."""
    told = [LEAST] if alternative.least else []
    told += [AS_GIVEN] if alternative.as_given else []
    return told + ([f"{BEATEN} by {alternative.beaten_by}"] if alternative.beaten_by else [])


def notes_told(alternatives: Sequence[Alternative]) -> list[tuple[str, str]]:
    """What those notes mean that some alternative has."""
    return [
        (note, meaning)
        for note, meaning, used in (
            (
                LEAST,
                "what prepare would take on that desk and paper, in its binding, among these sizes",
                any(one.least for one in alternatives),
            ),
            (AS_GIVEN, "shown in any case", any(one.as_given for one in alternatives)),
            (
                BEATEN,
                "the other one on that desk is as good in everything and better in something",
                any(one.beaten_by for one in alternatives),
            ),
        )
        if used
    ]


def pattern(name: str) -> str:
    """How the pages lie; `2s` in words."""
    return name.replace("2s", "in pairs")


def hardest(plan: Plan) -> Grade | None:
    """The grade of the hardest turn."""
    turns: list[Turn] = [*plan.turns, *plan.back_turns]
    return max((turn.grade for turn in turns), key=lambda grade: grade.hardness, default=None)


def place(names: BarNames, turn: Turn) -> str:
    """Where a turn is."""
    here = names.name(turn.after)
    if turn.to == turn.after + 1:
        return f"after {here}"
    way = "on to" if turn.to > turn.after else "back to"
    return f"from {here} {way} {names.goal(turn.to, beside=turn.after)}"


def listed(words: Sequence[str]) -> str:
    """ "a", "a and b", "a, b and c"."""
    return " and ".join(filter(None, (", ".join(words[:-1]), words[-1]))) if words else ""


def compared(alternatives: Sequence[Alternative]) -> str:
    """What the shown ones differ in."""
    settings = [alternative.settings for alternative in alternatives]
    sizes = sorted({alternative.plan.staff_mm for alternative in alternatives}, reverse=True)
    return "; ".join(
        (
            listed(list(dict.fromkeys(desk_name(one.desk) for one in settings))),
            listed(list(dict.fromkeys(paper_name(one.paper) for one in settings))),
            listed(list(dict.fromkeys(one.binding for one in settings))),
            f"staff {listed([f'{size:g}' for size in sizes])}\u00a0mm",
        )
    )


def tallied(tally: Tally, alternatives: Sequence[Alternative]) -> str:
    """How the shown ones were found."""
    parts = [
        f"{number} {what}"
        for number, what in (
            (tally.impossible, "cannot be laid out"),
            (tally.dominated, "are proven beaten or equalled without solving"),
            (tally.solved, f"are solved, {tally.beaten or 'none'} of them left out as beaten"),
        )
        if number
    ]
    kept = sum(alternative.as_given for alternative in alternatives)
    more = f", {kept} of them with the pages of the file" if kept else ""
    return (
        f"{counted(tally.cells, 'combination')} of desk, paper, binding, staff size, number of pages and fold pattern: "
        f"{listed(parts)}. Shown: {counted(len(alternatives), 'alternative')}{more}."
    )
