"""What several parts should not do at once.

In: nothing.  Out: `Limit`.  Costs in hundredths of a point.
"""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field


@dataclass(frozen=True, slots=True)
class Limit:
    """What should not happen at once. `turns`: (member, position): weight, for turns so near each other that they
    count as one moment; each member counts once, with the heaviest of its turns. Of the sum over all members `free`
    costs nothing, each one more `cost` (hundredths of a point); it is never more than `most`, where that is given.
    `spans`: (member, first, last): weight, of a member that has any spread start at one of these positions, and so
    turns back or jumps at this moment, whichever it is. `what`: for reports: "all", "family", "desks"."""

    what: str
    turns: Mapping[tuple[int, int], int]
    free: int
    cost: int
    most: int | None = None
    spans: Mapping[tuple[int, int, int], int] = field(default_factory=dict)

    def weighed(self) -> Mapping[int, Sequence[tuple[range, int]]]:
        """By member, where a spread must start for it to count, and how much."""
        found: dict[int, list[tuple[range, int]]] = {}
        for (member, position), weight in self.turns.items():
            found.setdefault(member, []).append((range(position, position + 1), weight))
        for (member, first, last), weight in self.spans.items():
            found.setdefault(member, []).append((range(first, last + 1), weight))
        return found

    def weight(self, turns: Sequence[Collection[int]]) -> int:
        """The weight of these turns, positions by member, as far as they belong to this moment."""
        return sum(
            max((w for at, w in weighed if any(p in at for p in turns[member])), default=0)
            for member, weighed in self.weighed().items()
        )

    def excess_cost(self, turns: Sequence[Collection[int]]) -> int:
        """What these turns cost."""
        return max(0, self.weight(turns) - self.free) * self.cost

    def is_broken(self, turns: Sequence[Collection[int]]) -> bool:
        """Whether they are more than there may ever be."""
        return self.most is not None and self.weight(turns) > self.most
