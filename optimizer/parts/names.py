"""What parts are called.

In: names as the score has them.  Out: names that tell the parts apart, that are compared, or that files may have.
"""

import re
from collections import Counter
from collections.abc import Sequence
from itertools import count
from typing import Final

MOST_LETTERS: Final = 60  # of a name; one that is longer is no name, and no line holds it
# Of a name in the name of a file or folder: letters of four bytes each and a number fit into 255 bytes, which is what
# file systems allow. Ours.
_MOST_IN_FILES: Final = 48
_SHARED: Final = re.compile(r"(?i)[\s,]+(1|I)\.?\s*([,&/+.–-]|and|und|et|e|u\.)\s*(2|II)\.?$")
# What several players of an instrument are called, and one of them.
_WITH_S: Final = (
    "flute piccolo oboe clarinet bassoon horn trumpet cornet trombone saxophone tuba violin viola cello soprano alto "
    "tenor flûte clarinette basson cor trompette violon flauta clarinete trompa"
)
_OTHERWISE: Final = (
    "flauti flauto oboi oboe clarinetti clarinetto fagotti fagotto corni corno trombe tromba tromboni trombone "
    "violini violino flöten flöte oboen oboe klarinetten klarinette fagotte fagott hörner horn trompeten trompete "
    "posaunen posaune violinen violine"
)
_SINGULAR: Final = {
    **{f"{one}s": one for one in _WITH_S.split()},
    **dict(zip(_OTHERWISE.split()[::2], _OTHERWISE.split()[1::2], strict=True)),
}


def split_names(name: str) -> tuple[str, str]:
    """ "Flutes 1 & 2" as "Flute 1" and "Flute 2"."""

    def one(word: re.Match[str]) -> str:
        found = _SINGULAR.get(word[0].lower(), "")
        if not found:
            return word[0]
        return found.upper() if word[0].isupper() else found.capitalize() if word[0].istitle() else found

    alone = re.sub(r"\w+", one, re.sub(r"^2\s+", "", _SHARED.sub("", name)))
    return f"{alone} 1", f"{alone} 2"


def shortened(name: str) -> str:
    """A name that a line can hold."""
    return name if len(name) <= MOST_LETTERS else f"{name[: MOST_LETTERS - 1].rstrip()}…"


def file_name(name: str) -> str:
    """A name in small letters and figures with hyphens between its words; "" where it has none. Without its flat, a
    clarinet in B♭ would be another instrument to a German."""
    told = name.casefold().replace("♭", "-flat").replace("♯", "-sharp")
    return "-".join(re.findall(r"\w+", told))[:_MOST_IN_FILES].strip("-")


def folded(name: str) -> str:
    """A name as it is compared with others: capitals, spaces and how a flat is typed make no difference."""
    return " ".join(name.casefold().replace("♭", "b").replace("♯", "#").split())


def numbered(names: Sequence[str]) -> list[str]:
    """The names, shortened, those that are alike numbered in their order: "Flute 1", "Flute 2"."""
    names = [shortened(name) for name in names]
    counts, numbers = Counter(names), {name: count(1) for name in names}
    taken = set(names)

    def told(name: str) -> str:
        return (
            name
            if counts[name] == 1
            else next(f"{name} {n}" for n in numbers[name] if f"{name} {n}" not in taken)
        )

    return [told(name) for name in names]
