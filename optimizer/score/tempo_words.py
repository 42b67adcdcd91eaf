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
# Other words, each mapped onto the nearest of the above; common practice, no source.
SYNONYMS: Final[Mapping[str, str]] = {
    "larghissimo": "grave", "adagietto": "larghetto", "andantino": "andante", "andantin": "andante",
    "maestoso": "moderato", "comodo": "moderato", "vivo": "vivace", "allegrissimo": "presto", "lentamente": "lento",
    "marcia": "allegretto", "menuetto": "allegretto", "minuetto": "allegretto", "valse": "vivace", "walzer": "vivace",
    "schwer": "grave", "breit": "largo", "langsam": "adagio", "getragen": "adagio", "ruhig": "andante",
    "gehend": "andante", "gehender": "andante", "mässig": "moderato", "mäßig": "moderato", "gemächlich": "moderato",
    "gemäßigt": "moderato", "bewegt": "allegretto", "munter": "allegretto", "frisch": "allegro", "rasch": "allegro",
    "schnell": "allegro", "geschwind": "allegro", "lebhaft": "vivace", "feurig": "vivace", "eilig": "presto",
    "lent": "lento", "lentement": "lento", "large": "largo", "gravement": "grave", "modéré": "moderato",
    "modérément": "moderato", "animé": "allegro", "vif": "vivace", "vivement": "vivace", "vite": "presto",
    "rapide": "presto", "slow": "adagio", "slowly": "adagio", "moderate": "moderato", "moderately": "moderato",
    "lively": "vivace", "fast": "allegro", "quick": "allegro", "quickly": "allegro", "brisk": "allegro",
}  # fmt: skip
TEMPO_WORDS: Final[Mapping[str, float]] = {
    **ITALIAN,
    **{word: ITALIAN[base] for word, base in SYNONYMS.items()},
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

_QUALIFIERS: Final = (
    r"(?:(?:molto|assai|poco|un poco|un|quasi|sehr|etwas|ziemlich|recht|nicht zu|nicht|zu|ein wenig|ganz|äu(?:ss|ß)erst|im|"
    r"in|très|assez|un peu|pas trop|très|tempo|di|alla|tempo di|mit|very|rather|not too) )*"
)
_TEMPO: Final = re.compile(rf"^{_QUALIFIERS}({'|'.join(sorted(TEMPO_WORDS, key=len, reverse=True))})\b")
_FIRST: Final = re.compile(
    r"\b(tempo (primo|1(mo|o|º|°|a|st)?|i)(?![a-z])|tempo del principio|erstes (zeitma(ß|ss)|tempo)|1er (mouvement|mouvt)|"
    r"premier mouvement)"
)
_RETURN: Final = re.compile(
    r"\b(a tempo|in tempo|im (ersten |alten )?(zeitma(ß|ss)|tempo)|au mouv(emen)?t)\b"
)
_SLOWER: Final = re.compile(
    r"\b(rit\b|ritard|riten|rall|allarg|slentando|calando|smorz|morendo|zögernd|langsamer werdend|allmählich langsamer|"
    r"nachlassend|zurückhaltend|verbreitern|cédez|ralentir|en retenant|poco a poco (più lento|meno))"
)
_FASTER: Final = re.compile(
    r"\b(accel|string(endo)?\b|affrett|beschleunig|drängend|allmählich schneller|eilend|animando|pressez|en pressant|"
    r"poco a poco (più (mosso|vivo|presto)|animato))"
)
_MORE: Final = re.compile(
    r"\b((più|piu) (mosso|vivo|vivace|animato|presto|allegro|agitato|moto)|stretto|schneller|bewegter|lebhafter|plus vite|"
    r"plus vif|plus animé|faster)\b"
)
_LESS: Final = re.compile(
    r"\b((più|piu) (lento|largo|tranquillo|adagio|sostenuto)|meno (mosso|presto|allegro|vivo)|langsamer|ruhiger|breiter|"
    r"plus lent|moins vite|slower)\b"
)


def tempo_wish(text: str) -> TempoWish | None:
    """What the words of one direction ask for; None when they are not about tempo. The order of the tests matters:
    "poco a poco più lento" is gradual, "Tempo I (Allegro)" a return."""
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
