"""What was played, sung and answered, kept on the player's own machine and nowhere else."""

from earloop.journal.happening import Happening, Kind, UnderWay
from earloop.journal.journal import Journal
from earloop.journal.refusal import JournalError

__all__ = ["Happening", "Journal", "JournalError", "Kind", "UnderWay"]
