"""Motives and their treatments: repeated, ornamented, transposed, inverted and the rest.

Groups are compared first (phrases, then gestures), then whatever tones are left are searched for runs that answer an
earlier run. Treatments are the composition handbooks' (Schoenberg, Fundamentals of Musical Composition, 1967, ch. 3).
"""

from __future__ import annotations

from dataclasses import replace
from itertools import groupby, pairwise

import numpy as np

from earloop.line import Line, Span
from earloop.line.counted import counted
from earloop.reading.motive_runs import runs
from earloop.reading.motive_shapes import Place, Shapes, shapes_of
from earloop.reading.motive_smallest import in_small_units
from earloop.reading.motive_sure import LEAST_SURE, is_exact, sureness
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


def find_motives(line: Line, phrases: tuple[Span, ...], gestures: tuple[Span, ...]) -> tuple[Motive, ...]:
    """Appearances of motives in order. A motive is named once it is answered; its model is the first appearance."""
    shapes, found = answers_in(line, phrases, gestures)
    return _named(line, shapes, found)


def answers_in(line: Line, phrases: tuple[Span, ...], gestures: tuple[Span, ...]) -> tuple[Shapes, list[Found]]:
    """Every answer to a motive, also such as is likelier chance, in places among the line's full tones."""
    shapes = shapes_of(line.columns)
    free = np.ones(len(shapes.tones), dtype=np.bool_)
    found: list[Found] = []
    levels = [list(answers(shapes, units)) for units in _levels(shapes, phrases, gestures)]
    for level in in_small_units(shapes, levels):
        for answer in level:
            first, last = answer.place
            if free[first : last + 1].all():
                free[first : last + 1] = False
                found.append(answer)
    for model in {answer.model for answer in found}:
        free[model[0] : model[1] + 1] = False
    return shapes, found + list(runs(shapes, free))


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


def _named(line: Line, shapes: Shapes, found: list[Found]) -> tuple[Motive, ...]:
    """Give every model a letter in the order of first appearance, and its answers that are no mere chance the same."""
    exact = {answer: is_exact(shapes, answer) for answer in found}
    sure = {answer: sureness(shapes, answer, exact[answer]) for answer in found}
    told = [answer for answer in found if sure[answer] >= LEAST_SURE]
    models = sorted({answer.model for answer in told})
    names = {model: _letter(k) for k, model in enumerate(models)}
    out = [
        Motive(names[model], span, span, "new", 0, True, 1.0)
        for model in models
        for span in (_span(line, shapes, model),)
    ]
    for answer in told:
        span, model = _span(line, shapes, answer.place), _span(line, shapes, answer.model)
        known = exact[answer], sure[answer]
        out.append(Motive(names[answer.model], span, model, answer.treatment, answer.steps, *known))
    out.sort(key=lambda motive: (motive.span.first, -motive.span.last, motive.treatment != "new"))
    return _sequences(line, out)


def _sequences(line: Line, motives: list[Motive]) -> tuple[Motive, ...]:
    """Call transposed statements a sequence that follow one another at once a step apart, or thrice by one interval.

    A sequence goes on; two statements a third or more apart may as well be a call and its answer (common practice, no
    source).
    """
    out = {id(motive): motive for motive in motives}
    ordered = sorted(motives, key=lambda motive: (motive.name, motive.span.first))
    for _, group in groupby(ordered, key=lambda motive: motive.name):
        own = list(group)
        moves = [
            later.steps - earlier.steps if _follows(line, earlier, later) else 0 for earlier, later in pairwise(own)
        ]
        for k, move in enumerate(moves):
            again = (k and moves[k - 1] == move) or (k + 1 < len(moves) and moves[k + 1] == move)
            if move and own[k + 1].treatment == "transposed" and (again or abs(move) <= 1):
                out[id(own[k + 1])] = replace(own[k + 1], treatment="sequence")
    return tuple(out[id(motive)] for motive in motives)


def _follows(line: Line, earlier: Motive, later: Motive) -> bool:
    kinds = ("new", "repeated", "transposed")
    return later.span.first == earlier.span.last + 1 and earlier.treatment in kinds and later.treatment in kinds


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
