"""What stands on the screen: heading, choices, the phrase, a sentence on the tone at the cursor, sound, keys."""

from __future__ import annotations

from typing import ClassVar

from textual import events
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.timer import Timer
from textual.widgets import Static

from earloop.coaching.plan import Plan
from earloop.layers import entry
from earloop.screen.keys import When, bindings
from earloop.screen.opening import Opened
from earloop.screen.picture.drawing import Scene
from earloop.screen.picture.phrase_view import PhraseView
from earloop.screen.saying import Saying
from earloop.screen.signs import Signs
from earloop.screen.stand import lines
from earloop.screen.stand.hints import circumstances, hints
from earloop.screen.stand.why import about
from earloop.session.diary import Diary
from earloop.session.following import Position
from earloop.session.naming import degree_texts, named_alike
from earloop.session.player_port import PlayerPort
from earloop.session.session import Session

LOOKS_A_SECOND = 15
"""How often the stand asks where the sound is: pictures need no more, and sound never waits for pictures."""
SOONEST_STEP = 0.02
"""Seconds between two moves of the sign of the sound at the least: grace notes are not to be seen one by one."""


class Board(Saying[None]):
    """Empty at first; `put` sets a score on it."""

    BINDINGS: ClassVar[list[BindingType]] = bindings()

    def __init__(self, signs: Signs) -> None:
        super().__init__(id="stand")
        self.signs = signs
        self.player: PlayerPort | None = None
        self.diary: Diary | None = None
        self.opened: Opened | None = None
        self.said = ""
        self.waiting = "one moment: earloop is getting ready"
        self.picking: int | None = None
        self.picks: When = "picking"
        self._scene: Scene | None = None
        self._step: Timer | None = None

    def compose(self) -> ComposeResult:
        yield Static(id="heading", markup=False)
        yield Static(id="state", markup=False)
        yield Static(id="details", markup=False)
        yield PhraseView(id="phrase-view")
        yield Static(id="why", markup=False)
        yield Static(id="sound", markup=False)
        yield Static(id="hints", markup=False)

    def on_mount(self) -> None:
        self.set_interval(1 / LOOKS_A_SECOND, self.look)
        self.look()

    def on_resize(self) -> None:
        self._shown.clear()
        self.look()

    @property
    def session(self) -> Session | None:
        return self.opened.session if self.opened else None

    @property
    def view(self) -> PhraseView:
        return self.query_one(PhraseView)

    def plan_to_give(self) -> Plan | None:
        """The plan seen for the phrase on the stand; None where none was looked at."""
        return None

    def plan_line(self) -> str:
        """Where a plan under way is; empty where there is none."""
        return ""

    def put(self, opened: Opened) -> None:
        """Another score on the stand."""
        self.opened, self.picking, self.waiting = opened, None, ""
        notes = [opened.session.notice] if opened.session.notice else []
        self.said = opened.card.hear or " ".join(notes)
        self.show()

    def say(self, sentence: str) -> None:
        """A sentence in place of the one about the cursor's tone, until the next command."""
        self.said = sentence
        self.look()

    def show(self) -> None:
        """Draw anew what a command may have changed."""
        if self.session is not None:
            self._draw(self.session)
        self.look()

    @property
    def covered(self) -> bool:
        """Whether another screen hides all of it: then nothing is drawn. What is new is taken in nevertheless."""
        above = self.app.screen
        return above is not self and above.styles.background.a == 1

    def on_screen_resume(self, event: events.ScreenResume) -> None:
        super().on_screen_resume(event)
        self.show()

    def _draw(self, session: Session) -> None:
        if self.covered:
            return
        if self._scene is None or _differs(session, self._scene):
            self._scene = scene_of(session, self.signs, self._scene)
            self._follow_sound(session)  # what then comes in sight is what is drawn
            self.view.show(self._scene)

    def look(self) -> None:
        """Where the sound is now; only what differs from what stands there is drawn."""
        session = self.session
        playing = answering = False
        if session is not None:
            self._take_news(session)
        if self.covered:
            return
        if session is not None:
            at = self._follow_sound(session)
            playing, answering = at.playing, at.answering
        if self.player is not None:
            self._say("sound", lines.sound(self.player.snapshot(), self.waiting))
        else:
            self._say("sound", self.waiting)
        self._say_words(session, playing, answering)

    def _follow_sound(self, session: Session) -> Position:
        """Put the sign of the sound where it is; once more at the next tone, if that comes before the next look."""
        at = session.position()
        tone = at.tone if at.playing else None
        self.view.place(session.cursor, tone, session.cursor if tone is None else tone)
        if self._step is None and at.until_next is not None and at.until_next < 1 / LOOKS_A_SECOND:
            self._step = self.set_timer(max(SOONEST_STEP, at.until_next), self._step_on)
        return at

    def _step_on(self) -> None:
        self._step = None
        if self.session is not None:
            self._follow_sound(self.session)

    def _take_news(self, session: Session) -> None:
        """What came of slow work since the last look: the readers' own reading, or a sentence."""
        told = session.notice
        if session.news():
            if session.notice != told:
                self.said = session.notice
            self._draw(session)

    def _say_words(self, session: Session | None, playing: bool, answering: bool) -> None:
        holds = circumstances(session, None if self.picking is None else self.picks)
        keys = hints(holds, self.signs, self.size.width - 2)
        self._say("hints", keys, rows=keys.plain.count("\n") + 1)
        if session is None or self.opened is None:
            self._say("heading", "earloop")
            self._say("why", self.said)
            return
        self._say("heading", lines.heading(self.opened, self.signs, self.size.width - 2))
        self._say("state", lines.state(session, playing, answering, self.signs))
        self._say(
            "details", lines.details(session, self.signs, self.size.width - 2, self.plan_line(), self.said_of_sound())
        )
        self._say("why", self.said or about(session, self.signs))

    def said_of_sound(self) -> tuple[str, ...]:
        """Words on the sound that differs from what it is at first."""
        return ()


def _differs(session: Session, scene: Scene) -> bool:
    """Whether the picture has to be drawn anew; a mere move of the cursor needs less."""
    c = session.choices
    return (
        scene.reading is not session.reading
        or scene.layer is not session.layer
        or scene.marks != session.marks
        or scene.named != (c.degree_names, c.home_or_local)
    )


def scene_of(session: Session, signs: Signs, before: Scene | None = None) -> Scene:
    """What the picture shows of a session; names that stay are taken from the scene `before`."""
    choices, reading = session.choices, session.reading
    named = (choices.degree_names, choices.home_or_local)
    plain = choices.layer == "ornamented"
    same = before is not None and before.reading.line is session.line and before.signs is signs
    labels = before.labels if before and same else tuple(signs.pitch(tone.pitch.name) for tone in session.line.tones)
    alike = before is not None and same and before.named == named
    if before and alike and named_alike(before.reading, reading):
        degrees = before.degrees
    else:
        degrees = signs.degrees(degree_texts(reading, choices), choices.degree_names)
        if before and alike and before.degrees == degrees:
            degrees = before.degrees
    return Scene(
        reading=session.reading,
        labels=labels,
        degrees=degrees,
        layer=session.layer,
        depth=entry("skeleton").depth if plain else session.depth,
        loop=session.span,
        named=named,
        marks=session.marks,
        decided=session.desk.decided,
        decided_about=session.desk.decided_about,
        signs=signs,
    )
