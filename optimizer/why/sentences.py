"""Says in a player's words why there is a turn after a bar, or none, and what the contrary would cost.

In: `Explained`.  Out: sentences, what a player wants to know first.  Always true: bars go by the names of
`turns.bars`, pages by their printed numbers, costs in points.
"""

from collections.abc import Iterator, Sequence
from itertools import groupby
from typing import Final

from optimizer.compare.difference import AnyTurn, Difference
from optimizer.layout.objective import PAGE
from optimizer.layout.plan import Plan, PlannedBackTurn, PlannedPage
from optimizer.turns.bars import BarNames
from optimizer.turns.model import BLOCKED_COST, Grade, StepCost
from optimizer.why.model import Explained, Neighbours, Place, Question

# What one pays for, and what one saves.
TERM_WORDS: Final = {
    "turns": "turning",
    "back-turns": "turning back",
    "strips": "bars printed again",
    "reach": "pages far from the hands",
    "spacing": "systems stretched or squeezed",
    "fill": "white or crammed pages",
    "paper": "paper",
    "fold-outs": "fold-outs",
    "staff-size": "a smaller staff",
}
TIGHTENED: Final = 300  # a tight turn instead of a quick one, points (layout/objective)
HARDLY: Final = PAGE // 3  # fewer points are not worth a thought; ours
MOST_JUMPS: Final = 3  # repeats over one barline that are still told one by one
SOME_WHITE: Final = 100  # permille of a page; less is spread between the systems unseen (layout/objective)
POINT: Final = 100  # costs are in hundredths


def sentences(found: Explained) -> tuple[str, ...]:
    """All there is to say."""
    return tuple(_Teller(found).tell())


class _Teller:
    """Keeps the names of the bars."""

    def __init__(self, found: Explained) -> None:
        self._found = found
        self._names = BarNames(found.score)
        self._bar = self._names.name(found.after)

    def tell(self) -> Iterator[str]:
        found = self._found
        yield self._where()
        if found.standing.place is Place.TURN:
            yield from self._leaving()
        else:
            yield self._like()
        yield from map(self._joined, found.jumps[:MOST_JUMPS])
        if found.neighbours:
            yield from self._needs(found.neighbours)
        if found.difference is None:
            yield from self._impossible()
        else:
            yield from self._price(found.difference)
            yield from self._changes(found.difference)
        if found.difference is not None and not found.difference.is_nothing:
            yield self._how()

    # --- as it is ----------------------------------------------------------------------------------

    def _where(self) -> str:
        here = self._found.standing
        if here.place is Place.TURN:
            return self._turned()
        head = f"There is no turn after {self._bar}: "
        page = f"page {here.page.number}"
        if here.place is Place.PAGE:
            return f"{head}{page} ends there, but page {here.following.number} lies open beside it."
        stands = f"it stands inside {page} ({self._range_of(here.page)})"
        if here.place is Place.SYSTEM:
            return f"{head}{stands}, at the end of a system."
        system = self._names.ranges(here.system.first, here.system.last)
        return f"{head}{stands}, within the system of {system}."

    def _turned(self) -> str:
        """Where the turn is, and whether bars printed again move it."""
        here = self._found.standing
        if here.strip is None:
            return f"There is a turn after {self._bar}, from page {here.page.number} to page {here.following.number}."
        again = self._names.ranges(here.strip.first, here.strip.last)
        if here.strip.after == self._found.after:
            turned = self._names.name(here.strip.turn_after, beside=self._found.after)
            return (
                f"Page {here.page.number} ends after {self._bar}; as {again} are printed again, "
                f"the player turns after {turned}."
            )
        ends = self._names.name(here.strip.after, beside=self._found.after)
        return f"The player turns after {self._bar}, though the page ends after {ends}: {again} are printed again."

    def _leaving(self) -> Iterator[str]:
        """The plan's turns from this barline."""
        if not self._found.leaving:
            yield f"Nobody plays straight on there: {_reading(self._found.turn)}; it costs nothing."
        for turn in self._found.leaving:
            back = isinstance(turn, PlannedBackTurn)
            what = "Turning back there" if back else "It"
            yield f"{what} is {_graded(turn.grade, turn.why.partition(': ')[2])}."

    def _like(self) -> str:
        """What a turn there would be like."""
        turn = self._found.turn
        if turn.passes == 0:
            return f"A turn there would cost nothing by itself: it is {_reading(turn)}."
        if turn.grade is Grade.OPEN and turn.cost == 0:
            return f"A turn there would be {_graded(turn.grade, _reading(turn))}, as easy as can be."
        return f"A turn there would be {_graded(turn.grade, _reading(turn))}."

    def _joined(self, step: StepCost) -> str:
        """A repeat or jump over the barline."""
        there = self._names.goal(step.to_index, beside=step.from_index)
        over = f"{self._names.name(step.from_index)} {'back ' if step.to_index <= step.from_index else ''}to {there}"
        is_turned = self._found.standing.place is Place.TURN
        must = "the player turns" if is_turned else "the player would have to turn"
        times = f", {step.passes} times" if step.passes > 1 else ""
        return f"Going from {over}, {must} over it as well: {step.grade.value}{times}."

    def _needs(self, needs: Neighbours) -> Iterator[str]:
        """What the page, its spread and the page after it would need."""
        here = self._found.standing
        page = here.page.number
        if here.place is Place.PAGE:
            yield (
                f"For a turn there, page {page} would have to be the last of its spread (now "
                f"{_spread(here.spread)}): a page more or less before it, or a side left blank."
            )
            return
        bars = self._names.ranges(here.page.systems[0].first, self._found.after)
        if needs.systems == 0:
            yield f"Page {page} cannot end there at this staff size: its last system would be set too wide."
            return
        white = f" and be {needs.white // 10} % white" if needs.white >= SOME_WHITE else ""
        rest = self._names.ranges(*needs.left_over) if needs.left_over else ""
        if needs.next_page is None:
            yield f"If page {page} ended there, it would keep {bars}{white}; {rest} would need a page more."
        else:
            room = "has room for" if needs.has_room else "has no room for"
            yield f"If page {page} ended there, it would keep {bars}{white}; page {needs.next_page} {room} {rest} as well."

    # --- as it could be ----------------------------------------------------------------------------

    def _impossible(self) -> Iterator[str]:
        what = {
            Question.FORCE: f"A turn after {self._bar} cannot be had",
            Question.FORBID: f"The turn after {self._bar} cannot be avoided",
            Question.RELEASE: "There is no other way",
        }[self._found.asked.question]
        yield f"{what}: {self._found.trouble}."
        if self._found.relax:
            yield f"In its way: {', '.join(self._found.relax)}."

    def _price(self, change: Difference) -> Iterator[str]:
        """What it costs, by what it is paid for."""
        if self._found.asked.question is Question.RELEASE:
            yield f"It was asked for ({', '.join(self._found.asked.options)})."
        doing = {
            Question.FORCE: "Forcing it",
            Question.FORBID: "Forbidding it",
            Question.RELEASE: "Leaving that to the planner",
        }[self._found.asked.question]
        if change.is_nothing:
            yield f"{doing} changes nothing."
            return
        if change.cost == 0:
            yield f"{doing} costs nothing: both plans are equally good."
            return
        more = change.cost > 0
        yield f"{doing} {'costs' if more else 'saves'} {_points(abs(change.cost))}{self._paid_for(change)}{_scale(change.cost)}."
        if not more and self._found.asked.question is not Question.RELEASE:
            yield (
                "The changed plan is the cheaper one because more is known of it: systems that were drawn turned out "
                "lower than foreseen, or a demanded turn may leave a system short."
            )

    def _paid_for(self, change: Difference) -> str:
        """ ": 120 more for turning, 60 less for paper"; nothing to add where one term is all of it."""
        changed = sorted((term for term in change.terms if term.more), key=lambda term: -abs(term.more))
        if len(changed) == 1:
            return f" for {TERM_WORDS[changed[0].term]}"
        words = [
            f"{_number(abs(term.more))} {'more' if term.more > 0 else 'less'} for {TERM_WORDS[term.term]}"
            for term in changed
        ]
        return f" ({', '.join(words)})" if words else ""

    def _changes(self, change: Difference) -> Iterator[str]:
        """Turns, pages and staff that change."""
        yield from self._turn_changes(change)
        yield from self._page_changes(change)

    def _turn_changes(self, change: Difference) -> Iterator[str]:
        gone = [turn for turn in change.turns_gone if not isinstance(turn, PlannedBackTurn)]
        new = [turn for turn in change.turns_new if not isinstance(turn, PlannedBackTurn)]
        if gone and len(gone) == len(new):
            yield f"It moves {self._turns(gone, graded=True)} to {self._bars(new, graded=True)}."
        elif gone and new:
            yield (
                f"Instead of {self._turns(gone, graded=True)} "
                f"{'there is one' if len(new) == 1 else 'there are turns'} after {self._bars(new, graded=True)}."
            )
        elif new:
            yield f"There {'is' if len(new) == 1 else 'are'} in addition {self._turns(new, graded=True)}."
        elif gone:
            yield f"{self._capital(self._turns(gone, graded=True))} {'goes' if len(gone) == 1 else 'go'} away."
        for regraded in change.turns_regraded:
            if regraded.before.grade is not regraded.after.grade:
                yield (
                    f"The turn after {self._names.name(regraded.after.after)} becomes {regraded.after.grade.value} "
                    f"instead of {regraded.before.grade.value}."
                )
        for turns, what in (
            (change.turns_new, "It makes the player turn back"),
            (change.turns_gone, "It spares the player turning back"),
        ):
            back = [turn for turn in turns if isinstance(turn, PlannedBackTurn)]
            if back:
                yield f"{what} from {_listed([self._way(turn) for turn in back])}."

    def _page_changes(self, change: Difference) -> Iterator[str]:
        before, after = change.before, change.after
        if before.staff_mm != after.staff_mm:
            yield f"The staff is {after.staff_mm:g} mm high instead of {before.staff_mm:g} mm."
        if _sides(before) != _sides(after) or change.spreads_new:
            pages = (
                f"{_sides(after)} instead of {_sides(before)} pages, lying "
                if _sides(before) != _sides(after)
                else ""
            )
            lie = f"{_shape(after)} (before: {_shape(before)})" if _shape(before) != _shape(after) else ""
            if pages or lie:
                yield self._capital(f"{pages}{lie or _shape(after)}.") if pages else f"The pages lie {lie}."
        yield from self._kept(change)

    def _kept(self, change: Difference) -> Iterator[str]:
        """Which pages stay as they are."""
        kept = [page.number for page in change.before.pages if page not in change.pages_gone]
        if not kept or change.before.staff_mm != change.after.staff_mm:
            yield "Every page is set anew."
        elif change.pages_gone or change.pages_new:
            yield f"{_page_numbers(kept)} {'stays as it is' if len(kept) == 1 else 'stay as they are'}."
        elif not change.is_nothing:
            yield "All pages stay as they are; only how they lie changes."

    def _how(self) -> str:
        options = " ".join(self._found.asked.options)
        if self._found.asked.question is Question.RELEASE:
            return f"To print it so, leave out {options} when preparing."
        return f"To print it so, prepare again with {options}."

    # --- words -------------------------------------------------------------------------------------

    def _range_of(self, page: PlannedPage) -> str:
        return self._names.ranges(page.systems[0].first, page.systems[-1].last)

    def _turns(self, turns: Sequence[AnyTurn], graded: bool) -> str:
        """ "the turns after bars 20 (open) and 61 (tight)"."""
        return f"the turn{'s' if len(turns) > 1 else ''} after {self._bars(turns, graded)}"

    def _bars(self, turns: Sequence[AnyTurn], graded: bool) -> str:
        """ "bars 20 (open) and 61 (tight)"; "bar 20 and the pickup" where not all have numbers of one movement."""
        names = [self._names.name(turn.after) for turn in turns]
        grades = [f" ({turn.grade.value})" if graded else "" for turn in turns]
        if len(names) > 1 and all(name.startswith("bar ") for name in names):
            names = [name.removeprefix("bar ") for name in names]
            return "bars " + _listed([name + grade for name, grade in zip(names, grades, strict=True)])
        return _listed([name + grade for name, grade in zip(names, grades, strict=True)])

    def _way(self, turn: AnyTurn) -> str:
        there = self._names.goal(turn.to, beside=turn.after)
        return f"{self._names.name(turn.after)} to {there} ({turn.grade.value})"

    def _capital(self, text: str) -> str:
        return text[:1].upper() + text[1:]


def _reading(turn: StepCost) -> str:
    """A turn's sentence without the bar."""
    return turn.sentence.partition(": ")[2]


def _graded(grade: Grade, reading: str) -> str:
    return f"{grade.value}: {reading}"


def _listed(words: Sequence[str]) -> str:
    """ "a, b and c"."""
    return " and ".join(filter(None, (", ".join(words[:-1]), words[-1])))


def _number(cost: int) -> str:
    """Points, rounded where more would say nothing."""
    points = cost / POINT
    return f"{points:.0f}" if abs(points) >= 1 else f"{points:.2f}"


def _points(cost: int) -> str:
    number = _number(cost)
    return f"{number} point{'' if number == '1' else 's'}"


def _scale(cost: int) -> str:
    """What so many points are like."""
    points = cost / POINT
    if points <= 0:
        return ""
    if points < HARDLY:
        return ", hardly anything"
    for worth, word in (
        (BLOCKED_COST, "a turn at which notes are lost"),
        (TIGHTENED, "a quick turn made tight"),
    ):
        if points >= worth * 0.75:
            return f", about as much as {_times(round(points / worth), word)}"
    return f", about as much as {_times(max(1, round(points / PAGE)), 'a page more')}"


def _times(count: int, word: str) -> str:
    return word if count <= 1 else f"{count} times {word}"


def _sides(plan: Plan) -> int:
    return len(plan.pages) + plan.outside_title


def _spread(numbers: Sequence[int]) -> str:
    return "·".join(map(str, numbers))


def _shape(plan: Plan) -> str:
    """How many pages lie open together, one after the other: "1, 2, 2 and 3 abreast"; long runs counted."""
    runs = [(size, len(list(run))) for size, run in groupby(len(spread) for spread in plan.spreads)]
    words = [f"{count} times {size}" if count > 2 else ", ".join([str(size)] * count) for size, count in runs]
    return f"{', then '.join(words)} abreast"


def _page_numbers(numbers: Sequence[int]) -> str:
    """ "Page 4", "Pages 1–3 and 6"."""
    runs: list[list[int]] = []
    for number in numbers:
        if runs and runs[-1][-1] == number - 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    words = [
        str(run[0]) if len(run) == 1 else f"{run[0]}{'–' if len(run) > 2 else ' and '}{run[-1]}"
        for run in runs
    ]
    return f"Page{'s' if len(numbers) > 1 else ''} {_listed(words)}"
