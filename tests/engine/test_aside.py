"""A question on a real engine: it sounds once, ends by itself, and the loop waits where it was."""

from __future__ import annotations

import time
from collections.abc import Callable

from hand_records import ROOT

from earloop.engine.client import Engine
from earloop.scores import load_line
from earloop.session.asking import Asking
from earloop.session.session import Session
from earloop.sounding.outputs import SILENT


def until(holds: Callable[[], bool], seconds: float = 15.0) -> bool:
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        if holds():
            return True
        time.sleep(0.02)
    return holds()


def test_a_question_sounds_once_and_the_loop_is_as_it_was() -> None:
    with Engine(SILENT) as engine:
        session = Session(load_line(ROOT / "phrases" / "07-two-rooks.musicxml"), engine)
        session.set_tempo(300)
        session.play_or_stop()
        assert until(lambda: engine.snapshot().playing and engine.snapshot().position > 1.0)
        asking = Asking(session, [0], kinds=("lean_way", "where_home"), seed=3)
        assert asking.next() is not None
        assert until(lambda: asking.sounding is not None and engine.snapshot().position > 0.5)
        heard = set()
        assert until(lambda: heard.add(asking.sounding) or asking.sounding is None)
        assert heard == {None, 0, 1, 2, 3}, "each part was heard, and nothing twice"
        assert not engine.snapshot().playing
        asking.again()
        assert until(lambda: engine.snapshot().playing)
        asking.leave()
        place = asking.aside.place_of_loop
        assert place > 1.0
        assert until(lambda: not engine.snapshot().playing and abs(engine.snapshot().position - place) < 1e-6)
        session.play_or_stop()
        assert until(lambda: engine.snapshot().playing and engine.snapshot().position >= place)
        passes = engine.snapshot().pass_number
        assert until(lambda: engine.snapshot().pass_number > passes + 1), "it loops again"
