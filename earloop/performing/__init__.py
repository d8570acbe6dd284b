"""A layer → events in musical time: loudness, time, drone, count-in, answer gaps."""

from earloop.performing.events import STRANDS, Event, Performance, Strand
from earloop.performing.manner import Manner
from earloop.performing.perform import perform

__all__ = ["STRANDS", "Event", "Manner", "Performance", "Strand", "perform"]
