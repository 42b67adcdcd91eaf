"""A full score into the parts that its players read.

In: a score as read from disk, settings.  Out: an `Extracted` for each part, in the order of the score.  Always true:
the full score is not changed; a part's own notes, words and signs are those of the score, and what concerns all stands
in each part once (common.py); bar numbers are those of the score.
"""

import hashlib
import re
from bisect import bisect_right
from collections.abc import Iterable, Iterator, Sequence
from copy import deepcopy
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import accumulate, pairwise
from pathlib import Path
from typing import Final

from lxml import etree

from optimizer.engrave.mend import with_flats
from optimizer.errors import UsageError
from optimizer.parts.common import tell_all
from optimizer.parts.cue_line import Sources, sources
from optimizer.parts.cues import with_cues
from optimizer.parts.instruments import known_instruments
from optimizer.parts.model import Extracted, MovementStart, PartsSettings
from optimizer.parts.names import file_name, folded, numbered, shortened, split_names
from optimizer.parts.rests import with_multiple_rests
from optimizer.parts.split import Player, for_player
from optimizer.score.header import PART_NAME
from optimizer.score.load import ScoreFile
from optimizer.score.model import Clock, Part, PlayedMeasure, Score
from optimizer.score.multirests import bars_of, expanded, is_empty
from optimizer.score.read import score_from
from optimizer.score.rewrite import Break, with_breaks
from optimizer.score.walk import elements, whole

# Of the header only what belongs to the score as a whole is kept; where credits stood on its pages says nothing here.
_KEPT_CREDITS: Final = frozenset({"title", "subtitle", "composer", "arranger", "lyricist", "rights"})
# Keys of instruments by the semitones that what is written sounds higher, downwards or up.
_KEYS: Final = ("C", "D♭", "D", "E♭", "E", "F", "G♭", "G", "A♭", "A", "B♭", "B")
_TELLS_KEY: Final = re.compile(r"(?i)\b(in|en|i) [a-h]\b|\b[A-H](♭|♯|b\b|-?flat|-?sharp|is\b|s\b|es\b)")
_CREDIT_LAYOUT: Final = ("default-x", "default-y", "relative-x", "relative-y")


@dataclass(frozen=True, slots=True)
class _Copy:
    """A part as it is to be taken out; `player`: of two who share it."""

    part: Part
    name: str
    player: Player | None = None


@dataclass(frozen=True, slots=True, eq=False)
class _Source:
    """The score with real bars: as it is, and with all that concerns all in every part (`tree`); `starts`: with which
    of its bars each measure of the file begins; `cues`: what they are taken from."""

    full: ScoreFile
    tree: etree._Element
    starts: tuple[int, ...]
    cues: Sources


def extract(file: ScoreFile, read: Score, settings: PartsSettings) -> tuple[Extracted, ...]:
    """All parts of a score; `read`: the score as read from this file."""
    full = replace(file, root=expanded(file.root))
    has_real_bars = full.root is file.root
    score = read if has_real_bars else score_from(full, default_tempo=settings.paper.turns.default_tempo)
    tree = with_breaks(full.root, _movement_breaks(score, settings.movements))
    tell_all(tree)
    starts = tuple(accumulate(map(bars_of, file.root.iterfind("part[1]/measure")), initial=0))
    source = _Source(full, tree, starts, sources(full.root, score))
    copies = [
        copy
        for part, name in zip(score.parts, numbered([part.name for part in score.parts]), strict=True)
        for copy in _copies(part, name, settings)
    ]
    parts = tuple(_extracted(source, copy, settings) for copy in copies)
    _refuse_alike(copies, parts)
    return parts


def in_time(part: Score, full: Score, first_bars: Sequence[int]) -> Score:
    """A part's score with the clock of the full score, to which all play."""
    clocks = tuple(
        _joined([full.clocks[bar] for bar in range(first, end)]) for first, end in pairwise(first_bars)
    )
    start_s = 0.0
    played = []
    for step in part.played:
        played.append(PlayedMeasure(step.measure_index, step.pass_number, start_s))
        start_s += clocks[step.measure_index].duration_s
    return replace(part, clocks=clocks, played=tuple(played), tempo_source=full.tempo_source)


def _joined(clocks: Sequence[Clock]) -> Clock:
    """The clock of several measures in succession."""
    knots: list[tuple[Fraction, float]] = [(Fraction(0), 0.0)]
    for clock in clocks:
        start_ql, start_s = knots[-1]
        knots += ((start_ql + offset_ql, start_s + seconds) for offset_ql, seconds in clock.knots[1:])
    return Clock(tuple(knots))


def _movement_breaks(score: Score, start: MovementStart) -> dict[int, Break]:
    """Where movements begin, as breaks for the file."""
    kind: Break = "page" if start is MovementStart.PAGE else "system"
    movements = [measure.movement for measure in score.measures]
    return {index: kind for index, (here, there) in enumerate(pairwise(movements), 1) if here != there}


def _copies(part: Part, name: str, settings: PartsSettings) -> Iterator[_Copy]:
    """One for all its players, or one for each of two."""
    if not _is_named(part, name, settings.split):
        yield _Copy(part, name)
        return
    for player, own in zip(Player, split_names(name), strict=True):
        yield _Copy(part, own, player)


def _extracted(source: _Source, copy: _Copy, settings: PartsSettings) -> Extracted:
    root = _alone(source.tree, copy.part.index, copy.name)
    if copy.player:
        for_player(root, copy.player)
    for part in root.iterchildren("part"):
        with_cues(part, source.cues, copy.part.index, settings)
    root = with_multiple_rests(root)
    own = accumulate(map(bars_of, root.iterfind("part/measure")), initial=0)
    slug = file_name(copy.name) or f"part-{copy.part.index + 1}"
    path = Path(f"{source.full.path.stem}-{slug}.musicxml")
    data = etree.tostring(root, method="c14n")
    return Extracted(
        part_id=copy.part.id,
        name=copy.name,
        family=known_instruments(settings.instruments).family(source.full.root, copy.part).name,
        players=_players(copy, settings),
        file=ScoreFile(path, hashlib.sha256(data).hexdigest(), root, source.full.notes),
        first_bars=tuple(bisect_right(source.starts, bar) - 1 for bar in own),
    )


def _refuse_alike(copies: Sequence[_Copy], parts: Sequence[Extracted]) -> None:
    """UsageError where two players of one staff would read the same: who divides it wants two parts."""
    for (copy, first), (_, second) in pairwise(zip(copies, parts, strict=True)):
        if copy.player is Player.FIRST and _music(first) == _music(second):
            name = shortened(copy.part.name or copy.part.id)
            raise UsageError(
                f"--split {name}: nothing on its staff divides two players; leave it out (two share a copy with "
                f'--players "{name}=2")'
            )


def _music(part: Extracted) -> bytes:
    """The bars as they are read, without names."""
    return b"".join(etree.tostring(each, method="c14n") for each in part.file.root.iterchildren("part"))


def _players(copy: _Copy, settings: PartsSettings) -> int:
    """As many as the user says; one where the part is not named, UsageError where it is named twice."""
    called = [name for name in settings.players if _is_named(copy.part, copy.name, (name,))]
    if len(called) > 1:
        raise UsageError(
            f"--players: {called[0]} and {called[1]} both name {copy.name}; give one number for it"
        )
    return settings.players[called[0]] if called else 1


def _is_named(part: Part, name: str, called: Iterable[str]) -> bool:
    """Whether a part is among those that a user calls by name, id or number."""
    names = {folded(each) for each in (name, part.name, part.id, str(part.index + 1))}
    return any(folded(call) in names for call in called)


def _alone(tree: etree._Element, index: int, name: str) -> etree._Element:
    """A score of one part, with its name where parts have it: above the music, not at every system."""
    root = etree.Element(tree.tag, dict(tree.attrib))
    root.text = tree.text
    parts = tree.findall("part")
    identity = parts[index].get("id")
    for child in elements(tree):
        if child.tag == "part-list":
            root.append(_part_name(name, parts[index]))
            listed = etree.SubElement(root, "part-list")
            listed.extend(deepcopy(e) for e in child.iterchildren("score-part") if e.get("id") == identity)
            for entry in listed:
                _hide_names(entry)
        elif child.tag == "credit":
            if _is_kept(child):
                root.append(_without_layout(child))
        elif child.tag != "part":
            root.append(deepcopy(child))
    root.append(deepcopy(parts[index]))
    _show_staves(root)
    for display in list(root.iterfind("part/measure/print")):
        for shown in list(display.iterchildren("part-name-display", "part-abbreviation-display")):
            display.remove(shown)
    return root


def _show_staves(root: etree._Element) -> None:
    """Scores hide the staves of who has nothing to play for a while, and print those over a piano small; a part has
    nothing else."""
    for details in root.findall("part/measure/attributes/staff-details"):
        details.attrib.pop("print-object", None)
        for small in details.findall("staff-size"):
            details.remove(small)
        attributes = details.getparent()
        if attributes is not None and not len(details):
            attributes.remove(details)
            measure = attributes.getparent()
            if measure is not None and not len(attributes):
                measure.remove(attributes)
    for measure in root.iterfind("part/measure"):
        rests = [note for note in measure.iterchildren("note") if note.get("print-object") == "no"]
        if is_empty(measure) and len(rests) == len(measure.findall("note")):
            for rest in rests:
                del rest.attrib["print-object"]


def _part_name(name: str, part: etree._Element) -> etree._Element:
    """The credit that names a part, and its key where the name does not say it."""
    credit = etree.Element("credit", page="1")
    etree.SubElement(credit, "credit-type").text = PART_NAME
    etree.SubElement(credit, "credit-words").text = with_key_of(name, part)
    return credit


def with_key_of(name: str, part: etree._Element) -> str:
    """ "Clarinet" as "Clarinet in B♭", if its part is written so; a name that tells a key stays."""
    name = with_flats(name)
    transpose = part.find("measure/attributes/transpose")
    chromatic = 0 if transpose is None else whole(transpose.findtext("chromatic"), 0) % 12
    if not chromatic or _TELLS_KEY.search(name):
        return name
    return f"{name} in {_KEYS[chromatic]}"


def _hide_names(entry: etree._Element) -> None:
    for display in list(entry.iterchildren("part-name-display", "part-abbreviation-display")):
        entry.remove(display)
    for name in entry.iterchildren("part-name", "part-abbreviation"):
        name.text = shortened(name.text or "")
        name.set("print-object", "no")


def _is_kept(credit: etree._Element) -> bool:
    kinds = {(kind.text or "").strip().lower() for kind in credit.iterchildren("credit-type")}
    return credit.get("page", "1") == "1" and (not kinds or bool(kinds & _KEPT_CREDITS))


def _without_layout(credit: etree._Element) -> etree._Element:
    copied = deepcopy(credit)
    for element in copied.iter("*"):
        for name in _CREDIT_LAYOUT:
            element.attrib.pop(name, None)
    return copied
