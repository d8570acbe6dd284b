"""What stands on the singing screen just now: the tones asked for, and the trace of the answer laid under them."""

from __future__ import annotations

from collections.abc import Sequence

from earloop.capture.messages import Frame
from earloop.hearing.following import Follower
from earloop.performing import Performance
from earloop.performing.timing import timed
from earloop.screen.signs import Signs
from earloop.screen.singing.places import Places, places_of
from earloop.screen.singing.trace_drawn import GUTTER, Shown, near
from earloop.session.judging import Judged
from earloop.session.naming import degree_text
from earloop.session.session import Session
from earloop.session.turns import Turn

Points = list[tuple[float, float]]


class Asking:
    """The tones of one layer as they are asked for: where they stand, what they are called, when they sound."""

    def __init__(self, session: Session, signs: Signs, width: int) -> None:
        self.layer, self.performance = session.layer, session.performance
        self.named = (session.choices.degree_names, session.choices.home_or_local)
        self.width = width
        tones = [(k, tone) for k, tone in enumerate(self.layer.tones) if tone.role != "held"]
        performed = timed(session.reading, self.layer).tones
        names = session.choices.degree_names
        self.keys = tuple(float(tone.pitch.midi) for _, tone in tones)
        self.labels = tuple(
            signs.degree(degree_text(session.reading, tone.source, session.choices), names) for _, tone in tones
        )
        self.numbers = tuple(k + 1 for k, _ in tones)
        self.onsets = tuple(performed[k].onset for k, _ in tones)
        self.end = _length(self.performance)
        ends = (*self.onsets[1:], self.end)
        self.places: Places = places_of(
            [max(0.0, later - sooner) for sooner, later in zip(self.onsets, ends, strict=True)], max(20, width - GUTTER)
        )
        self.follower = Follower(self.keys)
        self.reference = 0.0
        """Semitones that the player sounds above the written pitch."""
        self._fed = 0.0

    def holds_for(self, session: Session, width: int) -> bool:
        """Whether this is still what the session asks for."""
        named = (session.choices.degree_names, session.choices.home_or_local)
        return (self.layer, self.named, self.width) == (session.layer, named, width)

    def begin(self) -> None:
        """A new answer."""
        self.follower, self._fed = Follower(self.keys), 0.0

    def follow(self, frames: Sequence[Frame]) -> None:
        """Feed the frames that are new."""
        for frame in frames:
            if frame.moment > self._fed:
                self.follower.feed(frame.moment, None if frame.midi is None else frame.midi - self.reference)
                self._fed = frame.moment

    def cents(self, midi: float) -> tuple[float, str]:
        """Cents of a pitch from the tone one is on, or from the nearest of the first ones, and that tone's degree."""
        midi -= self.reference
        place = self.follower.place
        if place < 0:
            place = 0
        elif place + 1 < len(self.keys) and self.follower.off(midi, place + 1) < self.follower.off(midi, place):
            place += 1
        return 100 * (near(midi, self.keys[place]) - self.keys[place]), self.labels[place]

    # What is shown

    def waiting(self, tolerance: float, quarters: float | None) -> Shown:
        """The tones alone; `quarters` is where the sound is in the pass."""
        return self._shown([], (*self.onsets, self.end), tolerance, quarters)

    def live(self, turn: Turn, frames: Sequence[Frame], now: float, tolerance: float) -> Shown:
        """The trace of the turn that goes on: by the clock, or in one's own time by the tones that were reached."""
        points = _points(frames, turn.begin)
        if turn.asked.begin is not None:
            anchors = [onset * turn.asked.pace for onset in (*self.onsets, self.end)]
        else:
            anchors = self._own_anchors(turn, now)
        return self._shown(points, anchors, tolerance, now - turn.begin)

    def judged(self, judged: Judged, frames: Sequence[Frame]) -> Shown:
        """The whole answer, each sung tone under the one it answers."""
        points = _points(frames, judged.answer.begin)
        pace = judged.asked.pace
        anchors: list[float] = []
        for k, tone in enumerate(judged.heard.tones):
            guess = anchors[-1] + (self.onsets[k] - self.onsets[k - 1]) * pace if anchors else 0.0
            anchors.append(max(anchors[-1] if anchors else 0.0, tone.onset if tone.onset is not None else guess))
        last = judged.heard.tones[-1].length or (self.end - self.onsets[-1]) * pace
        anchors.append(max(anchors[-1] + last, points[-1][0] if points else 0.0))
        own = judged.heard.offset / 100 if judged.measure.relative else 0.0
        return self._shown(points, anchors, judged.measure.tolerance, None, own)

    def _own_anchors(self, turn: Turn, now: float) -> list[float]:
        """Where tones begin: those that were reached when they were, the rest after now at the line's pace."""
        pace, out = turn.asked.pace, list[float]()
        for k, onset in enumerate(self.onsets):
            before = out[-1] + (onset - self.onsets[k - 1]) * pace if out else 0.0
            entered = self.follower.entered.get(k)
            if entered is not None:
                out.append(entered - turn.begin)
            elif k > self.follower.place:
                out.append(max(before, now - turn.begin + 0.1))
            else:
                out.append(before)
        out.append(out[-1] + max(0.5, (self.end - self.onsets[-1]) * pace))
        return sorted(out)

    def _shown(
        self,
        points: Points,
        anchors: Sequence[float],
        tolerance: float,
        playhead: float | None,
        own: float = 0.0,
    ) -> Shown:
        reference = self.reference + own
        return Shown(self.places, self.keys, self.labels, self.numbers, points, anchors, tolerance, playhead, reference)


def _points(frames: Sequence[Frame], begin: float) -> Points:
    return [(frame.moment - begin, frame.midi) for frame in frames if frame.midi is not None]


def _length(performance: Performance) -> float:
    """Quarters of the sounding part."""
    return performance.answer_from if performance.answer_from is not None else performance.length
