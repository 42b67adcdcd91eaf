"""The user's demands, resolved against the score.

In: `settings.Demands` with printed bar numbers.  Out: `Demand`s with 0-based positions.  A position p means
"a spread (or page) starts with measure p".  Always true: every bar named exists and is unambiguous
(UsageError otherwise).  A multiple rest holds the bars from its number to its last; no turn can be had inside it.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum

from optimizer.errors import UsageError
from optimizer.settings import Demands


class Kind(StrEnum):
    """What a demand asks for."""

    TURN = "turn"  # a spread starts at `low`
    NO_TURN = "no turn"  # none starts at `low`
    TOGETHER = "together"  # none starts in low..high
    PAGES = "pages"  # exactly `low` pages
    MAX_PAGES = "max pages"  # at most `low` pages
    NEW_PAGE = "new page"  # a page starts at `low`
    AS_GIVEN = "as given"  # pages start exactly where the file says
    STAFF = "staff"  # the staff size is fixed


@dataclass(frozen=True, slots=True)
class Demand:
    """One demand, with the words the user wrote."""

    option: str
    kind: Kind
    low: int = 0
    high: int = 0


def resolve(
    demands: Demands,
    staff_mm: float | None,
    numbers: Sequence[str],
    movements: Sequence[int],
    lasts: Sequence[str] = (),
) -> tuple[Demand, ...]:
    """All demands as positions; UsageError names the bar that is unknown, ambiguous or has nothing after
    it. `lasts`: numbers of the last bars of the measures, where some are multiple rests."""
    resolved: list[Demand] = []
    for texts, name, kind in (
        (demands.turn_after, "--turn-after", Kind.TURN),
        (demands.no_turn_after, "--no-turn-after", Kind.NO_TURN),
    ):
        for text in texts:
            after = find_bar(text, name, numbers, movements, lasts)[1]
            if kind is Kind.NO_TURN and _is_inside(text, after, numbers, lasts):
                continue
            after = find_end(text, name, numbers, movements, lasts)
            if after == len(numbers) - 1:
                raise UsageError(f"{name} {text}: the piece ends there")
            resolved.append(Demand(f"{name} {text}", kind, after + 1, after + 1))
    for text in demands.together:
        first, last = _find_range(text, numbers, movements, lasts)
        resolved.append(Demand(f"--together {text}", Kind.TOGETHER, first + 1, last))
    if demands.pages is not None:
        resolved.append(Demand(f"--pages {demands.pages}", Kind.PAGES, demands.pages))
    if demands.max_pages is not None:
        resolved.append(Demand(f"--max-pages {demands.max_pages}", Kind.MAX_PAGES, demands.max_pages))
    if demands.as_given:
        resolved.append(Demand("--as-given", Kind.AS_GIVEN))
    if staff_mm is not None:
        resolved.append(Demand(f"--staff {staff_mm:g}", Kind.STAFF))
    return tuple(dict.fromkeys(resolved))


def find_end(
    text: str, option: str, numbers: Sequence[str], movements: Sequence[int], lasts: Sequence[str] = ()
) -> int:
    """The last measure of a bar; UsageError also where it ends inside a multiple rest, which cannot be divided."""
    after = find_bar(text, option, numbers, movements, lasts)[1]
    if _is_inside(text, after, numbers, lasts):
        rest = f"a rest of bars {numbers[after]} to {lasts[after]}"
        raise UsageError(f"{option} {text}: stands inside {rest}, which is printed as one; name its last bar")
    return after


def find_bar(
    text: str, option: str, numbers: Sequence[str], movements: Sequence[int], lasts: Sequence[str] = ()
) -> tuple[int, int]:
    """First and last measure of the bar named `14`, `2:14` (movement 2) or `#57` (57th measure of the file).

    A bar inside a multiple rest is that measure. A bar split by a repeat sign may be two measures of one number:
    neighbours of equal number are one bar.
    """
    text = text.strip()
    if text.startswith("#"):
        # Python refuses to count with thousands of digits.
        if not (text[1:].isdecimal() and len(text) < 10 and 1 <= int(text[1:]) <= len(numbers)):
            raise UsageError(f"{option} {text}: the file has measures #1 to #{len(numbers)}")
        return int(text[1:]) - 1, int(text[1:]) - 1
    movement, _, number = text.rpartition(":")
    found = list(
        _runs(
            number,
            [
                None if movement and str(m + 1) != movement else _bar_in(number, n, last)
                for n, m, last in zip(numbers, movements, lasts or numbers, strict=True)
            ],
            movements,
        )
    )
    if not found:
        where = f"movement {movement} has no such bar" if movement else "the piece has no such bar"
        raise UsageError(f"{option} {text}: {where}")
    if len(found) > 1:
        raise UsageError(
            f"{option} {text}: {len(found)} bars have this number; write {_choices(number, found, movements)}"
        )
    return found[0]


def _bar_in(number: str, first: str, last: str) -> str:
    """The bar that is looked for where a measure holds it, else the measure's own."""
    is_number = number.isdecimal() and len(number) <= len(last)
    holds = first != last and is_number and int(first) <= int(number) <= int(last)
    return number if holds else first


def _is_inside(text: str, after: int, numbers: Sequence[str], lasts: Sequence[str]) -> bool:
    """Whether a bar that was found in a measure is not the last one in it."""
    named = text.strip().rpartition(":")[2]
    return bool(lasts) and numbers[after] != lasts[after] and named not in (lasts[after], f"#{after + 1}")


def _runs(number: str, numbers: Sequence[str | None], movements: Sequence[int]) -> Iterator[tuple[int, int]]:
    """Runs of neighbouring measures of this number within a movement."""
    index = 0
    while index < len(numbers):
        last = index
        if numbers[index] == number:
            while (
                last + 1 < len(numbers)
                and numbers[last + 1] == number
                and movements[last + 1] == movements[index]
            ):
                last += 1
            yield index, last
        index = last + 1


def _choices(number: str, found: Sequence[tuple[int, int]], movements: Sequence[int]) -> str:
    """Unambiguous names for bars of the same number."""
    in_movement = [movements[first] for first, _ in found]
    names = [
        f"{movements[first] + 1}:{number}" if in_movement.count(movements[first]) == 1 else f"#{last + 1}"
        for first, last in found
    ]
    return " or ".join(names[:4])


def _find_range(
    text: str, numbers: Sequence[str], movements: Sequence[int], lasts: Sequence[str]
) -> tuple[int, int]:
    """First and last measure of `BAR-BAR`; a number may itself contain a dash."""
    pieces = text.split("-")
    problem = UsageError(f"--together {text}: write two bars, such as 12-20")
    for cut in range(1, len(pieces)):
        ends = "-".join(pieces[:cut]), "-".join(pieces[cut:])
        try:
            first = find_bar(ends[0], "--together", numbers, movements, lasts)[0]
            last = find_bar(ends[1], "--together", numbers, movements, lasts)[1]
        except UsageError as error:
            problem = error
            continue
        if last < first:
            raise UsageError(f"--together {text}: bar {ends[1]} stands before bar {ends[0]}")
        return first, last
    raise problem


def forced_turns(demands: Sequence[Demand]) -> tuple[int, ...]:
    """Positions at which a spread must start."""
    return tuple(sorted({demand.low for demand in demands if demand.kind is Kind.TURN}))


def forbidden_turns(demands: Sequence[Demand]) -> frozenset[int]:
    """Positions at which no spread may start."""
    kinds = (Kind.NO_TURN, Kind.TOGETHER)
    return frozenset(
        p for demand in demands if demand.kind in kinds for p in range(demand.low, demand.high + 1)
    )


def has(demands: Sequence[Demand], kind: Kind) -> bool:
    """Whether a demand of this kind is among them."""
    return any(demand.kind is kind for demand in demands)


@dataclass(frozen=True, slots=True)
class PageLimit:
    """How many pages there may be: `most` None is any number; `exact`: neither more nor fewer."""

    most: int | None
    exact: bool


def page_limit(demands: Sequence[Demand]) -> PageLimit:
    """The limit on pages of demands without `contradiction`: an exact number makes a maximum redundant."""
    exact = next((demand.low for demand in demands if demand.kind is Kind.PAGES), None)
    if exact is not None:
        return PageLimit(exact, exact=True)
    return PageLimit(
        next((demand.low for demand in demands if demand.kind is Kind.MAX_PAGES), None), exact=False
    )


def contradiction(demands: Sequence[Demand]) -> str:
    """Two demands that cannot both hold whatever the music, in words; empty when there are none."""
    turns = [demand for demand in demands if demand.kind is Kind.TURN]
    for turn in turns:
        for other in demands:
            if other.kind in (Kind.NO_TURN, Kind.TOGETHER) and other.low <= turn.low <= other.high:
                return f"{turn.option} contradicts {other.option}"
    pages = [demand for demand in demands if demand.kind is Kind.PAGES]
    for limit in (demand for demand in demands if demand.kind is Kind.MAX_PAGES):
        for exact in pages:
            if exact.low > limit.low:
                return f"{exact.option} contradicts {limit.option}"
    return ""
