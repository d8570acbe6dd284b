"""A library at its work: kept off the screen if it is talkative, and not searched for garbage."""

from __future__ import annotations

import contextlib
import gc
import io
import logging
import warnings
from collections.abc import Iterator


@contextlib.contextmanager
def quiet() -> Iterator[None]:
    """Swallow warnings, prints and logging inside the block."""
    sink = io.StringIO()
    before = logging.root.manager.disable
    with warnings.catch_warnings(), contextlib.redirect_stdout(sink), contextlib.redirect_stderr(sink):
        warnings.simplefilter("ignore")
        logging.disable(logging.CRITICAL)
        try:
            yield
        finally:
            logging.disable(before)


@contextlib.contextmanager
def uncollected() -> Iterator[None]:
    """No searches for garbage inside the block: what is built there stays, and they would go through it again."""
    before = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if before:
            gc.enable()
