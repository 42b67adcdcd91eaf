"""Why there is a turn after a bar, or none: what `quietleaf explain` tells."""

from optimizer.why.again import Again, found_again
from optimizer.why.ask import ask, bar_of, read_plan, score_of
from optimizer.why.document import document
from optimizer.why.model import Asked, Explained, Neighbours, Place, Question, Scope, Standing
from optimizer.why.places import explained, neighbours, standing
from optimizer.why.sentences import sentences

__all__ = [
    "Again",
    "Asked",
    "Explained",
    "Neighbours",
    "Place",
    "Question",
    "Scope",
    "Standing",
    "ask",
    "bar_of",
    "document",
    "explained",
    "found_again",
    "neighbours",
    "read_plan",
    "score_of",
    "sentences",
    "standing",
]
