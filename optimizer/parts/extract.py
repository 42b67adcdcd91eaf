"""A full score into the parts that its players read.

In: a score as read from disk, settings.  Out: an `Extracted` for each part, in the order of the score.  Always true:
the full score is not changed; a part's own notes, words and signs are those of the score, and what concerns all stands
in each part once (common.py); bar numbers are those of the score.
"""

import hashlib
import re
from bisect import bisect_right
from collections import Counter
from collections.abc import Sequence
from copy import deepcopy
from dataclasses import replace
from fractions import Fraction
from itertools import accumulate, pairwise
from pathlib import Path
from typing import Final

from lxml import etree

from optimizer.parts.common import tell_all
from optimizer.parts.model import Extracted, MovementStart, PartsSettings
from optimizer.parts.rests import with_multiple_rests
from optimizer.score.header import PART_NAME
from optimizer.score.load import ScoreFile
from optimizer.score.model import Clock, Part, PartKind, PlayedMeasure, Score
from optimizer.score.multirests import bars_of, expanded
from optimizer.score.read import score_from
from optimizer.score.rewrite import Break, with_breaks
from optimizer.score.walk import elements, whole

_FAMILIES: Final = {
    PartKind.STRINGS: "strings",
    PartKind.WIND: "woodwind",
    PartKind.VOICE: "voices",
    PartKind.KEYBOARD: "keyboards",
    PartKind.OTHER: "other",
}
# Of the header only what belongs to the score as a whole is kept; where credits stood on its pages says nothing here.
_KEPT_CREDITS: Final = frozenset({"title", "subtitle", "composer", "arranger", "lyricist", "rights"})
# Keys of instruments by the semitones that what is written sounds higher, downwards or up.
_KEYS: Final = ("C", "D♭", "D", "E♭", "E", "F", "G♭", "G", "A♭", "A", "B♭", "B")
_TELLS_KEY: Final = re.compile(r"(?i)\b(in|en|i) [a-h]\b|\b[A-H](♭|♯|b\b|-?flat|-?sharp|is\b|s\b|es\b)")
_CREDIT_LAYOUT: Final = ("default-x", "default-y", "relative-x", "relative-y")


def extract(file: ScoreFile, settings: PartsSettings) -> tuple[Extracted, ...]:
    """All parts of a score."""
    real = replace(file, root=expanded(file.root))
    score = score_from(real, default_tempo=settings.paper.turns.default_tempo)
    breaks = _movement_breaks(score, settings.movements)
    tree = with_breaks(real.root, breaks)
    tell_all(tree)
    starts = list(accumulate(map(bars_of, file.root.iterfind("part[1]/measure")), initial=0))
    names = _names(score)
    return tuple(
        _extracted(file, tree, part, name, starts, settings)
        for part, name in zip(score.parts, names, strict=True)
    )


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


def _names(score: Score) -> list[str]:
    """What the parts are called; parts of one name are numbered."""
    counts = Counter(part.name for part in score.parts)
    seen: Counter[str] = Counter()
    names = []
    for part in score.parts:
        seen[part.name] += 1
        names.append(f"{part.name} {seen[part.name]}" if counts[part.name] > 1 else part.name)
    return names


def _extracted(
    file: ScoreFile,
    tree: etree._Element,
    part: Part,
    name: str,
    starts: Sequence[int],
    settings: PartsSettings,
) -> Extracted:
    root = with_multiple_rests(_alone(tree, part.index, name))
    own = accumulate(map(bars_of, root.iterfind("part/measure")), initial=0)
    slug = re.sub(r"\W+", "-", name.casefold()).strip("-") or f"part-{part.index + 1}"
    path = Path(f"{file.path.stem}-{slug}.musicxml")
    data = etree.tostring(root, method="c14n")
    return Extracted(
        part_id=part.id,
        name=name,
        family=_FAMILIES[part.kind],
        players=_players(part, name, settings),
        file=ScoreFile(path, hashlib.sha256(data).hexdigest(), root, file.notes),
        first_bars=tuple(bisect_right(starts, bar) - 1 for bar in own),
    )


def _players(part: Part, name: str, settings: PartsSettings) -> int:
    known = {called.casefold(): count for called, count in settings.players.items()}
    calls = (name, part.name, part.id, str(part.index + 1))
    return next((known[call.casefold()] for call in calls if call.casefold() in known), 1)


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
    for display in list(root.iterfind("part/measure/print")):
        for shown in list(display.iterchildren("part-name-display", "part-abbreviation-display")):
            display.remove(shown)
    return root


def _part_name(name: str, part: etree._Element) -> etree._Element:
    """The credit that names a part, and its key where the name does not say it."""
    credit = etree.Element("credit", page="1")
    etree.SubElement(credit, "credit-type").text = PART_NAME
    etree.SubElement(credit, "credit-words").text = with_key_of(name, part)
    return credit


def with_key_of(name: str, part: etree._Element) -> str:
    """ "Clarinet" as "Clarinet in B♭", if its part is written so; a name that tells a key stays."""
    transpose = part.find("measure/attributes/transpose")
    chromatic = 0 if transpose is None else whole(transpose.findtext("chromatic"), 0) % 12
    if not chromatic or _TELLS_KEY.search(name):
        return name
    return f"{name} in {_KEYS[chromatic]}"


def _hide_names(entry: etree._Element) -> None:
    for display in list(entry.iterchildren("part-name-display", "part-abbreviation-display")):
        entry.remove(display)
    for name in entry.iterchildren("part-name", "part-abbreviation"):
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
