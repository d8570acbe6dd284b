"""What sound and MIDI this machine has, told in plain lines, and what to do where there is none."""

from __future__ import annotations

from dataclasses import dataclass, replace

from earloop.sounding.devices import devices
from earloop.sounding.midi_port import port_names
from earloop.sounding.outputs import OutputError


@dataclass(frozen=True, slots=True)
class Outputs:
    """Names of sound devices and MIDI ports; `midi_problem` is a sentence where MIDI can't be used at all."""

    speakers: tuple[str, ...]
    ports: tuple[str, ...]
    inputs: tuple[str, ...]
    midi_problem: str = ""


def outputs() -> Outputs:
    """Looks at this machine; takes a moment, and never raises."""
    return replace(midi_ports(), speakers=tuple(device.name for device in devices("out")))


def midi_ports() -> Outputs:
    """The same without the sound devices, which take longer to look for."""
    try:
        return Outputs((), tuple(port_names("out")), tuple(port_names("in")))
    except OutputError as error:
        return Outputs((), (), (), str(error))


def describe_outputs(found: Outputs | None = None) -> list[str]:
    """Lines for `earloop ports`."""
    found = found or outputs()
    lines = _listed("Sound devices", found.speakers, "none: plug one in or switch it on; until then earloop is silent")
    if found.midi_problem:
        return [*lines, f"MIDI: {found.midi_problem}"]
    none = "none: plug in an instrument, or start a synthesizer program; the built-in synth needs no port"
    lines += _listed("MIDI ports to play on", found.ports, none)
    return lines + _listed("MIDI ports to listen to", found.inputs, "none: plug in a keyboard or a pedal")


def _listed(title: str, names: tuple[str, ...], none: str) -> list[str]:
    return [f"{title}:", *(f"  {name}" for name in names)] if names else [f"{title}: {none}"]
