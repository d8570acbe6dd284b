"""A process of ours beside the screen: how it is started, and how it keeps the pipe of its reports to itself."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Sequence


def started(words: Sequence[str]) -> subprocess.Popen[bytes]:
    """The process with a pipe in and one out, both without buffers, in a session of its own: no key of the terminal
    reaches it, and what it complains about doesn't spoil the screen."""
    return subprocess.Popen(
        words,
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        bufsize=0,
        start_new_session=True,
    )


def reports_alone() -> int:
    """A descriptor of the standard output that takes reports; whoever else writes there from now on writes nowhere."""
    reports = os.dup(1)
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, 1)
    sys.stdout = open(os.devnull, "w")  # noqa: SIM115 - lives as long as the process
    return reports
