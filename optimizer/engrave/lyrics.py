"""Syllables made fit to print.

In: a `PlacedBar`, ours to change.  Always true: no note, rest or duration changes.

Underscores typed for a line that holds a syllable become one, and hyphens typed ahead of a syllable go.
"""

import re
import string
from typing import Final

from lxml import etree

from optimizer.engrave.bars import PlacedBar

_BLANK: Final = string.whitespace + "\xa0"
# Ahead of a syllable, in place of the hyphen that the library draws anyway.
_DASH: Final = re.compile(r"^[-–—][\s\xa0]+(?=\S)")
_BEFORE_EXTEND: Final = frozenset({"syllabic", "text", "elision"})


def mend_lyrics(bar: PlacedBar) -> None:
    """Mend a bar in place."""
    for place in (*bar.places, *bar.chords):
        if "lyric" in place.children:
            for lyric in place.note.iterchildren("lyric"):
                _mend_lyric(lyric)


def _mend_lyric(lyric: etree._Element) -> None:
    texts = list(lyric.iterchildren("text"))
    if not texts:
        return
    last, text = texts[-1], texts[-1].text or ""
    syllable = text.rstrip(_BLANK + "_")
    if syllable and "_" in text[len(syllable) :]:
        last.text = syllable
        if lyric.find("extend") is None:
            index = max(index for index, child in enumerate(lyric) if child.tag in _BEFORE_EXTEND)
            lyric.insert(index + 1, etree.Element("extend"))
    if texts[0].text:
        texts[0].text = _DASH.sub("", texts[0].text)
