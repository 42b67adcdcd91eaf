"""The serif faces of all text in print: embedded, subset, and as wide as the engraving library assumed.

In: the engraving library's data folder, which carries a serif face with Times-like widths in four styles.
Out: names of fonts registered with reportlab.  Always true: a name returned here is a font that will be
embedded.

The faces are unpacked once and kept in the user's cache folder (or only in memory, where that cannot be
written).  On the way they get what they lack: accidentals, and letters that are composed of a base letter
and an accent.
"""

import base64
import hashlib
import logging
import os
import re
import unicodedata
from collections.abc import Iterator
from functools import cache
from io import BytesIO
from pathlib import Path
from typing import Any, Final

from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFError, TTFont

from optimizer.engrave.fontdata import MUSIC_EM, data_folder, music_outline

log = logging.getLogger(__name__)

_FACES: Final = "Liberation.css"
_BUILD: Final = "3"  # part of the cache key: raise it when what is added to the faces changes
_FACE: Final = re.compile(r"base64,([^)]*)\).*?font-weight: (\w+);.*?font-style: (\w+);", re.DOTALL)

# Characters that the faces get from the music font, by glyph; a music em is 4 staff spaces, set as high as
# capitals.
_ACCIDENTALS: Final = {0x266D: "E260", 0x266E: "E261", 0x266F: "E262"}
_ACCIDENTAL_SCALE: Final = 1.35
_ACCIDENTAL_BEARING: Final = 40  # white on either side, thousandths of an em
_CAPITAL_MIDDLE: Final = 0.33  # of an em; accidentals are centred there
# Spacing accents that stand in for combining ones.
_ACCENTS: Final = {
    0x0300: 0x0060,
    0x0301: 0x00B4,
    0x0302: 0x02C6,
    0x0303: 0x02DC,
    0x0304: 0x00AF,
    0x0306: 0x02D8,
    0x0307: 0x02D9,
    0x0308: 0x00A8,
    0x030A: 0x02DA,
    0x030B: 0x02DD,
    0x030C: 0x02C7,
    0x0323: 0x002E,
    0x0327: 0x00B8,
    0x0328: 0x02DB,
}
_BELOW: Final = frozenset({0x0323})  # dot below: a full stop put under the letter
_COMPOSED: Final = (*range(0x0100, 0x0250), *range(0x1E00, 0x1F00))


@cache
def serif_name(bold: bool = False, italic: bool = False) -> str:
    """The registered font of a style; reads it in when first asked for."""
    name = f"QuietleafSerif{'Bold' if bold else ''}{'Italic' if italic else ''}"
    pdfmetrics.registerFont(_font(name, bold, italic))
    return name


def text_width_pt(string: str, size_pt: float, bold: bool = False, italic: bool = False) -> float:
    """Set width of a string."""
    return 0.001 * size_pt * sum(map(_advances(bold, italic).__getitem__, string))


def set_codes(
    document: Any, string: str, bold: bool = False, italic: bool = False
) -> Iterator[tuple[str, bytes]]:
    """The string as a PDF file's subsets of a face hold it: name of the subset, codes of letters."""
    font = pdfmetrics.getFont(serif_name(bold, italic))
    for subset, codes in font.splitString(string, document):
        yield font.getSubsetInternalName(subset, document), codes


@cache
def _advances(bold: bool, italic: bool) -> "_Advances":
    return _Advances(pdfmetrics.getFont(serif_name(bold, italic)).face)


class _Advances(dict[str, float]):
    """Advance widths of letters, thousandths of the type size, each looked up once."""

    def __init__(self, face: Any) -> None:
        self._face = face

    def __missing__(self, letter: str) -> float:
        width: float = self._face.getCharWidth(ord(letter))
        self[letter] = width
        return width


def _font(name: str, bold: bool, italic: bool) -> TTFont:
    packed = (data_folder() / _FACES).read_bytes()
    key = hashlib.sha256(packed + _BUILD.encode()).hexdigest()[:16]
    file = _cache_folder() / f"serif-{key}{'-bold' if bold else ''}{'-italic' if italic else ''}.ttf"
    try:
        return TTFont(name, BytesIO(file.read_bytes()))
    except (OSError, TTFError):
        face = _unpack(packed.decode(), bold, italic)
        _keep(file, face)
        return TTFont(name, BytesIO(face))


def _cache_folder() -> Path:
    base = os.environ.get("XDG_CACHE_HOME") or os.environ.get("LOCALAPPDATA")
    return (Path(base) if base else Path.home() / ".cache") / "quietleaf"


def _keep(file: Path, face: bytes) -> None:
    """Write whole or not at all; without a cache the next run only takes a little longer."""
    try:
        file.parent.mkdir(parents=True, exist_ok=True)
        part = file.with_suffix(f".{os.getpid()}.part")
        part.write_bytes(face)
        part.replace(file)
    except OSError as error:
        log.debug("font not cached: %s", error)


def _unpack(css: str, bold: bool, italic: bool) -> bytes:
    """One face of the style sheet as TrueType, completed."""
    from fontTools.ttLib import TTFont as Face

    wanted = ("bold" if bold else "normal", "italic" if italic else "normal")
    packed = next(data for data, weight, style in _FACE.findall(css) if (weight, style) == wanted)
    face = Face(BytesIO(base64.b64decode(packed)), recalcTimestamp=False)
    face.flavor = None
    for table in ("FFTM", "GDEF", "GPOS", "GSUB"):
        if table in face:
            del face[table]
    _complete(face)
    out = BytesIO()
    face.save(out)
    return out.getvalue()


def _complete(face: Any) -> None:
    """Add accidentals and composed letters that the face lacks."""
    known = face.getBestCmap()
    for code, music in _ACCIDENTALS.items():
        outline = music_outline(music)
        if code not in known and outline:
            _add_glyph(face, code, *_accidental(face, outline))
    for code in _COMPOSED:
        parts = unicodedata.normalize("NFD", chr(code))
        if code not in known and len(parts) == 2 and ord(parts[0]) in known and ord(parts[1]) in _ACCENTS:
            _add_glyph(face, code, *_composed(face, known[ord(parts[0])], ord(parts[1])))


def _add_glyph(face: Any, code: int, glyph: Any, width: int) -> None:
    name = f"uni{code:04X}"
    face["glyf"][name] = glyph
    face["hmtx"][name] = (width, getattr(glyph, "xMin", 0))
    for table in face["cmap"].tables:
        if table.isUnicode():
            table.cmap[code] = name


def _accidental(face: Any, outline: str) -> tuple[Any, int]:
    """A music glyph as quadratic outline, and its advance."""
    from fontTools.pens.boundsPen import BoundsPen
    from fontTools.pens.cu2quPen import Cu2QuPen
    from fontTools.pens.transformPen import TransformPen
    from fontTools.pens.ttGlyphPen import TTGlyphPen
    from fontTools.svgLib.path import parse_path

    em = face["head"].unitsPerEm
    scale = em / MUSIC_EM * _ACCIDENTAL_SCALE
    bounds = BoundsPen(None)
    parse_path(outline, bounds)
    left, low, right, high = bounds.bounds
    bearing = em / MUSIC_EM * _ACCIDENTAL_BEARING
    pen = TTGlyphPen(None)
    place = (scale, 0, 0, scale, bearing - left * scale, em * _CAPITAL_MIDDLE - (low + high) / 2 * scale)
    parse_path(outline, TransformPen(Cu2QuPen(pen, max_err=1.0), place))
    glyph = pen.glyph()
    glyph.recalcBounds(face["glyf"])
    return glyph, round((right - left) * scale + 2 * bearing)


def _composed(face: Any, base: str, combining: int) -> tuple[Any, int]:
    """A letter with an accent over (or under) its middle, and its advance."""
    from fontTools.pens.ttGlyphPen import TTGlyphPen

    glyphs, accent = face["glyf"], face.getBestCmap()[_ACCENTS[combining]]
    letter, mark = glyphs[base], glyphs[accent]
    across = (letter.xMin + letter.xMax - mark.xMin - mark.xMax) / 2
    x_height = glyphs["x"].yMax
    up = -letter.yMin - mark.yMax - 80 if combining in _BELOW else max(0, letter.yMax - x_height)
    pen = TTGlyphPen(glyphs)
    pen.addComponent(base, (1, 0, 0, 1, 0, 0))
    pen.addComponent(accent, (1, 0, 0, 1, round(across), round(up)))
    glyph = pen.glyph()
    glyph.recalcBounds(glyphs)
    return glyph, face["hmtx"][base][0]


@cache
def missing_letters(string: str) -> str:
    """Letters of a string that the faces cannot show."""
    face = pdfmetrics.getFont(serif_name()).face
    return "".join(sorted({letter for letter in string if ord(letter) not in face.charToGlyph}))
