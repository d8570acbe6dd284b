"""Lines for tests: from a string of pitches, and any line at all for property tests."""

from __future__ import annotations

import random

from hypothesis import strategies as st

from earloop.line import Line, Marks, Meter, OtherTone, Tone
from earloop.line.pitch import pitch_from_midi, pitch_from_name

LENGTHS = (0.25, 0.5, 1 / 3, 0.75, 1.0, 1.5, 2.0, 4.0)


def line_of(names: str, lengths: str | float = 1.0) -> Line:
    """`line_of("C4 D4 E4", "1 1 2")`; one number stands for all."""
    pitches = [pitch_from_name(name) for name in names.split()]
    sizes = [float(x) for x in lengths.split()] if isinstance(lengths, str) else [float(lengths)] * len(pitches)
    tones, at = [], 0.0
    for pitch, size in zip(pitches, sizes, strict=True):
        tones.append(Tone(at, size, pitch, grace=size == 0))
        at += size
    return Line(tuple(tones))


def wandering(size: int, seed: int = 1, metered: bool = True) -> Line:
    """A line of mixed lengths and mostly steps."""
    chance = random.Random(seed)
    time, midi, tones = 0.0, 67, []
    for _ in range(size):
        length = chance.choice([0.25, 0.5, 0.5, 1, 1, 1.5, 2])
        midi = max(50, min(85, midi + chance.choice([-5, -2, -2, -1, 0, 1, 2, 2, 4])))
        tones.append(Tone(time, length, pitch_from_midi(midi)))
        time += length
    return Line(tuple(tones), meters=((0.0, Meter(4, 4)),) if metered else ())


@st.composite
def lines(draw: st.DrawFn, most: int = 60) -> Line:
    """Any line: rests, graces, repeated tones, wide leaps, breaths; alone or with other parts."""
    size = draw(st.integers(1, most))
    keys = draw(st.lists(st.integers(30, 100), min_size=size, max_size=size))
    lengths = draw(st.lists(st.sampled_from((*LENGTHS, 0.0)), min_size=size, max_size=size))
    gaps = draw(st.lists(st.sampled_from((0.0, 0.0, 0.0, 0.5, 2.0)), min_size=size, max_size=size))
    breaks = draw(st.lists(st.sampled_from(("", "", "", "", "breath", "dotted-bar")), min_size=size, max_size=size))
    tones, at = [], 0.0
    for key, length, gap, sign in zip(keys, lengths, gaps, breaks, strict=True):
        tones.append(Tone(at, length, pitch_from_midi(key), grace=length == 0, marks=Marks(break_after=sign)))
        at += length + gap
    return Line(tuple(tones), others=draw(st.just(()) | other_parts(at)))


@st.composite
def other_parts(draw: st.DrawFn, end: float) -> tuple[OtherTone, ...]:
    """Anything that may sound with a line of `end` quarters: before it and after it too, chords, unisons, drones."""
    ons = st.integers(-8, int(4 * end) + 8).map(lambda quarter: quarter / 4)
    tone = st.builds(OtherTone, ons, st.sampled_from((*LENGTHS, 40.0)), st.integers(24, 100).map(pitch_from_midi))
    return tuple(sorted(draw(st.lists(tone, max_size=40)), key=lambda own: (own.onset, own.pitch.midi)))
