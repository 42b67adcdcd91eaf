"""Who wrote what, and in which key as far as the file says.

In: the root of a tree. Out: a `Header` of plain strings, empty where the file is silent. Always true: nothing
is taken from the elements that tell with what a file was made.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from lxml import etree

from optimizer.score.model import MODES, Key
from optimizer.score.tempo_words import Ask, tempo_wish
from optimizer.score.walk import KeySignature, exact

PART_NAME: Final = "part name"  # the credit that names a part (W3C MusicXML 4.0, credit-type)


MAX_LINE: Final = 500  # letters; more is no title or name but a text, which would fill the first page


@dataclass(frozen=True, slots=True)
class Header:
    """The title block. `part_name`: whose part this is, empty for a score."""

    title: str
    subtitle: str
    composer: str
    lyricist: str
    rights: str
    part_name: str = ""


def read_header(root: etree._Element) -> Header:
    """Title, subtitle and names; credits printed on the first page serve where the header is silent."""
    title, subtitle = _titles(root)
    title = title or _without_stop(_credit(root, "title") or _largest_credit(root))
    subtitle = subtitle or _credit(root, "subtitle")
    return Header(
        title=title,
        subtitle="" if subtitle in title else subtitle,
        composer=_creators(root, "composer") or _creators(root, "") or _credit(root, "composer"),
        lyricist=_creators(root, "lyricist") or _creators(root, "poet") or _credit(root, "lyricist"),
        rights="; ".join(dict.fromkeys(_texts(root.iterfind("identification/rights")))),
        part_name=_credit(root, PART_NAME),
    )


def _titles(root: etree._Element) -> tuple[str, str]:
    """Title and subtitle. A song numbered within a cycle comes before the cycle's name; otherwise the work
    comes first, and so it does before a movement called only "Adagio"."""
    work, movement = (
        _without_stop(_clean(root.findtext(path))) for path in ("work/work-title", "movement-title")
    )
    opus, number = _clean(root.findtext("work/work-number")), _clean(root.findtext("movement-number"))
    if work and opus and opus.lower() not in work.lower():
        work = f"{work}, op. {opus}" if opus.isdigit() else f"{work}, {opus}"
    if not work or not movement or work == movement:
        return movement or work, ""
    if not number or _is_plain_heading(movement):
        return work, movement
    return movement, f"{work}, no. {number}" if number.isdigit() else work


_ORDINAL: Final = re.compile(r"^([IVX]+|\d+)(st|nd|rd|th|er|e|ème)?\b[.:)]*\s*")
_MOVEMENT: Final = re.compile(r"^(movement|satz|mouvement|movimento|tempo)?\W*$", re.IGNORECASE)


def _is_plain_heading(text: str) -> bool:
    """Whether a movement's title names only its place or tempo ("II", "2. Adagio", "1st movement")."""
    bare = _ORDINAL.sub("", text)
    wish = tempo_wish(bare)
    return _MOVEMENT.match(bare) is not None or (wish is not None and wish.ask is Ask.TEMPO)


# "POLONAISE.": old prints end titles with a full stop. Shorter words may be abbreviations ("maj.").
_STOP: Final = re.compile(r"(?<=[^\W\d_]{4})\.$")


def _without_stop(title: str) -> str:
    return _STOP.sub("", title)


# A name as in a catalogue, with the years of a life: "Weber, Carl Maria von (1786-1826)". No figures and no small words
# but particles, or it is something else ("Brahms, arr. Joachim", "Chopin, op. 29", "Bach, Gounod und andere").
_CATALOGUED: Final = re.compile(
    r"(?P<last>(?:(?:de|di|du|van|von|la|le) )*[^\W\d_a-z][\w’'-]*(?: [^\W\d_a-z][\w’'-]*)*), "
    r"(?P<first>[^\W\d_a-z][\w.’'-]*(?: (?:[^\W\d_a-z][\w.’'-]*|da|de|der|di|du|van|von|zu))*)"
    r"(?P<years> \([^()]*\))?"
)


def _as_said(name: str) -> str:
    """A person's name with the given name first."""
    parts = _CATALOGUED.fullmatch(name)
    return f"{parts['first']} {parts['last']}{parts['years'] or ''}" if parts else name


def _creators(root: etree._Element, kind: str) -> str:
    found = (
        element for element in root.iterfind("identification/creator") if element.get("type", "") == kind
    )
    return ", ".join(dict.fromkeys(map(_as_said, _texts(found))))


def _texts(found: Iterator[etree._Element]) -> Iterator[str]:
    return (text for text in (_clean(element.text) for element in found) if text)


def _clean(text: str | None) -> str:
    words = " ".join((text or "").split())
    return words if len(words) <= MAX_LINE else f"{words[: MAX_LINE - 1]}…"


def _first_page_credits(root: etree._Element) -> Iterator[etree._Element]:
    return (credit for credit in root.iterfind("credit") if credit.get("page", "1") == "1")


def _credit_text(credit: etree._Element) -> str:
    return _clean(" ".join(words.text or "" for words in credit.iterfind("credit-words")))


def _credit(root: etree._Element, kind: str) -> str:
    for credit in _first_page_credits(root):
        if any(_clean(element.text).lower() == kind for element in credit.iterfind("credit-type")):
            return _credit_text(credit)
    return ""


def _largest_credit(root: etree._Element) -> str:
    """Untyped words on the first page in the largest type, if any are larger than others."""
    sized = []
    for credit in _first_page_credits(root):
        size = max(
            (exact(words.get("font-size")) or 0 for words in credit.iterfind("credit-words")), default=0
        )
        if credit.find("credit-type") is None and _credit_text(credit):
            sized.append((float(size), _credit_text(credit)))
    sized.sort(key=lambda item: -item[0])
    return sized[0][1] if len(sized) == 1 or (len(sized) > 1 and sized[0][0] > sized[1][0]) else ""


def key_of(signature: KeySignature | None) -> Key | None:
    """The key that a signature with a mode stands for; None when the file does not tell the mode."""
    if signature is None or signature.mode not in MODES:
        return None
    key = Key(signature.fifths, signature.mode)
    return key if key.has_name else None
