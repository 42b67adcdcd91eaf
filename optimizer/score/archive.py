"""A compressed score (.mxl): a zip archive whose META-INF/container.xml names the score inside.

In: the bytes of the archive. Out: the bytes of the score and its name inside. Always true: nothing is written
to disk, and no more than `MAX_XML_BYTES` are ever unpacked at once. Source of the container: W3C MusicXML 4.0,
container.xsd.
"""

import io
import zipfile
import zlib
from typing import Final

from lxml import etree

from optimizer.errors import ScoreError
from optimizer.score.safe_xml import EXPORT_AGAIN, MAX_XML_BYTES, parse_xml

CONTAINER: Final = "META-INF/container.xml"
ZIP_MAGIC: Final = (b"PK\x03\x04", b"PK\x05\x06")
ENTRY_MAGIC: Final = b"PK\x01\x02"  # begins each entry of the archive's directory
MAX_ENTRIES: Final = 1000  # a score and its pictures have a handful
# Python unpacks other methods a block at a time, however much comes out of it. Scores use these (from memory).
METHODS: Final = (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED)
MAX_RATIO: Final = 250  # 27 real scores shrink by 15 to 50 times; deflate can reach 1030
RATIO_FREE_BYTES: Final = 2**20  # below this size any ratio is harmless
_SCORE_TYPES: Final = ("", "application/vnd.recordare.musicxml+xml", "application/vnd.recordare.musicxml")


def is_archive(data: bytes) -> bool:
    """Whether the bytes are a zip archive."""
    return data.startswith(ZIP_MAGIC)


def unpack(data: bytes, name: str) -> tuple[bytes, str]:
    """The score in an archive and its name there; ScoreError when the archive is broken, unsafe or holds no
    score."""
    if data.count(ENTRY_MAGIC) > MAX_ENTRIES:  # counted first: reading a directory of a million takes long
        raise ScoreError(name, "", f"the archive has more than {MAX_ENTRIES} entries", EXPORT_AGAIN)
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            _check_names(archive, name)
            container = parse_xml(_read(archive, CONTAINER, name), name, CONTAINER)
            inner = _rootfile(container, name)
            return _read(archive, inner, name), inner
    except (zipfile.BadZipFile, zlib.error, EOFError, OSError, NotImplementedError, ValueError):
        raise ScoreError(name, "", "the archive is damaged", "copy or export the file again") from None


def _check_names(archive: zipfile.ZipFile, name: str) -> None:
    for entry in archive.namelist():
        if _escapes(entry):
            raise ScoreError(
                name, "", f"the archive has an entry outside itself ({entry[:60]!r})", EXPORT_AGAIN
            )


def _escapes(entry: str) -> bool:
    """Whether an entry's name would leave the folder it is unpacked into."""
    parts = entry.replace("\\", "/").split("/")
    return parts[0] == "" or ".." in parts or ":" in parts[0]


def _rootfile(container: etree._Element, name: str) -> str:
    # The container is usually without a namespace, sometimes in one: look at local names only.
    for rootfile in container.iter("{*}rootfile"):
        path = rootfile.get("full-path", "")
        if rootfile.get("media-type", "") in _SCORE_TYPES and path:
            if _escapes(path):
                raise ScoreError(
                    name, CONTAINER, f"names a file outside the archive ({path[:60]!r})", EXPORT_AGAIN
                )
            return path
    raise ScoreError(name, CONTAINER, "names no MusicXML file", EXPORT_AGAIN)


def _read(archive: zipfile.ZipFile, entry: str, name: str) -> bytes:
    try:
        info = archive.getinfo(entry)
    except KeyError:
        raise ScoreError(name, "", f"the archive lacks {entry}", EXPORT_AGAIN) from None
    if info.flag_bits & 0x1:
        raise ScoreError(name, entry, "is encrypted", "save the file without a password")
    if info.compress_type not in METHODS:
        raise ScoreError(name, entry, "is compressed in a way scores never are", EXPORT_AGAIN)
    if info.file_size > MAX_XML_BYTES:
        raise ScoreError(name, entry, f"unpacks to more than {MAX_XML_BYTES >> 20} MiB", "split the score")
    if info.file_size > max(RATIO_FREE_BYTES, MAX_RATIO * info.compress_size):
        raise ScoreError(name, entry, f"unpacks to more than {MAX_RATIO} times its size", EXPORT_AGAIN)
    with archive.open(info) as stream:
        data = stream.read(MAX_XML_BYTES + 1)  # the size in the header may lie
    if len(data) > MAX_XML_BYTES:
        raise ScoreError(name, entry, f"unpacks to more than {MAX_XML_BYTES >> 20} MiB", "split the score")
    return data
