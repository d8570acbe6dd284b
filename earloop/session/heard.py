"""What is heard: a layer of the reading, performed in a manner. What was made lately is not made again."""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass
from threading import Lock

from earloop.layers import Layer, LayerName, build
from earloop.line import Span
from earloop.performing import Manner, Performance, perform
from earloop.performing.loudness import loudness
from earloop.reading import Reading

REMEMBERED = 8
"""Going through the seven layers and back makes none twice."""
MOST_EVENTS = 50_000
"""All of them together: of a line of very many tones fewer are remembered."""


@dataclass(frozen=True, slots=True)
class Wish:
    """What is to be heard of a reading."""

    name: LayerName
    span: Span
    depth: int
    true_time: bool
    manner: Manner


@dataclass(frozen=True, slots=True)
class Heard:
    """`onsets` and `sources`: which tone of the line begins when; a bridge is the tone it repeats."""

    layer: Layer
    performance: Performance
    onsets: tuple[float, ...]
    sources: tuple[int, ...]


class Hearings:
    """Makes what is heard, and remembers the latest. May be asked by two threads."""

    def __init__(self) -> None:
        self._made: deque[tuple[Reading, Wish, Heard]] = deque(maxlen=REMEMBERED)
        self._lock = Lock()
        self._loud: tuple[Reading, tuple[float, ...]] | None = None

    def of(self, reading: Reading, wish: Wish) -> Heard:
        """What is heard by that wish; the same object as before where nothing differs."""
        with self._lock:
            known = tuple(self._made)
        for made_of, wished, heard in known:
            if made_of is reading and wished == wish:
                return heard
        layer = build(reading, wish.name, wish.span, wish.depth, wish.true_time)
        performance = perform(reading, layer, wish.manner, self._loudness(reading))
        placed = [(e.onset, e.source) for e in performance.events if e.source is not None and e.strand != "held"]
        heard = Heard(layer, performance, tuple(onset for onset, _ in placed), tuple(source for _, source in placed))
        with self._lock:
            self._made.append((reading, wish, heard))
            while len(self._made) > 1 and sum(len(made.onsets) for _, _, made in self._made) > MOST_EVENTS:
                self._made.popleft()
        return heard

    def _loudness(self, reading: Reading) -> tuple[float, ...]:
        """The same for all layers of a reading."""
        held = self._loud
        if held is None or held[0] is not reading:
            held = self._loud = reading, loudness(reading)
        return held[1]
