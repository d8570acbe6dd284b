"""Real ports over the dummy JACK server: what was sent is what arrives, clocks and pedals included."""

from __future__ import annotations

import time
from collections.abc import Iterator
from itertools import pairwise

import pytest
from listening_port import ListeningPort, wait_for
from performances import over_a_drone, steps

from earloop.engine.client import Engine
from earloop.sounding.described import describe_outputs
from earloop.sounding.midi_port import MidiPort, port_names
from earloop.sounding.outputs import PEDALS, OutputChoice

pytestmark = pytest.mark.jack
CLOCK, BEGIN, CONTINUE, HALT, SONG_PLACE = 0xF8, 0xFA, 0xFB, 0xFC, 0xF2


@pytest.fixture
def port(jack: str) -> Iterator[ListeningPort]:
    with ListeningPort("sequencer") as port:
        yield port


def test_what_was_sent_is_what_arrives(port: ListeningPort) -> None:
    """Every message, in order; each note on has its note off."""
    sounder = MidiPort(OutputChoice("midi", port="sequencer"))
    sounder.open()
    sent: list[list[int]] = []
    inner = sounder._out

    class Copying:
        def send_message(self, words: list[int]) -> None:
            sent.append(list(words))
            inner.send_message(words)

        def __getattr__(self, name: str) -> object:
            return getattr(inner, name)

    before = 9 * 10
    assert port.wait(lambda port: len(port.messages()) == before), "10 channels are prepared by 9 messages each"
    sounder._out = Copying()
    for key in range(40, 90):
        voice = sounder.start(key, 3.0 * (key % 7), 0.1 + key / 128, "upper" if key % 2 else "drone", 0.0)
        if key % 3:
            sounder.stop(voice, 0.0)
        time.sleep(0.002)
    sounder.silence()
    assert port.wait(lambda port: len(port.messages()) == before + len(sent))
    assert [words for _, words in port.messages()][before:] == sent
    assert not port.hanging()
    sounder._out = inner
    sounder.close()


def test_ports_are_listed(port: ListeningPort) -> None:
    assert any("sequencer:in" in line for line in describe_outputs())


def test_a_player_of_our_own_is_no_keyboard(port: ListeningPort) -> None:
    """The server lists the port we play from among those one can listen to; nobody is offered it."""
    import rtmidi

    with Engine(OutputChoice("midi", port="sequencer")) as engine:
        assert wait_for(lambda: "sequencer" in engine.snapshot().output)
        looking = rtmidi.MidiIn(rtapi=rtmidi.API_UNIX_JACK, name="looking")
        assert any(name.startswith("earloop:") for name in looking.get_ports())
        looking.delete()
        assert not any(name.startswith("earloop") for name in port_names("in"))


def test_loops_arrive_evenly(port: ListeningPort) -> None:
    """Three passes, seams included: onsets 0.1 s apart, none missing. (The server's period is 5.3 ms.)"""
    with Engine(OutputChoice("midi", port="sequencer")) as engine:
        engine.load(steps(8, 0.25, 150.0))
        engine.loops(3)
        engine.play()
        assert wait_for(lambda: engine.snapshot().ended == 1, 10.0)
    ons = port.note_ons()
    assert [key for *_, key in ons] == [60 + k % 8 for k in range(24)]
    gaps = [b[0] - a[0] for a, b in pairwise(ons)]
    assert sum(gaps) / len(gaps) == pytest.approx(0.1, abs=0.01)
    assert sorted(gaps)[len(gaps) // 2] == pytest.approx(0.1, abs=0.012)


def test_a_sequencer_can_follow(port: ListeningPort) -> None:
    """MIDI 1.0: start, then 24 clocks a quarter through the seams, stop; song position and continue after a seek."""
    with Engine(OutputChoice("midi", port="sequencer", clock=True)) as engine:
        engine.load(steps(4, 0.5, 240.0))
        engine.loops(2)
        engine.play()
        assert wait_for(lambda: engine.snapshot().ended == 1)
        assert port.wait(lambda port: [HALT] in [message for _, message in port.messages()])
        words = [message for _, message in port.messages() if message[0] in (CLOCK, BEGIN, HALT)]
        assert words[0] == [BEGIN]
        assert words[-1] == [HALT]
        assert words[1:-1] == [[CLOCK]] * (4 * 24)
        engine.loops(1)
        engine.seek(1.0)
        engine.play()
        assert wait_for(lambda: engine.snapshot().ended == 2)
        assert port.wait(lambda port: [message for _, message in port.messages()].count([HALT]) == 2)
    later = [message for _, message in port.messages() if message[0] in (SONG_PLACE, CONTINUE, HALT)][1:]
    assert later[:2] == [[SONG_PLACE, 4, 0], [CONTINUE]]
    assert later[-1] == [HALT]


def test_without_the_option_nobody_is_conducted(port: ListeningPort) -> None:
    with Engine(OutputChoice("midi", port="sequencer")) as engine:
        engine.load(steps(4))
        engine.play()
        assert port.wait(lambda port: len(port.note_ons()) > 2)
    assert all(message[0] < 0xF0 for _, message in port.messages())


def test_pedals_and_keys(jack: str) -> None:
    """A pedal starts and stops, another asks for the next phrase, a key too; other keys are listened to."""
    import rtmidi

    keyboard = rtmidi.MidiOut(rtapi=rtmidi.API_UNIX_JACK, name="keyboard")
    keyboard.open_virtual_port("out")
    controls = (*PEDALS, ("key", 21, "next"))
    try:
        with Engine(OutputChoice("silent", listen="keyboard", controls=controls)) as engine:
            engine.load(over_a_drone())
            assert wait_for(lambda: engine.snapshot().handled >= 2)
            time.sleep(0.2)
            for value in (30, 90, 127):
                keyboard.send_message([0xB0, 64, value])
            assert wait_for(lambda: engine.snapshot().playing)
            keyboard.send_message([0xB0, 64, 0])
            keyboard.send_message([0xB0, 64, 127])
            assert wait_for(lambda: not engine.snapshot().playing)
            keyboard.send_message([0xB0, 67, 127])
            keyboard.send_message([0x90, 21, 80])
            assert wait_for(lambda: engine.snapshot().next_asked == 2)
            keyboard.send_message([0x90, 62, 80])
            keyboard.send_message([0x80, 62, 0])
            assert wait_for(lambda: engine.snapshot().heard == 1)
            assert [(key, velocity) for _, key, velocity in engine.snapshot().notes] == [(62, 80), (62, 0)]
    finally:
        keyboard.close_port()
        keyboard.delete()


def test_level_is_channel_volume(port: ListeningPort) -> None:
    """Controller 7 (MIDI 1.0), so that velocities stay the music's own."""
    with Engine(OutputChoice("midi", port="sequencer")) as engine:
        engine.load(steps(2))
        engine.play()
        assert port.wait(lambda port: bool(port.note_ons()))
        engine.level(0.25)
        assert port.wait(lambda port: [0xB3, 7, 32] in [words for _, words in port.messages()])
