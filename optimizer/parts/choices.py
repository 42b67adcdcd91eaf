"""What a user chooses from for a set of parts, a few words each.

In: words.  Out: enumerations, numbers; UsageError for words that are none.  Hardly anything is imported, so that
`--help` stays quick.
"""

from collections.abc import Mapping, Sequence
from enum import StrEnum
from typing import Final

from optimizer.errors import UsageError
from optimizer.parts.names import folded

DEFAULT_CUE_BARS: Final = 12  # after fewer bars players still count for sure; our choice
DEFAULT_CUE_S: Final = 30.0
DEFAULT_LEAST_STAFF_MM: Final = (
    6.5  # under 7.0 is unacceptable to orchestras (MOLA 2017, from memory); schools need room
)
DEFAULT_TIME_LIMIT_S: Final = 60.0
MOST_CUE_BARS: Final = 1000
MOST_S: Final = 86_400  # a day
MOST_PLAYERS: Final = 99  # of one part


class Level(StrEnum):
    """How experienced the players are."""

    BEGINNER = "beginner"
    INTERMEDIATE = "intermediate"
    ADVANCED = "advanced"


class Cues(StrEnum):
    """Whether other players' notes are printed small before an entry."""

    AUTO = "auto"
    OFF = "off"


class MovementStart(StrEnum):
    """Where a movement begins."""

    PAGE = "page"
    SYSTEM = "system"


def parse_players(words: Sequence[str]) -> Mapping[str, int]:
    """`PART=N` words; UsageError where one is not of that form."""
    players: dict[str, int] = {}
    for word in words:
        part, equals, count = word.rpartition("=")
        if not equals or not part.strip() or not count.strip().isdecimal():
            raise UsageError(f'--players {word}: give PART=N, for example "Violin 1=4"')
        if not 1 <= int(count) <= MOST_PLAYERS:
            raise UsageError(f"--players {word}: a part has 1 to {MOST_PLAYERS} players")
        if folded(part) in {folded(other) for other in players}:
            raise UsageError(f"--players {word}: {part.strip()} is named twice")
        players[part.strip()] = int(count)
    return players
