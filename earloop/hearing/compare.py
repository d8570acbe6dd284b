"""Sung tones beside the tones of a layer: right, wrong or missed, in cents and milliseconds, with drift apart.

Octave is free (any voice), time is free. A tone within ATTEMPT of the one meant is an attempt at it: its degree is the
one meant, and it is wrong only by its cents. Farther off, it is heard as the degree it lies nearest to, and its cents
are counted from that degree.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from earloop.hearing.alignment import Alignment, align, folded
from earloop.hearing.pitch_track import HOP, Floats
from earloop.hearing.settling import SHORTEST_EXTRA, Take, TimeMeant, settled
from earloop.hearing.swing import centre, take_swing
from earloop.hearing.tones_sung import SungTone
from earloop.layers import Layer
from earloop.line.pitch import pitch_from_midi
from earloop.performing.timing import timed
from earloop.reading import Reading
from earloop.reading.degrees import degree_of

Verdict = Literal["right", "wrong", "missed"]
TOLERANCE = 50.0
"""Cents. Trained singers are mostly within 25 to 50 cents of target (from memory): a default the user can change."""
ATTEMPT = 75.0
NEAR = 150.0
"""Tones this near to the one meant tell the drift and the tuning; farther ones are other tones."""
SAME_TIME = 1e-6
"""Quarters."""
LEAST_DRIFT = 15.0
SURE = 2.58
"""Standard deviations of the rank statistic: a drift where there is none once in a hundred takes."""
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
    time = _time_meant(reading, layer, asked)
    midi = np.array([tone.midi for tone in sung])
    offset = _reference(meant, sung) if relative and sung else 0.0
    starts, lengths = np.array([tone.onset for tone in sung]), np.array([tone.length for tone in sung])
    best = settled(meant, Take(midi - offset / 100, starts, lengths), time)
    found, place = best.found, best.places
    heard = _answered(found, sung)
    cents = np.array(
        [
            np.nan if tone is None else folded(100 * (tone.midi - m) - offset)
            for tone, m in zip(heard, meant, strict=True)
        ]
    )
    if relative:
        own = _tuning(cents)
        offset, cents = offset + own, cents - own
    starts = np.array([np.nan if tone is None else tone.onset for tone in heard])
    trend = _drift(cents, starts)
    cents, drift = cents - trend, float(trend[-1] - trend[0]) if len(trend) else 0.0
    tones = []
    for k, index in enumerate(asked):
        degree = str(reading.degrees[layer.tones[index].source])
        tone = heard[k]
        if tone is None:
            tones.append(ToneHeard(index, degree, "missed"))
            continue
        held_through = k > 0 and found.answers[k - 1] == found.answers[k]
        late = None if place is None or held_through else round(1000 * float(tone.onset - place[0, k]))
        verdict: Verdict = "right" if abs(cents[k]) <= tolerance else "wrong"
        name, off = degree, float(cents[k])
        if abs(off) > max(ATTEMPT, tolerance):
            name, off = _heard_as(reading, float(meant[k] + off / 100))
        at = (round(tone.onset, 3), round(tone.length, 3))
        tones.append(ToneHeard(index, degree, verdict, name, round(off, 1), late, *at))
    extra = tuple(_extra(reading, sung[j], offset) for j in found.extra if sung[j].length >= SHORTEST_EXTRA)
    return Comparison(tuple(tones), extra, round(drift, 1), round(offset, 1))


def _time_meant(reading: Reading, layer: Layer, asked: list[int]) -> TimeMeant:
    """Fermatas and breaths stretch as they are heard; after them, and between phrases, one may breathe for longer."""
    tones = timed(reading, layer).tones
    onsets, lengths = np.array([tones[i].onset for i in asked]), np.array([tones[i].length for i in asked])
    stretched = onsets - np.array([layer.tones[i].onset for i in asked])
    phrase = np.searchsorted([span.first for span in reading.phrases], [tones[i].source for i in asked], side="right")
    breaths: Floats = 1.0 + np.flatnonzero((np.diff(stretched) > SAME_TIME) | (np.diff(phrase) > 0)).astype(np.float64)
    end = float(onsets[-1] + lengths[-1]) if len(asked) else 0.0
    return TimeMeant(np.stack([onsets, onsets + lengths / 2]), end, breaths)


def _answered(found: Alignment, sung: tuple[SungTone, ...]) -> list[SungTone | None]:
    """The pieces of each answer put together to one tone."""
    swing = take_swing([_contour(sung[a[0] : a[1] + 1]) for a in found.answers if a is not None])
    out: list[SungTone | None] = []
    for answer in found.answers:
        if answer is None:
            out.append(None)
            continue
        pieces = sung[answer[0] : answer[1] + 1]
        contour = _contour(pieces)
        lengths = [piece.length for piece in pieces]
        midi = centre(contour, swing) if len(contour) else float(np.average([p.midi for p in pieces], weights=lengths))
        out.append(SungTone(pieces[0].onset, pieces[-1].onset + pieces[-1].length - pieces[0].onset, midi))
    return out


def _contour(pieces: tuple[SungTone, ...]) -> Floats:
    """The pieces' contours in one, octaves brought to the longest piece's; empty where one has none."""
    if not all(piece.contour for piece in pieces):
        return np.zeros(0)
    begun, last = pieces[0].onset, pieces[-1]
    out = np.full(round((last.onset - begun) / HOP) + len(last.contour), np.nan)
    octave = max(pieces, key=lambda piece: piece.length).midi
    for piece in pieces:
        at = round((piece.onset - begun) / HOP)
        out[at : at + len(piece.contour)] = piece.contour
    result: Floats = octave + folded(100 * (out - octave)) / 100
    return result


def _reference(meant: Floats, sung: tuple[SungTone, ...]) -> float:
    """The singer's own reference pitch in cents -600..600: the transposition with the cheapest alignment."""
    midi = np.array([tone.midi for tone in sung])
    starts, lengths = np.array([tone.onset for tone in sung]), np.array([tone.length for tone in sung])
    pairs = folded(100 * (midi[None, :] - meant[:, None]))
    slope = np.abs(np.linspace(0, 1, len(meant))[:, None] - np.linspace(0, 1, len(midi))[None, :])
    weight = np.exp(-0.5 * (slope / 0.15) ** 2)
    tried = np.arange(-600.0, 600.0, 25.0)
    votes = np.array([np.sum(weight * (np.abs(folded(pairs - t)) < 60)) for t in tried])
    best = [float(t) for t in tried[np.argsort(-votes)[:6]]]
    return min(best, key=lambda t: align(meant, midi - t / 100, starts, lengths).cost)


def _tuning(cents: Floats) -> float:
    near = cents[np.abs(cents) < NEAR]
    return float(np.median(near)) if len(near) else 0.0


def _drift(cents: Floats, starts: Floats) -> Floats:
    """The drift at each tone in cents, 0 at the first answer: the median slope of all pairs (Theil 1950, Sen 1968).

    A drift is taken off only where cents and time go together beyond chance (Mann 1945, Kendall's rank statistic) and
    it explains what was sung better than none does.
    """
    known = np.flatnonzero(np.abs(cents) < NEAR)
    if len(known) < ENOUGH:
        return np.zeros(len(cents))
    when = starts[known]
    first, second = np.triu_indices(len(known), 1)
    apart = when[second] - when[first]
    far = apart > 1e-6
    if not far.any():
        return np.zeros(len(cents))
    moved = cents[known][second] - cents[known][first]
    size = len(known)
    if abs(float(np.sum(np.sign(moved)))) - 1 < SURE * np.sqrt(size * (size - 1) * (2 * size + 5) / 18):
        return np.zeros(len(cents))
    slope = float(np.median(moved[far] / apart[far]))
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
