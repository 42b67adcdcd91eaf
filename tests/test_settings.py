"""Words of the user become settings or one clear line."""

import pytest

from optimizer.errors import UsageError
from optimizer.settings import (
    DESKS,
    PAPERS,
    Demands,
    Holes,
    Margins,
    Printer,
    Settings,
    SheetSettings,
    SheetSize,
    TurnSettings,
    pages_abreast,
    parse_desk,
    parse_margins,
    parse_paper,
    parse_staff,
    parse_weights,
)


@pytest.mark.parametrize(
    ("name", "width_mm", "height_mm"),
    [
        ("a4", 210, 297),  # ISO 216
        ("b4", 250, 353),  # ISO 216
        ("letter", 215.9, 279.4),  # US paper size tables: 8.5 x 11 in
        ("9x12in", 228.6, 304.8),  # US paper size tables: Arch A
        ("10x13in", 254.0, 330.2),  # MOLA guidelines (1993 ed., summary)
    ],
)
def test_paper_sizes(name: str, width_mm: float, height_mm: float) -> None:
    paper = parse_paper(name.upper())
    assert (paper.width_mm, paper.height_mm) == pytest.approx((width_mm, height_mm))


def test_own_paper_sizes() -> None:
    assert parse_paper("230x305mm").width_mm == 230
    assert parse_paper("9x12in") == PAPERS["9x12in"]
    assert parse_paper("8.27x11.69in").width_mm == pytest.approx(210, abs=0.1)
    for text in ("a9", "10x10mm", "0x300mm", "x", "1e3x300mm"):
        with pytest.raises(UsageError, match="--paper"):
            parse_paper(text)


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_pages_abreast(paper: str) -> None:
    """Upright and digital piano three, grand four, stand two: common practice, no source (facts.md)."""
    found = {name: pages_abreast(desk, PAPERS[paper]) for name, desk in DESKS.items()}
    assert found == {"stand": 2, "upright": 3, "digital": 3, "grand": 4}


def test_own_desks() -> None:
    assert pages_abreast(parse_desk("840"), PAPERS["a4"]) == 4  # A4 x 4 = 840 mm (arithmetic, facts.md)
    assert pages_abreast(parse_desk("300mm"), PAPERS["a4"]) == 2
    assert pages_abreast(parse_desk("upright"), PAPERS["10x13in"]) == 2
    for text in ("organ", "-5", "100"):
        with pytest.raises(UsageError, match="--desk"):
            parse_desk(text)


def test_margins_staff_and_weights() -> None:
    assert parse_margins("12") == Margins(12, 12, 12, 12)
    assert parse_margins("15,15,10,10") == Margins(15, 15, 10, 10)
    assert parse_staff("auto") is None
    assert parse_staff("6.5") == 6.5
    assert parse_weights(["turns=150", "paper=0%"]) == {"turns": 150, "paper": 0}
    for parse, text in (
        (parse_margins, "1,2"),
        (parse_margins, "99"),
        (parse_staff, "big"),
    ):
        with pytest.raises(UsageError):
            parse(text)
    with pytest.raises(UsageError, match="TERM=PERCENT"):
        parse_weights(["turns"])


def test_senseless_settings_are_refused() -> None:
    for senseless in (
        lambda: Settings(staff_mm=1.0),
        lambda: Settings(staff_mm=float("nan")),
        lambda: Settings(weights_percent={"beauty": 100}),
        lambda: Settings(weights_percent={"turns": 10**6}),
        lambda: Settings(demands=Demands(pages=0)),
        lambda: Settings(turns=TurnSettings(default_tempo=0)),
        lambda: Settings(turns=TurnSettings(carry_allowance=-1)),
    ):
        with pytest.raises(UsageError):
            senseless()


@pytest.mark.parametrize(
    ("binding", "sheets", "says"),
    [
        ("glued", SheetSettings(), "--binding glued: unknown; use taped, ring, stapled, loose"),
        ("stapled", SheetSettings(holes=Holes.THREE), "--holes 3: a stapled set has no holes"),
        ("ring", SheetSettings(sheet=SheetSize.DOUBLE), "--sheet double: a ring set has no folded sheets"),
        ("taped", SheetSettings(printer=Printer.SHORT), "--printer short: a taped set is printed on one side only"),
        ("taped", SheetSettings(unprintable_mm=float("nan")), "--unprintable nan: 0 to 15 mm"),
        ("taped", SheetSettings(grammage_gsm=1000), "--grammage 1000: paper weighs 40 to 300"),
    ],
)  # fmt: skip
def test_what_contradicts_itself_is_refused(binding: str, sheets: SheetSettings, says: str) -> None:
    with pytest.raises(UsageError, match=says):
        Settings(binding=binding, sheets=sheets)


@pytest.mark.parametrize(
    ("binding", "sheets"),
    [
        ("ring", SheetSettings(holes=Holes.FOUR, printer=Printer.SINGLE)),
        ("stapled", SheetSettings(sheet=SheetSize.DOUBLE, printer=Printer.SHORT)),
        ("loose", SheetSettings(printer=Printer.LONG, unprintable_mm=11)),
        ("stapled", SheetSettings(printer=Printer.SINGLE)),
    ],
)
def test_what_goes_together_is_taken(binding: str, sheets: SheetSettings) -> None:
    assert Settings(binding=binding, sheets=sheets).sheets == sheets


def test_holes_that_do_not_fit_are_refused_before_anything_is_computed() -> None:
    """Four holes 80 mm apart need 240 mm and half a hole more at either end (ISO 838 doubled)."""
    with pytest.raises(UsageError, match="--holes 4: a page 210 mm high is too small"):
        Settings(paper=parse_paper("150x210mm"), binding="ring", sheets=SheetSettings(holes=Holes.FOUR))
    assert Settings(paper=parse_paper("150x210mm"), binding="ring").sheets.holes is Holes.AUTO
