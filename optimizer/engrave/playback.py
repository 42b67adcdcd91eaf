"""Metronome marks that only steer playback, taken out of a score.

In: a partwise MusicXML tree that is ours to change.  Always true: no bar, beat or sounding note changes, and marks
joined to words stay.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from lxml import etree

from optimizer.engrave.directions import remove, shown, tempo_bars
from optimizer.engrave.places import places

# Metronome marks without words that follow each other this closely only steer playback (issue of this project).
PLAYBACK_BARS: Final = 2
# Less than a change of tempo that is worth a word: half of what "più mosso" means to us (score/tempo_words).
UNSAID_CHANGE: Final = 1.125


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
    def instant(self) -> tuple[int, Fraction]:
        return self.bar_index, self.offset


def remove_playback_marks(tree: etree._Element) -> None:
    """Remove marks that only steer playback, and repetitions of a mark in other parts and staves.

    A mark at the very beginning without words stays: it is the tempo of the piece, whatever follows. In a file whose
    marks mostly steer playback, a single one beside tempo words does so too. In a file that begins without a mark,
    and whose later ones mostly change the tempo by less than is worth a word, all of them do.
    """
    marks = list(_bare_marks(tree))
    if not marks:
        return
    worded = tempo_bars(tree)
    steering = {mark.instant for mark in marks if _steers(mark, marks)}
    if 2 * len(steering) > len({mark.instant for mark in marks}):
        steering |= {mark.instant for mark in marks if mark.bar_index in worded}
    if not _begins_with_mark(tree) and _are_mostly_slight(marks):
        steering |= {mark.instant for mark in marks}
    if 0 not in worded:
        steering.discard((0, Fraction(0)))
    seen: set[tuple[tuple[int, Fraction], str]] = set()
    for mark in marks:
        key = (mark.instant, mark.text)
        if key in seen or mark.instant in steering:
            remove(mark.direction)
        seen.add(key)


def _steers(mark: _Mark, marks: Sequence[_Mark]) -> bool:
    """Whether another mark follows or precedes too closely for a player to heed both."""
    near = (other for other in marks if abs(other.bar_index - mark.bar_index) <= PLAYBACK_BARS)
    return any(other.instant != mark.instant for other in near)


def _begins_with_mark(tree: etree._Element) -> bool:
    marks = tree.iterfind("part/measure[1]/direction/direction-type/metronome")
    return any(mark.get("print-object") != "no" for mark in marks)


def _are_mostly_slight(marks: Sequence[_Mark]) -> bool:
    slight = (mark.change is not None and 1 / UNSAID_CHANGE < mark.change < UNSAID_CHANGE for mark in marks)
    return 2 * sum(slight) > len(marks)


def _bare_marks(tree: etree._Element) -> Iterator[_Mark]:
    if next(tree.iter("metronome"), None) is None:
        return
    for part in tree.iterchildren("part"):
        before: float | None = None
        for place in places(part, ("direction", "sound")):
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
    marks = [element for element in shown(direction) if element.tag == "metronome"]
    others = [element for element in shown(direction) if element.tag != "metronome"]
    return bool(marks) and all(
        element.tag == "words" and not any(letter.isalpha() for letter in element.text or "")
        for element in others
    )
