"""What is printed in a system, found by where it is, for moving things off one another.

In: a `PageSystem` from `svg`.  Lengths in staff spaces.  Always true: items keep their order and groups; new ones come
last.
"""

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import replace
from typing import Final

from optimizer.engrave.model import Item, Path
from optimizer.engrave.outlines import Box, map_box, map_segments
from optimizer.engrave.strips import moved, strips
from optimizer.engrave.svg import Group, PageSystem

CLEAR_SP: Final = 0.3  # white above and below what has been moved; by eye
BESIDE_SP: Final = 0.2  # white left and right of it; by eye
LEAST_OVERLAP_SP: Final = 0.1  # less is a matter of boxes, or hidden by the thickness of lines

# What may be crossed: barlines are, by common practice, and the others stand aside or are handled as a whole.
_PASSED: Final = frozenset({"staff", "barLine", "grpSym", "label", "labelAbbr", "system", "measure"})


class Ground:
    """What is printed, found by where it is; it changes as things move."""

    BUCKET_SP: Final = 4.0

    def __init__(self, page: PageSystem) -> None:
        self.page = page
        self.items: list[Item] = list(page.items)
        self.boxes: list[Box] = list(page.boxes)
        self._added: list[Group] = []
        self.changed = False
        self._strips: dict[int, list[Box]] = {}
        self._buckets: dict[int, list[int]] = defaultdict(list)
        for index, (box, group) in enumerate(zip(page.boxes, page.groups, strict=True)):
            for bucket in self._span(box) if group.kind not in _PASSED else ():
                self._buckets[bucket].append(index)

    def signs(self, kinds: Collection[str]) -> list[tuple[int, ...]]:
        """Items of each sign of these kinds, from left to right."""
        found: dict[Group, list[int]] = defaultdict(list)
        for index, group in enumerate(self.page.groups):
            if group.kind in kinds:
                found[group].append(index)
        return sorted((tuple(own) for own in found.values()), key=self.hull)

    def hull(self, own: Iterable[int]) -> Box:
        """The box of a sign."""
        lefts, tops, rights, bottoms = zip(*(self.boxes[index] for index in own), strict=True)
        return min(lefts), min(tops), max(rights), max(bottoms)

    def near(self, box: Box, own: Collection[int]) -> list[int]:
        """Other items that meet a box."""
        found = {index for bucket in self._span(box) for index in self._buckets[bucket]}
        return [index for index in found.difference(own) if meet(self.boxes[index], box)]

    def strips(self, indices: Iterable[int]) -> Iterator[Box]:
        """The ink of items."""
        for index in indices:
            if index not in self._strips:
                self._strips[index] = strips(self.items[index], self.boxes[index])
            yield from self._strips[index]

    def move(self, own: Iterable[int], right_sp: float, down_sp: float) -> None:
        """Move a sign."""
        step = (1.0, 0.0, 0.0, 1.0, right_sp, down_sp)
        for index in own:
            self.put(index, moved(self.items[index], right_sp, down_sp), map_box(self.boxes[index], step))

    def narrow(self, own: Iterable[int], left: float, right: float) -> None:
        """Give a sign of lines new ends."""
        old_left, _, old_right, _ = self.hull(own)
        scale = (right - left) / (old_right - old_left)
        matrix = (scale, 0.0, 0.0, 1.0, left - scale * old_left, 0.0)
        for index in own:
            item = self.items[index]
            if isinstance(item, Path):
                item = replace(item, segments=tuple(map_segments(item.segments, matrix)))
                self.put(index, item, map_box(self.boxes[index], matrix))

    def add(self, item: Item, box: Box, beside: int) -> None:
        """Draw one item more, of the group that another one belongs to; nothing moves out of its way any more."""
        self.items.append(item)
        self.boxes.append(box)
        self._added.append(self.page.groups[beside])
        self.changed = True

    def result(self) -> PageSystem:
        """The system as it is now; the very same one if nothing has changed."""
        if not self.changed:
            return self.page
        groups = (*self.page.groups, *self._added)
        return replace(self.page, items=tuple(self.items), boxes=tuple(self.boxes), groups=groups)

    def put(self, index: int, item: Item, box: Box) -> None:
        """Draw something else in place of an item."""
        for bucket in self._span(self.boxes[index]):
            self._buckets[bucket].remove(index)
        for bucket in self._span(box):
            self._buckets[bucket].append(index)
        self.items[index], self.boxes[index] = item, box
        self._strips.pop(index, None)
        self.changed = True

    def _span(self, box: Box) -> range:
        return range(int(box[0] // self.BUCKET_SP), int(box[2] // self.BUCKET_SP) + 1)


def meet(first: Box, second: Box) -> bool:
    return first[0] < second[2] and second[0] < first[2] and first[1] < second[3] and second[1] < first[3]


def taken(
    ground: Ground, own: Sequence[int], ink: Sequence[Box], aside: float, reach: float
) -> list[tuple[float, float]]:
    """Between which ways down a sign, moved aside, would meet something."""
    left, top, right, bottom = ground.hull(own)
    left, right = left + aside, right + aside
    around = ground.near((left - BESIDE_SP, top - reach, right + BESIDE_SP, bottom + reach), own)
    others = [*ground.strips(around), *staves(ground.page, (left, top, right, bottom))]
    return sorted(
        (other[1] - CLEAR_SP - strip[3], other[3] + CLEAR_SP - strip[1])
        for other in others
        for strip in ink
        if other[0] < strip[2] + aside + BESIDE_SP and strip[0] + aside - BESIDE_SP < other[2]
    )


def overlap(first: Box, second: Box) -> bool:
    return (
        min(first[2], second[2]) - max(first[0], second[0]) > LEAST_OVERLAP_SP
        and min(first[3], second[3]) - max(first[1], second[1]) > LEAST_OVERLAP_SP
    )


def nearest_staff(page: PageSystem, y: float) -> tuple[float, float]:
    """Outer lines of the staff that a height is nearest to."""
    lines = zip(page.staff_tops_sp, page.staff_bottoms_sp, strict=True)
    return min(lines, key=lambda staff: abs(staff[0] + staff[1] - 2 * y), default=(0.0, 4.0))


def staves(page: PageSystem, box: Box) -> Iterator[Box]:
    """Boxes of the staves that a sign is not printed on already."""
    for top, bottom in zip(page.staff_tops_sp, page.staff_bottoms_sp, strict=True):
        staff = (0.0, top, page.right_sp, bottom)
        if not meet(staff, box):
            yield staff
