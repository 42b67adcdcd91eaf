"""compare.html: all alternatives of a comparison in one file that needs nothing else."""

from optimizer.compare.web.page import write_page

__all__ = ["write_page"]
