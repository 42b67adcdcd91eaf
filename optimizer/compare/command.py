"""A comparison as a command.

In: score file, folder, `Choices`, `Settings`.  Out: one line for a shell.  Always true: run where it was asked for, it
makes the same comparison, so that `--pick` and a number may be added to it.
"""

import shlex
from collections.abc import Iterator
from pathlib import Path

from optimizer.compare.choices import parse_choices
from optimizer.compare.model import Choices
from optimizer.settings import DESKS, Desk, Settings


def command(path: Path, folder: Path, choices: Choices, settings: Settings) -> str:
    """The whole command; what is as usual is not said."""
    usual = list(_set(Settings()))
    options = [*_chosen(choices, settings), *(option for option in _set(settings) if option not in usual)]
    words = [word for option in options for word in option if word]
    return shlex.join(["quietleaf", "compare", str(path), *words, "-o", str(folder)])


def _chosen(choices: Choices, settings: Settings) -> Iterator[tuple[str, str]]:
    """What is compared."""
    usual = parse_choices()
    if choices.desks != usual.desks:
        yield from (("--desk", _desk(desk)) for desk in choices.desks)
    if choices.papers != usual.papers:
        yield from (("--paper", paper.name) for paper in choices.papers)
    if choices.bindings != usual.bindings:
        yield from (("--binding", binding) for binding in choices.bindings)
    staffs_mm = choices.staffs_mm or ((settings.staff_mm,) if settings.staff_mm else ())
    yield from (("--staff", _figure(staff_mm)) for staff_mm in staffs_mm)


def _desk(desk: Desk) -> str:
    return desk.name if DESKS.get(desk.name) == desk else _figure(desk.width_mm)


def _set(settings: Settings) -> Iterator[tuple[str, str]]:
    """All other options with their values; without one where they are mere switches."""
    margins, sheets, demands = settings.margins, settings.sheets, settings.demands
    sides_mm = margins.left_mm, margins.right_mm, margins.top_mm, margins.bottom_mm
    yield "--margins", ",".join(map(_figure, sides_mm))
    yield from (("--player", word) for word in settings.player)
    yield "--hands", settings.hands
    yield from (("--turn-after", bar) for bar in demands.turn_after)
    yield from (("--no-turn-after", bar) for bar in demands.no_turn_after)
    yield from (("--together", bars) for bars in demands.together)
    if demands.pages:
        yield "--pages", str(demands.pages)
    if demands.max_pages:
        yield "--max-pages", str(demands.max_pages)
    if demands.as_given:
        yield "--as-given", ""
    yield from (("--weight", f"{term}={percent}") for term, percent in settings.weights_percent.items())
    yield "--tempo", _figure(settings.turns.default_tempo)
    yield "--carry-notes", str(settings.turns.carry_allowance)
    if settings.playback_marks:
        yield "--playback-marks", ""
    yield "--holes", sheets.holes
    yield "--sheet", sheets.sheet
    if sheets.printer:
        yield "--printer", sheets.printer
    yield "--marks" if sheets.marks else "--no-marks", ""
    yield "--unprintable", _figure(sheets.unprintable_mm)
    yield "--grammage", _figure(sheets.grammage_gsm)
    yield "--lang", sheets.lang
    yield "--carry", settings.strips


def _figure(value: float) -> str:
    """As short as it is read back the same."""
    return repr(value).removesuffix(".0")
