"""Slips of encoding that would spoil the print, mended before engraving.

In: a partwise MusicXML tree that is ours to change.  Always true: no note, rest, bar or duration changes.

Mended are beams that do not close inside their bar, keys stated again without changing, and signs written as markup.
"""

import re
from collections import defaultdict
from fractions import Fraction
from typing import Final

from lxml import etree

_BEAMED_TYPES: Final = frozenset({"eighth", "16th", "32nd", "64th", "128th", "256th", "512th", "1024th"})
_SIGN: Final = re.compile(r"\s*<sym>(segno|coda)\w*</sym>\s*")  # markup left in words by exporting programs
_MARKUP: Final = re.compile(r"</?sym>")


def mend(tree: etree._Element) -> None:
    """Mend a tree in place."""
    for part in tree.iterchildren("part"):
        _drop_repeated_keys(part)
        _mend_beams(part)
    for words in list(tree.iter("words")):
        if words.text and "<sym>" in words.text:
            _mend_words(words)


def _drop_repeated_keys(part: etree._Element) -> None:
    """A key that says what already holds would be drawn again in the middle of a line."""
    in_force: dict[str, str] = {}
    for attributes in part.iter("attributes"):
        for key in attributes.findall("key"):
            staff = key.get("number", "")
            text = " ".join(
                f"{child.tag!s}={child.text}" for child in key if child.tag not in ("mode", "cancel")
            )
            if in_force.get(staff, in_force.get("")) == text and key.get("print-object") != "no":
                attributes.remove(key)
            if not staff:
                in_force.clear()
            in_force[staff] = text


def _mend_words(words: etree._Element) -> None:
    sign = _SIGN.fullmatch(words.text or "")
    kind = words.getparent()
    if sign and kind is not None and len(kind) == 1:
        kind.remove(words)
        etree.SubElement(kind, sign[1])
    else:
        words.text = _MARKUP.sub("", words.text or "")


def _mend_beams(part: etree._Element) -> None:
    """Beams that do not close: in that bar and voice, beam again by beats."""
    divisions, beat = Fraction(1), Fraction(1)
    for bar in part.iterchildren("measure"):
        voices: dict[str, list[tuple[Fraction, etree._Element]]] = defaultdict(list)
        offset = Fraction(0)
        for element in bar:
            if element.tag == "attributes":
                divisions = Fraction(element.findtext("divisions", str(divisions)).strip())
                beat = _beat(element.find("time"), beat)
                continue
            duration = element.findtext("duration")
            if duration is None or element.find("chord") is not None:
                continue
            if element.tag == "note":
                voices[element.findtext("voice", "1")].append((offset, element))
            length = Fraction(duration.strip()) / divisions
            offset += -length if element.tag == "backup" else length
        for notes in voices.values():
            if not _closed([note.findtext("beam") for _, note in notes]):
                _beam_by_beats(notes, beat)


def _beat(time: etree._Element | None, before: Fraction) -> Fraction:
    """What is beamed together, in quarters: a quarter, or three eighths in compound time."""
    if time is None or not (time.findtext("beats") or "").strip().isdigit():
        return before
    beats, unit = int(time.findtext("beats", "4")), int(time.findtext("beat-type", "4"))
    return Fraction(3, 2) if unit == 8 and beats % 3 == 0 else Fraction(1)


def _closed(beams: list[str | None]) -> bool:
    """Whether every first-level beam of a voice begins and ends inside the bar."""
    inside = False
    for beam in beams:
        if beam in ("continue", "end") and not inside:
            return False
        if beam == "begin" and inside:
            return False
        if beam == "begin":
            inside = True
        elif beam == "end":
            inside = False
    return not inside


def _beam_by_beats(notes: list[tuple[Fraction, etree._Element]], beat: Fraction) -> None:
    groups: list[list[etree._Element]] = []
    last_beat: Fraction | None = None
    for offset, note in notes:
        for beam in note.findall("beam"):
            note.remove(beam)
        if note.find("rest") is not None or note.findtext("type") not in _BEAMED_TYPES:
            last_beat = None
            continue
        if last_beat is None or offset // beat != last_beat:
            groups.append([])
        groups[-1].append(note)
        last_beat = Fraction(offset // beat)
    for group in groups:
        for order, note in enumerate(group if len(group) > 1 else ()):
            beam = etree.Element("beam", number="1")
            beam.text = "begin" if order == 0 else "end" if order == len(group) - 1 else "continue"
            _place_beam(note, beam)


def _place_beam(note: etree._Element, beam: etree._Element) -> None:
    """Beams stand before notations and lyrics (W3C musicxml.xsd 4.0, note)."""
    for index, child in enumerate(note):
        if child.tag in ("notations", "lyric", "play", "listen"):
            note.insert(index, beam)
            return
    note.append(beam)
