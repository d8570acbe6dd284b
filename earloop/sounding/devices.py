"""The machine's sound devices by name, as miniaudio finds them.

A device that isn't named is opened on the first sound system that has one; so the list is that of the first system
that has any. A system may well be there without a device, as ALSA is where all sound goes by JACK.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Any, Literal

from earloop.sounding.quiet import quiet_stderr

ALSA_NOTHING = "Discard all samples"
"""ALSA lists its own sink for nothing as if it were a device."""


@dataclass(frozen=True, slots=True)
class Device:
    """`backend` and `identity` are miniaudio's own; they open it."""

    name: str
    backend: Any
    identity: Any


def devices(direction: Literal["in", "out"], only: str = "") -> list[Device]:
    """What one can listen to (`in`) or sound on (`out`), on the system called `only` or the first that has any.

    Empty where there is none. Takes a moment, and never raises.
    """
    import miniaudio

    for backend in real_backends(miniaudio, only):
        with quiet_stderr():
            try:
                system = miniaudio.Devices([backend])
                told = system.get_captures() if direction == "in" else system.get_playbacks()
            except miniaudio.MiniaudioError:
                continue
        found = [Device(str(one["name"]), backend, one["id"]) for one in told]
        if real := [device for device in found if not device.name.startswith(ALSA_NOTHING)]:
            return real
    return []


def first_that_opens(backends: Iterable[Any], opened_on: Callable[[Any], Any]) -> Any:
    """What `opened_on` makes of the first system on which it succeeds. Raises the last one's MiniaudioError.

    One system after the other: given all at once, miniaudio stays with the first that is there, as ALSA is also where
    it has no device and JACK has one.
    """
    import miniaudio

    reason = miniaudio.MiniaudioError("there is no sound system")
    for backend in backends:
        try:
            return opened_on(backend)
        except miniaudio.MiniaudioError as error:
            reason = error
    raise reason


def real_backends(miniaudio: Any, only: str = "") -> list[Any]:
    """All but `null`, which would run silently and pass for sound; or `only` the one of that name."""
    if only:
        return [miniaudio.Backend[only.upper()]]
    return [backend for backend in miniaudio.Backend if backend.name not in ("NULL", "CUSTOM")]
