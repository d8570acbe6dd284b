"""A layer becomes a performance: events with loudness and strand, a drone below, a count-in, an answer gap."""

from __future__ import annotations

from earloop.layers import Layer, LayerTone
from earloop.layers.layer import Role
from earloop.performing.events import Event, Performance, Strand
from earloop.performing.loudness import loudness
from earloop.performing.manner import DEFAULT_TEMPO, Manner
from earloop.performing.timing import Timed, timed
from earloop.reading.record import Key, Reading

PLAIN = Manner()
OF_ITS_OWN: dict[Role, float] = {"page": 1.0, "bridge": 0.8, "held": 0.5}
"""Of the tone's own loudness: the held tone stays below, the bridge is an aside."""
DRONE_LOUDNESS = 0.3
COUNT_LOUDNESS = 0.5
STACCATO = 0.5
SHORT = frozenset(("staccato", "staccatissimo"))


def perform(
    reading: Reading, layer: Layer, manner: Manner = PLAIN, shaped: tuple[float, ...] | None = None
) -> Performance:
    """The events of one pass. An answer gap doubles the pass: its own time again, silent but for the drone.

    `shaped` is the reading's `loudness`, where it is at hand.
    """
    time = timed(reading, layer, manner.breathing)
    loud = (shaped or loudness(reading)) if manner.shaped else (0.62,) * len(reading.line)
    events = [_event(reading, tone, loud[tone.source], time) for tone in time.tones]
    length = time.length * (2 if manner.answer_gap else 1)
    events += _drone(reading, layer, manner, length)
    events.sort(key=lambda event: event.onset)
    return Performance(
        events=tuple(events),
        length=length,
        tempo=reading.line.tempo or DEFAULT_TEMPO,
        count_in=_count_in(reading, manner),
        lead_in=float(manner.count_in) * _beat(reading),
        position_map=time.position_map,
        answer_from=time.length if manner.answer_gap else None,
        title=f"{reading.line.title or 'line'} - {layer.name}",
    )


def _event(reading: Reading, tone: LayerTone, loud: float, time: Timed) -> Event:
    page, onset, length = tone.role == "page", tone.onset, tone.length
    strand: Strand = tone.voice if tone.role == "page" else tone.role
    marks = reading.line.tones[tone.source].marks
    short = page and not SHORT.isdisjoint(marks.articulations)
    bound = page and not short and not marks.break_after and onset + length < time.length - 1e-6
    loud = min(1.0, loud * OF_ITS_OWN[tone.role])
    # Given in order: a long line has thousands of them, and names take as long again.
    return Event(onset, length * STACCATO if short else length, tone.pitch.midi, loud, strand, 0.0, tone.source, bound)


def home_below(key: Key, lowest: int) -> int:
    """The MIDI key of a tonic for a drone: in the octave that ends at the line's lowest tone, not below C2."""
    midi = lowest - (lowest - key.pc) % 12
    while midi < 36:
        midi += 12
    return midi


def _drone(reading: Reading, layer: Layer, manner: Manner, length: float) -> list[Event]:
    if manner.drone == "off" or not layer.tones:
        return []
    tonic = home_below(reading.home.key, min(tone.pitch.midi for tone in layer.tones))
    keys = [tonic] if manner.drone == "tonic" else [tonic, tonic + 7]
    return [Event(0.0, length, midi, DRONE_LOUDNESS, "drone", legato=True) for midi in keys]


def _beat(reading: Reading) -> float:
    """Quarters of one counted beat: the meter's, dotted where it is compound, a quarter where there is none."""
    meter = reading.line.meter
    if meter is None:
        return 1.0
    compound = meter.unit >= 8 and meter.beats % 3 == 0 and meter.beats > 3
    return (12.0 if compound else 4.0) / meter.unit


def _count_in(reading: Reading, manner: Manner) -> tuple[Event, ...]:
    """Soft ticks an octave or two above the tonic, the first one higher."""
    beat = _beat(reading)
    tonic = 72 + reading.home.key.pc
    return tuple(
        Event(k * beat, min(0.1, beat / 4), tonic + (7 if k == 0 else 0), COUNT_LOUDNESS, "count")
        for k in range(manner.count_in)
    )
