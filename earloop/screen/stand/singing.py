"""Singing back from the stand: the singing screen over it, and the listener that lives as long as that is open."""

from __future__ import annotations

from typing import TYPE_CHECKING

from earloop.screen.stand.sounding import Sounding

if TYPE_CHECKING:
    from earloop.capture.sources import Source
    from earloop.session.lesson import Lesson
    from earloop.session.singing import Singing


class SingingBack(Sounding):
    """The board with the microphone. It is open only while the singing screen is."""

    _input: Source | None = None
    lesson: Lesson | None = None

    def action_sing(self) -> None:
        if self.session is not None:
            self.run_worker(self._sing(), group="singing", exclusive=True)

    async def _sing(self) -> None:
        from earloop.capture.client import Capture
        from earloop.screen.singing.singing_screen import SingingScreen
        from earloop.session.remembered_input import remembered_input
        from earloop.session.singing import Singing

        session, opened = self.session, self.opened
        if session is None or opened is None or not session.layer.tones:
            self.say("There is nothing to sing in this layer: choose another layer or phrase.")
            return
        if self.lesson is not None:
            self.lesson.hold()
        singing = Singing(session, Capture())
        if self.sound is not None:
            singing.reference = self.sound.choices.above_written
        singing.listen(self._input or remembered_input())
        self.app.push_screen(SingingScreen(singing, opened.title, self.signs), lambda _: self._sung(singing))

    def _sung(self, singing: Singing) -> None:
        """The session as it was before; a plan counts what was sung."""
        self._input = singing.source
        singing.leave()
        self.said = ""
        if self.lesson is not None:
            self.lesson.sung_back([(judged.asked.layer.name, judged.asked.phrase) for judged in singing.judged])
        self.show()
