"""Pictures of paper for the guide: pages on the table, the strip, the folded packet from its edge, the desk.

In: a `Packet` simulated by optimizer/binding, and words.  Out: `Picture`s in mm.  Always true: nothing is drawn
that the simulation did not find: what lies above what, which side is up, where an edge is.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from optimizer.binding.model import Side, SideKind
from optimizer.binding.packet import SPINE, Moment, Packet
from optimizer.binding.pose import Fold, Placed
from optimizer.binding.seams import Role
from optimizer.binding.steps import TapeStep
from optimizer.press.figures import (
    BLACK,
    GREY,
    PALE,
    WHITE,
    Area,
    Disc,
    Figure,
    Label,
    Line,
    arrow,
    curve,
    moved,
    rectangle,
    text_width_mm,
)
from optimizer.press.guide_words import GuideWords
from optimizer.settings import Paper

SMALL_PT: Final = 7.0
TINT: Final = "#e4e9ee"  # fold-outs
TAPE: Final = "#f2d58a"
# A valley is dashed, a mountain dashed and dotted (common practice of paper folding, no source).
DASHES: Final[Mapping[Fold, tuple[float, ...]]] = {
    Fold.VALLEY: (1.8, 1.0),
    Fold.MOUNTAIN: (2.4, 0.8, 0.3, 0.8),
}
STRIPS_AT: Final = (0.1, 0.5, 0.9)  # tape at top, middle and bottom, of the page's height
PAGE_MM: Final = 20.0  # width of a page on the table
STRIP_PAGE_MM: Final = 14.0  # width of a page of the whole strip, at most
STRIP_PAGES: Final = 12  # in a row of it
STRIP_GAP_MM: Final = 6.5  # below a row: the signs of its folds
STRIP_SHARE: Final = 0.65  # of a sheet's height at most for all rows
PEEK_MM: Final = 3.6  # of a lower page seen behind the one on top
ARROW_MM: Final = 6.0  # height of the arrow over a mountain
LAYER_MM: Final = 2.9  # between the layers of a packet, wide apart so that each can be named
MOST_LAYERS: Final = 12  # drawn and named; more are left out in the middle
PILE_MM: Final = 7.0  # height of all layers on the desk
LAYER_ON_DESK_MM: Final = 0.8
DESK_PAGE_MM: Final = 13.0
LIFTED_MM: Final = 13.5  # a leaf half turned, its arrow and its name
LIFT_DEGREES: Final = 38.0  # how far the next leaf is lifted


@dataclass(frozen=True, slots=True)
class Picture:
    """Figures counted from the top left corner of their box."""

    width_mm: float
    height_mm: float
    figures: tuple[Figure, ...]


def side_name(side: Side | None, words: GuideWords) -> str:
    """What a side is called in pictures: its number; a title page has none, and a blank at the end need not."""
    if side is None:
        return ""
    if side.kind is SideKind.TITLE:
        return words.title_side
    return "–" if side.number is None else str(side.number)


# --- pages on the table ----------------------------------------------------------------------------------------


def table_picture(
    packet: Packet, step: TapeStep, paper: Paper, words: GuideWords, holes: Sequence[float] = ()
) -> Picture:
    """A step as seen from above: pages with their sides, the strips of tape, and how a mountain is folded then.

    `holes`: heights of the punched holes, of the page's height; none where nothing is punched.
    """
    high = PAGE_MM * paper.height_mm / paper.width_mm
    columns = step.pose.columns
    below = max(len(step.pose.column(column)) for column in columns) - 1
    is_mountain = step.fold is Fold.MOUNTAIN
    top = below * PEEK_MM + (ARROW_MM if is_mountain else 0.0)
    figures: list[Figure] = []
    for column in columns:
        x = (column - columns[0]) * PAGE_MM
        pile = step.pose.column(column)
        for level, placed in enumerate(pile):
            y = top - (len(pile) - 1 - level) * PEEK_MM
            figures += moved(_page(packet, placed, high, words, level == len(pile) - 1), x, y)
        figures += moved(_holes(packet, pile[-1], high, holes), x, top)
    line = (step.line - columns[0]) * PAGE_MM
    figures += moved(_tape(step, high), line, top)
    if is_mountain:
        # What lies away from the packet's own column was opened out, and is folded back.
        opened = next(column for column in columns if column not in packet.packed.columns)
        reach = PAGE_MM * 0.5 * (1 if opened >= step.line else -1)
        figures += arrow(curve(line, top - below * PEEK_MM - 0.8, reach, ARROW_MM - 1.5, 0, 165))
    return Picture(len(columns) * PAGE_MM, top + high + 0.5, tuple(figures))


def _page(packet: Packet, placed: Placed, high: float, words: GuideWords, is_top: bool) -> Iterator[Figure]:
    """A page lying on the table: the printed side has systems, the back is white; lower ones only peek out."""
    up, down = packet.shown(placed), packet.hidden(placed)
    if up is not None and down is not None:
        name, facing = f"{side_name(up, words)} / {side_name(down, words)}", ""
    else:
        name, facing = side_name(up or down, words), words.notes_down if up is None else words.notes_up
    yield rectangle(0, 0, PAGE_MM, high, WHITE, BLACK)
    if not is_top:
        beside = 2.2 + text_width_mm(name, SMALL_PT, bold=True)
        yield Label(1.0, PEEK_MM - 0.9, name, SMALL_PT, bold=True)
        yield Label(beside, PEEK_MM - 0.9, facing, SMALL_PT, colour=GREY)
        return
    if up is not None:
        yield from _systems(PAGE_MM, high)
    colour = GREY if up is None else BLACK
    size = 14 if " / " not in name else 10  # two numbers stay clear of the tape
    yield Label(PAGE_MM / 2, high * 0.5, name, size, "middle", bold=True, colour=colour)
    yield Label(PAGE_MM / 2, high * 0.5 + 4.2, facing, SMALL_PT, "middle")


def _systems(wide: float, high: float) -> Iterator[Figure]:
    """Music, hinted at: pale bars above and below the middle of a page."""
    for y in (0.14, 0.24, 0.76, 0.86):
        yield rectangle(wide * 0.24, high * y - 0.8, wide * 0.52, 1.6, PALE)


def _tape(step: TapeStep, high: float) -> Iterator[Figure]:
    """Three strips at x = 0: across a joint that lies flat, or round an edge."""
    inward = 1 if step.pose.where()[step.panels[0]].column >= step.line else -1
    left, right = (-3.5, 3.5) if step.fold is Fold.MOUNTAIN else sorted((-1.4 * inward, 3.5 * inward))
    for share in STRIPS_AT:
        yield rectangle(left, high * share - 1.1, right - left, 2.2, TAPE, BLACK)


def _holes(packet: Packet, placed: Placed, high: float, holes: Sequence[float]) -> Iterator[Figure]:
    """Punched holes at the inner edge of a page, none in fold-outs."""
    edge = packet.inner_edge(placed.panel)
    if edge is None:
        return
    side = placed.edge_at(edge) - placed.column
    for share in holes:  # true to scale their centres are 1.1 mm from the edge, clear of words
        yield Disc(1.1 + side * (PAGE_MM - 2.2), high * share, 0.6, WHITE, BLACK)


# --- the strip ---------------------------------------------------------------------------------------------------


def strip_picture(
    packet: Packet, paper: Paper, words: GuideWords, width_mm: float, holes: Sequence[float] = ()
) -> Picture:
    """The whole strip laid flat, printed sides up, its seams dashed as they fold or held by rings at the heights of
    `holes`; in rows when it is long."""
    panels = len(packet.panels)
    rows = _strip_rows(panels, paper, width_mm)
    in_row = -(-panels // rows)
    wide = min(STRIP_PAGE_MM, width_mm / in_row)
    high = wide * paper.height_mm / paper.width_mm
    row_mm = high + STRIP_GAP_MM
    figures: list[Figure] = []
    for panel, leaf in enumerate(packet.panels):
        row, slot = divmod(panel, in_row)
        x, y = slot * wide, row * row_mm
        figures.append(rectangle(x, y, wide, high, TINT if panel in packet.outs else WHITE))
        figures += [Line(((x, y + edge), (x + wide, y + edge)), 0.25) for edge in (0.0, high)]
        if panel in (0, panels - 1):
            side = x if panel == 0 else x + wide
            figures.append(Line(((side, y), (side, y + high)), 0.25))
        figures.append(
            Label(x + wide / 2, y + high / 2 + 1.2, side_name(leaf.front, words), 9, "middle", bold=True)
        )
    for seam in packet.seams:
        row, slot = divmod(seam.left, in_row)
        x, y = (slot + 1) * wide, row * row_mm
        is_ring = packet.binding == "ring" and seam.role is Role.SPINE
        figures += (
            _rings(x, y, high, holes)
            if is_ring
            else [Line(((x, y), (x, y + high)), 0.3, BLACK, DASHES[seam.fold])]
        )
        figures += fold_sign(seam.fold, x, y + high + 2.6)
    return Picture(in_row * wide, rows * row_mm, tuple(figures))


def _strip_rows(panels: int, paper: Paper, width_mm: float) -> int:
    """In how many rows a strip is drawn: of few pages, so that they are large, unless it would not fit on a sheet."""

    def height_mm(rows: int) -> float:
        wide = min(STRIP_PAGE_MM, width_mm / -(-panels // rows))
        return rows * (wide * paper.height_mm / paper.width_mm + STRIP_GAP_MM)

    wanted = -(-panels // STRIP_PAGES)
    fitting = (rows for rows in range(wanted, 0, -1) if height_mm(rows) <= STRIP_SHARE * paper.height_mm)
    return next(fitting, wanted)


def dashed(fold: Fold) -> Line:
    """A sample of a fold's line."""
    return Line(((0.0, -0.9), (9.5, -0.9)), 0.3, BLACK, DASHES[fold])


def _rings(x: float, y: float, high: float, holes: Sequence[float]) -> list[Figure]:
    return [Disc(x, y + high * share, 0.9, None, BLACK, 0.3) for share in holes]


def fold_sign(fold: Fold, x: float, y: float) -> tuple[Figure, ...]:
    """A fold seen from the foot of the page, printed side up: V or upside down."""
    up = -1.4 if fold is Fold.VALLEY else 1.4
    return (Line(((x - 1.6, y + up / 2), (x, y - up / 2), (x + 1.6, y + up / 2)), 0.35),)


# --- the packet from its edge ------------------------------------------------------------------------------------


def packet_picture(packet: Packet, words: GuideWords) -> Picture:
    """The folded packet as one sees it from its foot, layers drawn apart, printed sides grey."""
    layers = packet.packed.stack[::-1]
    shown = _without_middle(len(layers))
    heights = {level: 1.5 + (row + (level > row)) * LAYER_MM for row, level in enumerate(shown)}
    left, wide = 4.0, 22.0
    figures: list[Figure] = []
    for level in shown:
        figures += moved(_layer(packet, layers[level], wide), left, heights[level])
        names = [
            side_name(side, words)
            for side in (packet.shown(layers[level]), packet.hidden(layers[level]))
            if side
        ]
        figures.append(Label(left + wide + 4.4, heights[level] + 0.9, " / ".join(names), SMALL_PT))
    level_of = {placed.panel: level for level, placed in enumerate(layers)}
    for joint in packet.joints:
        a, b = sorted((level_of[joint.left], level_of[joint.right]))
        right = layers[a].edge_at(joint.left_edge if level_of[joint.left] == a else joint.right_edge) > SPINE
        if a in heights and b in heights:
            figures.append(_bend(left + (wide if right else 0.0), heights[a], heights[b], right))
    if len(shown) < len(layers):
        y = heights[shown[len(shown) // 2 - 1]] + LAYER_MM
        figures += [Disc(left + wide * share, y, 0.35) for share in (0.4, 0.5, 0.6)]
    return Picture(left + wide + 15.0, max(heights.values()) + 2.0, tuple(figures))


def _without_middle(layers: int) -> list[int]:
    """Which layers are drawn; a gap of one row stands for those left out."""
    if layers <= MOST_LAYERS:
        return list(range(layers))
    half = MOST_LAYERS // 2
    return [*range(half), *range(layers - half, layers)]


def _layer(packet: Packet, placed: Placed, wide: float) -> Iterator[Figure]:
    """A page from its edge, with grey along its printed sides."""
    yield Line(((0.0, 0.0), (wide, 0.0)), 0.4)
    for side, y in ((packet.shown(placed), -0.65), (packet.hidden(placed), 0.65)):
        if side is not None:
            yield Line(((1.0, y), (wide - 1.0, y)), 0.5, "#9a9a9a")


def _bend(x: float, top: float, low: float, right: bool) -> Line:
    """A fold from one layer round to another."""
    reach = min(3.6, 0.8 + 0.3 * (low - top)) * (1 if right else -1)
    return Line(curve(x, (top + low) / 2, reach, (low - top) / 2, 90, -90), 0.4)


# --- on the desk -------------------------------------------------------------------------------------------------


def desk_picture(packet: Packet, index: int, words: GuideWords) -> Picture:
    """A spread on the desk as seen from its foot: what lies left and right, and the leaf that is turned next."""
    moment = packet.moments[index]
    leaf = packet.moments[index + 1].leaf if index + 1 < len(packet.moments) else ()
    first, last = desk_columns(packet)
    wide = (last - first + 1) * DESK_PAGE_MM
    step = min(LAYER_ON_DESK_MM, PILE_MM / len(packet.panels))
    is_turned = len(packet.moments) > 1
    spine = (SPINE - first) * DESK_PAGE_MM
    desk = step * len(packet.panels) + (LIFTED_MM if is_turned else 1.0)
    # A desk that is too narrow for all columns takes those of each moment.
    columns = moment.pose.columns if packet.tucked else (first, last)
    left, right = ((column - first) * DESK_PAGE_MM for column in (columns[0], columns[-1] + 1))
    figures: list[Figure] = [Line(((left - 1.0, desk), (right + 1.0, desk)), 0.5, GREY)]
    for column in moment.pose.columns:
        x = (column - first) * DESK_PAGE_MM
        pile = [placed for placed in moment.pose.column(column) if placed.panel not in leaf]
        for level in range(len(pile)):
            y = desk - 0.5 - step * (level + 0.5)
            figures.append(Line(((x + 0.4, y), (x + DESK_PAGE_MM - 0.4, y)), min(0.3, step * 0.6)))
        figures.append(_beneath(packet, moment, column, x + DESK_PAGE_MM / 2, desk + 3.4, words))
    if leaf:
        under = len([p for p in moment.pose.column(SPINE) if p.panel not in leaf])
        figures += _lifted(packet, moment, leaf, spine, desk - 0.6 - step * under, words)
    if is_turned:
        sides = words.sheets_left_right(left=moment.left_layers, right=moment.right_layers)
        figures.append(Label(spine, desk + 6.6, sides, SMALL_PT, "middle", colour=GREY))
    return Picture(wide, desk + (7.5 if is_turned else 4.5), tuple(figures))


def desk_columns(packet: Packet) -> tuple[int, int]:
    """The outermost columns in which paper ever lies."""
    columns = [column for moment in packet.moments for column in moment.pose.columns]
    return min(columns), max(columns)


def _beneath(packet: Packet, moment: Moment, column: int, x: float, y: float, words: GuideWords) -> Label:
    """The name of what faces the player: bold for the spread's own pages, in brackets for what lies out besides."""
    side = packet.shown(moment.pose.column(column)[-1])
    name = side_name(side, words)
    if side is not None and side.number in moment.pages and side.kind is not SideKind.TITLE:
        return Label(x, y, name, 8.5, "middle", bold=True)
    return Label(x, y, f"({name})" if name else "", SMALL_PT, "middle", colour=GREY)


def _lifted(
    packet: Packet, moment: Moment, leaf: Sequence[int], spine: float, y: float, words: GuideWords
) -> Iterator[Figure]:
    """A leaf half lifted, where it goes, and the names of its two sides."""
    slant = DESK_PAGE_MM * 0.92
    (tip_x, tip_y), _ = curve(spine, y, slant, slant, LIFT_DEGREES, 90)[:2]
    yield Line(((spine, y), (tip_x, tip_y)), 0.6)
    yield from arrow(curve(spine, y, slant * 0.8, slant * 0.8, LIFT_DEGREES + 12, 150), 0.3, 1.6)
    place = moment.pose.where()
    order = sorted((place[panel] for panel in leaf), key=moment.pose.stack.index)
    front, back = side_name(packet.shown(order[-1]), words), side_name(packet.hidden(order[0]), words)
    yield Label(
        spine, y - slant * 0.8 - 1.2, f"{front} | {back}" if back else front, SMALL_PT, "middle", bold=True
    )


def corner_picture(packet: Packet, words: GuideWords) -> Picture:
    """The lower outer corner of the first leaf, creased so that it stands up."""
    wide, high, fold = 26.0, 20.0, 7.0
    moment = packet.moments[0]
    name = side_name(packet.shown(moment.pose.column(SPINE)[-1]), words)
    page = Line(((0.0, 0.0), (0.0, high), (wide - fold, high), (wide, high - fold), (wide, 0.0)), 0.3)
    standing = ((wide, high - fold), (wide - fold, high), (wide - fold * 0.72, high - fold * 0.86))
    crease = Line(
        ((wide + 2.0, high - fold - 2.0), (wide - fold - 2.0, high + 2.0)), 0.3, BLACK, DASHES[Fold.VALLEY]
    )
    return Picture(
        wide + 6.0,
        high + 3.0,
        (
            page,
            *(rectangle(wide * 0.2, y, wide * 0.6, 1.8, PALE) for y in (2.0, 5.5)),
            Label(wide / 2, 13.0, name, 13, "middle", bold=True),
            Area(standing, PALE, BLACK),
            crease,
            *arrow(curve(wide - 1.0, high - fold * 0.4, 5.0, 5.0, -60, 60)),
        ),
    )


# --- folded sheets -----------------------------------------------------------------------------------------------


def nest_picture(packet: Packet, words: GuideWords) -> Picture:
    """Folded sheets standing over one another like roofs, the outermost on top, with the sides of each half."""
    pairs = list(zip(packet.flat.column(SPINE - 1), packet.flat.column(SPINE), strict=True))
    step, reach, drop = 3.4, 11.0, 8.0
    figures: list[Figure] = []
    middle = 21.0
    for level, (left, right) in enumerate(pairs):
        y = 1.0 + level * step
        figures.append(Line(((middle - reach, y + drop), (middle, y), (middle + reach, y + drop)), 0.45))
        outer, inner = side_name(packet.hidden(left), words), side_name(packet.shown(left), words)
        figures.append(Label(middle + reach + 1.5, y + drop + 0.8, f"{outer} / {inner}", SMALL_PT))
        outer, inner = side_name(packet.hidden(right), words), side_name(packet.shown(right), words)
        figures.append(Label(middle - reach - 1.5, y + drop + 0.8, f"{outer} / {inner}", SMALL_PT, "end"))
    return Picture(2 * middle, 3.0 + drop + step * (len(pairs) - 1), tuple(figures))


def staple_picture(packet: Packet, paper: Paper, words: GuideWords) -> Picture:
    """All sheets lying open, the outermost uppermost, with the staples in the fold."""
    high = PAGE_MM * paper.height_mm / paper.width_mm
    left, right = packet.flat.column(SPINE - 1)[0], packet.flat.column(SPINE)[0]
    figures: list[Figure] = []
    for x, side in ((0.0, packet.hidden(right)), (PAGE_MM, packet.hidden(left))):
        figures.append(rectangle(x, 0.0, PAGE_MM, high, WHITE, BLACK))
        figures.append(Label(x + PAGE_MM / 2, high / 2, side_name(side, words), 13, "middle", bold=True))
    figures.append(Line(((PAGE_MM, -1.0), (PAGE_MM, high + 1.0)), 0.3, BLACK, DASHES[Fold.MOUNTAIN]))
    figures += [
        Line(((PAGE_MM, high * share - 2.5), (PAGE_MM, high * share + 2.5)), 1.0) for share in (0.25, 0.75)
    ]
    return Picture(2 * PAGE_MM, high + 1.0, tuple(figures))
