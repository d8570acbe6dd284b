"""A MIDI keyboard whose server dies: it is said, nothing falls, and the keys are heard again when it is back."""

from __future__ import annotations

import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager

import pytest
from jack_server import JackServer

from earloop.capture.client import Capture
from earloop.capture.sources import Source
from tests.capture.rooms import until

pytestmark = [pytest.mark.jack]
PLAYS = """
import rtmidi, sys, time
keys = rtmidi.MidiOut(rtapi=rtmidi.API_UNIX_JACK, name=sys.argv[1])
keys.open_virtual_port("out")
print("open", flush=True)
while True:
    for words in ([0x90, 62, 80], [0x80, 62, 0]):
        time.sleep(0.1)
        keys.send_message(words)
"""


@contextmanager
def keys_far_away(name: str) -> Iterator[None]:
    """One key again and again from a process of its own: a server that is killed may take its clients with it."""
    words = [sys.executable, "-c", PLAYS, name]
    process = subprocess.Popen(words, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True)
    assert process.stdout is not None
    try:
        assert process.stdout.readline() == "open\n"
        yield
    finally:
        process.kill()
        process.wait(10)
        process.stdout.close()


def test_a_server_that_is_killed_takes_the_keyboard_but_not_the_listener(mortal_jack: JackServer) -> None:
    """A dead server's ports stay listed (seen with jackd 1.9): the listener notices by the server itself."""
    with Capture() as capture:
        with keys_far_away("far keys"):
            capture.start(Source("midi", "far keys"))
            assert until(lambda: any(frame.midi == 62 for frame in capture.trace(0))), capture.report()
            number = capture.process_number
            mortal_jack.kill()
            assert until(lambda: "has gone; it is looked for again" in capture.report().notice, 3), capture.report()
        gone = time.monotonic()
        mortal_jack.start()
        with keys_far_away("far keys"):
            assert until(lambda: any(frame.midi == 62 for frame in capture.trace(gone)), 15), capture.report()
            assert until(lambda: not capture.report().notice), capture.report()
            assert capture.process_number == number
