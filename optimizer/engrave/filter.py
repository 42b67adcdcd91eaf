"""What is not to be printed, taken out of a score before it is engraved.

In: a partwise MusicXML tree, which is not changed.  Out: a copy.  Always true: no bar, beat or sounding note changes.

The engraving library itself hides notes, rests, keys, times, clefs and part names marked print-object="no"; the rest is
done here.
"""

from collections.abc import Collection, Iterator, Mapping, Sequence
from copy import deepcopy
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from lxml import etree

from optimizer.engrave.directions import drop_titles, shown, tempo_bars, tidy_directions
from optimizer.engrave.mend import mend
from optimizer.engrave.places import places
from optimizer.engrave.signs import tidy_signs
from optimizer.engrave.staves import tidy_staves

# Left in place with print-object="no": they keep time, order or meaning, and the library does not draw them.
_KEPT_HIDDEN: Final = frozenset(
    {"note", "key", "time", "clef", "part-name", "part-abbreviation", "staff-details"}
)
_DISPLAYS: Final = {"part-name-display": "part-name", "part-abbreviation-display": "part-abbreviation"}
_PLAYBACK: Final = ("tempo", "dynamics")  # of <sound>: they only steer playback
# Metronome marks without words that follow each other this closely only steer playback (issue of this project).
PLAYBACK_BARS: Final = 2
NO_TITLES: Final[Mapping[int, Collection[str]]] = {}


def printable(
    root: etree._Element, playback_marks: bool = False, titles: Mapping[int, Collection[str]] = NO_TITLES
) -> etree._Element:
    """A copy with only what is to be printed. `playback_marks`: keep metronome marks that only steer playback;
    `titles`: what is printed above the music, by measure (0-based)."""
    tree = deepcopy(root)
    mend(tree)
    drop_titles(tree, titles)
    if not playback_marks:
        _remove_playback_marks(tree)
    for hidden in tree.xpath('//@print-object[.="no"]/..'):
        _hide(hidden)
    tidy_staves(tree)
    tidy_directions(tree)
    tidy_signs(tree)
    for style in list(tree.iter("measure-style")):
        if style.find("multiple-rest") is not None:  # the library would make one bar of several
            _remove(style)
    for sound in list(tree.iter("sound")):
        for name in _PLAYBACK:
            sound.attrib.pop(name, None)
        if not sound.attrib:
            _remove(sound)
    for direction in list(tree.iter("direction")):
        if not _shows_anything(direction):
            _remove(direction)
    return tree


def _hide(hidden: etree._Element) -> None:
    """Take out what the library would draw of an element that is not to be printed."""
    tag = str(hidden.tag)
    if tag == "note":
        for child in hidden.findall("notations"):
            _hide_notations(child)
        for child in hidden.findall("lyric"):
            hidden.remove(child)
    elif tag == "notations":
        _hide_notations(hidden)
    elif tag in _DISPLAYS:
        for name in hidden.itersiblings(_DISPLAYS[tag], preceding=True):
            name.set("print-object", "no")
        _remove(hidden)
    elif tag not in _KEPT_HIDDEN:
        _remove(hidden)


def _hide_notations(notations: etree._Element) -> None:
    """Tuplets group notes, so they stay, without number and bracket."""
    for child in list(notations):
        if child.tag == "tuplet":
            child.set("bracket", "no")
            child.set("show-number", "none")
        else:
            notations.remove(child)


def _shows_anything(direction: etree._Element) -> bool:
    return direction.find("sound") is not None or any(
        element.tag != "words" or (element.text or "").strip() for element in shown(direction)
    )


def _remove(element: etree._Element) -> None:
    parent = element.getparent()
    if parent is not None:
        parent.remove(element)


@dataclass(frozen=True, slots=True)
class _Mark:
    """A direction that shows nothing but a metronome mark; `offset` in quarters from the start of its bar."""

    bar_index: int
    offset: Fraction
    text: str
    direction: etree._Element

    @property
    def instant(self) -> tuple[int, Fraction]:
        return self.bar_index, self.offset


def _remove_playback_marks(tree: etree._Element) -> None:
    """Remove marks that only steer playback, and repetitions of a mark in other parts and staves.

    A mark at the very beginning without words stays: it is the tempo of the piece, whatever follows. In a file whose
    marks mostly steer playback, a single one beside tempo words does so too.
    """
    marks = list(_bare_marks(tree))
    if not marks:
        return
    worded = tempo_bars(tree)
    steering = {mark.instant for mark in marks if _steers(mark, marks)}
    if 2 * len(steering) > len({mark.instant for mark in marks}):
        steering |= {mark.instant for mark in marks if mark.bar_index in worded}
    if 0 not in worded:
        steering.discard((0, Fraction(0)))
    seen: set[tuple[tuple[int, Fraction], str]] = set()
    for mark in marks:
        key = (mark.instant, mark.text)
        if key in seen or mark.instant in steering:
            _remove(mark.direction)
        seen.add(key)


def _steers(mark: _Mark, marks: Sequence[_Mark]) -> bool:
    """Whether another mark follows or precedes too closely for a player to heed both."""
    near = (other for other in marks if abs(other.bar_index - mark.bar_index) <= PLAYBACK_BARS)
    return any(other.instant != mark.instant for other in near)


def _bare_marks(tree: etree._Element) -> Iterator[_Mark]:
    if next(tree.iter("metronome"), None) is None:
        return
    for part in tree.iterchildren("part"):
        for place in places(part, ("direction",)):
            if _is_bare(place.element):
                texts = (text for mark in place.element.iter("metronome") for text in mark.itertext())
                yield _Mark(place.bar_index, place.offset, " ".join(" ".join(texts).split()), place.element)


def _is_bare(direction: etree._Element) -> bool:
    """Whether a direction has a metronome mark and no words (figures and points beside the mark are no words)."""
    marks = [element for element in shown(direction) if element.tag == "metronome"]
    others = [element for element in shown(direction) if element.tag != "metronome"]
    return bool(marks) and all(
        element.tag == "words" and not any(letter.isalpha() for letter in element.text or "")
        for element in others
    )
