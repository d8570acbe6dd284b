"""Keep a talkative library off the screen while it works."""

from __future__ import annotations

import contextlib
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
