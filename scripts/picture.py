"""The picture in the README: the first two spreads of a song as they lie on the desk of an upright piano."""

import tempfile
from pathlib import Path

import pypdfium2
from PIL import Image, ImageDraw

from optimizer.pipeline import prepare
from optimizer.settings import DESKS, Settings

ROOT = Path(__file__).resolve().parent.parent
SCORE = ROOT / "corpora" / "harbour-song.musicxml"
TARGET = ROOT / "corpora" / "spread.png"
DOTS_PER_INCH = 58
AROUND = 24  # pixels of table round a spread
TABLE, PAPER_EDGE = (226, 221, 212), (150, 146, 138)


def main() -> None:
    """Prepares the song in a temporary folder and draws its first two spreads below one another."""
    with tempfile.TemporaryDirectory() as name:
        made = prepare(SCORE, Path(name), Settings(desk=DESKS["upright"]))
        document = pypdfium2.PdfDocument(Path(name) / "pages.pdf")
        pages = [page.render(scale=DOTS_PER_INCH / 72).to_pil().convert("RGB") for page in document]
    first = made.plan.pages[0].number
    spreads = [_spread([pages[number - first] for number in spread]) for spread in made.plan.spreads[:2]]
    width = max(spread.width for spread in spreads)
    picture = Image.new("RGB", (width, sum(spread.height for spread in spreads)), TABLE)
    top = 0
    for spread in spreads:
        picture.paste(spread, ((width - spread.width) // 2, top))
        top += spread.height
    picture.quantize(32, dither=Image.Dither.NONE).save(TARGET, optimize=True)


def _spread(pages: list[Image.Image]) -> Image.Image:
    wide, high = pages[0].size
    spread = Image.new("RGB", (wide * len(pages) + 2 * AROUND, high + 2 * AROUND), TABLE)
    for slot, page in enumerate(pages):
        left = AROUND + slot * wide
        spread.paste(page, (left, AROUND))
        ImageDraw.Draw(spread).rectangle((left, AROUND, left + wide, AROUND + high), outline=PAPER_EDGE)
    return spread


if __name__ == "__main__":
    main()
