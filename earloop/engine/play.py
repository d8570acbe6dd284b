"""Playing from the command line: start an engine, let the passes run out, leave silence behind."""

from __future__ import annotations

import time
from collections.abc import Callable

from earloop.engine.client import Engine
from earloop.engine.messages import Snapshot
from earloop.performing.events import Performance
from earloop.sounding.outputs import OutputChoice, OutputError

LOOK = 0.05
"""Seconds between looks at the engine."""
START_TIME = 8.0
"""Seconds an engine may take to begin before we say that it doesn't."""
LAST_TONE = 0.3


def play_until_over(
    performance: Performance,
    choice: OutputChoice,
    loops: int | None = 1,
    tempo: float = 1.0,
    tell: Callable[[str], None] = lambda sentence: None,
    prepare: Callable[[Engine], None] = lambda engine: None,
    look: Callable[[Snapshot], None] = lambda snapshot: None,
) -> Snapshot:
    """Returns the last snapshot when `loops` passes have sounded (None: never; Ctrl-C ends it).

    `tell` gets each new notice once, `look` each snapshot. `prepare` may set levels, mutes, ramps and tunings on the
    engine before it plays.
    Raises OutputError where the player doesn't begin.
    """
    with Engine(choice) as engine:
        engine.load(performance, "now", keep_position=False)
        engine.tempo(tempo)
        engine.loops(loops)
        prepare(engine)
        engine.play()
        return _until_over(engine, tell, look, stays=bool(choice.listen))


def _until_over(engine: Engine, tell: Callable[[str], None], look: Callable[[Snapshot], None], stays: bool) -> Snapshot:
    """`stays`: a pedal may stop the sound and start it again."""
    said, begun, started = "", time.monotonic(), False
    while True:
        now = engine.snapshot()
        started = started or now.playing
        look(now)
        if now.notice and now.notice != said:
            tell(now.notice)
            said = now.notice
        if now.ended or (started and not now.playing and not stays):
            # The last tone is still on its way through the device's buffers.
            time.sleep(LAST_TONE)
            return now
        if not started and time.monotonic() - begun > START_TIME:
            raise OutputError(now.notice or "the player does not start: run earloop ports to see what sound there is")
        time.sleep(LOOK)
