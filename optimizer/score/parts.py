"""What kind of player a part is for.

In: the `<score-part>` of a part and what its notes say. Out: its name and `PartKind`. Names mislead, so the
order of belief is: lyrics, staves, the instrument's standard sound, names, and last the MIDI program.
"""

import re
from collections.abc import Iterator, Mapping
from typing import Final

from lxml import etree

from optimizer.score.model import Part, PartKind
from optimizer.score.walk import PartFacts, whole

# First component of a standard sound (W3C MusicXML 4.0, sounds.xml); all others are OTHER.
_SOUNDS: Final[Mapping[str, PartKind]] = {
    "keyboard": PartKind.KEYBOARD,
    "synth": PartKind.KEYBOARD,
    "voice": PartKind.VOICE,
    "strings": PartKind.STRINGS,
    "wind": PartKind.WIND,
    "brass": PartKind.WIND,
}
# How names begin in English, German, Italian and French; common practice, no source. The first kind that
# matches wins, so that a bass clarinet is a wind and an alto alone a voice.
_NAMES: Final[Mapping[PartKind, str]] = {
    PartKind.OTHER: r"""
        harp\b harfe harpe arpa\b guitar gitarre chitarra lute\b laute\b mandolin marimba vibra
        xylo glocken timpan pauke drum percuss schlag""",
    PartKind.KEYBOARD: r"""
        pian klavier clavier cembalo harpsichord clavecin clavichord flügel hammerflügel organ\b
        orgel organo orgue harmonium celesta keyboard""",
    PartKind.WIND: r"""
        flute flöte flauto flûte piccolo oboe hautbois clarinet klarinette bassoon fagott
        basson\b saxo recorder horns?\b corn[oi]\b trumpet trompete tromba trompette cornet
        trombon posaune tuba euphonium""",
    PartKind.STRINGS: r"""
        viol bratsche geige cello contrabass kontrabass double.bass string streich archi\b gamb
        basso.continuo""",
    PartKind.VOICE: r"""
        voice vocal gesang singstimme stimme canto chant voix voce sopran mezzo alto?\b
        contralto tenor ténor bariton bass[eo]?\b choir chorus chor\b coro chœur solo\b""",
}
_NAME_PATTERNS: Final = tuple(
    (kind, re.compile(rf"\b(?:{'|'.join(words.split())})", re.IGNORECASE)) for kind, words in _NAMES.items()
)
# General MIDI program numbers, 1-based, first to last (from memory).
_PROGRAMS: Final = (
    (2, 8, PartKind.KEYBOARD),
    (17, 22, PartKind.KEYBOARD),
    (41, 46, PartKind.STRINGS),
    (49, 52, PartKind.STRINGS),
    (53, 55, PartKind.VOICE),
    (57, 80, PartKind.WIND),
)
_PLUCKED_OR_STRUCK: Final = ("percussion", "TAB")  # clefs no keyboard has


def describe_parts(root: etree._Element, facts: list[PartFacts]) -> tuple[Part, ...]:
    """All parts in the order of the file; a part missing from the part list is named after its id."""
    listed = {entry.get("id"): entry for entry in root.iterfind("part-list/score-part")}
    parts = []
    for index, (element, fact) in enumerate(zip(root.findall("part"), facts, strict=True)):
        identity = element.get("id", "")
        entry = listed.get(identity)
        if entry is None:
            entry = etree.Element("score-part")
        name = " ".join(_first_text(entry, "part-name").split()) or identity or f"part {index + 1}"
        parts.append(Part(index, identity, name, fact.staves, part_kind(entry, fact), fact.has_lyrics))
    return tuple(parts)


def part_kind(entry: etree._Element, facts: PartFacts) -> PartKind:
    """How a part is played."""
    named = _kind_by_name(entry)
    if facts.clefs & set(_PLUCKED_OR_STRUCK):
        return PartKind.OTHER
    if facts.staves == 1 and facts.has_lyrics:
        return PartKind.VOICE
    if facts.staves > 1:
        return PartKind.OTHER if named is PartKind.OTHER else PartKind.KEYBOARD
    return _kind_by_sound(entry) or named or _kind_by_program(entry) or PartKind.OTHER


def _kind_by_sound(entry: etree._Element) -> PartKind | None:
    for sound in entry.iterfind("score-instrument/instrument-sound"):
        if sound.text and sound.text.strip():
            return _SOUNDS.get(sound.text.strip().split(".")[0], PartKind.OTHER)
    return None


def _names(entry: etree._Element) -> Iterator[str]:
    """The part's names, what is printed first."""
    for path in ("part-name", "score-instrument/instrument-name", "part-abbreviation"):
        for element in entry.iterfind(path):
            yield " ".join((element.text or "").split())


def _kind_by_name(entry: etree._Element) -> PartKind | None:
    for name in _names(entry):
        for kind, pattern in _NAME_PATTERNS:
            if pattern.search(name):
                return kind
    return None


def _kind_by_program(entry: etree._Element) -> PartKind | None:
    """Program 1, a piano, says nothing: it is what a file has when nobody chose."""
    for program in entry.iterfind("midi-instrument/midi-program"):
        number = whole(program.text, 0)
        for first, last, kind in _PROGRAMS:
            if first <= number <= last:
                return kind
    return None


def _first_text(entry: etree._Element, tag: str) -> str:
    return entry.findtext(tag) or ""
