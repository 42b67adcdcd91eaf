"""What an ensemble's parts are made from and made of.

In: nothing.  Out: frozen dataclasses.  Measures are 0-based positions in a part's own file, in which a multiple rest
is one measure; seconds are those of the playing order, the same for all parts.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field

from optimizer.errors import UsageError
from optimizer.parts.choices import (
    DEFAULT_CUE_BARS,
    DEFAULT_CUE_S,
    DEFAULT_LEAST_STAFF_MM,
    DEFAULT_TIME_LIMIT_S,
    MOST_CUE_BARS,
    MOST_S,
    Cues,
    Level,
    MovementStart,
)
from optimizer.score.load import ScoreFile
from optimizer.settings import STAFF_RANGE_MM, Settings

__all__ = ["Cues", "Extracted", "Level", "MovementStart", "PartsSettings"]


@dataclass(frozen=True, slots=True)
class PartsSettings:
    """The user's choices for a set of parts. `paper`: all that holds for every part's pages; `players`: how many play a
    part, by what the user calls it (one where it is not named); `split`: parts of which each voice gets its own copy;
    a cue stands after a rest longer than `cue_bars` bars or `cue_s` seconds; `instruments`: a file that adds to what is
    known of instruments; `time_limit_s`: of the solver."""

    paper: Settings
    players: Mapping[str, int] = field(default_factory=dict)
    split: tuple[str, ...] = ()
    cues: Cues = Cues.AUTO
    cue_bars: int = DEFAULT_CUE_BARS
    cue_s: float = DEFAULT_CUE_S
    level: Level = Level.INTERMEDIATE
    movements: MovementStart = MovementStart.SYSTEM
    least_staff_mm: float = DEFAULT_LEAST_STAFF_MM
    instruments: str = ""
    time_limit_s: float = DEFAULT_TIME_LIMIT_S

    def __post_init__(self) -> None:
        if not 0 <= self.cue_bars <= MOST_CUE_BARS:
            raise UsageError(f"--cue-bars {self.cue_bars}: 0 to {MOST_CUE_BARS} bars")
        if not 0 <= self.cue_s <= MOST_S:
            raise UsageError(f"--cue-seconds {self.cue_s:g}: 0 to {MOST_S} seconds")
        if not 0 <= self.time_limit_s <= MOST_S:
            raise UsageError(f"--time-limit {self.time_limit_s:g}: 0 to {MOST_S} seconds")
        least_mm, most_mm = STAFF_RANGE_MM
        if not least_mm <= self.least_staff_mm <= most_mm:
            raise UsageError(
                f"--least-staff {self.least_staff_mm:g}: a staff is {least_mm:g} to {most_mm:g} mm high"
            )


@dataclass(frozen=True, slots=True, eq=False)
class Extracted:
    """One part, as its players read it. `file`: a partwise tree of that part alone, cues and multiple rests included;
    `first_bars`: of each of its measures the measure of the full score that it begins with (0-based), and one entry
    more for the end; `family`: strings, woodwind, brass, percussion, voices, keyboards, plucked or other."""

    part_id: str
    name: str
    family: str
    players: int
    file: ScoreFile
    first_bars: tuple[int, ...]

    @property
    def desks(self) -> int:
        """Two players share a copy, the inside one turns."""
        return -(-self.players // 2)

    @property
    def all_share(self) -> bool:
        """Whether every copy is shared: of an odd number of players one turns alone, from the same pages."""
        return self.players % 2 == 0
