"""Where music may stand on a page; the planner and the printer share these numbers.

In: settings and which lines of text the title block has.  Out: `PageGeometry`, millimetres from the page's
top left corner, y downwards.  Always true: the music box lies inside the margins and is as wide on every page, and
systems that satisfy `stack_height_mm` <= `music_height_mm` do not overflow.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

from optimizer.layout.patterns import PageSide
from optimizer.settings import Margins, Paper
from optimizer.units import sp_to_mm

# Type sizes in mm (cap to descender of a line box); our choice, in the proportions of printed piano music.
TITLE_LINE_MM: Final = 9.5
SUBTITLE_LINE_MM: Final = 6.0
NAMES_LINE_MM: Final = 5.5
TITLE_AFTER_MM: Final = 3.0
HEAD_MM: Final = 7.0  # running title and page number, with the white below them
MOVEMENT_TITLE_MM: Final = 9.0  # kept free above the first system of a movement that has a title of its own
FOOT_MM: Final = 6.0  # where turn marks and the rights line stand; kept free on every page
MIN_GAP_SP: Final = 2.0  # ink of one system to ink of the next, as planned
# The lowest ink of a single staff seldom stands above the highest of the next: what is seen is wider nearly everywhere.
# So a page of a part holds ten to twelve staves, as an orchestra library asks for (facts.md), and not nine.
ONE_STAFF_GAP_SP: Final = 1.0
# As drawn, a system may turn out a little higher than predicted: to this share of them the gaps of its page may give
# way.
TIGHTEST_GAP: Final = 0.7
STRIP_PERMILLE: Final = 750  # size of bars printed again; read as accurately (Bell & Church, ICMC 2005)
STRIP_WORDS_MM: Final = 6.0  # rule and words that tell them from the music of the page
MIN_INK_SP: Final = 1.0  # a system's ink is never counted as less than this beyond its outer staff lines

# Bindings that take white away at the inner edge, and the least that must be left there. Rings: holes reach 15 to 17 mm
# in (ISO 838: centres 12 mm from the edge, 6 mm wide; US three-ring: 12.7 and 8 mm, from memory), and a gutter is about
# 20 mm (needs.md, from memory). Folded sheets do not open quite flat and the inner ones creep outwards: 2 mm more than
# our usual margin, our choice.
LEAST_INNER_MM: Final[Mapping[str, float]] = {"ring": 20.0, "stapled": 15.0}


@dataclass(frozen=True, slots=True)
class SystemExtent:
    """Vertical extent of a system in staff spaces: ink above, outer staff lines, ink below."""

    above_sp: float
    staves_sp: float
    below_sp: float

    @property
    def height_sp(self) -> float:
        """From topmost to lowest ink."""
        return max(self.above_sp, MIN_INK_SP) + self.staves_sp + max(self.below_sp, MIN_INK_SP)


@dataclass(frozen=True, slots=True)
class PageGeometry:
    """The boxes of a page. The first page has the title block where the others have the head.

    `margins` are those of a right-hand page; where they are `mirrored`, `on` gives the boxes of others. `gap_sp`: least
    distance from the ink of a system to that of the next, as planned.
    """

    paper: Paper
    margins: Margins
    title_lines: int
    subtitle_lines: int
    names_lines: int
    mirrored: bool = False
    gap_sp: float = MIN_GAP_SP

    def on(self, side: PageSide) -> "PageGeometry":
        """The boxes of a page that lies on this side of its spread: of the same size, the inner margin at the binding.

        A fold-out is held at one edge and not in the binding: its music stands in the middle.
        """
        if not self.mirrored:
            return self
        inner, outer = self.margins.left_mm, self.margins.right_mm
        middle = (inner + outer) / 2
        left, right = {
            PageSide.RIGHT: (inner, outer),
            PageSide.LEFT: (outer, inner),
            PageSide.FOLD_OUT: (middle, middle),
        }[side]
        return replace(self, margins=replace(self.margins, left_mm=left, right_mm=right), mirrored=False)

    @property
    def tightest_gap_sp(self) -> float:
        """The least gap of systems as drawn."""
        return self.gap_sp * TIGHTEST_GAP

    @property
    def music_left_mm(self) -> float:
        """Left edge of systems, part names included."""
        return self.margins.left_mm

    @property
    def music_width_mm(self) -> float:
        """Width of a system, part names included."""
        return self.paper.width_mm - self.margins.left_mm - self.margins.right_mm

    def title_block_mm(self) -> float:
        """Height of the title block below the first page's head (0 when there is nothing to say)."""
        lines = (
            self.title_lines * TITLE_LINE_MM
            + self.subtitle_lines * SUBTITLE_LINE_MM
            + self.names_lines * NAMES_LINE_MM
        )
        return lines + TITLE_AFTER_MM if lines else 0.0

    def music_top_mm(self, first: bool) -> float:
        """Top of the music box."""
        return self.margins.top_mm + HEAD_MM + (self.title_block_mm() if first else 0.0)

    def music_height_mm(self, first: bool) -> float:
        """Height of the music box."""
        return self.paper.height_mm - self.music_top_mm(first) - self.margins.bottom_mm - FOOT_MM


def bound_margins(margins: Margins, binding: str) -> tuple[Margins, bool]:
    """The margins of a right-hand page in a binding, and whether left-hand pages mirror them."""
    if binding not in LEAST_INNER_MM:
        return margins, False
    return replace(margins, left_mm=max(margins.left_mm, LEAST_INNER_MM[binding])), True


def stack_height_mm(extents: Sequence[SystemExtent], staff_mm: float, gap_sp: float) -> float:
    """Least height of systems stacked on a page, mm, with this gap from ink to ink."""
    height_sp = sum(extent.height_sp for extent in extents) + gap_sp * max(0, len(extents) - 1)
    return sp_to_mm(height_sp, staff_mm)
