"""Fits the profiles of the home key, and shows what they do on tunes left out of the fit.

    python -m tests.bench tonic_fit              every fifth of the tunes left out in turn
    python -m tests.bench tonic_fit profiles     the tables of `tonic_profiles`, fitted on all
    python -m tests.bench tonic_fit -CUE …       left out in turn, without these cues

Maximum conditional likelihood over the 24 keys, ridge penalty 1.
"""

from __future__ import annotations

import sys

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import minimize

from earloop.reading.tonic_evidence import CUES, evidence
from earloop.reading.tonic_profiles import MAJOR
from tests.bench.tonic_sure import Answer, show
from tests.bench.tonic_tunes import FOLDS, Excerpt, excerpts

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
BY_MODE = tuple(MAJOR)
"""The cues that have a profile for each mode; the others have one for both."""
BY_SCOPE = {"whole": 1.0, "first": 1.0, "middle": 0.6, "last": 1.1, "other": 0.3, "half": 0.0}
BY_SOURCE = {"essen": 1.0, "airdsAirs": 0.5, "oneills1850": 0.25, "ryansMammoth": 0.25}
MINOR_COUNTS = 1.6
RIDGE = 1.0
DEGREE = (np.arange(12)[:, None] - np.arange(12)[None, :]) % 12
"""Degree of each pitch class (rows) above each tonic (columns)."""


class Fit:
    """Profiles as one vector: each mode's own cues, then the shared ones, then what minor starts with."""

    def __init__(self, cues: tuple[str, ...]) -> None:
        self.own = [cue for cue in cues if cue in BY_MODE]
        self.shared = [cue for cue in cues if cue not in BY_MODE]
        self.rows = [CUES.index(cue) for cue in (*self.own, *self.shared)]
        self.vector = np.zeros(12 * (2 * len(self.own) + len(self.shared)) + 1)

    def profiles(self, vector: Floats) -> Floats:
        """Shape (2, cues, 12)."""
        own, shared = 12 * len(self.own), 12 * len(self.shared)
        modes = [np.append(vector[k * own : (k + 1) * own], vector[2 * own : 2 * own + shared]) for k in (0, 1)]
        return np.stack(modes).reshape(2, -1, 12)

    def chances(self, shown: Floats, vector: Floats | None = None) -> Floats:
        """Of each excerpt for each key: shape (excerpts, 24)."""
        vector = self.vector if vector is None else vector
        turned = self.profiles(vector)[:, :, DEGREE].transpose(1, 2, 0, 3).reshape(-1, 24)
        scores = shown.reshape(len(shown), -1) @ turned
        scores[:, 12:] += vector[-1]
        scores = np.exp(scores - scores.max(axis=1, keepdims=True))
        return np.asarray(scores / scores.sum(axis=1, keepdims=True))

    def fit(self, shown: Floats, key: Ints, weights: Floats) -> None:
        """Sets `vector`; starts from what it was."""
        flat, which, turn = shown.reshape(len(shown), -1), np.arange(len(key)), np.arange(12)
        own = len(self.own)

        def loss(vector: Floats) -> tuple[float, Floats]:
            chance = self.chances(shown, vector)
            value = -(weights * np.log(chance[which, key] + 1e-300)).sum() + RIDGE / 2 * (vector[:-1] ** 2).sum()
            chance[which, key] -= 1.0
            chance *= weights[:, None]
            by_key = (flat.T @ chance).reshape(-1, 12, 2, 12)
            slope = np.stack([by_key[:, (turn + above) % 12, :, turn].sum(axis=0) for above in turn], axis=-1)
            slope = slope.transpose(1, 0, 2)
            parts = (slope[0, :own], slope[1, :own], slope[:, own:].sum(axis=0))
            ridge = np.concatenate([part.ravel() for part in parts]) + RIDGE * vector[:-1]
            return value, np.append(ridge, chance[:, 12:].sum())

        self.vector = minimize(loss, self.vector, jac=True, method="L-BFGS-B", options={"maxiter": 200}).x


def weight_of(part: Excerpt) -> float:
    """What an excerpt counts in the fit."""
    return part.fitted * BY_SCOPE[part.scope] * BY_SOURCE[part.source] * (MINOR_COUNTS if part.minor else 1.0)


def left_out(fit: Fit, parts: list[Excerpt], shown: Floats, key: Ints, weights: Floats) -> Floats:
    """The chances of each excerpt by a fit on the other folds."""
    fold = np.array([part.fold for part in parts])
    chances = np.zeros((len(parts), 24))
    for own in range(FOLDS):
        others = (fold != own) & (weights > 0)
        fit.fit(shown[others], key[others], weights[others])
        chances[fold == own] = fit.chances(shown[fold == own])
    return chances


def told(part: Excerpt, chances: Floats) -> Answer:
    """What these chances of the 24 keys say."""
    by_class = chances.reshape(2, 12).sum(axis=0)
    order = np.argsort(-by_class)
    last = int(part.line.columns.midi[-1])
    first, second = ((last + int(order[k])) % 12 == part.tonic for k in (0, 1))
    best, next_best = by_class[order[:2]]
    return Answer(part, first, second, float(best - next_best), float(best))


def printed(fit: Fit) -> None:
    """The tables as `tonic_profiles` has them. What is alike on all degrees of a cue of one tone says nothing."""
    profiles = fit.profiles(fit.vector)
    count = len(fit.own)
    tables = (("MAJOR", 0, fit.own, 0), ("MINOR", 1, fit.own, 0), ("BOTH", 0, fit.shared, count))
    for name, mode, cues, start in tables:
        print(f"{name}: dict[str, tuple[float, ...]] = {{")
        for row, cue in enumerate(cues, start=start):
            values = ", ".join(f"{value:.2f}".replace("-0.00", "0.00") for value in profiles[mode, row])
            print(f'    "{cue}": ({values}),')
        print("}")
    print(f"MINOR_AGAINST_MAJOR = {fit.vector[-1]:.2f}")


def main() -> None:
    without = {word[1:] for word in sys.argv[1:] if word.startswith("-")}
    fit = Fit(tuple(cue for cue in CUES if cue not in without))
    parts = [part for part in excerpts() if BY_SCOPE[part.scope]]
    shown = np.stack([evidence(part.line.columns, (part.line.whole,))[0, fit.rows] for part in parts])
    key = np.array([12 * part.minor + (part.tonic - int(part.line.columns.midi[-1])) % 12 for part in parts])
    weights = np.array([weight_of(part) for part in parts])
    if "profiles" in sys.argv:
        used = weights > 0
        fit.fit(shown[used], key[used], weights[used])
        printed(fit)
        return
    chances = left_out(fit, parts, shown, key, weights)
    pairs = [(part, own) for part, own in zip(parts, chances, strict=True) if part.scope not in ("other", "half")]
    print(f"{len(fit.vector)} numbers, each fifth of the tunes left out in turn")
    print("folk songs")
    show(told(part, own) for part, own in pairs if part.source == "essen")
    print("fiddle tunes")
    show(told(part, own) for part, own in pairs if part.source != "essen")


if __name__ == "__main__":
    main()
