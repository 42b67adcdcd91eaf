"""All systems that may be printed at a staff size: how high, and how badly spaced.

In: `Problem` and a staff size.  Out: `SystemTable`; row a, column L-1 is the system of measures a .. a+L-1.
Heights in steps of the page's `Box`, badness in points.  Always true: a system stands inside one movement, is
squeezed by at most `MAX_SQUEEZE` permille (`MAX_SQUEEZE_SUNG` when words are sung in it, a bar alone by
`MAX_SQUEEZE_ALONE`), and is stretched beyond `MAX_STRETCH` only when the next bar does not fit.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from optimizer.engrave.model import SystemSpan
from optimizer.layout import objective as o
from optimizer.layout.demands import Kind, forced_turns, has
from optimizer.layout.plan import Plan
from optimizer.layout.problem import MSP_PER_SP, STAFF_MSP, Box, Problem
from optimizer.units import mm_to_sp

Ints = NDArray[np.int64]
Flags = NDArray[np.bool_]


@dataclass(frozen=True, slots=True, eq=False)
class SystemTable:
    """`legal`, `badness` (points) and `steps` (height) of every system, (measures, longest) each."""

    box: Box
    legal: Flags
    badness: Ints
    steps: Ints

    @property
    def longest(self) -> int:
        """Most measures in a system."""
        return int(self.legal.shape[1])


def system_table(problem: Problem, staff_mm: float) -> SystemTable:
    """Every system at a staff size."""
    box = problem.box(staff_mm)
    music, room = _widths(problem, box)
    slack = (room - music) * 1000 // music
    legal = _legal(problem, slack)
    heads = np.array([problem.head(first, staff_mm) for first in range(problem.measures)])
    heights = _heights(problem, music.shape[1]) + heads[:, None] + problem.gap
    return SystemTable(box, legal, _badness(problem, box, slack), -(-heights // box.step))


def _widths(problem: Problem, box: Box) -> tuple[Ints, Ints]:
    """Natural width of the music of each system (huge where it would run over the end), and the room for it."""
    n = problem.measures
    ends = np.concatenate(([0], np.cumsum([bar.width for bar in problem.bars])))
    widest = box.width * 1000 // (1000 - o.MAX_SQUEEZE)
    longest = max(1, int(np.max(np.searchsorted(ends, ends[:-1] + widest, side="right") - 1 - np.arange(n))))
    columns = np.arange(1, longest + 1)
    last = np.arange(n)[:, None] + columns[None, :]
    suffixes = np.array([0, *(problem.suffix(bar, box.width) for bar in range(n))])
    music = (ends + suffixes)[np.minimum(last, n)] - ends[:-1, None]
    music[last > n] = 1000 * box.width + 1
    room = box.width - np.array([problem.lead(first) for first in range(n)])
    return music.astype(np.int64), np.broadcast_to(room[:, None], music.shape)


def _legal(problem: Problem, slack: Ints) -> Flags:
    """Which systems may be printed."""
    n, longest = slack.shape
    columns = np.arange(1, longest + 1)
    last = np.arange(n)[:, None] + columns
    sung = np.concatenate(([0], np.cumsum([bar.sung for bar in problem.bars])))
    words = sung[np.minimum(last, n)] > sung[:-1, None]
    squeeze = np.where(words, o.MAX_SQUEEZE_SUNG, o.MAX_SQUEEZE)
    squeeze[:, 0] = o.MAX_SQUEEZE_ALONE
    fits = (slack >= -squeeze) & (last <= movement_ends(problem)[:, None])
    more = np.zeros_like(fits)
    more[:, :-1] = fits[:, 1:]
    short = np.isin(last, sorted(set(short_ends(problem)) | {*problem.movement_starts, n}))
    legal: Flags = fits & ((slack <= o.MAX_STRETCH) | short | ~more)
    return legal


def movement_ends(problem: Problem) -> Ints:
    """For each measure the position where its movement ends."""
    ends = np.array([*problem.movement_starts, problem.measures])
    return ends[np.searchsorted(ends, np.arange(problem.measures), side="right")]


def short_ends(problem: Problem) -> Sequence[int]:
    """Positions before which a demand may leave a system short."""
    given = problem.given_pages if has(problem.demands, Kind.AS_GIVEN) else ()
    return (*forced_turns(problem.demands), *given)


def _badness(problem: Problem, box: Box, slack: Ints) -> Ints:
    """Points for stretch and squeeze (term `spacing`)."""
    n, longest = slack.shape
    last = np.arange(n)[:, None] + np.arange(1, longest + 1)
    starts = np.array([0, *problem.movement_starts])
    bounded = np.clip(slack, -1000, 5 * o.STRETCH_TOLERANCE)
    tolerance = np.where(slack < 0, o.SQUEEZE_TOLERANCE, o.STRETCH_TOLERANCE)
    points = np.minimum(o.MAX_BADNESS, o.BADNESS * np.abs(bounded) ** 3 // tolerance**3)
    for ends, most, short in (
        (short_ends(problem), o.MAX_STRETCH_GIVEN, o.SHORT_GIVEN),
        (forced_turns(problem.demands), o.MAX_STRETCH, o.SHORT_FORCED),
    ):
        points = np.where(np.isin(last, ends) & (slack > most), short, points)
    closes = np.isin(last, [*problem.movement_starts, n]) & (slack >= 0)
    narrow = (last == np.arange(n)[:, None] + 1) & ~np.isin(np.arange(n), starts)[:, None]
    narrow &= np.array([bar.width for bar in problem.bars])[:, None] * o.NARROW_PART < box.width
    return np.where(closes, np.where(narrow, o.NARROW_LAST, 0), points)


def _heights(problem: Problem, longest: int) -> Ints:
    """Height of every system, msp: the most above, between and below over its measures, or as drawn."""
    bars = problem.bars
    parts = np.array([(bar.above, *bar.gaps, bar.below) for bar in bars], dtype=np.int64)
    columns = []
    most = parts.copy()
    for length in range(1, longest + 1):
        if length > 1:
            most = np.maximum(most[:-1], parts[length - 1 :])
        column = np.zeros(len(bars), dtype=np.int64)
        column[: len(most)] = most.sum(axis=1) + problem.staves * STAFF_MSP
        columns.append(column)
        if len(most) == 1:
            columns += [np.zeros(len(bars), dtype=np.int64)] * (longest - length)
            break
    heights = np.stack(columns, axis=1)
    for drawn in problem.drawn:
        for first in range(max(0, drawn.last + 1 - longest), drawn.first + 1):
            inside = heights[first, drawn.last - first :]
            np.maximum(inside, drawn.height, out=inside)
    for drawn in problem.drawn:
        if drawn.last - drawn.first < longest:
            heights[drawn.first, drawn.last - drawn.first] = drawn.height
    return heights


def is_short(problem: Problem, box: Box, first: int, end: int) -> bool:
    """Whether the system of measures first .. end-1 is left at its natural width instead of filling the
    line."""
    music = problem.music(first, end, box.width)
    slack = (box.width - problem.lead(first) - music) * 1000 // music
    if end == problem.measures or end in problem.movement_starts:
        return slack > o.SHORT_FROM
    if end in forced_turns(problem.demands):
        return slack > o.MAX_STRETCH
    return slack > o.MAX_STRETCH_GIVEN and end in short_ends(problem)


def system_spans(problem: Problem, plan: Plan) -> tuple[SystemSpan, ...]:
    """The systems of a plan with the widths at which they are to be engraved, in staff spaces."""
    box = problem.box(plan.staff_mm)
    full_sp = mm_to_sp(problem.geometry.music_width_mm, plan.staff_mm)
    spans = []
    for system in (system for page in plan.pages for system in page.systems):
        natural = problem.lead(system.first) + problem.music(system.first, system.last + 1, box.width)
        short = is_short(problem, box, system.first, system.last + 1)
        spans.append(SystemSpan(system.first, system.last, natural / MSP_PER_SP if short else full_sp))
    return tuple(spans)


def too_large(problem: Problem, staff_mm: float) -> int | None:
    """The first measure that does not fit on a page by itself at a staff size; None when all do."""
    box = problem.box(staff_mm)
    for first, bar in enumerate(problem.bars):
        slack = (box.width - problem.lead(first) - bar.width) * 1000 // bar.width
        height = bar.height(problem.staves) + problem.head(first, staff_mm) + problem.gap
        steps = -(-height // box.step)
        if slack < -o.MAX_SQUEEZE_ALONE or steps > box.steps(first == 0):
            return first
    return None
