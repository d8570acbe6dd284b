"""The singing screen: the layer's tones, the live trace, whose turn it is, and each answer tone by tone."""

from __future__ import annotations

import time
from pathlib import Path
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.widgets import Static

from earloop.capture.sources import Source
from earloop.layers import NAMES
from earloop.screen.background import in_background
from earloop.screen.keys import shared_bindings
from earloop.screen.keys_text import keys_text
from earloop.screen.panels.ask import Ask
from earloop.screen.panels.panel import Choice
from earloop.screen.panels.why_panel import WhyPanel
from earloop.screen.saying import Saying
from earloop.screen.signs import Signs
from earloop.screen.singing import words
from earloop.screen.singing.answer_drawn import ROWS, draw_answer
from earloop.screen.singing.canvas_view import CanvasView
from earloop.screen.singing.help_words import help_lines
from earloop.screen.singing.inputs import FROM_FILE, inputs
from earloop.screen.singing.present import Asking
from earloop.screen.singing.trace_drawn import Shown, draw_trace
from earloop.session.judging import Judged
from earloop.session.remembered_input import remember_input
from earloop.session.singing import Singing, Whose
from earloop.session.turns import LEAD

LOOKS_A_SECOND = 40
"""The trace is to be seen within 150 ms of the sound, and 15 times a second or more."""
AS_ON_THE_STAND = (
    "deeper", "closer", "next", "previous", "faster", "slower", "faster_1", "slower_1", "tempo_100", "drone", "count",
    "time", "names", "home_local", "loop", "softer", "louder", "help", *(f"layer_{name}" for name in NAMES),
)  # fmt: skip
"""Keys that do here what they do on the stand."""


class SingingScreen(Saying[None]):
    """Dismissed when the performer leaves; nobody goes on listening then."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("q,escape,ctrl+c,V", "leave", "back", show=False),
        Binding("space", "play", "begin, stop", show=False),
        Binding("a", "way", "how you answer", show=False),
        Binding("I", "input", "input", show=False),
        Binding("b", "both", "hear both", show=False),
        Binding("K", "keep", "keep the take", show=False),
        Binding("R", "relative", "reference", show=False),
        Binding("M", "beat", "metronome", show=False),
        Binding("left_parenthesis", "tolerance(-5)", "stricter", show=False),
        Binding("right_parenthesis", "tolerance(5)", "wider", show=False),
        Binding("left_curly_bracket", "held(-0.1)", "shorter will do", show=False),
        Binding("right_curly_bracket", "held(0.1)", "held longer", show=False),
        Binding("left", "page(-1)", "tones before", show=False),
        Binding("right", "page(1)", "more tones", show=False),
        *shared_bindings(*AS_ON_THE_STAND),
    ]

    def __init__(self, singing: Singing, title: str, signs: Signs) -> None:
        super().__init__(id="singing")
        self.singing, self.title_words, self.signs = singing, title, signs
        self.said = words.CARE
        self.last: Judged | None = None
        self.band = 0
        self._asking: Asking | None = None
        self._turn_begun = 0.0
        self._kept: tuple[Judged, Asking, Shown] | None = None
        self._stands: tuple[Shown, Judged | None, tuple[object, ...]] | None = None

    def compose(self) -> ComposeResult:
        yield Static(id="heading", markup=False)
        yield Static(id="state", markup=False)
        yield Static(id="measure", markup=False)
        yield CanvasView(id="trace")
        yield Static(id="needle", markup=False)
        yield CanvasView(id="answer")
        yield Static(id="result", markup=False)
        yield Static(id="say", markup=False)
        yield Static(id="listening", markup=False)
        yield Static(id="singing-keys", markup=False)

    def on_mount(self) -> None:
        self.query_one("#answer").styles.height = len(ROWS)
        self.query_one("#singing-keys", Static).update(keys_text(words.KEYS_LINES, self.signs))
        self.set_interval(1 / LOOKS_A_SECOND, self.look)
        self.look()

    def on_unmount(self) -> None:
        self.singing.capture.close()

    def on_canvas_view_resized(self) -> None:
        self.look()

    # What is seen

    def look(self) -> None:
        """Follow the player and the listener; only what differs from what stands there is drawn."""
        singing = self.singing
        for judged in singing.look():
            if judged.asked.layer is singing.session.layer:
                self.last, self.said, self.band = judged, judged.say, 0
        whose = singing.whose
        asking = self._asked()
        latest = singing.capture.latest()
        now = time.monotonic()
        if whose == "yours" and singing.turn is not None:
            if singing.turn.begin - self._turn_begun > 0.5 or singing.turn.begin < self._turn_begun - 0.5:
                self._turn_begun = singing.turn.begin
                asking.begin()
            frames = singing.capture.trace(singing.turn.begin - LEAD)
            asking.follow(frames)
            shown = asking.live(singing.turn, frames, now, singing.measure.tolerance)
        elif self.last is not None:
            shown = self._last_shown(asking, self.last)
        else:
            shown = asking.waiting(singing.measure.tolerance, self._place(whose))
        self._draw(asking, shown)
        self._say_words(whose, now)
        if latest is None or now - latest.moment > 1.0:
            self._say("needle", words.needle(None, None, "", singing.measure.tolerance, -120.0, self.signs))
        else:
            cents, label = (None, "") if latest.midi is None else asking.cents(latest.midi)
            tolerance = singing.measure.tolerance
            self._say("needle", words.needle(latest.midi, cents, label, tolerance, latest.decibels, self.signs))

    def _last_shown(self, asking: Asking, judged: Judged) -> Shown:
        """Made once for each answer: the listener forgets, the screen need not."""
        known = self._kept
        if known is None or known[0] is not judged or known[1] is not asking:
            frames = self.singing.capture.trace(judged.answer.begin, judged.answer.end)
            self._kept = known = (judged, asking, asking.judged(judged, frames))
        return known[2]

    def _asked(self) -> Asking:
        """The tones as they are asked for now; another layer or phrase is a new picture without an answer."""
        session, width = self.singing.session, self.query_one("#trace").size.width
        if self._asking is None or not self._asking.holds_for(session, width):
            if self._asking is not None and self._asking.layer is not session.layer:
                self.last, self.said, self.band = None, "", 0
            self._asking = Asking(session, self.signs, width)
            self._asking.reference = self.singing.reference
        return self._asking

    def _place(self, whose: str) -> float | None:
        where = self.singing.session.player.snapshot()
        return max(0.0, where.position) if where.playing and whose == "sounding" else None

    def _draw(self, asking: Asking, shown: Shown) -> None:
        trace, answer = self.query_one("#trace", CanvasView), self.query_one("#answer", CanvasView)
        if not asking.keys or trace.size.height < 2:
            return
        if shown.playhead is not None:
            self.band = asking.places.band_of(asking.places.column_at(shown.anchors, shown.playhead)[0])
        self.band = max(0, min(len(asking.places.bands) - 1, self.band))
        room = (self.band, trace.size, answer.size)
        before = self._stands
        if before is not None and before[0] is shown and before[1] is self.last and before[2] == room:
            return
        self._stands = (shown, self.last, room)
        trace.show(draw_trace(shown, self.band, trace.size.height, trace.size.width, self.signs))
        names = self.singing.session.choices.degree_names
        width = answer.size.width
        answer.show(draw_answer(self.last, asking.labels, asking.places, self.band, width, self.signs, names))

    def _say_words(self, whose: Whose, now: float) -> None:
        singing, signs = self.singing, self.signs
        session, until = singing.session, singing.until_turn
        self._say("heading", words.heading(session, self.title_words, signs, self.size.width - 2))
        seconds = None if until is None else until - now
        self._say("state", words.state(whose, singing.way, seconds, session, signs, self.size.width - 2))
        self._say("measure", words.measure_words(singing.measure, signs))
        count = len(singing.judged)
        self._say("result", "" if self.last is None else words.result(self.last, count, signs))
        self._say("say", signs.told(self.said))
        report = singing.capture.report()
        trouble = singing.notice or report.notice or session.player.snapshot().notice
        self._say(
            "listening",
            trouble or (f"listening to {report.source}" if report.source else "one moment: opening the input"),
        )

    # What the performer does

    def action_session(self, name: str, *values: object) -> None:
        """A command of the session, as on the stand."""
        getattr(self.singing.session, name)(*values)
        self.look()

    def action_play(self) -> None:
        self.singing.play_or_stop()
        self.look()

    def action_way(self) -> None:
        self.singing.next_way()
        self.look()

    def action_both(self) -> None:
        self.singing.play_both()

    def action_keep(self) -> None:
        self.singing.keep()

    def action_relative(self) -> None:
        self.singing.turn_relative()
        self.look()

    def action_beat(self) -> None:
        self.singing.turn_beat()
        self.look()

    def action_tolerance(self, by: float) -> None:
        self.singing.set_tolerance(self.singing.measure.tolerance + by)
        self.look()

    def action_held(self, by: float) -> None:
        self.singing.set_held(self.singing.measure.held + by)
        self.look()

    def action_page(self, by: int) -> None:
        self.band += by
        self.look()

    def action_help(self) -> None:
        self.app.push_screen(WhyPanel("Singing back: keys and meanings", help_lines(self.signs)))

    def action_input(self) -> None:
        self.run_worker(self._offer_inputs(), group="inputs", exclusive=True)

    async def _offer_inputs(self) -> None:
        options, problem = await in_background(inputs)

        def take(source: Source | None) -> None:
            if source == FROM_FILE:
                self.app.push_screen(Ask("Which recording? WAV, FLAC or MP3", ""), take_file)
            elif source is not None:
                remember_input(source)
                self.singing.listen(source)

        def take_file(name: str | None) -> None:
            if name:
                self.singing.listen(Source("file", str(Path(name.strip()).expanduser())))

        self.app.push_screen(Choice("What shall be listened to?", options, problem=problem), take)

    def action_leave(self) -> None:
        self.dismiss(None)
