"""The tree of the line: which tone each tone decorates, and the weights that follow from it.

Time-span reduction after Lerdahl & Jackendoff 1983: nested spans (`tree_spans`) over the beats given or inferred
(`pulse`), a head in each by preference (`tree_heads`), the tree that follows (`tree_grow`), its depths (`tree_levels`),
and what has been decided by hand (`tree_decided`). The figures of the surface come from `figures` and, where other
parts sound, from `figures_heard`.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from earloop.line import Columns, Line, Span
from earloop.reading.decisions import NONE_DECIDED, Decisions
from earloop.reading.figures import NAMES, Surface, find_figures, hosts_of
from earloop.reading.figures_heard import hear_figures
from earloop.reading.harmony_heard import harmony_heard
from earloop.reading.neighbours import Neighbours, neighbours
from earloop.reading.pulse import Pulse, find_pulse
from earloop.reading.record import Degree, Tonic, Voice, Weights
from earloop.reading.streams import stream_codes
from earloop.reading.tree_chances import expected_reach
from earloop.reading.tree_cues import head_cues, stability
from earloop.reading.tree_decided import settle
from earloop.reading.tree_grow import Groups, Tree, grow, rehang_ornaments
from earloop.reading.tree_heads import across_scores, find_goals, head_scores, phrase_scores, place_scores
from earloop.reading.tree_levels import (
    heard_as_one,
    levels_of,
    reaches_of,
    shares_below,
    sure_of,
    weights_of,
    with_spoken_alone,
)
from earloop.reading.tree_spans import beat_spans, measure_spans
from earloop.reading.weight_reasons import why_weight

__all__ = ["cues_of", "decided_weights", "find_weights", "grow_weights", "why_weight"]

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Flags = NDArray[np.bool_]


@dataclass(frozen=True, eq=False, slots=True)
class Grown:
    """The tree before anything is decided about it, an entry a tone; the arrays can't be written into.

    `preference` is how well each tone can head a span, in log-odds. It equals nothing but itself, so that comparing
    costs nothing.
    """

    parent: Ints
    weight: Floats
    level: Ints
    surface: Surface
    preference: Floats

    def __post_init__(self) -> None:
        for column in (self.parent, self.weight, self.level):
            column.flags.writeable = False


def find_weights(
    line: Line,
    home: Tonic,
    phrases: tuple[Span, ...],
    degrees: tuple[Degree, ...],
    voices: tuple[Voice, ...],
    decided: Decisions = NONE_DECIDED,
) -> Weights:
    """The tree over the whole line, its weights, levels and figures."""
    return decided_weights(grow_weights(line, home, phrases, degrees, voices), decided)


def grow_weights(
    line: Line, home: Tonic, phrases: tuple[Span, ...], degrees: tuple[Degree, ...], voices: tuple[Voice, ...]
) -> Grown:
    """The tree as it grows of itself."""
    columns = line.columns
    pulse, groups, near, surface = _heard(line, home, phrases, voices)
    stable = stability(degrees)
    score, tree, own, keep = _grown(columns, pulse, groups, near, surface, stable, degrees)
    level = levels_of(own, tree.height, columns.ioi, keep)
    weight, host = own, hosts_of(surface, near, own)
    if groups.voice.any():
        weight = heard_as_one(tree, _grown_as_one(columns, pulse, groups, surface, stable, degrees))
        host = np.where(weight[host] > weight, host, -1)
    parent = rehang_ornaments(tree.parent, own, host)
    return Grown(parent, weight, with_spoken_alone(level, groups, parent), surface, score)


def cues_of(
    line: Line, home: Tonic, phrases: tuple[Span, ...], degrees: tuple[Degree, ...], voices: tuple[Voice, ...]
) -> Floats:
    """What each cue says of each tone: shape (tones, cues), in the order of `tree_heads.SAYS`."""
    pulse, _, near, surface = _heard(line, home, phrases, voices)
    return head_cues(line.columns, pulse, near, surface, degrees)


def _heard(
    line: Line, home: Tonic, phrases: tuple[Span, ...], voices: tuple[Voice, ...]
) -> tuple[Pulse, Groups, Neighbours, Surface]:
    """The beats, what tones belong together, their neighbors, the figures."""
    pulse = find_pulse(line)
    phrase = np.repeat(np.arange(len(phrases)), [len(span) for span in phrases])
    groups = Groups(phrase, stream_codes(voices), grace_hosts(line.columns, phrase))
    near = neighbours(groups.phrase, groups.voice, groups.leaf)
    surface = find_figures(line.columns, home.key, pulse, near, groups.leaf)
    heard = harmony_heard(line)
    if heard is not None:
        surface = hear_figures(surface, line.columns, pulse, near, groups.leaf, heard)
    return pulse, groups, near, surface


def decided_weights(grown: Grown, decided: Decisions = NONE_DECIDED) -> Weights:
    """The record, fitted to what was decided about levels and what decorates what."""
    parent, level, weight = grown.parent, grown.level, grown.weight
    if decided.levels or decided.decorates:
        parent, level, weight = settle(parent, level, weight, decided.levels, decided.decorates)
    return _record(parent, weight, level, grown.surface, sure_of(grown.preference, parent))


def _grown(
    columns: Columns,
    pulse: Pulse,
    groups: Groups,
    near: Neighbours,
    surface: Surface,
    stable: Floats,
    degrees: tuple[Degree, ...],
) -> tuple[Floats, Tree, Floats, Ints]:
    """Each tone's preference, the tree, its weights, and the tones that stay to the end."""
    cues = head_cues(columns, pulse, near, surface, degrees)
    score = head_scores(cues)
    across = across_scores(cues, score)
    reach = None
    if pulse.ways:
        far = expected_reach(columns.length, pulse, groups, score - place_scores(pulse), stable)
        reach = 2.4 * shares_below(far) + 1.6 * shares_below(across)
    tree, goals = _tree(columns, pulse, groups, score, stable, reach)
    weight = weights_of(tree, across) if reach is None else reaches_of(tree, reach + goals)
    return score, tree, weight, np.flatnonzero(goals)


def _grown_as_one(
    columns: Columns, pulse: Pulse, groups: Groups, surface: Surface, stable: Floats, degrees: tuple[Degree, ...]
) -> Floats:
    """The weights there would be if all lines were one: a measure has one head, whichever line it is in."""
    one = Groups(groups.phrase, np.zeros_like(groups.voice), groups.leaf)
    near = neighbours(one.phrase, one.voice, one.leaf)
    return _grown(columns, pulse, one, near, surface, stable, degrees)[2]


def _tree(
    columns: Columns, pulse: Pulse, groups: Groups, score: Floats, stable: Floats, reach: Floats | None
) -> tuple[Tree, Flags]:
    """The tree, and whether a tone stays to the end: each phrase's goal. `reach` decides, if given."""
    beats = beat_spans(columns.length, pulse, groups.phrase)
    goal = find_goals(score, stable, beats[-1], groups.phrase, groups.leaf)
    measures = measure_spans(beats[-1], groups.phrase)
    first = score if reach is None else reach
    return grow(first, phrase_scores(first, stable), beats, measures, groups, goal), goal


def _record(parent: Ints, weight: Floats, level: Ints, surface: Surface, sure: Floats) -> Weights:
    return Weights(
        tuple(parent.tolist()),
        tuple(weight.tolist()),
        tuple(level.tolist()),
        tuple(NAMES[k] for k in surface.figure.tolist()),
        tuple(sure.tolist()),
    )


def grace_hosts(columns: Columns, phrase: Ints) -> Ints:
    """For every grace tone the tone it leans on: the next full tone of its phrase, else the last one; -1 for the rest.

    Where a phrase has nothing but grace tones they count as full tones.
    """
    full = ~columns.grace
    whole = np.bincount(phrase, weights=full)[phrase] > 0
    leaf = np.full(columns.size, -1, dtype=np.int64)
    graces = np.flatnonzero(columns.grace & whole)
    if len(graces) == 0:
        return leaf
    hosts = np.flatnonzero(full | ~whole)
    after = np.searchsorted(hosts, graces)
    following = hosts[np.minimum(after, len(hosts) - 1)]
    before = hosts[np.maximum(after - 1, 0)]
    leaf[graces] = np.where((following > graces) & (phrase[following] == phrase[graces]), following, before)
    return leaf
