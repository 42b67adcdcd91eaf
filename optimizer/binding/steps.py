"""How a set is put together at the table: what is needed, and which pages lie where when which edge is taped.

In: a `Packet`, grammage.  Out: `Materials` and `TapeStep`s.  Lengths in mm.  Always true: what lies on the table in
a step is taken from the folded packet, so it folds; valleys are taped folded, round the edge, mountains flat.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil
from typing import Final

from optimizer.binding.packet import SPINE, Packet
from optimizer.binding.pose import Edge, Fold, Pose, swing
from optimizer.binding.seams import Role, Seam
from optimizer.units import in_to_mm

STRIPS_A_SEAM: Final = 3  # top, middle, bottom (common practice, no source)
PAGES_TO_TAPE_TWICE: Final = 10  # "with 10 to 15 pages also tape the backs" (common practice, no source)
PAPER_BULK_CM3_G: Final = 1.3  # of uncoated paper: a sheet of 100 g/m2 is 0.13 mm thick (from memory)
# Rings over 1 in turn badly (needs.md). The sizes are those that are sold (from memory).
RINGS_MM: Final = tuple(in_to_mm(inches) for inches in (0.5, 0.625, 0.75, 1.0))
RING_FILL: Final = 0.5  # leaves turn freely while they take up half of a ring; our choice
STAPLES: Final = 2  # a single folded sheet needs none, nor does a single leaf


@dataclass(frozen=True, slots=True)
class Materials:
    """What lies ready. `sheets`: as they come from the printer; `seams`: edges to be taped; `ring_mm`: least inner
    width of the rings of each volume, else 0."""

    sheets: int
    thickness_mm: float
    seams: int
    tape_twice: bool
    ring_mm: float
    volumes: int
    staples: int

    @property
    def strips(self) -> int:
        """Small strips of tape."""
        return self.seams * STRIPS_A_SEAM * (2 if self.tape_twice else 1)


@dataclass(frozen=True, slots=True)
class TapeStep:
    """Pages on the table with an edge to be taped along `line`, for each pair of `pairs` alike; the first is shown.
    `opened`: a fold-out that lies opened out meanwhile, the page it is joined to, and whether it goes back over that
    page or under it."""

    role: Role
    fold: Fold
    pairs: tuple[tuple[int, int], ...]
    pose: Pose
    line: int
    opened: tuple[int, int, bool] | None = None

    @property
    def panels(self) -> tuple[int, int]:
        """The two panels that are shown."""
        return self.pairs[0]

    @property
    def upper_lower(self) -> tuple[int, int]:
        """Of the two panels, which lies on the other."""
        place = self.pose.where()
        lower, upper = sorted(self.panels, key=lambda panel: self.pose.stack.index(place[panel]))
        return upper, lower


def materials(packet: Packet, grammage_gsm: float, sheets_of_two: bool = False) -> Materials:
    """Count sheets, seams and tape; choose rings by thickness.

    `sheets_of_two`: the sheets of a stapled set are printed whole; else two leaves are taped together for each.
    """
    leaves = len(packet.panels)
    thickness_mm = leaves * caliper_mm(grammage_gsm)
    folded = packet.folded_sheets
    seams = len(taped_seams(packet)) + (0 if sheets_of_two else folded)
    twice = packet.binding == "taped" and leaves >= PAGES_TO_TAPE_TWICE
    volumes, ring_mm = _rings(thickness_mm) if packet.binding == "ring" else (1, 0.0)
    sheets = folded if folded and sheets_of_two else leaves
    return Materials(sheets, thickness_mm, seams, twice, ring_mm, volumes, STAPLES if folded > 1 else 0)


def caliper_mm(grammage_gsm: float) -> float:
    """Thickness of a sheet."""
    return grammage_gsm * PAPER_BULK_CM3_G / 1000


def _rings(thickness_mm: float) -> tuple[int, float]:
    """Volumes, and the smallest rings that hold one of them."""
    volumes = ceil(thickness_mm / (RING_FILL * RINGS_MM[-1]))
    return volumes, next(ring for ring in RINGS_MM if thickness_mm / volumes <= RING_FILL * ring)


def taped_seams(packet: Packet) -> tuple[Seam, ...]:
    """All seams of a strip; in a ring binder the rings do the work of the spine seams."""
    return tuple(seam for seam in packet.seams if packet.binding == "taped" or seam.role is not Role.SPINE)


def tape_steps(packet: Packet, sheets_of_two: bool = False) -> tuple[TapeStep, ...]:
    """Fold-outs, each by itself, then the pairs of the spreads, then pair to pair; or leaves to folded sheets."""
    seams = taped_seams(packet)
    # The outer one of two fold-outs comes first, while both still lie flat.
    outs = sorted(packet.fold_outs, key=lambda seam: seam.fold is Fold.VALLEY)
    groups: list[tuple[Seam, ...]] = [(seam,) for seam in outs]
    groups += [tuple(seam for seam in seams if seam.role is role) for role in (Role.SPINE, Role.LEAF)]
    made: list[Seam] = []
    steps = []
    for group in filter(None, groups):
        steps.append(_step(packet, group, made))
        made += group
    if packet.folded_sheets and not sheets_of_two:
        steps.append(_joined_leaves(packet))
    return tuple(steps)


def _joined_leaves(packet: Packet) -> TapeStep:
    """Two leaves to a folded sheet, taped folded like any valley; the innermost sheet is shown, whose sides are not
    blank."""
    halves = len(packet.panels) // 2
    pairs = tuple((sheet, 2 * halves - 1 - sheet) for sheet in reversed(range(halves)))
    open_sheet = Pose(tuple(placed for placed in packet.flat.stack if placed.panel in pairs[0]))
    return TapeStep(Role.SPINE, Fold.VALLEY, pairs, swing(open_sheet, {pairs[0][1]}, SPINE, ()), SPINE)


def _step(packet: Packet, seams: tuple[Seam, ...], made: Sequence[Seam]) -> TapeStep:
    """The first of these seams on the table: a valley as it lies in the packet, a mountain opened out."""
    seam, packed = seams[0], packet.packed
    here = _joined(seam.left, made) | _joined(seam.right, made)
    pose = Pose(tuple(placed for placed in packed.stack if placed.panel in here))
    line = pose.where()[seam.left].edge_at(Edge.RIGHT)
    if seam.fold is Fold.MOUNTAIN:
        upper = next(p.panel for p in reversed(pose.stack) if p.panel in (seam.left, seam.right))
        pose = swing(pose, _joined(upper, made), line, [seam.joint])
    outer = next((other for other in made if {other.left, other.right} <= here), None)
    opened = None
    if outer and seam.role is Role.FOLD_OUT and seam.fold is Fold.VALLEY:
        pose, opened = _back_bare(pose, seam, outer)
    return TapeStep(
        seam.role, seam.fold, tuple((seam.left, seam.right) for seam in seams), pose, line, opened
    )


def _back_bare(pose: Pose, seam: Seam, outer: Seam) -> tuple[Pose, tuple[int, int, bool]]:
    """A second fold-out opened out, so that tape reaches the back of the first."""
    place, is_left = pose.where(), outer.left not in (seam.left, seam.right)
    panel, inner = (outer.left, outer.right) if is_left else (outer.right, outer.left)
    line = place[outer.left].edge_at(Edge.RIGHT)
    over = pose.stack.index(place[panel]) > pose.stack.index(place[inner])
    return swing(pose, {panel}, line, [outer.joint], over=over), (panel, inner, over)


def _joined(panel: int, seams: Sequence[Seam]) -> frozenset[int]:
    """The panels that hang together with one; seams join neighbours, so they are a run."""
    inner = {seam.left for seam in seams}
    low = high = panel
    while low - 1 in inner:
        low -= 1
    while high in inner:
        high += 1
    return frozenset(range(low, high + 1))
