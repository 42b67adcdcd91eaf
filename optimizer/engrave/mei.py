"""System and page breaks in the engraving library's own MEI text.

In and out: MEI as the library writes it.  Always true: all breaks it had are gone, and no measure is touched.
"""

import re
from collections.abc import Collection
from typing import Final

_BREAK: Final = re.compile(r"<[sp]b\b[^>]*?/>")
_MEASURE: Final = re.compile(r"<measure\b")
_LAST_MEASURE_END: Final = re.compile(r"(?s)(.*</measure>)")
_SCORE_DEF: Final = "<scoreDef"


def count_measures(mei: str) -> int:
    """How many measures there are."""
    return len(_MEASURE.findall(mei))


def plain(mei: str) -> str:
    """Without breaks, and without bar numbers of the library's own (press draws them)."""
    return _BREAK.sub("", mei).replace(_SCORE_DEF, _SCORE_DEF + ' mnum.visible="false"', 1)


def with_breaks(mei: str, systems: Collection[int], pages: Collection[int], closed: bool = False) -> str:
    """Breaks before the measures at these places (0-based). `closed`: an empty system ends each page, which tells where
    the last real one ends."""
    parts = _MEASURE.split(plain(mei))
    end = "<sb/>" if closed else ""
    text = [parts[0]]
    for index, part in enumerate(parts[1:]):
        if not index or index in pages:
            text.append((end if index else "") + "<pb/>")
        elif index in systems:
            text.append("<sb/>")
        text.append("<measure" + part)
    whole = "".join(text)
    return _LAST_MEASURE_END.sub(lambda match: match[1] + end, whole, count=1) if closed else whole
