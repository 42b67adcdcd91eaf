"""What a player is warned of, in the guide and by the program."""

from dataclasses import replace

import pytest

from optimizer.engrave.model import Text
from optimizer.press.guide import guide_sheets
from optimizer.press.warnings import MANY_TAPED_PAGES, warnings
from optimizer.score.model import PartKind
from optimizer.settings import Margins, Settings, SheetSettings, Strips, parse_desk
from optimizer.turns.model import Grade


def with_lyric(engraved, string: str):
    text = Text(0.0, 0.0, 2.0, "start", "serif", False, False, string)
    first = engraved.systems[0]
    return replace(engraved, systems=(replace(first, items=(*first.items, text)), *engraved.systems[1:]))


@pytest.mark.parametrize(("staff_mm", "warned"), [(4.8, True), (5.4, True), (5.5, False), (6.5, False)])
def test_small_staves(make, staff_mm, warned):
    """Piano music is 6 to 7 mm (needs.md, from memory); the limit is ours."""
    case = make.case([(1, 2)])
    found = warnings(case.score, replace(case.plan, staff_mm=staff_mm), case.settings)
    assert any(text.startswith("Small notes:") for text in found) == warned


@pytest.mark.parametrize(("spreads", "warned"), [(4, False), (5, True)])
def test_long_strips_of_tape(make, spreads, warned):
    """Loose strips fall off the desk (needs.md); how many sheets are a few is ours."""
    case = make.case([(2 * k + 2, 2 * k + 3) for k in range(spreads)], systems=1)
    assert (len(case.plan.pages) > MANY_TAPED_PAGES) == warned
    assert (
        any(text.startswith("A long taped set:") for text in warnings(case.score, case.plan, case.settings))
        == warned
    )
    loose = replace(case.plan, binding="loose")
    assert warnings(case.score, loose, case.settings) == ()


def test_letters_without_a_shape_are_named_once(make):
    case = make.case([(1, 2)], title="漢 Lied 漢", composer="Dvořák")
    (warning,) = warnings(case.score, case.plan, case.settings)
    assert "no sign for 漢;" in warning
    assert "ř" not in warning


def test_lyrics_are_looked_at_where_the_drawn_systems_are_given(make):
    case = make.case([(1, 2)])
    sung = with_lyric(case.engraved, "äöüßéèçñőűłşčřžåøæþð 桜\ue04a")
    assert warnings(case.score, case.plan, case.settings, case.engraved) == ()
    (warning,) = warnings(case.score, case.plan, case.settings, sung)
    assert "no sign for 桜 U+E04A;" in warning


def test_the_guide_says_the_same(make):
    case = make.case([(1, 2)], title="漢")
    case = replace(case, plan=replace(case.plan, staff_mm=4.0))
    words = " ".join(
        figure.string
        for figure in guide_sheets(case.score, case.plan, case.settings)[0].figures
        if hasattr(figure, "string")
    )
    for warning in warnings(case.score, case.plan, case.settings):
        assert warning in words


@pytest.mark.parametrize(("desk", "warned"), [("stand", False), ("400", False), ("390", True), ("230", True)])
def test_desks_too_narrow_for_two_pages(make, desk, warned):
    """Two A4 pages are 420 mm wide (ISO 216); 20 mm may stand out."""
    case = make.case([(2, 3)])
    settings = replace(case.settings, desk=parse_desk(desk))
    assert (
        any(text.startswith("A narrow desk:") for text in warnings(case.score, case.plan, settings)) == warned
    )


@pytest.mark.parametrize(
    ("margins", "unprintable_mm", "warned"),
    [
        ((13, 13, 11, 11), 5, False),
        ((13, 13, 11, 4), 5, True),
        ((13, 13, 11, 4), 4, False),
        ((4, 13, 11, 11), 5, True),
    ],
)
def test_margins_narrower_than_what_the_printer_leaves_white(make, margins, unprintable_mm, warned):
    sheets = SheetSettings(unprintable_mm=unprintable_mm)
    case = make.case([(1,)], systems=2)
    found = warnings(case.score, case.plan, Settings(margins=Margins(*map(float, margins)), sheets=sheets))
    begin = "A narrow margin: 4\u00a0mm are less than the 5\u00a0mm"
    assert [text.startswith(begin) for text in found] == [True] * warned


@pytest.mark.parametrize(
    ("strips", "grade", "warned"),
    [
        (Strips.ALWAYS, Grade.OPEN, True),
        (Strips.AUTO, Grade.OPEN, False),
        (Strips.AUTO, Grade.TIGHT, True),
        (Strips.NEVER, Grade.BLOCKED, False),
    ],
)
def test_asking_in_vain_for_bars_printed_again(make, strips, grade, warned):
    settings = Settings(strips=strips)
    case = make.case([(1, 2), (3, 4)], [make.turn(2, 3, 49, grade)], settings=settings)
    found = warnings(case.score, case.plan, settings)
    assert any(text.startswith("No bars printed again.") for text in found) == warned


def test_pages_on_which_only_the_singer_has_notes(make):
    """As in songs whose later verses are written for the voice alone."""
    case = make.case([(1, 2), (3, 4)])
    keyboard = case.score.parts[0]
    voice = replace(keyboard, index=1, kind=PartKind.VOICE, staves=1)
    sung = [replace(make.note(bar, 0, 4, 1), part_index=1) for bar in range(len(case.score.measures))]
    played = [make.note(bar, 0, 4, 1) for bar in range(60)]
    song = replace(case.score, parts=(keyboard, voice), notes=(*sung, *played))
    (warning,) = warnings(song, case.plan, case.settings)
    assert warning.startswith("No notes for the keyboard on page 4. The file has none there.")
    assert (
        warnings(replace(song, notes=(*sung, make.note(99, 0, 4, 1), *played)), case.plan, case.settings)
        == ()
    )
