"""What can be seen at a soprano tone that goes by step: in the soprano alone, and in all four voices."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from chorale_figures import Voices
from numpy.typing import NDArray

from earloop.line import Line, Tone
from earloop.reading import Reading

Floats = NDArray[np.float64]

SHAPES = ((0, 4, 7), (0, 3, 7), (0, 3, 6), (0, 4, 8))
SEVENTHS = ((0, 4, 7, 10), (0, 3, 7, 10), (0, 3, 6, 10), (0, 3, 6, 9), (0, 4, 7, 11))
TRIADS = [frozenset((root + above) % 12 for above in shape) for root in range(12) for shape in SHAPES]
CHORDS = TRIADS + [frozenset((root + above) % 12 for above in shape) for root in range(12) for shape in SEVENTHS]


@dataclass(frozen=True)
class Steps:
    """Soprano tones approached and left by step: their index, their name if they lie outside the chord, their cues."""

    index: list[int]
    name: list[str]
    off_beat: NDArray[np.bool_]
    alone: Floats
    together: Floats
    arguable: NDArray[np.bool_]


def steps_of(line: Line, voices: Voices, reading: Reading) -> Steps:
    """All cues of one chorale."""
    heights = np.array([tone.pitch.height for tone in line.tones])
    moves = np.diff(heights)
    index = [i for i in range(1, len(line) - 1) if abs(moves[i - 1]) == 1 and abs(moves[i]) == 1]
    assert line.meter
    first = line.meter.first_downbeat
    fermatas = [i for i, tone in enumerate(line.tones) if tone.marks.fermata]
    off = np.array([(line[i].onset - first + 1e-3) % 1 > 2e-3 for i in index], dtype=bool)
    return Steps(
        index,
        ["passing" if moves[i - 1] == moves[i] else "neighbor" for i in index],
        off,
        np.array([_alone(line, reading, fermatas, i) for i in index], dtype=float),
        np.array([_together(voices, first, i) for i in index], dtype=float),
        np.array([_takes_in_a_seventh(voices, i) for i in index], dtype=bool),
    )


def _alone(line: Line, reading: Reading, fermatas: list[int], i: int) -> list[float]:
    """The soprano's own cues: lengths, places, intervals and degrees around, the way to the phrase's ends."""
    meter = line.meter
    assert meter
    bar = meter.beats * 4 / meter.unit
    tones, size = line.tones, len(line)

    def at(k: int) -> Tone:
        return tones[min(max(i + k, 0), size - 1)]

    def move(k: int) -> int:
        return at(k + 1).midi - at(k).midi

    def place(k: int) -> float:
        return float((at(k).onset - meter.first_downbeat + 1e-3) % bar - 1e-3)

    ahead = [j - i for j in fermatas if j >= i]
    behind = [i - j for j in fermatas if j < i]
    tonic = reading.home.key
    return [
        *(place(k) for k in (-1, 0, 1)),
        *(place(k) % 1 for k in (-1, 0, 1)),
        *(at(k).length for k in (-2, -1, 0, 1, 2)),
        *(move(k) for k in (-3, -2, -1, 0, 1, 2)),
        *((at(k).midi - tonic.pc) % 12 for k in (-1, 0, 1)),
        float(tonic.mode == "minor"),
        bar,
        min(ahead, default=size - i),
        min(behind, default=i + 1),
        float(move(-1) * move(0) > 0),
    ]


def sounding(voice: tuple[Tone, ...], at: float) -> Tone | None:
    """The tone of a voice at a moment."""
    return next((tone for tone in voice if tone.onset <= at + 1e-4 and tone.end > at + 1e-4), None)


def _together(voices: Voices, first: float, i: int) -> list[float]:
    """The cues of all voices: who moves with the tone, what they make together, what sounded on the beat before."""
    tone = voices[0][i]
    beat = float(np.floor(tone.onset - first + 1e-3)) + first
    others = [own for voice in voices[1:] if (own := sounding(voice, tone.onset))]
    started = {own.midi % 12 for voice in voices if (own := sounding(voice, beat))}
    now = {own.midi % 12 for own in others} | {tone.midi % 12}
    moving = sum(abs(own.onset - tone.onset) < 1e-4 for own in others)
    triad, chord = any(now <= one for one in TRIADS), any(now <= one for one in CHORDS)
    off = tone.onset - beat > 2e-3
    bass = sounding(voices[3], tone.onset)
    above = (tone.midi - bass.midi) % 12 if bass else 0
    joined = started | {tone.midi % 12}
    return [
        off, moving, moving == 0, triad, chord and not triad, len(now), moving >= 2 and triad, moving >= 2 and chord,
        moving == 1 and triad, any(started <= one for one in TRIADS), off and tone.midi % 12 in started,
        any(joined <= one for one in TRIADS), any(joined <= one for one in CHORDS),
        bool(bass) and abs(bass.onset - tone.onset) < 1e-4, above in (0, 3, 4, 7, 8, 9), above in (10, 11),
        above in (1, 2), tone.length < 0.3, off and abs(tone.onset - beat - 0.5) > 2e-3, tone.length > 0.9,
    ]  # fmt: skip


def _takes_in_a_seventh(voices: Voices, i: int) -> bool:
    """Whether the tone alone turns the others' triad into a seventh chord."""
    tone = voices[0][i]
    others = [own for voice in voices[1:] if (own := sounding(voice, tone.onset))]
    classes = {own.midi % 12 for own in others}
    whole = classes | {tone.midi % 12}
    still = all(own.onset < tone.onset - 1e-4 for own in others)
    return still and len(whole) == 4 and any(classes == one for one in TRIADS) and any(whole == one for one in CHORDS)
