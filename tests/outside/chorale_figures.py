"""Truth for figures: soprano tones of Bach chorales against the RomanText analyses that music21's corpus carries.

Analyses: Andrew Jones, Dmitri Tymoczko and others, as named in the files. A tone outside the current Roman numeral's
chord, approached and left by step, is passing (same direction) or neighbor (back again).
"""

from __future__ import annotations

import hashlib
import re
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

from earloop.line import Line, Meter, Tone
from earloop.line.pitch import pitch_from_name

FITS = 0.8
"""An analysis whose chords hold fewer of the soprano's tones is of another version or barring."""


@dataclass(frozen=True)
class Chorale:
    """The soprano alone, with `passing`, `neighbor`, `other` or `chord` for each tone."""

    name: str
    line: Line
    truth: tuple[str, ...]


@lru_cache(maxsize=2)
def chorales(half: str) -> list[Chorale]:
    """The chorales of one half ("dev" or "held"), split by a hash of the file's name."""
    import music21

    folder = Path(music21.__file__).parent / "corpus" / "bach" / "choraleAnalyses"
    out = []
    for path in sorted(folder.glob("*.rntxt")):
        dev = hashlib.md5(path.name.encode()).digest()[0] % 2 == 0
        if dev == (half == "dev"):
            chorale = _chorale(path)
            if chorale:
                out.append(chorale)
    return out


def _chorale(path: Path) -> Chorale | None:
    from music21 import converter, corpus

    number = re.search(r"BWV:\s*([\d.]+)", path.read_text(encoding="utf-8"))
    assert number
    analysis = converter.parse(path, format="romanText", forceSource=True, storePickle=False)
    score = corpus.parse(f"bach/bwv{number[1]}", forceSource=True)
    soprano = score.parts[0]
    if len({t.ratioString for t in soprano.recurse().getElementsByClass("TimeSignature")}) != 1:
        return None
    tones, places = _tones(soprano)
    chords = _chords(analysis)
    spelled = [[c for at, c in chords if at <= place][-1:] for place in places]
    shift = max(range(12), key=lambda s: _share(tones, spelled, s))
    if _share(tones, spelled, shift) < FITS:
        return None
    meter = soprano.recurse().getElementsByClass("TimeSignature")[0]
    first = next(float(m.offset) for m in soprano.getElementsByClass("Measure") if m.number >= 1)
    start = tones[0].onset
    line = Line(
        tuple(Tone(t.onset - start, t.length, t.pitch) for t in tones),
        meters=((0.0, Meter(meter.numerator, meter.denominator, first - start)),),
    )
    inside = [bool(c) and (t.midi + shift) % 12 in c[0] for t, c in zip(tones, spelled, strict=True)]
    return Chorale(path.stem, line, tuple(_figure(tones, inside, i) for i in range(len(tones))))


def _tones(soprano: Any) -> tuple[list[Tone], list[tuple[int, float]]]:
    """The soprano's tones, ties joined, and each one's measure number and offset."""
    tones: list[Tone] = []
    places = []
    for measure in soprano.getElementsByClass("Measure"):
        for note in measure.notes:
            length = float(note.quarterLength)
            if note.duration.isGrace:
                continue
            if note.tie is not None and note.tie.type in ("stop", "continue") and tones:
                last = tones[-1]
                tones[-1] = Tone(last.onset, last.length + length, last.pitch)
                continue
            pitch = note.pitches[-1]
            name = f"{pitch.name.replace('-', 'b')}{pitch.octave}"
            tones.append(Tone(float(measure.offset + note.offset), length, pitch_from_name(name)))
            places.append((measure.number, float(note.offset) + float(measure.paddingLeft or 0) + 1e-6))
    return tones, places


def _chords(analysis: Any) -> list[tuple[tuple[int, float], set[int]]]:
    chords = [
        ((m.number, float(c.getOffsetInHierarchy(m)) + float(m.paddingLeft or 0)), set(c.pitchClasses))
        for m in analysis.parts[0].getElementsByClass("Measure")
        for c in m.recurse().getElementsByClass("RomanNumeral")
    ]
    return sorted(chords, key=lambda item: item[0])


def _share(tones: list[Tone], chords: list[list[set[int]]], shift: int) -> float:
    return sum(bool(c) and (t.midi + shift) % 12 in c[0] for t, c in zip(tones, chords, strict=True)) / len(tones)


def _figure(tones: list[Tone], inside: list[bool], i: int) -> str:
    if inside[i]:
        return "chord"
    if not 0 < i < len(tones) - 1:
        return "other"
    come = tones[i].pitch.height - tones[i - 1].pitch.height
    go = tones[i + 1].pitch.height - tones[i].pitch.height
    if abs(come) != 1 or abs(go) != 1:
        return "other"
    return "passing" if come == go else "neighbor"


def counts(found: list[tuple[str, ...]], truth: list[tuple[str, ...]]) -> tuple[int, int, int]:
    """Right, wrong and missed passing and neighbor tones together; a wrong name counts as wrong and as missed."""
    names = ("passing", "neighbor")
    pairs = [(f, t) for one, other in zip(found, truth, strict=True) for f, t in zip(one, other, strict=True)]
    right = sum(f == t for f, t in pairs if t in names)
    return right, sum(f in names for f, _ in pairs) - right, sum(t in names for _, t in pairs) - right
