"""Conversions between units; the only module that knows the factors.

Lengths: millimetre (`_mm`), PDF point (`_pt`, 1/72 in), inch (`_in`), staff space (`_sp`, a quarter of the staff
height), tenth (`_tenths`, MusicXML: 40 tenths a staff).  Musical time: quarter length (`_ql`, Fraction).
"""

from typing import Final

MM_PER_INCH: Final = 25.4
PT_PER_INCH: Final = 72.0
SPACES_PER_STAFF: Final = 4.0
TENTHS_PER_STAFF: Final = 40.0


def mm_to_pt(length_mm: float) -> float:
    """Millimetres to PDF points."""
    return length_mm * PT_PER_INCH / MM_PER_INCH


def pt_to_mm(length_pt: float) -> float:
    """PDF points to millimetres."""
    return length_pt * MM_PER_INCH / PT_PER_INCH


def in_to_mm(length_in: float) -> float:
    """Inches to millimetres."""
    return length_in * MM_PER_INCH


def mm_to_in(length_mm: float) -> float:
    """Millimetres to inches."""
    return length_mm / MM_PER_INCH


def sp_to_mm(length_sp: float, staff_mm: float) -> float:
    """Staff spaces to millimetres at a staff size."""
    return length_sp * staff_mm / SPACES_PER_STAFF


def mm_to_sp(length_mm: float, staff_mm: float) -> float:
    """Millimetres to staff spaces at a staff size."""
    return length_mm * SPACES_PER_STAFF / staff_mm


def mm_to_tenths(length_mm: float, staff_mm: float) -> float:
    """Millimetres to MusicXML tenths at a staff size."""
    return length_mm * TENTHS_PER_STAFF / staff_mm
