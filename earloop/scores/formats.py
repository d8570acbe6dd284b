"""What a score file may be: its endings, and how large it may be."""

from __future__ import annotations

LARGEST = 50 * 1024 * 1024
"""Bytes. A melody's score is a few kilobytes; anything above this is no score, or would freeze the screen."""

FORMATS = {
    ".musicxml": "musicxml",
    ".xml": "musicxml",
    ".mxl": "musicxml",
    ".abc": "abc",
    ".krn": "humdrum",
    ".mid": "midi",
    ".midi": "midi",
    ".mei": "mei",
}
ENDINGS = ".musicxml, .xml, .mxl, .abc, .krn, .mid, .midi or .mei"
