"""The small toolkit and the pieces from which `scripts/make_corpora` writes the scores in `corpora/`.

`notation` turns compact strings into notes, `piece` holds sections, parts and marks, `rules` decides beams
and accidentals, `marks` and `musicxml` write them with `xml`;
every other module is one piece, and `scenario` says where they are played.
"""
