"""Prints the fault matrix after a run that counted hanging notes; with -v a line for each fault."""

from __future__ import annotations

import pytest
from hanging_notes import ROWS


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter, config: pytest.Config) -> None:
    if not ROWS:
        return
    if config.getoption("verbose") > 0:
        for fault, hanging in ROWS:
            terminalreporter.write_line(f"{hanging} hanging notes after: {fault}")
    total = sum(hanging for _, hanging in ROWS)
    terminalreporter.write_line(f"fault matrix: {len(ROWS)} faults, {total} hanging notes")
