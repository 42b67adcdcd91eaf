"""The options of the command line that several commands share.

In: nothing.  Out: types for typer: names, help and what may be given; nothing is decided here.
"""

from pathlib import Path
from typing import Annotated

import typer

from optimizer.settings import Hands, Holes, Lang, Printer, SheetSize, Strips

Words = list[str] | None

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
HandsOption = Annotated[Hands, typer.Option("--hands", help="How the player's staves map to hands.")]
TempoOption = Annotated[
    float, typer.Option("--tempo", metavar="QPM", help="Quarters a minute where the score does not say.")
]
CarryOption = Annotated[
    int,
    typer.Option(
        "--carry-notes", metavar="N", help="Notes the player is glad to hold in memory over a turn."
    ),
]
BindingOption = Annotated[
    str,
    typer.Option(
        "--binding",
        metavar="BINDING",
        help="How the pages hold together: taped (a folded strip), ring (a binder), stapled (folded sheets) or loose.",
    ),
]
HolesOption = Annotated[
    Holes, typer.Option("--holes", help="Holes of a ring binder; auto: 2, on US paper 3.")
]
SheetOption = Annotated[
    SheetSize,
    typer.Option(
        "--sheet",
        help="What a stapled set is printed on: single pages, or double sheets to fold (A3 for A4, Tabloid for "
        "Letter).",
    ),
]
PrinterOption = Annotated[
    Printer | None,
    typer.Option(
        "--printer",
        help="The printer prints on one side, or on both and turns the paper over its long or short edge. "
        "Default: what the binding needs.",
    ),
]
MarksOption = Annotated[
    bool, typer.Option("--marks/--no-marks", help="Marks for folding and punching in the margin.")
]
UnprintableOption = Annotated[
    float,
    typer.Option("--unprintable", metavar="MM", help="Edge of the paper that the printer leaves white."),
]
GrammageOption = Annotated[
    float,
    typer.Option("--grammage", metavar="G", help="Weight of the paper in g/m2, for thickness and rings."),
]
LangOption = Annotated[Lang, typer.Option("--lang", help="Language of guide, label and turn sheet.")]
StripsOption = Annotated[
    Strips,
    typer.Option(
        "--carry",
        help="Print bars around a hard turn once more, small, on the other side of it: where it stays tight or "
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
    typer.Option("--pages", metavar="N", help="Exactly this many pages, with a title page outside."),
]
MaxPagesOption = Annotated[
    int | None, typer.Option("--max-pages", metavar="N", help="At most this many, likewise.")
]
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
    typer.Option(
        "--pick", metavar="N", help="Also write what prepare would, for the alternative of this number."
    ),
]
