"""Keeping sound libraries from writing on the screen."""

from __future__ import annotations

import contextlib
import os
from collections.abc import Iterator


@contextlib.contextmanager
def quiet_stderr() -> Iterator[None]:
    """Sound libraries write to file descriptor 2 when a device is missing; a screen must not be spoiled by that."""
    try:
        saved = os.dup(2)
    except OSError:
        yield
        return
    nowhere = os.open(os.devnull, os.O_WRONLY)
    try:
        os.dup2(nowhere, 2)
        yield
    finally:
        os.dup2(saved, 2)
        os.close(saved)
        os.close(nowhere)
