"""Run the readers in their order: each sees what the earlier ones found, and nothing reaches back."""

from __future__ import annotations

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
from earloop.reading.weights import find_weights


def read(line: Line, decided: Decisions = NONE_DECIDED) -> Reading:
    """Propose a reading of any line of one tone or more, around what has been decided. Never raises."""
    home = find_tonic(line, decided)
    phrases, phrase_sure = find_phrases(line, home, decided)
    gestures = find_gestures(line, phrases, decided)
    local = find_local_keys(line, home, gestures, decided)
    degrees = degrees_in(line.columns, home.key, line.spelled)
    own = local_degrees(line.columns, local, line.spelled)
    voices, voice_sure = find_voices(line, phrases, decided)
    weights = find_weights(line, home, phrases, degrees, voices, decided)
    leans = find_leans(line, gestures, own, voices, weights, decided)
    motives = find_motives(line, phrases, gestures, weights)
    links, chains, bridges = find_links(line, phrases, voices, weights, decided)
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
