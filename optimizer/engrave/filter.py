"""What is not to be printed, taken out of a score before it is engraved.

In: a partwise MusicXML tree, which is not changed.  Out: a copy.  Always true: no bar, beat or sounding note changes.

The engraving library itself hides notes, rests, keys, times, clefs and part names marked print-object="no"; the rest is
done here.
"""

from collections.abc import Collection, Mapping
from copy import deepcopy
from itertools import chain
from typing import Final

from lxml import etree

from optimizer.engrave.bars import still_there
from optimizer.engrave.directions import drop_titles, remove, shown, tidy_directions
from optimizer.engrave.mend import mend
from optimizer.engrave.playback import remove_playback_marks
from optimizer.engrave.signs import tidy_signs
from optimizer.engrave.staves import tidy_staves
from optimizer.score.multirests import shorten

# Left in place with print-object="no": they keep time, order or meaning, and the library does not draw them.
_KEPT_HIDDEN: Final = frozenset(
    {"note", "key", "time", "clef", "part-name", "part-abbreviation", "staff-details"}
)
_DISPLAYS: Final = {"part-name-display": "part-name", "part-abbreviation-display": "part-abbreviation"}
_PLAYBACK: Final = ("tempo", "dynamics")  # of <sound>: they only steer playback
NO_TITLES: Final[Mapping[int, Collection[str]]] = {}


def printable(
    root: etree._Element, playback_marks: bool = False, titles: Mapping[int, Collection[str]] = NO_TITLES
) -> etree._Element:
    """A copy with only what is to be printed. `playback_marks`: keep metronome marks that only steer playback;
    `titles`: what is printed above the music, by measure (0-based). Of multiple rests there is the first bar
    only: `mei.with_multiple_rests` makes them what they are."""
    tree = deepcopy(root)
    shorten(tree)
    marks = mend(tree)
    drop_titles(marks, titles)
    if not playback_marks:
        remove_playback_marks(marks)
    for said in tree.xpath('//@print-object[.="no"]'):  # to ask for elements would take quadratic time
        _hide(said.getparent())
    marks = still_there(marks)
    tidy_staves(tree, marks)
    tidy_directions(marks)
    tidy_signs(marks)
    for place in chain.from_iterable(marks):
        _drop_unseen(place.element)
    return tree


def _drop_unseen(mark: etree._Element) -> None:
    """Take out what only steers playback and what would make the library write several bars as one."""
    if mark.tag == "attributes":
        for style in mark.findall("measure-style"):
            if style.find("multiple-rest") is not None:
                remove(style)
    for sound in [mark] if mark.tag == "sound" else mark.findall("sound"):
        for name in _PLAYBACK:
            sound.attrib.pop(name, None)
        if not sound.attrib:
            remove(sound)
    if mark.tag == "direction" and not _shows_anything(mark):
        remove(mark)


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
        remove(hidden)
    elif tag not in _KEPT_HIDDEN:
        remove(hidden)


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
