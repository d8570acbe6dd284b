"""A MIDI keyboard whose server dies: it is said, nothing falls, and the keys are heard again when it is back."""

from __future__ import annotations

import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager

import pytest
from jack_server import JackServer
from listening_port import ListeningPort

from earloop.capture.client import Capture
from earloop.capture.keyboard import Keyboard
from earloop.capture.sources import Source
from earloop.sounding.midi_port import MidiPort
from earloop.sounding.outputs import OutputChoice
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


STREAM = """
import rtmidi, sys, time
keys = rtmidi.MidiOut(rtapi=rtmidi.API_UNIX_JACK, name="streaming keys")
keys.open_virtual_port("out")
print("open", flush=True)
sys.stdin.readline()
for k in range(1500):
    time.sleep(0.002)
    keys.send_message([0xFE] if k % 10 == 9 else [0x90 if k % 2 else 0x80, 30 + k % 60, 80])
print("played", flush=True)
sys.stdin.readline()
"""


def test_no_key_is_lost_while_outputs_of_the_same_process_are_opened(jack: str) -> None:
    """The server is synchronous: it waits for its clients' threads, which must not wait for our interpreter.

    Active sensing (FE, MIDI 1.0) comes between the keys, as from many keyboards.
    """
    words = [sys.executable, "-c", STREAM]
    playing = subprocess.Popen(words, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True)
    assert playing.stdin is not None
    assert playing.stdout is not None
    keyboard = Keyboard(Source("midi", "streaming keys"))
    try:
        assert playing.stdout.readline() == "open\n"
        keyboard.open()
        with ListeningPort("some synth"):
            print(file=playing.stdin, flush=True)
            assert until(lambda: len(keyboard.strokes) > 0)
            for _ in range(3):
                sounder = MidiPort(OutputChoice("midi", port="some synth"))
                sounder.open()
                sounder.close()
        assert playing.stdout.readline() == "played\n"
        told = [k for k in range(1500) if k % 10 != 9]
        assert until(lambda: len(keyboard.strokes) == len(told)), f"{len(keyboard.strokes)} of {len(told)}"
        assert [(key, velocity > 0) for _, key, velocity in keyboard.strokes] == [
            (30 + k % 60, k % 2 == 1) for k in told
        ]
        moments = [moment for moment, *_ in keyboard.strokes]
        assert moments == sorted(moments)
    finally:
        keyboard.close()
        playing.kill()
        playing.communicate()
