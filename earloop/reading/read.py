"""Run the readers in their order: each sees what the earlier ones found, and nothing reaches back."""

from __future__ import annotations

from collections.abc import Callable
from typing import ParamSpec, TypeVar, cast

from earloop.line import Line
from earloop.reading.decisions import NONE_DECIDED, Decisions
from earloop.reading.degrees import degrees_in, local_degrees
from earloop.reading.gestures import find_gestures
from earloop.reading.leans import find_leans
from earloop.reading.links import find_links
from earloop.reading.local_keys import find_local_keys
from earloop.reading.motives import find_motives
from earloop.reading.phrases import find_phrases
from earloop.reading.record import Reading
from earloop.reading.tonic import find_tonic
from earloop.reading.voices import find_voices
from earloop.reading.weights import decided_weights, grow_weights

Inputs = ParamSpec("Inputs")
Found = TypeVar("Found")


def read(line: Line, decided: Decisions = NONE_DECIDED) -> Reading:
    """Propose a reading of any line of one tone or more, around what has been decided. Never raises."""
    return Readers(line).read(decided)


class Readers:
    """The readers of one line. Reading again, only those run whose inputs differ from the last time's.

    A reader is a plain function and is shown no more of the decisions than concerns it, so this is the same reading
    as one from anew. For one thread at a time.
    """

    def __init__(self, line: Line) -> None:
        self.line = line
        self._last: dict[object, tuple[tuple[object, ...], object]] = {}

    def read(self, decided: Decisions = NONE_DECIDED) -> Reading:
        """The whole reading around what has been decided."""
        line, run = self.line, self._run
        home = run(find_tonic, line, Decisions(home=decided.home))
        phrases, phrase_sure = run(find_phrases, line, home, Decisions(phrase_ends=decided.phrase_ends))
        gestures = run(find_gestures, line, phrases, Decisions(gesture_ends=decided.gesture_ends))
        local = run(find_local_keys, line, home, gestures, Decisions(local=decided.local))
        degrees = run(degrees_in, line.columns, home.key, line.spelled)
        own = run(local_degrees, line.columns, local, line.spelled)
        voices, voice_sure = run(find_voices, line, Decisions(voices=decided.voices))
        tree = Decisions(levels=decided.levels, decorates=decided.decorates)
        weights = run(decided_weights, run(grow_weights, line, home, phrases, degrees, voices), tree)
        leans = run(find_leans, line, degrees, own, voices, Decisions(leans=decided.leans))
        motives = run(find_motives, line, phrases, gestures)
        joined = Decisions(links=decided.links, bridges=decided.bridges)
        links, chains, bridges = run(find_links, line, phrases, voices, weights, joined, voice_sure)
        return Reading(
            line=line,
            home=home,
            phrases=phrases,
            phrase_sure=phrase_sure,
            gestures=gestures,
            local=local,
            degrees=degrees,
            local_degrees=own,
            voices=voices,
            voice_sure=voice_sure,
            weights=weights,
            leans=leans,
            motives=motives,
            links=links,
            chains=chains,
            bridges=bridges,
            words=tuple(sorted(decided.words.items())),
        )

    def _run(self, reader: Callable[Inputs, Found], *inputs: Inputs.args, **named: Inputs.kwargs) -> Found:
        last = self._last.get(reader)
        if last is not None and last[0] == inputs:
            return cast(Found, last[1])
        found = reader(*inputs, **named)
        self._last[reader] = (inputs, found)
        return found
