"""How often the checker errs: the phrase library's layers rendered and sung, clean and in noise, with planted faults.

`python -m tests.bench checker [--phrases N] [--every K]` prints, for each voice and noise, the rate of wrong verdicts
on right tones and of planted wrong tones called right, with their counts, and the real-time factor of the tracking.
Tones shorter than 100 ms are asked for like all others and counted apart.
"""

from __future__ import annotations

import argparse
import tempfile
import time
from collections import Counter
from pathlib import Path

import numpy as np

from earloop.hearing.compare import compare
from earloop.hearing.pitch_track import RATE, Floats, pitch_track
from earloop.hearing.tones_sung import tones_sung
from earloop.layers import Layer
from earloop.performing import Event
from earloop.reading import Reading, read
from earloop.scores import load_line
from tests.hearing import takes

PHRASES = Path(__file__).parents[2] / "phrases"
LAYERS = ("skeleton", "upper", "ornamented")
NOISE = (None, 20.0, 10.0)
SHORT = 0.1


def faults(events, at):
    """Each fault: its name, the events, the layer tones it makes wrong."""
    yield "none", events, ()
    yield "degree", takes.wrong_degree(events, at), (at,)
    yield "60 cents", takes.cents_off(events, at), (at,)
    if at + 1 < len(events) and (events[at].midi - events[at + 1].midi) % 12:
        yield "swapped", takes.swapped(events, at), (at, at + 1)


def count(
    reading: Reading, layer: Layer, events: list[Event], wrong: tuple[int, ...], sound: Floats, counts: Counter[str]
) -> float:
    """Add one take's verdicts to the counts; returns the seconds that tracking took."""
    begun = time.perf_counter()
    sung = tones_sung(pitch_track(sound))
    spent = time.perf_counter() - begun
    tones = compare(reading, layer, sung).tones
    if len(wrong) == 2:  # two tones swapped are one fault: caught where either of them is flagged
        caught = any(tones[k].verdict != "right" for k in wrong)
        counts["planted"] += 1
        counts["planted failed"] += not caught
    for tone, event in zip(tones, events, strict=True):
        if len(wrong) == 2 and tone.index in wrong:
            continue
        kind = "planted" if tone.index in wrong else "right"
        if event.length * 60 / 72 < SHORT:
            kind = f"short {kind}"
        counts[kind] += 1
        counts[f"{kind} failed"] += (tone.verdict == "right") == (kind.endswith("planted"))
    return spent


def main() -> None:
    words = argparse.ArgumentParser()
    words.add_argument("--phrases", type=int, default=100)
    words.add_argument("--every", type=int, default=3, help="plant a fault at every K-th tone")
    chosen = words.parse_args()
    table: dict[tuple[str, float | None], Counter[str]] = {}
    tracked = spent = 0.0
    scores = [p for p in sorted(PHRASES.iterdir()) if p.suffix in (".abc", ".musicxml")]
    with tempfile.TemporaryDirectory() as folder:
        for score in scores[: chosen.phrases]:
            reading = read(load_line(score))
            for name in LAYERS:
                layer = takes.layer_of(reading, name)
                right = takes.events_of(reading, layer)
                if len(right) != len(layer.tones):
                    continue
                for at in range(0, len(right), chosen.every):
                    for fault, events, wrong in faults(right, at):
                        if fault == "none" and at:
                            continue
                        voices = {
                            "synth": takes.rendered(reading, layer, events, Path(folder) / "take.wav"),
                            "vowel": takes.sung(events),
                        }
                        for voice, sound in voices.items():
                            for noise in NOISE:
                                heard = sound if noise is None else takes.noisy(sound, noise, at)
                                counts = table.setdefault((voice, noise), Counter())
                                spent += count(reading, layer, right, wrong, heard, counts)
                                tracked += len(sound) / RATE
    _print(table, tracked / max(spent, 1e-9))


def _print(table, factor: float) -> None:
    print(f"{'voice':8}{'noise':>8}  {'wrong verdict on right':>24}  {'planted called right':>22}  short tones (both)")
    for (voice, noise), c in table.items():
        rates = [f"{c[k + ' failed']}/{c[k]} = {c[k + ' failed'] / max(c[k], 1):.2%}" for k in ("right", "planted")]
        short = f"{c['short right failed']}/{c['short right']}, {c['short planted failed']}/{c['short planted']}"
        print(f"{voice:8}{'clean' if noise is None else f'{noise:.0f} dB':>8}  {rates[0]:>24}  {rates[1]:>22}  {short}")
    print(f"tracking: {np.round(factor)} times real time")


if __name__ == "__main__":
    main()
