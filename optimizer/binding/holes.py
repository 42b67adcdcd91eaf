"""Where a ring binder's holes are.

In: paper and which holes.  Out: `Punch`, mm: heights from the page's upper edge, distance from the punched edge.
Always true: the holes are centred on that edge and lie wholly on the paper.
"""

from dataclasses import dataclass

from optimizer.settings import Holes, Paper, holing_of


@dataclass(frozen=True, slots=True)
class Punch:
    """The holes of a page."""

    heights_mm: tuple[float, ...]
    from_edge_mm: float
    wide_mm: float

    @property
    def reach_mm(self) -> float:
        """How far into the page they go."""
        return self.from_edge_mm + self.wide_mm / 2


def punch_for(paper: Paper, holes: Holes) -> Punch:
    """The holes of a page of this paper; UsageError where they do not fit."""
    holing = holing_of(paper, holes)
    first_mm = holing.first_mm(paper)
    heights = tuple(first_mm + holing.apart_mm * index for index in range(holing.count))
    return Punch(heights, holing.from_edge_mm, holing.wide_mm)
