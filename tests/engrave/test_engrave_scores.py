"""Whole scores: what stands in the files comes out in the display lists."""

from collections import Counter
from collections.abc import Callable
from pathlib import Path as File

import pytest
from lxml import etree

from optimizer.engrave.model import Glyph, Text
from optimizer.errors import QuietleafError
from optimizer.score import load_file

NOTEHEADS = {"E0A2", "E0A3", "E0A4"}  # SMuFL: whole, half, black
# One file for each kind of shape the library draws.
CONFORMANCE = (
    "01f-Pitches-ParenthesizedMicrotoneAccidentals.xml",
    "11h-TimeSignatures-SenzaMisura.xml",
    "22a-Noteheads.xml",
    "23a-Tuplets.xml",
    "31a-Directions.xml",
    "31c-MetronomeMarks.xml",
    "32a-Notations.xml",
    "32d-Arpeggio.xml",
    "33a-Spanners.xml",
    "33d-Spanners-OctaveShifts.xml",
    "41d-StaffGroups-Nested.xml",
    "41g-PartNoId.xml",
    "46a-Barlines.xml",
    "61b-MultipleLyrics.xml",
    "61j-Lyrics-Elisions.xml",
    "71f-AllChordTypes.xml",
    "74a-FiguredBass.xml",
)


def test_noteheads_and_syllables_of_a_song(sample: Callable, corpora: File) -> None:
    """Every written note has a head; every syllable stands once under its note."""
    root = etree.parse(corpora / "harbour-song.musicxml").getroot()
    items = [item for system in sample("harbour-song").engraved.systems for item in system.items]
    heads = sum(1 for item in items if isinstance(item, Glyph) and item.name in NOTEHEADS)
    assert heads == sum(1 for note in root.iter("note") if note.find("rest") is None)
    drawn = Counter(item.string.strip() for item in items if isinstance(item, Text))
    # the library sets a verse number apart from its syllable
    written = Counter(
        word for lyric in root.iter("lyric") for word in lyric.findtext("text", "").split("\xa0")
    )
    assert written
    assert not written - drawn


def test_letters_of_all_of_europe(engrave_text: Callable) -> None:
    """Sources: the alphabets themselves (from memory)."""
    syllables = ["äöüßéèç", "ñőűłşč", "řžåøæþð", "„“’–ę", "ġħĳŋśŧůŵź", "șțơ"]
    notes = "".join(
        "<note><pitch><step>C</step><octave>5</octave></pitch><duration>1</duration><type>quarter</type>"
        f"<lyric><syllabic>single</syllabic><text>{text}</text></lyric></note>"
        for text in syllables
    )
    head = "<attributes><divisions>1</divisions><clef><sign>G</sign><line>2</line></clef></attributes>"
    sample = engrave_text(f'<measure number="1">{head}{notes}</measure>')
    drawn = {
        item.string for system in sample.engraved.systems for item in system.items if isinstance(item, Text)
    }
    assert set(syllables) <= drawn


@pytest.mark.parametrize("name", CONFORMANCE)
def test_conformance(engrave_root: Callable, shared_data: File, name: str) -> None:
    """W3C-style conformance files (MIT, see data/README.md): each is drawn with no shape left out."""
    sample = engrave_root(load_file(shared_data / "conformance" / "xmlFiles" / name).root)
    assert all(system.items for system in sample.engraved.systems)
    assert sum(system.last - system.first + 1 for system in sample.engraved.systems) == len(
        sample.measured.bars
    )


def test_a_score_without_bars_is_refused(engrave_text: Callable) -> None:
    with pytest.raises(QuietleafError, match="score"):
        engrave_text("")
