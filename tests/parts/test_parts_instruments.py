"""Families of instruments, and what takes the hands before a note."""

import inspect
from dataclasses import replace
from pathlib import Path

import pytest
from lxml import etree

from optimizer.errors import UsageError
from optimizer.parts.instruments import busy, known_instruments, player_of
from optimizer.score.load import ScoreFile
from optimizer.score.model import Score
from optimizer.score.read import score_from
from optimizer.settings import Hands, Settings
from optimizer.turns import barline_costs
from optimizer.turns.hands import BOTH, LEFT, RIGHT
from optimizer.turns.model import Grade

QUARTER = (
    "<note><pitch><step>C</step><octave>4</octave></pitch><duration>1</duration><type>quarter</type></note>"
)
PLAYED = QUARTER * 4
REST = '<note><rest measure="yes"/><duration>4</duration></note>'
# Bars of 4/4 in which quarters last a second.
START = (
    "<attributes><divisions>1</divisions><time><beats>4</beats><beat-type>4</beat-type></time></attributes>"
    '<sound tempo="60"/>'
)


def words(text: str) -> str:
    return f"<direction><direction-type><words>{text}</words></direction-type></direction>"


def read(name: str, *bars: str, sound: str = "") -> tuple[ScoreFile, Score]:
    """A score of one part."""
    instrument = (
        f'<score-instrument id="I1"><instrument-name>{name}</instrument-name>'
        f"<instrument-sound>{sound}</instrument-sound></score-instrument>"
        if sound
        else ""
    )
    measures = "".join(
        f'<measure number="{number}">{START if number == 1 else ""}{bar}</measure>'
        for number, bar in enumerate(bars, 1)
    )
    text = (
        f'<score-partwise><part-list><score-part id="P1"><part-name>{name}</part-name>{instrument}'
        f'</score-part></part-list><part id="P1">{measures}</part></score-partwise>'
    )
    file = ScoreFile(Path("part.musicxml"), "", etree.fromstring(text))
    return file, score_from(file)


def stretches(name: str, *bars: str) -> list[tuple[float, float]]:
    file, score = read(name, *bars)
    return [(one.end_s - one.taken_s, one.end_s) for one in busy(file.root, score, 0, known_instruments())]


def test_families_are_those_of_the_instruments() -> None:
    """Against music21's classes and the standard sounds (W3C sounds.xml) that it gives them."""
    instrument = pytest.importorskip("music21.instrument")
    families = {
        "voices": (instrument.Vocalist,),
        "plucked": (
            instrument.Harp, instrument.Guitar, instrument.Lute, instrument.Banjo, instrument.Mandolin,
            instrument.Ukulele, instrument.Koto, instrument.Shamisen, instrument.Sitar, instrument.Dulcimer,
        ),
        "percussion": (instrument.Percussion,),
        "strings": (instrument.StringInstrument,),
        "woodwind": (instrument.WoodwindInstrument,),
        "brass": (instrument.BrassInstrument,),
        "keyboards": (instrument.KeyboardInstrument,),
    }  # fmt: skip
    checked = 0
    for _, kind in inspect.getmembers(instrument, inspect.isclass):
        if not issubclass(kind, instrument.Instrument) or kind is instrument.Conductor:
            continue
        family = next((name for name, kinds in families.items() if issubclass(kind, kinds)), None)
        one = kind()
        if family is None or not one.instrumentSound:
            continue
        nameless, its = read("Part", PLAYED, sound=one.instrumentSound)
        assert known_instruments().family(nameless.root, its.parts[0]).name == family, one.instrumentSound
        checked += 1
    assert checked > 70


@pytest.mark.parametrize(
    ("name", "family"),
    [
        ("Bass Clarinet", "woodwind"), ("English Horn", "woodwind"), ("Cor anglais", "woodwind"),
        ("French Horn", "brass"), ("Bass Trombone", "brass"), ("Contrabassoon", "woodwind"),
        ("Contrabass", "strings"), ("Double Bass", "strings"), ("Bass Drum", "percussion"),
        ("Bass Guitar", "plucked"), ("Harpsichord", "keyboards"), ("Harp", "plucked"), ("Bratsche", "strings"),
        ("Posaune", "brass"), ("Pauken", "percussion"), ("Solo Violin", "strings"), ("Alto Saxophone", "woodwind"),
        ("Soprano", "voices"), ("Bass", "voices"),
    ],
)  # fmt: skip
def test_families_by_name(name: str, family: str) -> None:
    """Names of the trade."""
    file, score = read(name, PLAYED)
    assert known_instruments().family(file.root, score.parts[0]).name == family


@pytest.mark.parametrize(
    ("name", "asked", "seconds"),
    [
        ("Violin", "con sord.", 3), ("Violine", "mit Dämpfer", 3), ("Violon", "avec sourdine", 3),
        ("Trumpet", "con sordino", 4), ("Violin", "pizz.", 0.5), ("Flute", "muta in Piccolo", 6),
        ("Clarinet in B flat", "change to A Clarinet", 6), ("Percussion", "to Triangle", 3),
        ("Flute", "pizz.", 0), ("Piano", "con sord.", 0), ("Violin", "arco", 0), ("Violin", "senza sord.", 0),
        ("Oboe", "cantabile", 0),
    ],
)  # fmt: skip
def test_changes_take_time_before_the_next_note(name: str, asked: str, seconds: float) -> None:
    """Who plays without a mute, with the bow, has nothing to change to that; times are common practice, no source."""
    found = stretches(name, PLAYED, REST, REST, words(asked) + PLAYED)
    assert found == ([(pytest.approx(12 - seconds), 12)] if seconds else [])


def test_a_reminder_takes_no_time_and_the_way_back_does() -> None:
    found = stretches(
        "Viola", words("pizz.") + PLAYED, REST, words("pizz.") + PLAYED, REST, words("arco") + PLAYED
    )
    assert found == [(pytest.approx(15), 16)]


def test_a_change_takes_no_more_than_the_rest_there_is() -> None:
    short = QUARTER * 2 + "<note><rest/><duration>2</duration></note>"
    assert stretches("Flute", short, words("muta in Piccolo") + PLAYED) == [(pytest.approx(2), 4)]
    assert stretches("Flute", PLAYED, words("muta in Piccolo") + PLAYED) == []


def test_the_change_is_announced_before_the_rest() -> None:
    """As is usual: the words stand where the player stops."""
    assert stretches("Flute", PLAYED, words("muta in Piccolo") + REST, REST, PLAYED) == [
        (pytest.approx(6), 12)
    ]


def test_other_instruments_of_notes_are_changes() -> None:
    """MusicXML 4.0: `<instrument>` in a note refers to one of the part's score-instruments."""

    def on(instrument: str) -> str:
        return PLAYED.replace("</duration>", f'</duration><instrument id="{instrument}"/>')

    assert stretches("Flute", on("flute"), REST, REST, on("piccolo")) == [(pytest.approx(6), 12)]
    assert stretches("Percussion", on("snare"), on("cymbal")) == []  # both stand there


def test_a_turn_in_the_rest_before_a_change_is_harder() -> None:
    bars = [PLAYED, PLAYED, REST, "{}" + PLAYED, PLAYED]
    easy_file, easy = read("Violin", *(bar.format("") for bar in bars))
    hard_file, hard = read("Violin", *(bar.format(words("con sord.")) for bar in bars))
    settings = Settings()
    free, taken = (
        barline_costs(score, player_of(file.root, score, settings), settings.turns)[2]
        for file, score in ((easy_file, easy), (hard_file, hard))
    )
    # 4 s of rest, 3 of which the mute takes.
    assert free.free_s == pytest.approx(3.0)
    assert taken.free_s == pytest.approx(1.0)
    assert taken.cost > free.cost
    assert taken.carry == free.carry  # nothing to remember but notes


def test_a_long_rest_has_time_for_the_change_and_the_turn() -> None:
    """Before the change or after it, as the page has it."""
    file, score = read("Violin", PLAYED, REST, REST, REST, words("con sord.") + PLAYED, PLAYED)
    player = player_of(file.root, score, Settings())
    costs = barline_costs(score, player, Settings().turns)
    assert [cost.grade for cost in costs[:4]] == [Grade.OPEN] * 4


@pytest.mark.parametrize(
    ("name", "hands"), [("Violin", (BOTH,)), ("Harp", (LEFT, RIGHT)), ("Piano", (LEFT, RIGHT))]
)
def test_hands_of_a_part_on_two_staves(name: str, hands: tuple[str, ...]) -> None:
    """A divided section reads two staves with one pair of hands; a harp and a piano have a staff for each."""
    lower = PLAYED.replace("</note>", "<staff>2</staff></note>")
    file, score = read(name, PLAYED + "<backup><duration>4</duration></backup>" + lower)
    assert player_of(file.root, score, Settings()).turning_hands == hands


def test_singers_have_free_hands() -> None:
    file, score = read("Soprano", PLAYED)
    assert player_of(file.root, score, Settings()).turning_hands == ()
    assert player_of(file.root, score, Settings(hands=Hands.TOGETHER)).turning_hands == (BOTH,)


def test_the_users_file_adds_and_replaces(tmp_path: Path) -> None:
    own = tmp_path / "own.toml"
    own.write_text(
        '[families.brass]\nnames = ["ophicl"]\n'
        '[[changes]]\nname = "mute on"\nof = "mute"\nto = "on"\nfamilies = ["strings"]\nseconds = 5\n'
        'words = ["con sord"]\n'
    )
    known = known_instruments(str(own))
    for name, family in (("Ophicleide", "brass"), ("Horn", "brass"), ("Viola", "strings")):
        file, score = read(name, PLAYED)
        assert known.family(file.root, score.parts[0]).name == family
    file, score = read("Viola", PLAYED, REST, REST, words("con sord.") + PLAYED)
    assert [one.taken_s for one in busy(file.root, score, 0, known)] == [pytest.approx(5)]
    settings = replace(Settings(), instruments=str(own))
    assert player_of(file.root, score, settings).busy == ((4, 12, 5),)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("families = 3", "families: has the wrong type"),
        ("[families.x]\nhands = 'three'", "together, two, free"),
        ("[[changes]]\nname = 'x'", "families is missing"),
        ("[[changes]]\nname = 'x'\nfamilies = ['brass']\nwords = ['x']\nseconds = -1", "seconds = -1"),
        ("[familys.x]", "familys: unknown"),
        ("[[changes]\n", "is not TOML"),
        ("[families.x]\nnames = [1]", "must be a list of words"),
    ],
)
def test_a_wrong_file_is_refused_in_one_line(tmp_path: Path, text: str, said: str) -> None:
    own = tmp_path / "own.toml"
    own.write_text(text)
    with pytest.raises(UsageError, match=said) as caught:
        known_instruments(str(own))
    assert str(own) in str(caught.value)
    assert "\n" not in str(caught.value)
    with pytest.raises(UsageError, match="cannot be read"):
        known_instruments(str(tmp_path / "none.toml"))


def test_every_change_has_a_reason() -> None:
    assert all("no source" in change.reason for change in known_instruments().changes)
