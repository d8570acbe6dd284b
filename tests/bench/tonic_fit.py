"""Fits the profiles of the home key, and shows what they do on tunes left out of the fit.

    python -m tests.bench tonic_fit              every fifth of the tunes left out in turn
    python -m tests.bench tonic_fit collections  each collection left out in turn
    python -m tests.bench tonic_fit balanced     minor tunes counting as much as major ones, fifths left out
    python -m tests.bench tonic_fit profiles     the tables of `tonic_profiles`, fitted on all
    python -m tests.bench tonic_fit -CUE …       left out in turn, without these cues
    python -m tests.bench tonic_fit signature    left out in turn, under the tunes' key signatures: the costs of
                                                 `tonic_signature` fitted beside what the tones say, and as shipped

Maximum conditional likelihood over the 24 keys. Each mode has profiles of its own; a ridge penalty draws them to what
both share, and that to nothing.
"""

from __future__ import annotations

import re
import sys
import zlib

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import minimize

from earloop.reading.tonic_evidence import CUES, evidence
from earloop.reading.tonic_signature import BY_PLACE, shortness, signature_scores
from tests.bench.tonic_sure import ALONE, home, show, told
from tests.bench.tonic_tunes import Excerpt, excerpts

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
BY_SCOPE = {"whole": 1.0, "first": 1.0, "middle": 0.8, "last": 1.2, "other": 0.45, "half": 0.0}
BY_SOURCE = {"essen": 1.0, "airdsAirs": 0.6, "oneills1850": 0.4, "ryansMammoth": 0.4}
MINOR_COUNTS = 2.8
"""Pieces that people play are in minor more often than these tunes."""
SHARED_RIDGE, OWN_RIDGE = 3.0, 6.0
"""Penalties on what both modes share and on what each has beside it."""
WRONG_OF = 100, 3
"""Of so many tunes so many are fitted under a signature that is not theirs."""
DEGREE = (np.arange(12)[:, None] - np.arange(12)[None, :]) % 12
"""Degree of each pitch class (rows) above each tonic (columns)."""


class Fit:
    """Profiles as one vector: what both modes share, what each has beside it, then what minor starts with."""

    def __init__(self, cues: tuple[str, ...]) -> None:
        self.cues = cues
        self.rows = [CUES.index(cue) for cue in cues]
        self.vector = np.zeros(3 * 12 * len(cues) + 1)
        self.ridge = np.repeat([SHARED_RIDGE, OWN_RIDGE, OWN_RIDGE], 12 * len(cues))

    def profiles(self, vector: Floats) -> Floats:
        """Shape (2, cues, 12)."""
        shared, *own = vector[:-1].reshape(3, -1, 12)
        return shared + np.stack(own)

    def chances(self, shown: Floats, vector: Floats | None = None) -> Floats:
        """Of each excerpt for each key: shape (excerpts, 24)."""
        vector = self.vector if vector is None else vector
        turned = self.profiles(vector)[:, :, DEGREE].transpose(1, 2, 0, 3).reshape(-1, 24)
        scores = shown.reshape(len(shown), -1) @ turned.astype(shown.dtype)
        scores[:, 12:] += vector[-1]
        scores = np.exp(scores - scores.max(axis=1, keepdims=True))
        return np.asarray(scores / scores.sum(axis=1, keepdims=True))

    def fit(self, shown: Floats, key: Ints, weights: Floats) -> None:
        """Sets `vector`; starts from what it was."""
        flat, which, turn = shown.reshape(len(shown), -1), np.arange(len(key)), np.arange(12)

        def loss(vector: Floats) -> tuple[float, Floats]:
            chance = self.chances(shown, vector)
            value = -(weights * np.log(chance[which, key] + 1e-30)).sum() + (self.ridge * vector[:-1] ** 2).sum() / 2
            chance[which, key] -= 1.0
            chance *= weights[:, None].astype(shown.dtype)
            by_key = (flat.T @ chance).reshape(-1, 12, 2, 12)
            slope = np.stack([by_key[:, (turn + above) % 12, :, turn].sum(axis=0) for above in turn], axis=-1)
            slope = slope.transpose(1, 0, 2)
            parts = np.concatenate([slope.sum(axis=0), *slope]).ravel() + self.ridge * vector[:-1]
            return float(value), np.append(parts, chance[:, 12:].sum()).astype(np.float64)

        self.vector = minimize(loss, self.vector, jac=True, method="L-BFGS-B", options={"maxiter": 200}).x


def weight_of(part: Excerpt) -> float:
    """What an excerpt counts in the fit, the modes apart."""
    return part.fitted * BY_SCOPE[part.scope] * BY_SOURCE[part.source]


def collection(part: Excerpt) -> str:
    """The collection of a tune: the source, in the folk songs the beginning of the file's name."""
    return re.split(r"[\d.]", part.tune)[0] if part.source == "essen" else part.source


def left_out(fit: Fit, fold: Ints, shown: Floats, key: Ints, weights: Floats) -> Floats:
    """The chances of each excerpt by a fit on the other folds."""
    chances = np.zeros((len(fold), 24))
    for own in np.unique(fold):
        others = (fold != own) & (weights > 0)
        fit.fit(shown[others], key[others], weights[others])
        chances[fold == own] = fit.chances(shown[fold == own])
    return chances


def signed(part: Excerpt) -> Floats:
    """What the tune's signature says of the 24 keys, as shipped; no mode is stated."""
    return signature_scores(part.fifths, "", int(part.line.columns.midi[-1]), len(part.line)).ravel()


def costs(parts: list[Excerpt], chances: Floats, key: Ints, weights: Floats) -> None:
    """Prints what each place under the signature costs in short and in long lines, as the tunes have it."""
    places = [(third, place) for third, row in enumerate(BY_PLACE) for place in row]
    kind = np.array([_kinds(part, places) for part in parts])
    short = np.array([shortness(len(part.line)) for part in parts])[:, None]
    said, which, count = np.log(chances + 1e-30), np.arange(len(parts)), len(places) + 1

    def loss(vector: Floats) -> tuple[float, Floats]:
        scores = said + vector[:count][kind] * short + vector[count:][kind] * (1 - short)
        chance = np.exp(scores - scores.max(axis=1, keepdims=True))
        chance /= chance.sum(axis=1, keepdims=True)
        value = -(weights * np.log(chance[which, key] + 1e-30)).sum() + (vector**2).sum() / 2
        chance[which, key] -= 1.0
        chance *= weights[:, None]
        slopes = [np.bincount(kind.ravel(), (chance * by).ravel(), count) for by in (short, 1 - short)]
        return float(value), np.concatenate(slopes) + vector

    found = minimize(loss, np.zeros(2 * count), jac=True, method="L-BFGS-B").x.reshape(2, count)
    print("costs in short and in long lines, by mode and fifths above the signature's major tonic:")
    for name, pair in zip((*places, "elsewhere"), (found - found[:, :1]).T, strict=True):
        print(f"  {name}: ({pair[0]:.2f}, {pair[1]:.2f})")


def _kinds(part: Excerpt, places: list[tuple[int, int]]) -> Ints:
    """Which of the places, or none (their number), each of the 24 keys is under the signature."""
    number = zlib.crc32(part.tune.encode())
    wrong = number % WRONG_OF[0] < WRONG_OF[1]
    fifths = part.fifths + ((-3, -2, -1, 1, 2, 3)[number // WRONG_OF[0] % 6] if wrong else 0)
    kinds, last = np.full((2, 12), len(places)), int(part.line.columns.midi[-1])
    for k, (third, place) in enumerate(places):
        kinds[third, (7 * (fifths + place) - last) % 12] = k
    return kinds.ravel()


def printed(fit: Fit) -> None:
    """The tables as `tonic_profiles` has them. What is alike on all degrees of a cue of one tone says nothing."""
    for name, rows in zip(("MAJOR", "MINOR"), fit.profiles(fit.vector), strict=True):
        print(f"{name}: dict[str, tuple[float, ...]] = {{")
        for cue, row in zip(fit.cues, rows, strict=True):
            values = ", ".join(f"{value:.2f}".replace("-0.00", "0.00") for value in row)
            print(f'    "{cue}": ({values}),')
        print("}")
    print(f"MINOR_AGAINST_MAJOR = {fit.vector[-1]:.2f}")


def main() -> None:
    without = {word[1:] for word in sys.argv[1:] if word.startswith("-")}
    fit = Fit(tuple(cue for cue in CUES if cue not in without))
    parts = [part for part in excerpts() if BY_SCOPE[part.scope]]
    shown = np.stack(
        [evidence(part.line.columns, (part.line.whole,))[0, fit.rows].astype(np.float32) for part in parts]
    )
    key = np.array([12 * part.minor + home(part) for part in parts])
    weights, minor = np.array([weight_of(part) for part in parts]), np.array([part.minor for part in parts])
    balance = weights[~minor].sum() / weights[minor].sum()
    weights[minor] *= balance if "balanced" in sys.argv else MINOR_COUNTS
    if "profiles" in sys.argv:
        used = weights > 0
        fit.fit(shown[used], key[used], weights[used])
        printed(fit)
        return
    names = [collection(part) for part in parts] if "collections" in sys.argv else [part.fold for part in parts]
    fold = np.unique(names, return_inverse=True)[1]
    chances = left_out(fit, fold, shown, key, weights)
    if "signature" in sys.argv:
        costs(parts, chances, key, weights)
        chances *= np.exp(np.stack([signed(part) for part in parts]))
        chances /= chances.sum(axis=1, keepdims=True)
    pairs = [(part, own) for part, own in zip(parts, chances, strict=True) if part.scope in ALONE]
    alike = np.log(weights[~minor].sum() / weights[minor].sum())
    print(f"as likely beforehand as major, minor would be given {alike:.2f}")
    print(f"{len(fit.vector)} numbers, each of {fold.max() + 1} parts of the tunes left out in turn")
    print("folk songs")
    show(told(part, own) for part, own in pairs if part.source == "essen")
    print("fiddle tunes")
    show(told(part, own) for part, own in pairs if part.source != "essen")


if __name__ == "__main__":
    main()
