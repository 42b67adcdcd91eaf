"""What a copyist works out from the notes: which are beamed together, which show an accidental.

In: bars of `Event`.  Out: beam values and accidental names by note.  Offsets are quarters from the barline.
"""

from collections.abc import Mapping
from fractions import Fraction
from typing import Final

from composing.notation import STEPS, Bar, Event, Pitch, key_alter, starts

FLAGS: Final = {"eighth": 1, "16th": 2, "32nd": 3}
ACCIDENTALS: Final = {-2: "flat-flat", -1: "flat", 0: "natural", 1: "sharp", 2: "double-sharp"}


def widest_group(time: tuple[int, int], only_eighths: bool) -> Fraction:
    """How long a beamed group may be: a beat; for plain eighths two beats, in three the bar."""
    if time[1] == 8:
        return Fraction(3, 2)
    if only_eighths:
        return Fraction(3) if time[0] == 3 else Fraction(2)
    return Fraction(1)


def beam_groups(bar: Bar, time: tuple[int, int], lead: Fraction) -> list[list[int]]:
    """Runs of flagged notes within one window; `lead` is how much of the bar a pickup leaves out."""
    placed = [
        (offset + lead, index, event) for index, (offset, event) in enumerate(starts(bar)) if not event.grace
    ]
    wide = widest_group(time, True)

    def window(offset: Fraction) -> tuple[Fraction, int]:
        neighbours = [event for at, _, event in placed if at // wide == offset // wide]
        plain = all(FLAGS.get(event.kind, 1) == 1 and not event.triplet for event in neighbours)
        width = widest_group(time, plain)
        return width, offset // width

    groups: list[list[int]] = []
    open_window = None
    for offset, index, event in placed:
        if not event.pitches or event.kind not in FLAGS:
            open_window = None
            continue
        here = window(offset)
        if here != open_window:
            groups.append([])
        groups[-1].append(index)
        open_window = here
    return [group for group in groups if len(group) > 1]


def beams(bar: Bar, time: tuple[int, int], lead: Fraction) -> dict[int, tuple[str, ...]]:
    """Beam values by event, one for each level."""
    result = {}
    for group in beam_groups(bar, time, lead):
        flags = [0, *(FLAGS[bar[index].kind] for index in group), 0]
        for before, here, after, index in zip(flags, flags[1:], flags[2:], group, strict=False):
            result[index] = tuple(beam_value(before, after, level) for level in range(1, here + 1))
    return result


def beam_value(before: int, after: int, level: int) -> str:
    """One level of beam on a note whose neighbours in the group have so many flags."""
    if before >= level and after >= level:
        return "continue"
    if after >= level:
        return "begin"
    if before >= level:
        return "end"
    return "backward hook" if before else "forward hook"


Slot = tuple[str, int, Pitch]  # voice, event, pitch


def accidentals(
    voices: Mapping[str, Bar], fifths: int, before: Mapping[int, int], tied_in: set[tuple[str, Pitch]]
) -> tuple[dict[Slot, str], dict[int, int]]:
    """Which notes of a staff's bar show an accidental, and the altered lines of this bar.

    `before`: lines altered in the bar before, whose return to the key is shown as a reminder.
    `tied_in`: notes held over the barline, which show nothing.
    """
    inside: dict[int, int] = {}
    shown: dict[Slot, str] = {}
    held = set(tied_in)
    for name, index, event in in_time_order(voices):
        for tone in event.pitches:
            continued = (name, tone) in held
            held.discard((name, tone))
            if event.tied:
                held.add((name, tone))
            if continued:
                continue
            expected = inside.get(tone.line, key_alter(STEPS[tone.line % 7], fifths))
            reminder = tone.line not in inside and before.get(tone.line, tone.alter) != tone.alter
            if tone.alter != expected or reminder:
                shown[name, index, tone] = ACCIDENTALS[tone.alter]
            inside[tone.line] = tone.alter
    changed = {line: alter for line, alter in inside.items() if alter != key_alter(STEPS[line % 7], fifths)}
    return shown, changed


def in_time_order(voices: Mapping[str, Bar]) -> list[tuple[str, int, Event]]:
    """Notes of all voices of a staff, earliest first, grace notes before the note they lead to."""
    notes = [
        (offset, not event.grace, name, index)
        for name, bar in voices.items()
        for index, (offset, event) in enumerate(starts(bar))
        if event.pitches
    ]
    return [(name, index, voices[name][index]) for _, _, name, index in sorted(notes)]
