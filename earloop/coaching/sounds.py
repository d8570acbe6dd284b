"""What a question sounds: layers of the phrase and single tones, all on one strand.

Each line of a melody has a timbre and a side of its own when it is practised. In a question only pitch and time may
tell the lines apart, so everything sounds on the single line's strand; only a held tone keeps its own, softer one.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from itertools import accumulate

from earloop.coaching.passages import nearest_tone
from earloop.coaching.question import Part
from earloop.layers import Layer, LayerName, build
from earloop.line import Pitch, Span
from earloop.performing import Manner, Performance, perform
from earloop.performing.events import Event, Strand
from earloop.performing.manner import DEFAULT_TEMPO
from earloop.reading.record import Key, Reading

QUESTION_STRANDS: tuple[Strand, ...] = ("single", "held")
"""The strands that a question needs to hear."""
PAUSE = 1.5
"""Quarters of silence between the things a question sounds."""
SHORTEST, LONGEST = 1.0, 3.0
"""Quarters of a tone that sounds alone: long enough to be taken in."""
LOUDNESS = 0.62
HELD_LOUDNESS = 0.4


def layer_sound(reading: Reading, layer: Layer, moved: Mapping[int, Pitch] | None = None) -> Performance:
    """A layer as it is performed, on one strand; `moved` gives tones of the line another pitch."""
    performance = perform(reading, layer, Manner())
    other = moved or {}
    events = []
    for event in performance.events:
        pitch = None if event.source is None else other.get(event.source)
        midi = event.midi if pitch is None else pitch.midi
        events.append(replace(event, strand="held" if event.strand == "held" else "single", midi=midi))
    return _trimmed(replace(performance, events=tuple(events)))


def sound_of(
    reading: Reading, name: LayerName, span: Span, depth: int | None = None, true_time: bool = True
) -> Performance:
    """A layer by its name over a span, on one strand."""
    return layer_sound(reading, build(reading, name, span, depth, true_time))


def page(reading: Reading, span: Span, moved: Mapping[int, Pitch] | None = None) -> Performance:
    """The page as it stands from the first to the last tone of the span."""
    return layer_sound(reading, build(reading, "ornamented", span), moved)


def tones(reading: Reading, pitches: Sequence[Pitch], sources: Sequence[int | None] = ()) -> Performance:
    """Tones one after the other, each of them as long as a tone that is to be taken in."""
    names = [*sources, *[None] * (len(pitches) - len(sources))]
    events = []
    at = 0.0
    for pitch, source in zip(pitches, names, strict=True):
        length = SHORTEST if source is None else min(LONGEST, max(SHORTEST, reading.line[source].length))
        events.append(Event(at, length, pitch.midi, LOUDNESS, "single", source=source))
        at += length
    return Performance(tuple(events), at, reading.line.tempo or DEFAULT_TEMPO)


def tonic_first(reading: Reading, span: Span, key: Key) -> tuple[Part, ...]:
    """The tonic as a tone of the line, to be heard before a span that lacks it; nothing where it is not needed."""
    found = nearest_tone(reading, span, key.pc)
    if found is None or found in span:
        return ()
    return (Part("the tonic", tones(reading, [reading.line[found].pitch], [found])),)


def over_held(performance: Performance, pitch: Pitch) -> Performance:
    """The performance with one tone held softly below it."""
    held = Event(0.0, performance.length, pitch.midi, HELD_LOUDNESS, "held")
    return replace(performance, events=(held, *performance.events))


def one_after_another(parts: Iterable[Part]) -> tuple[Performance, tuple[float, ...]]:
    """All parts as one performance with a pause between, and at which quarter each begins."""
    sounded = [part.performance for part in parts]
    starts = [0.0, *accumulate(performance.length + PAUSE for performance in sounded)]
    events = [
        replace(event, onset=event.onset + start)
        for performance, start in zip(sounded, starts, strict=False)
        for event in performance.events
    ]
    whole = Performance(tuple(events), starts[-1] - PAUSE, sounded[0].tempo, title="question")
    return whole, tuple(starts[:-1])


def _trimmed(performance: Performance) -> Performance:
    """Without the silence at its end, where it would only make one wait."""
    end = max((event.onset + event.length for event in performance.events), default=performance.length)
    last = max((event.onset for event in performance.events), default=0.0)
    return replace(performance, length=max(end, last + 0.125), position_map=())
