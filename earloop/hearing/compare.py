"""Sung tones beside the tones of a layer: right, wrong or missed, in cents and milliseconds, with drift apart.

Octave is free (any voice), time is free. A tone within ATTEMPT of the one meant is an attempt at it: its degree is the
one meant, and it is wrong only by its cents. Farther off, it is heard as the degree it lies nearest to, and its cents
are counted from that degree.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from earloop.hearing.alignment import Alignment, align, folded, own_time
from earloop.hearing.pitch_track import Floats
from earloop.hearing.tones_sung import SungTone
from earloop.layers import Layer
from earloop.line.pitch import pitch_from_midi
from earloop.reading import Reading
from earloop.reading.degrees import degree_of

Verdict = Literal["right", "wrong", "missed"]
TOLERANCE = 50.0
"""Cents. Trained singers are mostly within 25 to 50 cents of target (from memory): a default the user can change."""
ATTEMPT = 75.0
NEAR = 150.0
"""Tones this near to the one meant tell the drift and the tuning; farther ones are other tones."""
SHORTEST_EXTRA = 0.15
"""Seconds: what is shorter is a slide or a grace of the voice, not a tone too many."""
LEAST_DRIFT = 15.0
ENOUGH = 6
"""Answers that a drift must be told from; with fewer, one wrong tone would pass for drift."""


@dataclass(frozen=True, slots=True)
class ToneHeard:
    """The answer to one tone. `index` counts the layer's tones from 0; `cents` from `sung_degree`; None if missed.

    `onset` and `length` are those of the sung tone, in seconds of the take; a tone held through has its former's.
    """

    index: int
    degree: str
    verdict: Verdict
    sung_degree: str | None = None
    cents: float | None = None
    late_ms: int | None = None
    onset: float | None = None
    length: float | None = None


@dataclass(frozen=True, slots=True)
class ExtraTone:
    """A sung tone that answers none of the layer's; `start` and `length` in seconds."""

    sung_degree: str
    cents: float
    start: float
    length: float


@dataclass(frozen=True, slots=True)
class Comparison:
    """`drift` is cents from the first answer to the last, `offset` cents of the singer's own reference pitch."""

    tones: tuple[ToneHeard, ...]
    extra: tuple[ExtraTone, ...]
    drift: float
    offset: float


def compare(
    reading: Reading, layer: Layer, sung: tuple[SungTone, ...], tolerance: float = TOLERANCE, relative: bool = False
) -> Comparison:
    """Judge what was sung. A held tone sounds below another one, so it isn't asked for. `relative` finds the tonic."""
    asked = [i for i, tone in enumerate(layer.tones) if tone.role != "held"]
    meant = np.array([float(layer.tones[i].pitch.midi) for i in asked])
    onsets = np.array([layer.tones[i].onset for i in asked])
    midi, starts = np.array([tone.midi for tone in sung]), np.array([tone.onset for tone in sung])
    lengths = np.array([tone.length for tone in sung])
    offset = _reference(meant, midi, lengths) if relative and sung else 0.0
    found, place = _aligned(meant, midi - offset / 100, lengths, onsets, starts)
    cents = _off(found, meant, midi - offset / 100)
    if relative:
        own = _tuning(cents)
        offset, cents = offset + own, cents - own
    trend = _drift(cents, found, starts)
    cents, drift = cents - trend, float(trend[-1] - trend[0]) if len(trend) else 0.0
    tones = []
    for k, index in enumerate(asked):
        degree = str(reading.degrees[layer.tones[index].source])
        answer = found.answers[k]
        if answer is None:
            tones.append(ToneHeard(index, degree, "missed"))
            continue
        held_through = k > 0 and found.answers[k - 1] == answer
        late = None if place is None or held_through else round(1000 * float(starts[answer] - place[k]))
        verdict: Verdict = "right" if abs(cents[k]) <= tolerance else "wrong"
        name, off = degree, float(cents[k])
        if abs(off) > max(ATTEMPT, tolerance):
            name, off = _heard_as(reading, meant[k] + off / 100)
        onset, length = sung[answer].onset, sung[answer].length
        tones.append(ToneHeard(index, degree, verdict, name, round(off, 1), late, round(onset, 3), round(length, 3)))
    extra = tuple(
        _extra(reading, sung[j], offset)
        for j in found.extra
        if j not in found.answers and sung[j].length >= SHORTEST_EXTRA
    )
    return Comparison(tuple(tones), extra, round(drift, 1), round(offset, 1))


def _aligned(
    meant: Floats, midi: Floats, lengths: Floats, onsets: Floats, starts: Floats
) -> tuple[Alignment, Floats | None]:
    found = align(meant, midi, lengths)
    place = own_time(onsets, found.answers, starts)
    if place is not None:
        found = align(meant, midi, lengths, starts[None, :] - place[:, None])
        place = own_time(onsets, found.answers, starts)
    return found, place


def _off(found: Alignment, meant: Floats, midi: Floats) -> Floats:
    """Each tone's cents off, NaN where missed."""
    out = np.full(len(meant), np.nan)
    for k, answer in enumerate(found.answers):
        if answer is not None:
            out[k] = folded(100 * (midi[answer] - meant[k]))
    return out


def _reference(meant: Floats, midi: Floats, lengths: Floats) -> float:
    """The singer's own reference pitch in cents -600..600: the transposition with the cheapest alignment."""
    pairs = folded(100 * (midi[None, :] - meant[:, None]))
    slope = np.abs(np.linspace(0, 1, len(meant))[:, None] - np.linspace(0, 1, len(midi))[None, :])
    weight = np.exp(-0.5 * (slope / 0.15) ** 2)
    tried = np.arange(-600.0, 600.0, 25.0)
    votes = np.array([np.sum(weight * (np.abs(folded(pairs - t)) < 60)) for t in tried])
    best = [float(t) for t in tried[np.argsort(-votes)[:6]]]
    return min(best, key=lambda t: align(meant, midi - t / 100, lengths).cost)


def _tuning(cents: Floats) -> float:
    near = cents[np.abs(cents) < NEAR]
    return float(np.median(near)) if len(near) else 0.0


def _drift(cents: Floats, found: Alignment, starts: Floats) -> Floats:
    """The drift at each tone in cents, 0 at the first answer: the median slope of all pairs (Theil 1950, Sen 1968).

    A drift is taken off only where it explains what was sung better than none does.
    """
    known = np.flatnonzero(np.abs(cents) < NEAR)
    if len(known) < ENOUGH:
        return np.zeros(len(cents))
    when = np.array([starts[answer] for k in known if (answer := found.answers[k]) is not None])
    first, second = np.triu_indices(len(known), 1)
    apart = when[second] - when[first]
    far = apart > 1e-6
    if not far.any():
        return np.zeros(len(cents))
    slope = float(np.median((cents[known][second] - cents[known][first])[far] / apart[far]))
    trend = np.interp(np.arange(len(cents)), known, slope * (when - when[0]))
    plain, bent = (np.median(np.abs(c - np.median(c))) for c in (cents[known], (cents - trend)[known]))
    return trend if bent < 0.7 * plain and abs(trend[-1] - trend[0]) >= LEAST_DRIFT else np.zeros(len(cents))


def _heard_as(reading: Reading, midi: float) -> tuple[str, float]:
    """The degree in the home key that a fractional key lies nearest to, and its cents from there."""
    key, near = reading.home.key, round(midi)
    return str(degree_of(pitch_from_midi(near, key.signature).fifths, key)), 100 * (midi - near)


def _extra(reading: Reading, tone: SungTone, offset: float) -> ExtraTone:
    name, off = _heard_as(reading, tone.midi - offset / 100)
    return ExtraTone(name, round(off, 1), round(tone.onset, 3), round(tone.length, 3))
