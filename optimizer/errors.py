"""Everything that can go wrong for a reason the user can mend; each message is one clear line."""

from typing import ClassVar


class QuietleafError(Exception):
    """Base of all expected failures; `exit_code` is what the command line returns."""

    exit_code: ClassVar[int] = 1


class UsageError(QuietleafError):
    """An option or argument that makes no sense."""

    exit_code: ClassVar[int] = 2


class ScoreError(QuietleafError):
    """The score cannot be read: says file, place, what is wrong and what to do."""

    exit_code: ClassVar[int] = 3

    def __init__(self, file: str, place: str, problem: str, remedy: str) -> None:
        where = f"{file}, {place}" if place else file
        super().__init__(f"{where}: {problem}; {remedy}")
        self.file, self.place, self.problem, self.remedy = file, place, problem, remedy


class NoLayoutError(QuietleafError):
    """No layout satisfies the demands; `relax` names the demands of which at least one must go."""

    exit_code: ClassVar[int] = 4

    def __init__(self, problem: str, relax: tuple[str, ...] = ()) -> None:
        advice = f"; relax one of: {', '.join(relax)}" if relax else ""
        super().__init__(f"{problem}{advice}")
        self.problem, self.relax = problem, relax
