"""Sung tones as an answer: listen from now on, until a tone, or a few, were held and the voice is still again.

A voice searches before it settles: only tones that were held count, else the longest.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from typing import Literal, Protocol

from earloop.capture.messages import Answer, Frame, Report
from earloop.capture.sources import Source
from earloop.hearing.tones_sung import SungTone
from earloop.session.remembered_input import remembered_input

STILL, STILL_AFTER_SOME = 0.5, 1.0
"""Seconds of silence after which an answer of one tone, or of several, is over."""
LONGEST, LONGER = 4.0, 1.2
"""Seconds of singing after which it is over in any case: of one tone, and for each further one."""
HELD, HELD_OF_SOME = 0.3, 0.2
"""Seconds from which a tone counts as held: alone, and one of several."""
PATIENCE = 20.0
"""Seconds after which a voice is waited for no more; a keyboard hears nothing else, and may be waited for."""
ECHO = 0.25
"""Seconds after the question's own sound in which a microphone may still hear the loudspeaker."""
BEFORE, AFTER = 0.1, 0.1
NOTHING_HEARD = "I heard nothing: press s and sing again, or answer by key."
TOO_SHORT = "That was too short to tell: press s again and hold the tone."


class Listener(Protocol):
    """What is asked of the capture's client."""

    def start(self, source: Source) -> None: ...
    def trace(self, begin: float, end: float | None = None) -> list[Frame]: ...
    def answer(self, begin: float, end: float) -> int: ...
    def answers(self) -> list[Answer]: ...
    def report(self) -> Report: ...
    def close(self) -> None: ...


class SungAnswers:
    """`begin` starts listening, `look` is called a dozen times a second; nothing is opened before the first `begin`."""

    def __init__(
        self, make: Callable[[], Listener], source: Source | None = None, clock: Callable[[], float] = time.monotonic
    ) -> None:
        self._make, self._source, self._clock = make, source or remembered_input(), clock
        self._listener: Listener | None = None
        self._from = self._since = 0.0
        self._waiting: int | None = None
        self._what, self._most = "the tone", 1
        self._sounding = False
        self.listening = False
        self.notice = ""

    def begin(self, what: str = "the tone", most: int = 1) -> None:
        """Listen from now on for `what`, of so many tones at most. Opening a microphone takes a moment."""
        self._what, self._most = what, most
        if self._listener is None:
            self._listener = self._make()
            self._listener.start(self._source)
        self._from = self._since = self._clock()
        self._waiting = None
        self.listening, self.notice = True, ""

    def stop(self) -> None:
        """Listen no longer; what is sung from now on is no answer."""
        self.listening, self._waiting, self.notice = False, None, ""

    def close(self) -> None:
        """Let go of the microphone; may take a second. May be called twice."""
        self.stop()
        listener, self._listener = self._listener, None
        if listener is not None:
            listener.close()

    def look(self, sounding: bool) -> tuple[float, ...]:
        """The fractional MIDI keys of what was sung, once it has been; `sounding`: the question still sounds."""
        if not self.listening or self._listener is None:
            return ()
        report, now = self._listener.report(), self._clock()
        self._sounding = sounding
        if sounding or not report.heard_until:
            # Neither the loudspeaker nor a microphone that is still being opened is an answer.
            self._from = now + (ECHO if sounding else 0.0)
            self._since = now if sounding else self._since
            if report.notice and report.handled:
                self.listening, self.notice = False, report.notice
        elif self._waiting is not None:
            return self._answered()
        else:
            self._follow(report, now)
        if self.listening and self.way == "voice" and now - self._since > PATIENCE:
            self.listening, self.notice = False, report.notice or NOTHING_HEARD
        return ()

    @property
    def opened(self) -> bool:
        """Whether there was a `begin`, and the microphone or keyboard is at hand."""
        return self._listener is not None

    @property
    def way(self) -> Literal["keyboard", "voice"]:
        """How an answer from this source was given."""
        return "keyboard" if self._source.kind == "midi" else "voice"

    @property
    def sentence(self) -> str:
        """What goes on, for the performer; empty where nothing does."""
        if self.notice or not self.listening or self._listener is None:
            return f"{self.notice[:1].upper()}{self.notice[1:].rstrip('.')}." if self.notice else ""
        report = self._listener.report()
        if not report.heard_until:
            return f"One moment: opening the {self._source.sentence}."
        give = "play" if self.way == "keyboard" else "sing"
        if self._sounding:
            return f"Hear it out, then {give} {self._what}, in any octave: I listen to the {report.source} then."
        return f"Listening to the {report.source}: {give} {self._what}, in any octave, then be still."

    def _follow(self, report: Report, now: float) -> None:
        """Ask what was sung as soon as the voice is still again."""
        assert self._listener is not None
        voiced = [frame.moment for frame in self._listener.trace(self._from) if frame.midi is not None]
        self.notice = report.notice
        if not voiced:
            return
        self._since = now
        still = STILL if self._most == 1 else STILL_AFTER_SOME
        if report.heard_until - voiced[-1] > still or voiced[-1] - voiced[0] > LONGEST + LONGER * (self._most - 1):
            self._waiting = self._listener.answer(max(self._from, voiced[0] - BEFORE), voiced[-1] + AFTER)

    def _answered(self) -> tuple[float, ...]:
        assert self._listener is not None
        for answer in self._listener.answers():
            if answer.number != self._waiting:
                continue
            self.listening, self._waiting = False, None
            tones = settled(answer.tones, HELD if self._most == 1 else self._least)
            if not tones:
                self.notice = answer.notice or TOO_SHORT
            return tones
        return ()

    @property
    def _least(self) -> float:
        """A key struck shortly was meant; a short tone of a voice was passed on the way."""
        return 0.0 if self.way == "keyboard" else HELD_OF_SOME


def settled(tones: Sequence[SungTone], least: float = HELD) -> tuple[float, ...]:
    """The tones that were held for so many seconds, in order, else the longest; none without any."""
    held = [tone for tone in tones if tone.length >= least] or sorted(tones, key=lambda tone: -tone.length)[:1]
    return tuple(tone.midi for tone in held)
