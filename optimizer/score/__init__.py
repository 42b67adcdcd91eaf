"""What is played: MusicXML in, notes with exact onsets, tempo and playing order out."""

from optimizer.score.events import SoundingNote, clock_s, played_notes, sounding_notes
from optimizer.score.load import ScoreFile, load_file
from optimizer.score.model import Score
from optimizer.score.read import read_score, score_from
from optimizer.score.rewrite import PageBox, with_breaks, with_layout

__all__ = [
    "PageBox",
    "Score",
    "ScoreFile",
    "SoundingNote",
    "clock_s",
    "load_file",
    "played_notes",
    "read_score",
    "score_from",
    "sounding_notes",
    "with_breaks",
    "with_layout",
]
