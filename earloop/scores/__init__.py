"""Score files → Line. music21 is imported only when a file is parsed."""

from earloop.scores.errors import ScoreError
from earloop.scores.load import ScorePart, list_parts, list_tunes, load_line

__all__ = ["ScoreError", "ScorePart", "list_parts", "list_tunes", "load_line"]
