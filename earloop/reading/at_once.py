"""What a decision changes at once, before the slow readers have read around it.

The slow columns (phrases, local keys, lines, weights, motives) are taken from the reading so far with the decision put
in; of the quick readers (gestures, degrees, leans, links) those run whose inputs the decision changes. So the picture
shows every decision as it was made, and an act that follows builds on it. Only `read` says what else changes.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from itertools import pairwise
from typing import Any

from earloop.line import Span
from earloop.reading.decisions import Decisions
from earloop.reading.degrees import degrees_in, local_degrees
from earloop.reading.gestures import find_gestures
from earloop.reading.leans import find_leans
from earloop.reading.links import find_links
from earloop.reading.local_keys import decided_keys
from earloop.reading.record import DEEPEST, LocalKey, Reading, Voice, Weights
from earloop.reading.tonic import find_tonic

QUICK = frozenset(("leans", "links", "bridges", "words", "unplaced"))
"""Decisions that no slow reader sees: for these, what is there at once is the whole reading."""


def is_whole(before: Decisions, decided: Decisions) -> bool:
    """Whether `at_once`, from the readers' own reading of `before`, gives that of `decided`."""
    return all(getattr(before, name) == getattr(decided, name) for name in Decisions.__slots__ if name not in QUICK)


def at_once(shown: Reading, before: Decisions, decided: Decisions) -> Reading:
    """The reading shown so far, of the decisions `before`, with those of `decided` put in. Never raises."""
    line = shown.line
    home = shown.home
    if decided.home and decided.home != home.key:
        home = find_tonic(line, decided)
    degrees = shown.degrees if home is shown.home else degrees_in(line.columns, home.key, line.spelled)
    phrases, phrase_sure = _phrases(shown, _new(before.phrase_ends, decided.phrase_ends))
    gestures = shown.gestures
    if phrases != shown.phrases or before.gesture_ends != decided.gesture_ends:
        gestures = find_gestures(line, phrases, decided)
    local = _local(shown, gestures, decided if before.local != decided.local else Decisions())
    own = shown.local_degrees if local is shown.local else local_degrees(line.columns, local, line.spelled)
    voices = _voices(shown, _new(before.voices, decided.voices))
    weights = _weights(shown.weights, before, decided)
    leans, joined = shown.leans, (shown.links, shown.chains, shown.bridges)
    heard = (degrees, own, voices) != (shown.degrees, shown.local_degrees, shown.voices)
    if heard or before.leans != decided.leans:
        leans = find_leans(line, degrees, own, voices, decided)
    links_decided = before.links != decided.links or before.bridges != decided.bridges
    if links_decided or (phrases, voices, weights) != (shown.phrases, shown.voices, shown.weights):
        joined = find_links(line, phrases, voices, weights, decided, shown.voice_sure)
    links, chains, bridges = joined
    return replace(
        shown,
        home=home,
        phrases=phrases,
        phrase_sure=phrase_sure,
        gestures=gestures,
        local=local,
        degrees=degrees,
        local_degrees=own,
        voices=voices,
        weights=weights,
        leans=leans,
        links=links,
        chains=chains,
        bridges=bridges,
        words=tuple(sorted(decided.words.items())),
    )


def _new(before: Mapping[int, Any], decided: Mapping[int, Any]) -> dict[int, Any]:
    """What was decided anew or otherwise; what is decided no longer waits for the readers."""
    return {k: v for k, v in decided.items() if k not in before or before[k] != v}


def _phrases(shown: Reading, changed: Mapping[int, bool]) -> tuple[tuple[Span, ...], tuple[float, ...]]:
    last = len(shown) - 1
    if not changed:
        return shown.phrases, shown.phrase_sure
    sure = {span.last: value for span, value in zip(shown.phrases, shown.phrase_sure, strict=True)}
    for index, on in changed.items():
        if on and 0 <= index < last:
            sure[index] = 1.0
        elif not on and index != last:
            sure.pop(index, None)
    ends = sorted(sure)
    spans = tuple(Span(first + 1, end) for first, end in pairwise((-1, *ends)))
    return spans, tuple(sure[end] for end in ends)


def _local(shown: Reading, gestures: tuple[Span, ...], decided: Decisions) -> tuple[LocalKey, ...]:
    """Each gesture in the key its first tone was heard in, or in the one decided for it."""
    fixed = decided_keys(gestures, decided)
    out = []
    old = 0
    for index, span in enumerate(gestures):
        while shown.local[old].span.last < span.first:
            old += 1
        was = shown.local[old]
        if index in fixed:
            out.append(LocalKey(span, fixed[index], 1.0))
        else:
            out.append(was if was.span == span else replace(was, span=span))
    return shown.local if out == list(shown.local) else tuple(out)


def _voices(shown: Reading, changed: Mapping[int, Voice]) -> tuple[Voice, ...]:
    if not changed:
        return shown.voices
    voices = list(shown.voices)
    for index, voice in changed.items():
        if 0 <= index < len(voices):
            voices[index] = voice
    return tuple(voices)


def _weights(weights: Weights, before: Decisions, decided: Decisions) -> Weights:
    levels, decorates = _new(before.levels, decided.levels), _new(before.decorates, decided.decorates)
    if not levels and not decorates:
        return weights
    size = len(weights.level)
    level, parent, sure = list(weights.level), list(weights.parent), list(weights.sure)
    for index, value in levels.items():
        if 0 <= index < size:
            level[index], sure[index] = max(0, min(DEEPEST, value)), 1.0
    for index, host in decorates.items():
        if 0 <= index < size and 0 <= host < size and parent[index] >= 0 and not _hangs_on(parent, host, index):
            parent[index] = host
    return replace(weights, level=tuple(level), parent=tuple(parent), sure=tuple(sure))


def _hangs_on(parent: list[int], tone: int, above: int) -> bool:
    """Whether `above` is the tone or one of those it hangs on: a tree has no rings."""
    while tone >= 0 and tone != above:
        tone = parent[tone]
    return tone == above
