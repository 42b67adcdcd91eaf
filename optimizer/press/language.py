"""What label, guide and turn sheet say, in five languages; one place for every word.

In: a language.  Out: `Words`, whose fields are words, sentences with gaps and counted things.  Always true:
a text stands in all five languages side by side and has the same gaps in each; sentences are whole, so that
each language keeps its own order of words.

To add one, write a line into `Words`:

    seam = Phrase("seam", "Naht", "jointure", "junta", "skarv")
    fold = Sentence("Fold along {seam}.", "An {seam} falten.", ...)     # words.fold(seam="B")
    pieces = Counted("piece|pieces", ...)                               # words.pieces(3) -> "3 pieces"

Usage of each language is from memory unless a source is named; key names are checked against music21's.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from optimizer.score.model import Key
from optimizer.settings import Lang
from optimizer.turns.model import Grade

_ORDER: Final = {lang: place for place, lang in enumerate((Lang.EN, Lang.DE, Lang.FR, Lang.ES, Lang.SV))}
NBSP: Final = "\u00a0"


class _Texts:
    """The same text in English, German, French, Spanish and Swedish."""

    def __init__(self, en: str, de: str, fr: str, es: str, sv: str) -> None:
        self.texts: Final = (en, de, fr, es, sv)


class Phrase(_Texts):
    """A text without gaps."""

    def __get__(self, words: "Words", owner: type["Words"]) -> str:
        return self.texts[_ORDER[words.lang]]


class Sentence(_Texts):
    """A text with named gaps, filled by keyword: "after {bar}"."""

    def __get__(self, words: "Words", owner: type["Words"]) -> Callable[..., str]:
        return self.texts[_ORDER[words.lang]].format


class Counted(_Texts):
    """Singular and plural of a thing; the number is put before it unless `{n}` says where."""

    def __get__(self, words: "Words", owner: type["Words"]) -> Callable[[int], str]:
        one, many = self.texts[_ORDER[words.lang]].split("|")

        def count(number: int) -> str:
            # French counts 0 as one (grammar of the language, from memory).
            form = one if number == 1 or (number == 0 and words.lang is Lang.FR) else many
            return form.format(n=number) if "{n}" in form else f"{number}{NBSP}{form}"

        return count


@dataclass(frozen=True)
class Words:
    """All texts in one language. Fields are grouped by what uses them."""

    lang: Lang

    # --- everywhere -------------------------------------------------------------------------------------
    untitled = Phrase("Untitled", "Ohne Titel", "Sans titre", "Sin título", "Utan titel")
    page = Sentence("page {page}", "Seite {page}", "page {page}", "página {page}", "sida {page}")
    page_short = Sentence("p. {page}", "S. {page}", "p. {page}", "pág. {page}", "s. {page}")
    pages = Counted("page|pages", "Seite|Seiten", "page|pages", "página|páginas", "sida|sidor")
    bar = Sentence("bar {bar}", "Takt {bar}", "mesure {bar}", "compás {bar}", "takt {bar}")
    bars = Sentence("bars {bars}", "Takte {bars}", "mesures {bars}", "compases {bars}", "takterna {bars}")
    notes = Counted("note|notes", "Note|Noten", "note|notes", "nota|notas", "not|noter")
    leaves = Counted("leaf|leaves", "Blatt|Blätter", "feuille|feuilles", "hoja|hojas", "blad|blad")
    sheets = Counted(
        "sheet of paper|sheets of paper",
        "Blatt Papier|Blatt Papier",
        "feuille de papier|feuilles de papier",
        "hoja de papel|hojas de papel",
        "pappersark|pappersark",
    )
    turn = Phrase("turn", "Wenden", "tourne", "vuelta", "vändning")
    turns = Counted(
        "turn|turns",
        "Wendestelle|Wendestellen",
        "tourne|tournes",
        "vuelta de página|vueltas de página",
        "vändning|vändningar",
    )
    no_turn = Phrase("no turn", "kein Wenden", "aucune tourne", "ninguna vuelta de página", "ingen vändning")
    back_turn = Phrase("back-turn", "Zurückblättern", "retour", "vuelta atrás", "tillbakavändning")
    back_turns = Counted(
        "back-turn|back-turns",
        "Mal zurückblättern|Mal zurückblättern",
        "retour|retours",
        "vuelta atrás|vueltas atrás",
        "tillbakavändning|tillbakavändningar",
    )

    # --- hands and grades ---------------------------------------------------------------------------------
    left_hand = Phrase("left hand", "linke Hand", "main gauche", "mano izquierda", "vänster hand")
    right_hand = Phrase("right hand", "rechte Hand", "main droite", "mano derecha", "höger hand")
    both_hands = Phrase("both hands", "beide Hände", "deux mains", "ambas manos", "båda händerna")
    a_hand = Phrase(
        "a hand is always free",
        "eine Hand ist immer frei",
        "une main est toujours libre",
        "siempre hay una mano libre",
        "en hand är alltid fri",
    )
    open = Phrase("open", "bequem", "large", "cómoda", "bekväm")
    quick = Phrase("quick", "rasch", "rapide", "rápida", "snabb")
    tight = Phrase("tight", "knapp", "serrée", "justa", "knapp")
    blocked = Phrase("blocked", "keine Hand frei", "aucune main libre", "sin mano libre", "ingen hand fri")

    def hand(self, name: str) -> str:
        """The hand that turns, by the name of a planned turn."""
        return {"left": self.left_hand, "right": self.right_hand, "free": self.a_hand}.get(
            name, self.both_hands
        )

    def grade(self, grade: Grade) -> str:
        """A grade of a turn."""
        return {
            Grade.OPEN: self.open,
            Grade.QUICK: self.quick,
            Grade.TIGHT: self.tight,
            Grade.BLOCKED: self.blocked,
        }[grade]

    # --- label --------------------------------------------------------------------------------------------
    key_by_analysis = Phrase(
        "key found by analysis",
        "Tonart durch Analyse ermittelt",
        "tonalité déterminée par analyse",
        "tonalidad hallada por análisis",
        "tonart bestämd genom analys",
    )
    _and = Phrase(" and ", " und ", " et ", " y ", " och ")

    # --- figures ------------------------------------------------------------------------------------------
    _point = Phrase(".", ",", ",", ",", ",")

    def decimal(self, value: float, digits: int = 1) -> str:
        """A number with the decimal sign of the language."""
        return f"{value:.{digits}f}".replace(".", self._point)

    def seconds(self, value: float) -> str:
        """ "2.4 s"."""
        return f"{self.decimal(value)}{NBSP}s"

    def listed(self, items: Sequence[str]) -> str:
        """ "a, b and c"."""
        if len(items) < 2:
            return "".join(items)
        spanish_i = self.lang is Lang.ES and items[-1].lower().startswith(("i", "hi", "í"))
        return f"{', '.join(items[:-1])}{' e ' if spanish_i else self._and}{items[-1]}"

    def key(self, key: Key) -> str:
        """A key as musicians say it: "E-flat major", "Es-Dur", "mi bémol majeur", "mi bemol mayor", "Ess-dur"."""
        return _KEY_NAMES[self.lang](key)


# Names of the notes, in fifths around the seven naturals; German and Swedish have names of their own, the others add
# a word. Swedish as in current use (Ess, fiss, B for B flat, H); double flats and sharps from memory.
_GERMAN: Final[Mapping[int, str]] = {-2: "eses", -1: "es", 0: "", 1: "is", 2: "isis"}
_SWEDISH: Final[Mapping[int, str]] = {-2: "essess", -1: "ess", 0: "", 1: "iss", 2: "ississ"}
_SOLFA: Final = {"C": "do", "D": "re", "E": "mi", "F": "fa", "G": "sol", "A": "la", "B": "si"}
_FRENCH: Final = {-2: " double bémol", -1: " bémol", 0: "", 1: " dièse", 2: " double dièse"}
_SPANISH: Final = {-2: " doble bemol", -1: " bemol", 0: "", 1: " sostenido", 2: " doble sostenido"}
# Mode: German, French, Spanish, Swedish.
_MODES: Final[Mapping[str, tuple[str, str, str, str]]] = {
    "major": ("Dur", "majeur", "mayor", "dur"),
    "minor": ("Moll", "mineur", "menor", "moll"),
    "ionian": ("Ionisch", "ionien", "jónico", "jonisk"),
    "dorian": ("Dorisch", "dorien", "dórico", "dorisk"),
    "phrygian": ("Phrygisch", "phrygien", "frigio", "frygisk"),
    "lydian": ("Lydisch", "lydien", "lidio", "lydisk"),
    "mixolydian": ("Mixolydisch", "mixolydien", "mixolidio", "mixolydisk"),
    "aeolian": ("Äolisch", "éolien", "eólico", "eolisk"),
    "locrian": ("Lokrisch", "locrien", "locrio", "lokrisk"),
}
_WITH_MINOR_THIRD: Final = frozenset({"minor", "dorian", "phrygian", "aeolian", "locrian"})


def _with_h(step: str, alter: int, suffixes: Mapping[int, str]) -> str:
    """A note where B is B flat and H is B: Es, As, B, Heses; Ess, Ass, B."""
    if (step, alter) == ("B", -1):
        return "B"
    letter = "H" if step == "B" else step
    suffix = suffixes[alter]
    return letter + (suffix[1:] if letter in "AE" and alter < 0 else suffix)


def _northern(key: Key, suffixes: Mapping[int, str], mode: str) -> str:
    """ "Es-Dur", "c-Moll": small letter where the third is minor."""
    name = _with_h(*key.tonic, suffixes)
    return f"{name.lower() if key.mode in _WITH_MINOR_THIRD else name}-{mode}"


def _french(key: Key) -> str:
    step, alter = key.tonic
    return f"{_SOLFA[step].replace('re', 'ré')}{_FRENCH[alter]} {_MODES[key.mode][1]}"


def _spanish(key: Key) -> str:
    step, alter = key.tonic
    return f"{_SOLFA[step]}{_SPANISH[alter]} {_MODES[key.mode][2]}"


_KEY_NAMES: Final[Mapping[Lang, Callable[[Key], str]]] = {
    Lang.EN: str,
    Lang.DE: lambda key: _northern(key, _GERMAN, _MODES[key.mode][0]),
    Lang.FR: _french,
    Lang.ES: _spanish,
    Lang.SV: lambda key: _northern(key, _SWEDISH, _MODES[key.mode][3]),
}


def words(lang: Lang) -> Words:
    """All texts in a language."""
    return Words(lang)
