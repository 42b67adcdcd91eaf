"""How the set is put together, as blocks of the guide: what is needed, then numbered steps with pictures.

In: a `Packet`, settings, words.  Out: `Block`s.  Always true: pages, edges, folds and their order come from the
simulated packet; cautions stand where the tool they speak of is first used.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from math import ceil
from typing import Final

from optimizer.binding.holes import punch_for
from optimizer.binding.model import SideKind
from optimizer.binding.packet import Packet
from optimizer.binding.pose import Fold
from optimizer.binding.seams import Role
from optimizer.binding.steps import Materials, TapeStep, materials, tape_steps
from optimizer.press.blocks import Block, Entry, heading, paragraph, step_block
from optimizer.press.calibration import paper_name
from optimizer.press.diagrams import (
    SMALL_PT,
    TINT,
    Picture,
    corner_picture,
    dashed,
    desk_picture,
    fold_sign,
    nest_picture,
    packet_picture,
    side_name,
    staple_picture,
    strip_picture,
    table_picture,
)
from optimizer.press.figures import BLACK, Figure, Label, moved, rectangle
from optimizer.press.guide_words import GuideWords
from optimizer.press.language import NBSP
from optimizer.settings import Paper, Settings, SheetSize

TEXT_PT: Final = 9.0
MOST_LISTED: Final = 6  # pairs or leaves named in a sentence; the strip shows them all
BAR: Final = f"{NBSP}|{NBSP}"  # between two pages that belong together
KEY_MM: Final = 16.0  # from the start of a sample in a legend to its words
DESK_GAP_MM: Final = 6.0
LEAST_DESK_MM: Final = 30.0  # the line below a picture of the desk needs so much


@dataclass(frozen=True, slots=True)
class Step:
    """Something to do, with its picture."""

    title: str
    texts: tuple[str, ...]
    picture: Picture | None = None


@dataclass(frozen=True, slots=True)
class Making:
    """A set about to be put together. `too_wide`: what to do where its fold-outs are too many for the desk; `tray`: the
    paper that lies in the printer."""

    packet: Packet
    too_wide: str
    tray: Paper
    settings: Settings
    words: GuideWords

    @property
    def needed(self) -> Materials:
        """What lies ready."""
        sheets = self.settings.sheets
        return materials(self.packet, sheets.grammage_gsm, sheets.sheet is SheetSize.DOUBLE)

    @property
    def is_one_leaf(self) -> bool:
        """Whether one leaf is all and comes from the printer as it is played from."""
        return len(self.packet.panels) == 1 and self.packet.binding != "ring"

    @property
    def holes(self) -> Sequence[float]:
        """Heights of the punched holes, of the page's height; none where nothing is punched."""
        if self.packet.binding != "ring":
            return ()
        paper = self.settings.paper
        return [mm / paper.height_mm for mm in punch_for(paper, self.settings.sheets.holes).heights_mm]

    def name(self, panel: int) -> str:
        """The page printed on a panel's front."""
        return side_name(self.packet.panels[panel].front, self.words)

    def pair_name(self, panels: Sequence[int]) -> str:
        """Two pages that are joined, "4 | 5", or two leaves, "1 | 2 + 7 | 8"."""
        if self.packet.binding == "stapled":
            return f"{NBSP}+ ".join(self.leaf_name([panel]) for panel in panels)
        return BAR.join(map(self.name, panels))

    def leaf_name(self, leaf: Sequence[int]) -> str:
        """The two sides of a leaf: "3 | 4"."""
        sides = [self.packet.panels[panel] for panel in leaf]
        names = [sides[0].front, sides[-1].front if len(sides) > 1 else sides[0].back]
        return BAR.join(side_name(side, self.words) for side in names if side is not None)


@dataclass(frozen=True, slots=True)
class Assembly:
    """Blocks over the whole width, then in two columns, then over the whole width again."""

    before: tuple[Block, ...]
    steps: tuple[Block, ...]
    desk: tuple[Block, ...]


def assembly(making: Making, width_mm: float, column_mm: float) -> Assembly:
    """Everything from the printer to the desk."""
    first = list(_whole_strip(making, width_mm))
    steps = [*_steps(making), *_corner(making)]
    numbered = [
        step_block(number, step.title, step.texts, step.picture, TEXT_PT, column_mm)
        for number, step in enumerate(steps, start=len(first) + 1)
    ]
    before = [step_block(1, step.title, step.texts, step.picture, TEXT_PT, width_mm) for step in first]
    desk = _on_desk(making, len(first) + len(steps) + 1, width_mm)
    return Assembly((*_materials(making, width_mm), *before), tuple(numbered), tuple(desk))


def _materials(making: Making, width_mm: float) -> Iterator[Block]:
    """What lies ready, and the caution for its tools."""
    words, needed = making.words, making.needed
    yield heading(words.you_need, TEXT_PT)
    for line in _needed(making):
        yield paragraph(Entry("•", line), TEXT_PT, width_mm)
    if making.is_one_leaf:
        yield paragraph(Entry("", words.nothing_to_make), TEXT_PT, width_mm)
    if needed.seams or needed.ring_mm or needed.staples:
        tools = words.care_punch if needed.ring_mm else words.care_tape
        care = words.care_staples if needed.staples else tools
        yield paragraph(Entry(words.take_care_lead, care), TEXT_PT, width_mm)


def _needed(making: Making) -> Iterator[str]:
    words, needed, paper = making.words, making.needed, making.settings.paper
    grammage = f"{making.settings.sheets.grammage_gsm:g}"
    is_one_sided = making.is_one_leaf and making.packet.panels[0].back is None
    need = words.need_one_page if is_one_sided else words.need_paper
    sheets = words.sheets(needed.sheets)
    if making.tray != paper:  # the head of the guide names the paper of a page
        sheets = f"{sheets}, {paper_name(making.tray, words)}"
    yield need(sheets=sheets, grammage=grammage)
    if needed.seams:
        say = words.need_tape_twice if needed.tape_twice else words.need_tape
        strips, seams = words.strips(needed.strips), words.seams(needed.seams)
        yield say(strips=strips, seams=seams, size=words.tape_size(paper))
    if needed.ring_mm:
        ring, thickness = (
            words.length(ceil(needed.ring_mm), paper),
            words.length(needed.thickness_mm, paper, 1),
        )
        yield words.need_rings(ring=ring, thickness=thickness)
    if needed.volumes > 1:
        yield words.need_volumes(volumes=needed.volumes)
    if needed.staples:
        yield words.need_staples


def _steps(making: Making) -> Iterator[Step]:
    """What is done at the table, by binding."""
    binding = making.packet.binding
    if binding == "ring":
        yield _punching(making)
    for step in tape_steps(making.packet, making.settings.sheets.sheet is SheetSize.DOUBLE):
        yield _taping(making, step)
    if making.needed.tape_twice:
        yield Step(making.words.tape_again_title, (making.words.tape_again,))
    if making.is_one_leaf:
        return
    if binding == "stapled":
        yield from _folded_sheets(making)
    elif binding == "loose":
        yield from _pile(making)
    elif len(making.packet.panels) > 1:
        yield _packet(making)


# --- a strip: taped or on rings ----------------------------------------------------------------------------------


def _whole_strip(making: Making, width_mm: float) -> Iterator[Step]:
    packet, words = making.packet, making.words
    if packet.seams:
        text = words.sort_rings if packet.binding == "ring" else words.sort_strip
        picture = strip_picture(packet, making.settings.paper, words, width_mm, making.holes)
        yield Step(words.sort_title, (text, _title_page(making)), _with_legend(making, picture, width_mm))


def _title_page(making: Making) -> str:
    """Where the whole title page of label.pdf goes: printed onto a white outside while the pages are still loose."""
    packet, words = making.packet, making.words
    front, back = packet.white_outside
    if packet.binding == "ring" or not (front or back):
        return words.title_on_top
    outer = packet.packed.stack[-1 if front else 0].panel
    return words.title_onto(page=making.name(outer))


def _punching(making: Making) -> Step:
    packet, words = making.packet, making.words
    lefts = [making.name(spread.left) for spread in packet.spreads if spread.left is not None]
    rights = [making.name(spread.right) for spread in packet.spreads if spread.right is not None]
    texts = [words.punch_right(pages=words.listed(rights))] if rights else []
    texts += [words.punch_left(pages=words.listed(lefts))] if lefts else []
    texts += [words.punch_no_fold_outs] if packet.fold_outs else []
    return Step(words.punch_title, (*texts, words.punch_template))


def _with_legend(making: Making, picture: Picture, width_mm: float) -> Picture:
    """The strip with what its lines and tints mean."""
    words, packet = making.words, making.packet
    folds = [(Fold.VALLEY, words.valley), (Fold.MOUNTAIN, words.mountain)]
    used = {seam.fold for seam in packet.seams}
    keys: list[tuple[tuple[Figure, ...], str]] = [
        ((dashed(fold), *fold_sign(fold, 12.5, -0.9)), text) for fold, text in folds if fold in used
    ]
    if packet.fold_outs:
        keys.append(((rectangle(9.5, -2.2, 5.0, 2.6, TINT, BLACK),), words.tinted_fold_out))
    x, y, figures = 0.0, picture.height_mm + 2.5, list(picture.figures)
    for sign, text in keys:
        label = Label(KEY_MM, 0.0, text, SMALL_PT)
        if x and x + KEY_MM + label.width_mm > width_mm:
            x, y = 0.0, y + 4.0
        figures += moved((*sign, label), x, y)
        x += KEY_MM + label.width_mm + 6.0
    return Picture(width_mm, y + 1.0, tuple(figures))


def _taping(making: Making, step: TapeStep) -> Step:
    """Tape one seam; alike ones are named."""
    packet, words, paper = making.packet, making.words, making.settings.paper
    picture = table_picture(packet, step, paper, words, making.holes)
    texts = [_how_to_tape(making, step)]
    if step.role is Role.FOLD_OUT and step.fold is Fold.MOUNTAIN:
        texts.append(words.open_again)
    if step.opened:
        outer, inner, over = step.opened
        say = words.fold_back_over if over else words.fold_back_under
        texts.append(say(outer=making.name(outer), inner=making.name(inner)))
    if step.role is Role.FOLD_OUT and step.fold is Fold.VALLEY:
        texts.append(words.why_folded)
    if packet.folded_sheets == 1:
        texts += _outside(making)
    if others := step.pairs[1:]:
        texts.append(words.likewise(pairs=_listed(making, list(map(making.pair_name, others)))))
    return Step(_title(making, step), tuple(texts), picture)


def _how_to_tape(making: Making, step: TapeStep) -> str:
    words, places = making.words, step.pose.where()
    upper, lower = step.upper_lower
    if step.fold is Fold.MOUNTAIN:
        left, right = sorted(step.panels, key=lambda panel: places[panel].column)
        return words.tape_flat(left=making.name(left), right=making.name(right))
    edge = words.left_edge if step.line <= places[upper].column else words.right_edge
    if making.packet.binding == "stapled":
        return words.join(below=making.leaf_name([lower]), above=making.leaf_name([upper]), edge=edge)
    return words.tape_folded(below=making.name(lower), above=making.name(upper), edge=edge)


def _title(making: Making, step: TapeStep) -> str:
    words, packet = making.words, making.packet
    if packet.folded_sheets:
        return words.join_title if packet.folded_sheets > 1 else words.join_two_title
    if step.role is Role.FOLD_OUT:
        left, right = step.panels
        outer = left if left in packet.spreads[0].left_outs else right
        return words.fold_out_title(page=making.name(outer))
    return words.pairs_title if step.role is Role.SPINE else words.leaves_title


def _listed(making: Making, names: Sequence[str]) -> str:
    """All of a few names; of many the first and the last."""
    if len(names) > MOST_LISTED:
        return f"{', '.join(names[:3])} … {names[-1]}"
    return making.words.listed(names)


def _packet(making: Making) -> Step:
    """The folded packet, and what its outside shows."""
    packet, words = making.packet, making.words
    picture = packet_picture(packet, words)
    if packet.binding == "ring":
        return Step(words.rings_title, (words.rings_closed,), picture)
    front, behind = (side_name(side, words) for side in packet.outside)
    if front and behind:
        outside = words.outside_both(front=front, back=behind)
    elif front or behind:
        outside = words.outside_front(page=front) if front else words.outside_back(page=behind)
    else:
        outside = words.outside_white
    layers = words.sheets(len(packet.panels))
    return Step(words.packet_title, (words.packet_size(layers=layers), outside), picture)


# --- folded and loose sheets ---------------------------------------------------------------------------------------


def _folded_sheets(making: Making) -> Iterator[Step]:
    """Folded, nested and stapled; a single sheet that was joined from two leaves lies folded already."""
    packet, words = making.packet, making.words
    if packet.folded_sheets > 1:
        nest = words.nest(sheets=words.sheets(packet.folded_sheets), first=_cover(making))
        yield Step(words.nest_title, (nest, *_dash(making)), nest_picture(packet, words))
        yield Step(words.staple_title, (words.staple,), staple_picture(packet, making.settings.paper, words))
    elif not making.needed.seams:
        yield Step(words.fold_title, (words.fold_once, *_outside(making)), nest_picture(packet, words))


def _outside(making: Making) -> Iterator[str]:
    """Which side of a single folded sheet is its front."""
    yield making.words.outside_first(first=_cover(making))
    yield from _dash(making)


def _cover(making: Making) -> str:
    """The first side of a folded set."""
    words, cover = making.words, making.packet.panels[0].front
    return words.title_side if cover.kind is SideKind.TITLE else words.page(page=cover.number)


def _dash(making: Making) -> Iterator[str]:
    """What a dash in the pictures is, where there is one."""
    if any(side.number is None for leaf in making.packet.panels for side in (leaf.front, leaf.back) if side):
        yield making.words.dash_is_blank


def _pile(making: Making) -> Iterator[Step]:
    """Loose sheets that are turned; those that all lie open need no order but that of the desk."""
    packet, words = making.packet, making.words
    if len(packet.moments) > 1:
        yield Step(words.pile_title, (words.pile,), packet_picture(packet, words))


# --- on the desk ---------------------------------------------------------------------------------------------------


def _corner(making: Making) -> Iterator[Step]:
    """A crease that lifts one leaf, where there are several to turn or to leave lying."""
    packet, words = making.packet, making.words
    leaves = [making.leaf_name(sorted(moment.leaf)) for moment in packet.moments[1:]]
    if leaves and not making.is_one_leaf:
        say = words.corner_of_two if packet.seams else words.corner
        text = say(leaves=_listed(making, leaves))
        yield Step(words.corner_title, (text,), corner_picture(packet, words))


def _on_desk(making: Making, number: int, width_mm: float) -> Iterator[Block]:
    """What is unfolded before playing, then every spread with the leaf that is turned next.

    A single leaf needs none of it, nor does a single folded sheet that is opened and not turned.
    """
    packet, words = making.packet, making.words
    is_turned = len(packet.moments) > 1
    if len(packet.panels) == 1 or (packet.folded_sheets == 1 and not is_turned):
        return
    at_once = words.lay_out if packet.binding == "loose" else words.on_desk_all
    seen = words.on_desk if is_turned else at_once
    texts = [*_before_playing(making), seen]
    yield replace(step_block(number, words.on_desk_title, texts, None, TEXT_PT, width_mm), heading=True)
    pictures = [desk_picture(packet, index, words) for index in range(len(packet.moments))]
    cell = max(pictures[0].width_mm, LEAST_DESK_MM) + DESK_GAP_MM
    in_row = max(1, int((width_mm + DESK_GAP_MM) / cell))
    for start in range(0, len(pictures), in_row):
        row = pictures[start : start + in_row]
        figures = [
            figure
            for slot, picture in enumerate(row)
            for figure in moved(
                picture.figures, slot * cell + (cell - DESK_GAP_MM - picture.width_mm) / 2, 0.0
            )
        ]
        yield Block(max(picture.height_mm for picture in row) + 2.0, tuple(figures))


def _before_playing(making: Making) -> Iterator[str]:
    """Which fold-outs are opened when, a paragraph for each matter."""
    packet, words = making.packet, making.words
    if not packet.fold_outs:
        return
    first, last = packet.spreads[0], packet.spreads[-1]
    ahead = words.pages_named(
        [making.name(panel) for panel in (*reversed(first.left_outs), *first.right_outs)]
    )
    if len(packet.spreads) == 1:
        yield words.unfold_first(pages=ahead)
        return
    behind = words.pages_named([making.name(panel) for panel in last.right_outs])
    if making.too_wide:
        yield words.unfold_first(pages=ahead)
        yield f"{words.too_wide_lead} {making.too_wide}"
        if packet.tucked != packet.spreads[0].left_outs[::-1]:
            yield words.in_brackets
        return
    if first.left_outs and last.right_outs:
        yield words.unfold_both(first=ahead, last=behind)
    else:
        yield words.unfold_first(pages=ahead) if first.left_outs else words.unfold_last(pages=behind)
    yield words.unfolded_stay
