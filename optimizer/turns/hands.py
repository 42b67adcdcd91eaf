"""Who turns the pages, and which staves keep which hand busy.

In: a score, the user's wishes.  Out: `Player`, frozen, and what each hand plays in seconds of playing order.
Always true: a player without hands at work (`kind` free) can always turn; what is only read counts for memory
alone.
"""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import pairwise
from typing import Final

from optimizer.errors import UsageError
from optimizer.score.events import played_notes
from optimizer.score.model import Part, PartKind, PlayedNote, Score
from optimizer.settings import Hands

RIGHT, LEFT, BOTH, FEET, READ = "right", "left", "both", "feet", "read"
NOT_TURNING: Final = frozenset({FEET, READ})
HandEvents = Mapping[str, Sequence[tuple[float, float, float]]]

# An organist's third staff is played by the feet. A pianist's is not: there the lowest staves are the left
# hand's, and counting them as feet would call that hand free while it plays.
PIANO_NAME: Final = re.compile(r"piano|[ck]lavier|cembalo|harpsichord|clavecin|fl[uü]gel", re.IGNORECASE)


class PlayerKind(StrEnum):
    """What the player's hands do."""

    KEYBOARD = "keyboard"
    INSTRUMENT = "instrument"
    FREE = "free"  # sings, reads or conducts


@dataclass(frozen=True, slots=True)
class Player:
    """The person whose turns count.

    `hand_staves`: hand -> staves (part_index, staff), staff 1-based; hands are "left" and "right", or "both"
    when they work together; "feet" play and "read" is followed, neither turns. `text` is for reports. `busy`: start and
    end, in seconds of playing order, of rests in which something else takes all hands (a mute, another instrument), and
    for how many seconds.
    """

    part_indices: tuple[int, ...]
    kind: PlayerKind
    hand_staves: Mapping[str, frozenset[tuple[int, int]]]
    text: str
    busy: tuple[tuple[float, float, float], ...] = ()

    @property
    def turning_hands(self) -> tuple[str, ...]:
        """The hands that may turn and that the music can keep from it, left before right."""
        return tuple(hand for hand in (LEFT, RIGHT, BOTH) if hand in self.hand_staves)

    def as_json(self, score: Score) -> dict[str, object]:
        """plan.json, "player"."""
        return {"parts": [score.parts[index].id for index in self.part_indices], "kind": self.kind.value}


def choose_player(score: Score, names: Sequence[str] = (), hands: Hands = Hands.AUTO) -> Player:
    """The player named, or else the one the score is for; UsageError where a name fits no part.

    Default: the keyboard player, if there is one; the only part's player; else somebody who reads or
    conducts.
    """
    if names:
        return _player_of(list(dict.fromkeys(find_part(score, name) for name in names)), hands)
    if keyboard := _keyboard_parts(score):
        return _player_of(keyboard, hands)
    if len(score.parts) == 1:
        return _player_of(list(score.parts), hands)
    return _player_of(list(score.parts), Hands.FREE if hands is Hands.AUTO else hands)


def find_part(score: Score, name: str) -> Part:
    """The part with this id, name, beginning or piece of a name (in any case), or 1-based number; UsageError
    otherwise."""
    wanted = name.strip().casefold()
    number = int(wanted) if wanted.isdecimal() and len(wanted) < 10 else 0
    named = [part for part in score.parts if part.name.strip().casefold() == wanted]
    begun = [part for part in score.parts if wanted and part.name.strip().casefold().startswith(wanted)]
    inside = [part for part in score.parts if wanted and wanted in part.name.casefold()]
    numbered = [part for part in score.parts if part.index + 1 == number]
    for found in ([part for part in score.parts if part.id == name.strip()], named, numbered, begun, inside):
        if len(found) == 1:
            return found[0]
    known = ", ".join(f"{part.index + 1} {part.name or part.id}" for part in score.parts)
    problem = "fits several parts" if named or begun or inside else "no such part"
    raise UsageError(f"--player {name}: {problem}; use a name, an id or a number of: {known}")


def hand_events(score: Score, player: Player) -> HandEvents:
    """Onset, end (seconds of playing order) and sounding MIDI key of each note, by hand, in order of onset.

    Unpitched notes have NaN for a key. Cue notes are nobody's.
    """
    return events_by_hand(played_notes(score), player)


def events_by_hand(notes: Sequence[PlayedNote], player: Player) -> HandEvents:
    """The same from notes already unrolled."""
    hand_of = {staff: hand for hand, staves in player.hand_staves.items() for staff in staves}
    found: dict[str, list[tuple[float, float, float]]] = {hand: [] for hand in player.hand_staves}
    for note in notes:
        hand = hand_of.get((note.part_index, note.staff))
        if hand and not note.cue:
            found[hand].append((note.onset_s, note.end_s, float("nan") if note.midi is None else note.midi))
    return {hand: tuple(sorted(events)) for hand, events in found.items()}


def _keyboard_parts(score: Score) -> list[Part]:
    """The first keyboard player's: one part of several staves, or two neighbours of one staff, or one of
    one."""
    keyboards = [part for part in score.parts if part.kind is PartKind.KEYBOARD and not part.has_lyrics]
    kinds = (PartKind.KEYBOARD, PartKind.OTHER)  # reductions often do not say what plays them
    several = [part for part in score.parts if part.staves > 1 and part.kind in kinds]
    if several:
        return sorted(several, key=lambda part: part not in keyboards)[:1]
    for upper, lower in pairwise(keyboards):
        if lower.index == upper.index + 1:
            return [upper, lower]
    return keyboards[:1]


def _player_of(parts: Sequence[Part], hands: Hands) -> Player:
    """Maps the staves of these parts to hands."""
    names = " and ".join(part.name or part.id for part in parts)
    indices = tuple(part.index for part in parts)
    staves = [(part.index, staff) for part in parts for staff in range(1, part.staves + 1)]
    way = _way(parts, len(staves)) if hands is Hands.AUTO else hands
    if way is Hands.FREE:
        several = "somebody who reads or conducts, a hand always free"
        who = several if len(parts) > 1 else f"{names}, hands free"
        return Player(indices, PlayerKind.FREE, {READ: frozenset(staves)}, who)
    if way is Hands.TOGETHER or len(staves) == 1:
        kind = PlayerKind.KEYBOARD if parts[0].kind is PartKind.KEYBOARD else PlayerKind.INSTRUMENT
        return Player(indices, kind, {BOTH: frozenset(staves)}, f"{names}, both hands busy while notes sound")
    harp = any(part.kind in (PartKind.STRINGS, PartKind.WIND) for part in parts)
    kind = PlayerKind.INSTRUMENT if harp else PlayerKind.KEYBOARD
    return Player(indices, kind, _two_hands(parts, staves), f"{names}, two hands")


def _way(parts: Sequence[Part], staves: int) -> Hands:
    """How players of such parts use their hands."""
    if all(part.kind is PartKind.VOICE for part in parts):
        return Hands.FREE
    blown = any(part.staves == 1 and part.kind in (PartKind.STRINGS, PartKind.WIND) for part in parts)
    return Hands.TOGETHER if staves == 1 or blown else Hands.TWO


def _two_hands(
    parts: Sequence[Part], staves: Sequence[tuple[int, int]]
) -> dict[str, frozenset[tuple[int, int]]]:
    """Highest staff right, the next left; what lies below is for the feet, at a piano for the left hand."""
    found = {LEFT: frozenset(staves[1:2]), RIGHT: frozenset(staves[:1])}
    below = frozenset(staves[2:])
    if below and any(PIANO_NAME.search(part.name) for part in parts):
        found[LEFT] |= below
    elif below:
        found[FEET] = below
    return found
