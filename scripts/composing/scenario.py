"""The harbour evening of Kattwick, a town that does not exist, and the people who play there.

Each September, before the last ferry of the season leaves, the choir teacher Ilse Marwinkel and her students make
music on the quay; Tomas Oriel, who sells the tickets, writes the words. All of it is invented for quietleaf.
"""

from typing import Final

from composing.piece import Part

COMPOSER: Final = "Ilse Marwinkel (invented for quietleaf)"
POET: Final = "Words: Tomas Oriel (invented for quietleaf)"

VOICE: Final = Part("P1", "Voice", "V.", "voice.vocals", ("treble",), (("v", 1),), 53)


def piano(part_id: str) -> Part:
    """A piano with two voices in each hand."""
    voices = (("r1", 1), ("r2", 1), ("l1", 2), ("l2", 2))
    return Part(part_id, "Piano", "Pno.", "keyboard.piano", ("treble", "bass"), voices, 1)
