"""The key that asks the ear: questions on the phrase that is looped, or on all of them where the whole is."""

from __future__ import annotations

from typing import TYPE_CHECKING

from earloop.screen.background import in_background
from earloop.screen.stand.sounding import Sounding
from earloop.session.remembered_input import remembered_input

if TYPE_CHECKING:
    from earloop.session.asking import Asking
    from earloop.session.session import Session

NOTHING_TO_ASK = "There is too little here to ask about: choose a longer phrase, or loop the whole."


class AskingTheEar(Sounding):
    """The board with the questions' screen."""

    def action_ask_the_ear(self) -> None:
        if self.session is not None:
            self.session.stop()
            self.run_worker(self._ask(self.session), group="asking", exclusive=True)

    async def _ask(self, session: Session) -> None:
        self.say("one moment")
        asking, source = await in_background(lambda: (_spell_on(session), remembered_input()))
        if not asking.spell.spots:
            self.say(NOTHING_TO_ASK)
            return
        from earloop.screen.asking.ask_screen import AskScreen

        if self.sound is not None:
            asking.sounds_above = self.sound.choices.above_written
        title = self.opened.card.title if self.opened is not None else ""
        self.say("")
        screen = AskScreen(asking, title or session.line.title, self.signs, source)
        self.app.push_screen(screen, self._told_at_the_end)

    def _told_at_the_end(self, summary: str | None) -> None:
        self.say(summary or "")
        self.show()


def _spell_on(session: Session) -> Asking:
    """Slow work: the spots of the phrases, and what was answered before."""
    from earloop.session.asking import Asking, past_of

    whole = session.choices.loop == "whole"
    phrases = range(len(session.reading.phrases)) if whole else [session.phrase]
    return Asking(session, phrases, past=past_of(session.practising.score))
