"""Metronome marks that only steer playback, taken out of a score.

In: the marks of a partwise MusicXML tree that is ours to change.  Always true: no bar, beat or sounding note changes,
and metronome marks joined to words stay.
"""

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise, takewhile
from typing import Final

from lxml import etree

from optimizer.engrave.bars import Marks
from optimizer.engrave.directions import remove, shown, tempo_bars

# Metronome marks without words that follow each other this closely only steer playback (issue of this project).
PLAYBACK_BARS: Final = 2
# Less than a change of tempo that is worth a word: half of what "più mosso" means to us (score/tempo_words).
UNSAID_CHANGE: Final = 1.125


_Instant = tuple[int, Fraction]


@dataclass(frozen=True, slots=True)
class _Mark:
    """A direction that shows nothing but a metronome mark; `offset` in quarters from the start of its bar, `change`:
    the tempo played from there, as a multiple of the one before (None: one is not told)."""

    bar_index: int
    offset: Fraction
    text: str
    change: float | None
    direction: etree._Element

    @property
    def instant(self) -> _Instant:
        return self.bar_index, self.offset


def remove_playback_marks(music: Marks) -> None:
    """Remove marks that only steer playback, and repetitions of a mark in other parts and staves.

    A mark at the very beginning without words stays: it is the tempo of the piece, whatever follows. In a file whose
    marks mostly steer playback, a single one beside tempo words does so too. In a file that begins without a mark,
    and whose later ones mostly change the tempo by less than is worth a word, all of them do.
    """
    marks = list(_bare_marks(music))
    if not marks:
        return
    worded = tempo_bars(music)
    steering = _steering({mark.instant for mark in marks})
    if 2 * len(steering) > len({mark.instant for mark in marks}):
        steering |= {mark.instant for mark in marks if mark.bar_index in worded}
    if not _begins_with_mark(music) and _are_mostly_slight(marks):
        steering |= {mark.instant for mark in marks}
    if 0 not in worded:
        steering.discard((0, Fraction(0)))
    seen: set[tuple[_Instant, str]] = set()
    for mark in marks:
        key = (mark.instant, mark.text)
        if key in seen or mark.instant in steering:
            remove(mark.direction)
        seen.add(key)


def _steering(instants: Collection[_Instant]) -> set[_Instant]:
    """Where another mark follows or precedes too closely for a player to heed both."""
    return {
        instant
        for pair in pairwise(sorted(instants))
        if pair[1][0] - pair[0][0] <= PLAYBACK_BARS
        for instant in pair
    }


def _begins_with_mark(music: Marks) -> bool:
    return any(
        sign.tag == "metronome" and sign.get("print-object") != "no"
        for places in music
        for place in takewhile(lambda place: not place.bar_index, places)
        for sign in shown(place.element)
    )


def _are_mostly_slight(marks: Sequence[_Mark]) -> bool:
    slight = (mark.change is not None and 1 / UNSAID_CHANGE < mark.change < UNSAID_CHANGE for mark in marks)
    return 2 * sum(slight) > len(marks)


def _bare_marks(music: Marks) -> Iterator[_Mark]:
    for places in music:
        before: float | None = None
        for place in places:
            tempo = _played_tempo(place.element)
            if _is_bare(place.element):
                texts = (text for mark in place.element.iter("metronome") for text in mark.itertext())
                text = " ".join(" ".join(texts).split())
                change = tempo / before if tempo and before else None
                yield _Mark(place.bar_index, place.offset, text, change, place.element)
            before = tempo or before


def _played_tempo(element: etree._Element) -> float | None:
    """Quarters a minute from a direction or sound on."""
    sound = element if element.tag == "sound" else element.find("sound")
    try:
        return float("" if sound is None else sound.get("tempo", "")) or None
    except ValueError:
        return None


def _is_bare(direction: etree._Element) -> bool:
    """Whether a direction has a metronome mark and no words (figures and points beside the mark are no words)."""
    signs = shown(direction)
    return any(sign.tag == "metronome" for sign in signs) and all(
        sign.tag == "metronome"
        or (sign.tag == "words" and not any(letter.isalpha() for letter in sign.text or ""))
        for sign in signs
    )
