"""What tempo words mean.

In: the words of a direction.  Out: what they ask for: a tempo, a return to one, a gradual change, or nothing.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

# Quarters a minute of Italian words: facts.md "tempo words", music21 `defaultTempoValues`.
ITALIAN: Final[Mapping[str, float]] = {
    "grave": 40, "largo": 46, "lento": 52, "adagio": 56, "larghetto": 60, "andante": 72, "moderato": 92,
    "allegretto": 108, "allegro": 132, "vivace": 160, "presto": 184, "prestissimo": 208,
}  # fmt: skip
# Other words, each beside the nearest of the above; common practice, no source.
SYNONYMS: Final[Mapping[str, str]] = {
    "grave": "larghissimo schwer gravement",
    "largo": "breit",
    "lento": "lentamente lent lentement",
    "adagio": "langsam getragen slow slowly",
    "larghetto": "adagietto",
    "andante": "andantino ruhig gehend gehender",
    "moderato": "maestoso comodo mässig mäßig gemäßigt gemächlich modéré modérément moderate moderately",
    "allegretto": "marcia menuetto minuetto menuett minuet bewegt munter",
    "allegro": "frisch rasch schnell geschwind animé quick quickly brisk",
    "vivace": "vivo lebhaft feurig vif vivement lively valse walzer",
    "presto": "allegrissimo eilig vite rapide",
}
TEMPO_WORDS: Final[Mapping[str, float]] = {
    **ITALIAN,
    **{word: ITALIAN[base] for base, words in SYNONYMS.items() for word in words.split()},
}


class Ask(StrEnum):
    """What tempo words ask for."""

    TEMPO = "tempo"
    RETURN = "return"  # a tempo: as before the last gradual change
    FIRST = "first"  # tempo primo: as at the start of the movement
    SLOWER = "slower"  # gradually
    FASTER = "faster"  # gradually
    SCALE = "scale"  # at once: più mosso, meno mosso


@dataclass(frozen=True, slots=True)
class TempoWish:
    """`value`: quarters a minute for TEMPO, a factor for SCALE, otherwise unused."""

    ask: Ask
    value: float = 0.0


MORE: Final = 1.2  # più mosso; common practice, no source
LESS: Final = 1 / MORE


_COMMA: Final = re.compile(r",\s*")


def _any_of(phrases: str) -> str:
    """A pattern for any of these phrases, which commas separate, the longest first."""
    return f"(?:{'|'.join(sorted(re.split(_COMMA, phrases), key=len, reverse=True))})"


# What may stand before a tempo word, and other words about tempo; common practice, no source.
_QUALIFIERS: Final = _any_of(
    """molto, assai, poco, un poco, un, quasi, tempo di, tempo, alla, di, sehr, etwas, ziemlich,
        recht, nicht zu, nicht, zu, ganz, ein wenig, äußerst, äusserst, in, im, très, assez, un peu,
        pas trop, very, rather, not too"""
)
# Possessive: "un poco" is also "un" and "poco", and trying both ways doubles the time with each.
_TEMPO: Final = re.compile(rf"^(?:{_QUALIFIERS} )*+({_any_of(','.join(TEMPO_WORDS))})\b")
_FIRST: Final = re.compile(
    r"\btempo (?:primo|1(?:mo|o|º|°|a|st)?|i)(?![a-z])|\b"
    + _any_of("tempo del principio, erstes zeitma(?:ß|ss), erstes tempo, 1er mouv, premier mouvement")
)
_RETURN: Final = re.compile(
    rf"\b{_any_of('a tempo, in tempo, im (?:alten )?zeitma(?:ß|ss), im tempo, au mouv(?:emen)?t')}\b"
)
_SLOWER: Final = re.compile(
    r"\brit\b|\b"
    + _any_of(
        """ritard, riten, rall, allarg, slentando, calando, smorz, morendo, zögernd, nachlassend,
            zurückhaltend, verbreitern, langsamer werdend, allmählich langsamer, cédez, ralentir, en
            retenant, poco a poco (?:più|piu) lento, poco a poco meno"""
    )
)
_FASTER: Final = re.compile(
    r"^string$|\b"
    + _any_of(
        """accel, stringendo, affrett, animando, beschleunig, drängend, eilend, allmählich schneller,
            pressez, en pressant, poco a poco (?:più|piu) (?:mosso|vivo|presto), poco a poco animato"""
    )
)
_MORE: Final = re.compile(
    r"\b(?:più|piu) (?:mosso|vivo|vivace|animato|presto|allegro|agitato|moto)\b|\b"
    + _any_of("stretto, schneller, bewegter, lebhafter, plus vite, plus vif, plus animé, faster")
    + r"\b"
)
_LESS: Final = re.compile(
    r"\b(?:più|piu) (?:lento|largo|tranquillo|adagio|sostenuto)\b|\bmeno (?:mosso|presto|allegro|vivo)\b|\b"
    + _any_of("langsamer, ruhiger, breiter, plus lent, moins vite, slower")
    + r"\b"
)


def tempo_wish(text: str) -> TempoWish | None:
    """What the words of one direction ask for; None when they are not about tempo. The order of the tests
    matters: "poco a poco più lento" is gradual, "Tempo I (Allegro)" a return."""
    words = " ".join(re.sub(r"[^\w\s°º]", " ", text.lower()).split())
    for pattern, wish in (
        (_FIRST, TempoWish(Ask.FIRST)),
        (_SLOWER, TempoWish(Ask.SLOWER)),
        (_FASTER, TempoWish(Ask.FASTER)),
        (_RETURN, TempoWish(Ask.RETURN)),
        (_MORE, TempoWish(Ask.SCALE, MORE)),
        (_LESS, TempoWish(Ask.SCALE, LESS)),
    ):
        if pattern.search(words):
            return wish
    match = _TEMPO.match(words)
    return TempoWish(Ask.TEMPO, TEMPO_WORDS[match[1]]) if match else None
