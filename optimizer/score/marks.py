"""What the bars say about the order of playing: repeat signs, endings, jumps.

In: barlines and directions placed in time. Out: one `BarMarks` a measure, all parts together. Words are read
only where no `<sound>` of the same measure says the same thing.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from enum import StrEnum
from fractions import Fraction
from typing import Final

from lxml import etree

from optimizer.score.walk import Direction, Placed, whole

MAX_PASSES: Final = 64  # an ending for a later pass is a mistake in the file


class JumpKind(StrEnum):
    """Marks that lead elsewhere, or are led to."""

    SEGNO = "segno"
    CODA = "coda"
    DACAPO = "dacapo"
    DALSEGNO = "dalsegno"
    TOCODA = "tocoda"
    FINE = "fine"


@dataclass(frozen=True, slots=True)
class Jump:
    """One mark. `label` pairs marks; `time_only`: the times through on which it acts (empty: the usual ones);
    `with_repeats`: repeats are played again after this jump."""

    kind: JumpKind
    label: str = ""
    time_only: tuple[int, ...] = ()
    with_repeats: bool = False


@dataclass(frozen=True, slots=True)
class BarMarks:
    """Signs of one measure. `ending_start` is None where no bracket starts, () where one without a number
    does; `after_jump`: this repeat is played even after a jump. D.C., D.S., Fine and To Coda act at the
    measure's end, segno and coda stand at its start."""

    number: str = ""
    movement: int = 0
    repeat_forward: bool = False
    repeat_backward: bool = False
    times: int = 2
    after_jump: bool = False
    ending_start: tuple[int, ...] | None = None
    ending_stop: bool = False
    jumps: tuple[Jump, ...] = ()

    @property
    def jumps_away(self) -> bool:
        """Whether a D.C. or D.S. stands here."""
        return any(jump.kind in (JumpKind.DACAPO, JumpKind.DALSEGNO) for jump in self.jumps)


# How barlines divide the music: anything heavy or double (W3C musicxml.xsd 4.0, bar-style).
_HEAVY: Final = frozenset({"light-light", "light-heavy", "heavy-light", "heavy-heavy", "heavy"})


@dataclass(slots=True)
class Bar:
    """The barlines of one measure, gathered from all parts."""

    double_left: bool = False
    double_right: bool = False
    final: bool = False
    fermata: bool = False
    repeat_forward: bool = False
    repeat_backward: bool = False
    times: int = 2
    after_jump: bool = False
    ending_start: tuple[int, ...] | None = None
    ending_stop: bool = False
    jumps: dict[tuple[JumpKind, str], Jump] = field(default_factory=dict)


def gather_bars(barlines: Sequence[Placed], count: int) -> list[Bar]:
    """The barlines of `count` measures; a sign in any part counts for all."""
    bars = [Bar() for _ in range(count)]
    for placed in barlines:
        element, index = placed.element, placed.measure_index
        location = element.get("location", "right")
        style = element.findtext("bar-style", "").strip()
        if location != "middle":
            left = location == "left" or (placed.offset_ql == 0 and element.get("location") is None)
            bars[index].double_left |= left and style in _HEAVY
            bars[index].double_right |= not left and style in _HEAVY
            bars[index].final |= not left and style == "light-heavy"
            bars[index].fermata |= not left and element.find("fermata") is not None
        _repeat(element, index, location, bars)
        _ending(element, bars[index])
    return bars


def _repeat(element: etree._Element, index: int, location: str, bars: list[Bar]) -> None:
    """A sign at the wrong edge belongs to the neighbour: `|:` at the right opens the next measure."""
    repeat = element.find("repeat")
    if repeat is None:
        return
    if repeat.get("direction") == "forward":
        target = index + 1 if location == "right" and element.get("location") else index
        if target < len(bars):
            bars[target].repeat_forward = True
        return
    bar = bars[max(0, index - 1) if location == "left" else index]
    bar.repeat_backward = True
    bar.times = max(bar.times, whole(repeat.get("times"), 2)) if repeat.get("times") != "1" else 1
    bar.after_jump |= repeat.get("after-jump") == "yes"


def _ending(element: etree._Element, bar: Bar) -> None:
    ending = element.find("ending")
    if ending is None:
        return
    if ending.get("type") == "start":
        numbers = pass_numbers(ending.get("number", "")) or pass_numbers(ending.text or "")
        bar.ending_start = bar.ending_start or numbers
    else:
        bar.ending_stop = True


def pass_numbers(text: str) -> tuple[int, ...]:
    """`1`, `1, 2`, `1.-3.` as numbers in order; () when there are none."""
    numbers: set[int] = set()
    for first, last in re.findall(r"(\d{1,4})\.?(?:\s*[-–]\s*(\d{1,4}))?", text):
        numbers.update(range(int(first), min(int(last or first), MAX_PASSES) + 1))
    return tuple(sorted(number for number in numbers if 1 <= number <= MAX_PASSES))


# Words that tell a jump; common practice in Italian, German, French and English, no source.
_WORDS: Final[tuple[tuple[JumpKind, re.Pattern[str]], ...]] = (
    (
        JumpKind.DACAPO,
        re.compile(r"\b(d\.?\s?c\b|da\s?capo|von (vorne|anfang)|vom anfang|(reprendre )?(au|du) début)"),
    ),
    (
        JumpKind.DALSEGNO,
        re.compile(r"\b(d\.?\s?s\b|d\.\s?s\.|dal\s?segno|(ab|vom|von) (dem )?zeichen|au signe)"),
    ),
    (JumpKind.TOCODA, re.compile(r"^(to (the )?coda|alla coda|al coda|zur coda|à la coda)\b")),
    (JumpKind.FINE, re.compile(r"^\(?(fine|fin|ende|end|schlu(ss|ß))\W*$")),
    (JumpKind.CODA, re.compile(r"^coda\W*$")),
    (JumpKind.SEGNO, re.compile(r"^segno\W*$")),
)
# How many measures after the words the barline may stand at which they act; common practice, no source.
WORDS_REACH: Final = 2
_TARGETS: Final = (JumpKind.SEGNO, JumpKind.CODA)
_BACK: Final = frozenset({JumpKind.DACAPO, JumpKind.DALSEGNO})
_AWAY: Final = _BACK | {JumpKind.TOCODA}
_WITH_REPEATS: Final = re.compile(
    r"\b(con (repetizion|replic|ripetizion)|mit wiederholung|avec (les )?(reprise|répétition))"
)


def gather_jumps(directions: Sequence[Direction], lengths_ql: Sequence[Fraction], bars: list[Bar]) -> None:
    """Add the jumps that sounds and, where no sound says the same, words and signs tell to the bars."""
    told: list[tuple[Direction, Jump]] = []
    written: list[tuple[Direction, Jump]] = []
    for direction in directions:
        sounding = _told(direction.sound)
        told += [(direction, jump) for jump in sounding]
        written += [(direction, jump) for jump in _written(direction) if not sounding or jump.with_repeats]
        if direction.sound is not None and direction.sound.get("forward-repeat") == "yes":
            bars[_bar_index(direction, True, lengths_ql)].repeat_forward = True
    known: set[tuple[int, JumpKind]] = set()
    for marks in (told, _led_to_coda(written)):
        placed = [(_bar_index(at, jump.kind in _TARGETS, lengths_ql), jump) for at, jump in marks]
        if marks is not told:
            placed = [
                (_section_end(index, bars) if jump.kind in _BACK else index, jump) for index, jump in placed
            ]
        for index, jump in placed:
            if marks is told or (index, jump.kind) not in known:
                bars[index].jumps.setdefault((jump.kind, jump.label), jump)
            elif jump.with_repeats:
                _ask_for_repeats(bars[index], jump.kind)
        known = {(index, jump.kind) for index, jump in placed}


def _bar_index(direction: Direction, target: bool, lengths_ql: Sequence[Fraction]) -> int:
    """A segno or coda at the very end of a measure belongs to the next one."""
    index = direction.measure_index
    at_end = 0 < lengths_ql[index] <= direction.offset_ql and index + 1 < len(lengths_ql)
    return index + (target and at_end)


def _section_end(index: int, bars: Sequence[Bar]) -> int:
    """The words D.C. are often set a little before the barline at which they act: the next one that ends a
    section."""
    for near in range(index, min(index + WORDS_REACH + 1, len(bars))):
        if bars[near].double_right or bars[near].repeat_backward:
            return near
    return index


def _ask_for_repeats(bar: Bar, kind: JumpKind) -> None:
    for key, jump in bar.jumps.items():
        if jump.kind is kind:
            bar.jumps[key] = replace(jump, with_repeats=True)


def _told(sound: etree._Element | None) -> list[Jump]:
    """The jumps in the attributes of a `<sound>` (W3C musicxml.xsd 4.0)."""
    if sound is None:
        return []
    times = pass_numbers(sound.get("time-only", ""))
    jumps: list[Jump] = []
    for kind in JumpKind:
        value = sound.get(kind.value)
        if value is not None and value != "no":
            label = "" if kind in (JumpKind.DACAPO, JumpKind.FINE) else value.strip()
            jumps.append(Jump(kind, label, times))
    return jumps


def _written(direction: Direction) -> list[Jump]:
    """The jumps in the words and signs of a direction."""
    text = direction.text.lower()
    kinds = [kind for kind, pattern in _WORDS if pattern.search(text)] if text else []
    if not _AWAY & set(kinds):
        # "D.S. 𝄋" shows where to go; a sign alone is the place to go to.
        kinds += [kind for kind in _TARGETS if kind.value in direction.signs]
    again = _WITH_REPEATS.search(text) is not None
    return [Jump(kind, with_repeats=again) for kind in dict.fromkeys(kinds)]


def says_jump(text: str) -> bool:
    """Whether words lead elsewhere, or are led to."""
    return any(pattern.search(text.lower()) for _, pattern in _WORDS)


def leaving(mark: etree._Element) -> JumpKind | None:
    """What acts at the end of the measure that a direction or a sound stands in (D.C., D.S., To Coda, Fine), told by
    its sound or else by its words; None where nothing does."""
    told = _told(mark if mark.tag == "sound" else mark.find("sound"))
    words = (words.text or "" for words in mark.iterfind("direction-type/words"))
    text = " ".join(" ".join(words).split()).lower()
    kinds = [jump.kind for jump in told] or [kind for kind, pattern in _WORDS if pattern.search(text)]
    return next((kind for kind in kinds if kind not in _TARGETS), None)


def _led_to_coda(written: Sequence[tuple[Direction, Jump]]) -> list[tuple[Direction, Jump]]:
    """Where no words lead to the coda, the first of two coda signs leads to the second."""
    codas = sorted({at.measure_index for at, jump in written if jump.kind is JumpKind.CODA})
    if len(codas) < 2 or any(jump.kind is JumpKind.TOCODA for _, jump in written):
        return list(written)
    return [
        (at, Jump(JumpKind.TOCODA) if jump.kind is JumpKind.CODA and at.measure_index != codas[-1] else jump)
        for at, jump in written
    ]


_TRIO: Final = re.compile(r"^(trio|alternativo|minore|maggiore|mineur|majeur)\b")
_ENDS: Final = frozenset({JumpKind.FINE, JumpKind.TOCODA})


def with_implied_fine(marks: Sequence[BarMarks], directions: Sequence[Direction]) -> list[BarMarks]:
    """A minuet played again after its trio ends where the trio begins, whether or not somebody wrote Fine
    there (common practice, no source)."""
    result = list(marks)
    headed = {at.measure_index for at in directions if at.text and _TRIO.match(at.text.lower())}
    for movement in {bar.movement for bar in marks}:
        own = [index for index, bar in enumerate(marks) if bar.movement == movement]
        kinds = {jump.kind for index in own for jump in marks[index].jumps}
        trios = [index for index in own[1:] if index in headed]
        if trios and JumpKind.DACAPO in kinds and not kinds & _ENDS:
            last = trios[0] - 1
            result[last] = replace(marks[last], jumps=(*marks[last].jumps, Jump(JumpKind.FINE)))
    return result
