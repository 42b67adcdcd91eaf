"""A file on disk to a checked partwise tree.

In: a path to .musicxml, .xml or .mxl (the content decides, not the suffix). Out: a `ScoreFile`. Always true:
the root is `score-partwise`, has at least one part, and all parts have the same number (at least one) of
measures, of which a multiple rest in all of them is one (multirests.py).
"""

import hashlib
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from lxml import etree

from optimizer.errors import ScoreError
from optimizer.score.archive import is_archive, unpack
from optimizer.score.multirests import BARS, collapsed
from optimizer.score.safe_xml import EXPORT_AGAIN, MAX_XML_BYTES, parse_xml
from optimizer.score.timewise import partwise

MAX_FILE_BYTES: Final = MAX_XML_BYTES
MAX_MEASURES: Final = 20_000  # twenty times the longest of our scores
MAX_PARTS: Final = 200
MAX_NUMBER: Final = 20  # letters of a bar number; Python refuses to count with thousands of digits
_QUOTES: Final = frozenset("'\"")  # no id has them (XML 1.0, Name), and they would end searches for it early
MAX_MEASURES_OF_PARTS: Final = 200_000  # all parts together; 40 parts of 2000 bars are 80 000


@dataclass(frozen=True, slots=True, eq=False)
class ScoreFile:
    """A score as read from disk: `root` is partwise and must not be changed; `notes` say what had to be
    mended."""

    path: Path
    sha256: str
    root: etree._Element
    notes: tuple[str, ...] = ()

    @property
    def name(self) -> str:
        """What messages call the file."""
        return self.path.name


def load_file(path: Path) -> ScoreFile:
    """The checked tree of a score; ScoreError (one line: file, place, what is wrong, what to do)
    otherwise."""
    name = path.name or str(path)
    data = _read_bytes(path, name)
    place = ""
    xml = data
    if is_archive(data):
        xml, place = unpack(data, name)
    root = parse_xml(xml, name, place)
    notes: list[str] = []
    if root.tag == "score-timewise":
        identities = {part.get("id", "") for part in root.iterfind("measure/part")}
        _refuse_crowds(len(identities), len(root.findall("measure")), name)
        root = partwise(root)
        notes.append("bars were listed by time; sorted by part")
    if root.tag != "score-partwise":
        raise ScoreError(name, place, f"is not MusicXML (its root is <{str(root.tag)[:40]}>)", EXPORT_AGAIN)
    notes += _even_out(root, name)
    notes += _cut_numbers(root)
    etree.strip_attributes(root, BARS)
    return ScoreFile(path, hashlib.sha256(data).hexdigest(), collapsed(root), tuple(notes))


def _read_bytes(path: Path, name: str) -> bytes:
    try:
        if path.is_dir():
            raise ScoreError(name, "", "is a folder", "name a MusicXML file")
        with path.open("rb") as file:
            data = file.read(MAX_FILE_BYTES + 1)  # a pipe or device has no size to ask for
        if len(data) > MAX_FILE_BYTES:
            raise ScoreError(name, "", f"is larger than {MAX_FILE_BYTES >> 20} MiB", "split the score")
    except FileNotFoundError:
        raise ScoreError(name, "", "does not exist", "check the name") from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or error
        raise ScoreError(
            name, "", f"cannot be read ({reason})", "check the file and its permissions"
        ) from None
    if not data.strip():
        raise ScoreError(name, "", "is empty", EXPORT_AGAIN)
    return data


def _refuse_crowds(parts: int, measures: int, name: str) -> None:
    """Before measures are added: a small file may ask for millions."""
    if parts > MAX_PARTS or measures > MAX_MEASURES or parts * measures > MAX_MEASURES_OF_PARTS:
        most = (
            f"{MAX_PARTS} parts, {MAX_MEASURES} bars, or {MAX_MEASURES_OF_PARTS} bars in all parts together"
        )
        raise ScoreError(name, "", f"has more than {most}", "split the score")


def _cut_numbers(root: etree._Element) -> list[str]:
    """Shorten bar numbers that nobody could print (the tree is still ours here); what was done, in words."""
    endless = [
        measure for measure in root.iterfind("part/measure") if len(measure.get("number", "")) > MAX_NUMBER
    ]
    for measure in endless:
        measure.set("number", measure.get("number", "")[:MAX_NUMBER])
    return [f"bar numbers longer than {MAX_NUMBER} letters were cut"] if endless else []


def _even_out(root: etree._Element, name: str) -> list[str]:
    """Give every part as many measures as the longest has (the tree is still ours here); what was done, in
    words."""
    parts = root.findall("part")
    if not parts:
        raise ScoreError(name, "", "has no parts", EXPORT_AGAIN)
    if any(set(part.get("id", "")) & _QUOTES for part in parts):
        raise ScoreError(name, "", "a part has an id with a quotation mark in it", EXPORT_AGAIN)
    measures = [part.findall("measure") for part in parts]
    longest = max(measures, key=len)
    if not longest:
        raise ScoreError(name, "", "has no measures", EXPORT_AGAIN)
    _refuse_crowds(len(parts), len(longest), name)
    notes = []
    for part, own in zip(parts, measures, strict=True):
        if len(own) < len(longest):
            identity = part.get("id", "?")
            has = f"{len(own)} measure{'s' * (len(own) != 1)}"
            notes.append(f"part {identity} has {has} instead of {len(longest)}; empty ones were added")
            for measure in longest[len(own) :]:
                etree.SubElement(part, "measure", number=measure.get("number", ""))
    return notes
