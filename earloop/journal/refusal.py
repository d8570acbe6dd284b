"""The one way the journal refuses: a sentence a performer can act on."""

from __future__ import annotations


class JournalError(Exception):
    """What is wrong with the journal, where it lies, and what to do."""
