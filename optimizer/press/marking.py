"""Where the marks of a page stand: a jump below its barline; at the foot the turn, a jump after the same bar, and
what finds no room elsewhere.

In: marks, placed systems, page boxes.  Out: figures.  Lengths in mm from the page's top left corner, y
downwards; type sizes in points.  Always true: no mark touches ink or another mark, or leaves the page.
"""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final, Literal

from optimizer.engrave.model import Path
from optimizer.layout.geometry import MOVEMENT_TITLE_MM, PageGeometry
from optimizer.press.figures import BLACK, PALE, Area, Figure, Label, line_mm
from optimizer.press.foot_words import FootWords
from optimizer.press.ink import highest_sp, lowest_sp
from optimizer.press.marks import Mark
from optimizer.press.placing import PlacedSystem
from optimizer.settings import Lang
from optimizer.units import mm_to_sp, pt_to_mm, sp_to_mm

VS_PT: Final = 12.5
WORDS_PT: Final = 9.0
CAPITAL: Final = 0.68  # height of a capital letter, in type sizes (serif faces, by eye)
LEAF_MM: Final = 3.2  # the small turned corner of an open turn
AIR_MM: Final = 1.3  # white between a mark and ink
SIGN_SPACE_MM: Final = 2.5  # between words and V.S.
MARK_SPACE_MM: Final = 5.0  # between marks side by side


@dataclass(frozen=True, slots=True)
class _Style:
    """Type of the foot strip: its rows stand over one another."""

    words_pt: float
    sign_pt: float
    rows: int


# Tried in turn until all marks fit; two rows of the last one are as high as the strip.
FOOT_STYLES: Final = (
    _Style(WORDS_PT, VS_PT, 1),
    _Style(8.0, VS_PT, 1),
    _Style(7.0, VS_PT, 1),
    _Style(7.0, 9.0, 2),
)


@dataclass(frozen=True, slots=True)
class _Piece:
    """A sign and words, as they are to be set."""

    sign: Literal["leaf", "V.S.", ""]
    words: str


def place_marks(
    marks: Sequence[Mark],
    placed: Sequence[PlacedSystem],
    glyphs: Mapping[str, Path],
    geometry: PageGeometry,
    titled: Collection[int] = (),
    reserved_mm: float = 0.0,
    floor_mm: float | None = None,
    lang: Lang = Lang.EN,
) -> tuple[tuple[Figure, ...], float]:
    """The marks of a page, and how far the foot strip is free of them.

    `titled`: measures that have a movement title above them; `reserved_mm`: width at the left end of the foot
    that is needed for something else; `floor_mm`: below this no mark may stand beside the music (None: below the
    music box).
    """
    words = FootWords(lang)
    low_mm = geometry.music_top_mm(False) + geometry.music_height_mm(False) if floor_mm is None else floor_mm
    ends = placed[-1].system.last if placed else -1
    turned = any(not mark.is_jump for mark in marks)
    spots: list[_Spot] = []
    at_foot: list[Mark] = []
    for mark in marks:
        with_turn = turned and mark.after == ends
        spot = None if with_turn else _below_barline(mark, placed, glyphs, geometry, titled, spots, low_mm)
        if spot:
            spots.append(spot)
        else:
            at_foot.append(mark)
    left, right = geometry.music_left_mm + reserved_mm, geometry.music_left_mm + geometry.music_width_mm
    drawn, free_mm = _foot(_pieces(at_foot, ends, words), left, right, foot_baseline(geometry), words)
    return (*(figure for spot in spots for figure in spot.figures), *drawn), free_mm


def foot_baseline(geometry: PageGeometry) -> float:
    """The lowest baseline in the foot strip."""
    return geometry.paper.height_mm - geometry.margins.bottom_mm - pt_to_mm(VS_PT) * 0.1


@dataclass(frozen=True, slots=True)
class _Spot:
    """A mark below system `index`, and the box it takes."""

    index: int
    left_mm: float
    right_mm: float
    low_mm: float
    figures: tuple[Figure, ...]


def _below_barline(
    mark: Mark,
    placed: Sequence[PlacedSystem],
    glyphs: Mapping[str, Path],
    geometry: PageGeometry,
    titled: Collection[int],
    spots: Sequence[_Spot],
    floor_mm: float,
) -> _Spot | None:
    """The mark close to the ink below its barline, ending there or else centred; None without white enough."""
    index = next(i for i, spot in enumerate(placed) if spot.system.first <= mark.after <= spot.system.last)
    upper, lower = placed[index], placed[index + 1] if index + 1 < len(placed) else None
    barline = _barline_mm(mark.after, upper)
    if barline is None:
        return None
    piece, style = _Piece(mark.sign, mark.words), FOOT_STYLES[0]
    _, width = _set(piece, 0.0, 0.0, style)
    edge = geometry.music_left_mm
    for wanted in (barline, barline + width / 2):
        right = min(max(wanted, edge + width), edge + geometry.music_width_mm)
        left = right - width
        inks = [spot.low_mm for spot in spots if _meets(spot, index, left, right)]
        inks.append(
            upper.y_mm
            + sp_to_mm(lowest_sp(upper.system, glyphs, *_span_sp(upper, left, right)), upper.staff_mm)
        )
        limit = floor_mm
        if lower:
            over = highest_sp(lower.system, glyphs, *_span_sp(lower, left, right))
            limit = lower.y_mm + sp_to_mm(over, lower.staff_mm)
            if lower.system.first in titled:
                limit = min(limit, lower.ink_top_mm - MOVEMENT_TITLE_MM)
        baseline = max(inks) + AIR_MM + pt_to_mm(VS_PT if mark.sign else WORDS_PT) * CAPITAL
        if baseline + AIR_MM <= limit:
            return _Spot(index, left, right, baseline, _set(piece, right, baseline, style)[0])
    return None


def _meets(spot: _Spot, index: int, left: float, right: float) -> bool:
    return spot.index == index and spot.left_mm < right + AIR_MM and spot.right_mm > left - AIR_MM


def _barline_mm(measure: int, spot: PlacedSystem) -> float | None:
    """Where a measure ends; None where the drawn system does not say."""
    system = spot.system
    if system.barlines_sp:
        return spot.x_mm + sp_to_mm(system.barlines_sp[measure - system.first], spot.staff_mm)
    return spot.right_mm if measure == system.last else None


def _span_sp(spot: PlacedSystem, left: float, right: float) -> tuple[float, float]:
    return mm_to_sp(left - spot.x_mm, spot.staff_mm), mm_to_sp(right - spot.x_mm, spot.staff_mm)


def _pieces(marks: Sequence[Mark], ends: int, said: FootWords) -> list[_Piece]:
    """The marks at the foot from the right: the turn in the corner, then jumps, those to one place together.

    One V.S. stands for all; the bar is named where it is not the last of the page.
    """
    turns = [mark for mark in marks if not mark.is_jump]
    jumps: dict[str, list[Mark]] = {}
    for mark in marks:
        if mark.is_jump:
            jumps.setdefault(mark.words, []).append(mark)
    pieces = [_Piece(mark.sign, mark.words) for mark in turns]
    for words, same in jumps.items():
        sign: Literal["V.S.", ""] = "V.S." if any(mark.sign == "V.S." for mark in same) else ""
        here = all(mark.after == ends for mark in same)
        bars = said.listed([mark.place for mark in same])
        pieces.append(_Piece(sign, words if here else said.after(bars=bars, jump=words)))
    signed = False
    for index, piece in enumerate(pieces):
        if piece.sign == "V.S.":
            pieces[index] = replace(piece, sign="") if signed else piece
            signed = True
    return pieces


def _foot(
    pieces: list[_Piece], left: float, right: float, baseline: float, words: FootWords
) -> tuple[tuple[Figure, ...], float]:
    """The pieces in the foot strip, and the left end of what they take."""
    for style in FOOT_STYLES:
        if rows := _rows(pieces, right - left, style):
            break
    while not rows:  # more than any foot holds: the guide lists them all
        pieces = [*pieces[: max(0, len(pieces) - 2)], _Piece("", words.more)]
        rows = _rows(pieces, right - left, style) or ([[_Piece("", words.more)]] if len(pieces) == 1 else [])
    figures: list[Figure] = []
    free_mm = right
    for up, row in enumerate(rows):
        end = right
        for piece in row:
            drawn, width = _set(piece, end, baseline - up * line_mm(style.words_pt), style)
            figures += drawn
            end -= width + MARK_SPACE_MM
            free_mm = min(free_mm, end)
    return tuple(figures), free_mm


def _rows(pieces: Sequence[_Piece], width_mm: float, style: _Style) -> list[list[_Piece]]:
    """The pieces in rows from the lowest, each from the right; empty when they do not fit."""
    rows: list[list[_Piece]] = [[]]
    used = 0.0
    for piece in pieces:
        _, width = _set(piece, 0.0, 0.0, style)
        if rows[-1] and used + width > width_mm:
            rows.append([])
            used = 0.0
        if width > width_mm or len(rows) > style.rows:
            return []
        rows[-1].append(piece)
        used += width + MARK_SPACE_MM
    return rows


def _set(piece: _Piece, right: float, baseline: float, style: _Style) -> tuple[tuple[Figure, ...], float]:
    """A piece that ends at `right`, and its width: words first, the sign outermost."""
    figures: list[Figure] = []
    width = 0.0
    if piece.sign == "leaf":
        figures.append(_turned_corner(right, baseline))
        width = LEAF_MM
    elif piece.sign:
        sign = Label(right, baseline, piece.sign, style.sign_pt, "end", bold=True, italic=True)
        figures.append(sign)
        width = sign.width_mm
    if piece.words:
        width += SIGN_SPACE_MM if width else 0.0
        words = Label(right - width, baseline, piece.words, style.words_pt, "end")
        figures.insert(0, words)
        width += words.width_mm
    return tuple(figures), width


def _turned_corner(right: float, low: float) -> Area:
    """The foot of a leaf with its corner lifted: the flap that was the corner."""
    tip = right - LEAF_MM * 0.85, low - LEAF_MM * 0.85
    return Area(((right - LEAF_MM, low), (right, low - LEAF_MM), tip), PALE, BLACK)
