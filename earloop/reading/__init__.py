"""The reading of a line: one question a module, run in order by `read`."""

from earloop.reading.decisions import NONE_DECIDED, Decisions
from earloop.reading.read import read
from earloop.reading.record import DEEPEST, Key, Reading

__all__ = ["DEEPEST", "NONE_DECIDED", "Decisions", "Key", "Reading", "read"]
