"""Singing or playing a layer back: whose turn it is, the answers judged one by one, and both heard again.

Three ways: in the gap after each pass; along with the sound; or in one's own time, after it sounded once. No keys and
no screen; call `look` a dozen times a second.
"""

from __future__ import annotations

import queue
import re
import threading
import time
from dataclasses import replace
from pathlib import Path
from typing import Literal

import platformdirs

from earloop.capture.client import Capture
from earloop.capture.memory import HORIZON
from earloop.capture.messages import Answer
from earloop.capture.sources import Source
from earloop.hearing.pace import ON_THE_BEAT
from earloop.journal.moment import now
from earloop.performing.side_by_side import side_by_side
from earloop.session.judging import NARROWEST, WIDEST, Asked, Judged, Measure, as_detail, judge
from earloop.session.session import Session
from earloop.session.turns import LEAD, TAIL, Task, Turn, Turns

Way = Literal["gap", "along", "own time"]
WAYS: tuple[Way, ...] = ("gap", "along", "own time")
Whose = Literal["nobody", "sounding", "yours", "both"]
PAUSE = 2.0
"""Seconds of silence that end an answer in one's own time."""
NOTHING_HEARD = "I heard nothing in your turn: choose what listens with I, or come in sooner."
PATIENCE = 30.0
"""Seconds after which nobody is waited for any more."""


class Singing:
    """Make one when the singing begins, `leave` it at the end: the session is then as it was."""

    def __init__(
        self, session: Session, capture: Capture, measure: Measure | None = None, folder: Path | None = None
    ) -> None:
        self.session, self.capture = session, capture
        self.measure = measure or Measure()
        self.folder = folder or Path(platformdirs.user_data_dir("earloop")) / "takes"
        self.way: Way = "gap"
        self.reference = 0.0
        """Semitones by which the player sounds above the written pitch: its tuning and range."""
        self.notice = ""
        self.judged: list[Judged] = []
        self.turn: Turn | None = None
        self.source = Source("nothing")
        self._turns = Turns()
        self._whose: Whose = "nobody"
        self._seen: Whose = "nobody"
        self._voiced = 0.0
        self._begun = False
        self._asked: dict[int, Asked] = {}
        self._done: queue.SimpleQueue[Judged] = queue.SimpleQueue()
        self._before = session.choices
        self.choose_way("gap")

    # What the performer asks for

    def listen(self, source: Source) -> None:
        self.source = source
        self.capture.start(source)

    def choose_way(self, way: Way) -> None:
        """In the gap, along, or in one's own time; what plays begins anew."""
        self.session.stop()
        self.way, self.turn, self._whose = way, None, "nobody"
        self._turns = Turns(along=way == "along")
        self.session.player.loops(1 if way == "own time" else None)
        if self.session.choices.answer_gap != (way == "gap"):
            self.session.turn_answer_gap()

    def next_way(self) -> None:
        self.choose_way(WAYS[(WAYS.index(self.way) + 1) % len(WAYS)])

    def play_or_stop(self) -> None:
        """Begin, or stop. In one's own time: the line sounds once; while it is your turn, your answer ends."""
        self.notice = ""
        if self._whose == "yours" and self.way == "own time":
            self._end_own_time(time.monotonic())
            return
        if self._whose == "both":
            self._after_both()
            return
        self.session.play_or_stop()
        if self.way == "own time":
            self._whose, self._begun = "sounding", False

    def set_tolerance(self, cents: float) -> None:
        self.measure = replace(self.measure, tolerance=max(NARROWEST, min(WIDEST, cents)))

    def turn_relative(self) -> None:
        """The score's pitch, or the singer's own."""
        self.measure = replace(self.measure, relative=not self.measure.relative)

    def turn_beat(self) -> None:
        """Order and proportion only; or the metronome too, first within ON_THE_BEAT, then within half of it."""
        now = self.measure
        on = not now.on_the_beat or now.beat_ms > ON_THE_BEAT / 2
        self.measure = replace(now, on_the_beat=on, beat_ms=ON_THE_BEAT / 2 if now.on_the_beat and on else ON_THE_BEAT)

    def set_held(self, share: float) -> None:
        """The share of its proportional length for which a tone has to sound, 0..1."""
        self.measure = replace(self.measure, held=round(max(0.0, min(1.0, share)), 2))

    def play_both(self) -> None:
        """The last answer as it was sung, then the line."""
        if not self.judged:
            self.notice = "There is no answer yet: sing first."
            return
        last = self.judged[-1]
        # The player moves all by its own tuning and range.
        mine = [(tone.onset, tone.length, tone.midi - last.reference) for tone in last.answer.tones]
        self.session.stop()
        player = self.session.player
        player.load(side_by_side(mine, last.asked.performance), "now", False)
        player.loops(1)
        player.play()
        self._whose, self._begun = "both", False

    def keep(self) -> None:
        """Keep the last answer as a file; the notice says where, or why not."""
        if not self.judged:
            self.notice = "There is no take to keep yet: sing first."
            return
        last = self.judged[-1]
        self.capture.keep(self.folder / self._name(last), last.answer.begin, last.answer.end)

    def leave(self) -> None:
        """Stop, and put the session's choices back."""
        self.session.stop()
        self.session.player.loops(None)
        self.session.choices = replace(self.session.choices, answer_gap=self._before.answer_gap)
        self.session.load_again()

    # What goes on

    @property
    def whose(self) -> Whose:
        """Who is to be heard now."""
        if self._whose == "both" or self.way == "own time":
            return self._whose
        if not self.session.player.snapshot().playing:
            return "nobody"
        return "yours" if self._turns.open is not None else "sounding"

    @property
    def until_turn(self) -> float | None:
        """The moment at which the next turn begins, where one is foreseen."""
        return self._turns.until

    def look(self) -> list[Judged]:
        """Follow the player and the capture; the answers judged since the last look."""
        where = self.session.player.snapshot()
        if self._whose == "both":
            self._look_at_both(where.playing)
        elif self.way == "own time":
            self._look_at_own_time(where.playing)
        else:
            done = self._turns.look(where, self._task())
            self.turn = self._turns.open or self.turn
            if done is not None:
                self._ask(done.asked, done.begin - LEAD, done.end + TAIL)
        self._begin_recording()
        self._take_answers()
        for kept in self.capture.kept():
            path = Path(kept.path)
            self.notice = f"Not kept: {kept.problem}." if kept.problem else f"Kept in {path.parent} as {path.name}"
        return self._judged_now()

    def _begin_recording(self) -> None:
        """A recording answers from its beginning, each time the turn comes."""
        whose, before = self.whose, self._seen
        self._seen = whose
        if whose == "yours" and before != "yours" and self.source.kind == "file":
            self.capture.again()

    def _task(self) -> Task:
        session = self.session
        phrase = None if session.choices.loop == "whole" else session.phrase
        return Task(session.reading, session.layer, session.performance, phrase)

    def _ask(self, asked: Asked, begin: float, end: float) -> None:
        if end - begin > HORIZON:
            self.notice = f"That was over {HORIZON / 60:.0f} minutes, more than is remembered: loop a phrase."
            return
        self._asked[self.capture.answer(begin, end)] = asked

    def _take_answers(self) -> None:
        for answer in self.capture.answers():
            asked = self._asked.pop(answer.number, None)
            if asked is not None:
                self._judge(asked, answer)

    def _judge(self, asked: Asked, answer: Answer) -> None:
        """Off this thread: an answer over a whole score takes its time."""
        measure, reference = self.measure, self.reference

        def work() -> None:
            self._done.put(judge(asked, answer, measure, reference))

        threading.Thread(target=work, name="earloop judging", daemon=True).start()

    def _judged_now(self) -> list[Judged]:
        out = []
        while not self._done.empty():
            judged = self._done.get()
            if not judged.answer.tones:
                # Nobody sang: that is no wrong answer.
                self.notice = judged.answer.notice or NOTHING_HEARD
                continue
            self.judged.append(judged)
            self._note(judged)
            out.append(judged)
            if self.way == "own time" and self.source.kind == "midi" and judged.share < 1:
                self.play_both()
        return out

    def _note(self, judged: Judged) -> None:
        """For the journal, if there is one."""
        name = judged.asked.layer.name
        seconds = round(judged.answer.end - judged.answer.begin, 1)
        self.session.practising.note(
            "sung", name, f"layer:{name}", result=round(judged.share, 3), seconds=seconds, detail=as_detail(judged)
        )

    # In one's own time

    def _look_at_own_time(self, playing: bool) -> None:
        now = time.monotonic()
        if self._whose == "sounding":
            self._begun = self._begun or playing
            if self._begun and not playing:
                task = self._task()
                pace = 60.0 / (task.performance.tempo * self.session.choices.tempo / 100)
                asked = Asked(task.reading, task.layer, task.performance, pace, None, task.phrase)
                self.turn = Turn(asked, now, now + task.performance.length * pace)
                self._whose, self._voiced = "yours", 0.0
        elif self._whose == "yours" and self.turn is not None:
            voiced = [frame.moment for frame in self.capture.trace(self.turn.begin) if frame.midi is not None]
            self._voiced = voiced[-1] if voiced else 0.0
            if self._voiced and now - self._voiced > PAUSE:
                self._end_own_time(self._voiced + LEAD + TAIL)
            elif not self._voiced and now - self.turn.begin > PATIENCE:
                self._whose, self.notice = "nobody", "I heard nothing: press space to hear the line again."

    def _end_own_time(self, end: float) -> None:
        assert self.turn is not None
        self._whose = "nobody"
        self._ask(self.turn.asked, self.turn.begin, end)

    def _look_at_both(self, playing: bool) -> None:
        self._begun = self._begun or playing
        if self._begun and not playing:
            self._after_both()

    def _after_both(self) -> None:
        self.session.player.stop()
        self._whose = "nobody"
        self.session.player.loops(1 if self.way == "own time" else None)
        self.session.load_again()

    def _name(self, judged: Judged) -> str:
        title = re.sub(r"[^\w-]+", "-", self.session.line.title or "line").strip("-").lower() or "line"
        phrase = "" if judged.asked.phrase is None else f"-phrase-{judged.asked.phrase + 1}"
        return f"{title[:60]}{phrase}-{judged.asked.layer.name}-{now().astimezone():%Y%m%d-%H%M%S}.wav"
