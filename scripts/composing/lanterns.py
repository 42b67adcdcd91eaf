"""Three Lanterns: a trio for flute, clarinet in B flat and cello; long rests, a canon, pizzicato and arco.

All voices are written at sounding pitch; the writer transposes the clarinet.
"""

from typing import Final

from composing.notation import Voice, join, rests, shifted
from composing.piece import Piece, Section, bar_length, reader
from composing.scenario import CELLO, CLARINET, COMPOSER, FLUTE

COMMON: Final = (4, 4)
SWING: Final = (3, 4)
F: Final = reader(-1, COMMON)
G: Final = reader(-1, SWING)  # the same key in three

THEME: Final = F.voice("""
    C4q( F4 G4 A4) | C5q.( B4e A4h) | B4q( A4 G4 F4) | G4h. -q
  | C4q( F4 G4 A4) | D5q.( C5e B4h) | A4q( C5 G4 E4) | F4h. -q
  | A4q.( B4e C5q A4) | D5h( C5) | B4q.( C5e D5q B4) | C5h. -q
  | C4q( F4 G4 A4) | D5q.( C5e B4q G4) | A4q( C5 G4q. F4e) | F4h. -q""")
FLUTE_THEME: Final = F.voice("""
    C5q( F5 G5e A5) A5q | C6q.( B5e A5h) | B5e( A5) A5( G5) G5( F5) F5q | G5h. -q
  | C5q( F5 G5e A5) A5( C6) | D6q.( C6e B5h) | A5q( C6 G5 E5) | F5h. -q
  | A5q.( B5e C6q A5) | D6h( C6) | B5q.( C6e D6q B5) | C6h. -q
  | C5q( F5 G5 A5) | D6q.( C6e B5q G5) | A5q( C6 G5q. F5e) | F5h. -q""")
CELLO_PLUCKED: Final = F.voice("""
    F2q - E2 - | A2q - D3 - | G2q - D3 - | C3q G2 E2 C2 | F2q - - A2 | B2q - D3 - | C3q - C2 - | F2q C3 F3 -
  | A2q - F2 - | B2q - A2 - | G2q - G2 - | C3q B2 A2 G2 | F2q - - A2 | B2q - G2 - | C3q - C2 -
  | F2q C3 F2 -""")
CELLO_BOWED: Final = F.voice("""
    F3h( E3) | A3h( D3) | G3h( D3) | C3h( E3) | F3h( D3) | B2h( G2) | C3h C3 | F3h( C3)
  | A3h( A2) | B2h( A2) | G2h( G3) | E3h( C3) | F3h( E3) | D3h( G2) | C3h C3 | F2h. -q""")
COUNTER: Final = F.voice("""
    C5q.( D5e E5q C5) | F5h~ F5q( E5) | D5q.( E5e F5q D5) | E5q( F5 G5 E5)
  | A4h( G4) | F4h( D5) | F4q( A4 B4h) | A4h. -q""")

CELLO_SONG: Final = F.voice("""
    A2q( D3 E3 F3) | A3q.( G3e F3h) | G3q( F3 E3 D3) | E3h. -q | A2q( D3 E3 F3) | B3q.( A3e G3h)
  | F3q( A3 E3 C#3) | D3h. -q
  | F3q.( G3e A3q F3) | B3h( A3) | G3q.( A3e B3q G3) | A3h. -q | D4q.( C4e B3q A3) | G3q.( F3e E3q D3)
  | E3h( C#3) | D3h. -q""")
CLARINET_RIPPLE: Final = F.figure(
    """
    A3.D4.F4 | A3.D4.F4 | B3.D4.G4 A3.C#4.E4 | A3.C#4.E4 | A3.D4.F4 | B3.D4.G4 | A3.D4.F4 G3.C#4.E4 | A3.D4.F4
  | A3.C4.F4 | B3.D4.F4 A3.C4.F4 | B3.D4.G4 | A3.C#4.E4 | D4.F4.A4 B3.D4.G4 | B3.D4.G4 A3.D4.F4
  | A3.C#4.G4 | A3.D4.F4""",
    "0e( 1 2 1 0 1 2 1)",
    "0e( 1 2 1)",
)
FLUTE_ABOVE: Final = F.voice("""
    F5h( C6) | D6h( C6) | D6h.( B5q) | A5h. -q | F5h( D5) | E5h( D5) | G5h( E5) | F5h. -q""")

ROUND: Final = G.voice("""
    F5q A5 F5 | G5q.( F5e E5q) | A5e( B5 C6q) A5 | B5e( A5 G5q) -q | C6e( B5 A5 G5) F5q | E5e( F5 G5q) C5
  | A5q C6 A5 | G5q( B5 G5) | F5e( G5 A5q) F5 | E5q( D5 E5) | F5q C6 A5 | G5h.""")
WALK: Final = G.voice("""
    F2q C3 A2 | F3q A2 C3 | B2q D3 F3 | B3q F3 D3 | G3q D3 B2 | C3q E3 G3 | F3q A2 F2 | C3q G2 E2
  | F2q A2 C3 | D3q A2 F2 | B2q F3 D3 | G2q B2 D3 | C3q E3 G3 | C3q E2 G2 | F2q C3 F2 | F2q - -""")
FLUTE_TALK: Final = G.voice("""
    F5e( G5 A5 G5) F5q | C6h A5q | B5e( A5 B5 C6) D6q | B5h -q | -m | -m | -m | -m
  | A5e( B5 C6 B5) A5q | F5q( A5 D6) | D6q.( C6e B5q) | B5q.( A5e G5q) | G5e( A5 G5 F5) E5q | G5q( C6 B5)
  | A5h.~!l | A5q - -""")
CLARINET_TALK: Final = G.voice("""
    -m | -m | -m | -m | B4e( A4 B4 C5) D5q | C5h G4q | A4e( B4 C5 B4) A4q | G4h -q
  | C5h. | A4h( F4q) | F4h( D4q) | G4h( D5q) | E4h( G4q) | E4e( F4 G4 F4) E4q | F4h.~ | F4q - -""")

DANCE: Final = G.voice("""
    B2h( D3q) | F3h( D3q) | A2h( C3q) | F3h. | G3q.( F3e D3q) | E3h( C3q) | F3q( A3 C4) | A3h -q
  | B2h. | B2h. | F2h. | A2h. | G2h. | C3h. | C3h( C2q) | F2h -q""")
CLARINET_DANCE: Final = join(
    G.voice("""
    -q D4!s F4!s | -q D4!s F4!s | -q C4!s F4!s | -q A4!s F4!s | -q B4!s G4!s | -q B4!s G4!s | -q A4!s F4!s
  | C5e( B4 A4 G4 F4 E4)"""),
    G.figure(
        "D4.F4.B4 | D4.F4.B4 | C4.F4.A4 | C4.F4.A4 | D4.G4.B4 | E4.G4.B4 | E4.G4.C5 | = F4e( C5 A4 F4 C4q)",
        "0e( 1 2 1 2 1)",
    ),
)
FLUTE_DANCE: Final = G.voice("""
    B4h( D5q) | F5h( D5q) | A4h( C5q) | F5h. | G5q.( F5e D5q) | E5h( C5q) | G5q( A5 E5) | F5h -q""")

CLARINET_CHORALE: Final = F.voice("""
    A4h( C5) | A4h( F4) | D5h D5 | E4h( G4) | A4h( C5) | F4h( D5) | F4q( A4 B4h) | A4h. -q""")
FLUTE_DESCANT: Final = F.voice("""
    F5h( A5) | F5h( A5) | D6h( B5) | {G5e( A5 B5} {A5 B5 C6} B5q G5) | A5h( G5) | F5h( B5)
  | F5h( E5) | F5h. -q""")


def quiet(count: int, time: tuple[int, int]) -> Voice:
    """Bars of rest."""
    return rests(count, bar_length(time))


def sections() -> tuple[Section, ...]:
    """The trio from end to end, one section a rehearsal letter."""
    common, swing = (-1, COMMON), (-1, SWING)
    return (
        Section(
            *common,
            {"fl": quiet(16, COMMON), "cl": THEME, "vc": CELLO_PLUCKED},
            {
                "all": "1 tempo Andante q=76",
                "P2": "1 mp; 9 < 11; 11 mf; 13 > 16",
                "P3": "1 pizz; 1 p; 9 < 11; 11 mp; 13 > 16",
            },
        ),
        Section(
            *common,
            {"fl": FLUTE_THEME, "cl": join(quiet(8, COMMON), COUNTER), "vc": CELLO_BOWED},
            {
                "all": "1 reh A",
                "P1": "1 mf; 9 < 11; 11 f; 13 > 16",
                "P2": "9 mp; 9 < 11; 13 > 16",
                "P3": "1 arco; 1 p; 9 mp; 9 < 11; 13 > 16",
            },
        ),
        Section(
            *common,
            {"fl": join(quiet(8, COMMON), FLUTE_ABOVE), "cl": CLARINET_RIPPLE, "vc": CELLO_SONG},
            {
                "all": "1 reh B; 15 words rit. @66",
                "P1": "9 p; 9 < 11; 13 > 16",
                "P2": "1 pp; 9 p; 13 > 16",
                "P3": "1 mf; 1 words cantabile; 9 f; 13 > 16",
            },
            mode="minor",
        ),
        Section(
            *swing,
            {
                "fl": join(ROUND, G.voice("A5h. | B5q( A5 G5)")),
                "cl": join(quiet(2, SWING), shifted(ROUND, -1)),
                "vc": join(quiet(12, SWING), G.voice("F2q - C3 | C3q G2 E2")),
            },
            {
                "all": "1 reh C; 1 tempo Allegro, swinging q=144",
                "P1": "1 mf",
                "P2": "3 mf",
                "P3": "13 pizz; 13 mf",
            },
        ),
        Section(
            *swing,
            {"fl": FLUTE_TALK, "cl": CLARINET_TALK, "vc": WALK},
            {
                "all": "1 reh D",
                "P1": "1 mf; 9 f; 13 > 16",
                "P2": "5 mf; 9 mp; 13 > 16",
                "P3": "1 mp; 9 mf; 13 > 16",
            },
        ),
        Section(
            *swing,
            {"fl": join(quiet(8, SWING), FLUTE_DANCE), "cl": CLARINET_DANCE, "vc": DANCE},
            {
                "all": "1 reh E; 15 words rall. @104",
                "P1": "9 f",
                "P2": "1 p; 8 < 9; 9 mf",
                "P3": "1 arco; 1 f; 9 mf",
            },
        ),
        Section(
            *common,
            {
                "fl": join(shifted(THEME[:8], 1), FLUTE_DESCANT),
                "cl": join(CLARINET_CHORALE, THEME[8:]),
                "vc": CELLO_BOWED,
            },
            {
                "all": "1 reh F; 1 tempo Tempo I q=76",
                "P1": "1 p; 9 mp; 13 > 16",
                "P2": "1 p; 9 mf; 13 > 16",
                "P3": "1 p; 9 mp; 13 > 16",
            },
        ),
        Section(
            *common,
            {
                "fl": F.voice("-m | C5q( F5 G5 A5) | C6w~ | C6h.( B5q) | A5w~ | A5w!f"),
                "cl": F.voice("C4q( F4 G4 A4) | C5w~ | C5h -h | -m | F4w~ | F4w!f"),
                "vc": F.voice("F2q - - - | -m | C3q( F3 G3 A3) | C4w | F2q!s - - - | F2w!f"),
            },
            {
                "all": "1 reh G; 3 words poco a poco rallentando @66; 5 words morendo @54; 6 |.",
                "P1": "2 p; 5 > 6+3",
                "P2": "1 p; 5 > 6+3",
                "P3": "1 pizz; 1 p; 3 arco; 5 pizz; 6 arco; 6 pp",
            },
        ),
    )


def piece() -> Piece:
    """The trio."""
    return Piece(
        "three-lanterns.musicxml",
        "Three Lanterns",
        "Trio for flute, clarinet and cello",
        COMPOSER,
        "",
        (FLUTE, CLARINET, CELLO),
        sections(),
    )
