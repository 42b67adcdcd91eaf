"""What kind of player a part is for.

In: the `<score-part>` of a part and what its notes say.  Out: its name and `PartKind`.  Names mislead, so the order of
belief is: lyrics, staves, the instrument's standard sound, names, and last the MIDI program.
"""

import re
from collections.abc import Iterator, Mapping
from typing import Final

from lxml import etree

from optimizer.score.model import Part, PartKind
from optimizer.score.walk import PartFacts, whole

# First component of a standard sound (W3C MusicXML 4.0, sounds.xml).
_SOUNDS: Final[Mapping[str, PartKind]] = {
    "keyboard": PartKind.KEYBOARD, "voice": PartKind.VOICE, "strings": PartKind.STRINGS, "wind": PartKind.WIND,
    "brass": PartKind.WIND, "pluck": PartKind.OTHER, "drum": PartKind.OTHER, "metal": PartKind.OTHER,
    "pitched-percussion": PartKind.OTHER, "rattle": PartKind.OTHER, "wood": PartKind.OTHER, "synth": PartKind.KEYBOARD,
}  # fmt: skip
# Names in English, German, Italian and French; common practice, no source. The first line that matches wins, so that a
# bass clarinet is a wind and an alto alone a voice.
_NAMES: Final[tuple[tuple[PartKind, re.Pattern[str]], ...]] = tuple(
    (kind, re.compile(rf"\b({words})", re.IGNORECASE))
    for kind, words in (
        (PartKind.OTHER, r"harp\b|harfe|arpa\b|harpe|guitar|gitarre|chitarra|lute\b|laute\b|mandolin|marimba|vibra|xylo|"
                         r"glocken|timpan|pauke|drum|percuss|schlag"),
        (PartKind.KEYBOARD, r"pian|klavier|clavier|cembalo|harpsichord|clavecin|clavichord|organ\b|orgel|organo|orgue|"
                            r"harmoni(um|e)|celesta|keyboard|flügel|hammerflügel"),
        (PartKind.WIND, r"flute|flöte|flauto|flûte|piccolo|oboe|hautbois|clarinet|klarinette|clarinetto|bassoon|fagott|"
                        r"basson\b|saxo|recorder|horn\b|horns\b|corn[oi]\b|trumpet|trompete|tromba|trompette|cornet|"
                        r"trombon|posaune|tuba|euphonium|.*(saxo|clarinet|trombone|flute)"),
        (PartKind.STRINGS, r"viol|bratsche|geige|cello|contrabass|kontrabass|double bass|string|streich|archi\b|gamb|"
                           r"basso continuo"),
        (PartKind.VOICE, r"voice|vocal|gesang|singstimme|stimme|canto|chant|voix|voce|sopran|mezzo|alto?\b|contralto|"
                         r"tenor|ténor|bariton|bass[eo]?\b|choir|chorus|chor\b|coro|chœur|solo\b"),
    )
)  # fmt: skip
# General MIDI program numbers, 1-based, first to last (from memory).
_PROGRAMS: Final = (
    (2, 8, PartKind.KEYBOARD), (17, 22, PartKind.KEYBOARD), (41, 46, PartKind.STRINGS), (49, 52, PartKind.STRINGS),
    (53, 55, PartKind.VOICE), (57, 80, PartKind.WIND),
)  # fmt: skip
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
        kind = _SOUNDS.get((sound.text or "").split(".")[0])
        if kind:
            return kind
    return None


def _names(entry: etree._Element) -> Iterator[str]:
    """The part's names, what is printed first."""
    for path in ("part-name", "score-instrument/instrument-name", "part-abbreviation"):
        for element in entry.iterfind(path):
            yield " ".join((element.text or "").split())


def _kind_by_name(entry: etree._Element) -> PartKind | None:
    for name in _names(entry):
        for kind, pattern in _NAMES:
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
