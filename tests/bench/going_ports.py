"""How soon a port's or a server's going and coming back is noticed, and what a waking engine plays at first.

python -m tests.bench.going_ports
"""

from __future__ import annotations

import os
import signal
import time
from collections.abc import Callable

from earloop.engine.client import Engine
from earloop.performing.events import Event, Performance
from earloop.sounding.outputs import OutputChoice
from tests.bench.dummy_ports import jack_is_here, listener_called, started

ROUNDS = 3
PATIENCE = 20.0


def until(holds: Callable[[], bool]) -> float:
    """Seconds until it holds."""
    begun = time.monotonic()
    while not holds():
        if time.monotonic() - begun > PATIENCE:
            raise SystemExit("  it was not noticed")
        time.sleep(0.002)
    return time.monotonic() - begun


def print_going_ports() -> None:
    if not jack_is_here():
        print("Ports that go and come back: not measured, jackd or python-rtmidi is not installed")
        return
    gone, back, dead, alive = [], [], [], []
    server = started("earloopbench")
    listener = listener_called("bench")
    events = tuple(Event(k / 2, 0.5, 60 + k, 0.7, "single", source=k) for k in range(8))
    with Engine(OutputChoice("midi", port="bench", backend="null")) as engine:
        engine.load(Performance(events, 4.0, 240.0))
        engine.play()
        on_port = lambda: engine.snapshot().output.startswith("MIDI port")  # noqa: E731
        on_speaker = lambda: engine.snapshot().output == "speaker"  # noqa: E731
        until(on_port)
        for _ in range(ROUNDS):
            time.sleep(0.5)
            listener.kill()
            listener.wait()
            gone.append(until(on_speaker))
            listener = listener_called("bench")
            back.append(until(on_port))
            time.sleep(0.5)
            server.kill()
            dead.append(until(on_speaker))
            listener.kill()
            server.start()
            listener = listener_called("bench")
            alive.append(until(on_port))
        print(f"Worst of {ROUNDS}: a port that goes is noticed after {max(gone):.2f} s, back after {max(back):.2f}")
        print(f"  a server that is killed after {max(dead):.2f} s, back after {max(alive):.2f}")
        _print_waking(engine)
    listener.kill()
    server.end()


def _print_waking(engine: Engine) -> None:
    """An engine that was stopped for three seconds: moments sounded in its first tenth of a second."""
    engine.measure()
    os.kill(engine.process_number or 0, signal.SIGSTOP)
    time.sleep(3.0)
    woken = time.monotonic()
    os.kill(engine.process_number or 0, signal.SIGCONT)
    time.sleep(1.0)
    measured = engine.measure()
    sounded = [due + late for due, late in zip(measured.due, measured.lateness, strict=True)]
    first = sum(woken <= at < woken + 0.1 for at in sounded)
    print(f"After 3 s asleep: {first} moments in the first 100 ms (8 a second are due)")


if __name__ == "__main__":
    print_going_ports()
