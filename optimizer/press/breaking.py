"""Where titles are broken: into as few lines as can be, of about the same length, and where one would pause.

In: text, type size, width in mm.  Out: lines.  Always true: there are as many lines as `figures.wrap` makes, none is
wider than that allows, and no words are lost.
"""

import re
from collections.abc import Iterator, Sequence
from itertools import combinations
from typing import Final

from optimizer.press.figures import BREAKS, text_width_mm, wrap

# What stands before a number or a letter and belongs to it, in the languages that titles are in.
_NUMBERED: Final = re.compile(
    r"\W*(?:op|opp|opus|oeuvre|no|nos|nr|nro|núm|n°|nº|n|k|kv|d|g|z|bwv|hwv|hob|woo|rv|b|s|l|p|m|vol|bk|book|heft|band|livre)"
    r"[.:]?",
    re.IGNORECASE,
)
_NUMBER: Final = re.compile(r"\W*(?:\d|[IVXLC]+\b)")
_MODE: Final = re.compile(
    r"\W*(?:major|minor|dur|moll|majeur|mineur|mayor|menor|maggiore|minore|sharp|flat|bémol|dièse|bemol|sostenido)\b",
    re.IGNORECASE,
)
# Words that lean on the next one.
_LEANING: Final = re.compile(
    r"(?:a|an|the|of|in|for|and|from|to|with|on|at|der|die|das|des|dem|den|ein|eine|einem|für|und|von|vom|zu|aus|mit|auf|im"
    r"|le|la|les|du|de|des|d’un|un|une|pour|et|en|au|aux|el|los|las|del|para|y|con|i|il|lo|gli|per|e|och|för|av|på|till)",
    re.IGNORECASE,
)
_PAUSE: Final = re.compile(r".*[,;:–—!?.)]$")
# Costs of a line's end: our choice. Unevenness beside them is the sum of squares of what lines differ from their mean,
# as shares of the width.
_TORN, _LEANS, _NO_PAUSE, _BEFORE_LEANING = 2.0, 0.4, 0.15, 0.08
_LONE_WORD: Final = 0.3
_MOST_WORDS: Final = 24  # of longer texts no title is made; ways to break them grow with their number
_MOST_LINES: Final = 4


def wrap_title(
    string: str, size_pt: float, width_mm: float, bold: bool = False, italic: bool = False
) -> tuple[str, ...]:
    """The lines; each line of the text on its own."""
    return tuple(
        line
        for paragraph in string.splitlines()
        for line in _best(
            paragraph, wrap(paragraph, size_pt, width_mm, bold, italic), size_pt, bold, italic, width_mm
        )
    )


def _best(
    text: str, filled: Sequence[str], size_pt: float, bold: bool, italic: bool, width_mm: float
) -> Sequence[str]:
    """The best of all ways to break a text into as many lines as `filled` has."""
    words = [word for word in BREAKS.split(text) if word]
    if not 1 < len(filled) <= _MOST_LINES or len(words) > _MOST_WORDS:
        return filled
    ways = []
    for ends in combinations(range(1, len(words)), len(filled) - 1):
        lines = [" ".join(words[low:high]) for low, high in zip((0, *ends), (*ends, len(words)), strict=True)]
        wide = [text_width_mm(line, size_pt, bold, italic) for line in lines]
        if max(wide) <= width_mm:
            mean = sum(wide) / len(wide)
            uneven = sum((each - mean) ** 2 for each in wide) / width_mm**2
            ways.append((uneven + sum(_ends(words, ends)), lines))
    return min(ways, default=(0.0, filled))[1]


def _ends(words: Sequence[str], ends: Sequence[int]) -> Iterator[float]:
    """What it costs to end lines before these words."""
    for end in ends:
        before, after = words[end - 1], words[end]
        if _MODE.match(after) or _is_number(words[end - 1 :]):
            yield _TORN
        elif _LEANING.fullmatch(before):
            yield _LEANS
        elif not (_PAUSE.fullmatch(before) or after.startswith("(") or _is_number(words[end:])):
            yield _BEFORE_LEANING if _LEANING.fullmatch(after) else _NO_PAUSE
    if ends[-1] == len(words) - 1:
        yield _LONE_WORD


def _is_number(words: Sequence[str]) -> bool:
    """Whether they begin with "No. 1", "Op. 26" and the like."""
    return len(words) > 1 and bool(_NUMBERED.fullmatch(words[0]) and _NUMBER.match(words[1]))
