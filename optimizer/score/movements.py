"""Where the movements of a file begin, and what they are called.

In: printed measure numbers, barlines and directions. Out: the movement of every measure, and titles. Always
true: movements count from 0 and never decrease.

A title is printed once: its number and name above the music, a tempo in it as a tempo mark at the staff.
"""

import re
from collections import defaultdict
from collections.abc import Mapping, Sequence
from typing import Final

from lxml import etree

from optimizer.score.header import read_header
from optimizer.score.marks import Bar, JumpKind
from optimizer.score.model import Score
from optimizer.score.tempo_words import Ask, tempo_wish
from optimizer.score.walk import Direction

Titles = Mapping[int, tuple[str, ...]]  # what is printed above measures

_NUMERAL: Final = re.compile(r"^(?:(?:no|nr|n°)\.?\s*)?([IVX]{1,5}|\d{1,2})\.?$", re.IGNORECASE)
_NUMBERED: Final = re.compile(r"^([IVX]{1,5}|\d{1,2}|(?:no|nr|n°)\.?\s*\d{1,2})\.\s*\S")
_PARTS: Final = re.compile(r"(?i)^((?:(?:no|nr|n°)\.?\s*)?(?:[IVX]{1,5}|\d{1,2})(?:\.\s*|\s+))(\S.*)$")
# Names of movements; common practice, no source.
_NAMES: Final = re.compile(
    r"(?i)^(menuett?o?|minuet(to)?|scherzo|finale|rondo|trio|romanze|romance|intermezzo|largo|gavotte|gigue|sarabande|"
    r"courante|allemande|bourrée|polonaise|introdu[ck]tion|introduzione)\b"
)


def movement_of_measures(
    numbers: Sequence[str], bars: Sequence[Bar], words: Mapping[int, Sequence[str]]
) -> list[int]:
    """A movement begins where the printed numbers start again at 0 or 1 after a double or heavy barline, or
    after a final barline where a heading stands, unless a later D.C. still leads back over that barline."""
    movements = [0]
    counted = _number(numbers[0])
    for index in range(1, len(bars)):
        previous = bars[index - 1]
        number = _number(numbers[index])
        restarts = number is not None and number <= 1 and counted is not None and counted > 1
        divided = previous.double_right or previous.repeat_backward or bars[index].double_left
        headed = (
            previous.final and not previous.repeat_backward and any(map(_is_numbered, words.get(index, ())))
        )
        begins = (restarts and divided) or (headed and not _fine_waits(bars, index))
        movements.append(movements[-1] + begins)
        if number is not None:
            counted = number if begins else max(number, counted or 0)
    return movements


def _number(text: str) -> int | None:
    return int(text) if re.fullmatch(r"\d{1,6}", text) else None


def _is_numbered(text: str) -> bool:
    return bool(_NUMERAL.match(text) or _NUMBERED.match(text))


def _fine_waits(bars: Sequence[Bar], index: int) -> bool:
    """Whether a Fine before `index` waits for a D.C. that comes later: then this is the trio of the same
    movement."""
    kinds_before = {kind for bar in bars[:index] for kind, _ in bar.jumps}
    kinds_after = {kind for bar in bars[index:] for kind, _ in bar.jumps}
    return JumpKind.FINE in kinds_before and bool({JumpKind.DACAPO, JumpKind.DALSEGNO} & kinds_after)


def opening_words(directions: Sequence[Direction]) -> dict[int, list[str]]:
    """What stands over the start of each measure, once for all parts."""
    words: dict[int, list[str]] = defaultdict(list)
    for direction in directions:
        said = words[direction.measure_index] if direction.text and direction.offset_ql == 0 else None
        if said is not None and direction.text not in said:
            said.append(direction.text)
    return words


def movement_titles(movements: Sequence[int], words: Mapping[int, Sequence[str]]) -> dict[int, str]:
    """What the words over a movement's first measure call it ("II. Allegretto moderato"); only in files of
    several."""
    if movements[-1] == 0:
        return {}
    titles = {}
    for movement in range(movements[-1] + 1):
        title = _title(words.get(movements.index(movement), ()))
        if title:
            titles[movement] = title
    return titles


def titles_by_measure(score: Score) -> dict[int, str]:
    """Titles of movements by their first measure, where they are not the title of the whole."""
    starts = (m for m in score.measures if m.index == 0 or score.measures[m.index - 1].movement != m.movement)
    titles = {m.index: score.movement_titles.get(m.movement, "") for m in starts}
    return {index: title for index, title in titles.items() if title not in ("", score.title, score.subtitle)}


def printed_titles(score: Score) -> Titles:
    """All titles that stand above measures: of the whole over the first, and of movements."""
    titles = {index: (title,) for index, title in titles_by_measure(score).items()}
    return {**titles, 0: (score.title, score.subtitle, *titles.get(0, ()))}


def foreseen_titles(root: etree._Element) -> Titles | None:
    """What `printed_titles` is going to be, most likely, before the score is read; None where measure numbers start
    again: there may be movements, with titles of their own."""
    numbers = [_number(measure.get("number", "")) for measure in root.iterfind("part[1]/measure")]
    counted = [number for number in numbers if number is not None]
    first = next((index for index, number in enumerate(counted) if number > 1), len(counted))
    if any(number <= 1 for number in counted[first:]):
        return None
    header = read_header(root)
    return {0: (header.title, header.subtitle)}


def parts_of_title(title: str) -> tuple[str, str]:
    """Number and name of a movement; empty where it has none."""
    match = _PARTS.match(title)
    if match:
        return match[1].strip(), match[2]
    return (title, "") if _NUMERAL.match(title) else ("", title)


def is_tempo_mark(name: str) -> bool:
    """Whether the name of a movement is but its tempo, which belongs at the staff ("Allegretto"; not "Menuetto")."""
    return _is_heading(name) and not _NAMES.match(name)


def title_above(title: str) -> str:
    """What of a movement's title stands above the music."""
    number, name = parts_of_title(title)
    return number if is_tempo_mark(name) else title


def _title(said: Sequence[str]) -> str:
    """A number with a name; else a number and the heading beside it; else a heading alone."""
    named = [text for text in said if _NUMBERED.match(text)]
    numerals = [text for text in said if _NUMERAL.match(text)]
    headings = [text for text in said if _is_heading(text)]
    return named[0] if named else " ".join([*numerals[:1], *headings[:1]])


def is_headline(text: str) -> bool:
    """Whether words over a bar may head a movement or a section: a name, or a Roman number ("II.", "2. Trio"); plain
    numbers also tell who of two players plays."""
    number, name = parts_of_title(text)
    return _is_heading(name) or (bool(_NUMERAL.match(number.strip())) and not re.search(r"\d", number))


def _is_heading(text: str) -> bool:
    wish = tempo_wish(text)
    return bool(_NAMES.match(text)) or (wish is not None and wish.ask is Ask.TEMPO)
