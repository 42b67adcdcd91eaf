"""What several parts should not do at once.

In: nothing.  Out: `Limit`.  Costs in hundredths of a point.
"""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field


@dataclass(frozen=True, slots=True)
class Limit:
    """What should not happen at once. `turns`: (member, position): weight, for turns so near each other that they
    count as one moment; of their weights, `free` cost nothing, each one more `cost` (hundredths of a point); the sum
    is never more than `most`, where that is given. `spans`: (member, first, last): weight, of a member that has any
    spread start at one of these positions, and so turns back or jumps at this moment, whichever it is. `what`: for
    reports: "all", "family", "desks"."""

    what: str
    turns: Mapping[tuple[int, int], int]
    free: int
    cost: int
    most: int | None = None
    spans: Mapping[tuple[int, int, int], int] = field(default_factory=dict)

    def weight(self, turns: Sequence[Collection[int]]) -> int:
        """The weights of these turns, positions by member, as far as they belong to this moment."""
        weight = sum(w for (member, position), w in self.turns.items() if position in turns[member])
        for (member, first, last), more in self.spans.items():
            weight += more * any(first <= position <= last for position in turns[member])
        return weight

    def excess_cost(self, turns: Sequence[Collection[int]]) -> int:
        """What these turns cost."""
        return max(0, self.weight(turns) - self.free) * self.cost

    def is_broken(self, turns: Sequence[Collection[int]]) -> bool:
        """Whether they are more than there may ever be."""
        return self.most is not None and self.weight(turns) > self.most
