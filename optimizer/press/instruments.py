"""For whom a piece is written, as a title page says it: "for 2 violins, viola and cello"; and in which key.

In: a score or its parts, a language.  Out: one phrase.  Always true: a part is named in the language where its
name is one of the table's, in any of the five languages, and as in the file otherwise; a sung part that bears
an instrument's name (chosen for playback) is a voice.

Usage of each language is from memory.
"""

import re
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from optimizer.press.language import Counted, Words
from optimizer.score.model import Part, PartKind, Score


@dataclass(frozen=True, slots=True)
class Instrument:
    """An instrument in five languages, and other names it goes by. Voices need a part that sings: "alto" is also
    a French viola."""

    names: Counted
    others: tuple[str, ...] = ()
    kind: PartKind | None = None

    @property
    def all_names(self) -> frozenset[str]:
        """Every name, singular and plural, in small letters."""
        forms = (form for text in self.names.texts for form in text.split("|"))
        return frozenset(name.casefold() for name in (*forms, *self.others))


_VOICE: Final = Instrument(
    Counted("voice|voices", "Singstimme|Singstimmen", "voix|voix", "voz|voces", "sång|sångröster"),
    ("Gesang", "Stimme", "Canto", "Chant", "Vocal", "Vocals", "Voc.", "Singer", "Röst"),
    PartKind.VOICE,
)
_PIANO: Final = Instrument(
    Counted("piano|pianos", "Klavier|Klaviere", "piano|pianos", "piano|pianos", "piano|pianon"),
    ("Pianoforte", "Pno.", "Pf.", "Grand Piano", "Keyboard"),
)
INSTRUMENTS: Final = (
    _VOICE,
    _PIANO,
    Instrument(
        Counted(
            "solo voice|solo voices",
            "Solostimme|Solostimmen",
            "voix seule|voix seules",
            "voz solista|voces solistas",
            "solosång|solister",
        ),
        ("Solo",),
        PartKind.VOICE,
    ),
    Instrument(
        Counted(
            "soprano|sopranos", "Sopran|Soprane", "soprano|sopranos", "soprano|sopranos", "sopran|sopraner"
        ),
        kind=PartKind.VOICE,
    ),
    Instrument(
        Counted(
            "mezzo-soprano|mezzo-sopranos",
            "Mezzosopran|Mezzosoprane",
            "mezzo-soprano|mezzo-sopranos",
            "mezzosoprano|mezzosopranos",
            "mezzosopran|mezzosopraner",
        ),
        ("Mezzo",),
        PartKind.VOICE,
    ),
    Instrument(
        Counted(
            "alto|altos", "Alt|Altstimmen", "voix d’alto|voix d’alto", "contralto|contraltos", "alt|altar"
        ),
        kind=PartKind.VOICE,
    ),
    Instrument(
        Counted("tenor|tenors", "Tenor|Tenöre", "ténor|ténors", "tenor|tenores", "tenor|tenorer"),
        kind=PartKind.VOICE,
    ),
    Instrument(
        Counted(
            "baritone|baritones",
            "Bariton|Baritone",
            "baryton|barytons",
            "barítono|barítonos",
            "baryton|barytoner",
        ),
        kind=PartKind.VOICE,
    ),
    Instrument(
        Counted("bass|basses", "Bass|Bässe", "basse|basses", "bajo|bajos", "bas|basar"), kind=PartKind.VOICE
    ),
    Instrument(
        Counted("choir|choirs", "Chor|Chöre", "chœur|chœurs", "coro|coros", "kör|körer"),
        ("Chorus",),
        PartKind.VOICE,
    ),
    Instrument(
        Counted("violin|violins", "Violine|Violinen", "violon|violons", "violín|violines", "violin|violiner"),
        ("Violino", "Geige", "Vln.", "Vl.", "Vn."),
    ),
    Instrument(
        Counted("viola|violas", "Viola|Violen", "alto|altos", "viola|violas", "viola|violor"),
        ("Bratsche", "Vla.", "Altviolin"),
    ),
    Instrument(
        Counted(
            "cello|cellos",
            "Violoncello|Violoncelli",
            "violoncelle|violoncelles",
            "violonchelo|violonchelos",
            "cello|cellor",
        ),
        ("Violoncell", "Vc.", "Vlc."),
    ),
    Instrument(
        Counted(
            "double bass|double basses",
            "Kontrabass|Kontrabässe",
            "contrebasse|contrebasses",
            "contrabajo|contrabajos",
            "kontrabas|kontrabasar",
        ),
        ("Contrabass", "Contrabasso"),
    ),
    Instrument(
        Counted(
            "basso continuo|basso continuo",
            "Basso continuo|Basso continuo",
            "basse continue|basses continues",
            "bajo continuo|bajos continuos",
            "basso continuo|basso continuo",
        ),
        ("Continuo", "B. c.", "Generalbass"),
    ),
    Instrument(
        Counted("flute|flutes", "Flöte|Flöten", "flûte|flûtes", "flauta|flautas", "flöjt|flöjter"),
        ("Flauto", "Fl."),
    ),
    Instrument(
        Counted(
            "recorder|recorders",
            "Blockflöte|Blockflöten",
            "flûte à bec|flûtes à bec",
            "flauta dulce|flautas dulces",
            "blockflöjt|blockflöjter",
        ),
    ),
    Instrument(
        Counted("oboe|oboes", "Oboe|Oboen", "hautbois|hautbois", "oboe|oboes", "oboe|oboer"), ("Ob.",)
    ),
    Instrument(
        Counted(
            "clarinet|clarinets",
            "Klarinette|Klarinetten",
            "clarinette|clarinettes",
            "clarinete|clarinetes",
            "klarinett|klarinetter",
        ),
        ("Clarinetto", "Cl."),
    ),
    Instrument(
        Counted("bassoon|bassoons", "Fagott|Fagotte", "basson|bassons", "fagot|fagotes", "fagott|fagotter"),
        ("Fagotto",),
    ),
    Instrument(
        Counted(
            "saxophone|saxophones",
            "Saxophon|Saxophone",
            "saxophone|saxophones",
            "saxofón|saxofones",
            "saxofon|saxofoner",
        ),
    ),
    Instrument(
        Counted("horn|horns", "Horn|Hörner", "cor|cors", "trompa|trompas", "valthorn|valthorn"), ("Corno",)
    ),
    Instrument(
        Counted(
            "trumpet|trumpets",
            "Trompete|Trompeten",
            "trompette|trompettes",
            "trompeta|trompetas",
            "trumpet|trumpeter",
        ),
        ("Tromba",),
    ),
    Instrument(
        Counted(
            "trombone|trombones",
            "Posaune|Posaunen",
            "trombone|trombones",
            "trombón|trombones",
            "trombon|tromboner",
        ),
    ),
    Instrument(
        Counted("organ|organs", "Orgel|Orgeln", "orgue|orgues", "órgano|órganos", "orgel|orglar"), ("Organo",)
    ),
    Instrument(
        Counted(
            "harpsichord|harpsichords",
            "Cembalo|Cembali",
            "clavecin|clavecins",
            "clavecín|clavecines",
            "cembalo|cembali",
        ),
        ("Clavicembalo", "Clave"),
    ),
    Instrument(Counted("harp|harps", "Harfe|Harfen", "harpe|harpes", "arpa|arpas", "harpa|harpor")),
    Instrument(
        Counted(
            "guitar|guitars", "Gitarre|Gitarren", "guitare|guitares", "guitarra|guitarras", "gitarr|gitarrer"
        ),
    ),
    Instrument(
        Counted(
            "accordion|accordions",
            "Akkordeon|Akkordeons",
            "accordéon|accordéons",
            "acordeón|acordeones",
            "dragspel|dragspel",
        ),
    ),
)

# "in B♭", "in Bb", "en si" is not read; "Bb Clarinet".
_FLATS, _SHARPS = "♭b", "♯#"
_PITCH: Final = rf"([A-H])\s?([{_FLATS}{_SHARPS}]|-?flat|-?sharp)?"
_PITCH_AFTER: Final = re.compile(rf"[\s,]*\b(?:in|en|i)\s{_PITCH}$", re.IGNORECASE)
_PITCH_BEFORE: Final = re.compile(r"^([A-G])\s?([♭b♯#]|-?flat|-?sharp)?\s(?=\w{3})", re.IGNORECASE)
# A number or letter that tells desks of one instrument apart: Violin 1, Violin II, 2nd Violin.
_ORDINAL_AFTER: Final = re.compile(r"[\s.]*\b(?:\d{1,2}|[IVX]{1,4})[.:]?$")
_ORDINAL_BEFORE: Final = re.compile(r"^(?:\d{1,2}(?:st|nd|rd|th|\.|e|ère)?|[IVX]{1,4}\.?)\s+", re.IGNORECASE)
# Names that a file has when nobody gave one.
_NO_NAME: Final = re.compile(
    r"(?:(?:musicxml )?part|staff|instrument|track|unnamed.*|.*score|.*reduction|P)?[\s_-]*\d*",
    re.IGNORECASE,
)


@dataclass(frozen=True, slots=True)
class _Player:
    """Who plays a part: an instrument of the table, perhaps at a pitch, or a name as in the file."""

    instrument: Instrument | None
    pitch: tuple[str, int] | None
    name: str


def scored_for(parts: Sequence[Part], words: Words) -> str:
    """ "for voice and piano"; empty where the file names nobody."""
    players = Counter(_players(parts))
    return (
        words.scored_for(players=words.listed([_said(*item, words) for item in players.items()]))
        if players
        else ""
    )


def is_transposing(score: Score) -> bool:
    """Whether all players read another key than sounds (not by octaves alone): then it must be said which is meant."""
    shifts: dict[int, set[float]] = {}
    for note in score.notes:
        if note.pitch is not None and note.sounding_midi is not None and not note.cue:
            shifts.setdefault(note.part_index, set()).add((note.sounding_midi - note.pitch.midi) % 12)
    return bool(shifts) and all(any(part) for part in shifts.values())


def key_told(score: Score, words: Words) -> str:
    """The key on a line with other things: "F major (concert pitch)" of a part that transposes; empty without one."""
    if not score.key:
        return ""
    title = words.key_title(score.key)
    return f"{title} ({words.key_as_it_sounds})" if is_transposing(score) else title


def _said(player: _Player, count: int, words: Words) -> str:
    if player.instrument is None:
        return player.name if count == 1 else f"{count} × {player.name}"
    name = words.named(player.instrument.names, count)
    return words.at_pitch(instrument=name, pitch=words.tonic(*player.pitch)) if player.pitch else name


def _players(parts: Sequence[Part]) -> Iterator[_Player]:
    for part in parts:
        name = " ".join(part.name.split())
        bare, pitch = _without_pitch(_ORDINAL_BEFORE.sub("", _ORDINAL_AFTER.sub("", name)))
        instrument = _instrument(bare, part.kind)
        nameless = _NO_NAME.fullmatch(name) is not None
        if part.kind is PartKind.VOICE and (
            nameless or (instrument and instrument.kind is not PartKind.VOICE)
        ):
            yield _Player(_VOICE, None, "")
        elif instrument:
            yield _Player(instrument, pitch, "")
        elif not nameless:
            yield _Player(None, None, name)
        elif part.kind is PartKind.KEYBOARD:
            yield _Player(_PIANO, None, "")


def _without_pitch(name: str) -> tuple[str, tuple[str, int] | None]:
    """ "Clarinet in B♭" and "Bb Clarinet" as ("Clarinet", ("B", -1)). B alone is B flat: no instrument stands in
    B natural."""
    match = _PITCH_AFTER.search(name) or _PITCH_BEFORE.search(name)
    if match is None:
        return name, None
    step, sign = match[1].upper(), (match[2] or "").strip("-").lower()
    alter = -1 if sign and sign in f"{_FLATS} flat" else 1 if sign else 0
    pitch = ("B", alter if step == "H" else -1) if step in "BH" else (step, alter)
    return (name[: match.start()] + name[match.end() :]).strip(" ,"), pitch


def _instrument(name: str, kind: PartKind) -> Instrument | None:
    """The instrument of which every part of the name is a name ("Bratsche. Viola", "Canto Voice")."""
    known = (
        instrument
        for instrument in INSTRUMENTS
        if instrument.kind in (None, kind) and _is_named(name.casefold(), instrument.all_names)
    )
    return next(known, None)


def _is_named(name: str, names: frozenset[str]) -> bool:
    pieces = [piece.strip() for piece in re.split(r"[/,;()]|\.\s", name) if piece.strip(" .")]
    return bool(pieces) and all(
        piece in names or piece.rstrip(".") in names or all(word in names for word in piece.split())
        for piece in pieces
    )
