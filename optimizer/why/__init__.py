"""Why there is a turn after a bar, or none: what `quietleaf explain` tells."""

from optimizer.why.ask import ask, bar_of, check_same, read_text, score_of
from optimizer.why.document import document
from optimizer.why.model import Asked, Explained, Neighbours, Place, Question, Standing
from optimizer.why.places import explained, neighbours, standing
from optimizer.why.sentences import sentences

__all__ = [
    "Asked",
    "Explained",
    "Neighbours",
    "Place",
    "Question",
    "Standing",
    "ask",
    "bar_of",
    "check_same",
    "document",
    "explained",
    "neighbours",
    "read_text",
    "score_of",
    "sentences",
    "standing",
]
