"""What is printed for the player at turns and jumps, as words; `marking` decides where it stands.

In: score, plan, player, language.  Out: the marks of each page.  Always true: a turn that is not open says V.S.; each
says, where a hand rests, for how long before it and overleaf; a jump that leaves the spread names bar and page.
"""

from collections import defaultdict
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import pairwise
from typing import Final, Literal

from optimizer.layout.plan import Plan, PlannedBackTurn, PlannedPage, PlannedStrip, PlannedTurn
from optimizer.press.foot_words import FootWords
from optimizer.press.sheet_words import SheetWords
from optimizer.score.model import Note, PlayedMeasure, Score
from optimizer.settings import Lang
from optimizer.turns.bars import BarNames, Count, bar_label, beat_ql, counted_in
from optimizer.turns.early import EarlyTurns
from optimizer.turns.events import TIGHT_S
from optimizer.turns.hands import Player
from optimizer.turns.model import Grade, StripKind

Staves = Collection[tuple[int, int]]  # (part_index, staff), staff 1-based as in score/model.py

MOST_BARS: Final = 99  # nobody counts further; keeps the mark short


@dataclass(frozen=True, slots=True, order=True)
class Free:
    """How long a hand rests next to a barline: whole bars, then whole beats (or what else is counted there) beyond
    them; compares by length."""

    bars: int
    beats: int
    count: Count = Count.BEAT

    def __bool__(self) -> bool:
        return bool(self.bars or self.beats)


@dataclass(frozen=True, slots=True)
class Mark:
    """One mark, belonging to the right barline of measure `after`.

    `sign`: "leaf" for an open turn, "V.S." for a quicker one, or nothing (a jump with time to spare);
    `words` may be empty. `place` names the measure for a mark that cannot stand below its barline.
    """

    sign: Literal["leaf", "V.S.", ""]
    words: str
    after: int
    place: str
    is_jump: bool = False


class Rests:
    """When some staves rest, from the written notes (a held note is no rest, a cue note is)."""

    def __init__(self, score: Score, staves: Staves) -> None:
        self._score = score
        self._notes: dict[int, list[Note]] = defaultdict(list)
        for note in score.notes:
            if (note.part_index, note.staff) in staves and not note.cue:
                self._notes[note.measure_index].append(note)

    def before(self, after: int, to: int) -> Free:
        """Bars and beats of rest before the step `after` -> `to`, on the pass where they are fewest."""
        played = self._score.played
        return min(
            (self._count(played[step::-1], backwards=True) for step in self._steps(after, to)),
            default=Free(0, 0),
        )

    def over(self, after: int, to: int) -> Free:
        """Bars and beats of rest after that step, on the pass where they are fewest."""
        played = self._score.played
        return min(
            (self._count(played[step + 1 :], backwards=False) for step in self._steps(after, to)),
            default=Free(0, 0),
        )

    def _steps(self, after: int, to: int) -> Iterator[int]:
        """Where in the playing order measure `after` is followed by measure `to`."""
        for step, (here, there) in enumerate(pairwise(self._score.played)):
            if (here.measure_index, there.measure_index) == (after, to):
                yield step

    def _count(self, played: Sequence[PlayedMeasure], backwards: bool) -> Free:
        """Whole bars of rest from the start of `played` on, then whole beats of the first bar that is not
        empty."""
        bars = 0
        for step in played[:MOST_BARS]:
            measure = self._score.measures[step.measure_index]
            if notes := self._notes.get(step.measure_index):
                if backwards:
                    rest = measure.length_ql - max(note.offset_ql + note.duration_ql for note in notes)
                else:
                    rest = min(note.offset_ql for note in notes)
                beats = int(max(rest, Fraction(0)) / beat_ql(measure))
                return Free(min(bars, MOST_BARS), beats, counted_in(measure))
            bars += measure.bars
        return Free(min(bars, MOST_BARS), 0)


def turn_hint(before: Free, over: Free, words: FootWords) -> str:
    """The free time in words: "turn: 2 bars + 1 over"; empty when there is none."""
    if not before and not over:
        return ""
    if not over:
        return words.turn_before(before=_free(before, words))
    if not before:
        return words.turn_over(over=_free(over, words))
    same_unit = bool(before.bars) == bool(over.bars) and (bool(over.bars) or before.count is over.count)
    more = words.bars_more(over.bars) if over.bars else words.counted_more(over.count, over.beats)
    bare = str(over.bars or over.beats)
    return words.turn_both(before=_free(before, words), more=bare if same_unit else more)


def page_marks(
    score: Score, plan: Plan, player: Player, lang: Lang = Lang.EN
) -> Mapping[int, tuple[Mark, ...]]:
    """All marks of the plan by page number, in the order of the measures they belong to.

    A mark stands on the page with the last bar before the turn, even where a blank page follows on the same
    spread; where bars are printed again overleaf, with the last bar before those.
    """
    words = FootWords(lang)
    names = BarNames(score, words.bar_words)
    rests = {hand: Rests(score, player.hand_staves[hand]) for hand in player.turning_hands}
    early = EarlyTurns(score, player)
    marks: dict[int, list[Mark]] = {}
    turns: Sequence[PlannedTurn | PlannedBackTurn] = (*plan.turns, *plan.back_turns)
    for turn in turns:
        if turn.to != turn.after + 1:
            page = next(page for page in plan.pages if _holds(page, turn.after))
            mark = _jump_mark(score, names, plan, turn, page, words)
        else:
            strip = plan.strip_at(turn)
            if strip:
                mark = _strip_mark(score, names, turn, strip, SheetWords(lang))
            elif score.measures[turn.after].movement != score.measures[turn.to].movement:
                mark = Mark(_sign(turn), words.turn_at_end, turn.after, names.name(turn.after))
            else:
                mark = _turn_mark(names, turn, rests, early, words)
            if mark.after == turn.after:
                mark = _after_repeats(score, names, plan, turn, mark, words)
            page = next(page for page in plan.pages if _holds(page, mark.after))
        marks.setdefault(page.number, []).append(mark)
    return {number: tuple(sorted(found, key=lambda mark: mark.after)) for number, found in marks.items()}


def _holds(page: PlannedPage, measure: int) -> bool:
    return any(system.first <= measure <= system.last for system in page.systems)


def bar_range(score: Score, page: PlannedPage) -> str:
    """ "bars 12–31" of a page; empty for a blank page and where bars have no numbers to say."""
    return BarNames(score).ranges(page.systems[0].first, page.systems[-1].last) if page.systems else ""


def _system_place(plan: Plan, measure: int, words: FootWords) -> str:
    """ "page 3, system 2" of a measure."""
    page = next(page for page in plan.pages if _holds(page, measure))
    return words.page_and_system(page=page.number, row=_row(page, measure))


def system_row(plan: Plan, measure: int) -> int:
    """Which system of its page holds a measure, counted from 1."""
    return next(_row(page, measure) for page in plan.pages if _holds(page, measure))


def _row(page: PlannedPage, measure: int) -> int:
    """Which system of its page holds a measure, counted from 1."""
    return next(row for row, system in enumerate(page.systems, start=1) if measure <= system.last)


def _sign(turn: PlannedTurn | PlannedBackTurn) -> Literal["leaf", "V.S."]:
    return "leaf" if turn.grade is Grade.OPEN else "V.S."


def _turn_mark(
    names: BarNames,
    turn: PlannedTurn | PlannedBackTurn,
    rests: Mapping[str, Rests],
    early: EarlyTurns,
    words: FootWords,
) -> Mark:
    # a turn that both hands have time for is told by what both of them have
    hands = [rests[turn.hand]] if turn.hand in rests else list(rests.values())
    before = min((rest.before(turn.after, turn.to) for rest in hands), default=Free(0, 0))
    over = min((rest.over(turn.after, turn.to) for rest in hands), default=Free(0, 0))
    sign = _sign(turn)
    hint = _early_hint(names, turn, early, words) or turn_hint(before, over, words)
    return Mark(sign, hint, turn.after, names.name(turn.after))


def _early_hint(
    names: BarNames, turn: PlannedTurn | PlannedBackTurn, early: EarlyTurns, words: FootWords
) -> str:
    """Between which beats to turn where the hand plays again before the barline; empty elsewhere, and where nobody has
    the time (which two who share a copy need not have to the last tenth: the other one plays on)."""
    if isinstance(turn, PlannedBackTurn) or turn.grade is Grade.BLOCKED or turn.free_s < TIGHT_S:
        return ""
    found = early.at(turn.after, turn.to, turn.hand, turn.instant_s, turn.free_s)
    if found is None:
        return ""
    hint = words.turn_inside_bar(found.count, found.since, found.until)
    return hint if found.measure == turn.after else f"{hint}, {names.name(found.measure, beside=turn.after)}"


def _strip_mark(
    score: Score, names: BarNames, turn: PlannedTurn | PlannedBackTurn, strip: PlannedStrip, words: SheetWords
) -> Mark:
    """Where to turn when bars next to the turn are printed again: after a strip at the foot of this page, or before
    the bars that are shown overleaf."""
    sign = _sign(turn)
    if strip.kind is StripKind.LATE:
        return Mark(sign, words.turn_late, turn.after, names.name(turn.after))
    text = words.turn_early(bar=bar_label(score, strip.first))
    return Mark(sign, text, strip.turn_after, names.name(strip.turn_after))


def _jump_mark(
    score: Score,
    names: BarNames,
    plan: Plan,
    turn: PlannedTurn | PlannedBackTurn,
    page: PlannedPage,
    words: FootWords,
) -> Mark:
    if turn.to <= turn.after:
        said = _back(names, plan, turn.after, turn.to, words)
    else:
        goal = names.goal(turn.to, beside=turn.after)
        jump = words.jump_on(goal=goal, where=_where(names, plan, turn.to, words))
        said = _on_its_time(score, turn, jump, words)
    place = names.name(turn.after, beside=page.systems[-1].last)
    if not names.is_unique(turn.after):
        place = words.in_system(bar=place, row=_row(page, turn.after))
    return Mark("" if turn.grade is Grade.OPEN else "V.S.", said, turn.after, place, is_jump=True)


def _back(names: BarNames, plan: Plan, after: int, to: int, words: FootWords) -> str:
    """ "back to bar 16, page 3"."""
    return words.jump_back(goal=names.goal(to, beside=after), where=_where(names, plan, to, words))


def _where(names: BarNames, plan: Plan, measure: int, words: FootWords) -> str:
    """The page of a measure, and its system where the bar's name is another's too."""
    if not names.is_unique(measure):
        return _system_place(plan, measure, words)
    return words.page(page=next(page.number for page in plan.pages if _holds(page, measure)))


def _after_repeats(
    score: Score,
    names: BarNames,
    plan: Plan,
    turn: PlannedTurn | PlannedBackTurn,
    mark: Mark,
    words: FootWords,
) -> Mark:
    """The mark of a turn, with the passes on which one turns where others go elsewhere. Where one first goes back on
    the spread itself, it says so: no other mark does, and a page that ends with V.S. is turned."""
    said = _on_its_time(score, turn, mark.words, words)
    if said == mark.words:
        return mark
    goes = _ways_on(score, turn.after)
    first = min(time for time, to in goes.items() if to == turn.to)
    turns: Sequence[PlannedTurn | PlannedBackTurn] = (*plan.turns, *plan.back_turns)
    marked = {each.to for each in turns if each.after == turn.after}
    back = {to: None for time, to in goes.items() if time < first and to <= turn.after and to not in marked}
    for to in back:
        said = words.first_back(jump=_back(names, plan, turn.after, to, words), turn=said)
    return replace(mark, words=said)


def _ways_on(score: Score, after: int) -> Mapping[int, int]:
    """Where the music goes on after a measure, by pass."""
    return {
        here.pass_number: there.measure_index
        for here, there in pairwise(score.played)
        if here.measure_index == after
    }


def _on_its_time(score: Score, turn: PlannedTurn | PlannedBackTurn, jump: str, words: FootWords) -> str:
    """On which passes a turn or a jump forward is taken, where others go elsewhere; back the repeat sign leads."""
    goes = _ways_on(score, turn.after)
    times = [time for time, to in goes.items() if to == turn.to]
    if not times or len(times) == len(goes):
        return jump
    if times == [max(goes)]:
        return words.last_time(jump=jump).rstrip(" ,")
    return words.nth_time(times=words.times(times), jump=jump).rstrip(" ,")


def _free(free: Free, words: FootWords) -> str:
    """The larger unit alone: a player counts bars or beats, not both."""
    return words.bars_free(free.bars) if free.bars else words.counted_free(free.count, free.beats)
