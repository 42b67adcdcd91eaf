"""What to compare, from the words a user says.

In: words for desks, papers, bindings and staff sizes, each perhaps none.  Out: `Choices`.  Always true: nothing
stands in them twice; UsageError for what is unknown or said twice.
"""

from collections.abc import Callable, Sequence
from typing import Final, TypeVar

from optimizer.compare.model import Choices
from optimizer.errors import UsageError
from optimizer.settings import BINDINGS, parse_desk, parse_paper, parse_staff

# A piano in a hall is an upright or a grand, and which one it is, is often known only there.
USUAL_DESKS: Final = ("upright", "grand")
USUAL_PAPERS: Final = ("a4",)
USUAL_BINDINGS: Final = ("taped",)

_Value = TypeVar("_Value")


def parse_choices(
    desks: Sequence[str] = (),
    papers: Sequence[str] = (),
    bindings: Sequence[str] = (),
    staffs: Sequence[str] = (),
) -> Choices:
    """Where there are no words: the usual desks, papers, bindings and, as for "auto", staff sizes."""
    sizes = () if [word.strip().lower() for word in staffs] == ["auto"] else staffs
    return Choices(
        _each("--desk", desks or USUAL_DESKS, parse_desk),
        _each("--paper", papers or USUAL_PAPERS, parse_paper),
        _each("--binding", bindings or USUAL_BINDINGS, _binding),
        _each("--staff", sizes, _staff_mm),
    )


def _each(option: str, words: Sequence[str], parse: Callable[[str], _Value]) -> tuple[_Value, ...]:
    """Every word parsed; two that mean the same are a slip of the user's."""
    found: list[_Value] = []
    for word in words:
        value = parse(word)
        if value in found:
            raise UsageError(f"{option} {word}: said twice; name each once")
        found.append(value)
    return tuple(found)


def _binding(text: str) -> str:
    name = text.strip().lower()
    if name not in BINDINGS:
        raise UsageError(f"--binding {text}: unknown; use {', '.join(BINDINGS)}")
    return name


def _staff_mm(text: str) -> float:
    staff_mm = parse_staff(text)
    if staff_mm is None:
        raise UsageError(f"--staff {text}: stands for the usual sizes; name no other beside it")
    return staff_mm
