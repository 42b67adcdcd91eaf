"""In which order and orientation sides go through the printer.

In: `Sheets` and settings.  Out: `Impression`s, one for each page of pages.pdf; lengths in mm from the paper's top
left corner.  Always true: every side is printed once; where both sides of the paper are printed, by the printer or in
two runs by hand, each sheet takes two impressions, front first, the second may be empty; pages stand upright for
somebody who turns the sheet like a leaf of a book.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from optimizer.binding.model import FoldedSheet, Sheets, Side
from optimizer.binding.sheets import is_double
from optimizer.settings import Paper, Printer, Settings
from optimizer.units import in_to_mm

# A nested sheet of 70 lb offset pushes those inside it outwards by 0.005 in (printer's handout); paper of one kind is
# as thick as it is heavy, and 70 lb are 70 x 1.48 = 103.6 g/m2 (500 sheets of 25 x 38 in; arithmetic).
CREEP_MM: Final = in_to_mm(0.005)
CREEP_GSM: Final = 103.6

DOUBLE_NAMES: Final = {"a4": "A3", "letter": "Tabloid"}


@dataclass(frozen=True, slots=True)
class PlacedSide:
    """A side and where its page's left edge lies on the paper, creep included."""

    side: Side
    x_mm: float


@dataclass(frozen=True, slots=True)
class Impression:
    """One side of a piece of paper. `fold_mm`: where a valley is folded on it; None: nowhere."""

    paper: Paper
    sides: tuple[PlacedSide, ...]
    upside_down: bool = False
    fold_mm: float | None = None


def impressions(sheets: Sheets, settings: Settings) -> tuple[Impression, ...]:
    """All sides of a set as they are printed."""
    paper, printer = printed_paper(sheets, settings), printer_for(sheets, settings)
    turned = _backs_upside_down(paper, printer)
    if is_double(sheets, settings):
        step_mm = creep_mm(settings.sheets.grammage_gsm)
        return tuple(
            impression
            for depth, sheet in enumerate(sheets.folded)
            for impression in _double(sheet, paper, depth * step_mm, turned)
        )
    found = []
    for leaf in sheets.leaves:
        found.append(Impression(paper, (PlacedSide(leaf.front, 0.0),)))
        if sheets.two_sided or printer is not Printer.SINGLE:
            back = (PlacedSide(leaf.back, 0.0),) if leaf.back else ()
            found.append(Impression(paper, back, turned))
    return tuple(found)


def printer_for(sheets: Sheets, settings: Settings) -> Printer:
    """What the user says; else single for a single-sided set, or both sides by the edge that leaves backs upright."""
    if settings.sheets.printer:
        return settings.sheets.printer
    if not sheets.two_sided:
        return Printer.SINGLE
    return (
        Printer.SHORT if _backs_upside_down(printed_paper(sheets, settings), Printer.LONG) else Printer.LONG
    )


def printed_paper(sheets: Sheets, settings: Settings) -> Paper:
    """What lies in the printer's tray."""
    page = settings.paper
    if not is_double(sheets, settings):
        return page
    wide_mm = 2 * page.width_mm
    return Paper(DOUBLE_NAMES.get(page.name, f"{wide_mm:g}x{page.height_mm:g}mm"), wide_mm, page.height_mm)


def creep_mm(grammage_gsm: float) -> float:
    """How far each nested sheet is pushed out by the one around it: the paper's thickness, nearly."""
    return CREEP_MM * grammage_gsm / CREEP_GSM


def _backs_upside_down(paper: Paper, printer: Printer) -> bool:
    """Turned over an upright edge, the back stands like the front; over the other edge, head down."""
    is_upright_edge_long = paper.height_mm >= paper.width_mm
    return printer is not Printer.SINGLE and (printer is Printer.LONG) != is_upright_edge_long


def _double(sheet: FoldedSheet, paper: Paper, creep: float, turned: bool) -> Iterator[Impression]:
    """Both sides of a folded sheet, pages moved towards the fold by its creep.

    Its fold lies that much farther from the spine of the whole set than the outermost sheet's, and so would all that
    is printed on it: moved back, the music stands above the music of the sheets around it, and when the edges are
    cut flush the outer margins are equal.
    """
    fold = paper.width_mm / 2

    def placed(left: Side, right: Side) -> tuple[PlacedSide, PlacedSide]:
        return PlacedSide(left, creep), PlacedSide(right, fold - creep)

    yield Impression(paper, placed(*sheet.front))
    yield Impression(paper, placed(*sheet.back), turned, fold)
