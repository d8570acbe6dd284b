"""What is listened to: a microphone by name, a MIDI keyboard, or a recording played in as though it were sung now."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

SourceKind = Literal["microphone", "midi", "file", "nothing"]
HOW_TO_BE_HEARD = "plug in a microphone, or choose a MIDI keyboard or a recording (earloop ports lists what is there)"


class SourceError(Exception):
    """A source can't be opened; the message says which and what to do."""


@dataclass(frozen=True, slots=True)
class Source:
    """`name` is a device's, a port's or a file's; empty for a microphone: the system's own choice.

    `backend` forces one of miniaudio's backends by name, such as `null`, which hears silence in real time.
    """

    kind: SourceKind = "microphone"
    name: str = ""
    backend: str = ""

    @property
    def sentence(self) -> str:
        """What is listened to, for people."""
        if self.kind == "nothing":
            return "nothing"
        if self.kind == "microphone":
            return f"microphone {self.name}" if self.name else "microphone"
        return f"{'keyboard' if self.kind == 'midi' else 'recording'} {self.name}"


NOTHING = Source("nothing")


def source_named(word: str) -> Source:
    """`midi:NAME`, `file:PATH`, `none`, or a microphone's name; an empty word is the system's own microphone."""
    kind, colon, name = word.partition(":")
    if colon and kind == "midi":
        return Source("midi", name.strip())
    if colon and kind == "file":
        return Source("file", name)
    return NOTHING if word in ("none", "nothing") else Source("microphone", word)
