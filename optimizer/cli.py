"""The command line: words in, settings out; no decisions here.

Exit codes: 0 done; 2 wrong usage; 3 the score cannot be read; 4 no layout satisfies the demands; 1 a fault of ours.
"""

import os
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Annotated, NoReturn

import typer

from optimizer.errors import QuietleafError, UsageError
from optimizer.settings import (
    DEFAULT_CARRY,
    DEFAULT_GRAMMAGE_GSM,
    DEFAULT_MARGINS,
    DEFAULT_TEMPO,
    DEFAULT_UNPRINTABLE_MM,
    Demands,
    Hands,
    Holes,
    Lang,
    Printer,
    Settings,
    SheetSettings,
    SheetSize,
    Strips,
    TurnSettings,
    parse_desk,
    parse_margins,
    parse_paper,
    parse_staff,
    parse_weights,
)

app = typer.Typer(
    no_args_is_help=True,
    add_completion=False,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 110},
)

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


@app.callback()
def root() -> None:
    """Printed pages to perform from: staff size, systems, pages and spreads chosen together so that every turn
    falls where a hand is free.

    Try: quietleaf prepare song.mxl --desk upright -o song
    """


@app.command()
def prepare(
    score: ScoreArgument,
    output: Annotated[Path, typer.Option("--output", "-o", metavar="DIR", help="Folder to write to.")],
    desk: Annotated[
        str, typer.Option("--desk", metavar="DESK", help="upright, grand, stand, digital, or a width in mm.")
    ] = "stand",
    paper: Annotated[
        str, typer.Option("--paper", metavar="SIZE", help="a4, letter, b4, 9x12in, 10x13in, or WxHmm.")
    ] = "a4",
    margins: Annotated[
        str | None,
        typer.Option(
            "--margins",
            metavar="MM",
            help="One number, or LEFT,RIGHT,TOP,BOTTOM in mm, of a right-hand page. Ring and stapled sets mirror them "
            "and keep 20 and 15 mm at the binding.",
        ),
    ] = None,
    staff: Annotated[
        str, typer.Option("--staff", metavar="MM", help="Staff size in mm, for example 6.5, or auto.")
    ] = "auto",
    player: PlayerOption = None,
    hands: HandsOption = Hands.AUTO,
    turn_after: Annotated[
        Words, typer.Option("--turn-after", metavar="BAR", help="A page must be turned after this bar.")
    ] = None,
    no_turn_after: Annotated[
        Words, typer.Option("--no-turn-after", metavar="BAR", help="No page may be turned after this bar.")
    ] = None,
    together: Annotated[
        Words, typer.Option("--together", metavar="BAR-BAR", help="These bars must lie open together.")
    ] = None,
    pages: Annotated[
        int | None,
        typer.Option("--pages", metavar="N", help="Exactly this many pages, with a title page outside."),
    ] = None,
    max_pages: Annotated[
        int | None, typer.Option("--max-pages", metavar="N", help="At most this many, likewise.")
    ] = None,
    as_given: Annotated[
        bool,
        typer.Option(
            "--as-given", help="Keep the page breaks of the file; choose only which pages lie together."
        ),
    ] = False,
    weight: Annotated[
        Words,
        typer.Option(
            "--weight", metavar="TERM=PERCENT", help="Make a term of the objective count more or less."
        ),
    ] = None,
    tempo: TempoOption = DEFAULT_TEMPO,
    carry_notes: CarryOption = DEFAULT_CARRY,
    playback_marks: Annotated[
        bool, typer.Option("--playback-marks", help="Print bare metronome marks that only steer playback.")
    ] = False,
    binding: BindingOption = "taped",
    holes: HolesOption = Holes.AUTO,
    sheet: SheetOption = SheetSize.PAGES,
    printer: PrinterOption = None,
    marks: MarksOption = True,
    unprintable: UnprintableOption = DEFAULT_UNPRINTABLE_MM,
    grammage: GrammageOption = DEFAULT_GRAMMAGE_GSM,
    lang: LangOption = Lang.EN,
    carry: StripsOption = Strips.NEVER,
    replace: ReplaceOption = False,
) -> None:
    """Plan the pages and print them: pages.pdf, guide.pdf, label.pdf, turnsheet.pdf, plan.json, score.musicxml.

    Bars are named by their printed number; "2:14" is bar 14 of the second movement, "#57" the 57th measure of the
    file. Options that take a BAR may be given several times.

    \b
    Examples:
      quietleaf prepare song.mxl -o song
      quietleaf prepare song.mxl --desk grand --paper letter --staff 6.5 -o song
      quietleaf prepare trio.musicxml --player cello --no-turn-after 42 --together 60-75 -o cello
      quietleaf prepare edition.mxl --as-given --desk upright -o edition
      quietleaf prepare song.mxl --binding ring --holes 4 --desk upright --lang de -o binder
      quietleaf prepare song.mxl --binding stapled --sheet double --printer short -o booklet
    """

    def run() -> None:
        from optimizer import pipeline, terminal

        settings = Settings(
            paper=parse_paper(paper),
            desk=parse_desk(desk),
            staff_mm=parse_staff(staff),
            player=tuple(player or ()),
            hands=hands,
            turns=TurnSettings(default_tempo=tempo, carry_allowance=carry_notes),
            demands=Demands(
                turn_after=_words(turn_after),
                no_turn_after=_words(no_turn_after),
                together=_words(together),
                pages=pages,
                max_pages=max_pages,
                as_given=as_given,
            ),
            weights_percent=parse_weights(weight or ()),
            playback_marks=playback_marks,
            margins=parse_margins(margins) if margins else DEFAULT_MARGINS,
            binding=binding.strip().lower(),
            sheets=SheetSettings(printer, sheet, holes, marks, unprintable, grammage, lang),
            strips=carry,
        )
        with terminal.progress() as progress:
            prepared = pipeline.prepare(score, output, settings, replace=replace, progress=progress)
        terminal.print_summary(prepared)

    _guarded(run)


@app.command()
def turns(
    score: ScoreArgument,
    picture: Annotated[
        Path | None,
        typer.Option(
            "--picture",
            "-o",
            metavar="FILE",
            help="Where to draw, .pdf or .svg. Default: SCORE-turns.pdf here.",
        ),
    ] = None,
    json: Annotated[
        bool,
        typer.Option("--json", help="Print JSON instead of the table; draws only if --picture is given."),
    ] = False,
    player: PlayerOption = None,
    hands: HandsOption = Hands.AUTO,
    tempo: TempoOption = DEFAULT_TEMPO,
    carry_notes: CarryOption = DEFAULT_CARRY,
    replace: ReplaceOption = False,
) -> None:
    """Show how hard a page turn is at every barline, and why.

    \b
    Examples:
      quietleaf turns song.mxl
      quietleaf turns song.mxl --picture song-turns.svg
      quietleaf turns quartet.mxl --player Viola --json
    """

    def run() -> None:
        from optimizer import pipeline, terminal

        settings = Settings(
            player=tuple(player or ()),
            hands=hands,
            turns=TurnSettings(default_tempo=tempo, carry_allowance=carry_notes),
        )
        usual = Path(f"{score.stem}-turns.pdf")
        kept = usual if usual.exists() and not (picture or json or replace) else None
        target = picture or (None if json or kept else usual)
        with terminal.progress() as progress:
            found = pipeline.turns(score, settings, picture=target, replace=replace, progress=progress)
        terminal.print_turns_json(found) if json else terminal.print_turns(found, target, kept)

    _guarded(run)


@app.command()
def explain(
    plan: Annotated[Path, typer.Argument(metavar="PLAN.json", help="The plan.json that prepare wrote.")],
    bar: Annotated[str, typer.Argument(metavar="BAR", help="After which bar: 42, 2:14 or #57.")],
    score: Annotated[
        Path | None,
        typer.Option(
            "--score", metavar="FILE", help="The score. Default: score.musicxml in the folder of PLAN.json."
        ),
    ] = None,
    json: Annotated[bool, typer.Option("--json", help="Print JSON instead of sentences and tables.")] = False,
) -> None:
    """Say why a plan has a turn after a bar, or none, and what it would cost to have it otherwise.

    \b
    Examples:
      quietleaf explain song/plan.json 42
      quietleaf explain quartet/plan.json 2:14 --score quartet.mxl --json
    """

    def run() -> None:
        from optimizer import pipeline, terminal

        with terminal.progress() as progress:
            found = pipeline.explain(plan, bar, score_path=score, progress=progress)
        terminal.print_explained_json(found) if json else terminal.print_explained(found)

    _guarded(run)


def _words(values: Words) -> tuple[str, ...]:
    """Options that may be repeated also take a comma-separated list."""
    return tuple(word.strip() for value in values or () for word in value.split(",") if word.strip())


def _guarded(run: Callable[[], None]) -> None:
    """Failures become one line on stderr and their exit code; QUIETLEAF_TRACEBACK=1 shows where a fault of ours is."""
    try:
        run()
    except QuietleafError as error:
        _fail(str(error), error.exit_code)
    except BrokenPipeError:
        # Whoever read our table has seen enough; Python would complain once more while it closes stdout.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
    except OSError as error:
        place = f"{error.filename}: " if error.filename else ""
        _fail(
            f"{place}{error.strerror or error}; check path, permissions and free space", UsageError.exit_code
        )
    except KeyboardInterrupt:
        _fail("stopped; nothing was written", 130)
    except Exception as error:
        if os.environ.get("QUIETLEAF_TRACEBACK"):
            raise
        _fail(f"a fault of ours ({type(error).__name__}: {error}); please report it with the score", 1)


def _fail(message: str, code: int) -> NoReturn:
    print(f"quietleaf: {' '.join(message.split())}", file=sys.stderr)
    raise SystemExit(code)


def main() -> None:
    """Entry point of the `quietleaf` command."""
    app(prog_name="quietleaf")
