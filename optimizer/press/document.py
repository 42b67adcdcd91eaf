"""A PDF file at true size: pages as large as the paper, printed at 100 %, the same bytes for the same
content.

In: a path or binary file, what the document is about, then page after page.  Out: the file.  Always true:
metadata names nothing of the machine, no date changes between runs, and bookmarks never skip a level.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import IO, Final

from reportlab import rl_config
from reportlab.pdfgen.canvas import Canvas

from optimizer.press.figures import Figure, Sheet, paint_figures
from optimizer.press.fonts import serif_name
from optimizer.units import mm_to_pt

Target = Path | str | IO[bytes]

CREATOR: Final = "quietleaf"

# Streams stay binary: text encoding would make files larger and takes as long as painting them.
rl_config.useA85 = 0


@dataclass(frozen=True, slots=True)
class About:
    """What the document's metadata says."""

    title: str
    author: str
    subject: str


class Document:
    """Pages in a row; `canvas` is there for painters that draw music."""

    def __init__(self, target: Target, about: About) -> None:
        where = str(target) if isinstance(target, Path) else target
        self.canvas = Canvas(where, pageCompression=1, invariant=1, initialFontName=serif_name())
        self.canvas.setTitle(about.title)
        self.canvas.setAuthor(about.author)
        self.canvas.setSubject(about.subject)
        self.canvas.setCreator(CREATOR)
        self.canvas.setViewerPreference("PrintScaling", "None")
        self.canvas.setViewerPreference("DisplayDocTitle", "true")
        self._height_mm = 0.0
        self._pages = 0
        self._bookmarks = 0
        self._level = -1

    def begin_page(self, width_mm: float, height_mm: float, number: int | None = None) -> None:
        """Start a page; `number` is what a viewer shows as its page number."""
        if self._pages:
            self.canvas.showPage()
        self._height_mm = height_mm
        self.canvas.setPageSize((mm_to_pt(width_mm), mm_to_pt(height_mm)))
        if number is not None:
            self.canvas.addPageLabel(self._pages, style="ARABIC", start=number)
        self._pages += 1

    def draw(self, figures: Sequence[Figure]) -> None:
        """Draw plain shapes on the current page."""
        paint_figures(self.canvas, self._height_mm, figures)

    def bookmark(self, title: str, level: int, top_mm: float = 0.0) -> None:
        """An entry of the outline that leads to the current page, `top_mm` from its upper edge."""
        key = f"mark{self._bookmarks}"
        self._bookmarks += 1
        self._level = min(level, self._level + 1)
        self.canvas.bookmarkPage(key, fit="XYZ", left=0, top=mm_to_pt(self._height_mm - top_mm), zoom=0)
        self.canvas.addOutlineEntry(title, key, level=self._level, closed=self._level > 0)

    def close(self) -> None:
        """Write the file."""
        if self._bookmarks:
            self.canvas.showOutline()
        self.canvas.save()


def print_sheets(target: Target, about: About, sheets: Sequence[Sheet]) -> None:
    """A document of nothing but figures."""
    document = Document(target, about)
    for sheet in sheets:
        document.begin_page(sheet.width_mm, sheet.height_mm)
        document.draw(sheet.figures)
    document.close()
