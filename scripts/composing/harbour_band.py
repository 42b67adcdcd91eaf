"""The Harbour Band: a polka in G major for piano; endings in the bass tune and in the trio, D.S. al Coda."""

from typing import Final

from composing.notation import Voice, in_octaves, join, shifted
from composing.piece import Piece, Section, reader
from composing.scenario import COMPOSER, piano

TIME: Final = (2, 4)
G: Final = reader(1, TIME)
C: Final = reader(0, TIME)

OOMPAH: Final = "0e!s 1+2!s 3!s 1+2!s"

INTRO: Final = G.voice("""
    D5q!a E5s( D5 C5 A4) | B4q!a C5s( B4 A4 F4) | G4s A4 G4 F4 G4 A4 B4 C#5 | D5q!a D4q!a""")

TUNE: Final = G.voice("""
    G4e!s B4s( C5) D5e!s G5!s | F5s( E5 D5 C5) B4e!s D5!s | C5e!s E5s( D5) C5e!s A4!s | F4e!s A4!s D5q!a
  | G4e!s B4s( C5) D5e!s G5!s | G5s( F5 E5 D5) E5e!s B4!s | C#5e!s E5s( D5) C#5e!s A4!s | D5q!a -q
  | G4e!s B4s( C5) D5e!s G5!s | G5s( F5 E5 D5) C5e!s E5!s | A4e!s C5s( B4) A4e!s C5!s
  | B4e!s D5s( C5) B4e!s G4!s
  | E5q.( D5e) | D5q.( B4e) | A4e!s C5s( B4) A4e!s F4!s | G4q!a -q""")
TUNE_LEFT: Final = G.figure(
    """
    G2.B3.D4.B2 | G2.B3.D4.D3 | A2.C4.E4.E3 | D3.A3.C4.A2
  | G2.B3.D4.B2 | E3.G3.B3.B2 | A2.G3.C#4.E3 | = D3e!s C3!s B2!s A2!s
  | G2.B3.D4.B2 | C3.G3.E4.G2 | A2.C4.E4.E3 | B2.D4.G4.D3
  | C3.G3.E4.G2 | D3.G3.B3.D3 | D3.A3.C4.D3 | = G2e!s B3+D4!s G2q!a""",
    OOMPAH,
)

RUNNING: Final = G.voice("""
    G4s( A4 B4 C5 D5 E5 F5 G5) | F5s( E5 D5 C5 B4 C5 D5 B4) | C5s( D5 E5 D5 C5 B4 A4 C5)
  | F4s( A4 D5 A4 F5 D5 A4 F4)
  | G4s( A4 B4 C5 D5 E5 F5 G5) | G5s( F5 E5 D5 E5 D5 C5 B4) | C#5s( D5 E5 D5 C#5 B4 A4 G4)
  | F4s( G4 A4 B4 C5 B4 A4 C5)
  | B4s( A4 B4 C5 D5 E5 F5 G5) | G5s( F5 E5 D5 C5 D5 E5 C5) | A4s( B4 C5 B4 A4 C5 E5 C5)
  | B4s( C5 D5 C5 B4 A4 G4 D4)
  | E5s( D5 C5 B4 C5 D5 E5 C5) | D5s( C5 B4 A4 B4 C5 D5 B4) | A4s( B4 C5 A4 F4 G4 A4 F4)
  | G4e!s B4+D5+G5!s G4q!a""")
RUNNING_LEFT: Final = join(TUNE_LEFT[:7], G.voice("D3e!s A3+C4!s D3!s A3+C4!s"), TUNE_LEFT[8:])

OFFBEAT: Final = ("-e 0+1+2!s - 0+1+2!s", "-e 0+1+2!s")
TUBA: Final = G.voice("""
    E3q.( F3e | G3e A3 B3q) | C4q.( B3e | A3e G3 F3q) | G3q.( A3e | B3e G3 E3q) | F3e( A3 G3 F3) | B2q!a -q
  | E3q.( F3e | G3e A3 B3q) | C4q.( D4e | E4e D4 C4q) | D4q.( C4e | B3e A3 G3q)""")
TUBA_RIGHT: Final = G.figure(
    """
    G4.B4.E5 | G4.B4.E5 | A4.C5.E5 | A4.C5.E5 A4.B4.D#5 | G4.B4.E5 | G4.B4.E5 | A4.C5.F5 | F4.B4.D#5
  | G4.B4.E5 | G4.B4.E5 | A4.C5.E5 | A4.C5.E5 | G4.B4.D5 | G4.B4.D5""",
    *OFFBEAT,
)

TRIO: Final = C.voice("""
    G4+E5q.( F4+D5e | E4+C5e G4+E5 C5+G5q) | C5+A5q.( B4+G5e | G4+E5h)
  | A4+F5q.( G4+E5e | F4+D5e A4+F5 C5+A5q) | B4+G5q.( A4+F5e | F4+D5q) -e *D#5e E5e
  | G4+E5q.( F4+D5e | E4+C5e G4+E5 C5+G5q) | C5+A5q.( B4+G5e | G4+E5h)
  | A4+F5q.( C5+A5e | C5+G5e G4+E5 E4+C5q) | F4+D5q.( D4+B4e)""")
TRIO_LEFT: Final = C.figure(
    """
    C3.E3.G3 | C3.E3.G3 | C3.F3.A3 | C3.E3.G3 | D3.F3.A3 | D3.F3.A3 | D3.F3.G3 | G2.D3.B3
  | C3.E3.G3 | C3.E3.G3 | C3.F3.A3 | C3.E3.G3 | F2.C3.A3 | G2.C3.E3 | G2.D3.F3""",
    "0e 2 1 2",
)

EPISODE_RIGHT: Final = C.figure(
    """
    A4.C5.E5 | A4.C5.E5 | G#4.B4.E5 | A4.C5.E5 | A4.D5.F5 | A4.C5.F5 | A4.B4.F#5 | G#4.B4.E5
  | G4.C5.E5 | G4.C5.E5 | G4.B4.D5 | G4.C5.E5 | A4.C5.E5 | A4.C5.D5 | G4.B4.D5 | = F#4s A4 C5 D5 F#5e!s -e""",
    "0s 1 2 1 0 1 2 1",
)
EPISODE_LEFT: Final = in_octaves(
    C.voice("""
    A3q.( B3e | C4q E4) | D4q.( B3e | C4q A3) | D4q.( E4e | F4q A3) | B3q.( D#4e | E4q E3)
  | C4q.( D4e | E4q G4) | F4q.( D4e | E4q C4) | A3q.( C4e | D4q F#4) | G3q.( B3e | D3q)!a -q""")
)

CODA_RIGHT: Final = G.voice("""
    G5e!s B5s( C6) D6e!s G5!s | F5s( E5 D5 C5) B4e!s D5!s | C5e!s E5s( D5) C5e!s A4!s
  | D5s( C5 B4 A4) G4e!s F4!s
  | G4q.( A4e | B4e C5 D5 E5) | E5q.( D5e) | D5q( B4q) | A4e!s C5s( B4) A4e!s F4!s
  | G4s( D5 B4 D5 G5 D5 B4 D5) | G4s( E5 C5 E5 G5 E5 C5 E5) | G4s( D5 B4 D5 G5 D5 B4 D5)
  | G4+B4+D5+G5q!a F4+C5+D5+F5q!a | B4+D5+G5q!a -q""")
CODA_LEFT: Final = G.figure(
    """
    G2.B3.D4.B2 | G2.B3.D4.D3 | A2.C4.E4.E3 | D3.A3.C4.A2
  | E3.G3.B3.B2 | E3.G3.B3.B2 | C3.G3.E4.G2 | D3.G3.B3.D3 | D3.A3.C4.D3
  | = G2e!s B3+D4!s D3!s B3+D4!s | = G2e!s C4+E4!s E3!s C4+E4!s | = G2e!s B3+D4!s D3!s B3+D4!s
  | = D2+D3q!a D2+D3q!a | = G1+G2q!a -q""",
    OOMPAH,
)


def calls() -> tuple[Voice, Voice]:
    """The way back to the sign: the hands call to each other, then a run up to a held dominant."""
    right = G.voice("""
        -m | G4e!s B4s( C5) D5e!s G5!s | -m | A4e!s C#5s( D5) E5e!s A5!s
      | F5s( E5 D5 C5 B4 A4 G4 F4) | E4s( F4 G4 A4 B4 C5 D5 E5) | F4+C5+F5h!f | -e D5s( E5 D5 C5 A4 F4)""")
    left = G.voice("""
        G2e!s B2s( C3) D3e!s G3!s | -m | A2e!s C#3s( D3) E3e!s A3!s | -m
      | D3+F3+C4q!a -q | D2+D3q!a -q | D2+D3h!f | -m""")
    return right, left


def sections() -> tuple[Section, ...]:
    """The piece from end to end."""
    right, left = calls()
    return (
        Section(
            1,
            TIME,
            {"r1": INTRO, "l1": shifted(INTRO, -2)},
            {
                "all": "1 tempo Allegretto giocoso q=100",
                "P1": "1 f",
            },
        ),
        Section(
            1,
            TIME,
            {"r1": TUNE, "l1": TUNE_LEFT},
            {
                "all": "1 segno; 16 tocoda",
                "P1": "1 mf; 7 < 8; 8 f; 9 mf; 13 < 14+1; 15 f",
            },
        ),
        Section(
            1,
            TIME,
            {
                "r1": join(TUBA_RIGHT, G.figure("F4.A4.B4 | G4.B4.E5 ", *OFFBEAT)),
                "l1": join(TUBA, G.voice("B3e( A3 F3 D#3) | E3q!a B2q!a")),
            },
            {
                "all": "1 |:; 15 ending 1 start; 16 ending 1 stop; 16 :|",
                "P1": "1 p; 1 words 2:il basso marcato; 8 mf; 9 p; 11 < 13; 13 mf",
            },
        ),
        Section(
            1,
            TIME,
            {
                "r1": G.voice("-e F4+A4+C5!s - F4+A4+C5!s | -e F4+A4+C5!s -q"),
                "l1": G.voice("D3q.( E3e) | F3e!s D3!s C3!s A2!s"),
            },
            {"all": "1 ending 2 start; 2 ending 2 stop", "P1": "1 < 2+1.5; 1 mp"},
        ),
        Section(
            1,
            TIME,
            {"r1": RUNNING, "l1": RUNNING_LEFT},
            {
                "P1": "1 f; 1 words brillante; 9 mf; 13 < 15; 15 f",
                "all": "16 ||",
            },
        ),
        Section(
            0,
            TIME,
            {
                "r1": join(TRIO, C.voice("E4+C5q -e *D#5e G4+E5e")),
                "l1": join(TRIO_LEFT, C.figure("C3.E3.G3", "0e 2 1 2")),
            },
            {
                "all": "1 tempo Trio. Poco meno mosso q=88; 1 |:; 16 ending 1 start; 16 ending 1 stop; 16 :|",
                "P1": "1 p; 1 words cantabile; 5 < 6+1; 6+1 > 8; 13 mf; 15 > 16; 16 p",
            },
        ),
        Section(
            0,
            TIME,
            {"r1": C.voice("E4+C5h"), "l1": C.voice("C3e!s G2!s E2!s C2!s")},
            {
                "all": "1 ending 2 start; 1 ending 2 stop; 1 ||",
            },
        ),
        Section(
            0,
            TIME,
            {"r1": EPISODE_RIGHT, "l1": EPISODE_LEFT},
            {
                "P1": "1 mp; 1 words 2:marcato il canto; 7 < 8+1; 9 mf; 9 < 14; 14 f",
                "all": "16 ||",
            },
        ),
        Section(
            1,
            TIME,
            {"r1": right, "l1": left},
            {
                "all": "1 tempo Tempo I q=100; 8 dalsegno",
                "P1": "1 mp; 3 mf; 5 < 7; 7 f; 8 words ^a piacere",
            },
        ),
        Section(
            1,
            TIME,
            {"r1": CODA_RIGHT, "l1": CODA_LEFT},
            {
                "all": "1 coda; 14 |.",
                "P1": "1 f; 5 mp; 5 < 9; 9 f; 10 mf; 10 < 13; 13 ff",
            },
        ),
    )


def piece() -> Piece:
    """The piece."""
    return Piece(
        "harbour-band.musicxml",
        "The Harbour Band",
        "Polka for piano",
        COMPOSER,
        "",
        (piano("P1"),),
        sections(),
    )
