"""What is known of instruments: families, hands, and what takes the hands before a note.

In: instruments.toml, and the user's file of the same form.  Out: `Instruments`.  With a score: a part's family, how its
player uses the hands, and `busy`, rests in seconds of the playing order in which the hands are taken by a mute, another
instrument or the bow.  Always true: a change takes no more time than there is before the note that it is for.
"""

import re
import tomllib
from bisect import bisect_left
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import lru_cache
from itertools import pairwise
from pathlib import Path
from typing import Any, Final

from lxml import etree

from optimizer.engrave.bars import placed_bars
from optimizer.errors import UsageError
from optimizer.score.events import clock_s, played_notes
from optimizer.score.model import Part, PartKind, Score
from optimizer.settings import Hands, Settings
from optimizer.turns.hands import Player, PlayerKind, choose_player

_FILE: Final = Path(__file__).with_name("instruments.toml")
_HANDS: Final = (Hands.TOGETHER, Hands.TWO, Hands.FREE)
# What remains to be said of a part that no name and no sound tells.
_BY_KIND: Final = {
    PartKind.KEYBOARD: "keyboards",
    PartKind.VOICE: "voices",
    PartKind.STRINGS: "strings",
    PartKind.WIND: "woodwind",
}
_OTHER: Final = "other"
_INSTRUMENT: Final = "instrument"  # what is changed where notes of a file name another instrument
_MOST_S: Final = 60.0  # a change that takes longer is a mistake in the file
_LEAST_S: Final = 0.05  # less than what can be felt is no stretch


@dataclass(frozen=True, slots=True)
class Family:
    """Instruments played alike. `name`: what reports call the family; `sounds`, `names`: how theirs begin."""

    name: str
    hands: Hands
    sounds: tuple[str, ...]
    names: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Change:
    """What players of some families do with their hands before a note, and for how long. `of`, `to`: what is brought
    into which state; `to` is empty where each time is another one; `words`: how directions that ask for it begin."""

    name: str
    of: str
    to: str
    families: tuple[str, ...]
    seconds: float
    reason: str
    words: tuple[str, ...]

    def asked_at(self, text: str) -> tuple[int, int] | None:
        """Where the words of a direction ask for it, if they do: the first, and of these the longest words."""
        found = (match for word in self.words if (match := _pattern(word).search(text)))
        return min(((match.start(), -match.end()) for match in found), default=None)


@dataclass(frozen=True, slots=True)
class Instruments:
    """All that is known. `start`: states at the start of a piece."""

    families: tuple[Family, ...]
    changes: tuple[Change, ...]
    start: Mapping[str, str]

    def family(self, root: etree._Element, part: Part) -> Family:
        """Of a part of this score: what is sung is a voice; then the standard sound counts, then the names."""
        if part.has_lyrics and part.staves == 1:
            return self._called("voices")
        entry = next((one for one in root.iterfind("part-list/score-part") if one.get("id") == part.id), root)
        sounds = (sound.text for sound in entry.iterfind("score-instrument/instrument-sound"))
        names = (part.name, *(each.text for each in entry.iterfind("score-instrument/instrument-name")))
        return (
            next(filter(None, (self._of_sound((sound or "").strip()) for sound in sounds)), None)
            or next(filter(None, (self._of_name(name or "") for name in names)), None)
            or self._called(_BY_KIND.get(part.kind, _OTHER))
        )

    def _of_sound(self, sound: str) -> Family | None:
        fitting = [
            (len(known), family)
            for family in self.families
            for known in family.sounds
            if sound == known or sound.startswith(f"{known}.")
        ]
        return max(fitting, key=lambda each: each[0])[1] if fitting else None

    def _of_name(self, name: str) -> Family | None:
        return next(
            (family for family in self.families if any(_pattern(word).search(name) for word in family.names)),
            None,
        )

    def _called(self, name: str) -> Family:
        found = next((family for family in self.families if family.name == name), None)
        return found or Family(name, Hands.AUTO, (), ())


@dataclass(frozen=True, slots=True)
class Busy:
    """A rest, in seconds of the playing order, in which a change takes the hands for `taken_s`."""

    start_s: float
    end_s: float
    taken_s: float
    change: Change


@lru_cache(8)
def known_instruments(path: str = "") -> Instruments:
    """What is known, and what the user's file adds; UsageError (one line) where that cannot be read."""
    own = _read(_FILE)
    return _merged(own, _read(Path(path))) if path else own


def hands_of(root: etree._Element, part: Part, instruments: Instruments) -> Hands:
    """How the player of a part uses the hands."""
    return instruments.family(root, part).hands


def player_of(root: etree._Element, score: Score, settings: Settings) -> Player:
    """Whose turns count, with all that takes the hands; of the only part of a score, by its family."""
    known, hands = known_instruments(settings.instruments), settings.hands
    if hands is Hands.AUTO and len(score.parts) == 1:
        hands = hands_of(root, score.parts[0], known)
    return with_busy(choose_player(score, settings.player, hands), root, score, known)


def with_busy(player: Player, root: etree._Element, score: Score, instruments: Instruments) -> Player:
    """The player, whose hands are also taken by what instruments ask for."""
    if player.kind is not PlayerKind.INSTRUMENT:
        return player
    taken = [
        (each.start_s, each.end_s, each.taken_s)
        for index in player.part_indices
        for each in busy(root, score, index, instruments)
    ]
    return replace(player, busy=tuple(sorted(taken))) if taken else player


def busy(root: etree._Element, score: Score, part_index: int, instruments: Instruments) -> tuple[Busy, ...]:
    """When the hands of a part's player are taken: as long as a change lasts, and no longer than the rest before the
    note that it is for."""
    changes = _changes(root, score.parts[part_index], part_index, instruments)
    if not changes:
        return ()
    played = [note for note in played_notes(score) if note.part_index == part_index and not note.cue]
    onsets = [note.onset_s for note in played]
    found = []
    for step in score.played:
        for offset, change in changes.get(step.measure_index, ()):
            moment_s = step.start_s + clock_s(score.clocks[step.measure_index], offset)
            at = bisect_left(onsets, moment_s - _LEAST_S)
            if at < len(onsets):
                before_s = max((note.end_s for note in played[:at]), default=0.0)
                taken_s = min(change.seconds, onsets[at] - before_s)
                if taken_s > _LEAST_S:
                    found.append(Busy(before_s, onsets[at], taken_s, change))
    return tuple(found)


def _changes(
    root: etree._Element, part: Part, part_index: int, instruments: Instruments
) -> Mapping[int, Sequence[tuple[Fraction, Change]]]:
    """By measure: when something is to be changed that is not in that state already."""
    family = instruments.family(root, part).name
    known = [change for change in instruments.changes if family in change.families]
    if not known:
        return {}
    element = root.findall("part")[part_index]
    asked = sorted(_asked(element, known), key=lambda each: each[:2])
    states = dict(instruments.start)
    found: dict[int, list[tuple[Fraction, Change]]] = {}
    for bar, offset, change in asked:
        if not change.to or states.get(change.of) != change.to:
            found.setdefault(bar, []).append((offset, change))
        states[change.of] = change.to
    return found


def _asked(part: etree._Element, known: Sequence[Change]) -> Iterator[tuple[int, Fraction, Change]]:
    """Bar, quarters from its start, and what directions and notes ask for."""
    bars = placed_bars(part)
    for bar in bars:
        for mark in bar.marks:
            if mark.element.tag == "direction":
                texts = (words.text or "" for words in mark.element.iterfind("direction-type/words"))
                text = " ".join(" ".join(texts).split())
                yield from ((mark.bar_index, mark.offset, change) for change in _said(text, known))
    taken = next((change for change in known if change.of == _INSTRUMENT), None)
    if taken is None:
        return
    notes = [
        (index, place, instrument.get("id"))
        for index, bar in enumerate(bars)
        for place in sorted(bar.places, key=lambda place: place.onset)
        if (instrument := place.children.get("instrument")) is not None
    ]
    for (_, before, one), (index, place, other) in pairwise(notes):
        # A drummer plays several instruments at once: it is a change only where there is a rest.
        if one != other and place.onset > before.end:
            yield index, Fraction(place.offset, bars[index].quarter), taken


def _said(text: str, known: Sequence[Change]) -> Iterator[Change]:
    """What words ask for; of each thing to change the state that is named first: "senza sord." is not "sord."."""
    for of in dict.fromkeys(change.of for change in known):
        asked = [(at, change) for change in known if change.of == of and (at := change.asked_at(text))]
        if asked:
            yield min(asked, key=lambda each: each[0])[1]


@lru_cache(1 << 10)
def _pattern(word: str) -> re.Pattern[str]:
    """Words that begin so, in any case and with any spaces."""
    return re.compile(r"(?<!\w)" + r"\s+".join(map(re.escape, word.split(" "))), re.IGNORECASE)


def _read(path: Path) -> Instruments:
    """A file; UsageError where it is not of that form."""
    try:
        document = tomllib.loads(path.read_text(encoding="utf-8"))
    except OSError as error:
        raise UsageError(f"{path}: cannot be read ({error.strerror or error})") from None
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        raise UsageError(f"{path}: is not TOML ({error})") from None
    if unknown := document.keys() - {"start", "families", "changes"}:
        raise UsageError(f"{path}: {min(unknown)}: unknown; use start, families and changes")
    families = _of(path, document, "families", dict, {})
    changes = _of(path, document, "changes", list, [])
    start = _of(path, document, "start", dict, {})
    return Instruments(
        tuple(_family(path, name, entry) for name, entry in families.items()),
        tuple(_change(path, entry) for entry in changes),
        {name: str(state) for name, state in start.items()},
    )


def _family(path: Path, key: str, entry: Any) -> Family:
    place = f"{path}: families.{key}"
    _check(place, entry, {"hands", "sounds", "names", "family"})
    hands = _of(place, entry, "hands", str, Hands.TOGETHER.value)
    if hands not in _HANDS:
        raise UsageError(f'{place}: hands = "{hands}": use {", ".join(_HANDS)}')
    sounds, names = (_words(place, entry, name) for name in ("sounds", "names"))
    return Family(_of(place, entry, "family", str, key), Hands(hands), sounds, names)


def _change(path: Path, entry: Any) -> Change:
    name = entry.get("name") if isinstance(entry, dict) else None
    place = f"{path}: changes, {name or 'one without a name'}"
    _check(place, entry, {"name", "of", "to", "families", "seconds", "reason", "words"})
    for needed in ("name", "families", "seconds", "words"):
        if needed not in entry:
            raise UsageError(f"{place}: {needed} is missing")
    seconds = _of(place, entry, "seconds", (int, float), 0.0)
    if isinstance(seconds, bool) or not 0 < seconds <= _MOST_S:
        raise UsageError(f"{place}: seconds = {seconds}: use more than 0, at most {_MOST_S:g}")
    return Change(
        name=_of(place, entry, "name", str, ""),
        of=_of(place, entry, "of", str, str(name)),
        to=_of(place, entry, "to", str, ""),
        families=_words(place, entry, "families"),
        seconds=float(seconds),
        reason=_of(place, entry, "reason", str, ""),
        words=_words(place, entry, "words"),
    )


def _check(place: str, entry: Any, known: set[str]) -> None:
    if not isinstance(entry, dict):
        raise UsageError(f"{place}: is no table")
    if unknown := entry.keys() - known:
        raise UsageError(f"{place}: {min(unknown)}: unknown; use {', '.join(sorted(known))}")


def _of(place: object, entry: Mapping[str, Any], name: str, kind: Any, default: Any) -> Any:
    value = entry.get(name, default)
    if not isinstance(value, kind):
        raise UsageError(f"{place}: {name}: has the wrong type")
    return value


def _words(place: object, entry: Mapping[str, Any], name: str) -> tuple[str, ...]:
    words = _of(place, entry, name, list, [])
    if not all(isinstance(word, str) and word.strip() for word in words):
        raise UsageError(f"{place}: {name}: must be a list of words")
    return tuple(words)


def _merged(own: Instruments, users: Instruments) -> Instruments:
    """The user's entries first, in place of those of the same name; of a family known here, what it says is added."""
    named = {change.name for change in users.changes}
    added = {family.name for family in users.families}
    extended = (
        replace(theirs, sounds=(*theirs.sounds, *known.sounds), names=(*theirs.names, *known.names))
        for theirs in users.families
        for known in [_sum(own, theirs.name)]
    )
    return Instruments(
        (*extended, *(family for family in own.families if family.name not in added)),
        (*users.changes, *(change for change in own.changes if change.name not in named)),
        {**own.start, **users.start},
    )


def _sum(own: Instruments, name: str) -> Family:
    found = [family for family in own.families if family.name == name]
    sounds = (sound for family in found for sound in family.sounds)
    names = (word for family in found for word in family.names)
    return Family(name, Hands.AUTO, tuple(sounds), tuple(names))
