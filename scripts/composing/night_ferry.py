"""Nachtfähre: a short German song in E minor for voice and piano; two verses in a repeat with endings."""

from typing import Final

from composing.piece import Piece, Section, reader
from composing.scenario import COMPOSER, POET, VOICE, piano

TIME: Final = (4, 4)
E: Final = reader(1, TIME)

SONG: Final = E.voice("""
    E5q. D5e B4q G4 | A4q B4 G4 E4 | A4q. G4e F4q E4 | B4h. B4q
  | C5q. B4e A4q C5 | B4q G4 E5 E5 | D5q. C5e A4q F4 | E4h -q B4
  | E5q. E5e D5q B4 | C5q B4 A4 A4 | G4q. A4e F4q D#4""")
VERSES: Final = {
    1: """Fäh- re löst sich leis vom Land, das Was- ser gluckst am Steg, ein Licht zieht ü- ber Mast und
          Strand und zeigt uns still den Weg, ein Licht zieht ü- ber Mast und Strand und zeigt uns still
          den""",
    2: """Stra- ße, schlaf, du mü- des Haus, die Mö- we ruht im Tau; wir fah- ren sacht ins Meer hin- aus,
          der Mor- gen, der wird blau, wir fah- ren sacht ins Meer hin- aus, der Mor- gen, der wird""",
}
RIGHT: Final = E.figure(
    """
    G3.B3.E4 | A3.C4.E4 G3.B3.E4 | A3.C4.E4 A3.C4.F4 | A3.B3.D#4 | A3.C4.E4 | G3.B3.E4 G3.C4.E4
  | F3.A3.D4 A3.B3.D#4 | G3.B3.E4
  | G3.B3.E4 G3.B3.D4 | A3.C4.E4 | G3.B3.E4 F3.A3.D#4""",
    "0+1+2w",
    "0+1+2h",
)
LEFT: Final = E.figure(
    """
    E2.B2.E3 | A2.E3.A3 E2.B2.E3 | A2.E3.A3 C3.F3.A3 | B1.F2.B2 | A2.C3.E3 | E2.B2.E3 C2.G2.C3
  | D2.A2.D3 B1.F2.B2 | E2.B2.E3
  | E2.B2.E3 G2.D3.G3 | A2.C3.E3 | B1.E2.B2 B1.F2.B2""",
    "0e 1 2 1 0 1 2 1",
    "0e 1 2 1",
)


def sections() -> tuple[Section, ...]:
    """The song from end to end."""
    return (
        Section(
            1,
            TIME,
            {
                "v": E.voice("-m|-m|-m|-h -q B4q"),
                "r1": E.voice("E5q.( D5e B4q G4) | A4q( B4 G4 E4) | A4q.( G4e F4q D#4) | E4h. -q"),
                "l1": E.figure(
                    "E2.B2.E3 | A2.E3.A3 E2.B2.E3 | F2.C3.E3 B1.F2.A2 | E2.B2.E3",
                    "0e 1 2 1 0 1 2 1",
                    "0e 1 2 1",
                ),
            },
            {"all": "1 tempo Ruhig q=66", "P2": "1 p; 3 > 4"},
            {"v": {1: "1.~Die"}},
            mode="minor",
        ),
        Section(
            1,
            TIME,
            {"v": SONG, "r1": RIGHT, "l1": LEFT},
            {
                "all": "1 |:",
                "P1": "1 p; 5 < 6+2; 6+2 mf; 9 f; 10 > 11+3",
                "P2": "1 pp; 5 < 6+2; 9 mf; 10 > 11+3",
            },
            {"v": VERSES},
            mode="minor",
        ),
        Section(
            1,
            TIME,
            {
                "v": E.voice("E4h. -q | -m | -h -q B4"),
                "r1": E.voice("G3+B3+E4h -q B4 | E5q.( D5e B4q G4) | A4q.( F4e E4h)"),
                "l1": E.figure("= E2e B2 E3 B2 E2q - | = -m | B1.F2.A2 E2.B2.E3", "0e 1 2 1"),
            },
            {"all": "1 ending 1 start; 3 ending 1 stop; 3 :|", "P2": "1 p; 1 words dolce"},
            {"v": {1: "Weg. .", 2: ". 2.~Schlaf,"}},
            mode="minor",
        ),
        Section(
            1,
            TIME,
            {
                "v": E.voice("E4w~ | E4h -h | -m | -m | -m"),
                "r1": E.voice(
                    "G3+B3+E4h -q B4 | E5q.( D5e B4q G4) | C5q.( B4e A4q F4) | B4h.( G4q) | G4+B4+E5w!f"
                ),
                "l1": E.figure("E2.B2.E3 | E2.B2.E3 | A2.E3.A3 | E2.B2.E3 | = E1+E2w!f", "0e 1 2 1 0 1 2 1"),
            },
            {
                "all": "1 ending 2 start; 5 ending 2 stop; 3 words verklingend @54; 5 |.",
                "P2": "1 p; 3 > 5; 5 ppp",
                "P1": "1 > 2+2",
            },
            {"v": {2: "blau."}},
            mode="minor",
        ),
    )


def piece() -> Piece:
    """The song."""
    return Piece(
        "nachtfaehre.musicxml",
        "Nachtfähre",
        "Lied für eine Singstimme und Klavier",
        COMPOSER,
        POET,
        (VOICE, piano("P2")),
        sections(),
    )
