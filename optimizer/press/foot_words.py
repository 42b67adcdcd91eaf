"""What is said at the foot of a page of music, in five languages: `Words` with these texts.

In: a language.  Out: `FootWords`.  Always true: as in optimizer/press/language.py, a text stands in all five languages
side by side with the same gaps in each.  Usage of each language is from memory.  English sentences are whole; the other
languages put a colon where an article or case would have to follow the kind of goal.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from optimizer.press.language import Counted, Phrase, Sentence, Words
from optimizer.settings import Lang
from optimizer.turns.bars import BarWords, Count, ordinal


@dataclass(frozen=True)
class FootWords(Words):
    """Turns and jumps, as short as can be."""

    # --- turns ----------------------------------------------------------------------------------------------
    bars_more = Counted("bar|bars", "Takt|Takte", "mesure|mesures", "compás|compases", "takt|takter")
    _beats_more = Counted("beat|beats", "Schlag|Schläge", "temps|temps", "tiempo|tiempos", "slag|slag")
    _eighths_more = Counted(
        "eighth|eighths", "Achtel|Achtel", "croche|croches", "corchea|corcheas", "åttondel|åttondelar"
    )
    _sixteenths_more = Counted(
        "sixteenth|sixteenths",
        "Sechzehntel|Sechzehntel",
        "double croche|doubles croches",
        "semicorchea|semicorcheas",
        "sextondel|sextondelar",
    )
    bars_free = Counted(
        "bar|bars",
        "Takt frei|Takte frei",
        "mesure libre|mesures libres",
        "compás libre|compases libres",
        "takt fri|takter fria",
    )
    _beats_free = Counted(
        "beat|beats",
        "Schlag frei|Schläge frei",
        "temps libre|temps libres",
        "tiempo libre|tiempos libres",
        "slag fritt|slag fria",
    )
    _eighths_free = Counted(
        "eighth|eighths",
        "Achtel frei|Achtel frei",
        "croche libre|croches libres",
        "corchea libre|corcheas libres",
        "åttondel fri|åttondelar fria",
    )
    _sixteenths_free = Counted(
        "sixteenth|sixteenths",
        "Sechzehntel frei|Sechzehntel frei",
        "double croche libre|doubles croches libres",
        "semicorchea libre|semicorcheas libres",
        "sextondel fri|sextondelar fria",
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

    turn_at_end = Phrase(
        "turn: the movement ends",
        "wenden: der Satz ist zu Ende",
        "tourner\u00a0: fin du mouvement",
        "pasar: termina el movimiento",
        "vänd: satsen är slut",
    )
    _between_beats = Sentence(
        "turn: between beats {since} and {until}",
        "wenden: zwischen Schlag {since} und {until}",
        "tourner\u00a0: entre les temps {since} et {until}",
        "pasar: entre los tiempos {since} y {until}",
        "vänd: mellan slag {since} och {until}",
    )
    _until_beat = Sentence(
        "turn: before beat {until}",
        "wenden: vor Schlag {until}",
        "tourner\u00a0: avant le temps {until}",
        "pasar: antes del tiempo {until}",
        "vänd: före slag {until}",
    )
    _between_eighths = Sentence(
        "turn: between eighths {since} and {until}",
        "wenden: zwischen Achtel {since} und {until}",
        "tourner\u00a0: entre les croches {since} et {until}",
        "pasar: entre las corcheas {since} y {until}",
        "vänd: mellan åttondel {since} och {until}",
    )
    _until_eighth = Sentence(
        "turn: before eighth {until}",
        "wenden: vor Achtel {until}",
        "tourner\u00a0: avant la croche {until}",
        "pasar: antes de la corchea {until}",
        "vänd: före åttondel {until}",
    )
    _between_sixteenths = Sentence(
        "turn: between sixteenths {since} and {until}",
        "wenden: zwischen Sechzehntel {since} und {until}",
        "tourner\u00a0: entre les doubles croches {since} et {until}",
        "pasar: entre las semicorcheas {since} y {until}",
        "vänd: mellan sextondel {since} och {until}",
    )
    _until_sixteenth = Sentence(
        "turn: before sixteenth {until}",
        "wenden: vor Sechzehntel {until}",
        "tourner\u00a0: avant la double croche {until}",
        "pasar: antes de la semicorchea {until}",
        "vänd: före sextondel {until}",
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
    first_back = Sentence(
        "first {jump}; {turn}",
        "zuerst {jump}; {turn}",
        "d’abord {jump}\u00a0; {turn}",
        "primero {jump}; {turn}",
        "först {jump}; {turn}",
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

    def counted_more(self, count: Count, number: int) -> str:
        """ "3 beats", "3 eighths"."""
        return {
            Count.BEAT: self._beats_more,
            Count.EIGHTH: self._eighths_more,
            Count.SIXTEENTH: self._sixteenths_more,
        }[count](number)

    def counted_free(self, count: Count, number: int) -> str:
        """The same as free time."""
        return {
            Count.BEAT: self._beats_free,
            Count.EIGHTH: self._eighths_free,
            Count.SIXTEENTH: self._sixteenths_free,
        }[count](number)

    def turn_inside_bar(self, count: Count, since: str, until: str) -> str:
        """Between which beats to turn, or (without `since`) before which."""
        between, before = {
            Count.BEAT: (self._between_beats, self._until_beat),
            Count.EIGHTH: (self._between_eighths, self._until_eighth),
            Count.SIXTEENTH: (self._between_sixteenths, self._until_sixteenth),
        }[count]
        return between(since=since, until=until) if since else before(until=until)

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
