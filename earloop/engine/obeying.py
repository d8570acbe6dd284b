"""Commands by name → the player."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from earloop.transport.player import Player
from earloop.transport.tuning import Tuning

COMMANDS: dict[str, Callable[..., None]] = {
    "load": Player.load,
    "play": Player.play,
    "stop": Player.stop,
    "seek": Player.seek,
    "tempo": Player.tempo,
    "ramp": Player.ramp,
    "mute": Player.mute,
    "alone": Player.alone,
    "loops": Player.loops,
    "tuning": lambda player, a4, just_on: player.retune(tuning=Tuning(a4, just_on)),
    "transpose": lambda player, steps: player.retune(steps=steps),
}


def obey(player: Player, name: str, values: tuple[Any, ...]) -> None:
    """Raises ValueError with a sentence where the command can't be followed."""
    COMMANDS[name](player, *values)
