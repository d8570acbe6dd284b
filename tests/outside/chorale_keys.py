"""Soprano and bass of Bach chorales with the keys and degrees of the RomanText analyses that music21 carries.

The analyses are by Andrew Jones, Dmitri Tymoczko and others, as their files say. Chorales are taken whose score and
analysis count the same time.
"""

from __future__ import annotations

import bisect
from dataclasses import dataclass
from functools import cache

from earloop.line import Line, Span, Tone
from earloop.line.pitch import pitch_from_name
from earloop.reading.record import Key

NUMBERS = (1, 2, 4, 8, 13, 15, 16, 20)
NAMES = ("bwv269", "bwv347", "bwv86.6", "bwv40.8", "bwv33.6", "bwv277", "bwv311", "bwv302")
"""Numbers in Riemenschneider's edition and the scores' names."""


@dataclass(frozen=True)
class Analysed:
    """One part: its line, its phrases (to each fermata), and for each tone the analysed key.

    `roots` names tones that sound as the root of a chord in root position, with the chord's degree number.
    """

    name: str
    line: Line
    phrases: tuple[Span, ...]
    keys: tuple[Key, ...]
    roots: tuple[tuple[int, int], ...]

    @property
    def home(self) -> Key:
        """The key of the most tones."""
        return max(dict.fromkeys(self.keys), key=self.keys.count)


@cache
def analysed() -> tuple[Analysed, ...]:
    """Every part once; reading takes a few seconds."""
    return tuple(part for number, name in zip(NUMBERS, NAMES, strict=True) for part in _parts(number, name))


def _parts(number: int, name: str) -> list[Analysed]:
    from music21 import converter, corpus

    path = corpus.getWork(f"bach/choraleAnalyses/riemenschneider{number:03d}.rntxt")
    analysis = converter.parse(path, format="romantext", forceSource=True, storePickle=False)
    score = corpus.parse(f"bach/{name}", forceSource=True)
    chords = [
        (float(r.getOffsetInHierarchy(analysis)), r) for r in analysis.recurse().getElementsByClass("RomanNumeral")
    ]
    starts = [start for start, _ in chords]
    out = []
    for which, part in (("soprano", score.parts[0]), ("bass", score.parts[-1])):
        notes = [note for note in part.stripTies().flatten().notes if not note.isChord and not note.duration.isGrace]
        tones = [
            Tone(float(n.offset), float(n.quarterLength), pitch_from_name(_plain(n.pitch.nameWithOctave)))
            for n in notes
        ]
        ends = [i for i, n in enumerate(notes) if any("Fermata" in mark.classes for mark in n.expressions)]
        ends = sorted({*ends, len(notes) - 1})
        phrases = tuple(Span(a, b) for a, b in zip([0, *(e + 1 for e in ends[:-1])], ends, strict=True))
        keys, roots = [], []
        for index, tone in enumerate(tones):
            start, chord = chords[max(0, bisect.bisect_right(starts, tone.onset + 1e-6) - 1)]
            keys.append(_key(chord.key))
            if chord.inversion() == 0 and abs(start - tone.onset) < 1e-6 and not chord.secondaryRomanNumeral:
                roots.append((index, int(chord.scaleDegree)))
        out.append(Analysed(f"{name} {which}", Line(tuple(tones)), phrases, tuple(keys), tuple(roots)))
    return out


def _key(key: object) -> Key:
    tonic = pitch_from_name(f"{_plain(key.tonic.name)}4")  # type: ignore[attr-defined]
    return Key(tonic.fifths, "minor" if key.mode == "minor" else "major")  # type: ignore[attr-defined]


def _plain(name: str) -> str:
    """music21 writes a flat as a minus sign."""
    return name.replace("-", "b")
