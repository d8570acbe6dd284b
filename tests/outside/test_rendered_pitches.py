"""What is rendered sounds the layer's own pitches: each phrase of the library, each layer, judged from outside.

One strand at a time: Praat's pitch tracker (Boersma 1993, through praat-parselmouth) follows one voice. Equal
temperament with A4 at 440 Hz: ISO 16.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import parselmouth
import pytest

from earloop.layers import NAMES, build
from earloop.performing import Event, Manner, Performance, perform
from earloop.reading import read
from earloop.scores import load_line
from earloop.sounding.files import render_wav

FOLDER = Path(__file__).parents[2] / "phrases"
SCORES = sorted(p for p in FOLDER.iterdir() if p.suffix in (".abc", ".musicxml"))
NEAR = 35.0
"""Cents: vibrato and the attack are part of a tone."""
LEAST = 0.12
"""Seconds. In shorter tones a tracker with a window of three periods of the lowest pitch finds little."""

USUAL_FLOOR = 75.0
"""Hz, as Praat's manual has it ("Sound: To Pitch"). A lower one lets it take two periods of a clean tone for one."""


@pytest.mark.parametrize("score", SCORES, ids=lambda p: p.stem)
def test_every_layer_sounds_its_own_pitches(score: Path, tmp_path: Path) -> None:
    reading = read(load_line(score))
    judged = 0
    for name in NAMES:
        layer = build(reading, name, reading.phrases[0])
        performance = perform(reading, layer, Manner(breathing=False))
        assert len(performance.events) == len(layer.tones)
        for part in _one_voice_each(performance):
            judged += _judge(part, tmp_path / f"{name}.wav", (score.stem, name))
    assert judged >= len(NAMES)


def _one_voice_each(performance: Performance) -> list[Performance]:
    """A strand at a time, as a tone of another one may still be dying away; overlapping held tones apart."""
    parts: list[list[Event]] = []
    for strand in {event.strand for event in performance.events}:
        parts += _apart([event for event in performance.events if event.strand == strand])
    return [replace(performance, events=tuple(part)) for part in parts]


def _apart(events: list[Event]) -> list[list[Event]]:
    """Overlapping tones dealt out so that none overlap."""
    parts: list[list[Event]] = []
    for event in events:
        for part in parts:
            if part[-1].onset + part[-1].length <= event.onset + 1e-6:
                part.append(event)
                break
        else:
            parts.append([event])
    return parts


def _judge(performance: Performance, path: Path, where: tuple[str, str]) -> int:
    """Check every tone long enough to be heard; returns how many there were."""
    slower = replace(performance, tempo=min(performance.tempo, 60.0))
    render_wav(slower, path)
    sound = parselmouth.Sound(str(path)).convert_to_mono()
    lowest = min(440.0 * 2 ** ((event.midi - 69) / 12) for event in slower.events)
    floor = min(USUAL_FLOOR, 0.75 * lowest)
    pitch = sound.to_pitch_ac(time_step=0.01, pitch_floor=floor, pitch_ceiling=2200.0, very_accurate=False)
    times, found = pitch.xs(), pitch.selected_array["frequency"]
    second = 60.0 / slower.tempo
    judged = 0
    for event in slower.events:
        start, length = event.onset * second, event.length * second
        if length < LEAST:
            continue
        inside = (times > start + 0.3 * length) & (times < start + 0.8 * length) & (found > 0)
        assert inside.any(), (*where, event, "no pitch found")
        cents = 1200 * np.log2(found[inside] / (440.0 * 2 ** ((event.midi - 69) / 12)))
        # A tracker may take an octave for the tone at an edge; the middle value is the tone.
        assert abs(float(np.median(cents))) < NEAR, (*where, event, float(np.median(cents)))
        judged += 1
    return judged
