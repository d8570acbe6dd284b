"""earloop: learn to hear a melody played alone before playing it."""

__version__ = "0.1.0"
