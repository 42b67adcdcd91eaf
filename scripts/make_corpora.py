"""Writes every score in corpora/ anew; the bytes are the same every time.

Usage: scripts/make_corpora [DIR]     (default: corpora/)
"""

import sys
from pathlib import Path

from composing import harbour_band, harbour_song, lanterns, nets, night_ferry, pictures, three_lamps
from composing.musicxml import to_mxl, to_xml

PIECES = (harbour_song, harbour_band, nets, lanterns, pictures, night_ferry, three_lamps)
ALSO_COMPRESSED = {nets}
CORPORA = Path(__file__).resolve().parent.parent / "corpora"


def main(folder: Path) -> None:
    """All pieces into a folder."""
    folder.mkdir(parents=True, exist_ok=True)
    for module in PIECES:
        piece = module.piece()
        xml = to_xml(piece)
        files = {piece.file: xml}
        if module in ALSO_COMPRESSED:
            files[str(Path(piece.file).with_suffix(".mxl"))] = to_mxl(piece.file, xml)
        for name, data in files.items():
            (folder / name).write_bytes(data)
            print(f"{name}: {sum(section.length for section in piece.sections)} bars, {len(data)} bytes")


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else CORPORA)
