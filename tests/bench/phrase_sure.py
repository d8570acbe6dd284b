"""How sure phrase ends are said to be, fitted on folk songs and measured with each fifth of the tunes left out.

    python -m tests.bench phrase_sure     the numbers in phrase_coefficients.SURE_CUES, and how often they are right

All tunes of the development half of the Essen songs (../shared/eval), no meter given, rests as given and closed up.
A tune's two forms are always left out together. The passes' own coefficients saw part of those tunes.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from zlib import crc32

import numpy as np

from earloop.cli.batch import line_from
from earloop.line.line import Flags, Floats
from earloop.reading import phrase_coefficients as fitted
from earloop.reading.phrase_chances import end_chances
from earloop.reading.phrase_lengths import breath_of, breath_shares
from earloop.reading.phrase_sure import sure_cues, threshold
from earloop.reading.phrases import AT_FIRST, chosen
from earloop.reading.tonic import find_tonic
from tests.bench.sureness import Said, scripts, table

FIFTHS = 5
RIDGE = 3.0
UNMETERED_COUNT = 5.0
"""How many metered tunes an unmetered one counts as in the fit: there are 95 of them, and 4,014 of the others."""


@dataclass(frozen=True)
class Sung:
    """One form of a tune: its cues, which tones end a phrase, and what choosing among them needs."""

    fifth: int
    metered: bool
    closed: bool
    cues: Floats
    truth: Flags
    shares: Floats


def forms() -> Iterable[Sung]:
    essen, own = scripts("essen"), scripts("phrases")
    for tune in essen.load("dev"):
        wanted = own.truth(tune["notes"])
        for closed in (False, True) if wanted else ():
            line = line_from({"tones": essen.tones(tune["notes"], closed)})
            size, shares = len(line), breath_shares(line)
            chances = end_chances(line.columns, find_tonic(line).key.pc, breath_of(line), np.zeros(size))
            free = np.ones(size, dtype=bool)
            ends = chosen(chances.second, ~free, free, shares, AT_FIRST)
            cues = sure_cues(line.columns, chances, free, ends)
            truth = np.isin(np.arange(size), list(wanted))
            yield Sung(crc32(tune["id"].encode()) % FIFTHS, tune["metered"], closed, cues, truth, shares)


def fit(songs: Iterable[Sung]) -> Floats:
    """Ridge logistic regression by Newton's method, the constant free, cues in units of their spread."""
    own = list(songs)
    cues = np.concatenate([song.cues[:-1] for song in own])
    right = np.concatenate([song.truth[:-1] for song in own]).astype(np.float64)
    count = np.concatenate([np.full(len(song.truth) - 1, 1.0 if song.metered else UNMETERED_COUNT) for song in own])
    spread = np.where(cues.std(axis=0) > 0, cues.std(axis=0), 1.0)
    scaled, weights = cues / spread, np.zeros(cues.shape[1])
    ridge = RIDGE * (np.arange(len(weights)) > 0)
    for _ in range(25):
        chance = 1 / (1 + np.exp(-(scaled @ weights)))
        slope = scaled.T @ (count * (right - chance)) - ridge * weights
        bend = (scaled * (count * chance * (1 - chance))[:, None]).T @ scaled + np.diag(ridge + 1e-9)
        weights += np.linalg.solve(bend, slope)
    return np.asarray(weights / spread)


def claims(song: Sung, weights: Floats) -> tuple[Said, int]:
    """Each phrase end proposed with its chance and whether it is right, and how many were missed."""
    chance = 1 / (1 + np.exp(-(song.cues @ weights)))
    free = np.ones(len(chance), dtype=bool)
    ends = chosen(chance, ~free, free, song.shares, threshold(chance[:-1])).tolist()
    return [(float(chance[i]), bool(song.truth[i])) for i in ends], int(song.truth.sum() - song.truth[ends].sum())


def measure(name: str, songs: list[Sung], weights_of: Callable[[Sung], Floats]) -> None:
    rows = [claims(song, weights_of(song)) for song in songs]
    said = [row for own, _ in rows for row in own]
    hits, missed = sum(right for _, right in said), sum(number for _, number in rows)
    mean = np.mean([chance for chance, _ in said])
    print(f"  {name}: F1 {2 * hits / (len(said) + hits + missed):.3f}", end=", ")
    print(f"said {100 * mean:.1f} %, right {100 * hits / len(said):.1f} % of {len(said)}")
    table(said)


def main() -> None:
    songs = list(forms())
    left_out = [fit(song for song in songs if song.fifth != fifth) for fifth in range(FIFTHS)]
    groups = [(metered, closed) for metered in (True, False) for closed in (False, True)]
    for title, weights_of in (
        ("each fifth left out of the fit", lambda song: left_out[song.fifth]),
        ("as it stands in phrase_coefficients", lambda song: np.array(list(fitted.SURE_CUES.values()))),
    ):
        print(title)
        for metered, closed in groups:
            own = [song for song in songs if (song.metered, song.closed) == (metered, closed)]
            name = f"{'metered' if metered else 'unmetered'}, rests {'closed up' if closed else 'given'}"
            measure(name, own, weights_of)
        measure("unmetered, both", [song for song in songs if not song.metered], weights_of)
    print("fitted on all of them:")
    for name, value in zip(fitted.SURE_CUES, fit(songs), strict=True):
        print(f'    "{name}": {value:.3f},')


if __name__ == "__main__":
    sys.exit(main())
