"""The Last Ferry: a song in F major for voice and piano; three verses in a repeat, a storm, a return."""

from typing import Final

from composing.notation import Voice, join
from composing.piece import Piece, Section, reader
from composing.scenario import COMPOSER, POET, VOICE, piano

TIME: Final = (3, 4)
F: Final = reader(-1, TIME)  # D minor of the storm has the same signature

FLOW: Final = "0e 1 2 3 2 1"

# ---- the sung line ----------------------------------------------------------

VERSE: Final = F.voice("""
    F4q. G4e A4q | C5q A4 F4    | G4q. A4e Bb4q | A4h A4q
  | D5q. C5e Bb4q | C5q. A4e F4q | G4q A4 Bn4   | C5h C5q
  | C#5q. D5e E5q | F5q. E5e D5q | D5q. C5e Bb4q | C5h C5q
  | A4q. Bb4e C5q | D5q. C5e Bb4q | G4q. A4e Bb4q | A4h C5q""")
REFRAIN: Final = F.voice("""
    F5q. E5e C5q | D5q. C5e A4q | Bb4q. C5e D5q | C5h C5q
  | A4q Bb4 C5   | D5q C5 Bb4   | A4q. G4e E4q  | F4h.""")
STORM: Final = F.voice("""
    D5q. E5e F5q  | E5q. D5e C#5q | D5q. Bb4e G4q | A4h A4q
  | Bb4q. C5e D5q | C5q. Bb4e G4q | A4q. Bb4e C5q | C5h C5q
  | F5q. E5e D5q  | E5q. D5e C5q  | D5q. C5e Bb4q | C#5h E5q
  | D5q. E5e F5q  | E5q. D5e Bb4q | C#5q. D5e E5q | D5h.""")

DAWN: Final = F.voice("""
    A4q. A4e A4q  | B4q. A4e G4q | A4q. F4e D4q | E4h E4q
  | F4q. G4e A4q  | B4q. A4e G4q | G4q. F4e E4q | A4h A4q
  | B4q. C5e D5q  | C5q. A4e F4q | C5q. D5e E5q | F5h C5q
  | D5q. D5e C5q  | B4q. A4e G4q | A4q. G4e E4q | F4h.""")

VERSES: Final = {
    1: """last of the fer- ries is loos- ing her line, the lamps on the wa- ter are trem- bling like wine, and
          some- one is wav- ing a hat from the pier, a word on the wind that I al- most can hear. Go""",
    2: """ba- ker has shut- tered the shop on the square, the smell of to- mor- row's bread hangs in the air,
          the gulls on the chim- neys are fold- ing their wings, and out on the break- wa- ter some- bo- dy
          sings. Go""",
    3: """fa- ther rowed o- ver when he was a boy, a let- ter, a lan- tern, a small wood- en toy, and
          told me the har- bour is on- ly a door that o- pens as wide on the op- po- site shore. Go""",
}
REFRAIN_WORDS: Final = """
    soft- ly, go soft- ly, the tide's on the turn, and leave at the rail one small lan- tern to burn."""
STORM_WORDS: Final = """
    once in No- vem- ber the har- bour was white, the bell on the sand- bank rang all through the night,
    the ropes and the rail- ings were whips in the spray, and none of us slept till the break- ing of day."""
DAWN_WORDS: Final = """
    dawn there were oars on the shin- gle like bones, and wo- men stood count- ing the masts from the stones;
    then one af- ter one out of cloud they came through, as white as the gulls, and all hands of the crew."""
LAST_VERSE: Final = """
    last of the fer- ries is small as a star, her wake is a rib- bon that shows where we are,
    and all of the win- dows are dark but for one, where some- one is wait- ing till sing- ing is done. Go"""

# ---- what the piano makes of it ----------------------------------------------------------

REFRAIN_RIGHT: Final = F.voice("""
    F5q.( E5e C5q) | D5q.( C5e A4q) | Bb4q.( C5e D5q) | C5h.
  | A4q( Bb4 C5)   | D5q( C5 Bb4)   | A4q.( G4e E4q)  | C4+F4h -q""")
REFRAIN_INNER: Final = F.voice("""
    A4h. | F4h. | G4h. | E4q F4 G4 | F4h. | F4h. | F4h C4q""")
REFRAIN_LEFT: Final = F.figure(
    """
    F2.C3.F3.A3 | D2.A2.D3.F3 | G2.D3.G3.B3 | C3.G3.B3.C4
  | F2.C3.Eb3.A3 | B2.F3.B3.D4 | = C3e F3 A3 C4 B3 G3 | = F2e C3 F3 A3 C4q""",
    FLOW,
)

VERSE_RIGHT: Final = F.figure(
    """
    A3.C4.F4 | A3.C4.F4 | G3.B3.E4 | A3.C4.F4 | B3.D4.F4 | A3.C4.F4 | Bn3.D4.F4 | C4.E4.G4
  | C#4.E4.G4/1 | D4.F4.A4/1 | D4.G4.B4/1 | E4.G4.B4/1
  | C4.F4.A4/1 | D4.F4.B4/1 | C4.E4.B4/1 | C4.F4.A4/1""",
    "-e 0 1 2 1 0",
    "-q 0+1+2 0+1+2",
)
VERSE_LEFT: Final = F.figure(
    """
    F2.C3 | A2.C3 | C3.G2 | F2.C3 | B2.F3 | A2.F3 | G2.D3 | C3.G2
  | A2.E3.A3/1 | D2.A2.D3/1 | G2.D3.G3/1 | C3.G3.C4/1 | F2.C3.F3/1 | B2.F3.B3/1 | C3.G3.B3/1 | F2.C3.F3/1""",
    "0h 1q",
    "0q 1 2",
)

STORM_RIGHT: Final = F.figure(
    """
    D4.F4.A4.D5  | C#4.E4.G4.A4 | D4.F4.B4.D5 | C#4.E4.A4.C#5
  | D4.G4.B4.D5  | E4.G4.B4.C5  | F4.A4.C5.F5 | F4.A4.C5.Eb5
  | F4.B4.D5.F5  | E4.A4.C5.E5  | D4.G4.B4.D5 | C#4.E4.A4.C#5
  | D4.F4.A4.D5  | E4.G4.B4.D5  | C#4.E4.G4.A4 | D4.F4.A4.D5""",
    "0s 1 2 3 2 1 0 1 2 3 2 1",
)
STORM_LEFT: Final = F.figure(
    """
    D2.D3 | C#2.C#3 | B1.B2 | A1.A2 | G1.G2 | E2.E3 | F2.F3 | Eb2.Eb3
  | D2.D3 | C2.C3 | B1.B2 | A1.A2 | D2.D3 | G1.G2 | A1.A2 | D2.D3""",
    "0+1q. 0+1e 0+1q",
)

BRIDGE_RIGHT: Final = join(
    F.runs("D6 | B5 | G5", "0 -1 -2 -3 -4 -5 -6 -7 -6 -5 -4 -3"),
    F.runs(
        """F4 | B4 | G4 | = C#5s D5 E5 F5 G5 A5 B5 A5 G5 F5 E5 D5 | = C#5s E5 G5 B5 A5q!a -q!f""",
        "0 1 2 3 4 5 6 7 6 5 4 3",
    ),
)
BRIDGE_LEFT: Final = F.figure(
    """
    D2.D3 | G1.G2 | C2.C3 | F2.F3 | B1.B2 | G1.G2 | A1.A2 | = A1+A2q A2+G3+C#4!a -!f""",
    "0+1q. 0+1e 0+1q",
)

DAWN_RIGHT: Final = F.voice("""
    F4+A4+D5h. | G4+B4+D5h. | F4+A4+D5h. | E4+G4+A4h. | F4+A4+D5h. | G4+B4+D5h. | E4+G4+B4h. | E4+A4+C#5h.
  | F4+B4+D5h D5q | F4+A4+C5h C5q | G4+B4+E5h E5q | A4+C5+F5h C5q
  | F4+B4+D5h D5q | G4+B4+D5h D5q | E4+G4+C5h C5q | F4+A4+C5h.""")
DAWN_LEFT: Final = F.figure(
    """
    D2.D3/0 | D2.D3/0 | D2.D3/0 | C#2.C#3/0 | F2.F3/0 | G2.G3/0 | G2.G3/0 | A2.A3/0
  | B2.F3.B3.D4/1 | A2.C3.F3.A3/1 | G2.C3.E3.B3/1 | F2.C3.F3.A3/1
  | B2.F3.B3.D4/1 | G2.D3.G3.B3/1 | C3.G3.B3.C4/1 | F2.C3.F3.A3/1""",
    "0e 1 0 1 0 1",
    FLOW,
)

RETURN_RIGHT: Final = F.voice("""
    C5+A5q.( B4+G5e A4+F5q) | A4+F5q( C5+A5 A4+F5) | B4+E5q.( C5+F5e D5+G5q) | C5+F5h A4+F5q
  | D5+F5q.( C5+E5e B4+D5q) | C5+F5h A4+C5q | D5+F5q( C5+E5 F4+D5) | G4+E5h G4+B4q
  | G4+E5q.( F5e G5q) | F5+A5q.( E5+G5e D5+F5q) | B4+G5q.( A4+F5e G4+D5q) | B4+E5q( D5 C5)
  | A4+F5q.( G5e A5q) | F5+B5q.( A5e F5q) | B4+E5q( F5 G5) | A4+C5+F5h -q""")


def doubled_refrain() -> Voice:
    """The last refrain: the right hand in octaves."""
    return F.voice("""
    F4+A4+F5q.( E4+E5e C4+C5q) | D4+F4+D5q.( C4+C5e A3+A4q) | G4+B4q.( A4+C5e B4+D5q) | E4+G4+C5h B4q
  | F4+A4q( G4+B4 A4+C5) | F4+B4+D5q B4+F5!f F4+D5 | F4+A4q.( E4+G4e B3+E4q) | A3+C4+F4h -q""")


ECHO_RIGHT: Final = F.voice("C5q.( B4e A4q) | G4q.( A4e B4q) | A4q( G4 E4) | F4h -q")
ECHO_LEFT: Final = F.voice("-m | -m | -q C3+B3 C3+B3 | F2+C3+A3h -q")


def sections() -> tuple[Section, ...]:
    """The song from end to end."""
    intro = Section(
        -1,
        TIME,
        {
            "v": F.voice("-m|-m|-m|-m|-m|-m|-m|-h C4q"),
            "r1": REFRAIN_RIGHT,
            "r2": REFRAIN_INNER,
            "l1": REFRAIN_LEFT,
        },
        {
            "all": "1 tempo Moderato, rocking q=112",
            "P2": """1 p; 3 < 5; 5 mp; 6 > 8; 8 p""",
        },
        {"v": {1: "1.~The"}},
    )
    verse = Section(
        -1,
        TIME,
        {"v": VERSE, "r1": VERSE_RIGHT, "l1": VERSE_LEFT},
        {
            "all": "1 |:",
            "P1": "1 mp; 9 < 10+1; 10+1 mf; 14 > 16",
            "P2": "1 p; 9 < 10; 10 mp; 14 > 16; 16 p",
        },
        {"v": VERSES},
    )
    refrain = Section(
        -1,
        TIME,
        {
            "v": REFRAIN,
            "r1": REFRAIN_RIGHT,
            "r2": REFRAIN_INNER,
            "l1": REFRAIN_LEFT,
        },
        {
            "P1": "1 mf; 4 > 5; 5 p; 6+2 words rit. @92; 8 words a tempo @112",
            "P2": "1 mf; 4 > 5; 5 p",
        },
        {"v": {1: REFRAIN_WORDS}},
    )
    back = Section(
        -1,
        TIME,
        {
            "v": F.voice("-m|-m|-m|-h C4q"),
            "r1": ECHO_RIGHT,
            "l1": ECHO_LEFT,
        },
        {
            "all": "1 ending 1,2 start; 4 ending 1,2 stop; 4 :|3",
            "P2": "1 pp; 1 words dolce",
        },
        {"v": {2: "2.~The", 3: "3.~My"}},
    )
    onward = Section(
        -1,
        TIME,
        {
            "v": F.voice("-m|-m"),
            "r1": F.voice("C5q.( B4e A4q) | G4q.( F4e E4q)"),
            "r2": F.voice("F4h. | C4h."),
            "l1": F.voice("F2q C3 F3 | G2q B2 C3"),
        },
        {"all": "1 ending 3 start; 2 ending 3 discontinue; 2 ||", "P2": "1 p; 1 > 2+2"},
    )
    interlude = Section(
        -1,
        TIME,
        {
            "v": F.voice("-m|-m|-m|-m|-m|-m|-m|-h A4q"),
            "r1": F.voice("F5q.( E5e C5q) | D5q.( C5e A4q) | B4q.( A4e G4q) | A4h.~ | A4h. | -m | -m | -m"),
            "l1": F.voice(
                "-m | -m | -m | -q F3 E3 | D3q.( C3e A2q) | B2q.( A2e F2q) | G2q.( F2e E2q) | A2h.!f"
            ),
        },
        {
            "P2": "1 p; 1 words solo, quasi parlando; 5 < 7; 8 mf",
        },
        {"v": {1: "But"}},
    )
    storm = Section(
        -1,
        TIME,
        {"v": STORM, "r1": STORM_RIGHT, "l1": STORM_LEFT},
        {
            "all": "1 tempo Più mosso, stormy q=132",
            "P1": "1 f; 5 mf; 5 < 9; 9 f; 13 ff",
            "P2": "1 f; 5 mf; 5 < 9; 9 f; 13 ff",
        },
        {"v": {1: STORM_WORDS}},
        mode="minor",
    )
    bridge = Section(
        -1,
        TIME,
        {
            "v": F.voice("-m|-m|-m|-m|-m|-m|-m|-h A4q!f"),
            "r1": BRIDGE_RIGHT,
            "l1": BRIDGE_LEFT,
        },
        {
            "P2": "1 ff; 3 > 4; 4 mf; 4 < 7; 7 ff; 8+1 sfz",
        },
        {"v": {1: "At"}},
        mode="minor",
    )
    dawn = Section(
        -1,
        TIME,
        {"v": DAWN, "r1": DAWN_RIGHT, "l1": DAWN_LEFT},
        {
            "all": "1 tempo Più tranquillo q=100",
            "P1": "1 pp; 1 words ^quasi senza voce; 9 p; 9 < 12; 12 mf; 13 > 16",
            "P2": "1 pp; 9 p; 9 < 12; 12 mp; 13 > 16",
        },
        {"v": {1: DAWN_WORDS}},
        mode="minor",
    )
    homeward = Section(
        -1,
        TIME,
        {
            "v": F.voice("-m|-m|-m|-h C4q!f"),
            "r1": F.voice("-m | -m | -q E4+B4( F4+A4 | E4+G4h.)!f"),
            "l1": F.voice("C3q.( B2e A2q | G2q. A2e B2q) | C3h.~ | C3h.!f"),
        },
        {
            "all": "1 tempo Lento q=72",
            "P2": "1 p; 3 > 4; 4 pp",
        },
        {"v": {1: "The"}},
    )
    again = Section(
        -1,
        TIME,
        {
            "v": VERSE,
            "r1": RETURN_RIGHT,
            "l1": F.figure(
                """
            F2.C3.F3.A3 | A2.C3.F3.A3 | C3.G3.B3.C4 | F2.C3.F3.A3
          | B2.F3.B3.D4 | A2.F3.A3.C4 | G2.D3.F3.Bn3 | C3.G3.C4.E4
          | A2.E3.G3.C#4 | D3.A3.D4.F4 | G2.D3.G3.B3 | C3.G3.B3.C4
          | F2.C3.F3.A3 | B2.F3.B3.D4 | C3.G3.B3.E4 | F2.C3.F3.A3""",
                FLOW,
            ),
        },
        {
            "all": "1 tempo Tempo I q=112",
            "P1": "1 p; 9 < 10+1; 10+1 mf; 14 > 16",
            "P2": "1 pp; 9 < 10; 10 mp; 14 > 16; 16 p",
        },
        {"v": {1: LAST_VERSE}},
    )
    farewell = Section(
        -1,
        TIME,
        {
            "v": join(REFRAIN[:5], F.voice("D5q F5!f D5 | A4q. G4e E4q | F4h C5q")),
            "r1": doubled_refrain(),
            "l1": join(REFRAIN_LEFT[:5], F.voice("B2e F3 B3q!f B3 | C3e F3 A3 C4 B3 G3 | F2e C3 F3 A3 C4q")),
        },
        {
            "P1": "1 f; 4 > 5; 5 mp; 5 < 6+1; 6+1 f; 7 > 8; 7 words ritenuto @84; 8 words a tempo @104",
            "P2": "1 f; 4 > 5; 5 mp; 5 < 6+1; 7 > 8",
        },
        {"v": {1: REFRAIN_WORDS + " go"}},
    )
    coda = Section(
        -1,
        TIME,
        {
            "v": F.voice(
                "D5q. C5e C5q | C5q. A4e A4q | G4q. A4e E4q | F4h.~ | F4h.~ | F4h. | -m|-m|-m|-m|-m|-m"
            ),
            "r1": F.voice("""
            F4+B4h. | F4+A4h. | E4h B3q | C4q.( A4e C5q | F5q. E5e C5q | D5q. C5e A4q
          | C5q. B4e A4q | G4q. A4e B4q) | A4h. | -q C5+F5 A4+C5 | C6+F6h.~ | C6+F6h.!f"""),
            "l1": F.figure(
                """
            F2.D3.F3.B3 | F2.C3.F3.A3 | F2.C3.G3.B3 | = F2h. | F2.C3.F3.A3 | D2.A2.D3.F3
          | F2.C3.F3.A3 | C3.G3.B3.C4 | F2.C3.F3.A3 | = F2q C3 A3 | = F4+A4h.~ | = F4+A4h.!f""",
                FLOW,
            ),
        },
        {
            "all": "9 words poco a poco ritardando @96; 10 words morendo @76; 12 |.",
            "P1": "1 p; 4 > 6+2",
            "P2": "1 p; 4 words dolce; 7 > 9; 10 pp; 11 ppp; 11 clef 2 treble",
        },
        {"v": {1: "soft- ly, go soft- ly, one lan- tern to burn."}},
    )
    return (
        intro,
        verse,
        refrain,
        back,
        onward,
        interlude,
        storm,
        bridge,
        dawn,
        homeward,
        again,
        farewell,
        coda,
    )


def piece() -> Piece:
    """The piece."""
    return Piece(
        "harbour-song.musicxml",
        "The Last Ferry",
        "Song for the harbour evening",
        COMPOSER,
        POET,
        (VOICE, piano("P2")),
        sections(),
    )
