"""One pass over a partwise tree that gives every note, direction, barline and hold its exact time.

In: a `ScoreFile`. Out: a `Walk`: notes in file order, and elements placed in time for the modules that
interpret them. Times are Fractions of a quarter from the start of the measure. Always true: no time is
negative.
"""

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace
from fractions import Fraction
from math import lcm
from typing import TYPE_CHECKING, Final

from lxml import etree

from optimizer.errors import ScoreError
from optimizer.score.model import Note, Pitch
from optimizer.score.safe_xml import EXPORT_AGAIN

if TYPE_CHECKING:
    from optimizer.score.load import ScoreFile  # which reads numbers with us

ZERO: Final = Fraction(0)
Tag = str | bytes | bytearray | etree.QName  # what lxml may give; comments have a function as tag
Children = dict[Tag, etree._Element]  # by name; of several of one name the last
Ticks = int | Fraction  # the file's own unit, `divisions` to a quarter
MAX_DOTS: Final = 8
MAX_STAVES: Final = 16  # of one part; more is a mistake in the file
# More digits than these before the point are nonsense, after it nobody hears them, and exact arithmetic on them
# could be made to take for ever.
_DECIMAL: Final = re.compile(r"\s*([+-]?(?:\d{1,9}(?:\.\d{0,9})?|\.\d{1,9}))(?:(?<=\.\d{9})\d{1,30})?\s*")
# A cadenza, or a whole piece without barlines, has some hundreds; a multiple rest of 1000 bars has 4000.
MAX_BAR_QL: Final = 10_000
# What stands in a bar of one part; some 300 notes fill a line of the widest paper, and engraving more takes minutes.
MAX_ELEMENTS: Final = 2000
# Least common multiple of all divisions; of 27 real scores at most 10 080. Fractions grow with it.
MAX_COMMON_DIVISIONS: Final = 10**15
OCTAVES: Final = range(-1, 11)  # octaves of MIDI key numbers; W3C musicxml.xsd 4.0, octave: 0 to 9
MAX_ALTER: Final = 12  # semitones; accidentals go to three
MAX_TRANSPOSE: Final = 60  # semitones; no instrument sounds further from what is written
# Note values in quarters, W3C musicxml.xsd 4.0, note-type-value.
NOTE_VALUES_QL: Final = {
    "maxima": Fraction(32),
    "long": Fraction(16),
    "breve": Fraction(8),
    "whole": Fraction(4),
    "half": Fraction(2),
    "quarter": Fraction(1),
    "eighth": Fraction(1, 2),
    "16th": Fraction(1, 4),
    "32nd": Fraction(1, 8),
    "64th": Fraction(1, 16),
    "128th": Fraction(1, 32),
    "256th": Fraction(1, 64),
    "512th": Fraction(1, 128),
    "1024th": Fraction(1, 256),
}


@dataclass(frozen=True, slots=True)
class Meter:
    """A time signature; `length_ql` is what a full measure lasts (compound signatures are summed)."""

    beats: int
    beat_type: int
    length_ql: Fraction


COMMON_TIME: Final = Meter(4, 4, Fraction(4))  # where no signature is given


@dataclass(frozen=True, slots=True)
class KeySignature:
    """A key at concert pitch; `mode` is empty when the file does not say."""

    fifths: int
    mode: str


@dataclass(frozen=True, slots=True, eq=False)
class Placed:
    """A barline or print at a moment."""

    measure_index: int
    offset_ql: Fraction
    element: etree._Element


@dataclass(frozen=True, slots=True, eq=False)
class Direction:
    """A direction, or a sound that stands alone, at a moment. `text`: its words; `signs`: other names of what
    it shows; `sound` acts at `sound_ql`."""

    measure_index: int
    offset_ql: Fraction
    text: str
    signs: tuple[str, ...]
    metronomes: tuple[etree._Element, ...]
    sound: etree._Element | None
    sound_ql: Fraction


@dataclass(frozen=True, slots=True)
class Hold:
    """A fermata, caesura or breath-mark on a note or rest that starts at `offset_ql`."""

    measure_index: int
    offset_ql: Fraction
    duration_ql: Fraction
    sign: str


@dataclass(slots=True)
class PartFacts:
    """What the notes say about a part."""

    staves: int = 1
    has_lyrics: bool = False
    clefs: set[str] = field(default_factory=set)


@dataclass(slots=True)
class Walk:
    """All that one pass collects. `content_ql`: what the longest part fills of each measure; `meters` and
    `keys` hold changes by measure; `keys` ranks parts that transpose behind those that do not;
    `common_divisions` is a multiple of all divisions."""

    notes: list[Note] = field(default_factory=list)
    directions: list[Direction] = field(default_factory=list)
    barlines: list[Placed] = field(default_factory=list)
    prints: list[Placed] = field(default_factory=list)
    holds: list[Hold] = field(default_factory=list)
    content_ql: list[Fraction] = field(default_factory=list)
    meters: dict[int, Meter] = field(default_factory=dict)
    keys: dict[int, tuple[tuple[bool, int], KeySignature]] = field(default_factory=dict)
    parts: list[PartFacts] = field(default_factory=list)
    warnings: list[str] = field(default_factory=list)
    common_divisions: int = 1


def walk(file: "ScoreFile") -> Walk:
    """Place everything in time; ScoreError where a number makes no sense."""
    result = Walk()
    parts = file.root.findall("part")
    result.content_ql = [ZERO] * len(parts[0].findall("measure"))
    listed = file.root.iterfind("part-list/score-part")
    names = {entry.get("id"): " ".join(entry.findtext("part-name", "").split()) for entry in listed}
    for index, part in enumerate(parts):
        result.parts.append(PartFacts())
        identity = part.get("id") or str(index + 1)
        _PartWalk(file.name, index, names.get(identity) or identity, result).run(part)
    return result


def exact(text: str | None) -> Fraction | None:
    """A decimal number as written, to nine places; None when it is missing or no number of sensible length."""
    match = _DECIMAL.fullmatch(text) if text else None
    return Fraction(match[1]) if match else None


def whole(text: str | None, default: int) -> int:
    """An integer as written, or the default."""
    value = exact(text)
    return default if value is None else int(value)


def elements(parent: etree._Element) -> Iterator[etree._Element]:
    """Children that are elements, not comments."""
    return parent.iterchildren("*")


class _PartWalk:
    """The state of a walk along one part."""

    def __init__(self, file: str, index: int, name: str, result: Walk) -> None:
        self._file, self._index, self._name, self._result = file, index, name, result
        self._facts = result.parts[index]
        self._divisions = Fraction(1)
        # Music repeats the same few durations, offsets and pitches endlessly: each is worked out once.
        self._ticks_of: dict[str | None, Ticks] = {}
        self._offsets: dict[Ticks, Fraction] = {}
        self._pitches: dict[tuple[str | None, ...], Pitch] = {}
        self._transposes: dict[int, int] = {}  # staff (0: all) -> semitones
        self._fifths_shift = 0
        self._measure_index = 0
        self._number = ""
        self._position: Ticks = 0
        self._longest: Ticks = 0
        self._onset: Ticks = 0
        self._graces: list[int] = []  # places of grace notes in `notes` that wait for their main note
        self._grace_onsets = 0
        self._handlers: dict[Tag, Callable[[etree._Element], None]] = {
            "note": self._note,
            "backup": self._backup,
            "forward": self._forward,
            "attributes": self._attributes,
            "direction": self._direction,
            "sound": self._sound,
            "barline": self._barline,
            "print": self._print,
        }

    def run(self, part: etree._Element) -> None:
        content = self._result.content_ql
        for index, measure in enumerate(part.iterchildren("measure")):
            self._measure_index, self._number = index, measure.get("number", "")
            self._position = self._longest = self._onset = 0
            if len(measure) > MAX_ELEMENTS:
                raise self._fail(f"has more than {MAX_ELEMENTS} notes, rests and signs, too many for a line")
            for element in elements(measure):
                handler = self._handlers.get(element.tag)
                if handler:
                    handler(element)
            self._release_graces()
            length_ql = self._ql(self._longest)
            if length_ql > MAX_BAR_QL:
                raise self._fail(f"lasts more than {MAX_BAR_QL} quarters, by its durations and forwards")
            content[index] = max(content[index], length_ql)

    def _fail(self, problem: str) -> ScoreError:
        return ScoreError(self._file, self._place(), problem, EXPORT_AGAIN)

    def _place(self) -> str:
        return f"part {self._name}, bar {self._number or self._measure_index + 1}"

    def _duration(self, parent: etree._Element) -> Ticks:
        text = parent.findtext("duration")
        ticks = self._ticks_of.get(text)
        if ticks is None:
            value = exact(text)
            if value is None or value < 0:
                raise self._fail(f"the duration {text!r} of a <{parent.tag!s}> is no number of divisions")
            ticks = self._ticks_of[text] = _whole_if_possible(value)
        return ticks

    def _ql(self, ticks: Ticks) -> Fraction:
        """Divisions as quarters."""
        value = self._offsets.get(ticks)
        if value is None:
            value = self._offsets[ticks] = ticks / self._divisions
        return value

    def _advance(self, ticks: Ticks) -> None:
        self._position += ticks
        if self._position > self._longest:
            self._longest = self._position

    def _set_divisions(self, divisions: Fraction) -> None:
        """Change the unit; the place in the measure stays."""
        common = lcm(self._result.common_divisions, divisions.numerator)
        if common > MAX_COMMON_DIVISIONS:
            raise self._fail("the divisions differ too much from those before to be reckoned with")
        self._result.common_divisions = common
        ratio = divisions / self._divisions
        self._position, self._longest, self._onset = (
            _whole_if_possible(ticks * ratio) for ticks in (self._position, self._longest, self._onset)
        )
        self._divisions = divisions
        self._offsets.clear()

    def _backup(self, element: etree._Element) -> None:
        self._release_graces()
        self._position -= self._duration(element)
        if self._position < 0:
            self._result.warnings.append(f"{self._place()}: a backup goes before the bar; taken as its start")
            self._position = 0

    def _forward(self, element: etree._Element) -> None:
        self._advance(self._duration(element))

    def _note(self, note: etree._Element) -> None:
        children: Children = {child.tag: child for child in note}
        grace, chord = "grace" in children, "chord" in children
        ticks: Ticks = 0
        if not grace:
            ticks = self._duration(note) if "duration" in children else _written_ql(note) * self._divisions
        if not chord:
            self._onset = self._position
            if not grace:
                self._release_graces()
        if "rest" not in children:
            self._add_note(note, children, self._ql(ticks), grace, chord)
        if ticks and "notations" in children:
            self._holds(note, self._ql(ticks))
        if not chord and not grace:
            self._advance(ticks)

    def _add_note(
        self, note: etree._Element, children: Children, duration_ql: Fraction, grace: bool, chord: bool
    ) -> None:
        pitch = self._pitch(children["pitch"]) if "pitch" in children else None
        ties = _tie_types(note, children)
        voice, kind, lyric = children.get("voice"), children.get("type"), "lyric" in children
        cue = "cue" in children or (kind is not None and kind.get("size") in ("cue", "grace-cue"))
        staff = min(max(whole(children["staff"].text, 1), 1), MAX_STAVES) if "staff" in children else 1
        self._facts.staves = max(self._facts.staves, staff)
        self._facts.has_lyrics |= lyric and not cue  # words of a cue are another player's
        notes = self._result.notes
        if grace:
            self._grace_onsets += not chord
            self._graces.append(len(notes))
        notes.append(
            Note(
                part_index=self._index,
                measure_index=self._measure_index,
                offset_ql=self._ql(self._onset),
                duration_ql=duration_ql,
                staff=staff,
                voice=(voice.text or "1").strip() if voice is not None else "1",
                pitch=pitch,
                sounding_midi=None if pitch is None else pitch.midi + self._transposition(staff),
                grace=grace,
                cue=cue,
                tie_start="start" in ties,
                tie_stop="stop" in ties,
                has_lyric=lyric,
                grace_order=self._grace_onsets if grace else 0,
            )
        )

    def _release_graces(self) -> None:
        """The main note is here: number the grace notes before it from the last (1) to the first."""
        notes = self._result.notes
        for place in self._graces:
            notes[place] = replace(
                notes[place], grace_order=self._grace_onsets + 1 - notes[place].grace_order
            )
        self._graces.clear()
        self._grace_onsets = 0

    def _pitch(self, element: etree._Element) -> Pitch:
        texts = tuple(child.text for child in element)
        pitch = self._pitches.get(texts)
        if pitch is None:
            pitch = self._pitches[texts] = self._new_pitch(element)
        return pitch

    def _new_pitch(self, element: etree._Element) -> Pitch:
        step = element.findtext("step", "").strip()
        alter, octave = element.findtext("alter") or "0", element.findtext("octave")
        semitones, number = exact(alter), exact(octave)
        if (
            step not in set("ABCDEFG")
            or semitones is None
            or abs(semitones) > MAX_ALTER
            or number is None
            or number not in OCTAVES
        ):
            raise self._fail(f"a note has the impossible pitch {step!r}, alter {alter!r}, octave {octave!r}")
        return Pitch(step, float(semitones), int(number))

    def _transposition(self, staff: int) -> int:
        return self._transposes.get(staff, self._transposes.get(0, 0)) if self._transposes else 0

    def _holds(self, note: etree._Element, duration_ql: Fraction) -> None:
        for notation in note.iterfind("notations/*"):
            signs = notation if notation.tag == "articulations" else (notation,)
            for sign in signs:
                if sign.tag in ("fermata", "caesura", "breath-mark"):
                    hold = Hold(self._measure_index, self._ql(self._onset), duration_ql, str(sign.tag))
                    self._result.holds.append(hold)

    def _attributes(self, element: etree._Element) -> None:
        divisions = element.findtext("divisions")
        if divisions is not None:
            value = exact(divisions)
            if value is None or value <= 0:
                raise self._fail(f"the divisions {divisions!r} are no positive number")
            self._set_divisions(value)
        self._facts.staves = max(self._facts.staves, min(whole(element.findtext("staves"), 1), MAX_STAVES))
        self._facts.clefs.update(sign.text or "" for sign in element.iterfind("clef/sign"))
        for transpose in element.iterfind("transpose"):
            self._transpose(transpose)
        self._key(element)
        self._time(element)

    def _transpose(self, element: etree._Element) -> None:
        chromatic = whole(element.findtext("chromatic"), 0)
        diatonic = element.findtext("diatonic")
        shift = 7 * chromatic
        # Without the diatonic step choose the signature with fewer accidentals.
        self._fifths_shift = shift - 12 * whole(diatonic, 0) if diatonic else (shift + 6) % 12 - 6
        semitones = chromatic + 12 * whole(element.findtext("octave-change"), 0)
        if abs(semitones) > MAX_TRANSPOSE:
            raise self._fail(f"a transposition by {semitones} semitones is impossible")
        self._transposes[whole(element.get("number"), 0)] = semitones

    def _key(self, element: etree._Element) -> None:
        key = element.find("key")
        fifths = exact(key.findtext("fifths")) if key is not None else None
        if key is None or fifths is None:
            return
        index = self._moment()
        rank = (self._fifths_shift != 0, self._index)
        known = self._result.keys.get(index)
        if known is None or rank < known[0]:
            signature = KeySignature(
                int(fifths) + self._fifths_shift, key.findtext("mode", "").strip().lower()
            )
            self._result.keys[index] = (rank, signature)

    def _time(self, element: etree._Element) -> None:
        time = element.find("time")
        meter = read_meter(time) if time is not None else None
        if meter:
            self._result.meters.setdefault(self._moment(), meter)

    def _moment(self) -> int:
        """The measure from which an attribute counts: one in the middle of a measure counts from the next."""
        return self._measure_index + (self._position > 0)

    def _sound(self, element: etree._Element) -> None:
        place = self._ql(self._position)
        heard = max(ZERO, place + self._shift(element.find("offset")))
        self._result.directions.append(Direction(self._measure_index, place, "", (), (), element, heard))

    def _direction(self, element: etree._Element) -> None:
        shown = list(element.iterfind("direction-type/*"))
        texts = [" ".join((item.text or "").split()) for item in shown if item.tag == "words"]
        self._result.directions.append(
            Direction(
                self._measure_index,
                self._ql(self._position),
                " ".join(text for text in texts if text),
                tuple(str(item.tag) for item in shown if item.tag != "words"),
                tuple(item for item in shown if item.tag == "metronome"),
                sound := element.find("sound"),
                self._heard(element, sound),
            )
        )

    def _heard(self, direction: etree._Element, sound: etree._Element | None) -> Fraction:
        """When the sound of a direction acts. The offset of a direction moves what is heard only when it says
        so; that of a sound always does (W3C musicxml.xsd 4.0, offset and sound)."""
        place = self._ql(self._position)
        if sound is None:
            return place
        own, shown = sound.find("offset"), direction.find("offset")
        if own is None and (shown is None or shown.get("sound") != "yes"):
            return place
        return max(ZERO, place + self._shift(shown if own is None else own))

    def _shift(self, offset: etree._Element | None) -> Fraction:
        value = exact(offset.text) if offset is not None else None
        return (value or ZERO) / self._divisions

    def _barline(self, element: etree._Element) -> None:
        self._result.barlines.append(self._placed(element))

    def _print(self, element: etree._Element) -> None:
        self._result.prints.append(self._placed(element))

    def _placed(self, element: etree._Element) -> Placed:
        return Placed(self._measure_index, self._ql(self._position), element)


def _whole_if_possible(value: Fraction) -> Ticks:
    """Whole numbers as int, which is several times faster."""
    return value.numerator if value.denominator == 1 else value


def _tie_types(note: etree._Element, children: Children) -> set[str | None]:
    """What is tied; `<tie>` says what sounds, `<tied>` what is drawn and serves where `<tie>` is missing."""
    if "tie" in children:
        return {tie.get("type") for tie in note.iterchildren("tie")}
    if "notations" in children:
        return {tied.get("type") for tied in note.iterfind("notations/tied")}
    return set()


def _written_ql(note: etree._Element) -> Fraction:
    """The length of a note without `<duration>`, from its type and dots."""
    value = NOTE_VALUES_QL.get(note.findtext("type", "").strip(), ZERO)
    return value * dotted(len(note.findall("dot")))


def dotted(dots: int) -> Fraction:
    """What dots lengthen a note by: 1, 3/2, 7/4 ..."""
    return 2 - Fraction(1, 2 ** min(dots, MAX_DOTS))


def read_meter(time: etree._Element) -> Meter | None:
    """A `<time>` element; None for senza misura and for what cannot be read."""
    pairs: list[tuple[int, int]] = []
    for beats, beat_type in zip(time.iterchildren("beats"), time.iterchildren("beat-type"), strict=False):
        numbers = re.fullmatch(r"\s*\d{1,3}(\s*\+\s*\d{1,3}){0,20}\s*", beats.text or "")
        unit = whole(beat_type.text, 0)
        if not numbers or not 1 <= unit <= 1024:
            return None
        pairs.append((sum(int(number) for number in re.findall(r"\d+", numbers[0])), unit))
    if not pairs or not sum(count for count, _ in pairs):
        return None
    unit = max(unit for _, unit in pairs)
    beats_sum = sum(Fraction(count * unit, own_unit) for count, own_unit in pairs)
    length_ql = sum((Fraction(4 * count, own) for count, own in pairs), ZERO)
    return Meter(int(beats_sum), unit, length_ql) if length_ql <= MAX_BAR_QL else None
