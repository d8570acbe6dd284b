"""Grounds behind other things: all rows of one look alike, so that one is drawn for all."""

from __future__ import annotations

from textual.containers import Vertical
from textual.geometry import Region
from textual.strip import Strip


class Ground(Vertical):
    """Holds things one below the other. It may have a rule at its left and right, none above and below."""

    def render_lines(self, crop: Region) -> list[Strip]:
        """What is in sight; see Textual."""
        return super().render_lines(one_row(crop)) * crop.height


def one_row(crop: Region) -> Region:
    """The first row of what is in sight."""
    return Region(crop.x, crop.y, crop.width, 1)
