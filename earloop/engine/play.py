"""Playing from the command line: start an engine, let the passes run out, leave silence behind."""

from __future__ import annotations

import time
from collections.abc import Callable

from earloop.engine.client import Engine
from earloop.performing.events import Performance
from earloop.sounding.outputs import OutputChoice

LOOK = 0.05
"""Seconds between looks at the engine."""


def play_until_over(
    performance: Performance,
    choice: OutputChoice,
    loops: int | None = 1,
    tempo: float = 1.0,
    tell: Callable[[str], None] = lambda sentence: None,
    prepare: Callable[[Engine], None] = lambda engine: None,
) -> None:
    """Returns when `loops` passes have sounded (None: never; Ctrl-C ends it). `tell` gets each new notice once.

    `prepare` may set levels, mutes and tunings on the engine before it plays.
    """
    with Engine(choice) as engine:
        engine.load(performance)
        engine.tempo(tempo)
        engine.loops(loops)
        prepare(engine)
        engine.play()
        said = ""
        while not (now := engine.snapshot()).ended:
            if now.notice and now.notice != said:
                tell(now.notice)
                said = now.notice
            time.sleep(LOOK)
        # The last tone is still on its way through the device's buffers.
        time.sleep(0.3)
