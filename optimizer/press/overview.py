"""The first page of the guide: which pages lie where, where the turns are and how much time they give.

In: score, plan, settings, words.  Out: figures and `Entry`s.  Lengths in mm, type in points.  Always true: desk and
pages of all spreads are drawn to one scale, no type is smaller than 7 pt, and every turn of the plan is listed.
"""

import re
from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace
from typing import Final

from optimizer.binding.imposition import printer_for
from optimizer.binding.model import SideKind
from optimizer.binding.packet import Moment, Packet, packet_of
from optimizer.binding.sheets import sheets_of
from optimizer.layout.plan import BlankReason, Plan, PlannedBackTurn
from optimizer.press.blocks import Block, Entry
from optimizer.press.breaking import wrap_title
from optimizer.press.diagrams import TINT, desk_columns, side_name
from optimizer.press.figures import (
    GREY,
    MIN_PT,
    WHITE,
    Area,
    Figure,
    Label,
    Line,
    grade_sign,
    line_mm,
    moved,
    rectangle,
    text_width_mm,
    wrap,
)
from optimizer.press.guide_words import GuideWords
from optimizer.press.instruments import key_told
from optimizer.press.marks import bar_range, system_row
from optimizer.press.played import Turn, assumed_tempo, graded, turn_names
from optimizer.press.reasons import Reasons, is_shared
from optimizer.press.sheet_words import SheetWords
from optimizer.press.warnings import cautions
from optimizer.score.model import Score
from optimizer.score.tempo import NO_TEMPO
from optimizer.settings import Printer, Settings
from optimizer.turns.bars import BarNames
from optimizer.turns.model import Grade
from optimizer.units import pt_to_mm

MOST_PAGE_MM: Final = 44.0  # a pictured page is at most this high
LEAST_PAGE_MM: Final = (
    14.0  # and at least this: its number, two lines of bars and a sign stand below each other
)
MOST_COLUMNS: Final = 6
NEARLY: Final = 0.85  # spreads side by side may be this much smaller than the largest picture: rows read on
LEDGE_MM: Final = 2.0  # the desk's ledge and the white to the next row
# White at the foot of a pictured page, with and without signs of what leaves it.
SIGNED_FOOT_MM: Final = 4.8
PLAIN_FOOT_MM: Final = 1.5
SIDE_MM: Final = 1.8  # white beside the bars of a pictured page: those of its neighbour are near
CELL_GAP_MM: Final = 5.0
BARS: Final = re.compile(r"^bars? |,? bars?(?= )")  # left out where the picture is small
BAR_NUMBERS: Final = re.compile(r"\b(bars?) ([^;]+)")
SECONDS: Final = re.compile(r"(\d) s\b")  # a figure and its unit stay on one line


def header(
    score: Score, plan: Plan, settings: Settings, words: GuideWords, width_mm: float
) -> Iterator[Label]:
    """Title, composer and the choices the set was made for."""
    y = 0.0
    for line in wrap_title(score.named_title or words.untitled, 17, width_mm, bold=True):
        y += line_mm(17)
        yield Label(0.0, y - 1.5, line, 17, bold=True)
    for line in wrap(" · ".join(filter(None, (score.composer, key_told(score, words)))), 10.5, width_mm):
        y += line_mm(10.5)
        yield Label(0.0, y, line, 10.5)
    y += 1.5
    for fact in _facts(score, plan, settings, words):
        for line in wrap(fact, 9, width_mm):
            y += line_mm(9)
            yield Label(0.0, y, line, 9, colour=GREY)


def spread_rows(
    score: Score, plan: Plan, settings: Settings, words: GuideWords, width_mm: float, height_mm: float
) -> tuple[Block, ...]:
    """Every spread on its desk, all to the largest scale at which their rows are no higher than `height_mm` together,
    but for very many: these need more, so that they can be read."""
    paper, count = settings.paper, len(plan.spreads)
    packet = packet_of(plan, sheets_of(plan, settings))
    spans = _spans(packet, plan.pages_abreast)
    widest = max(settings.desk.width_mm, max(last - first + 1 for first, last in spans) * paper.width_mm)
    below_mm = LEDGE_MM + line_mm(MIN_PT) + CELL_GAP_MM

    def scale_for(columns: int) -> float:
        rows = -(-count // columns)
        across = (width_mm - (columns - 1) * CELL_GAP_MM) / columns / widest
        high_mm = max(LEAST_PAGE_MM, min(MOST_PAGE_MM, height_mm / rows - below_mm))
        return min(across, high_mm / paper.height_mm)

    choices = range(1, min(count, MOST_COLUMNS) + 1)
    largest = max(map(scale_for, choices))
    columns = max(number for number in choices if scale_for(number) >= NEARLY * largest)
    scale = scale_for(columns)
    cell = (width_mm - (columns - 1) * CELL_GAP_MM) / columns
    rows: list[list[Figure]] = [[] for _ in range(-(-count // columns))]
    for index, (moment, span) in enumerate(zip(packet.moments, spans, strict=True)):
        row, column = divmod(index, columns)
        spread = _spread(score, plan, settings, words, packet, moment, span, scale, cell)
        rows[row] += moved(spread, column * (cell + CELL_GAP_MM), 0.0)
    return tuple(Block(paper.height_mm * scale + below_mm, tuple(figures)) for figures in rows)


def _spans(packet: Packet, pages_abreast: int) -> list[tuple[int, int]]:
    """For each spread the first and last of the columns that are centred on the desk: all in which paper ever lies,
    so that the set stays where it is; where the desk is too narrow for these, those of the spread."""
    first, last = desk_columns(packet)
    if last - first < pages_abreast:
        return [(first, last)] * len(packet.moments)
    return [(moment.pose.columns[0], moment.pose.columns[-1]) for moment in packet.moments]


def _facts(score: Score, plan: Plan, settings: Settings, words: GuideWords) -> Iterator[str]:
    paper, desk = settings.paper, settings.desk
    name = paper.name.upper() if paper.name.isalnum() and len(paper.name) == 2 else paper.name.capitalize()
    yield words.paper_and_desk(
        paper=name,
        size=words.size(paper.width_mm, paper.height_mm, paper),
        desk=words.desk(desk.name),
        width=words.length(desk.width_mm, paper),
        abreast=words.abreast(plan.pages_abreast),
    )
    grades = Counter(turn.grade for turn in plan.turns)
    turns = ", ".join(words.graded(grades[grade], grade) for grade in Grade if grades[grade])
    leaves = len(sheets_of(plan, settings).leaves)
    pattern = words.pattern([len(spread) for spread in plan.spreads], leaves)
    binding = words.binding(plan.binding, leaves)
    bound = f"{binding[0].upper()}{binding[1:]}"
    staff = words.staff(staff=words.number(plan.staff_mm))
    yield " · ".join(
        (
            words.told(what=bound, how=pattern) if len(plan.pages) > 1 else bound,
            staff,
            words.pages(len(plan.pages)),
            words.told(what=words.turns(len(plan.turns)), how=turns) if turns else words.no_turn,
            *filter(None, (assumed_tempo(score, settings, words),)),
        )
    )


def _spread(
    score: Score,
    plan: Plan,
    settings: Settings,
    words: GuideWords,
    packet: Packet,
    moment: Moment,
    span: tuple[int, int],
    scale: float,
    cell: float,
) -> Iterator[Figure]:
    """One spread as it lies on the desk, centred in a cell: its pages, fold-outs that lie out beside them, the desk's
    ledge below, a caption. `span`: the columns that are centred on the desk."""
    wide, high = settings.paper.width_mm * scale, settings.paper.height_mm * scale
    desk = settings.desk.width_mm * scale
    centre = cell / 2
    ledge = (
        (centre - desk / 2, high - 1.2),
        (centre - desk / 2, high + 0.5),
        (centre + desk / 2, high + 0.5),
    )
    yield Line((*ledge, (centre + desk / 2, high - 1.2)), 0.5, GREY)
    left = centre - sum(span) / 2 * wide - wide / 2
    names = turn_names(plan)
    for placed in moment.pose.top():
        side, x = packet.shown(placed), left + placed.column * wide
        if side is not None and side.number in moment.pages and side.kind is not SideKind.TITLE:
            yield from _page(score, plan, words, names, side.number, x, wide, high)
        elif placed.panel in packet.outs:
            yield rectangle(x, 0, wide, high, TINT, GREY)
            yield Label(
                x + wide / 2, high * 0.36, f"({side_name(side, words)})", MIN_PT, "middle", colour=GREY
            )
    first, last = moment.pages[0], moment.pages[-1]
    pages = words.page(page=first) if first == last else words.page_range(first=first, last=last)
    yield Label(centre, high + LEDGE_MM + pt_to_mm(MIN_PT), pages, MIN_PT, "middle", colour=GREY)


def _page(
    score: Score,
    plan: Plan,
    words: GuideWords,
    names: dict[Turn, str],
    number: int,
    x: float,
    wide: float,
    high: float,
) -> Iterator[Figure]:
    """A page with its number, its bars, and the signs of what leaves it at its foot."""
    page = next(page for page in plan.pages if page.number == number)
    yield replace(rectangle(x, 0, wide, high, WHITE, "#000000"), width_mm=0.25)
    size = max(MIN_PT, min(16.0, high / 2.2))
    told = bar_range(score, page)
    bars = words.blank_page if page.blank else said_bars(told, words)
    if ", bar" in told or text_width_mm(bars, MIN_PT) > wide - 2 * SIDE_MM:
        bars = BARS.sub("", told) or bars
    rows = wrap(" ".join(_parted(bars.split(" "), wide - 2 * SIDE_MM)), MIN_PT, wide - 2 * SIDE_MM)
    signed = any(turn.from_page == number for turn in names)
    y = min(high * 0.36, high - (SIGNED_FOOT_MM if signed else PLAIN_FOOT_MM) - line_mm(MIN_PT) * len(rows))
    yield Label(x + wide / 2, y, str(number), size, "middle", bold=True)
    for row, text in enumerate(rows, start=1):
        yield Label(x + wide / 2, y + line_mm(MIN_PT) * row, text, MIN_PT, "middle")
    place, low = x + wide - 2.2, high - 2.6
    for turn in [turn for turn in plan.turns if turn.from_page == number][::-1]:
        yield from grade_sign(turn.grade, place, low, 2.4)
        yield Label(place - 1.8, low + 0.9, names[turn], MIN_PT, "end", bold=True)
        place -= 3.4 + text_width_mm(names[turn], MIN_PT, bold=True)
    place, low = x + 2.2, high - 2.6 if wide > 16 or place > x + wide - 3 else high - 6.4
    for back in [turn for turn in plan.back_turns if turn.from_page == number]:
        yield from _back_sign(place, low)
        yield Label(place + 1.8, low + 0.9, names[back], MIN_PT, bold=True)
        place += 3.8 + text_width_mm(names[back], MIN_PT, bold=True)


def _parted(words: Iterable[str], width_mm: float) -> Iterator[str]:
    """Words, of which those that are too wide may break behind a dash: "126–" over "150", not "126–1" over "50"."""
    for word in words:
        yield word.replace("–", "– ") if text_width_mm(word, MIN_PT) > width_mm else word


def _back_sign(x: float, y: float) -> tuple[Figure, ...]:
    """An arrow to the left."""
    return (
        Line(((x + 1.3, y), (x - 0.6, y)), 0.35),
        Area(((x - 1.4, y), (x - 0.1, y - 0.9), (x - 0.1, y + 0.9))),
    )


def turn_entries(score: Score, plan: Plan, settings: Settings, words: GuideWords) -> Iterator[Entry]:
    """Turns, then back-turns, in the order of the plan."""
    reasons = Reasons(score, plan, words)

    def entry(turn: Turn, say: Callable[..., str]) -> Entry:
        return _turn_entry(score, plan, words, turn, say, _details(turn, reasons, settings, words))

    if plan.turns:
        yield Entry(words.turns_heading, "")
    else:
        yield Entry(words.no_turns_heading, "")
        yield Entry("", words.all_open if len(plan.pages) > 1 else words.on_one_page)
    for turn in plan.turns:
        say = words.turn_to if turn.to == turn.after + 1 else words.jump_on_to
        yield entry(turn, say)
    if plan.back_turns:
        yield Entry(words.back_turns_heading, "")
    for back in plan.back_turns:
        yield entry(back, words.back_to)


def _turn_entry(
    score: Score, plan: Plan, words: GuideWords, turn: Turn, say: Callable[..., str], details: str
) -> Entry:
    bars = BarNames(score)
    sign = grade_sign(turn.grade, 8.0, 0.0, 2.6)
    if isinstance(turn, PlannedBackTurn):
        sign = (*sign, *_back_sign(1.6, 0.0))
    here, there = str(turn.from_page), str(turn.to_page)
    if turn.to != turn.after + 1 and not (bars.is_unique(turn.after) and bars.is_unique(turn.to)):
        # A jump whose bars cannot be found by their numbers.
        here = words.at_system(page=here, row=system_row(plan, turn.after))
        there = words.at_system(page=there, row=system_row(plan, turn.to))
    return Entry(say(here=here, there=there), details, sign, turn_names(plan)[turn])


def _details(turn: Turn, reasons: Reasons, settings: Settings, words: GuideWords) -> str:
    """Grade and reason."""
    parts = [graded(turn, settings, words), ", ".join(reasons.of(turn))]
    if turn.leaves > 1:
        parts.append(words.leaves_at_once(leaves=words.leaves(turn.leaves)))
    return SECONDS.sub("\\1\u00a0s", words.then.join(parts) + ".")


def caution_entries(score: Score, plan: Plan, settings: Settings, words: GuideWords) -> Iterator[Entry]:
    """What to know before playing."""
    names = turn_names(plan)
    yield Entry(words.before_you_play, "")
    sheets = sheets_of(plan, settings)
    printer = printer_for(sheets, settings)
    sides = SheetWords(words.lang).sides(printer, sheets.two_sided)
    yield Entry(words.print_true_lead, words.print_true(sides=sides))
    if sheets.two_sided and printer is Printer.SINGLE:
        runs = words.in_two_runs if len(sheets.leaves) > 1 else words.in_two_runs_of_one
        yield Entry(words.in_two_runs_lead, runs)
    if score.copies > 1:
        yield Entry(words.copies_lead(n=score.copies), words.copies)
    blocked = [name for turn, name in names.items() if turn.grade is Grade.BLOCKED]
    if blocked:
        yield Entry(words.no_hand_lead(turns=words.listed(blocked)), words.no_hand)
    for page in plan.pages:
        if page.blank:
            why = " ".join(_why_blank(page.reason, words)) if page.reason else words.blank_anyway
            yield Entry(words.blank_lead(page=page.number), why)
    yield from (Entry(lead, text) for lead, text in _notes(score, plan, settings, words))
    yield from (Entry(lead, text) for lead, text in cautions(score, plan, settings, words=words))
    yield Entry(words.copying_lead, words.copying)


def _notes(score: Score, plan: Plan, settings: Settings, words: GuideWords) -> Iterator[tuple[str, str]]:
    """What the terminal tells elsewhere, and what the signs at the foot of the pages mean."""
    if is_shared(plan):
        yield words.shared_copy_lead, words.shared_copy
    if plan.turns:
        yield words.folded_corner_lead, words.folded_corner
    if plan.pages[0].number > 1 and not plan.outside_title:
        yield words.begins_with_two_lead, words.begins_with_two
    if score.tempo_source.startswith(NO_TEMPO):
        tempo = words.number(settings.turns.default_tempo)
        yield words.assumed_tempo_lead, words.assumed_tempo(tempo=tempo)
    if score.unreached:
        yield words.never_reached_lead(bars=_never_reached(score, words)), words.never_reached


def _never_reached(score: Score, words: GuideWords) -> str:
    """From the first to the last bar that repeats and jumps do not lead to; where numbers would not tell, how many."""
    bars = BarNames(score).ranges(score.unreached[0], score.unreached[-1])
    return said_bars(bars, words) if bars else words.bars_counted(len(score.unreached))


def _why_blank(reason: BlankReason, words: GuideWords) -> Iterator[str]:
    """The turn that a blank page leads to, and what there would be without it."""

    def told(grade: Grade | None) -> str:
        return f" ({words.grade(grade)})" if grade else ""

    yield words.blank_turn(bar=reason.after_bar, grade=told(reason.grade))
    if reason.forced:
        yield words.blank_forced
    elif reason.instead_bar:
        yield words.blank_instead(bar=reason.instead_bar, grade=told(reason.instead_grade))
    elif reason.points is not None:
        yield words.blank_better


def said_bars(text: str, words: GuideWords) -> str:
    """Bar numbers in the language: "bars 12–31" as "Takte 12–31"."""
    say = {"bar": words.bar, "bars": words.bars}
    return BAR_NUMBERS.sub(lambda match: say[match[1]](bar=match[2], bars=match[2]), text)
