"""Paper for the stand: a layer or the whole reading as MusicXML."""

from earloop.sheet.musicxml import musicxml, write_musicxml

__all__ = ["musicxml", "write_musicxml"]
