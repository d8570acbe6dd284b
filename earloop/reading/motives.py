"""Motives and their treatments: repeated, ornamented, transposed, inverted and the rest.

Groups are compared first (phrases, then gestures), then whatever tones are left are searched for runs that answer an
earlier run. Treatments are the composition handbooks' (Schoenberg, Fundamentals of Musical Composition, 1967, ch. 3).
"""

from __future__ import annotations

from dataclasses import replace
from itertools import groupby, pairwise
from math import exp

import numpy as np

from earloop.line import Line, Span
from earloop.line.counted import counted
from earloop.reading.motive_runs import runs
from earloop.reading.motive_shapes import Place, Shapes, shapes_of
from earloop.reading.motive_units import Found, answers
from earloop.reading.record import Motive, Reading

_WORDS = {
    "repeated": "comes again",
    "ornamented": "comes again with ornaments",
    "simplified": "comes again with fewer tones",
    "transposed": "comes again",
    "sequence": "goes on in sequence",
    "inverted": "comes upside down",
    "retrograde": "comes backwards",
    "augmented": "comes in longer tones",
    "diminished": "comes in shorter tones",
    "fragment": "comes in part",
    "extended": "comes again with more added",
}

MOST_SURE = 0.95
"""No answer is said to be surer: on made cases nearly all are right, on real music too little is read by hand."""
RUN_AT_FOUR, RUN_SLOPE = -0.48, 1.79
"""Log-odds that a moved run is no chance, at four agreements, and what each more adds.

Fitted on made motives of three to eight tones among chance tones and among wandering melodies. What keeps to the line's
groups, comes back at its own pitch or is mirrored was right in 99 of 100 of them, whatever its length.
"""


def find_motives(line: Line, phrases: tuple[Span, ...], gestures: tuple[Span, ...]) -> tuple[Motive, ...]:
    """Appearances of motives in order. A motive is named once it is answered; its model is the first appearance."""
    shapes = shapes_of(line.columns)
    free = np.ones(len(shapes.tones), dtype=np.bool_)
    found: list[Found] = []
    for units in _levels(shapes, phrases, gestures):
        for answer in answers(shapes, units):
            first, last = answer.place
            if free[first : last + 1].all():
                free[first : last + 1] = False
                found.append(answer)
    for model in {answer.model for answer in found}:
        free[model[0] : model[1] + 1] = False
    loose = list(runs(shapes, free))
    return _named(line, shapes, found + loose, {run.place for run in loose})


def why_motive(reading: Reading, motive: Motive) -> str:
    """One plain sentence: which motive it is, and what has been done to it."""
    first, last = motive.span.first + 1, motive.span.last + 1
    if motive.treatment == "new":
        return f"Motive {motive.name} is first heard in tones {first} to {last} and is answered later."
    where = ""
    if motive.steps:
        where = f", {counted(abs(motive.steps), 'step')} {'higher' if motive.steps > 0 else 'lower'}"
    alike = " with the very same intervals" if motive.exact and motive.treatment in ("transposed", "sequence") else ""
    return f"Motive {motive.name} {_WORDS[motive.treatment]} in tones {first} to {last}{where}{alike}."


def _levels(shapes: Shapes, phrases: tuple[Span, ...], gestures: tuple[Span, ...]) -> list[list[Place]]:
    """Phrases, and gestures where they differ, as places among the full tones."""
    levels = [phrases] if phrases == gestures else [phrases, gestures]
    out = []
    for spans in levels:
        firsts = np.searchsorted(shapes.tones, [span.first for span in spans])
        lasts = np.searchsorted(shapes.tones, [span.last for span in spans], side="right") - 1
        places = zip(firsts.tolist(), lasts.tolist(), strict=True)
        out.append([place for place in places if place[0] <= place[1]])
    return out


def _named(line: Line, shapes: Shapes, found: list[Found], loose: set[Place]) -> tuple[Motive, ...]:
    """Give every model a letter in the order of first appearance, and every answer its model's; `loose` are runs."""
    models = sorted({answer.model for answer in found})
    names = {model: _letter(k) for k, model in enumerate(models)}
    out = [
        Motive(names[model], span, span, "new", 0, True, 1.0)
        for model in models
        for span in (_span(line, shapes, model),)
    ]
    for answer in found:
        span, model = _span(line, shapes, answer.place), _span(line, shapes, answer.model)
        exact = _exact(shapes, answer)
        sure = _sure(shapes, answer) if answer.place in loose else MOST_SURE
        out.append(Motive(names[answer.model], span, model, answer.treatment, answer.steps, exact, sure))
    out.sort(key=lambda motive: (motive.span.first, -motive.span.last, motive.treatment != "new"))
    return _sequences(line, out)


def _sequences(line: Line, motives: list[Motive]) -> tuple[Motive, ...]:
    """Call transposed statements a sequence that follow one another at once by the same step, or by a step or third."""
    out = {id(motive): motive for motive in motives}
    ordered = sorted(motives, key=lambda motive: (motive.name, motive.span.first))
    for _, group in groupby(ordered, key=lambda motive: motive.name):
        own = list(group)
        moves = [
            later.steps - earlier.steps if _follows(line, earlier, later) else 0 for earlier, later in pairwise(own)
        ]
        for k, move in enumerate(moves):
            again = (k and moves[k - 1] == move) or (k + 1 < len(moves) and moves[k + 1] == move)
            if move and own[k + 1].treatment == "transposed" and (again or abs(move) <= 2):
                out[id(own[k + 1])] = replace(own[k + 1], treatment="sequence")
    return tuple(out[id(motive)] for motive in motives)


def _follows(line: Line, earlier: Motive, later: Motive) -> bool:
    kinds = ("new", "repeated", "transposed")
    return later.span.first == earlier.span.last + 1 and earlier.treatment in kinds and later.treatment in kinds


def _exact(shapes: Shapes, answer: Found) -> bool:
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


def _sure(shapes: Shapes, answer: Found) -> float:
    """How far a run is from chance: every step and every change of time that agrees says so."""
    if answer.treatment not in ("transposed", "augmented", "diminished"):
        return MOST_SURE
    first, last = answer.place
    uneven = sum(abs(b / a - 1) > 0.04 for a, b in pairwise(shapes.times[first:last]))
    odds = RUN_AT_FOUR + RUN_SLOPE * (last - first + uneven - 4)
    return round(min(MOST_SURE, 1 / (1 + exp(-odds))), 3)


def _span(line: Line, shapes: Shapes, place: Place) -> Span:
    """The span of tones, with the grace notes that belong to its first tone."""
    first = int(shapes.tones[place[0]] - shapes.graces_before[place[0]])
    return Span(first, int(shapes.tones[place[1]]))


def _letter(k: int) -> str:
    """a … z, aa, ab …"""
    name = ""
    k += 1
    while k:
        k, rest = divmod(k - 1, 26)
        name = chr(ord("a") + rest) + name
    return name
