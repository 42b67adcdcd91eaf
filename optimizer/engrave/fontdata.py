"""Letter sizes and outlines out of the engraving library's data folder, without loading the library.

In: the folder.  Out: `TextMetrics` and glyph outlines.  Units: whatever the type size is given in.
"""

import re
from functools import cache
from importlib.util import find_spec
from pathlib import Path
from typing import Final

MUSIC_FONT: Final = "Leipzig"
MUSIC_EM: Final = 1000  # units of its em
FIRST_MUSIC_SIGN: Final = 0xE000  # SMuFL uses the private use area

_LETTER: Final = re.compile(
    r'<g c="([0-9A-F]+)" x="([-\d.]+)" y="([-\d.]+)" w="([-\d.]+)" h="([-\d.]+)"(?: h-a-x="([-\d.]+)")?'
)
_OUTLINE: Final = re.compile(r'<path transform="scale\(1,-1\)" d="([^"]*)"')

# A space in the music font parts a note of a metronome mark from its dot, parts of the type size; by eye.
MUSIC_SPACE: Final = 0.05

# The data leaves out the advance that is the most frequent one in a face; parts of the type size.
_USUAL_ADVANCE: Final = {True: 0.5, False: 1479 / 2048}  # of italics, of upright letters
_NO_BREAK_SPACE: Final = "\xa0"  # the data does not have it

# advance, height above and depth below the baseline; parts of the type size
_Letter = tuple[float, float, float]


def data_folder() -> Path:
    """Where the library keeps its fonts."""
    spec = find_spec("verovio")
    if spec is None or not spec.submodule_search_locations:
        raise RuntimeError("the engraving library is not installed")
    return Path(spec.submodule_search_locations[0]) / "data"


@cache
def _letters(file: str) -> dict[str, _Letter]:
    text = (data_folder() / file).read_text(encoding="utf-8")
    match = re.search(r'units-per-em="(\d+)"', text)
    em = float(match[1]) if match else 1000.0
    letters: dict[str, _Letter] = {}
    usual = _USUAL_ADVANCE["italic" in file] * em
    for code, x, y, width, height, advance in _LETTER.findall(text):
        right = float(advance or (usual if file.startswith("text/") else float(x) + float(width)))
        letters[_character(code)] = (right / em, (float(y) + float(height)) / em, -float(y) / em)
    if " " in letters:
        letters[_NO_BREAK_SPACE] = letters[" "]
    return letters


def _character(code: str) -> str:
    """The data names text letters by their UTF-8 bytes, music signs by code point."""
    number = int(code, 16)
    return chr(number) if number >= FIRST_MUSIC_SIGN else bytes.fromhex(code).decode()


class TextMetrics:
    """Sizes of strings as they are printed. The library itself reckons some letters wider or narrower."""

    def width(self, string: str, size: float, bold: bool, italic: bool, music: bool) -> float:
        """Advance width of a string."""
        letters = _letters(f"{MUSIC_FONT}.xml") if music else _letters(_text_file(bold, italic))
        # Small "o" is the library's own stand-in for letters it does not know; the music font has no space.
        stand_in = MUSIC_SPACE if music else letters.get("o", (0.5, 0.0, 0.0))[0]
        return size * sum(letters[letter][0] if letter in letters else stand_in for letter in string)

    def extent(self, string: str, size: float, bold: bool, italic: bool) -> tuple[float, float]:
        """Ink above and below the baseline."""
        letters = _letters(_text_file(bold, italic))
        fallback = letters.get("k", (0.5, 0.7, 0.0))
        known = [letters.get(letter, fallback) for letter in string]
        return size * max(letter[1] for letter in known), size * max(0.0, *(letter[2] for letter in known))


def _text_file(bold: bool, italic: bool) -> str:
    style = "".join(("-bold" if bold else "", "-italic" if italic else ""))
    return f"text/Times{style}.xml"


@cache
def music_outline(name: str) -> str | None:
    """Outline of a music glyph by its code point ("E1D5"), y downwards; None where the font lacks it."""
    file = data_folder() / MUSIC_FONT / f"{name}.xml"
    if not file.is_file():
        return None
    match = _OUTLINE.search(file.read_text(encoding="utf-8"))
    return match[1] if match else None
