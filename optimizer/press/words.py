"""The words on a page of music: title block, head, rights line, movement titles.

In: score, page boxes, placed systems.  Out: figures.  Lengths in mm from the page's top left corner, y
downwards; type sizes in points.  Always true: words stand in the strips above and below the music box, or in
white between systems that is high enough for them.
"""

from collections.abc import Iterator, Sequence
from typing import Final

from optimizer.layout.geometry import (
    FOOT_MM,
    HEAD_MM,
    MOVEMENT_TITLE_MM,
    NAMES_LINE_MM,
    SUBTITLE_LINE_MM,
    TITLE_LINE_MM,
    PageGeometry,
)
from optimizer.press.breaking import wrap_title
from optimizer.press.figures import (
    GREY,
    Anchor,
    Figure,
    Label,
    line_mm,
    text_width_mm,
    wrap,
)
from optimizer.press.marking import CAPITAL, foot_baseline
from optimizer.press.placing import PlacedSystem
from optimizer.score.model import Score
from optimizer.settings import DEFAULT_UNPRINTABLE_MM
from optimizer.units import pt_to_mm

# Type sizes in points: our choice, in the proportions of printed piano music and the line heights of
# geometry.py.
TITLE_PT: Final = 21.0
SUBTITLE_PT: Final = 12.5
NAMES_PT: Final = 10.5
MOVEMENT_PT: Final = 13.0
NUMBER_PT: Final = 11.0
PART_PT: Final = 16.0  # whose part it is: to be read on the stack, at the top left as parts have it
PART_BESIDE_NUMBER_MM: Final = 9.0  # past a page number in the same corner
RUNNING_PT: Final = 9.0
RIGHTS_SIZES_PT: Final = (7.5, 7.0, 6.5, 6.0, 5.5, 5.0)  # the largest at which everything fits

BASELINE: Final = 0.72  # of a line's height from its top, for the lines of the title block
TITLE_LIFT_MM: Final = 0.6 * HEAD_MM  # the title reaches into the empty head, so that white is left below it
PART_LIFT_MM: Final = 0.1 * HEAD_MM  # less where the name of a part stands there
PART_SHRINK: Final = 0.94  # a long name: one step smaller
NAMES_SHARE: Final = 0.47  # of the page's width for the names on either side
RUNNING_SHARE: Final = 0.75  # of the page's width for the running title
RIGHTS_LEAST_MM: Final = 60.0  # of the foot are left to the rights line, however many marks stand there
CLEARANCE_MM: Final = 1.0  # from the edge that printers leave white to the lowest letters of ours


def title_lines(score: Score, width_mm: float) -> tuple[tuple[str, ...], ...]:
    """Title, subtitle, lyricist and composer, each broken into lines for a music width."""
    names = width_mm * NAMES_SHARE
    return (
        wrap_title(score.title, TITLE_PT, width_mm, bold=True),
        wrap_title(score.subtitle, SUBTITLE_PT, width_mm, italic=True),
        wrap(score.lyricist, NAMES_PT, names),
        wrap(score.composer, NAMES_PT, names),
    )


def title_block(
    score: Score, geometry: PageGeometry, beside_mm: float = 0.0, on_right: bool = False
) -> Iterator[Figure]:
    """Title and subtitle centred, lyricist left, composer right; the name of a part above it at the left, or at the
    right where a page number stands in the left corner; `beside_mm` are left to that number."""
    left, right, centre = _edges(geometry)
    title, subtitle, lyricist, composer = title_lines(score, geometry.music_width_mm)
    numbered_left, numbered_right = (0.0, beside_mm) if on_right else (beside_mm, 0.0)
    # Side by side with it a name would be read on: "2 Violin 1".
    at_end = numbered_left > 0.0
    yield from _part_name(score, geometry, left + numbered_left, right - numbered_right, at_end)
    y = geometry.margins.top_mm + HEAD_MM - (PART_LIFT_MM if score.part_name else TITLE_LIFT_MM)
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


def _part_name(
    score: Score, geometry: PageGeometry, left: float, right: float, at_end: bool
) -> Iterator[Label]:
    """In the head, above the title; a long one smaller, so that it stands on one line beside the page number; of one
    that nobody could read so small, as much as there is room for. `at_end`: it ends at the right edge."""
    size = PART_PT
    while size > RIGHTS_SIZES_PT[-1] and text_width_mm(score.part_name, size, bold=True) > right - left:
        size *= PART_SHRINK
    for line in wrap(score.part_name, size, right - left, bold=True)[:1]:
        place: tuple[float, Anchor] = (right, "end") if at_end else (left, "start")
        yield Label(place[0], _part_baseline(geometry), line, size, place[1], bold=True)


def page_number(number: int, on_right: bool, geometry: PageGeometry, beside_part: bool = False) -> Label:
    """The page number in an upper corner; on one line with the name of a part."""
    left, right, _ = _edges(geometry)
    anchor: Anchor = "end" if on_right else "start"
    baseline = _part_baseline(geometry) if beside_part else _head_baseline(geometry)
    return Label(right if on_right else left, baseline, str(number), NUMBER_PT, anchor, bold=True)


def running_title(score: Score, geometry: PageGeometry) -> Iterator[Label]:
    """The title in the middle of the head, after the name of a part; cut to one line."""
    _, _, centre = _edges(geometry)
    words = score.named_title
    lines = wrap(words, RUNNING_PT, geometry.music_width_mm * RUNNING_SHARE, italic=True)
    if lines:
        title = lines[0] + (" …" if len(lines) > 1 else "")
        yield Label(centre, _head_baseline(geometry), title, RUNNING_PT, "middle", italic=True)


def rights_line(
    score: Score, geometry: PageGeometry, right_mm: float, unprintable_mm: float = DEFAULT_UNPRINTABLE_MM
) -> Iterator[Label]:
    """The rights line at the foot of the first page, from the left edge to `right_mm` at most.

    It takes the largest type at which it fits the foot strip, or else the strip and the margin below it as
    far as printers reach; what even that does not hold is cut, and an ellipsis says so.
    """
    left, _, _ = _edges(geometry)
    strip = geometry.paper.height_mm - geometry.margins.bottom_mm
    for low in (strip, max(strip, geometry.paper.height_mm - unprintable_mm - CLEARANCE_MM)):
        for size in RIGHTS_SIZES_PT:
            lines = wrap(score.rights, size, right_mm - left)
            room = low - strip + FOOT_MM
            if len(lines) * line_mm(size) <= room:
                return (yield from _upwards(lines, size, left, low))
    kept = list(lines[: int(room / line_mm(size))])
    while kept[-1] and text_width_mm(f"{kept[-1]} …", size) > right_mm - left:
        kept[-1] = kept[-1][:-1]
    return (yield from _upwards([*kept[:-1], f"{kept[-1]} …"], size, left, low))


def movement_title(title: str, placed: PlacedSystem, geometry: PageGeometry) -> Label:
    """A movement's title, centred above its first system."""
    _, _, centre = _edges(geometry)
    return Label(
        centre, placed.ink_top_mm - MOVEMENT_TITLE_MM * 0.45, title, MOVEMENT_PT, "middle", bold=True
    )


def blank_note(geometry: PageGeometry, text: str) -> tuple[Label, ...]:
    """Says, in the foot strip, that a page without music is no misprint, and why."""
    _, _, centre = _edges(geometry)
    lines = wrap(text, RUNNING_PT, geometry.music_width_mm)
    low = foot_baseline(geometry)
    return tuple(
        Label(centre, low - up * line_mm(RUNNING_PT), line, RUNNING_PT, "middle", colour=GREY)
        for up, line in enumerate(reversed(lines))
    )


def _edges(geometry: PageGeometry) -> tuple[float, float, float]:
    """Left and right edge of the music, and the middle between them."""
    left = geometry.music_left_mm
    return left, left + geometry.music_width_mm, left + geometry.music_width_mm / 2


def _head_baseline(geometry: PageGeometry) -> float:
    return geometry.margins.top_mm + pt_to_mm(NUMBER_PT) * CAPITAL


def _part_baseline(geometry: PageGeometry) -> float:
    return geometry.margins.top_mm + pt_to_mm(PART_PT) * CAPITAL


def _upwards(lines: Sequence[str], size: float, left: float, low: float) -> Iterator[Label]:
    """Lines of small type, the last one resting on `low`."""
    for up, line in enumerate(reversed(lines)):
        yield Label(left, low - pt_to_mm(size) * 0.25 - up * line_mm(size), line, size)
