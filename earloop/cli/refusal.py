"""Bad input from a person: one sentence on standard error, exit code 2."""

from __future__ import annotations


class Refusal(Exception):
    """What is wrong, where, and what to do, in one sentence."""
