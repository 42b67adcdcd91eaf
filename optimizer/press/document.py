"""A PDF file at true size: pages as large as the paper, printed at 100 %, the same bytes for the same
content.

In: a path or binary file, what the document is about, then page after page.  Out: the file.  Always true:
metadata names nothing of the machine, no date changes between runs, and bookmarks never skip a level.
"""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
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
PDF_VERSION: Final = (1, 4)

# Streams stay binary: text encoding would make files larger and takes as long as painting them.
rl_config.useA85 = 0


@dataclass(frozen=True, slots=True)
class About:
    """What the document's metadata says."""

    title: str
    author: str
    subject: str


@dataclass(frozen=True, slots=True)
class _Bookmark:
    place: int
    key: str
    title: str
    level: int


class Document:
    """Pages in a row; `canvas` is there for painters that draw music."""

    def __init__(self, target: Target, about: About) -> None:
        where = str(target) if isinstance(target, Path) else target
        self.canvas = Canvas(
            where, pageCompression=1, invariant=1, initialFontName=serif_name(), pdfVersion=PDF_VERSION
        )
        self.canvas.setTitle(about.title)
        self.canvas.setAuthor(about.author)
        self.canvas.setSubject(about.subject)
        self.canvas.setCreator(CREATOR)
        self.canvas.setViewerPreference("PrintScaling", "None")
        self.canvas.setViewerPreference("DisplayDocTitle", "true")
        self._height_mm = 0.0
        self._shift_mm = 0.0
        self._upside_down = False
        self._pages = 0
        self._bookmarks: list[_Bookmark] = []

    def begin_page(
        self, width_mm: float, height_mm: float, label: str = "", upside_down: bool = False
    ) -> None:
        """Start a page; `label` is what a viewer calls it."""
        if self._pages:
            self.canvas.showPage()
        self._height_mm, self._upside_down = height_mm, upside_down
        self.canvas.setPageSize((mm_to_pt(width_mm), mm_to_pt(height_mm)))
        if upside_down:
            self.canvas.translate(mm_to_pt(width_mm), mm_to_pt(height_mm))
            self.canvas.rotate(180)
        if label:
            self.canvas.addPageLabel(self._pages, prefix=label)
        self._pages += 1

    @contextmanager
    def shifted(self, right_mm: float) -> Iterator[None]:
        """Everything drawn inside stands so much farther right."""
        self.canvas.saveState()
        self.canvas.translate(mm_to_pt(right_mm), 0)
        self._shift_mm = right_mm
        yield
        self._shift_mm = 0.0
        self.canvas.restoreState()

    def draw(self, figures: Sequence[Figure]) -> None:
        """Draw plain shapes on the current page."""
        paint_figures(self.canvas, self._height_mm, figures)

    def bookmark(self, title: str, level: int, top_mm: float = 0.0, place: int = 0) -> None:
        """An entry of the outline that leads to the current page, `top_mm` from its upper edge. Entries are listed by
        `place`, those of the same one in the order of these calls."""
        key = f"mark{len(self._bookmarks)}"
        self._bookmarks.append(_Bookmark(place, key, title, level))
        left_pt = 0.0 if self._upside_down else mm_to_pt(self._shift_mm)
        down_mm = 0.0 if self._upside_down else top_mm
        top_pt = mm_to_pt(self._height_mm - down_mm)
        self.canvas.bookmarkPage(key, fit="XYZ", left=left_pt, top=top_pt, zoom=0)

    def close(self) -> None:
        """Write the file."""
        level = -1
        for mark in sorted(self._bookmarks, key=lambda mark: mark.place):
            level = min(mark.level, level + 1)
            self.canvas.addOutlineEntry(mark.title, mark.key, level=level, closed=level > 0)
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
