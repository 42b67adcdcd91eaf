"""The small toolkit and the pieces from which `scripts/make_corpora` writes the scores in `corpora/`.

`notation` turns compact strings into notes, `piece` holds sections, parts and marks, `musicxml` writes them; every
other module is one piece.
"""
