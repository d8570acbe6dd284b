"""From a choice of output to a sounder that is open."""

from __future__ import annotations

from earloop.sounding.outputs import OutputChoice
from earloop.sounding.silent import Silent
from earloop.transport.sounder import Sounder


def opened(choice: OutputChoice, level: float, after_a_fall: bool = False) -> Sounder:
    """Raises OutputError. `after_a_fall` ends the notes a killed player may have left on a port."""
    sounder: Sounder
    if choice.kind == "speaker":
        sounder = _speaker(choice)
    elif choice.kind == "midi":
        from earloop.sounding.midi_port import MidiPort

        sounder = MidiPort(choice, level, after_a_fall)
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
