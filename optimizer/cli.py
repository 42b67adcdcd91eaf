"""The command line: words in, settings out; no decisions here.

Exit codes: 0 done; 2 wrong usage; 3 the score cannot be read; 4 no layout satisfies the demands; 1 a fault of ours.
"""

import os
import sys
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import Annotated, NoReturn

import typer

from optimizer.errors import QuietleafError, UsageError
from optimizer.options import (
    AsGivenOption,
    BindingOption,
    BindingsOption,
    CarryOption,
    CueBarsOption,
    CueSecondsOption,
    CuesOption,
    DeskOption,
    DesksOption,
    GrammageOption,
    HandsOption,
    HolesOption,
    InstrumentsOption,
    LangOption,
    LeastStaffOption,
    LevelOption,
    MarginsOption,
    MarksOption,
    MaxPagesOption,
    MovementsOption,
    NoTurnAfterOption,
    OutputOption,
    PagesOption,
    PaperOption,
    PapersOption,
    PickOption,
    PlaybackOption,
    PlayerOption,
    PlayersOption,
    PrinterOption,
    ReplaceOption,
    ScoreArgument,
    SheetOption,
    SplitOption,
    StaffOption,
    StaffsOption,
    StripsOption,
    TempoOption,
    TimeLimitOption,
    TogetherOption,
    TurnAfterOption,
    UnprintableOption,
    WeightOption,
    Words,
)
from optimizer.parts.choices import (
    DEFAULT_CUE_BARS,
    DEFAULT_CUE_S,
    DEFAULT_LEAST_STAFF_MM,
    DEFAULT_TIME_LIMIT_S,
    Cues,
    Level,
    MovementStart,
    parse_players,
)
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


@app.callback()
def root() -> None:
    """Printed pages to perform from: staff size, systems, pages and spreads chosen together so that every turn
    falls where a hand is free.

    Try: quietleaf prepare song.mxl --desk upright -o song
    """


@app.command()
def prepare(
    score: ScoreArgument,
    output: OutputOption,
    desk: DeskOption = "stand",
    paper: PaperOption = "a4",
    margins: MarginsOption = None,
    staff: StaffOption = "auto",
    player: PlayerOption = None,
    hands: HandsOption = Hands.AUTO,
    turn_after: TurnAfterOption = None,
    no_turn_after: NoTurnAfterOption = None,
    together: TogetherOption = None,
    pages: PagesOption = None,
    max_pages: MaxPagesOption = None,
    as_given: AsGivenOption = False,
    weight: WeightOption = None,
    tempo: TempoOption = DEFAULT_TEMPO,
    carry_notes: CarryOption = DEFAULT_CARRY,
    playback_marks: PlaybackOption = False,
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
            demands=_demands(turn_after, no_turn_after, together, pages, max_pages, as_given),
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
def compare(
    score: ScoreArgument,
    output: OutputOption,
    desk: DesksOption = None,
    paper: PapersOption = None,
    binding: BindingsOption = None,
    staff: StaffsOption = None,
    pick: PickOption = None,
    margins: MarginsOption = None,
    player: PlayerOption = None,
    hands: HandsOption = Hands.AUTO,
    turn_after: TurnAfterOption = None,
    no_turn_after: NoTurnAfterOption = None,
    together: TogetherOption = None,
    pages: PagesOption = None,
    max_pages: MaxPagesOption = None,
    as_given: AsGivenOption = False,
    weight: WeightOption = None,
    tempo: TempoOption = DEFAULT_TEMPO,
    carry_notes: CarryOption = DEFAULT_CARRY,
    playback_marks: PlaybackOption = False,
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
    """Show the alternatives worth looking at side by side: compare.html, compare.json, compare.csv.

    Alternatives differ in desk, paper, binding, staff size, number of pages and in how the pages lie. Those that
    another one for the same desk and paper beats are left out. --desk, --paper, --binding and --staff may be
    given several times. With --pick N, what prepare writes is written for alternative N, beside the comparison.

    \b
    Examples:
      quietleaf compare song.mxl -o song
      quietleaf compare song.mxl --desk upright --desk grand --binding taped --binding stapled -o song
      quietleaf compare song.mxl --desk stand --staff 7 --staff 6 --no-turn-after 42 -o song
      quietleaf compare song.mxl -o song --pick 3
    """

    def run() -> None:
        from optimizer import pipeline, terminal, terminal_compare
        from optimizer.compare.choices import parse_choices

        choices = parse_choices(_words(desk), _words(paper), _words(binding), _words(staff))
        settings = Settings(
            binding=choices.bindings[0],
            player=tuple(player or ()),
            hands=hands,
            turns=TurnSettings(default_tempo=tempo, carry_allowance=carry_notes),
            demands=_demands(turn_after, no_turn_after, together, pages, max_pages, as_given),
            weights_percent=parse_weights(weight or ()),
            playback_marks=playback_marks,
            margins=parse_margins(margins) if margins else DEFAULT_MARGINS,
            sheets=SheetSettings(printer, sheet, holes, marks, unprintable, grammage, lang),
            strips=carry,
        )
        with terminal.progress() as progress:
            compared = pipeline.compare(
                score, output, choices, settings, pick=pick, replace=replace, progress=progress
            )
        terminal_compare.print_compared(compared)

    _guarded(run)


@app.command()
def parts(
    score: ScoreArgument,
    output: OutputOption,
    players: PlayersOption = None,
    split: SplitOption = None,
    level: LevelOption = Level.INTERMEDIATE,
    cues: CuesOption = Cues.AUTO,
    cue_bars: CueBarsOption = DEFAULT_CUE_BARS,
    cue_seconds: CueSecondsOption = DEFAULT_CUE_S,
    movements: MovementsOption = MovementStart.SYSTEM,
    staff: StaffOption = "auto",
    least_staff: LeastStaffOption = DEFAULT_LEAST_STAFF_MM,
    instruments: InstrumentsOption = None,
    desk: DeskOption = "stand",
    paper: PaperOption = "a4",
    margins: MarginsOption = None,
    weight: WeightOption = None,
    tempo: TempoOption = DEFAULT_TEMPO,
    carry_notes: CarryOption = DEFAULT_CARRY,
    playback_marks: PlaybackOption = False,
    binding: BindingOption = "stapled",
    holes: HolesOption = Holes.AUTO,
    sheet: SheetOption = SheetSize.PAGES,
    printer: PrinterOption = None,
    marks: MarksOption = True,
    unprintable: UnprintableOption = DEFAULT_UNPRINTABLE_MM,
    grammage: GrammageOption = DEFAULT_GRAMMAGE_GSM,
    lang: LangOption = Lang.EN,
    carry: StripsOption = Strips.NEVER,
    time_limit: TimeLimitOption = DEFAULT_TIME_LIMIT_S,
    replace: ReplaceOption = False,
) -> None:
    """Make the parts of a full score, turns planned together: a folder for each part, ensemble.pdf, ensemble.json.

    Each folder holds what prepare writes. ensemble.pdf shows the teacher who sounds, rests and turns when.

    \b
    Examples:
      quietleaf parts quartet.mxl -o quartet
      quietleaf parts trio.musicxml --level beginner --movements page -o trio
      quietleaf parts orchestra.mxl --players "Violin 1=6" --players "Violin 2=6" --cues off -o orchestra
      quietleaf parts band.mxl --split Flutes --paper 10x13in --staff 7.5 -o band
    """

    def run() -> None:
        from optimizer import terminal, terminal_parts
        from optimizer.parts.model import PartsSettings
        from optimizer.parts.prepare import prepare_parts

        settings = PartsSettings(
            paper=Settings(
                paper=parse_paper(paper),
                desk=parse_desk(desk),
                staff_mm=parse_staff(staff),
                turns=TurnSettings(default_tempo=tempo, carry_allowance=carry_notes),
                weights_percent=parse_weights(weight or ()),
                playback_marks=playback_marks,
                margins=parse_margins(margins) if margins else DEFAULT_MARGINS,
                binding=binding.strip().lower(),
                sheets=SheetSettings(printer, sheet, holes, marks, unprintable, grammage, lang),
                strips=carry,
            ),
            players=parse_players(_names(players)),
            split=_names(split),
            cues=cues,
            cue_bars=cue_bars,
            cue_s=cue_seconds,
            level=level,
            movements=movements,
            least_staff_mm=least_staff,
            instruments=str(instruments or ""),
            time_limit_s=time_limit,
        )
        with terminal.progress() as progress:
            prepared = prepare_parts(score, output, settings, replace=replace, progress=progress)
        terminal_parts.print_prepared_parts(prepared)

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


def _demands(
    turn_after: Words,
    no_turn_after: Words,
    together: Words,
    pages: int | None,
    max_pages: int | None,
    as_given: bool,
) -> Demands:
    """The demands, with lists taken apart."""
    return Demands(
        _words(turn_after), _words(no_turn_after), _words(together), pages, max_pages, as_given=as_given
    )


def _words(values: Words) -> tuple[str, ...]:
    """Options that may be repeated also take a comma-separated list."""
    return tuple(word.strip() for value in values or () for word in value.split(",") if word.strip())


def _names(values: Words) -> tuple[str, ...]:
    """Names of parts, one each time the option is given: "Clarinet in B♭, Bass" has a comma in it."""
    return tuple(value.strip() for value in values or () if value.strip())


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
    _guarded(partial(app, prog_name="quietleaf"))
