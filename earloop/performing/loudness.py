"""How loud each tone is: the score's dynamics, the phrase's arch, and the weight of a lean over its release.

Sources: phrase arch and high-loud after the KTH rules (Friberg, Bresin & Sundberg 2006), kept mild; the lean
louder than its release after Quantz 1752 and C. P. E. Bach 1753. MIDI velocities of the dynamic marks are
common practice, no source.
"""

from __future__ import annotations

from earloop.reading.record import Reading

DYNAMICS = {
    "pppp": 0.16,
    "ppp": 0.22,
    "pp": 0.30,
    "p": 0.42,
    "mp": 0.52,
    "mf": 0.62,
    "f": 0.74,
    "ff": 0.86,
    "fff": 0.94,
    "ffff": 0.98,
    "sf": 0.80,
    "sfz": 0.82,
    "fp": 0.70,
    "fz": 0.80,
}
LEVEL = DYNAMICS["mf"]
ARCH = 0.05
LEAN = 0.09
RELEASE = 0.10
HIGH = 0.002
ACCENT = 0.10


def loudness(reading: Reading) -> tuple[float, ...]:
    """Loudness 0..1 of each tone of the line (MIDI velocity / 127)."""
    values = [*_written(reading)]
    midi = reading.line.columns.midi
    middle = float(midi.mean())
    heights = midi.tolist()
    for phrase in reading.phrases:
        size = max(1, len(phrase) - 1)
        for i in phrase.indexes:
            place = (i - phrase.first) / size
            # The peak stands past the middle, where phrases mostly have theirs.
            arch = 1.0 - (place - 0.6) ** 2 / 0.36
            values[i] += ARCH * (max(-1.0, arch) - 0.5) + HIGH * (heights[i] - middle)
    for lean in reading.leans:
        values[lean.lean] += LEAN * lean.stress
        values[lean.release] -= RELEASE * (0.4 + 0.6 * lean.stress)
    for i, tone in enumerate(reading.line.tones):
        if "accent" in tone.marks.articulations or "strong-accent" in tone.marks.articulations:
            values[i] += ACCENT
    return tuple(min(1.0, max(0.12, value)) for value in values)


def _written(reading: Reading) -> list[float]:
    """The level the score's own dynamics and hairpins ask for."""
    tones = reading.line.tones
    level = LEVEL
    values: list[float] = []
    for tone in tones:
        level = DYNAMICS.get(tone.marks.dynamic, level)
        values.append(level)
    for first, last, way in _hairpins(reading):
        goal = values[last + 1] if last + 1 < len(values) and tones[last + 1].marks.dynamic else None
        start = values[first]
        end = goal if goal is not None and (goal - start) * way > 0 else start + 0.14 * way
        for i in range(first, last + 1):
            values[i] = start + (end - start) * (i - first) / max(1, last - first + 1)
    return values


def _hairpins(reading: Reading) -> list[tuple[int, int, int]]:
    """(first tone, last tone, +1 growing or -1 fading) of each hairpin."""
    out: list[tuple[int, int, int]] = []
    begun: tuple[int, int] | None = None
    for i, tone in enumerate(reading.line.tones):
        sign = tone.marks.hairpin
        if begun and (sign in ("crescendo", "diminuendo", "stop") or tone.marks.dynamic) and i > begun[0]:
            out.append((begun[0], i if sign == "stop" else i - 1, begun[1]))
            begun = None
        if sign in ("crescendo", "diminuendo"):
            begun = (i, 1 if sign == "crescendo" else -1)
    return out
