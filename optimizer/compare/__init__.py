"""Alternatives side by side: which staff size, how many pages, which pattern, upright or grand."""

from optimizer.compare.model import Alternative, Choices, Comparison, Drawing, Merits, Tally

__all__ = ["Alternative", "Choices", "Comparison", "Drawing", "Merits", "Tally"]
