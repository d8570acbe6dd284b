"""From a choice of output to a sounder that is open."""

from __future__ import annotations

from earloop.sounding.outputs import Left, OutputChoice
from earloop.sounding.silent import Silent
from earloop.transport.sounder import Sounder


def opened(choice: OutputChoice, level: float, left: Left = frozenset()) -> Sounder:
    """Raises OutputError. `left` are the tones a killed player may have left on a port: they are ended first."""
    sounder: Sounder
    if choice.kind == "speaker":
        sounder = _speaker(choice)
    elif choice.kind == "midi":
        from earloop.sounding.midi_port import MidiPort

        sounder = MidiPort(choice, level, left)
    else:
        sounder = Silent()
    sounder.open()
    sounder.level(level)
    return sounder


def _speaker(choice: OutputChoice) -> Sounder:
    from earloop.sounding.instrument import Instrument
    from earloop.sounding.speaker import Speaker

    instrument: Instrument
    if choice.soundfont:
        from earloop.sounding.soundfont import FontInstrument

        instrument = FontInstrument(choice)
    else:
        from earloop.sounding.synth import Synth

        instrument = Synth()
    return Speaker(instrument, choice.low_latency, choice.backend)
