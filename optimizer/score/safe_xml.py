"""Bytes to an XML tree, refusing everything a score never needs.

In: the bytes of a document, in any encoding. Out: the root of its tree. Always true: nothing is fetched from
disk or network, no entity is ever expanded (a plain DOCTYPE is normal and only its name is kept), and the
limits below hold.
"""

import codecs
import re
from collections.abc import Mapping
from typing import Final

from lxml import etree

from optimizer.errors import ScoreError

# The largest of 27 real scores (a quartet of 894 bars) has 8.5 MB, 0.9 million elements and attributes, and is 11
# deep.
MAX_XML_BYTES: Final = 64 * 2**20
MAX_MARKUP: Final = 6_000_000  # elements and attributes: bounds the memory of the tree
MAX_DEPTH: Final = 64

EXPORT_AGAIN: Final = "export the score again as MusicXML"

_BOMS: Final = (
    (codecs.BOM_UTF8, "utf-8-sig"),
    (codecs.BOM_UTF32_LE, "utf-32"),
    (codecs.BOM_UTF32_BE, "utf-32"),
    (codecs.BOM_UTF16_LE, "utf-16"),
    (codecs.BOM_UTF16_BE, "utf-16"),
)
_DECLARATION: Final = re.compile(r"\s*<\?xml\s[^>]*\?>")
_DECLARED_ENCODING: Final = re.compile(rb"""\s*<\?xml\s[^>]*?encoding\s*=\s*["']([A-Za-z0-9._:-]+)["']""")
# Text encodings that documents are written in; codecs that are programs (idna, unicode_escape ...) stay out.
_KNOWN_CODEC: Final = re.compile(
    r"utf-(8|16|32).*|iso8859.*|cp\d+|koi8.*|mac-.*|ascii|big5.*|gb.*|shift_jis.*|euc_.*"
)
_BEFORE_DOCTYPE: Final = re.compile(r"(?:\s+|<\?.*?\?>|<!--.*?-->)*", re.DOTALL)
_DOCTYPE: Final = re.compile(r"""<!DOCTYPE(?:[^\["'>]|"[^"]*"|'[^']*')*(?P<subset>\[)?""")
_FOREIGN: Final = (
    (b"MThd", "a MIDI file"),
    (b"%PDF", "a PDF file"),
    (b"\x89PNG", "a picture"),
    (b"\x1f\x8b", "a gzip file"),
)
_CUT_OFF: Final = " (an element is never closed: the file may be cut off)"
# What is wrong in most broken files, in our words.
_FAULTS: Final[Mapping[int, str]] = {
    etree.ErrorTypes.ERR_TAG_NAME_MISMATCH: " (an end tag closes another element than the one that is open)",
    etree.ErrorTypes.ERR_TAG_NOT_FINISHED: _CUT_OFF,
    etree.ErrorTypes.ERR_ATTRIBUTE_REDEFINED: " (an attribute is given twice)",
    etree.ErrorTypes.ERR_INVALID_CHAR: " (has characters that no text has)",
    etree.ErrorTypes.ERR_RESOURCE_LIMIT: " (elements are nested too deep, or a text is too long)",
}


def parse_xml(data: bytes, name: str, place: str = "") -> etree._Element:
    """The root element of a document; ScoreError (with `name` and `place`) when it is unsafe or not
    well-formed."""
    if len(data) > MAX_XML_BYTES:
        raise ScoreError(name, place, f"the XML is larger than {MAX_XML_BYTES >> 20} MiB", "split the score")
    text = _decode(data, name, place)
    declaration = _DECLARATION.match(text)
    if declaration:
        text = "\n" * declaration[0].count("\n") + text[declaration.end() :]
    if not text.lstrip().startswith("<"):
        raise ScoreError(name, place, "is not XML, and so not MusicXML", EXPORT_AGAIN)
    _refuse_entities(text, name, place)
    if text.count("<") - text.count("</") + text.count("=") > MAX_MARKUP:
        raise ScoreError(
            name, place, f"the XML has more than {MAX_MARKUP} elements and attributes", "split the score"
        )
    root = _parse(text, name, place)
    if root.xpath(f"boolean({'/*' * (MAX_DEPTH + 1)})"):
        raise ScoreError(name, place, f"elements are nested more than {MAX_DEPTH} deep", EXPORT_AGAIN)
    entity = next(root.iter(etree.Entity), None)
    if entity is not None:
        where = _join(place, f"line {entity.sourceline}")
        raise ScoreError(
            name, where, f"the entity {entity.text} is not defined", "replace it by its character"
        )
    return root


def _decode(data: bytes, name: str, place: str) -> str:
    for magic, what in _FOREIGN:
        if data.startswith(magic):
            raise ScoreError(name, place, f"is {what}, not MusicXML", EXPORT_AGAIN)
    encoding = _encoding(data)
    try:
        if not _KNOWN_CODEC.fullmatch(codecs.lookup(encoding).name):
            raise LookupError
        return data.decode(encoding)
    except LookupError:
        raise ScoreError(name, place, f"the encoding {encoding!r} is unknown", "save it as UTF-8") from None
    except UnicodeDecodeError as error:
        problem = f"is not text in the encoding {encoding} (byte {error.start})"
        raise ScoreError(name, place, problem, f"{EXPORT_AGAIN}, in UTF-8") from None


def _encoding(data: bytes) -> str:
    """By byte order mark, else by the zero bytes of `<`, else as declared, else UTF-8 (XML 1.0, appendix
    F)."""
    for bom, encoding in _BOMS:
        if data.startswith(bom):
            return encoding
    if data.startswith((b"<\0\0\0", b"\0\0\0<")):
        return "utf-32-le" if data[:1] == b"<" else "utf-32-be"
    if data.startswith((b"<\0", b"\0<")):
        return "utf-16-le" if data[:1] == b"<" else "utf-16-be"
    declared = _DECLARED_ENCODING.match(data[:400])
    encoding = declared[1].decode("ascii") if declared else "utf-8"
    # A declaration that can be read byte by byte is not in a two-byte encoding, whatever it says.
    return "utf-8" if encoding.lower().startswith(("utf-16", "utf16", "utf-32", "ucs")) else encoding


def _refuse_entities(text: str, name: str, place: str) -> None:
    before = _BEFORE_DOCTYPE.match(text)
    doctype = _DOCTYPE.match(text, before.end() if before else 0)
    if doctype and doctype["subset"] and "<!ENTITY" in text:
        line = text.count("\n", 0, text.index("<!ENTITY")) + 1
        problem = (
            "the document declares entities, which no score needs and which can be used to attack a reader"
        )
        raise ScoreError(
            name, _join(place, f"line {line}"), problem, "remove the declarations or export the score again"
        )


def _parse(text: str, name: str, place: str) -> etree._Element:
    parser = etree.XMLParser(
        encoding="utf-8", resolve_entities=False, no_network=True, load_dtd=False, dtd_validation=False,
        attribute_defaults=False, huge_tree=False,
    )  # fmt: skip
    try:
        root: etree._Element | None = etree.fromstring(text.encode("utf-8"), parser)
    except etree.XMLSyntaxError as error:
        where = _join(place, f"line {error.lineno}" if error.lineno else "")
        fault = _FAULTS.get(error.code, "") if text.rstrip().endswith(">") else _CUT_OFF
        raise ScoreError(name, where, f"is not well-formed XML{fault}", EXPORT_AGAIN) from None
    except ValueError:
        raise ScoreError(
            name, place, "is not well-formed XML (has characters that no text has)", EXPORT_AGAIN
        ) from None
    if root is None:
        raise ScoreError(name, place, "is an empty document", EXPORT_AGAIN)
    return root


def _join(*places: str) -> str:
    return ", ".join(place for place in places if place)
