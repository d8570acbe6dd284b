"""A grid of characters, each with the name of a style, written row by row and read as runs."""

from __future__ import annotations

Run = tuple[str, str]
"""Text and the name of its style; the empty name is the plain one."""


class Canvas:
    """`rows` × `width` cells, blank at first. Writing outside is cut off."""

    def __init__(self, rows: int, width: int) -> None:
        self.width = width
        self._text = [[" "] * width for _ in range(rows)]
        self._style = [[""] * width for _ in range(rows)]

    def __len__(self) -> int:
        return len(self._text)

    def same_as(self, other: Canvas | None) -> bool:
        """Whether the other looks just like it."""
        return other is not None and (self._text, self._style) == (other._text, other._style)

    def put(self, row: int, column: int, text: str, style: str = "") -> None:
        """Write text from the column on."""
        for at, sign in enumerate(text, start=column):
            if 0 <= at < self.width:
                self._text[row][at] = sign
                self._style[row][at] = style

    def fill(self, row: int, column: int, end: int, sign: str, style: str = "") -> None:
        """Write the sign into the blank cells from column to end (excluded)."""
        for at in range(max(0, column), min(self.width, end)):
            if self._text[row][at] == " ":
                self._text[row][at] = sign
                self._style[row][at] = style

    def runs(
        self, row: int, restyled: dict[int, str] | None = None, laid_over: dict[int, str] | None = None
    ) -> list[Run]:
        """The row as runs of one style each, some columns with another style or sign than was drawn."""
        styles, signs = list(self._style[row]), list(self._text[row])
        for cells, changes in ((styles, restyled), (signs, laid_over)):
            for column, value in (changes or {}).items():
                if 0 <= column < self.width:
                    cells[column] = value
        out: list[Run] = []
        for sign, style in zip(signs, styles, strict=True):
            if out and out[-1][1] == style:
                out[-1] = (out[-1][0] + sign, style)
            else:
                out.append((sign, style))
        return out
