"""Every value a user can set, with its unit, its default and where the default comes from.

In: nothing.  Out: frozen dataclasses.  Always true: a `Settings` that exists has passed its checks (UsageError
otherwise).  "facts.md" values are cited by their published source.
"""

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Final

from optimizer.errors import UsageError
from optimizer.units import in_to_mm


@dataclass(frozen=True, slots=True)
class Paper:
    """A sheet's size in mm, upright."""

    name: str
    width_mm: float
    height_mm: float

    @property
    def is_american(self) -> bool:
        """Whether it is measured in inches where it is sold."""
        return self.name == "letter" or self.name.endswith("in")


# A4, B4: ISO 216. Letter: 8.5 x 11 in (US paper size tables). 9x12in: Arch A. 10x13in: MOLA parts guidelines (1993).
PAPERS: Final[Mapping[str, Paper]] = {
    paper.name: paper
    for paper in (
        Paper("a4", 210.0, 297.0),
        Paper("letter", in_to_mm(8.5), in_to_mm(11)),
        Paper("b4", 250.0, 353.0),
        Paper("9x12in", in_to_mm(9), in_to_mm(12)),
        Paper("10x13in", in_to_mm(10), in_to_mm(13)),
    )
}


def parse_paper(text: str) -> Paper:
    """`a4`, `letter`, `b4`, `9x12in`, `10x13in` or `WxHmm`; UsageError otherwise."""
    name = text.strip().lower()
    if name in PAPERS:
        return PAPERS[name]
    match = re.fullmatch(r"(\d+(?:\.\d+)?)x(\d+(?:\.\d+)?)(mm|in)", name)
    if not match:
        raise UsageError(f"--paper {text}: unknown; use {', '.join(PAPERS)} or a size such as 230x305mm")
    factor = 1.0 if match[3] == "mm" else in_to_mm(1)
    width_mm, height_mm = float(match[1]) * factor, float(match[2]) * factor
    if not (100 <= width_mm <= 500 and 100 <= height_mm <= 700):
        raise UsageError(f"--paper {text}: a page must be 100 to 500 mm wide and 100 to 700 mm high")
    return Paper(name, width_mm, height_mm)


@dataclass(frozen=True, slots=True)
class Margins:
    """White around the music, mm. The page number and running title stand inside the top margin's music edge."""

    left_mm: float
    right_mm: float
    top_mm: float
    bottom_mm: float


# Our choice between what an orchestra library asks of parts (Metropole Orkest: sides 15, top and bottom 10 mm) and what
# domestic printers can print (about 5 mm are lost, from memory).
DEFAULT_MARGINS: Final = Margins(13.0, 13.0, 11.0, 11.0)


def parse_margins(text: str) -> Margins:
    """`M` (all four) or `LEFT,RIGHT,TOP,BOTTOM` in mm; UsageError otherwise."""
    try:
        values = [float(word) for word in text.split(",")]
    except ValueError:
        values = []
    if len(values) == 1:
        values *= 4
    if len(values) != 4 or not all(3.0 <= value <= 60.0 for value in values):
        raise UsageError(f"--margins {text}: give one number or LEFT,RIGHT,TOP,BOTTOM in mm, each 3 to 60")
    return Margins(*values)


@dataclass(frozen=True, slots=True)
class Desk:
    """A music desk: how wide the paper may lie, mm."""

    name: str
    width_mm: float


# Pages abreast are common practice (no source): grand four A4, upright and digital piano three, a folding stand two.
# The widths are ours, chosen so that these come out for A4 (210 mm) and Letter (216 mm).
DESKS: Final[Mapping[str, Desk]] = {
    desk.name: desk
    for desk in (Desk("stand", 480.0), Desk("upright", 650.0), Desk("digital", 650.0), Desk("grand", 870.0))
}
DEFAULT_DESK: Final = DESKS["stand"]  # "unknown piano: many upright ledges hold only two pages" (needs.md)
DESK_OVERHANG_MM: Final = 20.0  # paper may stand out a finger's width on either side together; our choice


def parse_desk(text: str) -> Desk:
    """`upright`, `grand`, `stand`, `digital` or a width in mm; UsageError otherwise."""
    name = text.strip().lower()
    if name in DESKS:
        return DESKS[name]
    match = re.fullmatch(r"(\d+(?:\.\d+)?)(mm)?", name)
    if not match or not 200 <= float(match[1]) <= 3000:
        raise UsageError(f"--desk {text}: use {', '.join(DESKS)} or a width of 200 to 3000 mm")
    return Desk(f"{float(match[1]):g}mm", float(match[1]))


def pages_abreast(desk: Desk, paper: Paper) -> int:
    """How many pages lie side by side: floor((desk + overhang) / page width), 2 to 4 (design: spread patterns)."""
    return max(2, min(4, int((desk.width_mm + DESK_OVERHANG_MM) / paper.width_mm)))


class Hands(StrEnum):
    """How the player's staves map to hands; `auto` decides from the part."""

    AUTO = "auto"
    TWO = "two"  # staff 1 right, staff 2 left (two one-staff parts: first right, second left)
    TOGETHER = "together"  # both hands busy while any note sounds: strings, winds
    FREE = "free"  # hands never busy: singers, conductors


# taped: single-sided pages in one strip; ring: pages back to back in a binder; stapled: folded sheets, one in the
# other; loose: single sheets. Their patterns are in layout/patterns.py.
BINDINGS: Final = ("taped", "ring", "stapled", "loose")
TWO_SIDED: Final = ("stapled", "loose")


class Holes(StrEnum):
    """Which holes a ring binder's pages get; `auto`: two for metric paper, three for US paper."""

    AUTO = "auto"
    TWO = "2"  # ISO 838
    FOUR = "4"  # ISO 838 and one more on either side, 80 mm apart
    THREE = "3"  # US three-ring


@dataclass(frozen=True, slots=True)
class Holing:
    """A way of punching: so many holes, centre to centre, the centres' distance from the edge, their width."""

    count: int
    apart_mm: float
    from_edge_mm: float
    wide_mm: float

    def first_mm(self, paper: Paper) -> float:
        """From the page's upper edge to the centre of the uppermost hole."""
        return paper.height_mm / 2 - self.apart_mm * (self.count - 1) / 2


# ISO 838: 80 mm apart, 6 mm wide, centres 12 mm from the edge; two more outside them are common, not ISO.
# US three-ring: 4.25 in apart (de facto); half an inch from the edge and 9/32 in wide from memory.
HOLINGS: Final[Mapping[Holes, Holing]] = {
    Holes.TWO: Holing(2, 80.0, 12.0, 6.0),
    Holes.FOUR: Holing(4, 80.0, 12.0, 6.0),
    Holes.THREE: Holing(3, in_to_mm(4.25), in_to_mm(0.5), in_to_mm(9 / 32)),
}


def holing_of(paper: Paper, holes: Holes) -> Holing:
    """How a page of this paper is punched; `auto`: three holes for US sizes, else two. UsageError where they do not
    fit."""
    if holes is Holes.AUTO:
        holes = Holes.THREE if paper.is_american else Holes.TWO
    holing = HOLINGS[holes]
    if holing.first_mm(paper) < holing.wide_mm:
        raise UsageError(f"--holes {holes}: a page {paper.height_mm:g} mm high is too small for them")
    return holing


class Printer(StrEnum):
    """How the printer takes paper: which order and orientation the sides are written in."""

    SINGLE = "single"  # one side of each sheet; a two-sided set in two runs, the stack turned over by hand
    LONG = "long"  # both sides, turned over the long edge
    SHORT = "short"  # both sides, turned over the short edge


class SheetSize(StrEnum):
    """What goes through the printer for a folded set: `pages` (single pages in reading order) or a sheet of two."""

    PAGES = "pages"
    DOUBLE = "double"  # two pages side by side: A3 for A4, Tabloid for Letter


class Strips(StrEnum):
    """Whether bars next to a turn are printed again, small, on the other side of it."""

    AUTO = "auto"  # where a turn would stay tight or blocked
    NEVER = "never"
    ALWAYS = "always"  # wherever that makes a turn easier


class Lang(StrEnum):
    """The language of label, guide and turn sheet."""

    EN = "en"
    DE = "de"
    FR = "fr"
    ES = "es"
    SV = "sv"


DEFAULT_UNPRINTABLE_MM: Final = 5.0  # edge that domestic printers leave white (from memory)
DEFAULT_GRAMMAGE_GSM: Final = 100.0  # between 90 and 118 g/m2 that stand by themselves (needs.md); our choice


@dataclass(frozen=True, slots=True)
class SheetSettings:
    """What happens to the pages after they are planned. Lengths mm, grammage g/m2."""

    printer: Printer | None = None  # None: what the binding wants
    sheet: SheetSize = SheetSize.PAGES
    holes: Holes = Holes.AUTO
    marks: bool = True  # fold, punch and strip marks in the margin
    unprintable_mm: float = DEFAULT_UNPRINTABLE_MM
    grammage_gsm: float = DEFAULT_GRAMMAGE_GSM
    lang: Lang = Lang.EN


DEFAULT_CARRY: Final = 1  # chunks; editors do not rely on memory, which holds about 3 (Chen & Cowan)
DEFAULT_TEMPO: Final = 96.0  # where the file says nothing; between moderato and allegretto, our choice


@dataclass(frozen=True, slots=True)
class TurnSettings:
    """Physical times of a turn, seconds. Sources beside the defaults."""

    quick_s: float = 1.6  # MTM-1, about 44 TMU
    unhurried_s: float = 3.0  # A. Quince, Part preparation for composers, 2015
    eye_hand_s: float = 1.0  # Furneaux & Land 1999, Proc. R. Soc. B 266:2435
    carry_allowance: int = DEFAULT_CARRY
    default_tempo: float = DEFAULT_TEMPO  # quarters a minute


# Terms of the layout objective, and the only names --weight takes.
TERMS: Final = (
    "turns", "back-turns", "strips", "reach", "spacing", "fill", "paper", "fold-outs", "staff-size"
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Demands:
    """What the user insists on; bars by printed number, resolved against the score later."""

    turn_after: tuple[str, ...] = ()
    no_turn_after: tuple[str, ...] = ()
    together: tuple[str, ...] = ()
    pages: int | None = None
    max_pages: int | None = None
    as_given: bool = False


def _tenths(largest_mm: float, smallest_mm: float) -> tuple[float, ...]:
    """Staff sizes a tenth of a millimetre apart, largest first."""
    return tuple(tenths / 10 for tenths in range(round(largest_mm * 10), round(smallest_mm * 10) - 1, -1))


# Rastral sizes 3 to 6 (Gould, Behind Bars, pp. 482-483; from memory) are what piano music is printed in. Between them
# any size will do; in tenths, there is nearly always one at which the music just fills its pages.
AUTO_STAFF_MM: Final = _tenths(7.0, 5.5)
# For scores of many staves, where no page would hold a readable number of systems otherwise.
AUTO_STAFF_SMALL_MM: Final = _tenths(6.0, 4.8)
STAFF_RANGE_MM: Final = (3.5, 10.0)


def parse_staff(text: str) -> float | None:
    """A staff size in mm, or `auto` (None); UsageError otherwise."""
    if text.strip().lower() == "auto":
        return None
    try:
        return float(text)
    except ValueError:
        raise UsageError(f"--staff {text}: give a height in mm, for example 6.5, or auto") from None


def parse_weights(words: Iterable[str]) -> dict[str, int]:
    """`TERM=PERCENT` words; UsageError where one is not of that form."""
    weights = {}
    for word in words:
        term, equals, percent = word.partition("=")
        if not equals or not percent.strip().removesuffix("%").isdecimal():
            raise UsageError(
                f"--weight {word}: give TERM=PERCENT, for example turns=150; terms: {', '.join(TERMS)}"
            )
        weights[term.strip()] = int(percent.strip().removesuffix("%"))
    return weights


@dataclass(frozen=True, slots=True)
class Settings:
    """All the user's choices. `staff_mm` None means: choose (auto)."""

    paper: Paper = PAPERS["a4"]
    margins: Margins = DEFAULT_MARGINS
    desk: Desk = DEFAULT_DESK
    binding: str = "taped"
    staff_mm: float | None = None
    player: tuple[str, ...] = ()
    hands: Hands = Hands.AUTO
    turns: TurnSettings = TurnSettings()
    demands: Demands = Demands()
    weights_percent: Mapping[str, int] = field(default_factory=dict)
    playback_marks: bool = False  # print bare metronome marks that only steer playback
    sheets: SheetSettings = SheetSettings()
    strips: Strips = Strips.NEVER
    in_ensemble: bool = False  # planned together with other parts
    instruments: str = ""  # a file that adds to what is known of instruments (parts/instruments.toml)

    def __post_init__(self) -> None:
        if not 20 <= self.turns.default_tempo <= 400:
            raise UsageError(f"--tempo {self.turns.default_tempo:g}: a tempo is 20 to 400 quarters a minute")
        if not 0 <= self.turns.carry_allowance <= 20:
            raise UsageError(f"--carry-notes {self.turns.carry_allowance}: 0 to 20 notes")
        if self.staff_mm is not None and not STAFF_RANGE_MM[0] <= self.staff_mm <= STAFF_RANGE_MM[1]:
            raise UsageError(
                f"--staff {self.staff_mm:g}: a staff is {STAFF_RANGE_MM[0]:g} to {STAFF_RANGE_MM[1]:g} mm high"
            )
        if unknown := set(self.weights_percent) - set(TERMS):
            raise UsageError(f"--weight {sorted(unknown)[0]}: unknown term; use {', '.join(TERMS)}")
        if any(not 0 <= percent <= 10_000 for percent in self.weights_percent.values()):
            raise UsageError("--weight: a weight is 0 to 10000 percent")
        self._check_sheets()
        for option, count in (("--pages", self.demands.pages), ("--max-pages", self.demands.max_pages)):
            if count is not None and count < 1:
                raise UsageError(f"{option} {count}: must be at least 1")

    def _check_sheets(self) -> None:
        """UsageError where binding, printer and paper contradict each other."""
        sheets = self.sheets
        if self.binding not in BINDINGS:
            raise UsageError(f"--binding {self.binding}: unknown; use {', '.join(BINDINGS)}")
        if sheets.holes is not Holes.AUTO and self.binding != "ring":
            raise UsageError(f"--holes {sheets.holes}: a {self.binding} set has no holes; add --binding ring")
        if self.binding == "ring":
            holing_of(self.paper, sheets.holes)
        if sheets.sheet is SheetSize.DOUBLE and self.binding != "stapled":
            raise UsageError(
                f"--sheet double: a {self.binding} set has no folded sheets; add --binding stapled"
            )
        if sheets.printer in (Printer.LONG, Printer.SHORT) and self.binding not in TWO_SIDED:
            raise UsageError(f"--printer {sheets.printer}: a {self.binding} set is printed on one side only")
        if not 0 <= sheets.unprintable_mm <= 15:
            raise UsageError(f"--unprintable {sheets.unprintable_mm:g}: 0 to 15 mm")
        if not 40 <= sheets.grammage_gsm <= 300:
            raise UsageError(f"--grammage {sheets.grammage_gsm:g}: paper weighs 40 to 300 g/m2")

    def weight(self, term: str) -> int:
        """The user's multiplier of a term, percent (100 when not set)."""
        return self.weights_percent.get(term, 100)
