"""Writes a piece as MusicXML 4.0 (partwise).

In: a `Piece`.  Out: bytes, the same every time.
"""

import io
import zipfile
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Final

from lxml import etree

from composing.marks import Placed, barlines, directions
from composing.notation import STEPS, Bar, Event, Pitch, length, starts
from composing.piece import Mark, Part, Piece, Section, Syllable, read_marks, underlay
from composing.rules import Slot, accidentals, beams
from composing.xml import DIVISIONS, Element, child, ticks

SOFTWARE: Final = "quietleaf scripts/make_corpora"
RIGHTS: Final = "CC0 1.0: the quietleaf authors have dedicated this score to the public domain"
DOCTYPE: Final = (
    '<!DOCTYPE score-partwise PUBLIC "-//Recordare//DTD MusicXML 4.0 Partwise//EN"'
    ' "http://www.musicxml.org/dtds/partwise.dtd">'
)
CLEFS: Final = {"treble": ("G", "2"), "bass": ("F", "4")}
ARTICULATIONS: Final = {"s": "staccato", "t": "tenuto", "a": "accent", "b": "breath-mark"}
UNDERTIE: Final = "\u203f"
STAFF_MM: Final = "6.5"
MXL_DATE: Final = (1980, 1, 1, 0, 0, 0)  # the earliest a zip archive knows

# ---- notes ----------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Context:
    """What a note needs to know beyond itself; pitches as written."""

    voice: str
    staff: int | None
    beams: Sequence[str]
    tied_in: frozenset[Pitch]
    accidentals: Mapping[Pitch, str]
    syllables: Sequence[Syllable]


def write_event(measure: Element, event: Event, context: Context) -> None:
    """A chord, note or rest."""
    if not event.pitches:
        note = child(measure, "note")
        child(note, "rest", **({} if event.kind else {"measure": "yes"}))
        child(note, "duration", ticks(event.duration))
        write_look(note, event, context)
    for index, tone in enumerate(event.pitches):
        write_tone(child(measure, "note"), event, tone, index == 0, context)


def write_tone(note: Element, event: Event, tone: Pitch, leads: bool, context: Context) -> None:
    """One note of a chord; what belongs to the whole chord goes to the first (`leads`)."""
    if event.grace:
        child(note, "grace", slash="yes")
    if not leads:
        child(note, "chord")
    pitch = child(note, "pitch")
    child(pitch, "step", STEPS[tone.line % 7])
    if tone.alter:
        child(pitch, "alter", tone.alter)
    child(pitch, "octave", tone.line // 7)
    if not event.grace:
        child(note, "duration", ticks(event.duration))
    ties = [kind for kind, there in (("stop", tone in context.tied_in), ("start", event.tied)) if there]
    for kind in ties:
        child(note, "tie", type=kind)
    write_look(note, event, context, tone, leads)
    write_notations(note, event, context, ties, leads)
    for syllable in context.syllables if leads else ():
        write_lyric(note, syllable)


def write_look(
    note: Element, event: Event, context: Context, tone: Pitch | None = None, leads: bool = True
) -> None:
    """Voice, type, accidental, staff, beams."""
    child(note, "voice", context.voice)
    if event.kind:
        child(note, "type", event.kind)
    for _ in range(event.dots):
        child(note, "dot")
    if tone is not None and tone in context.accidentals:
        child(note, "accidental", context.accidentals[tone])
    if event.triplet:
        ratio = child(note, "time-modification")
        child(ratio, "actual-notes", 3)
        child(ratio, "normal-notes", 2)
    if context.staff:
        child(note, "staff", context.staff)
    for level, value in enumerate(context.beams if leads else (), 1):
        child(note, "beam", value, number=str(level))
    if tone is None and "f" in event.marks:
        child(child(note, "notations"), "fermata", type="upright")


def write_notations(note: Element, event: Event, context: Context, ties: Sequence[str], leads: bool) -> None:
    """Ties, slurs, triplet brackets, articulations, fermatas."""
    notations = etree.Element("notations")
    for kind in ties:
        child(notations, "tied", type=kind)
    if leads:
        for kind, there in (("stop", event.slur_stop), ("start", event.slur_start)):
            if there:
                child(notations, "slur", type=kind, number=context.voice)
        if event.triplet in ("start", "stop"):
            child(notations, "tuplet", type=event.triplet, bracket="no")
        write_signs(notations, event.marks)
    if "r" in event.marks:
        child(notations, "arpeggiate")
    if len(notations):
        note.append(notations)


def write_signs(notations: Element, marks: str) -> None:
    """The signs named by letters."""
    if "l" in marks:
        child(child(notations, "ornaments"), "trill-mark")
    if signs := [ARTICULATIONS[letter] for letter in marks if letter in ARTICULATIONS]:
        articulations = child(notations, "articulations")
        for sign in signs:
            child(articulations, sign)
    if "f" in marks:
        child(notations, "fermata", type="upright")


def write_lyric(note: Element, syllable: Syllable) -> None:
    """`<lyric>`; words run together are joined by an undertie."""
    lyric = child(note, "lyric", number=str(syllable.verse))
    *joined, last = syllable.texts
    syllabic = syllable.syllabic
    for text in joined:
        child(lyric, "syllabic", "end" if syllabic in ("middle", "end") else "single")
        child(lyric, "text", text)
        child(lyric, "elision", UNDERTIE)
        syllabic = "begin" if syllabic in ("begin", "middle") else "single"
    child(lyric, "syllabic", syllabic)
    child(lyric, "text", last)
    if syllable.extend:
        child(lyric, "extend")


# ---- parts ----------------------------------------------------------


class PartWriter:
    """Writes one part, bar after bar; keeps what carries over a barline."""

    def __init__(self, piece: Piece, part: Part) -> None:
        self.piece, self.part = piece, part
        self.element = etree.Element("part", {"id": part.id})
        self.staff_of = dict(part.voices)
        self.number, self.index = 1, 0
        self.signature: tuple[int, tuple[int, int]] | None = None
        self.clefs: dict[int, str] = {}
        self.tied: set[tuple[str, Pitch]] = set()
        self.altered: dict[int, dict[int, int]] = {}
        self.directions: dict[int, list[Placed]] = {}

    def write(self) -> Element:
        """The part."""
        for section in self.piece.sections:
            self.write_section(section)
        return self.element

    def write_section(self, section: Section) -> None:
        """All bars of a section."""
        if section.restart:
            self.number, self.signature, self.altered = 1, None, {}
        general = read_marks(section.marks.get("all", ""))
        own = read_marks(section.marks.get(self.part.id, ""))
        top = self.part is self.piece.parts[0]
        for mark in (*(general if top else ()), *own):
            for bar, placed in directions(mark, self.index + mark.bar, self.part):
                self.directions.setdefault(bar, []).append(placed)
        voices = {name: section.voice(name, self.leads(name)) for name in self.staff_of}
        syllables = {
            (name, *place): found
            for name, verses in section.lyrics.items()
            if name in voices
            for place, found in underlay(f"{self.piece.file}, {name}", voices[name], verses).items()
        }
        for bar in range(section.length):
            marks = [mark for mark in (*general, *own) if mark.bar == bar]
            here = {name: voice[bar] for name, voice in voices.items() if voice[bar]}
            words = {(name, index): found for (name, at, index), found in syllables.items() if at == bar}
            self.write_bar(section, bar, here, marks, words)
            self.index += 1

    def write_bar(
        self,
        section: Section,
        bar: int,
        voices: Mapping[str, Bar],
        marks: Sequence[Mark],
        words: Mapping[tuple[str, int], Sequence[Syllable]],
    ) -> None:
        """One measure."""
        measure = self.open_measure(section, bar)
        lines = barlines(marks)
        if "left" in lines:
            measure.append(lines["left"])
        self.write_attributes(measure, section)
        written = {name: tuple(map(self.written, notes)) for name, notes in voices.items()}
        signs = self.accidentals(section.fifths + self.part.key_shift, written)
        bar_ql = length(next(iter(written.values())))
        for position, (name, notes) in enumerate(written.items()):
            if position:
                child(child(measure, "backup"), "duration", ticks(bar_ql))
            values = beams(notes, section.time, section.bar_ql - bar_ql)
            here = [
                Context(
                    self.voice_number(name),
                    self.staff_of[name] if self.staves > 1 else None,
                    values.get(index, ()),
                    self.carry_ties(name, event),
                    {
                        tone: signs[name, index, tone]
                        for tone in event.pitches
                        if (name, index, tone) in signs
                    },
                    words.get((name, index), ()),
                )
                for index, event in enumerate(notes)
            ]
            self.write_voice(measure, name, notes, here, marks)
        if "right" in lines:
            measure.append(lines["right"])

    def open_measure(self, section: Section, bar: int) -> Element:
        """`<measure>` with its number; a pickup is not counted, a movement begins a new system."""
        pickup = section.pickup and bar == 0
        measure = child(self.element, "measure", number="0" if pickup else str(self.number))
        if pickup:
            measure.set("implicit", "yes")
        self.number += not pickup
        if section.restart and bar == 0:
            child(measure, "print", new_system="yes")
        return measure

    def write_attributes(self, measure: Element, section: Section) -> None:
        """Divisions, staves, transposition once; key, metre, clefs where they change or a movement begins."""
        wanted = (section.fifths, section.time)
        if wanted == self.signature:
            return
        fifths, time = self.signature or (None, None)
        attributes = child(measure, "attributes")
        if self.index == 0:
            child(attributes, "divisions", DIVISIONS)
        if fifths != section.fifths:
            key = child(attributes, "key")
            child(key, "fifths", section.fifths + self.part.key_shift)
            child(key, "mode", section.mode)
        if time != section.time:
            element = child(attributes, "time")
            child(element, "beats", section.time[0])
            child(element, "beat-type", section.time[1])
        if self.index == 0 and self.staves > 1:
            child(attributes, "staves", self.staves)
        if self.signature is None:
            for staff, name in enumerate(self.part.clefs, 1):
                if self.clefs.get(staff) != name:
                    self.write_clef(attributes, staff, name)
        if self.index == 0 and self.part.transpose != (0, 0):
            transpose = child(attributes, "transpose")
            child(transpose, "diatonic", self.part.transpose[0])
            child(transpose, "chromatic", self.part.transpose[1])
        self.signature = wanted

    def write_clef(self, attributes: Element, staff: int, name: str) -> None:
        """`<clef>`."""
        clef = child(attributes, "clef", **({"number": str(staff)} if self.staves > 1 else {}))
        sign, line = CLEFS[name]
        child(clef, "sign", sign)
        child(clef, "line", line)
        self.clefs[staff] = name

    def write_voice(
        self, measure: Element, name: str, bar: Bar, contexts: Sequence[Context], marks: Sequence[Mark]
    ) -> None:
        """One voice of a bar; the first of its staff brings the staff's directions and clef changes."""
        staff, bar_ql = self.staff_of[name], length(bar)
        waiting: list[Placed] = []
        clefs: dict[Fraction, str] = {}
        if self.leads(name):
            placed = [item for item in self.directions.get(self.index, ()) if item.staff == staff]
            waiting = sorted(placed, key=lambda item: (item.offset, item.rank))
            changes = [
                mark for mark in marks if mark.command == "clef" and mark.argument.startswith(f"{staff} ")
            ]
            clefs = {mark.offset: mark.argument.split()[1] for mark in changes}
        for (offset, event), context in zip(starts(bar), contexts, strict=True):
            if offset in clefs:
                self.write_clef(child(measure, "attributes"), staff, clefs[offset])
            while waiting and waiting[0].offset < offset + event.duration:
                measure.append(waiting.pop(0).written(offset, bar_ql, self.staves))
            write_event(measure, event, context)
        for late in waiting:
            measure.append(late.written(bar_ql, bar_ql, self.staves))

    def accidentals(self, fifths: int, voices: Mapping[str, Bar]) -> dict[Slot, str]:
        """Accidentals of all staves."""
        result: dict[Slot, str] = {}
        for staff in range(1, self.staves + 1):
            mine = {name: bar for name, bar in voices.items() if self.staff_of[name] == staff}
            signs, self.altered[staff] = accidentals(mine, fifths, self.altered.get(staff, {}), self.tied)
            result.update(signs)
        return result

    def carry_ties(self, name: str, event: Event) -> frozenset[Pitch]:
        """Which notes of an event are tied from before; remembers those it ties on."""
        ended = frozenset(tone for tone in event.pitches if (name, tone) in self.tied)
        self.tied -= {(name, tone) for tone in ended}
        if event.tied:
            self.tied |= {(name, tone) for tone in event.pitches}
        return ended

    def written(self, event: Event) -> Event:
        """An event as the player reads it."""
        return replace(event, pitches=tuple(self.part.written(tone) for tone in event.pitches))

    @property
    def staves(self) -> int:
        """Number of staves."""
        return len(self.part.clefs)

    def leads(self, name: str) -> bool:
        """Whether a voice is the first of its staff."""
        return next(voice for voice, staff in self.part.voices if staff == self.staff_of[name]) == name

    def voice_number(self, name: str) -> str:
        """The voice as MusicXML numbers it within the part."""
        return str(list(self.staff_of).index(name) + 1)


# ---- the whole file ----------------------------------------------------------


def header(piece: Piece) -> Element:
    """Everything before the parts."""
    root = etree.Element("score-partwise", {"version": "4.0"})
    child(child(root, "work"), "work-title", piece.title)
    child(root, "movement-title", piece.subtitle)
    identification = child(root, "identification")
    child(identification, "creator", piece.composer, type="composer")
    if piece.lyricist:
        child(identification, "creator", piece.lyricist, type="lyricist")
    child(identification, "rights", RIGHTS)
    encoding = child(identification, "encoding")
    child(encoding, "software", SOFTWARE)
    child(encoding, "supports", element="accidental", type="yes")
    child(encoding, "supports", element="beam", type="yes")
    scaling = child(child(root, "defaults"), "scaling")
    child(scaling, "millimeters", STAFF_MM)
    child(scaling, "tenths", 40)
    parts = child(root, "part-list")
    for channel, part in enumerate(piece.parts, 1):
        write_part_head(parts, part, channel)
    return root


def write_part_head(parts: Element, part: Part, channel: int) -> None:
    """`<score-part>`."""
    element = child(parts, "score-part", id=part.id)
    child(element, "part-name", part.name)
    child(element, "part-abbreviation", part.short)
    instrument = child(element, "score-instrument", id=f"{part.id}-I1")
    child(instrument, "instrument-name", part.name)
    child(instrument, "instrument-sound", part.sound)
    midi = child(element, "midi-instrument", id=f"{part.id}-I1")
    child(midi, "midi-channel", channel)
    child(midi, "midi-program", part.program)


def to_xml(piece: Piece) -> bytes:
    """The file's bytes."""
    root = header(piece)
    for part in piece.parts:
        root.append(PartWriter(piece, part).write())
    etree.indent(root, " ")
    return bytes(etree.tostring(root, xml_declaration=True, encoding="UTF-8", doctype=DOCTYPE)) + b"\n"


def to_mxl(name: str, xml: bytes) -> bytes:
    """The compressed form; stored, not deflated, so that no version of zlib changes a byte."""
    container = etree.Element("container")
    media = "application/vnd.recordare.musicxml"
    child(child(container, "rootfiles"), "rootfile", full_path=name, media_type=f"{media}+xml")
    entries = {
        "mimetype": media.encode(),
        "META-INF/container.xml": etree.tostring(container, xml_declaration=True, encoding="UTF-8"),
        name: xml,
    }
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_STORED) as archive:
        for entry, data in entries.items():
            info = zipfile.ZipInfo(entry, MXL_DATE)
            info.create_system, info.external_attr = 3, 0o644 << 16  # as on Unix, wherever this runs
            archive.writestr(info, data)
    return buffer.getvalue()
