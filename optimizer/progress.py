"""How long work tells that it goes on: a callable that is given the stage's name and the part done, 0 to 1."""

from typing import Protocol


class Progress(Protocol):
    """Called as often as one likes; must be cheap."""

    def __call__(self, stage: str, done: float = 0.0) -> None:
        """`stage` is one of the names in pipeline.py; `done` the share of that stage that is finished."""


def silent(stage: str, done: float = 0.0) -> None:
    """Shows nothing: the default of the Python API."""
