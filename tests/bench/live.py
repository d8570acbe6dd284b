"""How soon a sung tone stands on the singing screen, and how often its trace is drawn; run it on an idle machine.

    python -m tests.bench live               half a minute of tones, then ten seconds of slides
    python -m tests.bench live --seconds 10  sooner, rougher

The real app in Textual's test driver, with its engine and its listener, each in its process; the voice is another one,
wired to the listener through a JACK server without hardware. The time counts from the moment a tone's first block was
handed to the device until the driver is given the frame that shows it: device buffers of both sides, the pitch track's
window, the pipe, the screen's looks, its drawing. What a terminal takes to paint it comes on top (some milliseconds).
"""

from __future__ import annotations

import argparse
import asyncio
import multiprocessing
import os
import shutil
import sys
import tempfile
import time
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise
from multiprocessing.connection import Connection
from pathlib import Path
from typing import Any

import numpy as np
import pyte
from textual.drivers.headless_driver import HeadlessDriver

from tests.bench.capture import RATE_AIM, cpu_seconds, figures, vowel

TUNE = "X:1\nT:Over the Sill\nM:none\nL:1/4\nQ:1/4=72\nK:D\nD F A G B A F D E G F D |]\n"
KEYS = (62, 69, 66, 67, 71)
TEMPO = 30
"""Percent: a pass that lasts longer than most of the measuring. The slides have the line's own tempo: a column of the
trace is then over in some looks, and each of them finds another cell."""
SILENCE = 0.45
"""Seconds between tones: the needle and the trace are still again."""
RISE = 0.6
"""Seconds in which the slides rise through an octave."""
SIZE = (80, 24)
NAMES = ("C", "C♯", "D", "D♯", "E", "F", "F♯", "G", "G♯", "A", "A♯", "B")


class Drawn(HeadlessDriver):
    """Keeps what a terminal would be given, and when."""

    written: list[tuple[float, str]]
    now: Drawn

    def __init__(self, *values: Any, **words: Any) -> None:
        super().__init__(*values, **words)
        self.written = []
        Drawn.now = self

    @property
    def is_headless(self) -> bool:
        return False

    def write(self, data: str) -> None:
        self.written.append((time.monotonic(), data))


def voice(pipe: Connection) -> None:
    """In a process of its own: sings each sound that comes, and says when it was begun."""
    from tests.capture.jack_voice import JackVoice

    with JackVoice() as singer:
        singer.wire()
        pipe.send(time.monotonic())
        while (sound := pipe.recv()) is not None:
            singer.begun = 0.0
            singer.sing(sound)
            while not singer.begun:
                time.sleep(0.001)
            pipe.send(singer.begun)


def slide(seconds: float) -> np.ndarray:
    """A tone that rises through an octave again and again: each look finds another pitch, for another row."""
    time_of = np.arange(round(seconds * 48000)) / 48000
    key = 60 + 12 * (time_of / RISE % 1)
    phase = 2 * np.pi * np.cumsum(440 * 2 ** ((key - 69) / 12)) / 48000
    return 0.3 * sum(np.sin(n * phase) / n for n in range(1, 8))


@dataclass(frozen=True)
class Sung:
    """Tones as (moment, key), and the stretch of the slides; moments are monotonic seconds."""

    tones: list[tuple[float, int]]
    slides: tuple[float, float]
    trace: tuple[int, int]
    """First row of the trace's picture, its ruler left out, and the row below it."""
    needle: int
    load: float


async def sing_on_the_screen(path: Path, pipe: Connection, seconds: float) -> Sung:
    """The performer's way: the stand, `V`, along with the sound."""
    from earloop.capture.sources import Source
    from earloop.screen.app import make_app
    from earloop.screen.singing.singing_screen import SingingScreen
    from earloop.sounding.outputs import SILENT

    app = make_app(path, output=SILENT)
    app.driver_class = Drawn
    async with app.run_test(headless=False, size=SIZE) as pilot:
        await _until(lambda: app.stand is not None and app.stand.opened is not None)
        app.stand._input = Source("microphone", backend="jack")
        await pilot.press("7", "V")
        await _until(lambda: isinstance(app.screen, SingingScreen))
        singing = app.screen.singing
        await _until(lambda: singing.capture.report().heard_until > 0)
        pipe.send(True)
        await _until(pipe.poll)
        pipe.recv()
        singing.session.set_tempo(TEMPO)
        await pilot.press("a")
        await pilot.press("space")
        await _until(lambda: singing.whose == "yours")
        await asyncio.sleep(1.0)
        begun, used = time.monotonic(), cpu_seconds(os.getpid())
        tones = [await _sung(pipe, key, vowel(key)) for key in _keys(seconds)]
        singing.session.set_tempo(100)
        slides = await _sung(pipe, 0, slide(10.0 if seconds > 15 else 4.0))
        await asyncio.sleep(0.5)
        ended = time.monotonic()
        load = (cpu_seconds(os.getpid()) - used) / (ended - begun)
        trace, needle = app.screen.query_one("#trace").region, app.screen.query_one("#needle").region
        rows = (trace.y + 1, trace.bottom)
        pipe.send(None)
        return Sung(tones, (slides[0] + 0.5, ended - 0.9), rows, needle.y, load)


def _keys(seconds: float) -> Iterator[int]:
    for k in range(max(3, round(seconds / (0.5 + SILENCE)))):
        yield KEYS[k % len(KEYS)]


async def _sung(pipe: Connection, key: int, sound: np.ndarray) -> tuple[float, int]:
    """Hand over a tone and wait until it is over, and a moment longer."""
    pipe.send(sound)
    await _until(pipe.poll)
    begun = pipe.recv()
    await asyncio.sleep(
        max(0.0, begun + len(sound) / 48000 + SILENCE * (0.9 + 0.2 * np.random.rand()) - time.monotonic())
    )
    return begun, key


async def _until(holds: Any, seconds: float = 20.0) -> None:
    end = time.monotonic() + seconds
    while not holds():
        if time.monotonic() > end:
            raise TimeoutError("the app did not come so far")
        await asyncio.sleep(0.005)


@dataclass(frozen=True)
class Look:
    """What a terminal shows from a moment on: the needle's words, and the places of the trace's marks, each with its
    sign: a tone a semitone higher may be another sign in the same cell."""

    moment: float
    needle: str
    marks: frozenset[tuple[int, int, str]]


def looks(sung: Sung, marks: str) -> list[Look]:
    """Each drawn frame in which one of the two is another."""
    screen = pyte.Screen(*SIZE)
    stream = pyte.Stream(screen)
    out: list[Look] = []
    for moment, data in Drawn.now.written:
        stream.feed(data)
        if not screen.dirty:
            continue
        screen.dirty.clear()
        lines = screen.display
        found = frozenset(
            (row, column, sign)
            for row in range(*sung.trace)
            for column, sign in enumerate(lines[row])
            if sign in marks and column > 8
        )
        look = Look(moment, lines[sung.needle].strip(), found)
        if not out or (look.needle, look.marks) != (out[-1].needle, out[-1].marks):
            out.append(look)
    return out


def shown_after(seen: list[Look], begun: float, key: int) -> tuple[float | None, float | None]:
    """Seconds until the needle names the tone, and until the trace has a mark more."""
    before = [look for look in seen if look.moment < begun][-1]
    after = [look for look in seen if begun <= look.moment < begun + 1.0]
    name = f"{NAMES[key % 12]}{key // 12 - 1} "
    needle = next((look.moment - begun for look in after if look.needle[5:].startswith(name)), None)
    trace = next((look.moment - begun for look in after if look.marks - before.marks), None)
    return needle, trace


def a_second(seen: list[Look], part: str, stretch: tuple[float, float]) -> str:
    """How often it was drawn anew, and the longest time it stood."""
    inside = [look for look in seen if stretch[0] <= look.moment <= stretch[1]]
    moments = [b.moment for a, b in pairwise(inside) if getattr(a, part) != getattr(b, part)]
    gaps = np.diff(moments)
    if not len(gaps):
        return "never"
    rate = len(gaps) / (moments[-1] - moments[0])
    return f"{rate:.1f} times a second (aim {RATE_AIM:.0f}), longest gap {1000 * gaps.max():.0f} ms"


def main() -> None:
    words = argparse.ArgumentParser()
    words.add_argument("--seconds", type=float, default=30.0)
    seconds = words.parse_args().seconds
    if shutil.which("jackd") is None or shutil.which("jack_connect") is None:
        raise SystemExit("this bench needs jackd2: apt-get install jackd2 (Debian's name)")
    sys.path.insert(0, str(Path(__file__).parents[1]))
    from jack_server import jack_server

    with tempfile.TemporaryDirectory() as folder, jack_server(f"earlooplive{os.getpid()}", Path(folder)):
        for name in ("XDG_CONFIG_HOME", "XDG_DATA_HOME", "XDG_STATE_HOME", "XDG_RUNTIME_DIR"):
            os.environ[name] = folder
        os.environ["EARLOOP_JOURNAL"] = str(Path(folder) / "journal.sqlite")
        tune = Path(folder) / "tune.abc"
        tune.write_text(TUNE, encoding="utf-8")
        ours, theirs = multiprocessing.get_context("spawn").Pipe()
        singer = multiprocessing.get_context("spawn").Process(target=_when_asked, args=(theirs,), daemon=True)
        singer.start()
        sung = asyncio.run(sing_on_the_screen(tune, ours, seconds))
        singer.join(5)
    from earloop.screen.signs import signs

    s = signs(False)
    seen = looks(sung, s.in_tune + s.off_high + s.off_middle + s.off_low)
    needles, traces = zip(*(shown_after(seen, *tone) for tone in sung.tones), strict=True)
    print(f"from the device to the needle: {figures(list(needles))}")
    print(f"from the device to the trace:  {figures(list(traces))}")
    print(f"the needle is drawn anew {a_second(seen, 'needle', sung.slides)}")
    print(f"the trace is drawn anew  {a_second(seen, 'marks', sung.slides)}")
    print(f"the screen's process: {100 * sung.load:.1f} % of a core")


def _when_asked(pipe: Connection) -> None:
    """The listener's port is there only once the screen is."""
    pipe.recv()
    voice(pipe)


if __name__ == "__main__":
    main()
