"""Rows of words as aligned columns of plain text."""

from __future__ import annotations

import shutil
import sys
from collections.abc import Sequence

from rich.cells import cell_len, set_cell_size

LEAST = 12
"""Cells that a column keeps which gives way."""


def aligned(rows: Sequence[Sequence[str]], gives_way: int | None = None) -> list[str]:
    """Each row as a line, two spaces between columns; wide letters count as the two cells they take.

    On a terminal too narrow for them the words of the column `gives_way` are cut; for a program nothing is.
    """
    widths = [max(cell_len(row[k]) for row in rows) for k in range(len(rows[0]))]
    if gives_way is not None and sys.stdout.isatty():
        others = sum(widths) - widths[gives_way] + 2 * (len(widths) - 1)
        room = shutil.get_terminal_size().columns - others
        widths[gives_way] = min(widths[gives_way], max(LEAST, room))
    return ["  ".join(_fitting(cell, width) for cell, width in zip(row, widths, strict=True)).rstrip() for row in rows]


def _fitting(cell: str, width: int) -> str:
    if cell_len(cell) > width:
        return set_cell_size(cell, width - 1) + "…"
    return cell + " " * (width - cell_len(cell))
