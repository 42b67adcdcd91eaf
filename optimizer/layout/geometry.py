"""Where music may stand on a page; the planner and the printer share these numbers.

In: settings and which lines of text the title block has.  Out: `PageGeometry`, millimetres from the page's
top left corner, y downwards.  Always true: the music box lies inside the margins, and systems that satisfy
`stack_height_mm` <= `music_height_mm` do not overflow.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

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
# As drawn, a system may turn out a little higher than predicted: so far down the gaps of its page may give way.
TIGHTEST_GAP_SP: Final = 1.4
MIN_INK_SP: Final = 1.0  # a system's ink is never counted as less than this beyond its outer staff lines


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
    """The boxes of a page. The first page has the title block where the others have the head."""

    paper: Paper
    margins: Margins
    title_lines: int
    subtitle_lines: int
    names_lines: int

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


def stack_height_mm(extents: Sequence[SystemExtent], staff_mm: float, gap_sp: float = MIN_GAP_SP) -> float:
    """Least height of systems stacked on a page, mm, with this gap from ink to ink."""
    height_sp = sum(extent.height_sp for extent in extents) + gap_sp * max(0, len(extents) - 1)
    return sp_to_mm(height_sp, staff_mm)
