"""In which key each gesture's passage stands: the home key, until other accidentals and a close say otherwise.

A chain of keys over the gestures (Temperley, Music and Probability, 2007, chapter 6): each gesture has a likelihood in
every key, and changing the key costs, so that a single altered tone moves nothing. Part of the likelihood is what
finds a home key (`tonic_evidence`, weighed by `local_profiles`), part how often each degree occurs in the segments of a
harmony textbook's examples (Temperley's count of Kostka & Payne). A gesture that ends by step on a tonic speaks for
that tonic (common practice, no source). The costs were set on the soprano and bass lines of 17 Bach chorales against
the keys in music21's RomanText analyses, and on folk songs, which mostly stay at home. A passage too short to be heard
as a key goes to the key beside it.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from earloop.line import Columns, Span
from earloop.reading.local_profiles import MINOR_AGAINST_MAJOR, PROFILES
from earloop.reading.record import Key
from earloop.reading.tonic_evidence import by_class, key_scores, plain_evidence, relative_time

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

MAJOR = (0.748, 0.060, 0.488, 0.082, 0.670, 0.460, 0.096, 0.715, 0.104, 0.366, 0.057, 0.400)
MINOR = (0.712, 0.084, 0.474, 0.618, 0.049, 0.460, 0.105, 0.747, 0.404, 0.067, 0.133, 0.330)
FOUND, TEXTBOOK, CLOSE = 1.2, 1.9, 1.9
"""How far each part of the likelihood is believed, and what a close by step on a tonic gains, in long gestures."""
_SCALE_OF_LENGTH = 8.0
"""Tones of a gesture that is believed half as much as a long one."""
CHANGE = 1.0
"""Cost of a change of key, in nats."""
AWAY, FAR = 1.5, 0.4
"""Cost of each gesture in another key than home, and for each fifth between the signatures."""
SETTLED = 4
"""Tones that a passage in a key has at least: one that comes and goes sooner is not heard as a key."""


def passage_keys(columns: Columns, home: Key, gestures: tuple[Span, ...], fixed: dict[int, Key]) -> tuple[Ints, Floats]:
    """The best chain of keys: for each gesture a key number (`key_number`) and its lead over the next best, in nats."""
    scores = _likelihoods(columns, home, gestures)
    for index, key in fixed.items():
        number = key_number(key, home)
        scores[index] = np.where(np.arange(24) == number, scores[index], -1e6)
    scores[0, 1:] -= CHANGE
    before, after = _best_up_to(np.stack([scores, scores[::-1]], axis=1)).swapaxes(0, 1)
    through = before + after[::-1] - scores
    best = settled(through.argmax(axis=1), scores, np.array([len(span) for span in gestures]), fixed)
    rows = np.arange(len(gestures))
    top = through[rows, best]
    rest = through.copy()
    rest[rows, best] = -np.inf
    return best, top - rest.max(axis=1)


def key_number(key: Key, home: Key) -> int:
    """0..23: the tonic's semitones above home's tonic, and 12 more where the mode is not home's."""
    return (key.pc - home.pc) % 12 + (12 if key.mode != home.mode else 0)


def key_at(number: int, home: Key) -> Key:
    """The key of a key number, spelled as near to home as it goes."""
    mode = home.mode if number < 12 else "minor" if home.mode == "major" else "major"
    shift = 3 * ((mode == "minor") - (home.mode == "minor"))
    away = (number % 12 * 7 - shift + 5) % 12 - 5
    return Key(home.fifths + away + shift, mode)


def _likelihoods(columns: Columns, home: Key, gestures: tuple[Span, ...]) -> Floats:
    """Shape (gestures, 24): what each gesture's tones and its end say for each key."""
    count, numbers = len(gestures), np.arange(24)
    which = np.repeat(np.arange(count), [len(span) for span in gestures])
    classes = (columns.midi - home.pc) % 12
    heard = np.minimum(by_class(which, classes, np.sqrt(relative_time(columns.ioi)), count), 2.0)
    minor_first = home.mode == "minor"
    textbook = np.log(np.array((MINOR, MAJOR) if minor_first else (MAJOR, MINOR)))
    table = textbook[numbers[:, None] // 12, (np.arange(12)[None, :] - numbers[:, None]) % 12]
    found = key_scores(plain_evidence(columns, gestures), PROFILES)
    found[:, 1] += MINOR_AGAINST_MAJOR
    if minor_first:
        found = found[:, ::-1]
    found = np.roll(found, int(columns.midi[-1]) - home.pc, axis=2).reshape(count, 24)
    scores = TEXTBOOK * (heard @ table.T) + FOUND * found
    last = np.array([span.last for span in gestures])
    rows = np.flatnonzero(np.isin(columns.interval[last], (-2, -1, 1, 2)) & (last > 0))
    for mode in (0, 12):
        scores[rows, classes[last[rows]] + mode] += CLOSE
    sizes = np.bincount(which)
    scores *= (sizes / (sizes + _SCALE_OF_LENGTH))[:, None]
    away = np.array([abs(key_at(number, home).signature - home.signature) for number in range(24)])
    scores -= np.where(numbers == 0, 0.0, AWAY + FAR * away)
    return np.asarray(scores, dtype=np.float64)


def settled(best: Ints, scores: Floats, sizes: Ints, fixed: dict[int, Key]) -> Ints:
    """The chain without passages too short to be heard: each goes to the key beside it that suits its tones better.

    The shortest go first, since they may join two passages of one key. Gestures whose key is decided keep it.
    """
    decided = np.isin(np.arange(len(best)), list(fixed))
    while True:
        starts = np.concatenate([[0], np.flatnonzero(np.diff(best)) + 1])
        keys, tones = best[starts], np.add.reduceat(sizes, starts)
        short = (tones < SETTLED) & ~np.logical_or.reduceat(decided, starts)
        if len(starts) == 1 or not short.any():
            return best
        wait = np.where(short, tones, SETTLED)
        first = (wait <= np.append(SETTLED, wait[:-1])) & (wait < np.append(wait[1:], SETTLED))
        now = np.flatnonzero(short & first)
        sums = np.add.reduceat(scores, starts, axis=0)
        before, after = keys[np.maximum(now - 1, 0)], keys[np.minimum(now + 1, len(keys) - 1)]
        left = np.where(now > 0, sums[now, before], -np.inf)
        right = np.where(now < len(keys) - 1, sums[now, after], -np.inf)
        keys[now] = np.where(left >= right, before, after)
        best = np.repeat(keys, np.diff(np.append(starts, len(best))))


def _best_up_to(scores: Floats) -> Floats:
    """The best chain's score up to and including each gesture, for each key it may have there, both ways at once.

    Shape (gestures, ways, 24).
    """
    out = scores.copy()
    best = out[0]
    for row in out[1:]:
        row += np.maximum(best, best.max(axis=1, keepdims=True) - CHANGE)
        best = row
    return out
