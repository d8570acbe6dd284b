"""How many motives songs have by chance alone, counted in songs pieced together, and how sure answers are said to be.

    python -m tests.bench motive_chance       the numbers in motive_sure.WEIGHTS, and what of each certainty is kept

Every metered song of the development half of the Essen songs (../shared/eval) stands beside one whose phrases come
from as many other songs: each in the place (first, inner, last) and of the time of the one it replaces, moved to the
same tonic. An answer whose model lies in another phrase is chance there; of those in the real song, as many are.
Kept is what is left. Songs are taken apart in two halves, donors too: what is said of one is fitted on the other.
"""

from __future__ import annotations

import random
import sys
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import groupby, pairwise
from typing import Any
from zlib import crc32

import numpy as np

from earloop.cli.batch import line_from
from earloop.line.line import Flags, Floats
from earloop.reading import motive_sure as fitted
from earloop.reading.gestures import find_gestures
from earloop.reading.motive_shapes import Shapes
from earloop.reading.motive_units import Found
from earloop.reading.motives import answers_in
from earloop.reading.phrases import find_phrases
from earloop.reading.tonic import find_tonic
from tests.bench.sureness import SEED, scripts

Notes = list[list[float]]
"""Onset, length, MIDI key, and the number of the phrase."""
Tune = dict[str, Any]
RIDGE = 0.5
BINS = ((0.0, 0.2), (0.2, 0.5), (0.5, 0.6), (0.6, 0.7), (0.7, 0.8), (0.8, 0.9), (0.9, 0.95), (0.95, 1.01))
FEW = 30


@dataclass
class Counted:
    """Answers with a model in another phrase: their cues, their treatments, in a real song or not, and which half."""

    cues: list[list[float]] = field(default_factory=list)
    treatments: list[str] = field(default_factory=list)
    real: list[bool] = field(default_factory=list)
    half: list[int] = field(default_factory=list)


def half_of(tune: Tune) -> int:
    return crc32(tune["id"].encode()) % 2


def phrases_of(tune: Tune) -> Iterator[tuple[Notes, tuple[int, float, str]]]:
    """Each phrase with what another must share that takes its place: half, time up to the next, place in the song."""
    own = [list(notes) for _, notes in groupby(tune["notes"], key=lambda note: note[3])]
    starts = [notes[0][0] for notes in own] + [own[-1][-1][0] + own[-1][-1][1]]
    for k, (notes, (start, end)) in enumerate(zip(own, pairwise(starts), strict=True)):
        place = "first" if k == 0 else "last" if k == len(own) - 1 else "inner"
        yield notes, (half_of(tune), round(end - start, 3), place)


def pieced(tune: Tune, stock: dict[tuple[int, float, str], list[tuple[Tune, Notes]]], dice: random.Random) -> Notes:
    """A song of other songs' phrases, no two from one; nothing where there are none that fit."""
    used, at, out = {tune["id"]}, 0.0, []
    for notes, kind in phrases_of(tune):
        donors = [donor for donor in stock[kind] if donor[0]["id"] not in used]
        if not donors:
            return []
        donor, other = dice.choice(donors)
        used.add(donor["id"])
        shift = (tune["tonic"] - donor["tonic"] + 6) % 12 - 6
        out += [[at + note[0] - other[0][0], note[1], note[2] + shift, notes[0][3]] for note in other]
        at += kind[1]
    return out


def across(notes: Notes) -> Iterator[tuple[Shapes, Found]]:
    """The answers in a song whose model lies in another phrase."""
    line = line_from({"tones": scripts("essen").tones(notes)})
    phrases, _ = find_phrases(line, find_tonic(line))
    shapes, found = answers_in(line, phrases, find_gestures(line, phrases))
    row = [note[3] for note in notes]
    for answer in found:
        own, model = ({row[shapes.tones[i]] for i in range(a, b + 1)} for a, b in (answer.place, answer.model))
        if not own & model:
            yield shapes, answer


def count() -> Counted:
    dice, counted = random.Random(SEED), Counted()
    tunes = [tune for tune in scripts("essen").load("dev") if tune["metered"] and len(list(phrases_of(tune))) > 1]
    stock: dict[tuple[int, float, str], list[tuple[Tune, Notes]]] = defaultdict(list)
    for tune in tunes:
        for notes, kind in phrases_of(tune):
            stock[kind].append((tune, notes))
    for tune in tunes:
        other = pieced(tune, stock, dice)
        for notes, real in ((tune["notes"], True), (other, False)) if other else ():
            for shapes, answer in across(notes):
                cues = fitted.sure_cues(shapes, answer, fitted.is_exact(shapes, answer))
                counted.cues.append([cues.get(name, 0.0) for name in fitted.WEIGHTS])
                counted.treatments.append(answer.treatment)
                counted.real.append(real)
                counted.half.append(half_of(tune))
    return counted


def fit(cues: Floats, real: Flags) -> Floats:
    """Weights of the log odds o that an answer is no chance: with as many songs of both, (1 + o) / (2 + o) are real.

    Maximum likelihood with a ridge, by Fisher's scoring with step halving.
    """
    spread = np.where(np.arange(cues.shape[1]) < len(set(fitted.KINDS.values())), 1.0, cues.std(axis=0))
    scaled, weights = cues / spread, np.zeros(cues.shape[1])

    def share(own: Floats) -> tuple[Floats, Floats]:
        odds = np.exp(np.clip(scaled @ own, -8.0, 20.0))
        return (1 + odds) / (2 + odds), odds / (2 + odds) ** 2

    def value(own: Floats) -> float:
        chance, _ = share(own)
        return float(np.log(np.where(real, chance, 1 - chance)).sum() - RIDGE * (own**2).sum() / 2)

    for _ in range(60):
        chance, slope = share(weights)
        spent = chance * (1 - chance)
        gradient = scaled.T @ ((real - chance) / spent * slope) - RIDGE * weights
        bend = (scaled * (slope**2 / spent)[:, None]).T @ scaled + RIDGE * np.eye(len(weights))
        step = np.linalg.solve(bend, gradient)
        while value(weights + step) < value(weights) and np.abs(step).max() > 1e-6:
            step /= 2
        weights = weights + step
    return np.asarray(weights / spread)


def said_of(cues: Floats, weights: Floats) -> Floats:
    return np.minimum(fitted.MOST_SURE, 1 / (1 + np.exp(-np.clip(cues @ weights, -30.0, 30.0))))


def table(said: Floats, real: Flags) -> None:
    told = said >= fitted.LEAST_SURE
    widest = 0.0
    for low, high in BINS:
        own = told & (said >= low) & (said < high)
        found, chance = int((own & real).sum()), int((own & ~real).sum())
        if found:
            word, kept = 100 * float(said[own & real].mean()), 100 * (1 - chance / found)
            widest = max(widest, abs(word - kept)) if found >= FEW else widest
            print(f"    said {word:5.1f} %  kept {kept:5.1f} %  of {found:5d} ({chance} by chance)")
    kept = 100 * (1 - (told & ~real).sum() / (told & real).sum())
    print(f"    on the whole said {100 * said[told & real].mean():.1f} %, kept {kept:.1f} %", end="; ")
    print(f"widest gap where {FEW} or more were said: {widest:.1f} points")


def main() -> None:
    counted = count()
    cues, real, half = np.array(counted.cues), np.array(counted.real), np.array(counted.half)
    treatments = np.array(counted.treatments)
    print("answers across phrases, in songs / in songs pieced together")
    for name in fitted.KINDS:
        found, chance = int((treatments[real] == name).sum()), int((treatments[~real] == name).sum())
        print(f"    {name:12} {found:5d} / {chance:5d}")
    left_out = [fit(cues[half != k], real[half != k]) for k in (0, 1)]
    print("each half by the other's fit")
    table(np.where(half == 0, said_of(cues, left_out[0]), said_of(cues, left_out[1])), real)
    print("as it stands in motive_sure")
    table(said_of(cues, np.array(list(fitted.WEIGHTS.values()))), real)
    print("fitted on both:")
    for name, value in zip(fitted.WEIGHTS, fit(cues, real), strict=True):
        print(f'    "{name}": {value:.2f},')


if __name__ == "__main__":
    sys.exit(main())
