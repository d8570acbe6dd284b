"""The phrase view: all systems one below the other, scrolled with the music, redrawn only where something moved."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import product

from textual.geometry import Region
from textual.strip import Strip

from earloop.screen.picture.canvas import Canvas
from earloop.screen.picture.drawing import GUTTER, Rows, Scene, column, contour_row, draw, rows_of
from earloop.screen.picture.tone_view import ToneView

FEWEST_CONTOUR_ROWS, MOST_CONTOUR_ROWS = 4, 12
COMPACT_ROWS = 8
"""No higher contour than this while there are systems out of sight."""


class PhraseView(ToneView):
    """Shows a Scene; `place` moves cursor and playing tone over it."""

    gutter_width = GUTTER

    def __init__(self, id: str) -> None:  # noqa: A002 - Textual's own word
        super().__init__(id)
        self._scene: Scene | None = None
        self._rows: list[Rows] = []
        self._cursor = 0
        self._followed = -1

    def show(self, scene: Scene) -> None:
        """Draw another scene; cursor and playing place stay."""
        self._scene = scene
        self._arrange()

    def place(self, cursor: int, playing: int | None, follow: int) -> None:
        """Move the cursor and the playing place; `follow` is the tone to keep in sight."""
        moved = {cursor, playing, self._cursor, self._playing} if (cursor, playing) != self._where else set()
        self._cursor, self._playing = cursor, playing
        for index in moved - {None}:
            self._refresh_tone(index)  # type: ignore[arg-type]
        if follow != self._followed:
            self._followed = follow
            self._bring_in_sight(follow)

    @property
    def _where(self) -> tuple[int, int | None]:
        return self._cursor, self._playing

    # Arranging

    def _arrange(self) -> None:
        scene = self._scene
        if scene is None or self.size.width <= GUTTER:
            return
        self._lay_out(scene.reading, (scene.reading.line, scene.labels, scene.degrees), lambda: _widest_texts(scene))
        besides = len(scene.line_rows) + 3
        one = min(COMPACT_ROWS, self.size.height - besides)
        all_in_sight = min(MOST_CONTOUR_ROWS, self.size.height // len(self._systems) - besides - 1)
        contour_rows = max(FEWEST_CONTOUR_ROWS, one, all_in_sight)
        worded, by_hand = (self._systems_of(tones) for tones in (scene.worded_tones, scene.decided_tones))
        kinds = {kind: rows_of(scene, contour_rows, *kind) for kind in product((False, True), repeat=2)}
        self._rows = [kinds[k in worded, k in by_hand] for k in range(len(self._systems))]
        self._tops = [0]
        for rows in self._rows:
            self._tops.append(self._tops[-1] + rows.size)
        self._be_high(self._tops[-1])
        self._followed = -1
        self._renew()

    def _systems_of(self, tones: Iterable[int]) -> set[int]:
        return {self._system_of(index) for index in tones}

    def _refresh_tone(self, index: int) -> None:
        if not self._systems or index > self._systems[-1].last:
            return
        k = self._system_of(index)
        system = self._systems[k]
        top = self._tops[k] - self.scroll_offset.y
        self.refresh(Region(column(system, index), top, system.width(index), self._rows[k].size))

    # Drawing

    def _draw(self, k: int) -> Canvas:
        assert self._scene is not None
        return draw(self._scene, self._systems[k], self._rows[k], self.size.width)

    def render_line(self, y: int) -> Strip:
        """One row of the picture with cursor and playing place laid over it."""
        at = y + self.scroll_offset.y
        k = self._system_at(at)
        if self._scene is None or k is None:
            return self.blank()
        if k not in self._drawn:
            self._drawn[k] = self._draw(k)
        row = at - self._tops[k]
        return self.strip_of(self._drawn[k].runs(row, *self._laid_over(k, row)))

    def _laid_over(self, k: int, row: int) -> tuple[dict[int, str], dict[int, str]]:
        """Columns to restyle and signs to lay over the row for cursor and playing place."""
        assert self._scene is not None
        system, rows, styles, signs = self._systems[k], self._rows[k], {}, {}
        for index, name, sign in (
            (self._cursor, "cursor", self._scene.signs.cursor),
            (self._playing, "playing", self._scene.signs.playing),
        ):
            if index is None or not system.holds(index):
                continue
            at = column(system, index)
            if row == 0:
                signs[at], styles[at] = sign, name
            elif row == contour_row(self._scene, system, rows, index):
                styles.update(dict.fromkeys(range(at, at + len(self._scene.labels[index])), name))
        return styles, signs


def _widest_texts(scene: Scene) -> list[int]:
    return [max(len(label), len(degree) + 1) for label, degree in zip(scene.labels, scene.degrees, strict=True)]
