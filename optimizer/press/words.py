"""The words on a page of music: title block, head, rights line, movement titles, marks at turns and jumps.

In: score, page boxes, placed systems.  Out: figures.  Lengths in mm from the page's top left corner, y
downwards; type sizes in points.  Always true: words stand in the strips above and below the music box, or in
white between systems that is high enough for them.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Final

from optimizer.engrave.model import Path
from optimizer.layout.geometry import (
    FOOT_MM,
    HEAD_MM,
    MOVEMENT_TITLE_MM,
    NAMES_LINE_MM,
    SUBTITLE_LINE_MM,
    TITLE_LINE_MM,
    PageGeometry,
)
from optimizer.press.figures import (
    BLACK,
    GREY,
    PALE,
    Anchor,
    Area,
    Figure,
    Label,
    line_mm,
    text_width_mm,
    wrap,
)
from optimizer.press.ink import highest_sp, lowest_sp
from optimizer.press.marks import Mark
from optimizer.press.placing import PlacedSystem
from optimizer.score.model import Score
from optimizer.units import mm_to_sp, pt_to_mm, sp_to_mm

# Type sizes in points: our choice, in the proportions of printed piano music and the line heights of
# geometry.py.
TITLE_PT: Final = 21.0
SUBTITLE_PT: Final = 12.5
NAMES_PT: Final = 10.5
MOVEMENT_PT: Final = 13.0
NUMBER_PT: Final = 11.0
RUNNING_PT: Final = 9.0
VS_PT: Final = 12.5
WORDS_PT: Final = 9.0
RIGHTS_SIZES_PT: Final = (7.5, 7.0, 6.5, 6.0, 5.5, 5.0)  # the largest at which everything fits

BASELINE: Final = 0.72  # of a line's height from its top, for the lines of the title block
CAPITAL: Final = 0.68  # height of a capital letter, in type sizes (serif faces, by eye)
TITLE_LIFT_MM: Final = 0.6 * HEAD_MM  # the title reaches into the empty head, so that white is left below it
NAMES_SHARE: Final = 0.47  # of the page's width for the names on either side
RUNNING_SHARE: Final = 0.75  # of the page's width for the running title
UNPRINTED_MM: Final = 6.0  # from the edge; domestic printers lose about 5 mm (from memory)
LEAF_MM: Final = 3.2  # the small turned corner of an open turn
AIR_MM: Final = 1.3  # white between a mark and ink
WORDS_SPACE_MM: Final = 2.5  # between words and V.S., and between marks


def title_lines(score: Score, width_mm: float) -> tuple[tuple[str, ...], ...]:
    """Title, subtitle, lyricist and composer, each broken into lines for a music width."""
    names = width_mm * NAMES_SHARE
    return (
        wrap(score.title, TITLE_PT, width_mm, bold=True),
        wrap(score.subtitle, SUBTITLE_PT, width_mm, italic=True),
        wrap(score.lyricist, NAMES_PT, names),
        wrap(score.composer, NAMES_PT, names),
    )


def title_block(score: Score, geometry: PageGeometry) -> Iterator[Figure]:
    """Title and subtitle centred, lyricist left, composer right."""
    left, right, centre = _edges(geometry)
    title, subtitle, lyricist, composer = title_lines(score, geometry.music_width_mm)
    y = geometry.margins.top_mm + HEAD_MM - TITLE_LIFT_MM
    for line in title:
        yield Label(centre, y + TITLE_LINE_MM * BASELINE, line, TITLE_PT, "middle", bold=True)
        y += TITLE_LINE_MM
    for line in subtitle:
        yield Label(centre, y + SUBTITLE_LINE_MM * BASELINE, line, SUBTITLE_PT, "middle", italic=True)
        y += SUBTITLE_LINE_MM
    low = y + NAMES_LINE_MM * (max(len(lyricist), len(composer)) - 1 + BASELINE)
    sides: tuple[tuple[float, Anchor, tuple[str, ...]], ...] = (
        (left, "start", lyricist),
        (right, "end", composer),
    )
    for x, anchor, names in sides:
        for up, line in enumerate(reversed(names)):
            yield Label(x, low - up * NAMES_LINE_MM, line, NAMES_PT, anchor)


def page_number(number: int, on_right: bool, geometry: PageGeometry) -> Label:
    """The page number in an upper corner."""
    left, right, _ = _edges(geometry)
    anchor: Anchor = "end" if on_right else "start"
    return Label(
        right if on_right else left, _head_baseline(geometry), str(number), NUMBER_PT, anchor, bold=True
    )


def running_title(score: Score, geometry: PageGeometry) -> Iterator[Label]:
    """The title in the middle of the head; cut to one line."""
    _, _, centre = _edges(geometry)
    lines = wrap(score.title, RUNNING_PT, geometry.music_width_mm * RUNNING_SHARE, italic=True)
    if lines:
        title = lines[0] + (" …" if len(lines) > 1 else "")
        yield Label(centre, _head_baseline(geometry), title, RUNNING_PT, "middle", italic=True)


def rights_line(score: Score, geometry: PageGeometry, right_mm: float) -> Iterator[Label]:
    """The rights line at the foot of the first page, from the left edge to `right_mm` at most.

    It takes the largest type at which it fits the foot strip, or else the strip and the margin below it as
    far as printers reach; what even that does not hold is cut, and an ellipsis says so.
    """
    left, _, _ = _edges(geometry)
    strip = geometry.paper.height_mm - geometry.margins.bottom_mm
    for low in (strip, max(strip, geometry.paper.height_mm - UNPRINTED_MM)):
        for size in RIGHTS_SIZES_PT:
            lines = wrap(score.rights, size, right_mm - left)
            room = low - strip + FOOT_MM
            if len(lines) * line_mm(size) <= room:
                return (yield from _upwards(lines, size, left, low))
    kept = list(lines[: int(room / line_mm(size))])
    while text_width_mm(f"{kept[-1]} …", size) > right_mm - left:
        kept[-1] = kept[-1][:-1]
    return (yield from _upwards([*kept[:-1], f"{kept[-1]} …"], size, left, low))


def movement_title(title: str, placed: PlacedSystem, geometry: PageGeometry) -> Label:
    """A movement's title, centred above its first system."""
    _, _, centre = _edges(geometry)
    return Label(
        centre, placed.ink_top_mm - MOVEMENT_TITLE_MM * 0.45, title, MOVEMENT_PT, "middle", bold=True
    )


def blank_note(geometry: PageGeometry) -> Label:
    """Says that a page without music is no misprint."""
    _, _, centre = _edges(geometry)
    return Label(centre, _foot_baseline(geometry), "blank page", RUNNING_PT, "middle", colour=GREY)


def place_marks(
    marks: Sequence[Mark],
    placed: Sequence[PlacedSystem],
    glyphs: Mapping[str, Path],
    geometry: PageGeometry,
) -> tuple[tuple[Figure, ...], float]:
    """The marks of a page, and how far the foot strip is free of them.

    Jumps stand below the end of their systems where there is white enough, everything else side by side at
    the foot: the turn in the corner, and one V.S. for all.
    """
    figures: list[Figure] = []
    at_foot: list[Mark] = []
    _, right, _ = _edges(geometry)
    for mark in marks:
        baseline = None if mark.ends_page else _white_below(mark, placed, glyphs, geometry)
        if baseline is None:
            at_foot.append(mark)
        else:
            figures += _mark(mark, right, baseline, at_foot=False)[0]
    at_foot.sort(key=lambda mark: mark.is_jump)
    signed = False
    for mark in at_foot:
        once = replace(mark, sign="") if signed and mark.sign == "V.S." else mark
        signed = signed or mark.sign == "V.S."
        drawn, width = _mark(once, right, _foot_baseline(geometry), at_foot=True)
        figures += drawn
        right -= width + WORDS_SPACE_MM * 2
    return tuple(figures), right


def _edges(geometry: PageGeometry) -> tuple[float, float, float]:
    """Left and right edge of the music, and the middle between them."""
    left = geometry.music_left_mm
    return left, left + geometry.music_width_mm, left + geometry.music_width_mm / 2


def _head_baseline(geometry: PageGeometry) -> float:
    return geometry.margins.top_mm + pt_to_mm(NUMBER_PT) * CAPITAL


def _foot_baseline(geometry: PageGeometry) -> float:
    return geometry.paper.height_mm - geometry.margins.bottom_mm - pt_to_mm(VS_PT) * 0.1


def _upwards(lines: Sequence[str], size: float, left: float, low: float) -> Iterator[Label]:
    """Lines of small type, the last one resting on `low`."""
    for up, line in enumerate(reversed(lines)):
        yield Label(left, low - pt_to_mm(size) * 0.25 - up * line_mm(size), line, size)


def _mark(mark: Mark, right: float, baseline: float, at_foot: bool) -> tuple[tuple[Figure, ...], float]:
    """A mark that ends at `right`, and its width: words first, the sign outermost."""
    if mark.sign == "leaf":
        return (_turned_corner(right, baseline),), LEAF_MM
    words = Label(right, baseline, mark.full_words(at_foot), WORDS_PT, "end")
    if not mark.sign:
        return (words,), words.width_mm
    sign = Label(right, baseline, mark.sign, VS_PT, "end", bold=True, italic=True)
    if not words.string:
        return (sign,), sign.width_mm
    sign_width = sign.width_mm + WORDS_SPACE_MM
    return (replace(words, x_mm=right - sign_width), sign), sign_width + words.width_mm


def _turned_corner(right: float, low: float) -> Area:
    """The foot of a leaf with its corner lifted: the flap that was the corner."""
    tip = right - LEAF_MM * 0.85, low - LEAF_MM * 0.85
    return Area(((right - LEAF_MM, low), (right, low - LEAF_MM), tip), PALE, BLACK)


def _white_below(
    mark: Mark, placed: Sequence[PlacedSystem], glyphs: Mapping[str, Path], geometry: PageGeometry
) -> float | None:
    """Baseline for a mark below the end of its system, close to the ink above; None when the white is too
    low."""
    index = next(i for i, spot in enumerate(placed) if spot.system.first <= mark.after <= spot.system.last)
    upper, lower = placed[index], placed[index + 1] if index + 1 < len(placed) else None
    _, right, _ = _edges(geometry)
    _, width = _mark(mark, right, 0.0, at_foot=False)

    def span_sp(spot: PlacedSystem) -> tuple[float, float]:
        return mm_to_sp(right - width - spot.x_mm, spot.staff_mm), mm_to_sp(right - spot.x_mm, spot.staff_mm)

    ink = upper.y_mm + sp_to_mm(lowest_sp(upper.system, glyphs, *span_sp(upper)), upper.staff_mm)
    if lower:
        limit = lower.y_mm + sp_to_mm(highest_sp(lower.system, glyphs, *span_sp(lower)), lower.staff_mm)
    else:
        limit = geometry.paper.height_mm - geometry.margins.bottom_mm - FOOT_MM
    baseline = ink + AIR_MM + pt_to_mm(VS_PT if mark.sign else WORDS_PT) * CAPITAL
    return baseline if baseline + AIR_MM <= limit else None
