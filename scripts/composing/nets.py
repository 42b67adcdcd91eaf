"""Nets on the Quay: two pages in D major for piano, a siciliana around a chorale.

The left hand is free in the bars before the return, the only good place to turn.
"""

from typing import Final

from composing.piece import Piece, Section, reader
from composing.scenario import COMPOSER, piano

TIME: Final = (6, 8)
D: Final = reader(2, TIME)

OPENING: Final = D.voice("""
    A4e.( B4s A4e D5q F5e) | E5e.( D5s C5e B4q D5e) | C5e.( B4s A4e G4q E4e) | F4q.~ F4q A4e
  | A4e.( B4s A4e D5q F5e) | A5e.( G5s F5e D5q F5e) | E5e.( F5s E5e D5q B4e) | C5q.~ C5q A4e
  | C5e.( D5s C5e A#4q C5e) | D5e.( C5s B4e F5q.) | G5e.( F5s E5e D5q B4e) | C5q.( E5q.)
  | A4e.( B4s A4e D5q F5e) | G5e.( F5s E5e D5q B4e) | A4e.( B4s C5e E5q C5e) | D5q.~ D5q -e""")
OPENING_LEFT: Final = D.figure(
    """
    D3.F3.A3.D4 | G2.D3.G3.B3 | A2.E3.G3.C4 | D3.F3.A3.D4 | D3.F3.A3.D4 | B2.F3.B3.D4 | G#2.E3.B3.D4
  | A2.E3.A3.C4
  | F2.C3.E3.A#3 | B2.F3.B3.D4 | E2.B2.E3.G3 | A2.E3.A3.C4 | D2.A2.D3.F3 | G2.D3.G3.B3 | A2.E3.G3.C4
  | = D3e A2 F2 D2q -e""",
    "0e 1 2 3 2 1",
)

CHORALE: Final = D.voice("""
    D5+F5q.(!t C5+E5 | B4+D5q. A#4+C5) | B4+D5q.( B4+E5 | A#4+F5h.)
  | A4+F5q.( A4+E5 | F4+D5q. F4+C5) | G4+B4q.( G#4+B4 | A4+C5h.)
  | E5e.( F5s E5e G5q E5e) | C5e.( D5s C5e E5q C5e) | A4e.( B4s A4e C5q A4e) | E4e( G4 B4 A4q.)!f""")
CHORALE_LEFT: Final = D.voice("""
    B2+F3q. C3+A3 | D3+F3q. F2+E3 | B2+F3q. G2+E3 | F2+C3h.
  | D3+D4q. C3+A3 | B2+B3q. A2+A3 | G2+D3q. E2+D3 | A2+E3h.
  | A2+E3q. -q. | A2+G3q. -q. | -m | -m""")

RETURN: Final = D.voice("""
    F4+A4e.( G4+B4s F4+A4e F4+D5q A4+F5e) | G4+E5e.( F4+D5s E4+C5e D4+B4q F4+D5e)
  | E4+C5e.( D4+B4s C4+A4e G4q E4e) | D4+F4q.~ D4+F4q A4e
  | F4+A4e.( G4+B4s F4+A4e F4+D5q A4+F5e) | F5+A5e.( E5+G5s D5+F5e D5q F5e)
  | B4+E5e.( D5+F5s B4+E5e D5q B4e) | A4+C5q.~ A4+C5q A4e
  | C5e.( D5s C5e A#4q C5e) | D5e.( C5s B4e F5q.) | G5e.( F5s E5e D5q B4e) | C5q.( E5q.)
  | F5+A5e.( G5+B5s F5+A5e F5q D5e) | G5e.( F5s E5e D5q B4e) | A4e.( B4s C5e E5q C5e) | D5q.~ D5q -e
  | B4+D5e.( C5+E5s B4+D5e B4q D5e) | A4+D5q.( F4+A4q.) | G4+Bb4e.( A4+Cn5s G4+Bb4e D4+G4q Bb4e)
  | D4+F4+A4h.!f""")
RETURN_LEFT: Final = D.figure(
    """
    D3.F3.A3.D4 | G2.D3.G3.B3 | A2.E3.G3.C4 | D3.F3.A3.D4 | D3.F3.A3.D4 | B2.F3.B3.D4 | G#2.E3.B3.D4
  | A2.E3.A3.C4
  | F2.C3.E3.A#3 | B2.F3.B3.D4 | E2.B2.E3.G3 | A2.E3.A3.C4 | D2.A2.D3.F3 | G2.D3.G3.B3 | A2.E3.G3.C4
  | D2.A2.D3.F3
  | D2.B2.D3.G3 | D2.A2.D3.F3 | D2.Bb2.D3.G3 | = D2+A2h.!f""",
    "0s 1 2 3 2 1 0 1 2 3 2 1",
)


def sections() -> tuple[Section, ...]:
    """The piece from end to end."""
    return (
        Section(
            2,
            TIME,
            {"r1": OPENING, "l1": OPENING_LEFT},
            {
                "all": "1 tempo Andantino q.=50",
                "P1": "1 p; 5 < 6+1.5; 6+1.5 > 8; 9 mp; 9 < 11; 11 mf; 13 p; 16 words poco rit. @66",
            },
        ),
        Section(
            2,
            TIME,
            {"r1": CHORALE, "l1": CHORALE_LEFT},
            {
                "all": "1 tempo Poco più lento q.=44",
                "P1": "1 pp; 1 words come un corale; 5 mp; 7 > 8+2; 9 p; 11 > 12+1.5; 12 words rall. @50",
            },
            mode="major",
        ),
        Section(
            2,
            TIME,
            {"r1": RETURN, "l1": RETURN_LEFT},
            {
                "all": "1 tempo Tempo I q.=50; 20 |.",
                "P1": "1 p; 5 < 6+1.5; 6+1.5 > 8; 9 mp; 9 < 13; 13 f; 14 > 16; 17 pp; 19 words morendo @60",
            },
        ),
    )


def piece() -> Piece:
    """The piece."""
    return Piece(
        "nets-on-the-quay.musicxml",
        "Nets on the Quay",
        "Piano piece",
        COMPOSER,
        "",
        (piano("P1"),),
        sections(),
    )
