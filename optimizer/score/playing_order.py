"""In which order the measures are played.

In: the marks of all bars. Out: steps (measure index, how-many-eth time) and warnings. A pure function that
always ends. Always true: each movement is played for itself, from its first measure, and every measure is
played.

Rules and where they come from: D.C. and D.S. act the first time they are reached, To Coda after the jump,
`time-only` overrides both, ending numbers name passes (W3C musicxml.xsd 4.0). Repeats that have been played
are not taken again after a jump unless the file says so, and the last ending is played (common practice, no
source). A repeat sign without an opening one goes back to where the last repeat ended or the movement began
(common practice, no source).
"""

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from itertools import groupby
from typing import Final

from optimizer.score.endings import Ending, EndingGroup, ending_groups
from optimizer.score.marks import BarMarks, Jump, JumpKind

MAX_STEPS_A_BAR: Final = 200  # nested repeats multiply; nobody plays a bar more often than this on average


@dataclass(frozen=True, slots=True)
class Order:
    """`steps`: (measure index, 1 for the first time it is played, 2 for the second ...). `unreached`: measures that the
    marks do not lead to; each movement has its own at its end."""

    steps: tuple[tuple[int, int], ...]
    warnings: tuple[str, ...] = ()
    unreached: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class _Section:
    """A repeated section that starts at `start`; `group` when endings close it."""

    start: int
    times: int
    after_jump: bool
    group: EndingGroup | None


class _EndlessError(Exception):
    """The marks would have the movement played beyond all measure."""


def playing_order(bars: Sequence[BarMarks]) -> Order:
    """The order in which the bars of a whole file are played."""
    steps: list[tuple[int, int]] = []
    warnings: list[str] = []
    unreached: list[int] = []
    for _, numbered in groupby(enumerate(bars), key=lambda item: item[1].movement):
        items = list(numbered)
        first = items[0][0]
        movement = [bar for _, bar in items]
        groups, notes = ending_groups(movement)
        warnings += notes
        played = _play_movement(movement, groups, warnings)
        missed = _missed(movement, played, warnings)
        unreached += (first + index for index in missed)
        visits: Counter[int] = Counter()
        for index in (*played, *missed):
            visits[index] += 1
            steps.append((first + index, visits[index]))
    return Order(tuple(steps), tuple(warnings), tuple(unreached))


def _play_movement(bars: Sequence[BarMarks], groups: Sequence[EndingGroup], warnings: list[str]) -> list[int]:
    sections = _sections(bars, groups, warnings)
    try:
        return _Player(bars, groups, sections).play()
    except _EndlessError:
        warnings.append(
            f"the repeats from bar {bars[0].number} multiply beyond all measure; each bar is taken once"
        )
        return list(range(len(bars)))


def _missed(bars: Sequence[BarMarks], played: Sequence[int], warnings: list[str]) -> list[int]:
    """The bars of a movement that are not played as it is marked."""
    missed = sorted(set(range(len(bars))) - set(played))
    if missed:
        first, last = bars[missed[0]].number, bars[missed[-1]].number
        which = f"bar {first}" if len(missed) == 1 else f"{len(missed)} bars from {first} to {last}"
        warnings.append(
            f"played as marked, repeats and jumps never lead to {which}; look at the signs: turns are reckoned as if "
            "these came last"
        )
    return missed


def _sections(
    bars: Sequence[BarMarks], groups: Sequence[EndingGroup], warnings: list[str]
) -> dict[int, _Section]:
    """Repeated sections by the measure whose repeat sign closes them. Opening signs pair like brackets."""
    sections: dict[int, _Section] = {}
    starts: dict[EndingGroup, int] = {}
    opened: list[int] = []
    after_last = 0
    for index, bar in enumerate(bars):
        if bar.repeat_forward:
            opened.append(index)
        if not bar.repeat_backward:
            continue
        group = _group_closed_at(index, groups, opened)
        if group is None:
            start = opened.pop() if opened else after_last
            sections[index] = _Section(start, bar.times, bar.after_jump, None)
            after_last = index + 1
            continue
        if group not in starts:
            starts[group] = opened.pop() if opened else after_last
        sections[index] = _Section(starts[group], group.passes, bar.after_jump, group)
        after_last = group.last + 1
    warnings += [
        f"the repeat that opens at bar {bars[index].number} is never closed; it is not taken"
        for index in opened
    ]
    return sections


def _group_closed_at(index: int, groups: Sequence[EndingGroup], opened: Sequence[int]) -> EndingGroup | None:
    """The group of the ending that the repeat sign at `index` closes, unless a section opens inside that
    ending."""
    for group in groups:
        for ending in group.endings:
            if ending.last == index and not any(ending.first <= start for start in opened):
                return group
    return None


@dataclass(slots=True)
class _Player:
    """A reader who follows the marks of one movement."""

    bars: Sequence[BarMarks]
    groups: Sequence[EndingGroup]
    sections: dict[int, _Section]
    visits: Counter[int] = field(default_factory=Counter)
    passes: Counter[int | EndingGroup] = field(default_factory=Counter)
    completed: set[int | EndingGroup] = field(default_factory=set)
    done: set[tuple[int, Jump]] = field(default_factory=set)
    jumped: bool = False

    def play(self) -> list[int]:
        played: list[int] = []
        entries = {group.first: group for group in self.groups}
        index: int | None = 0
        while index is not None and index < len(self.bars):
            if index in entries:
                ending = self._enter(entries[index])
                if ending is None:
                    self._complete(entries[index])
                    index = entries[index].last + 1
                    continue
                index = ending.first
            played.append(index)
            self.visits[index] += 1
            if len(played) > MAX_STEPS_A_BAR * (len(self.bars) + 10):
                raise _EndlessError
            index = self._after(index)
        return played

    def _enter(self, group: EndingGroup) -> Ending | None:
        """The ending to play now; the last one when the section is passed again after a jump."""
        if self.jumped and group in self.completed:
            return group.ending_for(group.passes)
        return group.ending_for(self.passes[group] + 1)

    def _after(self, index: int) -> int | None:
        """Where to go after a measure; None at the end."""
        if self._ends(index):
            return None
        coda = self._coda(index)
        if coda is not None:
            return coda
        back = self._repeat(index)
        if back is not None:
            return back
        jump = self._jump(index)
        if jump is not None:
            return jump
        return self._onward(index)

    def _onward(self, index: int) -> int:
        """The next measure; after an ending, past the other endings of its group."""
        for group in self.groups:
            if any(ending.last == index for ending in group.endings):
                if self.passes[group] + 1 >= group.passes:
                    self._complete(group)
                return group.last + 1
        return index + 1

    def _complete(self, key: int | EndingGroup) -> None:
        self.completed.add(key)
        self.passes[key] = 0  # an outer repeat starts it afresh

    def _repeat(self, index: int) -> int | None:
        section = self.sections.get(index)
        if section is None:
            return None
        key: int | EndingGroup = section.group or index
        if self.jumped and key in self.completed and not section.after_jump:
            return None
        if self.passes[key] + 1 < section.times:
            self.passes[key] += 1
            return section.start
        if section.group is None:
            self._complete(key)
        return None

    def _marks(self, index: int, *kinds: JumpKind) -> Iterable[Jump]:
        return (jump for jump in self.bars[index].jumps if jump.kind in kinds)

    def _has_jumps(self) -> bool:
        return any(bar.jumps_away for bar in self.bars)

    def _acts(self, index: int, jump: Jump, usually: bool) -> bool:
        """`time-only` overrides what is usual; otherwise a mark acts once."""
        if jump.time_only:
            return self.visits[index] in jump.time_only
        return usually and (index, jump) not in self.done

    def _ends(self, index: int) -> bool:
        """Fine: after a jump; or, where nothing jumps, when a repeat has come back here and all later bars
        were heard."""
        later = range(index + 1, len(self.bars))
        for jump in self._marks(index, JumpKind.FINE):
            returned = (
                not self._has_jumps() and self.visits[index] > 1 and all(self.visits[bar] for bar in later)
            )
            if self._acts(index, jump, self.jumped or returned):
                return True
        return False

    def _coda(self, index: int) -> int | None:
        """To Coda: after a jump; where nothing jumps, the second time through."""
        for jump in self._marks(index, JumpKind.TOCODA):
            second = self.jumped if self._has_jumps() else self.visits[index] > 1
            if self._acts(index, jump, second):
                target = self._target(JumpKind.CODA, jump.label, range(index + 1, len(self.bars)))
                if target is not None:
                    self.done.add((index, jump))
                    return target
        return None

    def _jump(self, index: int) -> int | None:
        """D.C. and D.S.: the first time they are reached with no repeat left to take."""
        for jump in self._marks(index, JumpKind.DACAPO, JumpKind.DALSEGNO):
            if not self._acts(index, jump, True):
                continue
            self.done.add((index, jump))
            self._mark_jump(jump)
            if jump.kind is JumpKind.DACAPO:
                return 0
            # The nearest sign before, else any; a D.S. without a sign goes back to the start.
            behind = self._target(JumpKind.SEGNO, jump.label, range(index, -1, -1))
            return behind if behind is not None else 0
        return None

    def _mark_jump(self, jump: Jump) -> None:
        """From here on repeats whose sign has been passed are over, unless the words want them again."""
        self.jumped = True
        self.passes.clear()
        heard = {section.group or end for end, section in self.sections.items() if self.visits[end]}
        self.completed = set() if jump.with_repeats else self.completed | heard

    def _target(self, kind: JumpKind, label: str, places: Iterable[int]) -> int | None:
        """The first place with this sign: the same label when there is one, else any."""
        found = [(place, mark.label) for place in places for mark in self._marks(place, kind)]
        same = [place for place, own in found if own == label]
        return same[0] if same else found[0][0] if found else None
