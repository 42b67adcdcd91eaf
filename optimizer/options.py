"""The options of the command line that several commands share.

In: nothing.  Out: types for typer: names, help and what may be given; UsageError for a word that is none of it.
Nothing else is decided here.
"""

from collections.abc import Callable
from enum import StrEnum
from pathlib import Path
from typing import Annotated, Any, TypeVar

import typer

from optimizer.errors import UsageError
from optimizer.parts.choices import Cues, Level, MovementStart
from optimizer.settings import Hands, Holes, Lang, Printer, SheetSize, Strips

Words = list[str] | None

_Value = TypeVar("_Value")


def _choice(option: str, kind: type[StrEnum], text: str) -> Any:
    """An option that is one of a few words; upper or lower case."""
    names = [each.value for each in kind]
    parse = _parser(option, lambda word: kind(word.strip().lower()), f"unknown; use {', '.join(names)}")
    return typer.Option(option, metavar="|".join(names), parser=parse, help=text)


def _number(option: str, kind: type[int] | type[float], metavar: str, text: str) -> Any:
    """An option that is a number; what numbers make sense is for the settings to say."""
    parse = _parser(option, kind, f"give a {'whole ' if kind is int else ''}number")
    return typer.Option(option, metavar=metavar, parser=parse, help=text)


def _parser(option: str, read: Callable[[str], _Value], trouble: str) -> Callable[[str], _Value]:
    """`read`, and one line of ours where it fails: typer would tell the ways of the libraries below it."""

    def parse(word: str) -> _Value:
        try:
            return read(word)
        except ValueError:
            raise UsageError(f"{option} {word}: {trouble}") from None

    return parse


ScoreArgument = Annotated[
    Path, typer.Argument(metavar="SCORE", readable=False, help="A .musicxml, .xml or .mxl file.")
]
PlayerOption = Annotated[
    Words,
    typer.Option(
        "--player",
        metavar="PART",
        help="Whose turns count: part name, id or number; twice for two one-staff parts of one pianist. "
        "Default: the keyboard player; without one, somebody who reads or conducts.",
    ),
]
HandsOption = Annotated[Hands, _choice("--hands", Hands, "How the player's staves map to hands.")]
TempoOption = Annotated[
    float, _number("--tempo", float, "QPM", "Quarters a minute where the score does not say.")
]
CarryOption = Annotated[
    int,
    _number("--carry-notes", int, "N", "Notes the player is glad to hold in memory over a turn."),
]
BindingOption = Annotated[
    str,
    typer.Option(
        "--binding",
        metavar="BINDING",
        help="How the pages hold together: taped (a folded strip), ring (a binder), stapled (folded sheets) or loose.",
    ),
]
HolesOption = Annotated[Holes, _choice("--holes", Holes, "Holes of a ring binder; auto: 2, on US paper 3.")]
SheetOption = Annotated[
    SheetSize,
    _choice(
        "--sheet",
        SheetSize,
        "What a stapled set is printed on: single pages, or double sheets to fold (A3 for A4, Tabloid for "
        "Letter).",
    ),
]
PrinterOption = Annotated[
    Printer | None,
    _choice(
        "--printer",
        Printer,
        "The printer prints on one side (both sides then take two runs, see the guide), or on both and turns the "
        "paper over its long or short edge. Default: what the binding needs.",
    ),
]
MarksOption = Annotated[
    bool, typer.Option("--marks/--no-marks", help="Marks for folding and punching in the margin.")
]
UnprintableOption = Annotated[
    float,
    _number("--unprintable", float, "MM", "Edge of the paper that the printer leaves white."),
]
GrammageOption = Annotated[
    float,
    _number("--grammage", float, "G", "Weight of the paper in g/m2, for thickness and rings."),
]
LangOption = Annotated[Lang, _choice("--lang", Lang, "Language of guide, label and turn sheet.")]
StripsOption = Annotated[
    Strips,
    _choice(
        "--carry",
        Strips,
        "Print bars around a hard turn once more, small, on the other side of it: where it stays tight or "
        "blocked (auto), never, or wherever it helps (always).",
    ),
]
ReplaceOption = Annotated[bool, typer.Option("--replace", help="Overwrite files that an earlier run wrote.")]
OutputOption = Annotated[Path, typer.Option("--output", "-o", metavar="DIR", help="Folder to write to.")]
DeskOption = Annotated[
    str, typer.Option("--desk", metavar="DESK", help="upright, grand, stand, digital, or a width in mm.")
]
PaperOption = Annotated[
    str, typer.Option("--paper", metavar="SIZE", help="a4, letter, b4, 9x12in, 10x13in, or WxHmm.")
]
MarginsOption = Annotated[
    str | None,
    typer.Option(
        "--margins",
        metavar="MM",
        help="One number, or LEFT,RIGHT,TOP,BOTTOM in mm, of a right-hand page. Ring and stapled sets mirror them "
        "and keep 20 and 15 mm at the binding.",
    ),
]
StaffOption = Annotated[
    str, typer.Option("--staff", metavar="MM", help="Staff size in mm, for example 6.5, or auto.")
]
TurnAfterOption = Annotated[
    Words, typer.Option("--turn-after", metavar="BAR", help="A page must be turned after this bar.")
]
NoTurnAfterOption = Annotated[
    Words, typer.Option("--no-turn-after", metavar="BAR", help="No page may be turned after this bar.")
]
TogetherOption = Annotated[
    Words, typer.Option("--together", metavar="BAR-BAR", help="These bars must lie open together.")
]
PagesOption = Annotated[
    int | None,
    _number("--pages", int, "N", "Exactly this many pages, with a title page outside."),
]
MaxPagesOption = Annotated[int | None, _number("--max-pages", int, "N", "At most this many, likewise.")]
AsGivenOption = Annotated[
    bool,
    typer.Option(
        "--as-given", help="Keep the page breaks of the file; choose only which pages lie together."
    ),
]
WeightOption = Annotated[
    Words,
    typer.Option("--weight", metavar="TERM=PERCENT", help="Make a term of the objective count more or less."),
]
PlaybackOption = Annotated[
    bool, typer.Option("--playback-marks", help="Print bare metronome marks that only steer playback.")
]

DesksOption = Annotated[
    Words,
    typer.Option(
        "--desk",
        metavar="DESK",
        help="upright, grand, stand, digital, or a width in mm; several times. Default: upright and grand.",
    ),
]
PapersOption = Annotated[
    Words,
    typer.Option(
        "--paper",
        metavar="SIZE",
        help="a4, letter, b4, 9x12in, 10x13in, or WxHmm; several times. Default: a4.",
    ),
]
BindingsOption = Annotated[
    Words,
    typer.Option(
        "--binding", metavar="BINDING", help="taped, ring, stapled, loose; several times. Default: taped."
    ),
]
StaffsOption = Annotated[
    Words,
    typer.Option(
        "--staff",
        metavar="MM",
        help="Staff size in mm; several times. Default: 7, 6.5, 6 and 5.5, from four staves on 6, 5.5 and 4.8.",
    ),
]
PickOption = Annotated[
    int | None,
    _number("--pick", int, "N", "Also write what prepare would, for the alternative of this number."),
]

PlayersOption = Annotated[
    Words,
    typer.Option(
        "--players",
        metavar="PART=N",
        help='How many play a part, for example "Violin 1=4": two share a copy. Several times. Default: one.',
    ),
]
SplitOption = Annotated[
    Words,
    typer.Option(
        "--split",
        metavar="PART",
        help="Give each of the two players on this part's staff a copy of their own.",
    ),
]
CuesOption = Annotated[
    Cues, _choice("--cues", Cues, "Another player's notes, small, before an entry after long rests.")
]
CueBarsOption = Annotated[int, _number("--cue-bars", int, "N", "Rests longer than so many bars get a cue.")]
CueSecondsOption = Annotated[float, _number("--cue-seconds", float, "S", "So do rests longer than this.")]
LevelOption = Annotated[
    Level, _choice("--level", Level, "How experienced the players are: time for turns, staff size, cues.")
]
MovementsOption = Annotated[
    MovementStart,
    _choice("--movements", MovementStart, "Where a further movement begins: on a page or a system."),
]
LeastStaffOption = Annotated[float, _number("--least-staff", float, "MM", "No smaller staff than this.")]
InstrumentsOption = Annotated[
    Path | None,
    typer.Option(
        "--instruments", metavar="FILE", help="A TOML file that adds to what is known of instruments."
    ),
]
TimeLimitOption = Annotated[
    float,
    _number(
        "--time-limit",
        float,
        "S",
        "Of the search for plans that suit one another, after each part's own; then the best so far are taken.",
    ),
]
