"""Writes a piece as MusicXML 4.0 (partwise).

In: a `Piece`.  Out: bytes, the same every time.  Durations are in `DIVISIONS` of a quarter.  Accidentals follow the
key and what stood in the bar on that staff; beams follow the beat.
"""

import io
import zipfile
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Final

from composing.notation import STEPS, Bar, Event, Pitch, key_alter
from composing.piece import Mark, Part, Piece, Section, Syllable, bar_length, place, read_marks, starts, underlay
from lxml import etree

DIVISIONS: Final = 24  # holds 32nds and triplets of 16ths
SOFTWARE: Final = "quietleaf scripts/make_corpora"
RIGHTS: Final = "CC0 1.0: the quietleaf authors have dedicated this score to the public domain"
DOCTYPE: Final = (
    '<!DOCTYPE score-partwise PUBLIC "-//Recordare//DTD MusicXML 4.0 Partwise//EN"'
    ' "http://www.musicxml.org/dtds/partwise.dtd">'
)
CLEFS: Final = {"treble": ("G", "2"), "bass": ("F", "4"), "tenor": ("C", "4"), "alto": ("C", "3")}
DYNAMICS: Final = {"ppp", "pp", "p", "mp", "mf", "f", "ff", "fff", "fp", "sf", "sfz", "rf"}
BAR_STYLES: Final = {"|:": "heavy-light", ":|": "light-heavy", "||": "light-light", "|.": "light-heavy"}
ARTICULATIONS: Final = {"s": "staccato", "t": "tenuto", "a": "accent", "b": "breath-mark"}
FLAGS: Final = {"eighth": 1, "16th": 2, "32nd": 3}
BEATS: Final = {"q": ("quarter", 0, 1.0), "q.": ("quarter", 1, 1.5), "h": ("half", 0, 2.0), "e": ("eighth", 0, 0.5)}
BAR_END: Final = Fraction(1000)  # later than any bar: what ends at a barline is written before it, not after
MILLIMETERS: Final = "6.5"  # a staff

Element = etree._Element


def child(parent: Element, tag: str, text: object = None, **attributes: str) -> Element:
    """A new last child; underscores in attribute names stand for hyphens."""
    element = etree.SubElement(parent, tag, {name.replace("_", "-"): value for name, value in attributes.items()})
    if text is not None:
        element.text = str(text)
    return element


def ticks(duration: Fraction) -> int:
    """Quarter lengths as divisions."""
    scaled = duration * DIVISIONS
    if scaled.denominator != 1:
        raise ValueError(f"{duration} quarters do not fit {DIVISIONS} divisions")
    return int(scaled)


# ---- beams and accidentals ------------------------------------------------------------------------------------------


def beam_windows(time: tuple[int, int], only_eighths: bool) -> Fraction:
    """How long a beamed group may be: a beat, or two in 2/4 and 4/4 and a whole bar of 3/4 when all are eighths."""
    if time[1] == 8:
        return Fraction(3, 2)
    if only_eighths:
        return Fraction(3) if time[0] == 3 else Fraction(2)
    return Fraction(1)


def beam_groups(bar: Bar, time: tuple[int, int], lead: Fraction) -> list[list[int]]:
    """Runs of flagged notes within one window; `lead` is how much of the bar a pickup leaves out."""
    placed = starts(bar)
    wide = beam_windows(time, True)

    def only_eighths(offset: Fraction) -> bool:
        window = (offset + lead) // wide
        inside = [e for o, e in placed if (o + lead) // wide == window and not e.grace]
        return all(FLAGS.get(e.kind, 1) <= 1 and not e.triplet for e in inside)

    groups: list[list[int]] = []
    key: object = None
    for index, (offset, event) in enumerate(placed):
        if event.grace:
            continue
        if not event.pitches or event.kind not in FLAGS:
            key = None
            continue
        window = beam_windows(time, only_eighths(offset))
        here = (window, (offset + lead) // window)
        if here != key:
            groups.append([])
        groups[-1].append(index)
        key = here
    return [group for group in groups if len(group) > 1]


def beams(bar: Bar, time: tuple[int, int], lead: Fraction) -> dict[int, list[str]]:
    """Beam values by event, one for each level."""
    result: dict[int, list[str]] = {}
    for group in beam_groups(bar, time, lead):
        flags = [FLAGS[bar[index].kind] for index in group]
        for i, index in enumerate(group):
            before = flags[i - 1] if i else 0
            after = flags[i + 1] if i + 1 < len(group) else 0
            values = []
            for level in range(1, flags[i] + 1):
                left, right = before >= level, after >= level
                hook = "backward hook" if before else "forward hook"
                values.append("continue" if left and right else "begin" if right else "end" if left else hook)
            result[index] = values
    return result


Slot = tuple[str, int, Pitch]  # voice, event, pitch


def accidentals(
    voices: Mapping[str, Bar], fifths: int, before: Mapping[int, int], tied_in: set[tuple[str, Pitch]]
) -> tuple[dict[Slot, str], dict[int, int]]:
    """Which notes of a staff's bar show an accidental, and the altered lines of this bar.

    `before`: lines altered in the bar before, whose return to the key is shown as a reminder. `tied_in`: notes held
    over the barline, which show nothing.
    """
    names = {-2: "flat-flat", -1: "flat", 0: "natural", 1: "sharp", 2: "double-sharp"}
    inside: dict[int, int] = {}
    shown: dict[Slot, str] = {}
    held = set(tied_in)
    order = sorted(
        ((offset, not event.grace, name, index, event) for name, bar in voices.items()
         for index, (offset, event) in enumerate(starts(bar)) if event.pitches),
        key=lambda item: item[:4],
    )
    for _, _, name, index, event in order:
        for tone in event.pitches:
            natural = key_alter(STEPS[tone.line % 7], fifths)
            continued = (name, tone) in held
            held.discard((name, tone))
            if event.tied:
                held.add((name, tone))
            if continued:
                continue
            if tone.alter != inside.get(tone.line, natural) or (
                tone.line not in inside and before.get(tone.line, tone.alter) != tone.alter
            ):
                shown[name, index, tone] = names[tone.alter]
            inside[tone.line] = tone.alter
    changed = {line: alter for line, alter in inside.items() if alter != key_alter(STEPS[line % 7], fifths)}
    return shown, changed


# ---- marks ------------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Placed:
    """A direction, ready but for where it is put."""

    offset: Fraction
    rank: int  # order among those at the same offset: what ends, then what stands, then what begins
    staff: int
    element: Element


def direction(placement: str, *, rank: int = 1, staff: int = 1, offset: Fraction, sound: Mapping[str, str] | None = None,
              ) -> tuple[Placed, Element]:
    """An empty direction and its first `<direction-type>`."""
    element = etree.Element("direction", {"placement": placement})
    kind = child(element, "direction-type")
    if sound:
        child(element, "sound", None, **sound)
    return Placed(offset, rank, staff, element), kind


def tempo(mark: Mark) -> Placed:
    """`Andante q=84`: words, metronome and sound."""
    words, _, beat = mark.argument.rpartition(" ")
    unit, _, count = beat.partition("=")
    kind, dots, quarters = BEATS[unit]
    placed, first = direction("above", offset=mark.offset, sound={"tempo": f"{float(count) * quarters:g}"})
    if words:
        child(first, "words", words, font_weight="bold")
        first = etree.Element("direction-type")
        placed.element.insert(1, first)
    metronome = child(first, "metronome", parentheses="yes") if words else child(first, "metronome")
    child(metronome, "beat-unit", kind)
    for _ in range(dots):
        child(metronome, "beat-unit-dot")
    child(metronome, "per-minute", count)
    return placed


def jump(mark: Mark) -> Placed:
    """Segno, coda and the words that send the player there."""
    sounds = {
        "segno": {"segno": "segno"}, "coda": {"coda": "coda"}, "tocoda": {"tocoda": "coda"},
        "dalsegno": {"dalsegno": "segno"}, "fine": {"fine": "yes"}, "dacapo": {"dacapo": "yes"},
    }
    words = {"tocoda": "To Coda", "dalsegno": "D.S. al Coda", "fine": "Fine", "dacapo": "D.C. al Fine"}
    placed, kind = direction("above", offset=mark.offset, sound=sounds[mark.command])
    if mark.command in ("segno", "coda"):
        child(kind, mark.command)
    else:
        child(kind, "words", mark.argument or words[mark.command], font_weight="bold", justify="right")
    if mark.command == "tocoda":
        second = etree.Element("direction-type")
        child(second, "coda")
        placed.element.insert(1, second)
    return placed


def words(mark: Mark) -> Placed:
    """Italic words; `@60` at their end is the tempo they bring, a leading `^` puts them above, `2:` in staff 2."""
    text, _, speed = mark.argument.partition(" @")
    staff, text = (2, text[2:]) if text.startswith("2:") else (1, text)
    above = text.startswith("^") or bool(speed)
    placed, kind = direction(
        "above" if above else "below", offset=mark.offset, staff=staff, sound={"tempo": speed} if speed else None
    )
    child(kind, "words", text.removeprefix("^"), font_style="italic")
    return placed


def wedge(mark: Mark, bar: int, above: bool) -> Iterator[tuple[int, Placed]]:
    """A hairpin: (bar, mark) for its two ends. `2:` before the end puts it under staff 2."""
    staff, end = (2, mark.argument[2:]) if mark.argument.startswith("2:") else (1, mark.argument)
    side = "above" if above else "below"
    begin, kind = direction(side, rank=2, offset=mark.offset, staff=staff)
    child(kind, "wedge", type={"<": "crescendo", ">": "diminuendo"}[mark.command], number=str(staff))
    yield bar, begin
    last, offset = place(end)
    stop, kind = direction(side, rank=0, offset=offset or BAR_END, staff=staff)
    child(kind, "wedge", type="stop", number=str(staff))
    yield bar + last - mark.bar - (not offset), stop


def octave_line(mark: Mark, bar: int) -> Iterator[tuple[int, Placed]]:
    """An 8va line over staff 1 or an 8vb line under staff 2."""
    high = mark.command == "8va"
    staff, side = (1, "above") if high else (2, "below")
    begin, kind = direction(side, rank=2, offset=mark.offset, staff=staff)
    child(kind, "octave-shift", type="down" if high else "up", size="8", number=str(staff))
    yield bar, begin
    last, offset = place(mark.argument)
    stop, kind = direction(side, rank=0, offset=offset or BAR_END, staff=staff)
    child(kind, "octave-shift", type="stop", size="8", number=str(staff))
    yield bar + last - mark.bar - (not offset), stop


def pedal(mark: Mark, bar: int) -> Iterator[tuple[int, Placed]]:
    """Pedal down here and up there."""
    begin, kind = direction("below", rank=2, offset=mark.offset, staff=2)
    child(kind, "pedal", type="start", line="no", sign="yes")
    yield bar, begin
    last, offset = place(mark.argument)
    stop, kind = direction("below", rank=0, offset=offset or BAR_END, staff=2)
    child(kind, "pedal", type="stop", line="no", sign="yes")
    yield bar + last - mark.bar - (not offset), stop


def place_mark(mark: Mark, bar: int, part: Part) -> Iterator[tuple[int, Placed]]:
    """The directions of a mark in a part, with the bar of the piece they stand in."""
    sung = part.sound.startswith("voice")
    if mark.command in DYNAMICS:
        placed, kind = direction("above" if sung else "below", offset=mark.offset)
        child(child(kind, "dynamics"), mark.command)
        yield bar, placed
    elif mark.command in ("<", ">"):
        yield from wedge(mark, bar, sung)
    elif mark.command in ("8va", "8vb"):
        yield from octave_line(mark, bar)
    elif mark.command == "ped":
        yield from pedal(mark, bar)
    elif mark.command == "tempo":
        yield bar, tempo(mark)
    elif mark.command == "words":
        yield bar, words(mark)
    elif mark.command in ("pizz", "arco"):
        sound = {"pizzicato": "yes" if mark.command == "pizz" else "no"}
        placed, kind = direction("above", offset=mark.offset, sound=sound)
        child(kind, "words", {"pizz": "pizz.", "arco": "arco"}[mark.command], font_style="italic")
        yield bar, placed
    elif mark.command == "reh":
        placed, kind = direction("above", rank=0, offset=mark.offset)
        child(kind, "rehearsal", mark.argument, font_weight="bold", enclosure="rectangle")
        yield bar, placed
    elif mark.command == "title":
        placed, kind = direction("above", rank=0, offset=mark.offset)
        child(kind, "words", mark.argument, font_weight="bold", font_size="14")
        yield bar, placed
    elif mark.command in ("segno", "coda", "tocoda", "dalsegno", "fine", "dacapo"):
        yield bar, jump(mark)
    elif mark.command not in BAR_STYLES and mark.command not in ("ending", "clef", ":|3"):
        raise ValueError(f"unknown mark: {mark.command}")


def barlines(marks: list[Mark]) -> tuple[Element | None, Element | None]:
    """Left and right barline of a bar from the marks that stand in it (offset 0)."""
    made: dict[str, Element] = {}

    def line(location: str) -> Element:
        return made.setdefault(location, etree.Element("barline", {"location": location}))

    for mark in marks:
        sign = mark.command.removesuffix("3")
        if sign in BAR_STYLES:
            where = line("left" if sign == "|:" else "right")
            where.insert(0, child(where, "bar-style", BAR_STYLES[sign]))
    for mark in marks:
        if mark.command == "ending":
            numbers, kind = mark.argument.split()
            ending = child(line("left" if kind == "start" else "right"), "ending", number=numbers, type=kind)
            if kind == "start":
                ending.text = ", ".join(f"{number}." for number in numbers.split(","))
    for mark in marks:
        if mark.command == "|:":
            child(line("left"), "repeat", direction="forward")
        elif mark.command == ":|":
            child(line("right"), "repeat", direction="backward")
        elif mark.command == ":|3":
            child(line("right"), "repeat", direction="backward", times="3")
    return made.get("left"), made.get("right")


# ---- notes ----------------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class NoteContext:
    """What a note needs to know beyond itself."""

    voice: str
    staff: int | None
    slur: str
    steps: int  # written above sounding, for transposing instruments
    beams: tuple[str, ...]
    tied_in: frozenset[Pitch]
    shown: Mapping[Pitch, str]
    syllables: tuple[Syllable, ...]


def write_event(measure: Element, event: Event, context: NoteContext) -> None:
    """A chord, note, rest or gap."""
    if event.gap:
        forward = child(measure, "forward")
        child(forward, "duration", ticks(event.duration))
        return
    for index, tone in enumerate(event.pitches or (None,)):
        note = child(measure, "note")
        if event.grace:
            child(note, "grace", slash="yes")
        if index:
            child(note, "chord")
        if tone is None:
            child(note, "rest", **({} if event.kind else {"measure": "yes"}))
        else:
            write_pitch(note, tone)
        if not event.grace:
            child(note, "duration", ticks(event.duration))
        if tone in context.tied_in:
            child(note, "tie", type="stop")
        if event.tied:
            child(note, "tie", type="start")
        write_look(note, event, tone, index, context)


def write_pitch(note: Element, tone: Pitch) -> None:
    """`<pitch>`."""
    element = child(note, "pitch")
    child(element, "step", STEPS[tone.line % 7])
    if tone.alter:
        child(element, "alter", tone.alter)
    child(element, "octave", tone.line // 7)


def write_look(note: Element, event: Event, tone: Pitch | None, index: int, context: NoteContext) -> None:
    """All of a note after its duration."""
    child(note, "voice", context.voice)
    if event.kind:
        child(note, "type", event.kind)
    for _ in range(event.dots):
        child(note, "dot")
    if tone in context.shown:
        child(note, "accidental", context.shown[tone])
    if event.triplet:
        ratio = child(note, "time-modification")
        child(ratio, "actual-notes", 3)
        child(ratio, "normal-notes", 2)
    if context.staff:
        child(note, "staff", context.staff)
    if not index:
        for level, value in enumerate(context.beams, 1):
            child(note, "beam", value, number=str(level))
    notations = child(note, "notations")
    if tone in context.tied_in:
        child(notations, "tied", type="stop")
    if event.tied and tone:
        child(notations, "tied", type="start")
    if not index:
        write_marks(notations, event, context.slur)
    if "r" in event.marks:
        child(notations, "arpeggiate")
    if not len(notations):
        note.remove(notations)
    if not index:
        for syllable in context.syllables:
            lyric = child(note, "lyric", number=str(syllable.verse))
            child(lyric, "syllabic", syllable.syllabic)
            child(lyric, "text", syllable.text)
            if syllable.extend:
                child(lyric, "extend")


def write_marks(notations: Element, event: Event, slur: str) -> None:
    """Slurs, triplet brackets, articulations, fermatas."""
    if event.slur_stop:
        child(notations, "slur", type="stop", number=slur)
    if event.slur_start:
        child(notations, "slur", type="start", number=slur)
    if event.triplet in ("start", "stop"):
        child(notations, "tuplet", type=event.triplet, bracket="no")
    if "l" in event.marks:
        child(child(notations, "ornaments"), "trill-mark")
    for letter, tag in (("u", "up-bow"), ("d", "down-bow")):
        if letter in event.marks:
            child(child(notations, "technical"), tag)
    signs = [ARTICULATIONS[letter] for letter in event.marks if letter in ARTICULATIONS]
    if signs:
        articulations = child(notations, "articulations")
        for sign in signs:
            child(articulations, sign)
    if "f" in event.marks:
        child(notations, "fermata", type="upright")


# ---- parts ------------------------------------------------------------------------------------------------------


class PartWriter:
    """Writes one part, bar after bar; keeps what carries over a barline."""

    def __init__(self, piece: Piece, part: Part) -> None:
        self.piece, self.part = piece, part
        self.element = etree.Element("part", {"id": part.id})
        self.number = 1
        self.signature: tuple[object, ...] | None = None
        self.clefs = list(part.clefs)
        self.tied: set[tuple[str, Pitch]] = set()
        self.altered: dict[int, dict[int, int]] = {}
        self.directions: dict[int, list[Placed]] = {}
        self.index = 0
        first: set[int] = set()
        self.voices = [(name, staff, staff not in first and not first.add(staff)) for name, staff in part.voices]

    def write(self) -> Element:
        """The part."""
        for section in self.piece.sections:
            self.section(section)
        return self.element

    def section(self, section: Section) -> None:
        """All bars of a section."""
        if section.restart:
            self.number, self.signature = 1, None
        top = self.part is self.piece.parts[0]
        general = read_marks(section.marks.get("all", ""))
        own = read_marks(section.marks.get(self.part.id, ""))
        for mark in (*(general if top else ()), *own):
            for bar, placed in place_mark(mark, self.index + mark.bar, self.part):
                self.directions.setdefault(bar, []).append(placed)
        voices = {name: self.piece.part_voice(section, name, leads) for name, _, leads in self.voices}
        syllables = {
            name: underlay(f"{self.piece.file}, {name}", voices[name], verses)
            for name, verses in section.lyrics.items() if name in voices
        }
        for bar in range(section.length):
            marks = [mark for mark in (*general, *own) if mark.bar == bar]
            here = {name: voice[bar] for name, voice in voices.items() if voice[bar]}
            words = {
                (name, index): tuple(found)
                for name, placed in syllables.items() for (at, index), found in placed.items() if at == bar
            }
            self.bar(section, here, marks, words, section.pickup and bar == 0)
            self.index += 1

    def bar(
        self, section: Section, voices: Mapping[str, Bar], marks: list[Mark],
        words: Mapping[tuple[str, int], tuple[Syllable, ...]], pickup: bool,
    ) -> None:
        """One measure."""
        measure = child(self.element, "measure", number="0" if pickup else str(self.number))
        if pickup:
            measure.set("implicit", "yes")
        else:
            self.number += 1
        if section.restart and self.number == (1 if pickup else 2):
            child(measure, "print", new_system="yes")
        self.attributes(measure, section)
        left, right = barlines(marks)
        if left is not None:
            measure.append(left)
        self.start_clefs(measure, marks)
        length = sum((event.duration for event in next(iter(voices.values()))), Fraction(0))
        lead = section.bar_ql - length if pickup else Fraction(0)
        staffs = dict(self.part.voices)
        shown = self.shown(section.fifths + self.key_shift, voices, staffs)
        waiting = sorted(self.directions.get(self.index, ()), key=lambda p: (p.offset, p.rank))
        done_staffs: set[int] = set()
        for position, (name, bar) in enumerate(voices.items()):
            if position:
                child(child(measure, "backup"), "duration", ticks(length))
            staff = staffs[name]
            mine = [p for p in waiting if p.staff == staff and staff not in done_staffs]
            done_staffs.add(staff)
            self.voice(measure, name, bar, section, lead, mine, shown, words, marks)
        if right is not None:
            measure.append(right)

    @property
    def key_shift(self) -> int:
        """Fifths between the sounding and the written key."""
        steps, semitones = self.part.transpose
        return {(0, 0): 0, (-1, -2): 2, (-5, -9): 3}[steps, semitones]

    def written(self, tone: Pitch) -> Pitch:
        """The pitch as the player reads it."""
        steps, semitones = self.part.transpose
        line = tone.line - steps
        plain = Pitch(line, 0)
        return Pitch(line, tone.midi - semitones - plain.midi)

    def shown(
        self, fifths: int, voices: Mapping[str, Bar], staffs: Mapping[str, int]
    ) -> dict[Slot, str]:
        """Accidentals of all staves."""
        result: dict[Slot, str] = {}
        for staff in range(1, len(self.part.clefs) + 1):
            mine = {name: self.written_bar(bar) for name, bar in voices.items() if staffs[name] == staff}
            signs, self.altered[staff] = accidentals(mine, fifths, self.altered.get(staff, {}), self.tied)
            result.update(signs)
        return result

    def written_bar(self, bar: Bar) -> Bar:
        """A bar as the player reads it."""
        if self.part.transpose == (0, 0):
            return bar
        return tuple(replace(event, pitches=tuple(self.written(tone) for tone in event.pitches)) for event in bar)

    def attributes(self, measure: Element, section: Section) -> None:
        """Key, metre, clefs where they change."""
        wanted = (section.fifths, section.time)
        if wanted == self.signature:
            return
        first = self.signature is None
        old = self.signature or (None, None)
        element = child(measure, "attributes")
        if self.index == 0:
            child(element, "divisions", DIVISIONS)
        if first or old[0] != wanted[0]:
            key = child(element, "key")
            child(key, "fifths", section.fifths + self.key_shift)
            child(key, "mode", section.mode)
        if first or old[1] != wanted[1]:
            time = child(element, "time")
            child(time, "beats", section.time[0])
            child(time, "beat-type", section.time[1])
        if first:
            if len(self.part.clefs) > 1:
                child(element, "staves", len(self.part.clefs))
            self.clefs = list(self.part.clefs)
            for staff, name in enumerate(self.part.clefs, 1):
                self.clef(element, staff, name)
            if self.part.transpose != (0, 0):
                transpose = child(element, "transpose")
                child(transpose, "diatonic", self.part.transpose[0])
                child(transpose, "chromatic", self.part.transpose[1])
        self.signature = wanted

    def clef(self, attributes: Element, staff: int, name: str) -> None:
        """`<clef>`."""
        clef = child(attributes, "clef", **({"number": str(staff)} if len(self.part.clefs) > 1 else {}))
        sign, line = CLEFS[name]
        child(clef, "sign", sign)
        child(clef, "line", line)

    def start_clefs(self, measure: Element, marks: list[Mark]) -> None:
        """Clef changes at the start of a bar."""
        for mark in marks:
            if mark.command == "clef" and not mark.offset:
                staff, name = mark.argument.split()
                self.clef(child(measure, "attributes"), int(staff), name)

    def voice(
        self, measure: Element, name: str, bar: Bar, section: Section, lead: Fraction, waiting: list[Placed],
        shown: Mapping[Slot, str], words: Mapping[tuple[str, int], tuple[Syllable, ...]], marks: list[Mark],
    ) -> None:
        """One voice of a bar, with the directions of its staff where it is the first there."""
        beamed = beams(bar, section.time, lead)
        number = str([voice for voice, _, _ in self.voices].index(name) + 1)
        staff = dict(self.part.voices)[name]
        clefs = [m for m in marks if m.command == "clef" and m.offset and m.argument[0] == str(staff) and waiting is not None]
        for index, (offset, event) in enumerate(starts(bar)):
            for mark in [m for m in clefs if m.offset == offset and self.leads(name)]:
                self.clef(child(measure, "attributes"), staff, mark.argument.split()[1])
            while waiting and waiting[0].offset < offset + event.duration:
                self.direction(measure, waiting.pop(0), offset)
            tones = tuple(self.written(tone) for tone in event.pitches)
            tied_in = frozenset(tone for tone in tones if (name, tone) in self.tied)
            self.tied -= {(name, tone) for tone in tied_in}
            if event.tied:
                self.tied |= {(name, tone) for tone in tones}
            context = NoteContext(
                number, staff if len(self.part.clefs) > 1 else None, number, 0, tuple(beamed.get(index, ())), tied_in,
                {tone: shown[name, index, tone] for tone in tones if (name, index, tone) in shown},
                words.get((name, index), ()),
            )
            write_event(measure, replace(event, pitches=tones), context)
        length = sum((event.duration for event in bar), Fraction(0))
        for placed in waiting:
            self.direction(measure, replace(placed, offset=min(placed.offset, length)), length)
        waiting.clear()

    def leads(self, name: str) -> bool:
        """Whether a voice is the first of its staff."""
        return next(leads for voice, _, leads in self.voices if voice == name)

    def direction(self, measure: Element, placed: Placed, offset: Fraction) -> None:
        """A direction before the event at `offset`, moved right where it stands inside that event."""
        element = placed.element
        anchor = max(i for i, node in enumerate(element) if node.tag == "direction-type") + 1
        if len(self.part.clefs) > 1:
            node = etree.Element("staff")
            node.text = str(placed.staff)
            element.insert(anchor, node)
        if placed.offset != offset:
            node = etree.Element("offset")
            node.text = str(ticks(placed.offset - offset))
            if element.find("sound") is not None:
                node.set("sound", "yes")
            element.insert(anchor, node)
        measure.append(element)


# ---- the whole file --------------------------------------------------------------------------------------------------


def header(piece: Piece) -> Element:
    """Everything before the parts."""
    root = etree.Element("score-partwise", {"version": "4.0"})
    child(child(root, "work"), "work-title", piece.title)
    if piece.subtitle:
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
    child(scaling, "millimeters", MILLIMETERS)
    child(scaling, "tenths", 40)
    parts = child(root, "part-list")
    for part in piece.parts:
        write_part_head(parts, part)
    return root


def write_part_head(parts: Element, part: Part) -> None:
    """`<score-part>`."""
    element = child(parts, "score-part", id=part.id)
    child(element, "part-name", part.name)
    child(element, "part-abbreviation", part.short)
    instrument = child(element, "score-instrument", id=f"{part.id}-I1")
    child(instrument, "instrument-name", part.name)
    child(instrument, "instrument-sound", part.sound)
    midi = child(element, "midi-instrument", id=f"{part.id}-I1")
    child(midi, "midi-channel", int(part.id[1:]))
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
    container = (
        '<?xml version="1.0" encoding="UTF-8"?>\n<container>\n <rootfiles>\n  <rootfile full-path="{0}" '
        'media-type="application/vnd.recordare.musicxml+xml"/>\n </rootfiles>\n</container>\n'
    ).format(name)
    entries = (
        ("mimetype", b"application/vnd.recordare.musicxml"),
        ("META-INF/container.xml", container.encode()),
        (name, xml),
    )
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_STORED) as archive:
        for entry, data in entries:
            info = zipfile.ZipInfo(entry, (1980, 1, 1, 0, 0, 0))
            info.create_system, info.external_attr = 3, 0o644 << 16
            archive.writestr(info, data)
    return buffer.getvalue()
