"""How sure an answer to a motive is no chance likeness: by what was done, how many tones agree, what came before.

Tunes use the same few steps and times over and over, so that short likenesses come about by themselves. How many do
was counted in folk songs beside songs pieced together from other songs' phrases, of the same times and key and at the
same place in the song: there, a likeness between phrases is chance (the false discovery rate of Benjamini &
Hochberg 1995, by a count in place of a theory). `python -m tests.bench motive_chance` counts and fits anew.
"""

from __future__ import annotations

from itertools import pairwise
from math import exp, log2

from earloop.reading.motive_shapes import Shapes
from earloop.reading.motive_units import Found
from earloop.reading.record import Treatment

KINDS: dict[Treatment, str] = {
    "repeated": "at its pitch",
    "transposed": "moved",
    "sequence": "moved",
    "inverted": "mirrored",
    "retrograde": "mirrored",
    "augmented": "at another speed",
    "diminished": "at another speed",
    "fragment": "in part",
    "extended": "in part",
    "ornamented": "with ornaments",
    "simplified": "with ornaments",
}
WEIGHTS: dict[str, float] = {
    "at its pitch": 2.32,
    "moved": -0.29,
    "mirrored": -1.8,
    "at another speed": -4.66,
    "in part": 0.13,
    "with ornaments": -0.5,
    "tones that agree": 0.8,
    "changes of time": 0.3,
    "octaves of tones before": -0.57,
    "the very intervals": 0.28,
}
"""Log odds that a likeness is no chance; see the bench for origin and measure."""
MOST_SURE = 0.98
"""No answer is said to be surer: that is what the surest ones were found to keep."""
LEAST_SURE = 0.05
"""What is likelier chance than this is not told: a judgement."""


def sureness(shapes: Shapes, answer: Found, exact: bool) -> float:
    """The chance (0..1) that the answer was no chance; `exact` where semitones agree as well as steps."""
    cues = sure_cues(shapes, answer, exact)
    odds = sum(WEIGHTS[name] * value for name, value in cues.items())
    return round(min(MOST_SURE, 1 / (1 + exp(-odds))), 3)


def sure_cues(shapes: Shapes, answer: Found, exact: bool) -> dict[str, float]:
    """The cues of WEIGHTS that are not 0. Of two spans the shorter one tells what agrees."""
    first, last = min(answer.place, answer.model, key=lambda place: place[1] - place[0])
    changes = sum(abs(b / a - 1) > 0.04 for a, b in pairwise(shapes.times[first:last]))
    return {
        KINDS[answer.treatment]: 1.0,
        "tones that agree": float(last - first + 1),
        "changes of time": float(changes),
        "octaves of tones before": log2(answer.place[0] + 1),
        "the very intervals": float(exact),
    }


def is_exact(shapes: Shapes, answer: Found) -> bool:
    """Whether semitones agree as well as steps."""
    (first, last), (start, stop) = answer.place, answer.model
    if last - first != stop - start:
        return False
    midi = shapes.keys
    own = [b - a for a, b in pairwise(midi[first : last + 1])]
    model = [b - a for a, b in pairwise(midi[start : stop + 1])]
    if answer.treatment in ("inverted", "retrograde"):
        model = [-step for step in model]
    return own == (model[::-1] if answer.treatment == "retrograde" else model)
