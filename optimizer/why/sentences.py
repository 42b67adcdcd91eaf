"""Says in a player's words why there is a turn after a bar, or none, and what the contrary would cost.

In: `Explained`.  Out: sentences, what a player wants to know first.  Always true: bars go by the names of
`turns.bars`, pages by their printed numbers, costs in points.
"""

from collections.abc import Iterator, Sequence
from itertools import groupby
from typing import Final

from optimizer.compare.difference import AnyTurn, Difference
from optimizer.layout.objective import PAGE, WHITE_FREE
from optimizer.layout.plan import PlannedBackTurn
from optimizer.turns.bars import BarNames
from optimizer.turns.model import BLOCKED_COST, StepCost
from optimizer.why.model import Explained, Neighbours, Place, Question, Scope

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
    "staff-size": "the size of the staff",
}
HARDLY: Final = PAGE // 3  # fewer points are not worth a thought; ours
TIGHTENED: Final = 300  # a tight turn instead of a quick one, points (layout/objective)
# What so many points are like, the largest first.
SCALE: Final = (
    (BLOCKED_COST, "a turn at which notes are lost", "turns at which notes are lost"),
    (TIGHTENED, "a quick turn made tight", "quick turns made tight"),
    (PAGE, "one page more", "pages more"),
)
NUMBERS: Final = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")
NEARLY: Final = 0.75  # from this part of one on it is nearly as much,
ABOUT: Final = 0.9  # from this on about as much
HALF_MORE: Final = (1.25, 1.75)  # and so many times as much is half as much again
WORTH_SAYING: Final = (
    10  # terms that change by less than a tenth of the largest change stand in the table only
)
MOST_JUMPS: Final = 3  # repeats over one barline that are still told one by one
MOST_SPREADS: Final = 6  # whose pages are still told one by one
POINT: Final = 100  # costs are in hundredths


def sentences(found: Explained) -> tuple[str, ...]:
    """All there is to say."""
    return tuple(_Teller(found).tell())


class _Teller:
    """Keeps the names of the bars."""

    def __init__(self, found: Explained) -> None:
        self._found = found
        self._names = BarNames(found.score)
        unique = self._names.is_unique(found.after)
        self._bar = self._names.name(found.after) + ("" if unique else f" (#{found.after + 1})")

    def tell(self) -> Iterator[str]:
        found = self._found
        yield self._where()
        yield from self._leaving()
        if found.standing.place is not Place.TURN:
            yield self._like()
        yield from map(self._joined, self._jumps())
        if found.neighbours:
            yield self._needs(found.neighbours)
        if found.scope is not Scope.ALL:
            yield self._among()
        if found.difference is None:
            yield from self._impossible()
        else:
            yield from self._price(found.difference)
        if found.difference is not None and not found.difference.is_nothing:
            yield from self._turn_changes(found.difference)
            yield from self._page_changes(found.difference)
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
        bars = self._stretch(here.page.systems[0].first, here.page.systems[-1].last)
        stands = f"it stands inside {page} ({bars})"
        if here.place is Place.SYSTEM:
            return f"{head}{stands}, at the end of a system."
        return f"{head}{stands}, within the system of {self._stretch(here.system.first, here.system.last)}."

    def _turned(self) -> str:
        """Where the turn is, and whether bars printed again move it."""
        here = self._found.standing
        if here.strip is None:
            return f"There is a turn after {self._bar}, from page {here.page.number} to page {here.following.number}."
        again = self._stretch(here.strip.first, here.strip.last)
        if here.strip.after == self._found.after:
            turned = self._names.name(here.strip.turn_after, beside=self._found.after)
            return (
                f"Page {here.page.number} ends after {self._bar}; with {again} printed again, the player turns "
                f"after {turned}."
            )
        ends = self._names.name(here.strip.after, beside=self._found.after)
        return f"The player turns after {self._bar}: the page ends after {ends}, with {again} printed again."

    def _leaving(self) -> Iterator[str]:
        """The plan's turns from this barline, straight on, forwards and back."""
        for turn in self._found.leaving:
            reading = turn.why.partition(": ")[2]
            if turn.to == turn.after + 1:
                yield f"It is {turn.grade.value}: {reading}."
            else:
                turns = "turns back" if isinstance(turn, PlannedBackTurn) else "also turns"
                pages = f"from page {turn.from_page} to page {turn.to_page}"
                yield f"From there the player {turns} {pages}: {turn.grade.value}, {reading}."
        if self._found.standing.place is Place.TURN and self._found.turn.passes == 0:
            yield f"It is {_reading(self._found.turn)}."

    def _like(self) -> str:
        """What a turn there would be like."""
        turn = self._found.turn
        if turn.passes == 0:
            return f"A turn there would cost nothing by itself: it is {_reading(turn)}."
        return f"A turn there would be {turn.grade.value}: {_reading(turn)}."

    def _jumps(self) -> Sequence[StepCost]:
        """The repeats and jumps over the barline that are worth telling: where there is no turn, those that one would
        make turns of."""
        every: list[AnyTurn] = [*self._found.plan.turns, *self._found.plan.back_turns]
        planned = {(turn.after, turn.to) for turn in every}
        turned = self._found.standing.place is Place.TURN
        leaving = {(turn.after, turn.to) for turn in self._found.leaving}
        steps = [(step, (step.from_index, step.to_index)) for step in self._found.jumps]
        return [step for step, way in steps if (way in planned) == turned and way not in leaving][:MOST_JUMPS]

    def _joined(self, step: StepCost) -> str:
        """A repeat or jump over the barline."""
        back = "back " if step.to_index <= step.from_index else ""
        there = self._names.goal(step.to_index, beside=step.from_index)
        turned = self._found.standing.place is Place.TURN
        must = "the player turns as well" if turned else "the player would then have to turn as well"
        times = f", {step.passes} times" if step.passes > 1 else ""
        return f"Going {back}from {self._names.name(step.from_index)} to {there}, {must}: {step.grade.value}{times}."

    def _needs(self, needs: Neighbours) -> str:
        """What the page, its spread and the page after it would need."""
        here = self._found.standing
        page = here.page.number
        if needs.left_over is None:
            return (
                f"For a turn there, page {page} would have to be the last of its spread (now "
                f"{'·'.join(map(str, here.spread))}): a page more or less before it, or a side left blank."
            )
        if needs.systems == 0:
            return f"At this staff size page {page} cannot end there: its last system would be set too wide."
        kept, rest = (
            self._stretch(here.page.systems[0].first, self._found.after),
            self._stretch(*needs.left_over),
        )
        white = f", {needs.white // 10} % of it white" if needs.white >= WHITE_FREE else ""
        head = f"If page {page} ended there, it would keep {kept}{white}"
        if needs.next_page is None:
            return f"{head}; {rest} would need a page more."
        there = f"page {needs.next_page}"
        if needs.next_is_blank:
            return f"{head}; {there}, now blank, has room for {rest}."
        if needs.next_page in here.spread:
            there += ", which would still lie open beside it,"
        return f"{head}; {there} has {'' if needs.has_room else 'no '}room for {rest} on top of its own."

    # --- as it could be ----------------------------------------------------------------------------

    def _among(self) -> str:
        """Among which plans the answer is."""
        head, alike = (
            "The plan was picked from a comparison",
            "as many pages and the same first and last spread",
        )
        if self._found.scope is Scope.ALIKE:
            return f"{head}; it is weighed against the best one with {alike}."
        return f"{head}; as none with {alike} will do, it is weighed against all others."

    def _impossible(self) -> Iterator[str]:
        what = {
            Question.FORCE: f"A turn after {self._bar} cannot be had",
            Question.FORBID: f"The turn after {self._bar} cannot be avoided",
            Question.RELEASE: "There is no other way",
        }[self._found.asked.question]
        yield f"{what}: {self._trouble()}."
        if self._found.relax:
            yield f"In its way: {', '.join(self._found.relax)}."

    def _trouble(self) -> str:
        as_given = self._found.asked.settings.demands.as_given
        if as_given and self._found.standing.place in (Place.SYSTEM, Place.INSIDE):
            return "the pages of the file are kept, and none of them ends there"
        return self._found.trouble

    def _price(self, change: Difference) -> Iterator[str]:
        """What it costs, and for what."""
        question = self._found.asked.question
        if question is Question.RELEASE:
            yield f"It was asked for ({', '.join(self._found.asked.options)})."
        doing = {
            Question.FORCE: "Forcing it",
            Question.FORBID: "Forbidding it",
            Question.RELEASE: "Leaving that to the planner",
        }[question]
        if change.is_nothing:
            yield f"{doing} changes nothing: the plan would be the same."
        elif change.cost == 0:
            yield f"{doing} costs nothing: the changed plan is just as good."
        elif change.cost > 0:
            yield f"{doing} costs {_points(change.cost)}, {_scale(change.cost)}{_paid_for(change)}."
        else:
            yield f"{doing} saves {_points(-change.cost)}{_paid_for(change)}."
            if question is not Question.RELEASE and self._found.scope is not Scope.OTHERS:
                yield (
                    "It saves something because a demand may leave a system short, or because systems turned out lower "
                    "when they were drawn than was foreseen."
                )

    def _turn_changes(self, change: Difference) -> Iterator[str]:
        gone = [turn for turn in change.turns_gone if not isinstance(turn, PlannedBackTurn)]
        new = [turn for turn in change.turns_new if not isinstance(turn, PlannedBackTurn)]
        if gone and len(gone) == len(new):
            yield f"It moves the {self._turns(gone)} to {self._bars(new)}."
        elif gone and new:
            there = "there is one" if len(new) == 1 else "there are turns"
            yield f"Instead of the {self._turns(gone)} {there} after {self._bars(new)}."
        elif new:
            yield f"It adds {'a ' if len(new) == 1 else ''}{self._turns(new)}."
        elif gone:
            yield f"It does away with the {self._turns(gone)}."
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
        """Staff, number of pages, how they lie, which of them stay."""
        before, after = change.before, change.after
        if before.staff_mm != after.staff_mm:
            yield f"The staff is {after.staff_mm:g} mm high instead of {before.staff_mm:g} mm."
        pages = [len(plan.pages) for plan in (before, after)]
        if pages[0] != pages[1]:
            yield f"There {'is 1 page' if pages[1] == 1 else f'are {pages[1]} pages'} instead of {pages[0]}."
        if before.outside_title != after.outside_title:
            yield "A title page comes outside." if after.outside_title else "There is no title page outside."
        spreads = [[len(spread) for spread in plan.spreads] for plan in (before, after)]
        if spreads[0] != spreads[1] and {2} != {*spreads[0], *spreads[1]}:
            yield f"The spreads hold {_sizes(spreads[1])} pages instead of {_sizes(spreads[0])}."
        if blank := [page.number for page in change.pages_new if page.blank]:
            yield f"{_page_numbers(blank)} {'is' if len(blank) == 1 else 'are'} left blank."
        kept = [page.number for page in before.pages if page not in change.pages_gone]
        if not kept or before.staff_mm != after.staff_mm:
            yield "Every page is set anew."
        elif change.pages_gone or change.pages_new:
            yield f"{_page_numbers(kept)} {'stays as it is' if len(kept) == 1 else 'stay as they are'}."
        else:
            yield "All pages stay as they are; only how they lie changes."

    def _how(self) -> str:
        """How to get the changed plan."""
        options = " ".join(self._found.asked.options)
        released = self._found.asked.question is Question.RELEASE
        if self._found.scope is Scope.ALIKE:
            return f"To print such a plan, compare again {'without' if released else 'with'} {options}."
        return f"To print it so, prepare again {'without' if released else 'with'} {options}."

    # --- words -------------------------------------------------------------------------------------

    def _stretch(self, first: int, last: int) -> str:
        """ "bars 12–31"; the bars' names where they have no numbers that are counted."""
        ends = self._names.name(first), self._names.name(last, beside=first)
        return self._names.ranges(first, last) or (ends[0] if first == last else " to ".join(ends))

    def _turns(self, turns: Sequence[AnyTurn]) -> str:
        """ "turns after bars 20 (open) and 61 (tight)"."""
        return f"turn{'s' if len(turns) > 1 else ''} after {self._bars(turns)}"

    def _bars(self, turns: Sequence[AnyTurn]) -> str:
        """ "bars 20 (open) and 61 (tight)"; "I, bars 20 (open) and 61 (tight); II, bar 3 (quick)"."""
        names = [(*self._names.name(turn.after).rpartition(", "), turn.grade.value) for turn in turns]
        groups = []
        for _, group in groupby(names, key=lambda name: name[0]):
            numeral, comma, bars, grades = zip(*group, strict=True)
            plural = len(bars) > 1 and all(bar.startswith("bar ") for bar in bars)
            short = [bar.removeprefix("bar ") if plural else bar for bar in bars]
            listed = _listed([f"{bar} ({grade})" for bar, grade in zip(short, grades, strict=True)])
            groups.append(f"{numeral[0]}{comma[0]}{'bars ' if plural else ''}{listed}")
        return "; ".join(groups)

    def _way(self, turn: AnyTurn) -> str:
        there = self._names.goal(turn.to, beside=turn.after)
        return f"{self._names.name(turn.after)} to {there} ({turn.grade.value})"


def _reading(turn: StepCost) -> str:
    """A turn's sentence without the bar."""
    return turn.sentence.partition(": ")[2]


def _listed(words: Sequence[str]) -> str:
    """ "a, b and c"."""
    return " and ".join(filter(None, (", ".join(words[:-1]), words[-1])))


def _points(cost: int) -> str:
    """Rounded where more would say nothing."""
    points = cost / POINT
    number = f"{points:.0f}" if points >= 1 else f"{points:g}"
    return f"{number} point{'' if number == '1' else 's'}"


def _scale(cost: int) -> str:
    """What so many points are like."""
    points = cost / POINT
    if points < HARDLY:
        return "hardly anything"
    if points < PAGE * NEARLY:
        return "less than one page more"
    worth, one, several = next(each for each in SCALE if points >= each[0] * NEARLY)
    times = points / worth
    if times < ABOUT:
        return f"nearly as much as {one}"
    if HALF_MORE[0] <= times < HALF_MORE[1]:
        return f"about half as much again as {one}"
    count = max(1, round(times))
    return f"about as much as {one if count == 1 else f'{_count(count)} {several}'}"


def _count(count: int) -> str:
    return NUMBERS[count] if count < len(NUMBERS) else str(count)


def _paid_for(change: Difference) -> str:
    """ ": 120 more for turning, 60 less for paper", the largest first."""
    changed = sorted((term for term in change.terms if term.more), key=lambda term: -abs(term.more))
    told = [term for term in changed if abs(term.more) * WORTH_SAYING >= abs(changed[0].more)]
    words = [
        f"{abs(term.more) / POINT:.0f} {'more' if term.more > 0 else 'less'} for {TERM_WORDS[term.term]}"
        for term in told
    ]
    return f": {', '.join(words)}" if words else ""


def _sizes(spreads: Sequence[int]) -> str:
    """How many pages lie open together, one spread after the other; of long sets what is repeated counted."""
    if len(spreads) <= MOST_SPREADS:
        return _listed(list(map(str, spreads)))
    runs = [(size, len(list(run))) for size, run in groupby(spreads)]
    return _listed([f"{count} times {size}" if count > 1 else str(size) for size, count in runs])


def _page_numbers(numbers: Sequence[int]) -> str:
    """ "Page 4", "Pages 1–3 and 6"."""
    runs: list[list[int]] = []
    for number in numbers:
        if runs and runs[-1][-1] == number - 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    words = [word for run in runs for word in ([f"{run[0]}–{run[-1]}"] if len(run) > 2 else map(str, run))]
    return f"Page{'s' if len(numbers) > 1 else ''} {_listed(words)}"
