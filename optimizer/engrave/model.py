"""What the engraving stage hands on: sizes of bars, and systems drawn as display lists.

Lengths are staff spaces (`_sp`, staff height = 4); x grows to the right from the left end of the staff lines, y grows
downwards from the top line of the system's top staff.  Always true: colours are black unless said, paths are closed
over absolute coordinates, and nothing refers to a file.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal, Protocol


@dataclass(frozen=True, slots=True)
class BarSize:
    """One measure as engraved on its own.

    `width_sp`: natural width without repeated clef and key. `prefix_sp`: what clef and key add when it stands first
    in a system. `suffix_sp`: what words that must fit into the system, or an announced key or time, add when it stands
    last. `above_sp`: ink above the top line of the top staff (at least a bar number's); `below_sp`: ink below the
    bottom line of the bottom staff; `gaps_sp`: distance from the bottom line of each staff to the top line of the next.
    `sung`: words stand under its notes, spaced as closely as they can be read.
    """

    width_sp: float
    prefix_sp: float
    above_sp: float
    below_sp: float
    gaps_sp: tuple[float, ...]
    suffix_sp: float = 0.0
    sung: bool = False


@dataclass(frozen=True, slots=True)
class Measured:
    """Sizes of all bars. `indent_sp`: room left of the first system for part names; `label_sp`: of the later systems.

    `staves`: how many staves a system has.
    """

    bars: tuple[BarSize, ...]
    indent_sp: float
    label_sp: float
    staves: int


@dataclass(frozen=True, slots=True)
class SystemSpan:
    """Measures `first`..`last` (0-based, both included) form a system of `width_sp` from left edge to right edge,
    room for part names included."""

    first: int
    last: int
    width_sp: float


Matrix = tuple[float, float, float, float, float, float]  # a b c d e f, as in SVG and PDF


@dataclass(frozen=True, slots=True)
class Path:
    """A filled and/or stroked path: segments are ("M", x, y), ("L", x, y), ("C", x1, y1, x2, y2, x, y), ("Z",)."""

    segments: tuple[tuple[str | float, ...], ...]
    fill: bool
    stroke_sp: float  # 0: not stroked
    dash_sp: tuple[float, ...] = ()
    round_cap: bool = False
    round_join: bool = False


@dataclass(frozen=True, slots=True)
class Glyph:
    """A music glyph: `name` is a key of `Engraved.glyphs`; `matrix` maps glyph space to system space."""

    name: str
    matrix: Matrix


@dataclass(frozen=True, slots=True)
class Text:
    """Text set from (x, y) on the baseline. `font`: "serif" or "music" (text set in the music font's characters)."""

    x_sp: float
    y_sp: float
    size_sp: float
    anchor: Literal["start", "middle", "end"]
    font: Literal["serif", "music"]
    bold: bool
    italic: bool
    string: str
    length_sp: float | None = None


Item = Path | Glyph | Text


@dataclass(frozen=True, slots=True)
class EngravedSystem:
    """A drawn system. `above_sp`, `below_sp`: real ink beyond the outer staff lines; `staves_sp`: from the top line of
    the top staff to the bottom line of the bottom staff; `left_sp`: where part names start (x of staff lines is 0, so
    zero or negative); `width_sp`: from `left_sp` to the right end of the staff lines; `barlines_sp`: the right end of
    each measure (empty: not known)."""

    first: int
    last: int
    above_sp: float
    below_sp: float
    staves_sp: float
    left_sp: float
    width_sp: float
    items: tuple[Item, ...]
    barlines_sp: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class Engraved:
    """The systems of a plan, bars that are printed again (`strips`) and the glyph outlines that both use (glyph name ->
    path in glyph space)."""

    systems: tuple[EngravedSystem, ...]
    glyphs: Mapping[str, Path]
    strips: tuple[EngravedSystem, ...] = ()


class Engraver(Protocol):
    """What the rest of the program needs of an engraving library; one instance holds one score."""

    def measure(self) -> Measured:
        """Sizes of all bars, from one pass over the score."""

    def begin(self, spans: Sequence[SystemSpan]) -> Callable[[], Engraved]:
        """Start to draw the systems of a plan, each justified to its width; what comes back gives them."""

    def rest(self) -> None:
        """Let go of what is only needed while it is at work."""

    def draw_all(self, spans: Sequence[SystemSpan]) -> Engraved:
        """Systems of several plans, which may overlap, in the order given; each justified to its width."""

    def draw_strips(self, spans: Sequence[SystemSpan]) -> Engraved:
        """Bars to be printed again as `strips`, each span a system at its natural width; they may overlap."""
