"""Melodies to sing: the phrase library's halves, and folk tunes and chorale melodies of music21's corpus.

The checker was tuned with the odd numbers of the phrase library and with nothing else; `measured` leaves those out.
Of the corpus only the development half is loaded, by the same rules as in ../shared/eval.
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from earloop.layers import Layer, build
from earloop.line import Line, Span
from earloop.performing import Event, Manner, perform
from earloop.reading import Reading, read
from earloop.scores import load_line

PHRASES = Path(__file__).parents[3] / "phrases"
LAYERS = ("ornamented", "skeleton", "upper", "lower")
LONGEST = 32
"""Tones: longer tunes are cut here, as one practises them by the phrase."""
VOICES = {"male": 52.0, "female": 66.0, "child": 71.0}
"""The middle of each voice's range as a MIDI key (common practice, no source)."""


@dataclass(frozen=True)
class Melody:
    """A layer in the key it is sung in; `events` are its tones in performed quarters, one for each layer tone."""

    name: str
    voice: str
    reading: Reading
    layer: Layer
    events: tuple[Event, ...]
    tempo: float


def tuned() -> list[tuple[str, Line, str]]:
    return list(_phrases(1))


def measured(tunes: int, chorales: int) -> list[tuple[str, Line, str]]:
    """Name, line and layer of what the checker is judged by."""
    return [*_phrases(0), *_folk_tunes(tunes), *_chorales(chorales)]


def melodies(lines: list[tuple[str, Line, str]], count: int, seed: int) -> Iterator[Melody]:
    """`count` melodies, each in a key, octave and tempo of its own; in an order of their own."""
    rng = np.random.default_rng(seed)
    order = [i for _ in range(count // len(lines) + 1) for i in rng.permutation(len(lines))]
    made = 0
    for k, i in enumerate(order):
        name, line, layer = lines[i]
        melody = _placed(name, line, layer, list(VOICES)[k % 3], rng)
        if melody is not None:
            yield melody
            made += 1
        if made == count:
            return


def _placed(name: str, line: Line, layer_name: str, voice: str, rng: np.random.Generator) -> Melody | None:
    semitones = int(rng.integers(-5, 7))
    steps = (0, 1, 1, 2, 2, 3, 3, 4, 5, 5, 6, 6)[semitones % 12] + 7 * (semitones // 12)
    moved = line.transposed(steps, semitones)
    middle = float(np.median(moved.columns.midi))
    octaves = round((VOICES[voice] - middle) / 12)
    reading = read(moved.transposed(7 * octaves, 12 * octaves))
    layer = build(reading, layer_name)
    events = tuple(e for e in perform(reading, layer, Manner()).events if e.strand != "held")
    if len(events) != len(layer.tones) or len(events) < 4:
        return None
    tempo = float(rng.uniform(56, 126))
    return Melody(f"{name} {layer_name}", voice, reading, layer, events, tempo)


def _phrases(half: int) -> Iterator[tuple[str, Line, str]]:
    for path in sorted(PHRASES.iterdir()):
        if path.suffix in (".abc", ".musicxml") and int(path.name[:2]) % 2 == half:
            line = load_line(path)
            for layer in LAYERS:
                yield path.stem, line, layer


def _folk_tunes(count: int) -> Iterator[tuple[str, Line, str]]:
    """Essen folk songs (Schaffrath 1995) of the development half."""
    found = []
    for path in sorted(_corpus("essenFolksong").glob("*.abc")):
        for number in re.findall(r"(?m)^X:\s*(\d+)", path.read_text(encoding="latin-1")):
            name = f"{path.name}:{number}"
            if hashlib.md5(name.encode()).digest()[0] % 2 == 0:
                found.append((_number("sung", name), path, int(number)))
    yielded = 0
    for _, path, tune in sorted(found):
        if yielded == count:
            return
        line = load_line(path, tune=tune)
        if len(line) >= 8:
            yielded += 1
            yield f"{path.stem}:{tune}", _short(line), "ornamented"


def _chorales(count: int) -> Iterator[tuple[str, Line, str]]:
    """Sopranos of Bach chorales of the development half."""
    yielded = 0
    for path in sorted(_corpus("bach").glob("bwv*.mxl"), key=lambda p: _number("sung", p.name)):
        if yielded == count:
            return
        line = load_line(path)
        midi = [int(key) for key in line.columns.midi[:8]]
        if len(line) >= 12 and _number("half", tuple(key - midi[0] for key in midi)) % 10 < 6:
            yielded += 1
            yield path.stem, _short(line), "ornamented"


def _short(line: Line) -> Line:
    return line.cut(Span(0, LONGEST - 1)) if len(line) > LONGEST else line


def _corpus(folder: str) -> Path:
    import music21

    return Path(music21.__file__).parent / "corpus" / folder


def _number(*words: object) -> int:
    return int.from_bytes(hashlib.sha256("|".join(map(str, words)).encode()).digest()[:8], "big")
