"""The layers in the order one practises them, each with its builder and what it is for."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from earloop.layers.bridged import bridged
from earloop.layers.held import held
from earloop.layers.layer import Layer, LayerName
from earloop.layers.one_line import interleaved, lower, ornamented, skeleton, upper
from earloop.line import Span
from earloop.reading.record import DEEPEST, Reading

Builder = Callable[[Reading, Span, int, bool], Layer]


@dataclass(frozen=True, slots=True)
class Entry:
    """A layer of the catalogue. `depth` is the skeleton depth it starts at; `closes` whether it can close up."""

    name: LayerName
    build: Builder
    depth: int
    closes: bool
    purpose: str


CATALOGUE: tuple[Entry, ...] = (
    Entry("skeleton", skeleton, 2, True, "the tones that carry the line"),
    Entry("upper", upper, 1, True, "the upper line alone"),
    Entry("lower", lower, 1, True, "the lower line alone"),
    Entry("interleaved", interleaved, 1, True, "both lines, woven as on the page"),
    Entry("bridged", bridged, 1, True, "a line's last tone sounds again before it goes on"),
    Entry("held", held, 2, False, "the page, with each structural tone held below it"),
    Entry("ornamented", ornamented, 0, False, "the page as it stands"),
)

NAMES: tuple[LayerName, ...] = tuple(entry.name for entry in CATALOGUE)


def entry(name: str) -> Entry:
    """The catalogue's entry of that name. Raises KeyError with the known names where there is none."""
    for found in CATALOGUE:
        if found.name == name:
            return found
    raise KeyError(f"no layer is called {name!r}; there are: {', '.join(NAMES)}")


def build(
    reading: Reading, name: str, span: Span | None = None, depth: int | None = None, true_time: bool = True
) -> Layer:
    """A layer by name over a span (default: the whole line), at a depth (default: the layer's own)."""
    chosen = entry(name)
    depth = chosen.depth if depth is None else max(0, min(DEEPEST, depth))
    return chosen.build(reading, span or reading.line.whole, depth, true_time or not chosen.closes)
