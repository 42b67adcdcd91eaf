"""The harbour evening of Kattwick, a town that does not exist, and the people who play there.

Each September, before the last ferry of the season leaves, the choir teacher Ilse Marwinkel and her students
make music on the quay; Tomas Oriel, who sells the tickets, writes the words. They are
invented for quietleaf.
"""

from typing import Final

from composing.piece import Part

COMPOSER: Final = "Ilse Marwinkel (invented for quietleaf)"
POET: Final = "Tomas Oriel (invented for quietleaf)"

VOICE: Final = Part("P1", "Voice", "V.", "voice.vocals", ("treble",), (("v", 1),), 53)


def piano(part_id: str) -> Part:
    """A piano with two voices in each hand."""
    voices = (("r1", 1), ("r2", 1), ("l1", 2), ("l2", 2))
    return Part(part_id, "Piano", "Pno.", "keyboard.piano", ("treble", "bass"), voices, 1)


SOPRANO: Final = Part("P1", "Soprano", "S.", "voice.soprano", ("treble",), (("s", 1),), 53)
ALTO: Final = Part("P2", "Alto", "A.", "voice.alto", ("treble",), (("a", 1),), 53)
FLUTE: Final = Part("P1", "Flute", "Fl.", "wind.flutes.flute", ("treble",), (("fl", 1),), 74)
CLARINET: Final = Part(
    "P2",
    "Clarinet in B♭",
    "Cl.",
    "wind.reed.clarinet.bflat",
    ("treble",),
    (("cl", 1),),
    72,
    transpose=(-1, -2),
)
CELLO: Final = Part("P3", "Violoncello", "Vc.", "strings.cello", ("bass",), (("vc", 1),), 43)
