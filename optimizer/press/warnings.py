"""What a player should know before relying on the pages: small notes, long strips of tape, letters that cannot be
shown.

In: score, plan, settings, and the drawn systems where lyrics are to be looked at too.  Out: warnings, a bold
beginning and a sentence each.  Always true: the guide and the summary warn of the same
things, the summary in English.
"""

from collections.abc import Iterator
from typing import Final

from optimizer.binding.packet import CENTRE, packet_of
from optimizer.binding.sheets import sheets_of
from optimizer.engrave.model import Engraved, Text
from optimizer.layout.geometry import bound_margins
from optimizer.layout.plan import Plan
from optimizer.press.diagrams import side_name
from optimizer.press.fonts import missing_letters
from optimizer.press.guide_words import GuideWords, guide_words
from optimizer.press.played import turn_names
from optimizer.press.sheet_words import SheetWords
from optimizer.score.model import PartKind, Score
from optimizer.settings import DESK_OVERHANG_MM, Lang, Settings, Strips
from optimizer.turns.model import Grade, is_by_heart

# Piano music is 6 to 7 mm (needs.md, from memory); 5.5 mm is rastral size 6, the smallest this program chooses
# for it of its own accord.
SMALL_STAFF_MM: Final = 5.5
# Loose strips fall off the desk, and concertinas are tolerated for 2 or 3 sheets by some (needs.md); the count is ours.
MANY_TAPED_PAGES: Final = 8
MOST_LETTERS: Final = 12  # named in a warning
ENGLISH: Final = guide_words(Lang.EN)


def warnings(
    score: Score, plan: Plan, settings: Settings, engraved: Engraved | None = None
) -> tuple[str, ...]:
    """Warnings about a set of pages, a sentence each; with `engraved`, also about letters in the music."""
    return tuple(f"{lead} {text}" for lead, text in cautions(score, plan, settings, engraved))


def cautions(
    score: Score,
    plan: Plan,
    settings: Settings,
    engraved: Engraved | None = None,
    words: GuideWords = ENGLISH,
) -> Iterator[tuple[str, str]]:
    """The same as beginning and rest."""
    if plan.staff_mm < SMALL_STAFF_MM:
        say = words.small_notes_few_pages if settings.demands.max_pages else words.small_notes
        staff, least = (words.number(size_mm) for size_mm in (plan.staff_mm, SMALL_STAFF_MM))
        yield words.small_notes_lead, say(staff=staff, least=least)
    two_mm = 2 * settings.paper.width_mm
    if two_mm > settings.desk.width_mm + DESK_OVERHANG_MM:
        two, desk = (words.length(wide_mm, settings.paper) for wide_mm in (two_mm, settings.desk.width_mm))
        text = words.narrow_desk(two=two, desk=desk)
        yield words.narrow_desk_lead, text
    if too_wide := wider_than_desk(plan, settings, words):
        yield words.too_wide_lead, too_wide
    names = turn_names(plan)
    allowance = settings.turns.carry_allowance
    if heavy := [name for turn, name in names.items() if is_by_heart(turn.carry, allowance)]:
        yield words.much_by_heart_lead(turns=words.turns_named(heavy)), words.much_by_heart
    if empty := list(_silent_pages(score, plan)):
        yield words.nothing_to_play_lead(pages=words.pages_named(empty)), words.nothing_to_play
    hard = any(turn.grade in (Grade.TIGHT, Grade.BLOCKED) for turn in plan.turns)
    if (
        not plan.strips
        and plan.turns
        and (settings.strips is Strips.ALWAYS or (settings.strips is Strips.AUTO and hard))
    ):
        yield words.nothing_again_lead, words.nothing_again
    if plan.binding == "taped" and len(plan.pages) > MANY_TAPED_PAGES:
        yield words.long_taped_lead, words.long_taped(pages=words.pages(len(plan.pages)))
    margin_mm = _narrowest_mm(settings)
    if margin_mm < settings.sheets.unprintable_mm:
        said = SheetWords(words.lang)
        margin, edge = said.number(margin_mm), said.number(settings.sheets.unprintable_mm)
        yield said.narrow_margin_lead, said.narrow_margin(margin=margin, edge=edge)
    if unknown := missing_letters("".join(sorted(set(_printed(score, engraved))))):
        named = [*map(_shown, unknown[:MOST_LETTERS]), *([words.and_more] if unknown[MOST_LETTERS:] else [])]
        yield words.missing_letters_lead, words.missing_letters(letters=" ".join(named))


def _silent_pages(score: Score, plan: Plan) -> Iterator[str]:
    """Pages of a piece with a keyboard on which others have notes and the keyboard has none."""
    keyboards = {part.index for part in score.parts if part.kind is PartKind.KEYBOARD}
    played = {note.measure_index for note in score.notes if note.part_index in keyboards}
    others = {note.measure_index for note in score.notes if note.part_index not in keyboards}
    for page in plan.pages if keyboards else ():
        bars = {bar for system in page.systems for bar in range(system.first, system.last + 1)}
        if bars & others and not bars & played:
            yield str(page.number)


def wider_than_desk(plan: Plan, settings: Settings, words: GuideWords) -> str:
    """What to do where the fold-outs of both ends have no room beside each other; empty where the desk takes them."""
    packet = packet_of(plan, sheets_of(plan, settings))
    if not packet.tucked:
        return ""
    first, last = (
        words.pages_named([side_name(packet.panels[panel].front, words) for panel in panels])
        for panels in (packet.tucked, packet.spreads[-1].right_outs)
    )
    abreast, paper = len(packet.outs) + CENTRE, settings.paper
    say = words.tuck_once if len(plan.spreads) == 2 else words.tuck
    said = [
        words.too_wide(
            pages=words.pages(abreast),
            width=words.length(abreast * paper.width_mm, paper),
            desk=words.length(settings.desk.width_mm, paper),
        ),
        say(
            first=first,
            last=last,
            most=words.pages(packet.most_abreast),
            most_width=words.length(packet.most_abreast * paper.width_mm, paper),
        ),
    ]
    if hurried := list(_hurried(plan, settings)):
        said.append(words.tuck_in_a_hurry(turns=words.turns_named(hurried)))
    return " ".join(said)


def _hurried(plan: Plan, settings: Settings) -> Iterator[str]:
    """The turns at which something is folded as well, where fewer seconds are free than as many turns would take."""
    first, last = plan.spreads[0], plan.spreads[-1]
    for turn, name in turn_names(plan).items():
        pages = {turn.from_page, turn.to_page}
        movements = 1 + (not pages.isdisjoint(first)) + (not pages.isdisjoint(last))
        if movements > 1 and turn.free_s < movements * settings.turns.quick_s:
            yield name


def _narrowest_mm(settings: Settings) -> float:
    """The least white between the paper's edge and what is printed."""
    margins, _ = bound_margins(settings.margins, settings.binding)
    return min(margins.left_mm, margins.right_mm, margins.top_mm, margins.bottom_mm)


def _printed(score: Score, engraved: Engraved | None) -> Iterator[str]:
    """Every character that is set in the text face."""
    for string in (
        score.title, score.subtitle, score.composer, score.lyricist, score.rights, *score.movement_titles.values()
    ):  # fmt: skip
        yield from "".join(string.split())
    for system in engraved.systems if engraved else ():
        for item in system.items:
            if isinstance(item, Text) and item.font == "serif":
                yield from "".join(item.string.split())


def _shown(letter: str) -> str:
    """A letter, or its code where it has no shape of its own."""
    return letter if letter.isprintable() else f"U+{ord(letter):04X}"
