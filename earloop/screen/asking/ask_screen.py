"""Ask the ear: a question sounds, an answer comes by key, keyboard or voice; both are heard where it was wrong.

A screen of its own, not a panel: the phrase's picture would give the answers away.
"""

from __future__ import annotations

import threading
from typing import ClassVar

from textual import events
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.widgets import Static

from earloop.capture.client import Capture
from earloop.capture.sources import Source
from earloop.coaching.answering import Outcome
from earloop.screen.asking import words
from earloop.screen.background import in_background
from earloop.screen.keys_text import KeyTold, keys_text
from earloop.screen.saying import Saying
from earloop.screen.signs import Signs
from earloop.screen.stand.lines import sound
from earloop.session.asking import Asking
from earloop.session.keyboard_answers import KeyboardAnswers
from earloop.session.sung_answers import SungAnswers

LOOKS_A_SECOND = 15
NEXT = ("enter", "go on", "go_on")
AGAIN = ("space", "hear it again", "again")
BOTH = ("space", "hear both again", "again")
SING, NOT_SING = ("s", "sing it", "sing"), ("s", "don't listen", "sing")
PLAY = ("s", "play it", "sing")
UNKNOWN = ("x", "I don't know", "give_up")
TEMPO = ("+ -", "tempo", "tempo(5)")
END = ("q", "end", "end")
BACK = ("enter", "back to the phrase", "go_on")


class AskScreen(Saying[str]):
    """One spell. It is dismissed with the summary's sentences; the loop is then as it was before."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("space,r", "again", "again", show=False),
        Binding("enter", "go_on", "go on", show=False),
        Binding("s", "sing", "sing it", show=False),
        Binding("x", "give_up", "I don't know", show=False),
        Binding("plus", "tempo(5)", "faster", show=False),
        Binding("minus", "tempo(-5)", "slower", show=False),
        Binding("less_than_sign,comma", "level(-0.05)", "softer", show=False),
        Binding("greater_than_sign,full_stop", "level(0.05)", "louder", show=False),
        Binding("q,ctrl+c,ctrl+q", "end", "end", show=False),
    ]

    def __init__(self, asking: Asking, title: str, signs: Signs, source: Source | None = None) -> None:
        super().__init__()
        self.asking, self.title_of_score, self.signs = asking, title, signs
        self.keyboard = KeyboardAnswers(asking.session.player)
        self.sung = SungAnswers(Capture, source)
        self.summary = ""
        self._making = False
        self._of_itself = self.sung.way == "keyboard"

    def compose(self) -> ComposeResult:
        yield Static(id="ask-asked", markup=False)
        yield Static(id="ask-heard", markup=False)
        yield Static(id="ask-question", markup=False)
        yield Static(id="ask-ways", markup=False)
        with VerticalScroll(can_focus=False):
            yield Static(id="ask-answers", markup=False)
            yield Static(id="ask-outcome", markup=False)
        yield Static(id="ask-sound", markup=False)
        yield Static(id="ask-keys", markup=False)

    def on_mount(self) -> None:
        self.set_interval(1 / LOOKS_A_SECOND, self.look)
        self._go_to_next()

    def on_unmount(self) -> None:
        self.asking.leave()
        # The listening process gets a moment to leave; nobody waits for it.
        threading.Thread(target=self.sung.close, name="earloop microphone", daemon=True).start()

    # What the player does

    def on_key(self, event: events.Key) -> None:
        """A key that stands beside an answer."""
        if event.character and self.action_answer(event.character):
            event.stop()
            event.prevent_default()

    def action_answer(self, key: str) -> bool:
        return not self._making and self._told(self.asking.choose(key))

    def action_give_up(self) -> None:
        if not self._making:
            self._told(self.asking.give_up())

    def action_sing(self) -> None:
        """Listen for a sung answer, or no longer."""
        asked = self.asking.sung
        if self._making or self.summary or asked is None:
            return
        if self.sung.listening:
            self.sung.stop()
        else:
            self.asking.stop()
            self.asking.remark = ""
            self.sung.begin(*asked)
        self.look()

    def action_again(self) -> None:
        if not (self._making or self.summary):
            self.asking.again()
            self.look()

    def action_go_on(self) -> None:
        """The next question, once this one is answered; after the last the stand."""
        if self.summary:
            self.dismiss(self.summary)
        elif self.asking.outcome is not None and not self._making:
            self._go_to_next()

    def action_tempo(self, by: int) -> None:
        self.asking.session.faster(by)
        self.look()

    def action_level(self, by: float) -> None:
        self.asking.session.louder(by)

    def action_end(self) -> None:
        """End the spell with its summary; from there leave."""
        if self.summary or not self.asking.spell.answered:
            self.dismiss(self.summary)
        else:
            self._sum_up()

    def _told(self, outcome: Outcome | None) -> bool:
        if outcome is None:
            return False
        self.sung.stop()
        self.look()
        # In a low window a long list of answers may hide what was said to them.
        self.call_after_refresh(self.query_one(VerticalScroll).scroll_end, animate=False)
        return True

    def _go_to_next(self) -> None:
        self._making = True
        self.sung.stop()
        self.run_worker(self._next(), group="question", exclusive=True)

    async def _next(self) -> None:
        question = await in_background(lambda: self.asking.next(sounding=False))
        self._making = False
        if question is None:
            self._sum_up()
        else:
            self.asking.again()
            if self._of_itself:
                self._listen()
            self.look()

    def _sum_up(self) -> None:
        self.asking.stop()
        self.summary = self.asking.spell.summary()
        self.look()

    # What is seen

    def look(self) -> None:
        """Draw what has changed, and take what was played on the keyboard."""
        if not self._making and not self.summary:
            self._hear()
        question, outcome = self.asking.question, self.asking.outcome
        if self.summary or question is None or self._making:
            self._show_between()
            return
        spell, signs = self.asking.spell, self.signs
        self._say("ask-asked", words.heading(self.title_of_score, question, spell.asked, spell.count, signs))
        self._say("ask-heard", words.heard(self.asking.parts, self.asking.sounding, signs))
        self._say("ask-question", signs.told(question.words))
        self._say("ask-ways", f"Answer by key{question.ways}." if outcome is None else "")
        given = None if outcome is None else self.asking.given
        right = None if outcome is None else question.right
        self._say("ask-answers", words.answers(question.answers, signs, given, right))
        said = self.asking.remark or self.sung.sentence if outcome is None else outcome.sentence
        self._say("ask-outcome", signs.told(said))
        self._say_foot(outcome)

    def _hear(self) -> None:
        """Tones from the keyboard or the voice, if there are any."""
        sounding = self.asking.sounding is not None
        played, sung = self.keyboard.heard(sounding, self.asking.may_go_on), self.sung.look(sounding)
        if (played or sung) and not self._told(
            self.asking.tones(played or sung, "keyboard" if played else self.sung.way)
        ):
            # What was none of the answers asks for another try: it needs no further key.
            self.keyboard.heard(sounding=True)
            if sung or self.sung.listening:
                self._listen()
        elif self.sung.notice and not self.sung.listening:
            self._of_itself = False

    def _listen(self) -> None:
        """For the answer to this question, from now on, where it can be sung or played."""
        if self.asking.sung is not None:
            self.sung.begin(*self.asking.sung)

    def _show_between(self) -> None:
        """Before the first question, and at the end."""
        self._say("ask-asked", f"Ask the ear {self.signs.dot} {self.title_of_score}")
        for name in ("ask-heard", "ask-ways", "ask-answers", "ask-outcome"):
            self._say(name, "")
        self._say("ask-question", self.summary or "one moment")
        self._say_keys(BACK if self.summary else END)

    def _say_foot(self, outcome: Outcome | None) -> None:
        tempo = self.asking.session.choices.tempo
        where = sound(self.asking.session.player.snapshot())
        self._say("ask-sound", f"tempo {tempo} % {self.signs.dot} {where}")
        if outcome is None:
            sing = NOT_SING if self.sung.listening else PLAY if self.sung.way == "keyboard" else SING
            self._say_keys(AGAIN, *([sing] if self.asking.sung else []), UNKNOWN, TEMPO, END)
        else:
            self._say_keys(NEXT, BOTH if len(outcome.sounds) > 1 else AGAIN, TEMPO, END)

    def _say_keys(self, *keys: KeyTold) -> None:
        self._say("ask-keys", keys_text((keys,), self.signs, no_wrap=False))
