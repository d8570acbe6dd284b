"""How soon each key is answered on long scores: from the key to the drawn frame, and to the readers' own reading.

    python -m tests.bench.keys [--tones 2000] [--times 12] [--score FILE --part N] [--made-only]

The real app in Textual's own test driver, drawing every frame into text, with the real engine playing silently. First a
made line, then a violin part of music21's corpus (Beethoven, Grosse Fuge, the second violin: some 2,700 tones).
"""

from __future__ import annotations

import argparse
import asyncio
import contextlib
import os
import statistics
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import music21
from textual import events

from earloop.engine.client import Engine
from earloop.line import Line
from earloop.screen.app import EarloopApp, make_app
from earloop.screen.comparing.comparing_screen import ComparingScreen
from earloop.screen.library import first_phrase
from earloop.screen.opening import Card, Opened, settle_memory
from earloop.session.kept_behind import KeptBehind
from earloop.session.session import Session
from earloop.sounding.outputs import OutputChoice
from tests.bench.reading import wandering

ALLOWED = 50.0
"""Milliseconds a key may take (issue 5)."""
LOOK = [
    ("cursor", "right left"),
    ("gesture", "down up"),
    ("phrase", "n n n p"),
    ("to the end, to the start", "end home"),
    ("names of degrees", "g"),
    ("home or local key", "k"),
    ("tempo", "+ -"),
    ("why", "h q"),
    ("map", "N right right q"),
    ("layer", "2 3 4 5 6 7 1"),
    ("depth", "d c"),
    ("look", "T"),
]
LOOP = [("next loop", "l"), ("play or stop", "space"), ("go on from here", "enter")]
ACTS = [
    ("weightier, lighter", "r f"),
    ("to a line", "U L S"),
    ("lean", "y"),
    ("bridge", "b"),
    ("gesture ends", "E"),
    ("phrase ends", "e"),
    ("home", "H"),
    ("key here", "K"),
    ("take back, again", "z Z"),
    ("as proposed", "backspace"),
]
COMPARE = [
    ("next difference", "down down down up"),
    ("depth, comparing", "d c"),
    ("hear both, or stop", "space space"),
    ("take over", "t"),
    ("take back, comparing", "z"),
]
NAMES = {"+": ("plus", "+"), "-": ("minus", "-"), "space": ("space", " ")}


class Watch:
    """Presses keys and times them, in milliseconds by what the key is for.

    `answered`: until the frame is drawn; `own`: of it, what the answering thread itself computed, whatever else the
    machine did; `read`: until the frame with the readers' own reading.
    """

    def __init__(self, app: EarloopApp) -> None:
        self.app = app
        self.answered: dict[str, list[float]] = {}
        self.own: dict[str, list[float]] = {}
        self.read: dict[str, list[float]] = {}
        self.on_disk: list[float] = []

    async def press(self, what: str, key: str) -> None:
        name, character = NAMES.get(key, (key, key if len(key) == 1 else None))
        begun, computed = time.perf_counter(), time.thread_time()
        self.app.post_message(events.Key(name, character))
        await self._refreshed()
        self.own.setdefault(what, []).append((time.thread_time() - computed) * 1000)
        self._note(self.answered, what, begun)
        stand = self.app.stand
        assert stand is not None
        assert stand.session is not None
        if not stand.session.desk.settled:
            while not stand.session.desk.settled:
                await asyncio.sleep(0.001)
            await self._refreshed()
            self._note(self.read, what, begun)

    def _note(self, kind: dict[str, list[float]], what: str, begun: float) -> None:
        kind.setdefault(what, []).append((time.perf_counter() - begun) * 1000)

    async def _refreshed(self) -> None:
        """Everything that waits before us is handled, on the app and the screen, and drawn."""
        done = asyncio.Event()

        def hop(left: int) -> None:
            if left:
                (self.app.screen if left % 2 else self.app).call_later(hop, left - 1)
            else:
                self.app.screen.call_after_refresh(done.set)

        screen = None
        while not done.is_set():
            # A panel that closes takes what waited on it along.
            if screen is not self.app.screen:
                screen = self.app.screen
                hop(3)
            with contextlib.suppress(TimeoutError):
                await asyncio.wait_for(done.wait(), 0.02)


async def compared(watch: Watch, times: int) -> None:
    """The same on the comparing screen, beside the proposal; a difference taken over is read in a thread first."""
    app = watch.app
    assert app.stand is not None
    app.stand.action_compare()
    while app.screen is app.stand:
        await asyncio.sleep(0.02)
    app.post_message(events.Key("enter", None))
    while not isinstance(app.screen, ComparingScreen):
        await asyncio.sleep(0.02)
    print(f"  comparing: {len(app.screen.comparing.differences)} differences")
    for _ in range(times):
        for what, pressed in COMPARE:
            for key in pressed.split():
                await watch.press(what, key)
    await watch.press("leave the comparison", "q")


def draws_into_text(app: EarloopApp) -> None:
    """Without a terminal Textual leaves the drawing out: here it is done, and thrown away."""

    def display(screen: Any, renderable: Any) -> None:
        if renderable is not None and hasattr(renderable, "render_segments"):
            renderable.render_segments(app.console)

    app._display = display  # type: ignore[method-assign]


async def round_of(watch: Watch, keys: list[tuple[str, str]], times: int) -> None:
    for _ in range(times):
        for what, pressed in keys:
            for key in pressed.split():
                await watch.press(what, key)
        # Another place each time, or the same decisions would come round.
        for _ in range(3):
            await watch.press("cursor", "right")


async def run(line: Line, times: int, folder: Path) -> None:
    engine = Engine(OutputChoice("silent"))
    engine.start()
    app = make_app(first_phrase(), player=engine)
    draws_into_text(app)
    async with app.run_test(size=(120, 40)):
        while app.stand is None or app.stand.opened is None:
            await asyncio.sleep(0.02)
        kept = KeptBehind(folder / "line.abc", line, folder)
        session = Session(line, engine, reads_later=True)
        session.desk.watch = lambda decided, _: kept.keep(decided)
        settle_memory()
        app.stand.put(Opened(folder / "line.abc", session, Card("a long line"), kept))
        session.play_or_stop()
        for loop in ("phrase", "whole"):
            watch = Watch(app)
            session.choose_loop(loop)  # type: ignore[arg-type]
            session.point_at(len(line) // 2)
            await round_of(watch, LOOK, max(1, times // 4))
            await round_of(watch, ACTS, times)
            session.choose_loop(loop)  # type: ignore[arg-type]
            if loop == "phrase":
                await round_of(watch, LOOP, times)
            await compared(watch, times)
            report(watch, f"looping the {loop}")
        await sign_of_the_sound(app, engine)
        print(f"  decisions in the end: {len(session.desk.decided.levels)} levels and others", end="")
        begun = time.perf_counter()
        kept.save(session.desk.decided)
        print(f"; writing them all: {(time.perf_counter() - begun) * 1000:.0f} ms")
    app.close_player()


async def sign_of_the_sound(app: EarloopApp, engine: Engine, seconds: float = 6.0) -> None:
    """How late the sign of the sound comes to each tone of the page, at twice the tempo."""
    assert app.stand is not None
    session = app.stand.session
    assert session is not None
    session.choose_loop("whole")
    session.choose_layer("ornamented")
    session.set_tempo(200)
    view, stepped = app.stand.view, []
    place = view.place

    def watched(cursor: int, playing: int | None, follow: int) -> None:
        if playing is not None and (not stepped or stepped[-1][1] != playing):
            stepped.append((time.monotonic(), playing))
        place(cursor, playing, follow)

    view.place = watched  # type: ignore[method-assign]
    session.stop()
    await asyncio.sleep(0.3)
    session.play_or_stop()
    session.seek_to(len(session.line) // 2)
    await asyncio.sleep(seconds)
    if len(stepped) < 5:
        print("  the sign of the sound: too few tones sounded to say")
        return
    news = engine.snapshot()
    speed = session.performance.tempo / 60 * news.tempo
    onsets = {event.source: event.onset for event in session.performance.events}
    late = [(when - (news.at + (onsets[tone] - news.position) / speed)) * 1000 for when, tone in stepped[3:]]
    passed = stepped[-1][1] - stepped[3][1] + 1
    print(f"  the sign of the sound: {len(late)} of {passed} tones shown; ms late: ", end="")
    print(f"middle {statistics.median(late):.0f}, from {min(late):.0f} to {max(late):.0f}")


def report(watch: Watch, heading: str) -> None:
    print(f"  {heading:<26}  middle   worst ms   computed: middle worst   read around: middle worst")
    for what, values in watch.answered.items():
        own, read = watch.own[what], watch.read.get(what, [])
        later = f"{statistics.median(read):16.0f} {max(read):6.0f}" if read else ""
        mark = " over" if max(values) > ALLOWED else ""
        columns = f"{statistics.median(values):8.1f} {max(values):9.1f}{mark:<5}"
        print(f"    {what:<24} {columns}{statistics.median(own):14.1f} {max(own):5.1f}{later}")
    everything = [value for values in watch.answered.values() for value in values]
    within = sum(value <= ALLOWED for value in everything) / len(everything)
    print(
        f"    all {len(everything)} keys: {within:.1%} within {ALLOWED:.0f} ms, worst {max(everything):.0f} ms", end=""
    )
    print(f"; computed at most {max(value for values in watch.own.values() for value in values):.0f} ms")


def main() -> None:
    words = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    words.add_argument("--tones", type=int, default=2000)
    words.add_argument("--times", type=int, default=12)
    words.add_argument("--score", type=Path)
    words.add_argument("--part", type=int, default=2)
    words.add_argument("--made-only", action="store_true")
    asked = words.parse_args()
    todo: list[tuple[str, Callable[[], Line]]] = [
        (f"a made line, {asked.tones:,} tones", lambda: wandering(asked.tones))
    ]
    if not asked.made_only:
        score = asked.score or Path(music21.__file__).parent / "corpus" / "beethoven" / "opus133.mxl"
        todo.append((f"{score.name}, part {asked.part}", lambda: _loaded(score, asked.part)))
    for name, made in todo:
        line = made()
        print(f"{name}: {len(line):,} tones; load of the machine {os.getloadavg()[0]:.1f}")
        with tempfile.TemporaryDirectory() as folder:
            asyncio.run(run(line, asked.times, Path(folder)))


def _loaded(score: Path, part: int) -> Line:
    from earloop.scores import load_line

    return load_line(score, part=part)


if __name__ == "__main__":
    main()
