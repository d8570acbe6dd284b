"""Truth for figures: soprano tones of Bach chorales against the RomanText analyses that music21's corpus carries.

Analyses: Andrew Jones, Dmitri Tymoczko and others, as named in the files. A tone outside the current Roman numeral's
chord, approached and left by step, is passing (same direction) or neighbor (back again). Score and analysis are laid
beside each other by the time since the first downbeat, both unrepeated and without the analyst's variants (measures are
split at repeat signs, and one score counts 0 again in the middle). Whether they belong together is told by all four
voices: the others fit by .94 to 1, one chorale does not (no. 11, whose score has interludes the analysis leaves out).

One label is *arguable*: where the numeral changes only by taking in the soprano's own step (V, V7 as the line goes
8-7), the handbooks call the same tone a passing seventh (Aldwell & Schachter) or a chord tone approached as a passing
tone (Kostka & Payne); from memory. It counts neither as right nor as wrong, unless a strict count is asked for, where
it is a chord tone as labelled.
"""

from __future__ import annotations

import hashlib
import re
from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

from earloop.line import Line, Meter, Tone
from earloop.line.pitch import pitch_from_name
from earloop.line.tone import Marks

FITS = 0.8
"""An analysis whose chords hold fewer of the tones struck on beats, in all voices, is of another version or barring."""
NAMES = ("Soprano", "Alto", "Tenor", "Bass")
Voices = tuple[tuple[Tone, ...], ...]


@dataclass(frozen=True)
class Chord:
    """A numeral's chord from a moment on: its pitch classes, and its root's."""

    at: float
    members: frozenset[int]
    root: int

    def moved(self, time: float, semitones: int) -> Chord:
        members = frozenset((pc + semitones) % 12 for pc in self.members)
        return Chord(self.at + time, members, (self.root + semitones) % 12)


@dataclass(frozen=True)
class Chorale:
    """The soprano alone, with `passing`, `neighbor`, `other`, `chord` or `arguable` for each tone.

    `voices` are all four, soprano first, on the line's own time; `fits` is the share of their tones struck on a quarter
    that belong to the chord of that moment. `chords` are the numerals' on the line's time, `score` is the score's file.
    """

    name: str
    line: Line
    truth: tuple[str, ...]
    voices: Voices
    fits: float
    chords: tuple[Chord, ...]
    score: Path


def chorales(half: str) -> list[Chorale]:
    """The chorales of one half ("dev" or "held"), split by a hash of the file's name."""
    return [work for work in analysed(half) if work.fits >= FITS]


@lru_cache(maxsize=2)
def analysed(half: str) -> tuple[Chorale, ...]:
    """All chorales of one half, also those whose analysis does not fit the score."""
    import music21

    folder = Path(music21.__file__).parent / "corpus" / "bach" / "choraleAnalyses"
    dev = [path for path in folder.glob("*.rntxt") if hashlib.md5(path.name.encode()).digest()[0] % 2 == 0]
    paths = dev if half == "dev" else set(folder.glob("*.rntxt")) - set(dev)
    return tuple(_chorale(path) for path in sorted(paths))


def score_name(analysis: str) -> str:
    """The score's name in the corpus: `248(2).12` is there as 248.12-2, `41.6s` as 41.6."""
    found = re.search(r"BWV:\s*(\d+)(?:\((\d)\))?\.?(\d*)", analysis)
    assert found
    number, part, movement = found.groups()
    return f"bach/bwv{number}" + (f".{movement}" if movement else "") + (f"-{part}" if part else "")


def _chorale(path: Path) -> Chorale:
    from music21 import converter, corpus

    analysis = converter.parse(path, format="romanText", forceSource=True, storePickle=False)
    found = corpus.getWork(score_name(path.read_text(encoding="utf-8")))
    score = Path(found[0] if isinstance(found, list) else found)
    line, voices = four_voices(converter.parse(score, forceSource=True, storePickle=False))
    assert line.meter
    first = line.meter.first_downbeat
    keys = [[chord.moved(first, up) for chord in _chords(analysis)] for up in range(12)]
    chords = max(keys, key=lambda own: share_on_beats(voices, own, first))
    fits = share_on_beats(voices, chords, first)
    truth = tuple(label(line, chords, i) for i in range(len(line)))
    return Chorale(path.stem, line, truth, voices, fits, tuple(chords), score)


def four_voices(score: Any) -> tuple[Line, Voices]:
    """The soprano as a line with its meters and fermatas, and all four voices on the line's time."""
    named = [[p for p in score.parts if str(p.partName).startswith(name)] for name in NAMES]
    parts = [found[0] for found in named] if all(named) else list(score.parts)[:4]
    voices = [_tones(part) for part in parts]
    start = voices[0][0].onset
    moved = tuple(tuple(Tone(t.onset - start, t.length, t.pitch, marks=t.marks) for t in v) for v in voices)
    measures = list(parts[0].getElementsByClass("Measure"))
    first = next(float(m.offset) for m in measures if m.number >= 1) - start
    meters = [
        (max(float(t.getOffsetInHierarchy(parts[0])) - start, 0.0), t)
        for t in parts[0].recurse().getElementsByClass("TimeSignature")
    ]
    marks = tuple((at, Meter(t.numerator, t.denominator, first if k == 0 else at)) for k, (at, t) in enumerate(meters))
    return Line(moved[0], meters=marks), moved


def _tones(part: Any) -> tuple[Tone, ...]:
    """A voice's tones, ties joined."""
    tones: list[Tone] = []
    for note in part.recurse().notes:
        if note.duration.isGrace:
            continue
        length, onset = float(note.quarterLength), float(note.getOffsetInHierarchy(part))
        if note.tie is not None and note.tie.type in ("stop", "continue") and tones:
            last = tones[-1]
            tones[-1] = Tone(last.onset, last.length + length, last.pitch, marks=last.marks)
            continue
        pitch = note.pitches[-1]
        fermata = any("Fermata" in mark.classes for mark in note.expressions)
        name = f"{pitch.name.replace('-', 'b')}{pitch.octave}"
        tones.append(Tone(onset, length, pitch_from_name(name), marks=Marks(fermata=fermata)))
    return tuple(tones)


def _chords(analysis: Any) -> list[Chord]:
    """The numerals' chords; time since the first downbeat."""
    part = analysis.parts[0]
    first = next(float(m.offset) for m in part.getElementsByClass("Measure") if m.number >= 1)
    chords = [
        Chord(float(c.getOffsetInHierarchy(part)) - first, frozenset(c.pitchClasses), c.root().pitchClass)
        for c in part.recurse().getElementsByClass("RomanNumeral")
    ]
    return sorted(chords, key=lambda chord: chord.at)


def share_on_beats(voices: Voices, chords: list[Chord], first: float) -> float:
    """Share of all tones struck on a quarter that belong to their moment's chord."""
    struck = [t for voice in voices for t in voice if (t.onset - first + 1e-3) % 1 < 2e-3]
    heard = [(t, chord_at(chords, t.onset)) for t in struck]
    return sum(t.midi % 12 in chord.members for t, chord in heard if chord) / sum(
        chord is not None for _, chord in heard
    )


def chord_at(chords: Sequence[Chord], at: float) -> Chord | None:
    """The chord in force; none before the first."""
    k = bisect_right(chords, at + 1e-3, key=lambda chord: chord.at)
    return chords[k - 1] if k else None


def label(line: Line, chords: Sequence[Chord], i: int) -> str:
    """What the labels make of one tone of a voice."""
    tones, own = line.tones, line[i].midi % 12
    chord = chord_at(chords, tones[i].onset)
    inner = 0 < i < len(tones) - 1
    come = tones[i].pitch.height - tones[i - 1].pitch.height if inner else 0
    go = tones[i + 1].pitch.height - tones[i].pitch.height if inner else 0
    steps = abs(come) == 1 and abs(go) == 1
    if chord and own in chord.members:
        return "arguable" if steps and _only_a_seventh(chords, chord, tones[i].onset, own) else "chord"
    if not chord or not steps:
        return "other"
    return "passing" if come == go else "neighbor"


def _only_a_seventh(chords: Sequence[Chord], chord: Chord, onset: float, own: int) -> bool:
    """Whether the numeral changes at the tone, and by nothing but this tone as its seventh."""
    last = chord_at(chords, chord.at - 0.01)
    if last is None or abs(chord.at - onset) > 1e-3:
        return False
    return last.root == chord.root and last.members == chord.members - {own} and (own - chord.root) % 12 >= 9


def counts(found: list[tuple[str, ...]], truth: list[tuple[str, ...]], strict: bool = False) -> tuple[int, int, int]:
    """Right, wrong and missed passing and neighbor tones together; a wrong name counts as wrong and as missed.

    Arguable tones are left out; in a `strict` count they are chord tones.
    """
    names = ("passing", "neighbor")
    pairs = [(f, t) for one, other in zip(found, truth, strict=True) for f, t in zip(one, other, strict=True)]
    if not strict:
        pairs = [(f, t) for f, t in pairs if t != "arguable"]
    right = sum(f == t for f, t in pairs if t in names)
    return right, sum(f in names for f, _ in pairs) - right, sum(t in names for _, t in pairs) - right
