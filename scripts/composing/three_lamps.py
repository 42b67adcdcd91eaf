"""Three Lamps: a duet for school choir and piano in G major, a verse each in Czech, French and Polish."""

from typing import Final

from composing.piece import Piece, Section, reader
from composing.scenario import ALTO, COMPOSER, POET, SOPRANO, piano

TIME: Final = (3, 4)
G: Final = reader(1, TIME)

HIGH: Final = G.voice("""
    B4h A4q | G4h D5q | C5h B4q | A4h.!b | B4h C5q | D5h G5q | F5h E5q | D5h.
  | E5h D5q | C5h E5q | D5h C5q | B4h. | A4h B4q | C5h A4q | G4h F4q | G4h.""")
LOW: Final = G.voice("""
    -m | -m | -m | -m | G4h A4q | B4h B4q | A4h G4q | F4h.
  | C5h B4q | A4h C5q | B4h A4q | G4h. | E4h G4q | F4h D4q | D4h C4q | B3h.""")
CZECH: Final = (
    "Ti- chá vo- da, loď už spí,",
    "svět- lo v_ok- ně ješ- tě bdí; lam- pář cho- dí po- dél vln, pří- bě- hů je pří- stav pln.",
)
FRENCH: Final = (
    "L'eau se tait, la bar- que dort,",
    "u- ne lam- pe veil- le_au port; l'al- lu- meur s'en va, lé- ger, où le cœur vient se ber- cer.",
)
POLISH: Final = (
    "Ci- cha wo- da, łódź już śpi,",
    "świa- tło w_ok- nie jesz- cze lśni; stróż la- tar- ni ci- cho gra,"
    " a noc w_gwiaz- dach błysz- czy, trwa.",
)
VERSES: Final = (CZECH, FRENCH, POLISH)

BOX: Final = ("0e 1 2 1 2 1", "0e 1 2 1", "0e 2")
RIGHT: Final = G.figure(
    """
    B4.D5.G5 | B4.E5.G5 | C5.E5.A5 | A4.D5.F5 | B4.D5.G5 | B4.D5.G5 | A4.D5.F5:h A4.C#5.G5:q | A4.D5.F5
  | C5.E5.G5 | C5.E5.A5 | B4.D5.G5 | B4.E5.G5 | A4.C5.E5 | A4.C5.F5 | B4.D5.G5:h A4.C5.F5:q | B4.D5.G5""",
    *BOX,
)
LEFT: Final = G.figure(
    """
    G2.D3.B3 | E2.B2.G3 | A2.E3.C4 | D2.A2.F3 | G2.D3.B3 | B2.D3.G3 | = A2q D3+F3 C#3+G3 | D2.A2.F3
  | C3.E3.G3 | A2.E3.C4 | B2.D3.G3 | E2.B2.G3 | A2.E3.C4 | D2.A2.F3 | = D3q G3+B3 F3+C4 | G2.D3.B3""",
    "0q 1+2h",
)

BELLS_HIGH: Final = G.voice("D5h. | B4h. | E5h. | C5h. | B4h. | A4h. | G4h.~ | G4h.")
BELLS_LOW: Final = G.voice("-q G4h | -q G4h | -q G4h | -q E4h | -q D4h | -q F4h | D4h.~ | D4h.")
BELL_WORDS: Final = "bim, bam, bim, bam, bim, bam, bim."
BELLS_RIGHT: Final = G.figure(
    "B4.D5.G5 | B4.E5.G5 | C5.E5.G5 | C5.E5.A5 | B4.D5.G5 | A4.C5.F5 | B4.D5.G5 | = B4e D5 G5q -q", *BOX
)
BELLS_LEFT: Final = G.figure(
    "G2.D3.B3 | E2.B2.G3 | C3.E3.G3 | A2.E3.C4 | D3.G3.B3 | D3.F3.C4 | G2.D3.B3 | = G2h.", "0q 1+2h"
)


def words(line: int) -> dict[int, str]:
    """The first line (0) of each verse, or the others (1)."""
    return {number: verse[line] for number, verse in enumerate(VERSES, 1)}


def sections() -> tuple[Section, ...]:
    """The duet from end to end."""
    all_lines = {number: f"{number}.~{' '.join(verse)}" for number, verse in enumerate(VERSES, 1)}
    return (
        Section(
            1,
            TIME,
            {
                "s": G.voice("-m|-m|-m|-m"),
                "a": G.voice("-m|-m|-m|-m"),
                "r1": BELLS_RIGHT[4:],
                "l1": BELLS_LEFT[4:],
            },
            {
                "all": "1 tempo Andantino q=104",
                "P3": "1 p; 1 words like a musical box",
            },
        ),
        Section(
            1,
            TIME,
            {"s": HIGH, "a": LOW, "r1": RIGHT, "l1": LEFT},
            {
                "all": "1 |:",
                "P1": "1 p; 5 < 7; 7 mf; 9 mp; 13 > 16",
                "P2": "5 p; 5 < 7; 9 mp; 13 > 16",
                "P3": "1 p; 5 < 7; 9 mp; 13 > 16",
            },
            {"s": all_lines, "a": words(1)},
        ),
        Section(
            1,
            TIME,
            {"s": BELLS_HIGH, "a": BELLS_LOW, "r1": BELLS_RIGHT, "l1": BELLS_LEFT},
            {
                "all": "8 :|3",
                "P1": "1 mf; 5 > 8",
                "P2": "1 mp; 5 > 8",
                "P3": "1 mp; 5 > 8",
            },
            {"s": {1: BELL_WORDS}, "a": {1: BELL_WORDS}},
        ),
        Section(
            1,
            TIME,
            {
                "s": G.voice("-m | -m | B4h.~ | B4h.!f"),
                "a": G.voice("-m | -m | G4h.~ | G4h.!f"),
                "r1": G.figure("B4.D5.G5 | C5.E5.G5 | B4.D5.G5 | = G5+B5+D6h.!f", *BOX),
                "l1": G.figure("G2.D3.B3 | G2.E3.C4 | G2.D3.B3 | = G2+D3h.!f", "0q 1+2h"),
            },
            {
                "all": "1 words poco rit. @92; 4 |.",
                "P3": "1 p; 3 pp",
                "P1": "3 pp",
                "P2": "3 pp",
            },
            {"s": {1: "bim."}, "a": {1: "bim."}},
        ),
    )


def piece() -> Piece:
    """The duet."""
    return Piece(
        "three-lamps.musicxml",
        "Three Lamps",
        "Tři lampy · Trois lampes · Trzy lampy",
        COMPOSER,
        POET,
        (SOPRANO, ALTO, piano("P3")),
        sections(),
    )
