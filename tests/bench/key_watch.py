"""Presses a key in the real app and times it as the player sees it: until the last frame that shows something else.

What is drawn goes to an emulated terminal (pyte), after the clock has been read. Frames after which it looks as it did
before (Textual lays a new screen out two or three times) are no part of the answer.
"""

from __future__ import annotations

import asyncio
import contextlib
import time
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import pyte
from textual import events

from earloop.screen.app import EarloopApp

NAMES = {"+": ("plus", "+"), "-": ("minus", "-"), "space": ("space", " "), "?": ("question_mark", "?")}
PATIENCE = 20.0
"""Seconds after which a screen that doesn't come is a fault."""


@dataclass(frozen=True, slots=True)
class Press:
    """One key, in milliseconds. `what` says what it is for.

    `answered`: until the last frame that made the terminal look otherwise. `computed`: what the answering thread
    computed until then, whatever else the machine did. `afterwards`: until the frame with what slow work brought (the
    readers' own reading), None where none did.
    """

    what: str
    key: str
    answered: float
    computed: float
    afterwards: float | None


class Watch:
    """Presses keys; `pressed` has them all."""

    def __init__(self, app: EarloopApp) -> None:
        self.app = app
        self.pressed: list[Press] = []
        self._begun = self._computed = 0.0
        self._last = "the start"
        self._frames: list[tuple[float, float, str]] = []
        self._terminal = pyte.Screen(*app.size)
        self._stream = pyte.Stream(self._terminal)
        self._draw_into_text()
        app.refresh(layout=True)

    async def press(self, what: str, key: str, leads_on: bool = False, patient: bool = True) -> None:
        """`leads_on`: the answer is another screen than the present one, however that comes.

        Whoever isn't `patient` doesn't wait for what slow work brings.
        """
        name, character = NAMES.get(key, (key, key if len(key) == 1 else None))
        before, self._last = self.app.screen, f"{key} ({what})"
        self._seen()
        self._begun, self._computed = time.perf_counter(), time.thread_time()
        self.app.post_message(events.Key(name, character))
        await self._still()
        if leads_on:
            await self.until(lambda: self.app.screen is not before)
            await self._still()
        (answered, computed), afterwards = self._seen(), None
        if patient and self._slow_work():
            await self.until(lambda: not self._slow_work())
            await self._still()
            afterwards, _ = self._seen()
        self.pressed.append(Press(what, key, answered, computed, afterwards))

    async def until(self, holds: Callable[[], bool]) -> None:
        """Wait for it, or give up with a word on where we are."""
        begun = time.monotonic()
        while not holds():
            if time.monotonic() - begun > PATIENCE:
                raise SystemExit(f"nothing came within {PATIENCE:.0f} s of {self._last}, on {self.app.screen!r}")
            await asyncio.sleep(0.001)

    def _seen(self) -> tuple[float, float]:
        """Milliseconds from the key to the last frame that changed the terminal (where none did, to now): passed, and
        computed by this thread."""
        when, computed = time.perf_counter(), time.thread_time()
        frames, self._frames = self._frames, []
        for drawn, used, codes in frames:
            before = self.shown()
            self._stream.feed(codes)
            if self.shown() != before:
                when, computed = drawn, used
        return (when - self._begun) * 1000, (computed - self._computed) * 1000

    def shown(self) -> list[list[pyte.screens.Char]]:
        """Each cell of the terminal, with its colours."""
        rows, columns = range(self._terminal.lines), range(self._terminal.columns)
        return [[self._terminal.buffer[row][column] for column in columns] for row in rows]

    def is_true(self) -> bool:
        """Whether the emulated terminal shows what the app has on its screen."""
        self._seen()
        strips = self.app.screen._compositor.render_strips()
        drawn = ["".join(segment.text for segment in strip).rstrip() for strip in strips]
        return drawn == [row.rstrip() for row in self._terminal.display]

    def _slow_work(self) -> bool:
        stand = self.app.stand
        reading = stand is not None and stand.session is not None and not stand.session.desk.settled
        return reading or any(not worker.is_finished for worker in self.app.workers)

    def _draw_into_text(self) -> None:
        """Without a terminal Textual leaves the drawing out: here it is done, and kept."""

        def display(screen: Any, renderable: Any) -> None:
            if renderable is not None and hasattr(renderable, "render_segments"):
                codes = renderable.render_segments(self.app.console)
                self._frames.append((time.perf_counter(), time.thread_time(), codes))

        self.app._display = display  # type: ignore[method-assign]

    async def _still(self) -> None:
        """Everything the key set going is handled and drawn: no message waits anywhere, no widget wants a frame."""
        await self._passed()
        while not self._at_rest():
            await self._passed()

    def _at_rest(self) -> bool:
        screen = self.app.screen
        nodes = [self.app, *screen.walk_children(with_self=True)]
        wants = screen._layout_required or screen._repaint_required or screen._scroll_required or screen._dirty_widgets
        return not wants and not any(node.message_queue_size for node in nodes)

    async def _passed(self) -> None:
        """What waits before us, on the app and on the screen, is handled, and drawn."""
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
