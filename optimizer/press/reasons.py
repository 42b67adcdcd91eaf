"""Why a turn is as hard as it is, in the language of the guide.

In: a turn of the plan, whose sentence is English, and words.  Out: its parts, in the order of the sentence.  Always
true: a part of the English sentence as optimizer/turns/sentences.py writes it is told in every language; bars are named
from the score, seconds and notes are told from the plan's figures.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from math import inf
from typing import Final

from optimizer.layout.plan import Plan
from optimizer.press.foot_words import FootWords
from optimizer.press.guide_words import GuideWords
from optimizer.press.language import Phrase, Sentence, Words
from optimizer.press.played import Turn
from optimizer.score.model import Score
from optimizer.settings import Lang
from optimizer.turns.bars import BarNames, Count
from optimizer.turns.model import Grade, StripKind, tenths_s

# What optimizer/parts/limits.py adds to the sentence of each turn of a copy that two share: told once in the guide.
INSIDE_TURNS: Final = "; the inside player turns, the outside player plays on"
# What optimizer/turns/sentences.py writes.
NO_TIME: Final = "no time"
MOVEMENT_ENDS: Final = "the movement ends"
ALWAYS_FREE: Final = "a hand is always free"
ON_REPEAT: Final = " on the repeat"
NOT_BEGUN: Final = " not begun"
TO_THE_END: Final = " to the end"
HOLDS: Final = re.compile(r" holds? a note from ")
PLACE: Final = re.compile(
    r" (?P<which>from|to) (?P<count>beat|eighth|sixteenth) (?P<beat>\d+[¼½¾]?)(?: of (?P<bar>.+?))?(?=, free| to |$)"
)
BARS_BEFORE: Final = re.compile(r"the (?:(\d+)\w\w )?bar before")
NEXT_BAR: Final = "the next bar"
NUMBERED: Final = re.compile(r"bar (\S+)")


@dataclass(frozen=True)
class ReasonWords(Words):
    """What only the reasons say."""

    after_place = Sentence("after {bar}", "nach {bar}", "après {bar}", "tras {bar}", "efter {bar}")
    of_place = Sentence("of {bar}", "({bar})", "({bar})", "({bar})", "({bar})")
    again_at_foot = Sentence(
        "{bars} printed again at the foot",
        "am Fuß noch einmal: {bars}",
        "au bas de la page, encore une fois\u00a0: {bars}",
        "al pie, otra vez: {bars}",
        "längst ned en gång till: {bars}",
    )
    again_overleaf = Sentence(
        "{bars} printed again overleaf",
        "umseitig noch einmal: {bars}",
        "à la page suivante, encore une fois\u00a0: {bars}",
        "en la página siguiente, otra vez: {bars}",
        "på nästa sida en gång till: {bars}",
    )
    from_eighth = Sentence(
        "from eighth {beat}",
        "ab Achtel {beat}",
        "à partir de la croche {beat}",
        "desde la corchea {beat}",
        "från åttondel {beat}",
    )
    to_eighth = Sentence(
        "to eighth {beat}",
        "bis Achtel {beat}",
        "jusqu’à la croche {beat}",
        "hasta la corchea {beat}",
        "till åttondel {beat}",
    )
    from_sixteenth = Sentence(
        "from sixteenth {beat}",
        "ab Sechzehntel {beat}",
        "à partir de la double croche {beat}",
        "desde la semicorchea {beat}",
        "från sextondel {beat}",
    )
    to_sixteenth = Sentence(
        "to sixteenth {beat}",
        "bis Sechzehntel {beat}",
        "jusqu’à la double croche {beat}",
        "hasta la semicorchea {beat}",
        "till sextondel {beat}",
    )
    next_bar = Phrase(
        "of the next bar", "im nächsten Takt", "de la mesure suivante", "del compás siguiente", "i nästa takt"
    )
    bar_before = Phrase(
        "of the bar before",
        "im Takt davor",
        "de la mesure précédente",
        "del compás anterior",
        "i takten före",
    )
    bars_before = Sentence(
        ", {n} bars before",
        ", {n} Takte davor",
        ", {n} mesures plus tôt",
        ", {n} compases antes",
        ", {n} takter tidigare",
    )
    back_to = Sentence(
        "back to {bar}", "zurück: {bar}", "retour\u00a0: {bar}", "volver: {bar}", "tillbaka: {bar}"
    )
    on_to = Sentence("on to {bar}", "weiter: {bar}", "suite\u00a0: {bar}", "seguir: {bar}", "vidare: {bar}")
    on_repeat = Sentence(
        "{jump} on the repeat",
        "{jump} (Wiederholung)",
        "{jump} (reprise)",
        "{jump} (repetición)",
        "{jump} (repris)",
    )
    no_time = Phrase("no time", "keine Zeit", "pas de temps", "sin tiempo", "ingen tid")
    not_begun = Sentence(
        "{hand} not begun",
        "{hand} noch ohne Einsatz",
        "{hand}\u00a0: rien à jouer avant",
        "{hand}: aún sin entrar",
        "{hand} har inte börjat",
    )
    to_the_end = Phrase("to the end", "bis zum Schluss", "jusqu’à la fin", "hasta el final", "till slutet")
    holding = Phrase(
        "(holding a note)",
        "(mit gehaltenem Ton)",
        "(note tenue)",
        "(con una nota mantenida)",
        "(med en hållen ton)",
    )


def is_shared(plan: Plan) -> bool:
    """Whether two players read this copy: the grades of its turns are then one easier than their times."""
    turns: tuple[Turn, ...] = (*plan.turns, *plan.back_turns)
    return any(turn.why.endswith(INSIDE_TURNS) for turn in turns)


class Reasons:
    """Tells turns of one plan."""

    def __init__(self, score: Score, plan: Plan, words: GuideWords) -> None:
        self._score, self._plan, self._words = score, plan, words
        self._said = ReasonWords(words.lang)
        self._english, self._names = BarNames(score), BarNames(score, FootWords(words.lang).bar_words)

    def of(self, turn: Turn) -> Iterator[str]:
        """The parts of a turn's sentence."""
        return (
            iter((turn.why.removesuffix(INSIDE_TURNS),)) if self._words.lang is Lang.EN else self._told(turn)
        )

    def _told(self, turn: Turn) -> Iterator[str]:
        words, strip = self._words, self._plan.strip_at(turn)
        if strip:
            say = self._said.again_at_foot if strip.kind is StripKind.LATE else self._said.again_overleaf
            yield say(bars=self._names.ranges(strip.first, strip.last))
        after = strip.turn_after if strip else turn.after
        bar = NUMBERED.fullmatch(self._english.name(after))
        yield words.after_bar(bar=bar[1]) if bar else self._said.after_place(bar=self._names.name(after))
        if MOVEMENT_ENDS in turn.why:
            yield words.movement_ends
        if not strip and turn.to != turn.after + 1:
            say = self._said.on_to if turn.to > turn.after else self._said.back_to
            jump = say(bar=self._names.goal(turn.to, beside=turn.after))
            yield self._said.on_repeat(jump=jump) if ON_REPEAT in turn.why else jump
        if MOVEMENT_ENDS not in turn.why:
            yield self._time(turn, after)
            if turn.carry:
                yield words.by_heart(notes=words.notes(turn.carry))
            if turn.passes > 1:
                yield words.played_times(turn.passes)

    def _time(self, turn: Turn, after: int) -> str:
        """How long which hand is free, and from where."""
        words, said = self._words, self._said
        hand = words.hand(turn.hand)
        if ALWAYS_FREE in turn.why or turn.free_s == inf:
            return words.a_hand
        if turn.grade is Grade.BLOCKED or NO_TIME in turn.why:
            return said.no_time
        if NOT_BEGUN in turn.why:
            return said.not_begun(hand=hand)
        where = [*self._places(turn.why, after), *([said.to_the_end] if TO_THE_END in turn.why else [])]
        holding = [said.holding] if HOLDS.search(turn.why) else []
        free = words.hand_free(turn.hand, words.seconds(tenths_s(turn.free_s)))
        return " ".join((free, *where, *holding)).replace(" ,", ",")

    def _places(self, why: str, after: int) -> Iterator[str]:
        words, said = self._words, self._said
        says = {
            Count.BEAT: (words.from_beat, words.to_beat),
            Count.EIGHTH: (said.from_eighth, said.to_eighth),
            Count.SIXTEENTH: (said.from_sixteenth, said.to_sixteenth),
        }
        for place in PLACE.finditer(why):
            say = says[Count(place["count"])][place["which"] == "to"]
            yield say(beat=place["beat"])
            if place["bar"]:
                yield self._bar(place["bar"], after)

    def _bar(self, english: str, after: int) -> str:
        """A bar that is not the one before the turn."""
        if english == NEXT_BAR:
            return self._said.next_bar
        if before := BARS_BEFORE.fullmatch(english):
            return self._said.bars_before(n=before[1]) if before[1] else self._said.bar_before
        if bar := NUMBERED.fullmatch(english):
            return self._words.of_bar(bar=bar[1])
        indices = range(len(self._score.measures))
        index = next((i for i in indices if self._english.name(i, beside=after) == english), None)
        return self._said.of_place(bar=self._names.name(index, beside=after)) if index is not None else ""
