"""Names of ports, what is said where there is nothing, and a SoundFont in the stream."""

from __future__ import annotations

import builtins
from typing import Any

import numpy as np
import pytest
from performances import steps
from system_parts import need_module, need_program, need_soundfont

from earloop.sounding.described import Outputs, describe_outputs
from earloop.sounding.midi_port import match, port_names
from earloop.sounding.opening import opened
from earloop.sounding.outputs import OutputChoice, OutputError
from earloop.transport.player import Player


def test_a_port_is_known_again_whatever_its_numbers() -> None:
    """ALSA adds client and port numbers that change when a device is plugged in again."""
    names = ["Midi Through:Midi Through Port-0 14:0", "Keys (1234):Keys MIDI 1 28:0", "Organ:out"]
    assert match("Keys (99):Keys MIDI 1 20:0", names) == 1
    assert match("organ", names) == 2
    assert match("Organ:out", names) == 2
    assert match("i", names) is None, "more than one contains it"
    assert match("trumpet", names) is None


def test_what_there_is_and_what_to_do() -> None:
    lines = describe_outputs(Outputs((), (), ()))
    assert all("none:" in line for line in lines)
    assert len(lines) == 3
    lines = describe_outputs(Outputs(("Built-in Audio",), ("Organ:out",), ("Keys",)))
    assert lines[1].strip() == "Built-in Audio"
    assert any("Organ:out" in line for line in lines)


def test_without_the_midi_library_it_says_how_to_get_it(monkeypatch: pytest.MonkeyPatch) -> None:
    real = builtins.__import__

    def refusing(name: str, *rest: Any, **more: Any) -> Any:
        if name == "rtmidi":
            raise ImportError(name)
        return real(name, *rest, **more)

    monkeypatch.setattr(builtins, "__import__", refusing)
    with pytest.raises(OutputError, match=r"pip install python-rtmidi"):
        port_names()
    problem = describe_outputs(Outputs((), (), (), "MIDI ports need python-rtmidi"))
    assert problem[-1].startswith("MIDI: MIDI ports need")


def test_a_missing_soundfont_is_said() -> None:
    with pytest.raises(OutputError, match="there is no SoundFont"):
        opened(OutputChoice("speaker", backend="null", soundfont="nowhere.sf2"), 0.5)


@pytest.mark.fluidsynth
def test_a_soundfont_sounds_on_the_sample() -> None:
    """The user's own SoundFont through FluidSynth: silence before the onset, sound after it, silence at the end."""
    need_program("fluidsynth")
    need_module("fluidsynth", "pip install 'earloop[soundfont]'")
    from earloop.sounding.soundfont import FontInstrument

    instrument = FontInstrument(OutputChoice("speaker", soundfont=need_soundfont()))
    instrument.open()
    player = Player(instrument)
    player.load(steps(2, 1.0, 60.0))
    instrument.render(4800)
    player.loops(1)
    player.play()
    blocks = []
    while player.playing or (instrument.sounding and len(blocks) < 200):
        player.advance((instrument.frame + 4800) / instrument.rate)
        blocks.append(instrument.render(4800))
    sound = np.concatenate(blocks)
    assert np.abs(sound).max() > 0.01
    assert np.abs(sound[-4800:]).max() < 0.001
    instrument.close()
