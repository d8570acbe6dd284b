"""One sitting with one score: what is chosen, what is heard, what is decided. No keys and no screen.

Every command is a method that returns at once; sound follows because each change hands the player a new
performance, at the next loop seam or now.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import replace
from typing import Literal

from earloop.coaching.plan import Plan
from earloop.layers import Layer, LayerName, entry
from earloop.line import Line, Span
from earloop.performing import Manner, Performance
from earloop.reading import DEEPEST, Decisions, Reading
from earloop.reading.record import Degree
from earloop.session.choices import DEGREE_NAMES, LOOPS, Choices, LoopKind
from earloop.session.desk import Desk
from earloop.session.following import Following, Position
from earloop.session.heard import Hearings, Wish
from earloop.session.how_it_sounds import HowItSounds
from earloop.session.naming import degree_text
from earloop.session.player_port import PlayerPort
from earloop.session.practising import Practising

DEFAULT = Choices()
LONG_LOOP = 300
"""Tones of a loop whose sound takes so long to make that a decision is shown before it."""
FRAME = 0.06
"""Seconds after which that decision is surely shown."""


class Session(HowItSounds):
    """The score on the stand. Make one a score; the player may outlive it."""

    def __init__(
        self,
        line: Line,
        player: PlayerPort,
        choices: Choices = DEFAULT,
        decided: Decisions | None = None,
        reads_later: bool = False,
    ) -> None:
        super().__init__(player, choices)
        self.desk = Desk(line, decided or Decisions(), reads_later=reads_later, prepare=self._prepare)
        self.meanwhile: Callable[[], list[str]] = list
        self.phrase = 0
        self.cursor = 0
        self.marks: tuple[int, int] | None = None
        self.notice = ""
        self.given_plan: Plan | None = None
        self._lent = False
        self.practising = Practising(self)
        self._hearings = Hearings()
        self._following = Following()
        self._unheard: float | None = None
        self._load("now", keep_position=False)

    @property
    def line(self) -> Line:
        return self.desk.line

    @property
    def reading(self) -> Reading:
        return self.desk.reading

    @property
    def layer(self) -> Layer:
        return self._heard.layer

    @property
    def performance(self) -> Performance:
        return self._heard.performance

    # What loops

    @property
    def span(self) -> Span:
        """The tones that loop."""
        if self.choices.loop == "whole":
            return self.line.whole
        if self.choices.loop == "gesture":
            return self.reading.gestures[self.reading.gesture_of(self.cursor)]
        if self.choices.loop == "marks" and self.marks:
            return Span(min(self.marks), max(self.marks))
        return self.reading.phrases[self.phrase]

    @property
    def depth(self) -> int:
        """The depth of the present layer's skeleton."""
        return dict(self.choices.depths).get(self.choices.layer, entry(self.choices.layer).depth)

    def play_or_stop(self) -> None:
        """Start the loop, or stop it."""
        if self.player.plays():
            self.stop()
        else:
            self.player.play()
            self.practising.begins()

    def stop(self) -> None:
        self.practising.look()
        self.practising.ends()
        self.player.stop()

    def set_up(self, phrase: int, layer: LayerName, tempo: int, answer_gap: bool) -> None:
        """One step of a plan: everything at once, from the phrase's start."""
        self.phrase = max(0, min(len(self.reading.phrases) - 1, phrase))
        self.cursor = self.reading.phrases[self.phrase].first
        self.choices = replace(self.choices, loop="phrase", layer=layer, answer_gap=answer_gap)
        self._load("now", keep_position=False)
        self.set_tempo(tempo)

    def next_phrase(self) -> None:
        self.go_to_phrase(self.phrase + 1)

    def previous_phrase(self) -> None:
        self.go_to_phrase(self.phrase - 1)

    def go_to_phrase(self, number: int) -> None:
        """The phrase of that number (0-based; the nearest there is) loops from its start.

        Where the whole is looped, the sound goes on from there.
        """
        self.phrase = max(0, min(len(self.reading.phrases) - 1, number))
        self.cursor = self.reading.phrases[self.phrase].first
        if self.choices.loop == "whole":
            self.seek_to(self.cursor)
        else:
            self._load("now", keep_position=False)

    def point_at(self, index: int) -> None:
        """Put the cursor on a tone; another phrase or gesture than the looping one is looped from now on."""
        before = self.span
        self.cursor = max(0, min(len(self.line) - 1, index))
        self.phrase = self.reading.phrase_of(self.cursor)
        if self.span != before:
            self._load("now", keep_position=False)

    def step(self, by: int) -> None:
        self.point_at(self.cursor + by)

    def seek_to(self, index: int) -> None:
        """Sound goes on from this tone, if it is in the loop."""
        self.point_at(index)
        at = [event.onset for event in self.performance.events if event.source is not None and event.source >= index]
        if at:
            self.player.seek(min(at))

    def choose_loop(self, kind: LoopKind) -> None:
        self.choices = replace(self.choices, loop=kind)
        self._load("now", keep_position=False)

    def next_loop(self) -> None:
        """Phrase, gesture, the marked tones (if two are marked), the whole."""
        kinds = [kind for kind in LOOPS if kind != "marks" or self.marks]
        here = kinds.index(self.choices.loop) if self.choices.loop in kinds else 0
        self.choose_loop(kinds[(here + 1) % len(kinds)])

    def mark(self) -> None:
        """Mark the cursor's tone: the first mark waits for a second, then the two are looped."""
        if self.marks is None or self.marks[0] != self.marks[1]:
            self.marks = (self.cursor, self.cursor)
        else:
            self.marks = (self.marks[0], self.cursor)
            self.choose_loop("marks")

    # Which layer

    def choose_layer(self, name: LayerName) -> None:
        self.choices = replace(self.choices, layer=name)
        self._load("now" if self.choices.switch_now else "seam")

    def deeper(self, by: int = 1) -> None:
        """A barer layer (negative: closer to the page). The page itself has no depth."""
        if self.choices.layer != "ornamented":
            depth = max(1, min(DEEPEST, self.depth + by))
            self.choices = self.choices.with_depth(self.choices.layer, depth)
            self._load("seam")

    def turn_time(self) -> None:
        """True time, or closed up."""
        self.choices = replace(self.choices, true_time=not self.choices.true_time)
        self._load("seam")

    def turn_switching(self) -> None:
        self.choices = replace(self.choices, switch_now=not self.choices.switch_now)

    # What is seen

    def next_degree_names(self) -> None:
        names = DEGREE_NAMES[(DEGREE_NAMES.index(self.choices.degree_names) + 1) % len(DEGREE_NAMES)]
        self.choices = replace(self.choices, degree_names=names)

    def turn_home_or_local(self) -> None:
        other: Literal["home", "local"] = "local" if self.choices.home_or_local == "home" else "home"
        self.choices = replace(self.choices, home_or_local=other)

    def degree(self, index: int) -> Degree:
        """The tone's degree in the key the performer looks at: home or local."""
        local = self.choices.home_or_local == "local"
        return (self.reading.local_degrees if local else self.reading.degrees)[index]

    def degree_text(self, index: int) -> str:
        """The degree as the performer wants it named."""
        return degree_text(self.reading, index, self.choices)

    def position(self) -> Position:
        """Where the sound is now; in an answer gap, where the singer should be."""
        return self._following.position(self.player.snapshot())

    def has_line(self, name: LayerName) -> bool:
        """Whether the looped span has tones of its own for this layer; a single line has no second one."""
        wanted = {"upper": ("upper",), "lower": ("lower", "middle")}.get(name)
        return wanted is None or any(self.reading.voices[i] in wanted for i in self.span.indexes)

    # What is decided

    def decided(self) -> None:
        """Hear the desk's newest reading from the next pass on; keep phrase and cursor where they were.

        Where the readers come later, so does the sound (`news`), and always that of a long loop.
        """
        self.phrase = self.reading.phrase_of(self.cursor)
        late = self.desk.reads_later and len(self.span) > LONG_LOOP
        self._unheard = time.monotonic() + FRAME if late else None
        if self.desk.settled and not late:
            self._hear_decisions()

    def _hear_decisions(self) -> None:
        self._unheard = None
        self._load("now" if self.choices.switch_now else "seam")

    def news(self) -> bool:
        """Take in what came of slow work: the readers' own reading is heard, a sentence stands in `notice`.

        Whether there was anything. Ask now and then; it costs nothing.
        """
        told = self.meanwhile()
        if told:
            self.notice = " ".join(told)
        read = self.desk.news()
        if read:
            self.phrase = self.reading.phrase_of(self.cursor)
        due = self._unheard is not None and self.desk.settled and time.monotonic() >= self._unheard
        heard = read or due
        if heard:
            self._hear_decisions()
        return heard or bool(told)

    def load_again(self) -> None:
        """Hand the player this session's own performance again, after another one has sounded."""
        self._load("now", keep_position=False)

    def lend_player(self) -> None:
        """Stop, and let something else have the player until `take_player_back`."""
        self.stop()
        self._lent = True

    def take_player_back(self) -> None:
        """Whatever sounds stops, and the loop is what the player has again."""
        if self._lent:
            self._lent = False
            self.player.stop()
            self._load("now")

    def _load(self, when: Literal["seam", "now"], keep_position: bool = True) -> None:
        """Hand the player what the choices ask for."""
        self._heard = self._hearings.of(self.reading, self._wish(self.span))
        if not self._lent:
            self.player.load(self.performance, when, keep_position)
            self._following.handed(self._heard, self.player.snapshot(), when == "seam")
            self.practising.turns()

    def _wish(self, span: Span) -> Wish:
        c = self.choices
        manner = Manner(drone=c.drone, count_in=c.count_in, answer_gap=c.answer_gap, shaped=c.shaped)
        return Wish(c.layer, span, self.depth, c.true_time, manner)

    def _prepare(self, reading: Reading) -> None:
        """Make the sound of the whole on the readers' thread: by the time their news is taken in, it is there."""
        if self.choices.loop == "whole":
            self._hearings.of(reading, self._wish(reading.line.whole))
