"""Whether a source that was named is there, without listening to it."""

from __future__ import annotations

from pathlib import Path

from earloop.capture.microphone import microphone_there
from earloop.capture.sources import HOW_TO_BE_HEARD, Source, SourceError
from earloop.hearing.take import TakeError, check_take
from earloop.sounding.midi_port import port_there
from earloop.sounding.outputs import OutputError


def check_there(source: Source) -> None:
    """Raises SourceError with a sentence. The system's own microphone may be plugged in later: it isn't looked for."""
    if not source.name:
        return
    try:
        if source.kind == "midi":
            port_there(source.name, "in")
        elif source.kind == "file":
            check_take(Path(source.name))
        elif source.kind == "microphone":
            microphone_there(source)
    except OutputError as error:
        raise SourceError(f"{error}; {HOW_TO_BE_HEARD}") from error
    except TakeError as error:
        raise SourceError(str(error)) from error
