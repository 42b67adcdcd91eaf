"""First, second and further endings: which measures each covers and on which passes it is played.

In: the marks of the bars of one movement. Out: groups of endings, each with the sections it belongs to.
Always true: the endings of a group follow each other without a gap, and their pass numbers do not overlap.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from optimizer.score.marks import BarMarks


@dataclass(frozen=True, slots=True)
class Ending:
    """Measures `first`..`last` of an ending, the passes it is played on, and whether a repeat sign closes
    it."""

    first: int
    last: int
    numbers: tuple[int, ...]
    repeats: bool


@dataclass(frozen=True, slots=True)
class EndingGroup:
    """Endings of one repeated section."""

    endings: tuple[Ending, ...]

    @property
    def first(self) -> int:
        """Where the first ending begins."""
        return self.endings[0].first

    @property
    def last(self) -> int:
        """The last measure of the last ending."""
        return self.endings[-1].last

    @property
    def passes(self) -> int:
        """How often the section is played. A lone ending is left out the last time, which then bears no
        number."""
        highest = max(number for ending in self.endings for number in ending.numbers)
        return highest + 1 if len(self.endings) == 1 else highest

    def ending_for(self, pass_number: int) -> Ending | None:
        """The ending of a pass; the nearest earlier one when no ending names it; None when it plays none."""
        for ending in self.endings:
            if pass_number in ending.numbers:
                return ending
        if len(self.endings) == 1:
            return None
        earlier = [ending for ending in self.endings if min(ending.numbers) < pass_number]
        return earlier[-1] if earlier else self.endings[0]


def ending_groups(bars: Sequence[BarMarks]) -> tuple[list[EndingGroup], list[str]]:
    """The groups that make sense, and a warning for each that does not (its brackets are then ignored)."""
    groups, warnings = [], []
    for endings in _grouped(_extended(_spans(bars), bars)):
        group = EndingGroup(tuple(endings))
        problem = _problem(group, bars)
        if problem:
            warnings.append(f"the endings from bar {bars[group.first].number} are ignored: {problem}")
        else:
            groups.append(group)
    return groups, warnings


def _spans(bars: Sequence[BarMarks]) -> list[Ending]:
    """Brackets as drawn; one without an end reaches to the next repeat sign or bracket, or covers one
    measure."""
    starts = [index for index, bar in enumerate(bars) if bar.ending_start is not None]
    spans: list[Ending] = []
    for place, first in enumerate(starts):
        limit = starts[place + 1] if place + 1 < len(starts) else len(bars)
        inside = range(first, limit)
        last = next((index for index in inside if bars[index].ending_stop), None)
        if last is None:
            last = next((index for index in inside if bars[index].repeat_backward), first)
        numbers = bars[first].ending_start or _next_numbers(spans, first)
        spans.append(Ending(first, last, numbers, bars[last].repeat_backward))
    return spans


def _next_numbers(spans: Sequence[Ending], first: int) -> tuple[int, ...]:
    """A bracket without a number follows on the one right before it."""
    follows = spans and spans[-1].last == first - 1
    return (max(spans[-1].numbers) + 1,) if follows else (1,)


def _extended(spans: list[Ending], bars: Sequence[BarMarks]) -> list[Ending]:
    """A long ending's bracket is often drawn over its first measure only: it reaches to the next one's repeat
    sign."""
    result = []
    for place, ending in enumerate(spans):
        following = spans[place + 1].first - 1 if place + 1 < len(spans) else ending.last
        between = range(ending.last + 1, following + 1)
        closes = [index for index in between if bars[index].repeat_backward]
        opens = any(bars[index].repeat_forward for index in between)
        if not ending.repeats and closes == [following] and not opens:
            ending = replace(ending, last=following, repeats=True)
        result.append(ending)
    return result


def _grouped(spans: Sequence[Ending]) -> list[list[Ending]]:
    groups: list[list[Ending]] = []
    for ending in spans:
        continues = groups and groups[-1][-1].last == ending.first - 1
        if continues and 1 not in ending.numbers:
            groups[-1].append(ending)
        else:
            groups.append([ending])
    return groups


def _problem(group: EndingGroup, bars: Sequence[BarMarks]) -> str:
    """Why a player could not follow these brackets; empty when all is well."""
    numbers = [number for ending in group.endings for number in ending.numbers]
    if len(numbers) != len(set(numbers)):
        return "two of them are for the same time"
    if 1 not in numbers:
        return "none is for the first time"
    open_ended = [
        ending for ending in group.endings[:-1] if not (ending.repeats or bars[ending.last].jumps_away)
    ]
    if open_ended or (len(group.endings) == 1 and not group.endings[0].repeats):
        return "no repeat sign closes them"
    return ""
