"""What a melody is: spelled pitches, tones with their marks, and the line they make."""

from earloop.line.line import Columns, Line, Meter, Span
from earloop.line.pitch import Pitch
from earloop.line.tone import Marks, OtherTone, Tone

__all__ = ["Columns", "Line", "Marks", "Meter", "OtherTone", "Pitch", "Span", "Tone"]
