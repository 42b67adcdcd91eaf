"""The finished set as paper: how it lies folded, opens, and is turned, found by folding it in simulation.

In: plan and `Sheets`.  Out: a `Packet`: panels, seams, the folded packet, how it is made ready, and what lies on
the desk at each spread.  Always true: every pose was reached from the one before by swinging free paper
(optimizer/binding/pose.py); at each moment the pages of that spread face the player, left to right; what is turned
while playing is one leaf, never a fold-out, unless the desk is too narrow for the fold-outs of both ends.
"""

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from itertools import pairwise, starmap, zip_longest

from optimizer.binding.model import Leaf, Sheets, Side, SideKind
from optimizer.binding.pose import Edge, Fold, Joint, Placed, Pose, laid_flat, piled, swing, turned_over
from optimizer.binding.seams import Opening, Role, Seam, openings, strip_seams
from optimizer.layout.plan import Plan

SPINE = 0  # the line everything is turned about
CENTRE = 2  # pages of a spread that do not fold out


@dataclass(frozen=True, slots=True)
class Swing:
    """A movement of the hand and the pose it leads to; `moved` from the uppermost panel down."""

    moved: tuple[int, ...]
    line: int
    pose: Pose


@dataclass(frozen=True, slots=True)
class Moment:
    """A spread on the desk; `leaf`: the panels that were turned to get there, none for the first."""

    pages: tuple[int, ...]
    leaf: tuple[int, ...]
    pose: Pose

    @property
    def left_layers(self) -> int:
        """Thickness left of the spine, in sheets."""
        return len(self.pose.column(SPINE - 1))

    @property
    def right_layers(self) -> int:
        """Thickness right of the spine, in sheets."""
        return len(self.pose.column(SPINE))


@dataclass(frozen=True, slots=True)
class Packet:
    """A set of pages as paper. `spreads`, `seams`: of a strip only; `joints`: all edges that hold together.

    `packed` is how it is carried, front up, spine left; `folding` how it gets there from lying flat; `opening` what
    is done before playing. Where the desk is too narrow for the fold-outs of both ends, `tucked`: those of the first
    spread that are folded in before the first turn, while those of the last one stay folded in until the last turn.
    """

    binding: str
    panels: tuple[Leaf, ...]
    spreads: tuple[Opening, ...]
    seams: tuple[Seam, ...]
    joints: tuple[Joint, ...]
    flat: Pose
    folding: tuple[Swing, ...]
    packed: Pose
    opening: tuple[Swing, ...]
    moments: tuple[Moment, ...]
    tucked: tuple[int, ...] = ()

    def shown(self, placed: Placed) -> Side | None:
        """The upper side of a panel as it lies; None: white."""
        panel = self.panels[placed.panel]
        return panel.front if placed.front_up else panel.back

    def hidden(self, placed: Placed) -> Side | None:
        """The lower side."""
        panel = self.panels[placed.panel]
        return panel.back if placed.front_up else panel.front

    @property
    def outside(self) -> tuple[Side | None, Side | None]:
        """What the packet shows in front and behind; None: white."""
        return self.shown(self.packed.stack[-1]), self.hidden(self.packed.stack[0])

    @property
    def white_outside(self) -> tuple[bool, bool]:
        """Whether nothing stands on the packet's front, and on its back."""
        front, back = (
            side is None or (side.kind is SideKind.BLANK and not side.why) for side in self.outside
        )
        return front, back

    @property
    def folded_sheets(self) -> int:
        """How many sheets are folded once and stapled; none where one leaf is all."""
        return len(self.panels) // 2 if self.binding == "stapled" else 0

    @property
    def fold_outs(self) -> tuple[Seam, ...]:
        """The seams of fold-outs."""
        return tuple(seam for seam in self.seams if seam.role is Role.FOLD_OUT)

    @property
    def outs(self) -> frozenset[int]:
        """The panels that fold out."""
        return frozenset(
            panel for spread in self.spreads for panel in (*spread.left_outs, *spread.right_outs)
        )

    def inner_edge(self, panel: int) -> Edge | None:
        """The edge of a page of a strip that lies at the spine; None: a fold-out."""
        if any(panel == spread.left for spread in self.spreads):
            return Edge.RIGHT
        return Edge.LEFT if any(panel == spread.right for spread in self.spreads) else None

    @property
    def most_abreast(self) -> int:
        """How many pages wide the set gets on the desk, fold-outs that wait or are done with included."""
        return max(len(moment.pose.columns) for moment in self.moments)


def packet_of(plan: Plan, sheets: Sheets) -> Packet:
    """Fold, open and turn a set of pages."""
    if plan.binding in ("taped", "ring"):
        return _strip(plan, sheets)
    if not sheets.folded and all(leaf.back is None for leaf in sheets.leaves):
        return _side_by_side(plan, sheets)
    return _two_sided(plan, sheets)


class _Hands:
    """Swings panels and remembers how."""

    def __init__(self, pose: Pose, joints: Sequence[Joint] = ()) -> None:
        self.pose, self._joints = pose, joints
        self.done: list[Swing] = []

    def swing(self, panels: Collection[int], line: int, *, over: bool = True) -> None:
        """Move panels; nothing happens when there are none."""
        if panels:
            moved = tuple(placed.panel for placed in reversed(self.pose.stack) if placed.panel in panels)
            self.pose = swing(self.pose, panels, line, self._joints, over=over)
            self.done.append(Swing(moved, line, self.pose))

    def edge(self, panel: int, edge: Edge) -> int:
        """The line an edge lies on."""
        return self.pose.where()[panel].edge_at(edge)


def _strip(plan: Plan, sheets: Sheets) -> Packet:
    """A concertina: taped, or the same on rings."""
    spreads = openings([len(spread) for spread in plan.spreads])
    seams = strip_seams(spreads)
    joints = tuple(seam.joint for seam in seams)
    first = spreads[0]
    flat = laid_flat(range(len(sheets.leaves)), SPINE - len(first.left_outs) - (first.left is not None))
    hands = _Hands(flat, joints)
    _fold_up(hands, spreads, seams)
    packed = hands.pose if first.left is None else turned_over(hands.pose, SPINE)
    opening = _Hands(packed, joints)
    tucked = seams[: _excess(spreads, plan.pages_abreast)]
    _make_ready(opening, spreads, last_waits=bool(tucked))
    leaves = [(here.panels[-1], there.panels[0]) for here, there in pairwise(spreads)]
    moments = _turn_over(opening.pose, leaves, plan, joints, tucked, spreads[-1].right_outs if tucked else ())
    return Packet(
        binding=plan.binding,
        panels=sheets.leaves,
        spreads=spreads,
        seams=seams,
        joints=joints,
        flat=flat,
        folding=tuple(hands.done),
        packed=packed,
        opening=tuple(opening.done),
        moments=moments,
        tucked=tuple(seam.left for seam in tucked),
    )


def _excess(spreads: Sequence[Opening], pages_abreast: int) -> int:
    """How many of the first spread's fold-outs the desk has no room for beside those of the last one."""
    first, last = len(spreads[0].left_outs), len(spreads[-1].right_outs)
    both = len(spreads) > 1 and first and last
    return min(first, max(0, first + CENTRE + last - pages_abreast)) if both else 0


def _fold_up(hands: _Hands, spreads: Sequence[Opening], seams: Sequence[Seam]) -> None:
    """Fold a strip that lies flat: the fold-outs at the left, then everything from the right end on."""
    outs, last = len(spreads[0].left_outs), spreads[-1].panels[-1]
    _fold_in(hands, seams[:outs])
    for seam in reversed(seams[outs:]):
        line = hands.edge(seam.left, Edge.RIGHT)
        hands.swing(range(seam.right, last + 1), line, over=seam.fold is Fold.VALLEY)


def _make_ready(hands: _Hands, spreads: Sequence[Opening], last_waits: bool) -> None:
    """Open the packet: the last spread's fold-outs first, which lie deepest, then the first spread."""
    first, last = spreads[0], spreads[-1]
    cover = () if first.left is None else (first.left, *first.left_outs)
    if last.right_outs and len(spreads) > 1 and not last_waits:
        above = range(last.panels[-1] - len(last.right_outs))
        hands.swing(above, SPINE)
        _unfold(hands, last.right_outs, Edge.RIGHT)
        hands.swing(above, SPINE)
    hands.swing(cover, SPINE)
    _unfold(hands, first.left_outs, Edge.LEFT)
    if len(spreads) == 1:
        _unfold(hands, first.right_outs, Edge.RIGHT)


def _unfold(hands: _Hands, outs: Sequence[int], outer: Edge) -> None:
    """Pull out a chain of fold-outs, the outermost first."""
    inner = Edge.LEFT if outer is Edge.RIGHT else Edge.RIGHT
    for step in reversed(range(len(outs))):
        hands.swing(outs[step:], hands.edge(outs[step], inner))


def _fold_in(hands: _Hands, outs: Sequence[Seam]) -> None:
    """Fold in fold-outs at the left, the outermost first."""
    for seam in outs:
        line = hands.edge(seam.right, Edge.LEFT)
        hands.swing(range(seam.right), line, over=seam.fold is Fold.VALLEY)


def _turn_over(
    start: Pose,
    leaves: Sequence[tuple[int, ...]],
    plan: Plan,
    joints: Sequence[Joint],
    tucked: Sequence[Seam] = (),
    waiting: Sequence[int] = (),
) -> tuple[Moment, ...]:
    """What lies on the desk at each spread; `leaves` are turned one after another. `tucked` are folded in before the
    first turn, `waiting` folded out after the last."""
    hands = _Hands(start, joints)
    moments = [Moment(plan.spreads[0], (), start)]
    _fold_in(hands, tucked)
    for pages, leaf in zip(plan.spreads[1:], leaves, strict=True):
        hands.swing(leaf, SPINE)
        moved = hands.done[-1].moved
        if pages == plan.spreads[-1]:
            _unfold(hands, waiting, Edge.RIGHT)
        moments.append(Moment(pages, moved, hands.pose))
    return tuple(moments)


def _side_by_side(plan: Plan, sheets: Sheets) -> Packet:
    """Loose pages, all in view at once: nothing is folded or turned."""
    panels = range(len(sheets.leaves))
    flat = laid_flat(panels, SPINE - len(panels) // 2)
    moments = (Moment(plan.spreads[0], (), flat),)
    return Packet(plan.binding, sheets.leaves, (), (), (), flat, (), piled(panels), (), moments)


def _two_sided(plan: Plan, sheets: Sheets) -> Packet:
    """Leaves printed on both sides, turned one by one: nested folded sheets, or loose."""
    leaves = tuple(starmap(Leaf, zip_longest(sheets.sides[::2], sheets.sides[1::2])))
    nested = bool(sheets.folded)
    joints = _staples(len(leaves)) if nested else ()
    hands = _Hands(_nested(len(leaves)) if nested else piled(range(len(leaves))), joints)
    flat = hands.pose
    if nested:
        hands.swing(range(len(leaves) // 2), SPINE)
    packed = hands.pose
    turned = [_leaves_turned(sheets.sides, spread) for spread in plan.spreads]
    opening = _Hands(packed, joints)
    for leaf in range(turned[0]):
        opening.swing((leaf,), SPINE)
    moves = [tuple(range(before, after)) for before, after in pairwise(turned)]
    return Packet(
        binding=plan.binding,
        panels=leaves,
        spreads=(),
        seams=(),
        joints=joints,
        flat=flat,
        folding=tuple(hands.done),
        packed=packed,
        opening=tuple(opening.done),
        moments=_turn_over(opening.pose, moves, plan, joints),
    )


def _leaves_turned(sides: Sequence[Side], spread: Sequence[int]) -> int:
    """How many leaves lie left when a spread is in view: its last page is a recto on the right pile, or a verso."""
    numbers = [side.number for side in sides]
    return (numbers.index(spread[-1]) + 1) // 2


def _nested(leaves: int) -> Pose:
    """Sheets nested open, inner sides up, the outermost lowest: left halves are leaves lying on their fronts."""
    halves = leaves // 2
    return Pose(
        tuple(
            placed
            for sheet in range(halves)
            for placed in (Placed(sheet, SPINE - 1, front_up=False), Placed(leaves - 1 - sheet, SPINE))
        )
    )


def _staples(leaves: int) -> tuple[Joint, ...]:
    """Every leaf is held at its inner edge to the one below it in the book."""
    return tuple(Joint(leaf, Edge.LEFT, leaf + 1, Edge.LEFT) for leaf in range(leaves - 1))
