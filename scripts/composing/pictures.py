"""Two Harbour Pictures for piano: two movements in one file, bar numbers begin again.

Fog Bells has a pickup bar and a long passage deep in the bass, Gulls over the Mole one high in the treble.
"""

from typing import Final

from composing.notation import Voice, filled, in_octaves, shifted
from composing.piece import Piece, Section, reader
from composing.scenario import COMPOSER, piano

# ---- I. Fog Bells ----------------------------------------------------------

SLOW: Final = (4, 4)
C: Final = reader(-3, SLOW)

BELLS: Final = C.voice("""
    C5q.( D5e E5q D5) | C5h G4q G4 | A4q.( B4e C5q B4) | G4h. G4q
  | C5q.( D5e E5q F5) | G5h E5q E5 | F5q.( E5e D5q F5) | D5h Bn4q G4
  | C5q.( D5e E5q D5) | B4h G4q B4 | A4q.( G4e F4q A4) | G4h. G5q
  | G5q.( F5e E5q D5) | C5h A4q F5 | E5q.( D5e D5q Bn4) | E4+G4+C5h. -q""")
INNER: Final = C.voice("""
    E4+G4w | E4+G4h C4+E4 | C4+F4w | C4+D4h Bn3+D4 | E4+G4w | G4+B4w | A4+C5h F4+A4 | G4+Bn4h D4+F4
  | E4+A4w | E4+G4h E4 | C4+F4h C4 | Bn3+D4h Bn3+F4 | C5+E5h G4+C5 | F4+A4h F4 | G4+C5h F4+G4""")
BELL_BASS: Final = """
    C2.C3 | C2.C3 | F2.F3 | G1.G2 | C2.C3 | G1.G2 | F2.F3 A1.A2 | G1.G2
  | A1.A2 | G1.G2 | F1.F2 | G1.G2 | E2.E3 | A1.A2 | G1.G2 | """

DEEP_RIGHT: Final = C.voice("""
    C3+E3h.( D3+F3q | C3+E3h C3) | A2+C3h.( B2+D3q | Bn2+D3w)
  | C3+E3h.( D3+F3q | E3+G3h C3+E3) | F3+A3h.( E3+G3q | D3+F3h Bn2+D3)""")
DEEP_LEFT: Final = C.voice("C1+C2w | A1+A2w | F1+F2w | G1+G2w | C1+C2w | A1+A2w | Db1+Db2w | G1+G2w")
ROLLING: Final = C.figure(
    """
    C2.G2.C3.E3 | A1.E2.A2.C3 | F1.C2.F2.A2 | G1.D2.G2.Bn2 | C2.G2.C3.E3 | E2.B2.E3.G3 | Db2.A2.Db3.F3
  | G1.D2.F2.Bn2""",
    "0s 1 2 3 2 1 2 1 0 1 2 3 2 1 2 1",
)
DEEP_SONG: Final = in_octaves(
    C.voice("""
    C4q.( D4e E4q D4) | C4h A3q C4 | A3q.( B3e C4q A3) | G3h. G3q
  | C4q.( D4e E4q F4) | G4h E4 | F4q.( E4e Db4q F4) | D4h Bn3""")
)
PEDAL_RIGHT: Final = C.voice("""
    -m | -m | -q Bn2+D3( D3+F3 Bn2+D3) | -q C3+E3( E3+G3 C3+E3)
  | -q D3+F3( F3+A3 D3+F3) | D3+F#3h( E3+G3) | F3+A3w | D3+F3h.!f G4q""")
PEDAL_LEFT: Final = C.figure(
    """
    G1.G2 | G1.G2 | G1.G2 | G1.G2 | G1.G2 | A1.A2 C2.C3 | D2.D3 F2.F3 | = G1+G2h.!f -q""",
    "0e 1 0 1 0 1 0 1",
    "0e 1 0 1",
)

FOG_END_RIGHT: Final = C.voice("""
    F4+A4+C5h( E4+G4+C5) | F4+A4+C5h( E4+G4+C5) | Db4+F4+A4w | D4+F4+Bn4w
  | En4+G4+C5w | -h G5+C6+En6h!r | -h G5+C6+En6h!r | C5+En5+G5w!fr""")
FOG_END_LEFT: Final = C.voice("""
    C2+C3w | C2+C3w | C2+C3w | C2+C3w | C1+C2w | C2+G2w | C1+C2w | C1+C2w!f""")

# ---- II. Gulls over the Mole ----------------------------------------------------------

QUICK: Final = (6, 8)
E: Final = reader(-3, QUICK)

GULLS: Final = E.voice("""
    E5e!s G5!s B5!s B5q( G5e) | F5e( E5 D5 E5q) B4e | C5e!s E5!s A5!s A5q( E5e) | D5e( E5 F5 F5q) B4e
  | E5e!s G5!s B5!s B5q( G5e) | C6e( B5 A5 G5q) E5e | F5e( G5 An5 C6q) An5e | B5q. B5e( A5 F5)
  | E5e!s G5!s B5!s B5q( G5e) | F5e( E5 D5 E5q) B4e | C5e!s E5!s A5!s C6q( A5e) | F5e( G5 A5 A5q) F5e
  | G5e( A5 B5 E5q) G5e | F5e( G5 A5 D5q) F5e | E5e G5 B5 A5 F5 D5 | E5q.!a -q -e""")
GULLS_LEFT: Final = E.figure(
    """
    E2.G3.B3.G2 | E2.G3.B3.B2 | A2.C4.E4.E3 | B2.F3.D4.D3 | E2.G3.B3.G2 | C3.E3.G3.E3 | F2.E3.An3.An2
  | = B2q D3+F3e B2e A2 G2
  | E2.G3.B3.G2 | E2.G3.B3.B2 | A2.C4.E4.E3 | F3.A3.C4.C3 | B2.E3.G3.B2 | B2.D3.A3.F2
  | = G2q E3+B3e B2q D3+A3e
  | = E2q B2e E3q -e""",
    "0q 1+2e!s 3q 1+2e!s",
)

CALLS: Final = E.voice("""
    G6e( E6 C6 G6q) E6e | D6e( B5 G5 D6q) B5e | E6e( C6 A5 E6q) C6e | B5e( G5 E5 B5q.)
  | A6e( F6 C6 A6q) F6e | G6e( E6 C6 G6q) E6e | F6e( D6 A5 F6q) D6e | D6e( Bn5 G5 Bn5q.)""")
CALLS_LEFT: Final = E.figure(
    """
    C4.G4.C5.E5 | B3.G4.B4.D5 | C4.A4.C5.E5 | B3.G4.B4.E5 | C4.F4.A4.C5 | C4.E4.G4.C5 | D4.F4.A4.C5
  | D4.F4.G4.Bn4""",
    "0e 1 2 3 2 1",
)
GLITTER: Final = E.figure(
    """
    C6.E6.G6.C7 | B5.D6.G6.B6 | C6.E6.A6.C7 | B5.E6.G6.B6 | C6.F6.A6.C7 | B5.E6.G6.B6 | An5.C6.E6.F6
  | B5.D6.F6.B6""",
    "0s 2 1 2 3 2 1 2 0 2 1 2",
)
GLITTER_LEFT: Final = E.voice("""
    E5q.( D5q C5e) | D5q.( C5q B4e) | C5q.( B4q A4e) | B4q.~ B4q G4e | A4q.( B4q C5e) | B4q.( A4q G4e)
  | An4q.( C5q E5e) | D5h.""")
LANDING: Final = E.voice("""
    B6e( A6 F6 D6 F6 A6) | G6e( E6 B5 G5 B5 E6) | A5e( F5 D5 B4 D5 F5) | G5e( E5 B4 G4 B4 E5) | -m | -m
  | -m | -q. D5e( E5 F5)""")
LANDING_LEFT: Final = E.voice("""
    D4+F4+A4q. -q. | E4+G4q. -q. | D4+F4q. -q. | E4q. -q. | A2e( C3 E3 A3 E3 C3) | F2e( A2 C3 F3 C3 A2)
  | B1e( B2 D3 F3 D3 B2) | A2q. -q.""")

FLYING_LEFT: Final = E.figure(
    """
    E3.G3.B3.E4 | E3.G3.B3.E4 | A2.E3.A3.C4 | B2.F3.A3.D4 | E3.G3.B3.E4 | C3.G3.C4.E4 | F2.C3.E3.An3
  | B2.F3.B3.D4
  | E3.G3.B3.E4 | E3.G3.B3.E4 | A2.E3.A3.C4 | F2.C3.F3.A3 | B2.E3.G3.B3 | B2.D3.F3.A3
  | = G2e E3 B3 B2 D3 A3 | = E2q B2e E3q -e""",
    "0e 1 2 3 2 1",
)
STABS: Final = E.figure(
    """
    G4.B4.E5 | A4.C5.E5 | F4.A4.D5 | G4.Bn4.D5 | G4.C5.E5 | F4.A4.C5 | F4.A4.D5 | G4.B4.E5""",
    "0+1+2q.!a -e 0+1+2!s -",
)
STRIDES: Final = E.runs(
    "E3 | A2 | D3 | = G2e A2 Bn2 C3 D3 Bn2 | C3 | F2 | B2 | = E3e D3 C3 B2 A2 G2", "0 1 2 3 4 2", "e"
)
CLOSE: Final = E.voice("""
    E5e!s G5!s B5!s B5q( G5e) | B5e( A5 G5 Db5q) E5e | C5e!s E5!s A5!s A5q( E5e) | Cb5e!s E5!s A5!s A5q( E5e)
  | B4e( E5 G5 B5q) G5e | A5e( F5 D5 B5q) A5e | G5e( E5 C5 E5q) G5e | F5e( An5 C6 E6q) C6e
  | B5e( G5 E5 G5q) B5e | A5e( F5 D5 F5q) A5e | G5e( B5 E6 G6q) E6e | F6e( D6 B5 A5q) F5e
  | E5s G5 B5 E6 B5 G5 E5 G5 B5 E6 B5 G5 | G5s B5 E6 G6 E6 B5 G5 B5 E6 G6 E6 B5
  | G5+B5+E6q.!a A4+D5+F5q.!a | G4+B4+E5h.!f""")
CLOSE_LEFT: Final = E.figure(
    """
    E2.G3.B3.G2 | E2.G3.Db4.B2 | A2.C4.E4.E3 | A2.Cb4.E4.E3 | B2.E3.G3.B2 | B2.D3.A3.F2 | C3.E3.G3.G2
  | F2.E3.An3.C3
  | B2.E3.G3.B2 | B2.D3.A3.F2 | E2.G3.B3.B2 | B2.F3.D4.F2 | E2.G3.B3.B2 | E2.G3.B3.B2
  | = E2+E3q.!a B1+B2q.!a | = E1+E2h.!f""",
    "0q 1+2e!s 3q 1+2e!s",
)


def bell_bass(last: str, *patterns: str) -> Voice:
    """The bells' bass in broken octaves."""
    return C.figure(BELL_BASS + last, *patterns)


def fog_bells() -> tuple[Section, ...]:
    """The first movement."""
    loud = filled(in_octaves(shifted(BELLS, 1)), shifted(INNER, 1))
    return (
        Section(
            -3,
            SLOW,
            {"r1": C.voice("G4q"), "l1": C.voice("-q")},
            {
                "all": "1 title I. Fog Bells; 1 tempo Maestoso, ma con moto q=80",
                "P1": "1 mf",
            },
            mode="minor",
            pickup=True,
        ),
        Section(
            -3,
            SLOW,
            {"r1": BELLS, "r2": INNER, "l1": bell_bass("= C2q C3 C2 -", "0q 1 0 1", "0q 1")},
            {
                "P1": "1 p; 5 < 7; 7 mf; 8 > 9; 9 p; 11 < 13; 13 f; 15 > 16+3",
            },
            mode="minor",
        ),
        Section(
            -3,
            SLOW,
            {"r1": DEEP_RIGHT, "l1": DEEP_LEFT},
            {
                "all": "1 tempo Grave, in the fog q=63",
                "P1": "1 pp; 1 clef 1 bass; 1 words 2:una corda; 5 < 7; 7 > 9",
            },
            mode="minor",
        ),
        Section(
            -3,
            SLOW,
            {"r1": DEEP_SONG, "l1": ROLLING},
            {
                "all": "1 tempo Con moto q=72",
                "P1": "1 p; 1 words il canto ben legato; 5 < 7; 7 mf; 8 > 9",
            },
            mode="minor",
        ),
        Section(
            -3,
            SLOW,
            {"r1": PEDAL_RIGHT, "l1": PEDAL_LEFT},
            {
                "P1": "1 pp; 3 < 7; 7 ff; 7 > 8+2; 8+3 clef 1 treble; 8+3 f",
                "all": "6 words allargando @60",
            },
            mode="minor",
        ),
        Section(
            -3,
            SLOW,
            {
                "r1": loud,
                "l1": bell_bass("= C2e C3 C2 C3 C2q -", "0e 1 0 1 0 1 0 1", "0e 1 0 1"),
            },
            {
                "all": "1 tempo Tempo I q=80",
                "P1": "1 ff; 9 f; 11 < 13; 13 ff; 15 > 16+3",
            },
            mode="minor",
        ),
        Section(
            -3,
            SLOW,
            {"r1": FOG_END_RIGHT, "l1": FOG_END_LEFT},
            {
                "all": "1 tempo Più lento q=60; 7 words morendo @50; 8 |.",
                "P1": "1 p; 3 > 5; 5 pp; 8 ppp; 8 ped 8+3",
            },
            mode="minor",
        ),
    )


def gulls() -> tuple[Section, ...]:
    """The second movement."""
    return (
        Section(
            -3,
            QUICK,
            {"r1": GULLS, "l1": GULLS_LEFT},
            {
                "all": "1 title II. Gulls over the Mole; 1 tempo Vivace q.=96",
                "P1": "1 mf; 7 < 8; 8 f; 9 mf; 13 < 15; 15 f",
            },
            restart=True,
        ),
        Section(
            -3,
            QUICK,
            {"r1": CALLS, "l1": CALLS_LEFT},
            {"P1": "1 p; 1 clef 2 treble; 1 words leggiero; 5 < 7; 7 > 8+2"},
        ),
        Section(
            -3,
            QUICK,
            {"r1": GLITTER, "l1": GLITTER_LEFT},
            {"P1": "1 pp; 1 8va 9; 1 words 2:cantando; 5 < 7; 7 mp"},
        ),
        Section(
            -3,
            QUICK,
            {"r1": LANDING, "l1": LANDING_LEFT},
            {
                "P1": "1 mp; 1 8va 3; 3 > 5; 5 p; 5 clef 2 bass; 8+1.5 < 8+3",
                "all": "8 ||",
            },
        ),
        Section(-3, QUICK, {"r1": GULLS, "l1": FLYING_LEFT}, {"P1": "1 f; 9 mf; 13 < 15; 15 f"}),
        Section(-3, QUICK, {"r1": STABS, "l1": STRIDES}, {"P1": "1 f; 1 words 2:marcato; 5 < 8"}),
        Section(
            -3,
            QUICK,
            {"r1": CLOSE, "l1": CLOSE_LEFT},
            {
                "P1": "1 mf; 4 p; 5 < 9; 9 f; 11 ff; 13 mf; 13 < 15; 15 ff",
                "all": "15 words allargando @110; 16 |.",
            },
        ),
    )


def piece() -> Piece:
    """Both movements."""
    return Piece(
        "two-harbour-pictures.musicxml",
        "Two Harbour Pictures",
        "for piano",
        COMPOSER,
        "",
        (piano("P1"),),
        (*fog_bells(), *gulls()),
    )
