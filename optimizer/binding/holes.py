"""Where a ring binder's holes are.

In: paper and which holes.  Out: `Punch`, mm: heights from the page's upper edge, distance from the punched edge.
Always true: the holes are centred on that edge and lie wholly on the paper.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from optimizer.errors import UsageError
from optimizer.settings import Holes, Paper
from optimizer.units import in_to_mm


@dataclass(frozen=True, slots=True)
class Holing:
    """A way of punching: so many holes, centre to centre, the centres' distance from the edge, their width."""

    count: int
    apart_mm: float
    from_edge_mm: float
    wide_mm: float


# ISO 838: 80 mm apart, 6 mm wide, centres 12 mm from the edge; two more outside them are common, not ISO.
# US three-ring: 4.25 in apart (de facto); half an inch from the edge and 9/32 in wide from memory.
HOLINGS: Final[Mapping[Holes, Holing]] = {
    Holes.TWO: Holing(2, 80.0, 12.0, 6.0),
    Holes.FOUR: Holing(4, 80.0, 12.0, 6.0),
    Holes.THREE: Holing(3, in_to_mm(4.25), in_to_mm(0.5), in_to_mm(9 / 32)),
}


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
    """The holes of a page of this paper; `auto`: three for US sizes, else two. UsageError where they do not fit."""
    if holes is Holes.AUTO:
        holes = Holes.THREE if _is_american(paper) else Holes.TWO
    holing = HOLINGS[holes]
    first_mm = paper.height_mm / 2 - holing.apart_mm * (holing.count - 1) / 2
    if first_mm < holing.wide_mm:
        raise UsageError(f"--holes {holes}: a page {paper.height_mm:g} mm high is too small for them")
    heights = tuple(first_mm + holing.apart_mm * index for index in range(holing.count))
    return Punch(heights, holing.from_edge_mm, holing.wide_mm)


def _is_american(paper: Paper) -> bool:
    return paper.name == "letter" or paper.name.endswith("in")
