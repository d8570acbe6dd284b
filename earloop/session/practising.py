"""What the session notes in the diary: each spell of playing one layer of one place, and what others tell it."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from earloop.journal import Happening, Kind, UnderWay
from earloop.journal.moment import now
from earloop.layers import LayerName
from earloop.line import Span
from earloop.session.diary import Diary
from earloop.session.spell_time import SpellTime

if TYPE_CHECKING:
    from earloop.session.session import Session


@dataclass(frozen=True, slots=True)
class Spell:
    """One layer of one place, from play to stop or to another layer or place."""

    layer: LayerName
    span: Span
    phrase: int | None
    tempo: int
    first_pass: int


class Practising:
    """Watches the session for the diary. Without a diary it keeps count and notes nothing."""

    def __init__(self, session: Session, clock: Callable[[], float] = time.monotonic) -> None:
        self._session = session
        self._clock = clock
        self._spell: Spell | None = None
        self._time = SpellTime(self._note_spell, lambda: self._clock())
        self._passes_seen = 0
        self.diary: Diary | None = None
        self.score = ""
        self.title = ""

    def note(
        self,
        kind: Kind,
        what: str,
        item: str,
        *,
        phrase: int | None = None,
        result: float | None = None,
        seconds: float = 0.0,
        detail: dict[str, Any] | None = None,
    ) -> None:
        """Note something that happened now on the phrase (from 0), or on the one that is chosen.

        Returns at once and never raises.
        """
        where = self._phrase() if phrase is None else phrase
        self._note(kind, what, item, where, result, seconds, detail or {})

    def begins(self) -> None:
        """The loop was started."""
        self._begin(first_pass=1)

    def ends(self) -> None:
        """The loop was stopped, or ran out."""
        self._time.end()
        self._spell = None

    @property
    def going(self) -> bool:
        """Whether a spell is on: from play until it was stopped, or seen to have run out."""
        return self._spell is not None

    def turns(self) -> None:
        """The player was handed something else: another layer or place is another spell."""
        spell = self._spell
        if spell is not None and (spell.layer, spell.span) != (self._session.choices.layer, self._session.span):
            self.look()
            self.ends()
            self._begin(first_pass=max(1, self._passes_seen))

    def look(self) -> None:
        """See how far the player is; call it a few times a second.

        A loop that goes on is noted as far as it has come, so that a kill takes little; one that ended by itself is
        noted here too.
        """
        if self._spell is None:
            return
        at = self._session.player.snapshot()
        if at.playing:
            self._passes_seen = max(self._passes_seen, at.pass_number)
            self._time.look()
        elif self._passes_seen:
            self.ends()

    def _begin(self, first_pass: int) -> None:
        s = self._session
        self._passes_seen = 0
        self._spell = Spell(s.choices.layer, s.span, self._phrase(), s.choices.tempo, first_pass)
        self._time.begin()

    def _passes(self, spell: Spell) -> int:
        """Passes begun in the spell."""
        return max(1, self._passes_seen - spell.first_pass + 1)

    def _note_spell(self, token: str, seconds: float) -> None:
        """The spell up to now, in the place of what was noted of it before."""
        spell, c = self._spell, self._session.choices
        assert spell is not None
        detail: dict[str, Any] = {"passes": self._passes(spell), "tempo": c.tempo, "answer_gap": c.answer_gap}
        if spell.tempo != c.tempo:
            detail["tempo_from"] = spell.tempo
        item = f"layer:{spell.layer}"
        self._note("played", spell.layer, item, spell.phrase, None, seconds, detail, token)

    def _phrase(self) -> int | None:
        return None if self._session.choices.loop == "whole" else self._session.phrase

    def _note(
        self,
        kind: Kind,
        what: str,
        item: str,
        phrase: int | None,
        result: float | None,
        seconds: float,
        detail: dict[str, Any],
        token: str = "",
    ) -> None:
        if self.diary is not None:
            noted = Happening(now(), self.score, self.title, phrase, kind, what, item, result, seconds, detail)
            self.diary.note(UnderWay(token, noted) if token else noted)
