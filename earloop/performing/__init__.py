"""A layer → events in musical time: loudness, time, drone, count-in, answer gaps.

The playing process needs the events alone, and soon: what makes them, with all of the reading behind it, is only
loaded when it is asked for.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

from earloop.performing.events import STRANDS, Event, Performance, Strand

if TYPE_CHECKING:
    from earloop.performing.manner import Manner
    from earloop.performing.perform import perform

__all__ = ["STRANDS", "Event", "Manner", "Performance", "Strand", "perform"]

LATER = {"Manner": "earloop.performing.manner", "perform": "earloop.performing.perform"}


def __getattr__(name: str) -> Any:
    if name not in LATER:
        raise AttributeError(f"module {__name__} has no attribute {name}")
    # Kept here, since loading a module sets its own name on the package: `perform` must stay the function.
    globals()[name] = value = getattr(import_module(LATER[name]), name)
    return value
