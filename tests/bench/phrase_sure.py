"""How sure phrase ends are said to be, fitted on folk songs and measured with each fifth of the tunes left out.

    python -m tests.bench phrase_sure     SURE_CUES and FREE_SLOPE of phrase_coefficients, and how often they are right
    python -m tests.bench phrase_sure chorales   what is shipped, on music that no number of it was fitted to

All tunes of the development half of the Essen songs (../shared/eval), rests as given and closed up. Ends are found
without a meter, and said to be as sure as in a score that states the tune's meter, or that it has none. A tune's two
forms are always left out together. The passes' own coefficients saw part of those tunes. The
chorales are the sopranos of music21's corpus without their fermatas, which say where a phrase ends.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from itertools import product
from pathlib import Path
from zlib import crc32

import numpy as np
from music21 import corpus

from earloop.cli.batch import line_from
from earloop.line import Line, Marks
from earloop.line.line import Flags, Floats
from earloop.reading import phrase_coefficients as fitted
from earloop.reading.phrase_chances import end_chances
from earloop.reading.phrase_lengths import breath_of, breath_shares
from earloop.reading.phrase_sure import said_freely, sure_cues, threshold
from earloop.reading.phrases import AT_FIRST, chosen, find_phrases
from earloop.reading.tonic import find_tonic
from earloop.scores import ScoreError, load_line
from tests.bench.bar_lines import printed
from tests.bench.sureness import NEAR, SEED, Said, scripts, table

FIFTHS = 5
RIDGE = 3.0
FERMATAS = 3
"""A chorale has as many, or more."""
TUNE_DRAWS = 2000
UNMETERED_COUNT = 5.0
"""How many metered tunes an unmetered one counts as in the fit: there are 95 of them, and 4,014 of the others."""


@dataclass(frozen=True)
class Sung:
    """One form of a tune: its cues, which tones end a phrase, and what choosing among them needs."""

    tune: str
    metered: bool
    even: bool
    closed: bool
    cues: Floats
    truth: Flags
    shares: Floats

    @property
    def fifth(self) -> int:
        return crc32(self.tune.encode()) % FIFTHS


Weights = Callable[[Sung], Floats]
Slopes = Callable[[Sung], float]
"""What each song's ends are measured with; a slope is asked for where no even measure carries the song."""


def forms() -> Iterable[Sung]:
    essen, own = scripts("essen"), scripts("phrases")
    meters = printed(essen)
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
            yield Sung(tune["id"], tune["metered"], meters[tune["id"]].even, closed, cues, truth, shares)


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


def fit_slope(songs: Iterable[Sung], weights_of: Weights) -> float:
    """What the log odds of ends proposed are worth: logistic regression through the origin, by Newton's method."""
    said = np.array([row for song in songs for row in claims(song, weights_of(song))[0]], dtype=np.float64)
    odds, slope = np.log(said[:, 0] / (1 - said[:, 0])), 1.0
    for _ in range(25):
        chance = 1 / (1 + np.exp(-slope * odds))
        slope += float(odds @ (said[:, 1] - chance) / (odds**2 @ (chance * (1 - chance))))
    return slope


def measure(name: str, songs: list[Sung], weights_of: Weights, slope_of: Slopes | None = None) -> None:
    rows = []
    missed = 0
    for song in songs:
        own, number = claims(song, weights_of(song))
        if slope_of and own:
            freely = said_freely(np.array([chance for chance, _ in own]), slope_of(song))
            own = [(float(chance), right) for chance, (_, right) in zip(freely, own, strict=True)]
        rows.append(own)
        missed += number
    said = [row for own in rows for row in own]
    hits = sum(right for _, right in said)
    mean = np.mean([chance for chance, _ in said])
    print(f"  {name}: F1 {2 * hits / (len(said) + hits + missed):.3f}", end=", ")
    print(f"said {100 * mean:.1f} %, right {100 * hits / len(said):.1f} % of {len(said)}")
    table(said)
    drawn_again([song.tune for song in songs], rows)


def drawn_again(tunes: list[str], rows: list[Said]) -> None:
    """How far the share of right ones about 90 % may be off, ends of one tune being alike: the tunes drawn again."""
    which = np.unique(tunes, return_inverse=True)[1]
    near = [[right for chance, right in own if NEAR[0] <= chance < NEAR[1]] for own in rows]
    right, of = (np.bincount(which, [how(own) for own in near]) for how in (sum, len))
    draws = np.random.default_rng(SEED).integers(0, len(of), (TUNE_DRAWS, len(of)))
    low, high = np.percentile(100 * right[draws].sum(axis=1) / of[draws].sum(axis=1), [2.5, 97.5])
    print(f"    about 90 %, tunes drawn again: {low:.1f} to {high:.1f} % right, 19 times in 20")


def sopranos() -> Iterable[tuple[str, Line, Flags]]:
    """The chorales' sopranos without any sign of the page, and on which tones a fermata stood."""
    for path in sorted(Path(str(path)) for path in corpus.getComposer("bach")):
        try:
            line = load_line(path)
        except ScoreError:
            continue
        held = np.array([tone.marks.fermata for tone in line.tones])
        if held.sum() >= FERMATAS:
            tones = tuple(replace(tone, marks=Marks()) for tone in line.tones)
            yield path.name, replace(line, tones=tones, others=()), held


def chorales() -> None:
    found = list(sopranos())
    print(f"{len(found)} chorale sopranos without their fermatas, as shipped")
    for closed, told in product((False, True), (True, False)):
        rows, wanted = [], 0
        for _, soprano, held in found:
            line = closed_up(soprano) if closed else soprano
            spans, sure = find_phrases(line if told else replace(line, meters=()), find_tonic(line))
            rows.append([(chance, bool(held[span.last])) for span, chance in zip(spans[:-1], sure[:-1], strict=True)])
            wanted += int(held[:-1].sum())
        said = [row for own in rows for row in own]
        hits = sum(right for _, right in said)
        print(f"  rests {'closed up' if closed else 'given'}, meter {'told' if told else 'not told'}: ", end="")
        print(f"F1 {2 * hits / (len(said) + wanted):.3f}")
        table(said)
        drawn_again([name for name, *_ in found], rows)


def closed_up(line: Line) -> Line:
    """The line without its rests."""
    starts = np.append(0.0, np.cumsum([tone.length for tone in line.tones]))
    return replace(line, tones=tuple(replace(t, onset=float(at)) for t, at in zip(line.tones, starts, strict=False)))


def main() -> None:
    if "chorales" in sys.argv:
        chorales()
        return
    songs = list(forms())
    free = [song for song in songs if not song.even]
    left_out = [fit(song for song in songs if song.fifth != fifth) for fifth in range(FIFTHS)]

    def without(song: Sung) -> Floats:
        return left_out[song.fifth]

    def shipped(_: Sung) -> Floats:
        return np.array(list(fitted.SURE_CUES.values()))

    slopes = [fit_slope((song for song in free if song.fifth != fifth), without) for fifth in range(FIFTHS)]
    for title, weights_of, slope_of in (
        ("each fifth left out of the fit", without, lambda song: slopes[song.fifth]),
        ("as it stands in phrase_coefficients", shipped, lambda _: fitted.FREE_SLOPE),
    ):
        print(title)
        for metered, closed in product((True, False), (False, True)):
            own = [song for song in songs if (song.metered, song.closed) == (metered, closed)]
            name = f"{'metered' if metered else 'unmetered'}, rests {'closed up' if closed else 'given'}"
            measure(name, own, weights_of, None if metered else slope_of)
        unmetered = [song for song in free if not song.metered]
        measure("unmetered, both, by what metered ones are told", unmetered, weights_of)
        measure("unmetered, both", unmetered, weights_of, slope_of)
        uneven = [song for song in free if song.metered]
        measure("bar lines at unequal distances, both, no meter told", uneven, weights_of, slope_of)
        measure("these and the unmetered", free, weights_of, slope_of)
    print("fitted on all of them:")
    for name, value in zip(fitted.SURE_CUES, fit(songs), strict=True):
        print(f'    "{name}": {value:.3f},')
    print(f"FREE_SLOPE = {fit_slope(free, without):.3f}")


if __name__ == "__main__":
    sys.exit(main())
