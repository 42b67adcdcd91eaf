"""Pages, guide and pictures on paper; the only package that writes PDF."""

from optimizer.press.booklet import print_pages
from optimizer.press.chart import chart_sheets, draw_chart
from optimizer.press.ensemble import ensemble_sheets, print_ensemble
from optimizer.press.guide import guide_sheets, print_guide
from optimizer.press.label import label_sheets, print_label
from optimizer.press.page import overflowing_pages, page_geometry, place_pages
from optimizer.press.placing import PageOverflowError, PlacedSystem, overflow_mm, place_systems
from optimizer.press.turnsheet import print_turn_sheet, turn_sheet
from optimizer.press.warnings import warnings

__all__ = [
    "PageOverflowError",
    "PlacedSystem",
    "chart_sheets",
    "draw_chart",
    "ensemble_sheets",
    "guide_sheets",
    "label_sheets",
    "overflow_mm",
    "overflowing_pages",
    "page_geometry",
    "place_pages",
    "place_systems",
    "print_ensemble",
    "print_guide",
    "print_label",
    "print_pages",
    "print_turn_sheet",
    "turn_sheet",
    "warnings",
]
