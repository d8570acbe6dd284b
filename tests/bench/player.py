"""Every figure of the player, printed; run it on a machine that does nothing else.

    python -m tests.bench player                    two minutes of timing, then all the rest
    python -m tests.bench player --seconds 20       sooner, rougher
    python -m tests.bench player --what-brought-what   the same timing with each steadying measure left out

Timing is measured beside mido's own play loop, in one run: this process draws a full screen thirty times a second and
plays with mido in a thread; the engine plays in its own process at the same time.
"""

from __future__ import annotations

import argparse
import os
import platform
import signal
import subprocess
import sys
import tempfile
import time
from dataclasses import dataclass
from pathlib import Path

import mido
import numpy as np

from earloop.engine.client import Engine
from earloop.engine.steadiness import MEASURES
from earloop.performing.events import STRANDS, Event, Performance
from earloop.sounding.files import render_wav, stream
from earloop.sounding.outputs import SILENT, OutputChoice
from earloop.sounding.synth import Synth
from earloop.sounding.timbres import PLACES
from tests.bench.busy_screen import REDRAWS, run_beside
from tests.bench.dummy_ports import ports_for_bench
from tests.bench.going_ports import print_going_ports
from tests.bench.late_onsets import Stolen, company

A_SECOND = 8
"""Notes a second."""
A_PASS = 64
RATE = 48000


def run_of_notes() -> Performance:
    """Eight notes a second at 240 quarters a minute; a pass of eight seconds."""
    events = tuple(Event(k / 2, 0.5, 48 + k % 36, 0.7, "single", source=k) for k in range(A_PASS))
    return Performance(events, A_PASS / 2, 240.0)


def figures(late: np.ndarray) -> str:
    """Median, 99th percentile and worst in ms."""
    size = np.abs(late) * 1000
    return f"median {np.median(size):7.3f}  p99 {np.percentile(size, 99):7.3f}  worst {size.max():7.3f} ms"


def mido_lateness(seconds: float) -> np.ndarray:
    """mido's own play loop: the second at which each note comes against the file's schedule."""
    track = mido.MidiTrack([mido.MetaMessage("set_tempo", tempo=250_000)])
    for k in range(round(seconds * A_SECOND)):
        track.append(mido.Message("note_on", note=48 + k % 36, time=0))
        track.append(mido.Message("note_off", note=48 + k % 36, time=240))
    file = mido.MidiFile(ticks_per_beat=480)
    file.tracks.append(track)
    late, begun = [], time.perf_counter()
    for message in file.play():
        if message.type == "note_on":
            late.append(time.perf_counter() - begun - len(late) / A_SECOND)
    return np.array(late)


@dataclass
class Timed:
    """mido's lateness and the engine's, while the screen was drawn, and what went on at the engine's worst moments."""

    mido: np.ndarray
    engine: np.ndarray
    steadied: str
    worst: list[str]


def timing(seconds: float, unsteady: str = "") -> Timed:
    """`unsteady` names the engine's measures to leave out."""
    found: dict[str, np.ndarray] = {}
    os.environ["EARLOOP_UNSTEADY"] = unsteady
    REDRAWS.clear()
    with ports_for_bench() as port, Engine(OutputChoice("midi", port=port) if port else SILENT) as engine:
        engine.load(run_of_notes())
        while engine.snapshot().handled < 2:
            time.sleep(0.05)
        time.sleep(1.0)

        def play_both() -> None:
            engine.play()
            engine.measure()
            found["mido"] = mido_lateness(seconds)

        with Stolen() as stolen:
            run_beside(play_both)
        measured = engine.measure()
    through = "JACK, dummy driver" if port else "no port: jackd is not installed"
    worst = list(company(measured, REDRAWS, stolen, A_PASS))
    steadied = f"{through}; {', '.join(measured.steadied)}"
    return Timed(found["mido"], np.array(measured.lateness), steadied, worst)


def print_timing(seconds: float) -> None:
    print(f"Onset error against schedule, {A_SECOND} notes a second, {seconds:.0f} s, beside a busy screen")
    timed = timing(seconds)
    theirs, ours = timed.mido, timed.engine
    print(f"  sent through {timed.steadied}")
    print(f"  mido's play loop, same process   {figures(theirs)}  last onset {theirs[-1] * 1000:9.2f} ms late")
    print(f"  earloop's engine, own process    {figures(ours)}  last onset {ours[-1] * 1000:9.2f} ms late")
    seams = ours[A_PASS::A_PASS]
    if len(seams):
        print(f"  first onset after a seam         {figures(seams)}  ({len(seams)} seams)")
    ratio = np.percentile(np.abs(theirs), 99) / np.percentile(np.abs(ours), 99)
    print(f"  mido's p99 is {ratio:.0f} times earloop's")
    print("  the worst:", *timed.worst, sep="\n")
    anyone = timing(seconds, NO_RIGHTS)
    print(f"The same as an ordinary user without any right and without RealtimeKit ({anyone.steadied})")
    print(f"  mido's play loop, same process   {figures(anyone.mido)}")
    print(f"  earloop's engine, own process    {figures(anyone.engine)}")
    print("  the worst:", *anyone.worst, sep="\n")


NO_RIGHTS = "priority,nice,memory,asking"
LEFT_OUT = {
    "nothing": "",
    "the collector off": "collector",
    "timer slack": "slack",
    "real-time priority": "priority,asking",
    "any right of the user's own: RealtimeKit is asked": "priority,nice,memory",
    "any right: an ordinary user": NO_RIGHTS,
    "any right, and short slice": f"{NO_RIGHTS},slice",
    "staying in memory": "memory",
    "everything": ",".join([*MEASURES, "asking"]),
}


def print_what_brought_what(seconds: float, rounds: int = 2) -> None:
    """In turns, so that the machine's moods fall on all alike."""
    print(f"The same with measures left out, {rounds} times {seconds:.0f} s each")
    found: dict[str, list[np.ndarray]] = {name: [] for name in LEFT_OUT}
    for _ in range(rounds):
        for name, words in LEFT_OUT.items():
            found[name].append(timing(seconds, words).engine)
    for name, late in found.items():
        print(f"  without {name:50} {figures(np.concatenate(late))}")


def print_latency() -> None:
    print("Latency on the null device, from the command given to the block handed over (20 times each)")
    for low in (False, True):
        pressed, changed = [], []
        with Engine(OutputChoice("speaker", backend="null", low_latency=low)) as engine:
            engine.load(run_of_notes())
            _handled(engine, 2)
            for turn in range(20):
                begun = time.monotonic()
                engine.play()
                pressed.append(_until(engine, "handed_at", begun) - begun)
                time.sleep(0.05 + turn * 0.0037)
                begun = time.monotonic()
                engine.tempo(1.0 + turn / 20)
                changed.append(_until(engine, "changed_at", begun) - begun)
                engine.stop()
                time.sleep(0.3)
        name = "low latency" if low else "default"
        print(
            f"  {name:12} play → first sample: worst {max(pressed) * 1000:5.1f} ms, median "
            f"{np.median(pressed) * 1000:5.1f}; tempo → effect: worst {max(changed) * 1000:5.1f}, median "
            f"{np.median(changed) * 1000:5.1f}"
        )


def _handled(engine: Engine, count: int) -> None:
    while engine.snapshot().handled < count:
        time.sleep(0.01)


def _until(engine: Engine, name: str, after: float) -> float:
    """The first such time after `after` that a snapshot tells."""
    until = time.monotonic() + 3
    while time.monotonic() < until:
        value = float(getattr(engine.snapshot(), name))
        if value > after:
            return value
        time.sleep(0.001)
    raise SystemExit(f"the engine does not tell {name}")


def print_synth() -> None:
    print("Built-in synth")
    gapped = Performance(tuple(Event(k * 1.0, 0.3, 60 + k, 0.7, "single") for k in range(4)), 4.0, 97.0)
    sound = np.abs(np.concatenate(list(stream(gapped, 5, block=1200)))).max(axis=1)
    silent_before = np.convolve(sound > 0, np.ones(2000), "full")[: len(sound)] - (sound > 0)
    onsets = np.flatnonzero((sound > 0) & (silent_before == 0))
    wanted = np.array([round(k * 60 / 97.0 * RATE) for k in range(20)])
    # The very first sample of an attack is zero by its curve: each onset is heard one sample later.
    print(f"  onsets off schedule, 20 tones over 5 passes: {np.abs(onsets[:20] - 1 - wanted).max()} samples")
    print(f"  jump at the end of a tone, worst strand: {_worst_end():.1f} dBFS")
    synth = Synth(level=1.0)
    for k in range(8):
        synth.start(48 + 4 * k, 0.0, 1.0, STRANDS[k % 7], 0.0)
    begun = time.perf_counter()
    peak = max(float(np.abs(synth.render(1200)).max()) for _ in range(400))
    share = (time.perf_counter() - begun) / 10
    print(f"  eight loud voices: peak {20 * np.log10(peak):.2f} dBFS, {100 * share:.1f} % of a core in blocks of 25 ms")


def _worst_end() -> float:
    worst = 1e-9
    for strand in STRANDS:
        for key in (36, 60, 84):
            synth = Synth(level=0.5)
            voice = synth.start(key, 0.0, 1.0, strand, 0.0)
            synth.stop(voice, 0.4)
            sound = synth.render(RATE)[:, 0]
            end = round((0.4 + PLACES[strand].timbre.release) * RATE)
            worst = max(worst, float(np.abs(np.diff(sound[end - 3 : end + 3])).max()))
    return float(20 * np.log10(worst))


def print_files() -> None:
    two_lines = tuple(Event(k / 2, 0.5, 60 + k % 12, 0.7, STRANDS[k % 2], legato=True) for k in range(64))
    performance = Performance((Event(0.0, 32.0, 48, 0.4, "drone"), *two_lines), 32.0, 120.0)
    with tempfile.TemporaryDirectory() as folder:
        begun = time.perf_counter()
        render_wav(performance, Path(folder) / "x.wav", 20)
        speed = 20 * 16.0 / (time.perf_counter() - begun)
    print(f"Files: a WAV of two lines over a drone is made {speed:.0f} times faster than it sounds")


def print_falls() -> None:
    noticed, back = [], []
    with Engine(OutputChoice("speaker", backend="null")) as engine:
        engine.load(run_of_notes())
        engine.play()
        _handled(engine, 3)
        for turn in range(1, 5):
            time.sleep(0.5)
            begun = time.monotonic()
            os.kill(engine.process_number or 0, signal.SIGKILL)
            while engine.restarted < turn:
                time.sleep(0.001)
            noticed.append(time.monotonic() - begun)
            old = engine.snapshot().handed_at
            while engine.snapshot().handed_at <= max(old, begun):
                time.sleep(0.001)
            back.append(engine.snapshot().handed_at - begun)
    print(
        f"kill -9 of the engine: noticed after {max(noticed) * 1000:.0f} ms at worst, sounding again after "
        f"{max(back) * 1000:.0f} ms at worst"
    )


def print_imports() -> None:
    code = "import time; b = time.perf_counter(); import earloop.engine.client; print(time.perf_counter() - b)"
    before = "import subprocess, threading, pickle, queue, dataclasses, earloop.performing.events; " + code
    for name, words in (("alone", code), ("beside a screen that is loaded", before)):
        took = [
            float(subprocess.run([sys.executable, "-c", words], capture_output=True, text=True).stdout) for _ in "12345"
        ]
        print(f"Import of the client, {name}: {1000 * min(took):.1f} ms")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--seconds", type=float, default=120.0)
    parser.add_argument("--what-brought-what", action="store_true")
    chosen = parser.parse_args()
    print(
        f"{platform.python_version()} on {platform.system()}, {os.cpu_count()} cores, "
        f"load {os.getloadavg()[0]:.1f} before"
    )
    if chosen.what_brought_what:
        print_what_brought_what(chosen.seconds)
        return
    print_timing(chosen.seconds)
    print_latency()
    print_synth()
    print_files()
    print_falls()
    print_going_ports()
    print_imports()
    print("Hanging notes after each fault:  python -m pytest tests/engine/test_fault_matrix.py -v")
    print("Memory and late onsets in half an hour:  python -m pytest -m soak  (EARLOOP_SOAK_MINUTES shortens it)")


if __name__ == "__main__":
    main()
