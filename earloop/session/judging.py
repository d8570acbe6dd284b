"""One answer judged: what was sung beside the layer that was meant, by the performer's own tolerances."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

from earloop.capture.messages import Answer
from earloop.hearing.compare import TOLERANCE, Comparison, ToneHeard, compare
from earloop.hearing.next_step import next_step
from earloop.hearing.pace import HELD, ON_THE_BEAT, common_lag, off_the_beat, shares_held
from earloop.hearing.tones_sung import SungTone
from earloop.layers import Layer
from earloop.performing import Performance
from earloop.performing.timing import timed
from earloop.reading import Reading

NARROWEST, WIDEST = 10.0, 100.0
"""Cents a tolerance may be."""
LATE_START = 0.4
"""Seconds after the turn's beginning from which a first tone came late enough to push the last ones out."""
CUT = 0.06
"""Seconds before the answer's end up to which the pitch of what still sounds there is heard: half a window and more."""
DEVICE = 400
"""Milliseconds: a wireless headphone or microphone takes 100 to 300 (common practice, no source), hardly any more."""


@dataclass(frozen=True, slots=True)
class Measure:
    """What counts as right: `tolerance` in cents, `held` as a share of a tone's proportional length.

    `relative` takes the singer's own reference pitch, found from the singing. `on_the_beat` judges the metronome too,
    within `beat_ms`; else only order and proportion.
    """

    tolerance: float = TOLERANCE
    held: float = HELD
    relative: bool = False
    on_the_beat: bool = False
    beat_ms: float = ON_THE_BEAT


@dataclass(frozen=True, slots=True)
class Asked:
    """What an answer is to answer: the layer as performed, at so many seconds a quarter, from the moment `begin`.

    `phrase` counts from 0, None for the whole line; `begin` is None where the singer's time is free.
    """

    reading: Reading
    layer: Layer
    performance: Performance
    pace: float
    begin: float | None
    phrase: int | None = None


@dataclass(frozen=True, slots=True)
class Judged:
    """An answer beside what was asked. `held` and `beat` go with `heard.tones`, one each; `say` is what to do next.

    `reference` is how far (semitones) the player sounded above the written pitch. `lag` is how many milliseconds all
    tones alike came after the beat: it is told apart, and no single tone is late by it.
    """

    asked: Asked
    answer: Answer
    measure: Measure
    heard: Comparison
    held: tuple[float | None, ...]
    beat: tuple[int | None, ...]
    say: str
    reference: float = 0.0
    lag: int = 0

    @property
    def share(self) -> float:
        """The share of tones that were right, 0..1."""
        tones = self.heard.tones
        return sum(tone.verdict == "right" for tone in tones) / len(tones) if tones else 0.0

    def late(self, place: int) -> int | None:
        """Milliseconds late: against the beat and its common lag where that is asked, else in the singer's own time."""
        if not self.measure.on_the_beat:
            return self.heard.tones[place].late_ms
        beat = self.beat[place]
        return None if beat is None else beat - self.lag

    def short(self, place: int) -> bool:
        """Whether the tone was let go too soon."""
        share = self.held[place]
        return share is not None and share < self.measure.held


def judge(asked: Asked, answer: Answer, measure: Measure, reference: float = 0.0) -> Judged:
    """`reference` is in semitones: how far the player sounds above the written pitch at A4 = 440 Hz."""
    reading, layer = asked.reading, asked.layer
    sung = tuple(_lower(tone, reference) for tone in answer.tones)
    heard = compare(reading, layer, sung, measure.tolerance, measure.relative)
    begin = asked.begin
    beat: tuple[int | None, ...] = (None,) * len(heard.tones)
    onsets = tuple(tone.onset for tone in timed(reading, layer).tones)
    if begin is not None:
        beat = off_the_beat(onsets, heard, asked.pace, begin - answer.begin)
    held = shares_held(layer, onsets, heard, asked.pace if measure.on_the_beat and begin is not None else None)
    held = _without_what_was_cut(held, heard, measure.held, answer.end - answer.begin)
    lag = common_lag(beat) if measure.on_the_beat else 0
    judged = Judged(asked, answer, measure, heard, held, beat, next_step(reading, layer, heard), reference, lag)
    return replace(judged, say=_too_late(judged) or _also_in_time(judged) or judged.say)


def _without_what_was_cut(
    held: tuple[float | None, ...], heard: Comparison, enough: float, end: float
) -> tuple[float | None, ...]:
    """A tone that still sounded when the answer ended, as a late one may, was not let go: its length isn't known."""
    return tuple(
        None
        if share is not None and share < enough and (tone.onset or 0.0) + (tone.length or 0.0) > end - CUT
        else share
        for share, tone in zip(held, heard.tones, strict=True)
    )


def _lower(tone: SungTone, semitones: float) -> SungTone:
    contour = tuple(key - semitones for key in tone.contour)
    return replace(tone, midi=tone.midi - semitones, contour=contour)


def _too_late(judged: Judged) -> str:
    """Where the answer began late in the player's time and only its last tones are lacking."""
    tones, begin = judged.heard.tones, judged.asked.begin
    missed = [k for k, tone in enumerate(tones) if tone.verdict == "missed"]
    if begin is None or not missed or missed != list(range(missed[0], len(tones))) or not missed[0]:
        return ""
    late = (tones[0].onset or 0.0) - (begin - judged.answer.begin)
    if late < LATE_START:
        return ""
    return f"You began {late:.1f} s late and the end did not fit: come in at once, or answer in your own time."


def _also_in_time(judged: Judged) -> str:
    """What to do next where every pitch was right and time was not; empty where pitch comes first."""
    tones = judged.heard.tones
    if any(tone.verdict != "right" for tone in tones):
        return ""
    if judged.measure.on_the_beat:
        off = [k for k in range(len(tones)) if abs(judged.late(k) or 0) > judged.measure.beat_ms]
        if off:
            return _off_beat(judged, off)
        if judged.lag:
            return f"Every pitch was right; {lag_told(judged.lag)}."
    short = [k for k in range(len(tones)) if judged.short(k)]
    if short:
        rest = f" and {len(short) - 1} more" if len(short) > 1 else ""
        return f"Every tone was right; {_name(tones[short[0]])}{rest} was let go early: hold it to its end."
    return ""


def _off_beat(judged: Judged, off: list[int]) -> str:
    late = judged.late(off[0]) or 0
    rest = f" ({len(off)} tones off the beat)" if len(off) > 1 else ""
    side = "late" if late > 0 else "early"
    return (
        f"Every pitch was right; {_name(judged.heard.tones[off[0]])} came {abs(late)} ms {side}{rest}: count with it."
    )


def lag_told(lag: int) -> str:
    """A lag that all tones have, in words."""
    whose = "the device or you" if abs(lag) <= DEVICE else "come in with the beat"
    return f"all about {abs(round(lag, -1))} ms {'late' if lag > 0 else 'early'}: {whose}"


def _name(tone: ToneHeard) -> str:
    return f"tone {tone.index + 1}, degree {tone.degree},"


def tones_told(judged: Judged) -> list[dict[str, Any]]:
    """Each tone of the layer with how it was answered, as the journal and `check --json` have it.

    `held` is its sung length over the length its proportion asks for.
    """
    return [
        {"index": t.index, "degree": t.degree, "verdict": t.verdict, "sung_degree": t.sung_degree}
        | {"cents": t.cents, "late_ms": judged.late(k), "held": judged.held[k]}
        for k, t in enumerate(judged.heard.tones)
    ]


def as_detail(judged: Judged) -> dict[str, Any]:
    """What the journal keeps of it: right of how many for each degree and link, and each tone."""
    degrees: dict[str, list[int]] = {}
    right: dict[int, bool] = {}
    for tone in judged.heard.tones:
        pair = degrees.setdefault(tone.degree, [0, 0])
        pair[0] += tone.verdict == "right"
        pair[1] += 1
        source = judged.asked.layer.tones[tone.index].source
        right[source] = right.get(source, True) and tone.verdict == "right"
    links = {
        f"{link.first}-{link.second}": [int(right[link.first] and right[link.second]), 1]
        for link in judged.asked.reading.links
        if link.first in right and link.second in right
    }
    return {
        "degrees": degrees,
        "links": links,
        "drift_cents": judged.heard.drift,
        "lag_ms": judged.lag,
        "tolerance": judged.measure.tolerance,
        "tones": tones_told(judged),
    }
