"""What parts are called.

In: names as the score has them.  Out: names that tell the parts apart.
"""

from collections import Counter
from collections.abc import Sequence


def folded(name: str) -> str:
    """A name as it is compared with others: capitals, spaces and how a flat is typed make no difference."""
    return " ".join(name.casefold().replace("♭", "b").replace("♯", "#").split())


def numbered(names: Sequence[str]) -> list[str]:
    """The names, those that are alike numbered in their order: "Flute 1", "Flute 2"."""
    counts, seen = Counter(names), Counter[str]()
    told = []
    for name in names:
        seen[name] += 1
        told.append(f"{name} {seen[name]}" if counts[name] > 1 else name)
    return told
