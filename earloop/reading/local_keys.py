"""The little key each gesture is heard in: a gesture repeated at another pitch keeps its degrees.

First the key of the passage, home unless the line modulates (`local_passages`); then a gesture that repeats an earlier
one (`local_repeats`) reads as that one read. Keys that were decided stand, and copies of a decided gesture follow it.
"""

from __future__ import annotations

import numpy as np

from earloop.line import Line, Span
from earloop.line.counted import counted
from earloop.reading.decisions import NONE_DECIDED, Decisions
from earloop.reading.degrees import heights_of, places_for
from earloop.reading.local_passages import key_at, passage_keys
from earloop.reading.local_repeats import find_repeats, key_of_copy
from earloop.reading.record import Key, LocalKey, Tonic

_SURE_AT_NONE, _SURE_PER_NAT = 0.1, 0.3
"""Log-odds of a passage's key by its lead over the next best: as often as it agreed with the chorales' analyses."""


def find_local_keys(
    line: Line, home: Tonic, gestures: tuple[Span, ...], decided: Decisions = NONE_DECIDED
) -> tuple[LocalKey, ...]:
    """One local key a gesture, in order."""
    columns = line.columns
    places = columns.fifths if line.spelled else places_for(columns, home.key)
    heights = columns.height if line.spelled else heights_of(columns.midi, places)
    fixed = decided_keys(gestures, decided)
    numbers, leads = passage_keys(columns, home.key, gestures, fixed)
    repeats = find_repeats(columns, heights, gestures)
    table = [key_at(number, home.key) for number in range(24)]
    chosen = [table[number] for number in numbers.tolist()]
    chances = (home.sure / (1.0 + np.exp(-_SURE_AT_NONE - _SURE_PER_NAT * leads))).tolist()
    out: list[LocalKey] = []
    for index, span in enumerate(gestures):
        repeat = repeats[index]
        found = LocalKey(span, chosen[index], chances[index])
        if index in fixed:
            found = LocalKey(span, fixed[index], 1.0)
        elif repeat is not None:
            model = out[repeat.model]
            own = places[span.first : span.last + 1]
            theirs = places[model.span.first : model.span.last + 1]
            copied = key_of_copy((theirs, model.key), own, repeat, chosen[index])
            found = LocalKey(span, copied, repeat.sure * model.sure, model.span)
        out.append(found)
    return tuple(out)


def why_local(line: Line, local: LocalKey, home: Key) -> str:
    """One plain sentence: why the gesture is heard in this key. Tones are counted from 1."""
    name, columns = local.key.name, line.columns
    if local.model is not None:
        model = local.model
        semitones = int(columns.midi[local.span.first] - columns.midi[model.first])
        where = f"tones {model.first + 1} to {model.last + 1}"
        if semitones == 0:
            return f"{name}: it repeats {where} and reads as they do."
        way = "higher" if semitones > 0 else "lower"
        count = counted(abs(semitones), "semitone")
        return f"{name}: it repeats {where} {count} {way} and keeps their degrees."
    if local.key == home:
        return f"{name}: nothing leads away from the home key here."
    if local.sure == 1.0:
        return f"{name}: so decided."
    close = (int(columns.midi[local.span.last]) - local.key.pc) % 12 == 0
    ending = " and it closes on that tonic" if close else ""
    return f"{name}: the passage around it keeps to that scale rather than to {home.name}{ending}."


def decided_keys(gestures: tuple[Span, ...], decided: Decisions) -> dict[int, Key]:
    """The decided key of each gesture that one rules, by the gesture's place; later decisions win.

    A key rules every gesture it shares at least half of the tones with, or that holds half of its own.
    """
    fixed: dict[int, Key] = {}
    for span, key in decided.local:
        for index, own in enumerate(gestures):
            shared = min(own.last, span.last) - max(own.first, span.first) + 1
            if shared > 0 and 2 * shared >= min(len(own), len(span)):
                fixed[index] = key
    return fixed
