"""One plain engraving pass of a score: load, automatic breaks, all pages to SVG. The yardstick of scripts/bench."""

import sys

import verovio


def engrave(path: str) -> int:
    """Engraves a file; returns the number of pages."""
    verovio.enableLog(verovio.LOG_OFF)
    toolkit = verovio.toolkit()
    toolkit.setOptions({"pageWidth": 2100, "pageHeight": 2970, "scale": 40, "breaks": "auto"})
    if not toolkit.loadFile(path):
        raise SystemExit(f"{path}: cannot be engraved")
    return sum(1 for number in range(1, toolkit.getPageCount() + 1) if toolkit.renderToSVG(number))


if __name__ == "__main__":
    print(engrave(sys.argv[1]))
