"""Tones from a MIDI keyboard as answers: the first one that is played after the question has sounded."""

from __future__ import annotations

from typing import Any


class KeyboardAnswers:
    """`player` is one whose snapshot tells of the tones heard (the engine); from any other none are heard."""

    def __init__(self, player: Any) -> None:
        self._player = player
        self._known = self._count()

    def heard(self, sounding: bool) -> int | None:
        """The MIDI key of a tone played since the last call, None where there is none.

        What is played while the question sounds is no answer: it may be the question itself, coming back.
        """
        count = self._count()
        new, self._known = count - self._known, count
        if sounding or new <= 0:
            return None
        keys = [key for _, key, velocity in self._player.snapshot().notes if velocity > 0]
        return int(keys[-min(new, len(keys))]) if keys else None

    def _count(self) -> int:
        count = getattr(self._player.snapshot(), "heard", 0)
        return count if isinstance(count, int) else 0
