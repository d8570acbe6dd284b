"""The fault matrix's book: after each fault the notes that hang are counted, and the count must be 0."""

from __future__ import annotations

import os
from collections.abc import Callable

from listening_port import wait_for

ROWS: list[tuple[str, int]] = []
"""(fault, hanging notes), a row for each count."""


def none_hangs(count: Callable[[], int]) -> None:
    """Waits for the last note offs, writes the row and asserts that no note hangs."""
    wait_for(lambda: count() == 0)
    hanging = count()
    fault = os.environ.get("PYTEST_CURRENT_TEST", "").rpartition("::")[2].partition(" (")[0]
    ROWS.append((fault.removeprefix("test_").replace("_", " "), hanging))
    assert hanging == 0, f"{hanging} notes hang"
