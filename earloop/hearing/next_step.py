"""One sentence on what to do next, from what was heard."""

from __future__ import annotations

import numpy as np

from earloop.hearing.compare import Comparison, ToneHeard
from earloop.layers import Layer
from earloop.reading import Reading

DRIFT = 30.0
LEAP = 5
LEAST_LACKING = 3
"""Tones at the beginning that are lacking in a row: fewer were rather left out than sung too soon."""


def next_step(reading: Reading, layer: Layer, heard: Comparison) -> str:
    """The most useful single remark; the first that holds."""
    tones = heard.tones
    answered = [tone for tone in tones if tone.verdict != "missed"]
    bad = [tone for tone in tones if tone.verdict != "right"]
    if not answered:
        return "I heard none of these tones: check the microphone and sing the first tone with the drone."
    if not bad:
        if abs(heard.drift) >= DRIFT:
            return f"Every tone was right, but the pitch {_way(heard.drift)} over the phrase: sing it with the drone."
        if heard.extra:
            return "Every tone was right, with some more between: sing only the layer's own tones."
        return "Every tone was right: go on to the next layer, or sing this one without hearing it first."
    return _beginning(tones) or _tuning(tones) or _release(reading, layer, tones) or _one_tone(layer, bad)


def _beginning(tones: tuple[ToneHeard, ...]) -> str:
    """Where the answer began before it was the singer's turn, only its end was heard."""
    first = next(k for k, tone in enumerate(tones) if tone.verdict != "missed")
    if first < LEAST_LACKING:
        return ""
    return f"The first {first} tones were not heard: wait until it is your turn, then begin with {tones[0].degree}."


def _way(cents: float) -> str:
    return f"{'rose' if cents > 0 else 'fell'} {abs(cents):.0f} cents"


def _tuning(tones: tuple[ToneHeard, ...]) -> str:
    """All off by the same amount."""
    off = np.array([t.cents for t in tones if t.cents is not None and t.sung_degree == t.degree])
    wrong = sum(t.verdict == "wrong" for t in tones)
    if len(off) >= 3 and wrong > len(tones) / 2 and np.ptp(off) < 50 and abs(np.median(off)) > 25:
        side = "high" if np.median(off) > 0 else "low"
        return f"Everything was about {abs(np.median(off)):.0f} cents {side}: take your first tone from the drone."
    return ""


def _release(reading: Reading, layer: Layer, tones: tuple[ToneHeard, ...]) -> str:
    """Releases of leans that go wrong to the same side."""
    released = {lean.release for lean in reading.leans}
    off = [
        t.cents
        for t in tones
        if t.verdict == "wrong" and t.cents is not None and layer.tones[t.index].source in released
    ]
    if len(off) >= 2 and (all(c > 0 for c in off) or all(c < 0 for c in off)):
        side = "sharp" if off[0] > 0 else "flat"
        return f"The release was {side} {len(off)} times: hear the tone after the lean before you sing it."
    return ""


def _one_tone(layer: Layer, bad: list[ToneHeard]) -> str:
    """The first tone that went wrong, after what it came."""
    tone = bad[0]
    where = f"tone {tone.index + 1}, degree {tone.degree}"
    if tone.index:
        leap = layer.tones[tone.index].pitch.midi - layer.tones[tone.index - 1].pitch.midi
        if abs(leap) >= LEAP:
            where += f" after the leap {'up' if leap > 0 else 'down'}"
    if tone.verdict == "missed":
        what = f"I didn't hear {where}"
    elif tone.sung_degree != tone.degree:
        what = f"You sang {tone.sung_degree} for {where}"
    else:
        off = tone.cents or 0.0
        what = f"You were {abs(off):.0f} cents {'high' if off > 0 else 'low'} on {where}"
    rest = f" ({len(bad)} tones to mend)" if len(bad) > 1 else ""
    how = "play up to it, stop, and sing it alone" if tone.index else "hear it with the drone before you begin"
    return f"{what}{rest}: {how}."
