"""Rows of words as aligned columns of plain text."""

from __future__ import annotations

from collections.abc import Sequence

from rich.cells import cell_len


def aligned(rows: Sequence[Sequence[str]]) -> list[str]:
    """Each row as a line, two spaces between columns; wide letters count as the two cells they take."""
    widths = [max(cell_len(row[k]) for row in rows) for k in range(len(rows[0]))]
    return [
        "  ".join(cell + " " * (width - cell_len(cell)) for cell, width in zip(row, widths, strict=True)).rstrip()
        for row in rows
    ]
