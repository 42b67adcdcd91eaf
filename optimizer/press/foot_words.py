"""What is said at the foot of a page of music, in five languages: `Words` with these texts.

In: a language.  Out: `FootWords`.  Always true: as in optimizer/press/language.py, a text stands in all five languages
side by side with the same gaps in each.  Usage of each language is from memory.  English sentences are whole; the other
languages put a colon where an article or case would have to follow the kind of goal.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from optimizer.press.language import Counted, Phrase, Sentence, Words
from optimizer.settings import Lang
from optimizer.turns.bars import BarWords, ordinal


@dataclass(frozen=True)
class FootWords(Words):
    """Turns and jumps, as short as can be."""

    # --- turns ----------------------------------------------------------------------------------------------
    bars_more = Counted("bar|bars", "Takt|Takte", "mesure|mesures", "compás|compases", "takt|takter")
    beats_more = Counted("beat|beats", "Schlag|Schläge", "temps|temps", "tiempo|tiempos", "slag|slag")
    bars_free = Counted(
        "bar|bars",
        "Takt frei|Takte frei",
        "mesure libre|mesures libres",
        "compás libre|compases libres",
        "takt fri|takter fria",
    )
    beats_free = Counted(
        "beat|beats",
        "Schlag frei|Schläge frei",
        "temps libre|temps libres",
        "tiempo libre|tiempos libres",
        "slag fritt|slag fria",
    )
    turn_both = Sentence(
        "turn: {before} + {more} over",
        "wenden: {before} + {more} danach",
        "tourner\u00a0: {before} + {more} après",
        "pasar: {before} + {more} después",
        "vänd: {before} + {more} efter",
    )
    turn_before = Sentence(
        "turn: {before}", "wenden: {before}", "tourner\u00a0: {before}", "pasar: {before}", "vänd: {before}"
    )
    turn_over = Sentence(
        "turn: {over} free overleaf",
        "wenden: danach {over}",
        "tourner\u00a0: ensuite {over}",
        "pasar: después {over}",
        "vänd: sedan {over}",
    )

    turn_between = Sentence(
        "turn: between beats {since} and {until}",
        "wenden: zwischen Schlag {since} und {until}",
        "tourner\u00a0: entre les temps {since} et {until}",
        "pasar: entre los tiempos {since} y {until}",
        "vänd: mellan slag {since} och {until}",
    )
    turn_until = Sentence(
        "turn: before beat {until}",
        "wenden: vor Schlag {until}",
        "tourner\u00a0: avant le temps {until}",
        "pasar: antes del tiempo {until}",
        "vänd: före slag {until}",
    )

    # --- jumps ----------------------------------------------------------------------------------------------
    jump_back = Sentence(
        "back to {goal}, {where}",
        "zurück: {goal}, {where}",
        "retour\u00a0: {goal}, {where}",
        "volver: {goal}, {where}",
        "tillbaka: {goal}, {where}",
    )
    jump_on = Sentence(
        "on to {goal}, {where}",
        "weiter: {goal}, {where}",
        "suite\u00a0: {goal}, {where}",
        "seguir: {goal}, {where}",
        "vidare: {goal}, {where}",
    )
    last_time = Sentence(
        "last time {jump}",
        "letztes Mal {jump}",
        "dernière fois, {jump}",
        "última vez, {jump}",
        "sista gången {jump}",
    )
    nth_time = Sentence(
        "{times} time {jump}",
        "{times} Mal {jump}",
        "{times} fois, {jump}",
        "{times} vez, {jump}",
        "{times} gången {jump}",
    )
    page_and_system = Sentence(
        "page {page}, system {row}",
        "Seite {page}, System {row}",
        "page {page}, système {row}",
        "página {page}, sistema {row}",
        "sida {page}, system {row}",
    )
    in_system = Sentence(
        "{bar} in system {row}",
        "{bar} in System {row}",
        "{bar} au système {row}",
        "{bar} en el sistema {row}",
        "{bar} i system {row}",
    )
    after = Sentence(
        "after {bars}: {jump}",
        "nach {bars}: {jump}",
        "après {bars}\u00a0: {jump}",
        "tras {bars}: {jump}",
        "efter {bars}: {jump}",
    )
    more = Phrase(
        "more jumps: see the guide",
        "weitere Sprünge: siehe Anleitung",
        "autres renvois\u00a0: voir le guide",
        "más saltos: véase la guía",
        "fler hopp: se guiden",
    )

    # --- bars without a number of their own -------------------------------------------------------------------
    _bar = Phrase("bar {bar}", "Takt {bar}", "mesure {bar}", "compás {bar}", "takt {bar}")
    _bars = Phrase("bars {bars}", "Takte {bars}", "mesures {bars}", "compases {bars}", "takterna {bars}")
    _next = Phrase(
        "the bar after {bar}",
        "Takt nach {bar}",
        "mesure après {bar}",
        "compás siguiente al {bar}",
        "takten efter {bar}",
    )
    _later = Phrase(
        "the {nth} bar after {bar}",
        "{n} Takte nach {bar}",
        "{n} mesures après {bar}",
        "{n} compases después del {bar}",
        "{n} takter efter {bar}",
    )
    _pickup = Phrase("the pickup", "Auftakt", "anacrouse", "anacrusa", "upptakt")
    _first = Phrase("the first bar", "erster Takt", "première mesure", "primer compás", "första takten")
    _beginning = Phrase("the beginning", "Anfang", "début", "principio", "början")
    _beginning_of = Phrase(
        "the beginning of {movement}",
        "{movement}, Anfang",
        "{movement}, début",
        "{movement}, principio",
        "{movement}, början",
    )

    @property
    def bar_words(self) -> BarWords:
        """How bars are called."""
        return BarWords(
            self._bar, self._bars, self._next, self._later, self._pickup, self._first, self._beginning,
            self._beginning_of,
        )  # fmt: skip

    def times(self, numbers: Sequence[int]) -> str:
        """ "1st and 2nd" (time), "1. und 2." (Mal)."""
        return self.listed([self._nth(number) for number in numbers])

    def _nth(self, number: int) -> str:
        if self.lang is Lang.SV:
            return f"{number}:{'a' if number % 10 in (1, 2) and number % 100 not in (11, 12) else 'e'}"
        forms = {
            Lang.DE: f"{number}.",
            Lang.FR: "1re" if number == 1 else f"{number}e",
            Lang.ES: f"{number}.ª",
        }
        return forms.get(self.lang) or ordinal(number)
