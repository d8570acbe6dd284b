"""Links along each line, the chains they make, and the bridges a listener needs.

A line goes on by step from where it was, even after a rest filled by another line (Bregman 1990; Huron 2001): so two
neighboring tones of one line are linked where other tones lie between and they are a third or less apart. In a single
line the tones that carry it are linked across their decoration. Chains go on one way by step or by third.
"""

from __future__ import annotations

from itertools import pairwise
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from earloop.line import Columns, Line, Span
from earloop.reading.decisions import NONE_DECIDED, Decisions
from earloop.reading.record import Bridge, Chain, Link, Reading, Voice, Weights
from earloop.reading.streams import Ints, stream_codes

Floats = NDArray[np.float64]

NEAR = 2
"""Links reach a third at most, counted in letters."""
CARRIES = 2
"""The skeleton whose tones are linked where the melody is one line."""
FORGOTTEN = 3.0
"""A line that has been silent for this many of its own usual tones wants its last tone sounded once more."""
MOST_SURE = 0.92
"""No link is said to be surer than links proved (F1) on folded lines, where how sure its line's labels are isn't known
or the melody is one line, whose links no truth at hand can check."""
_LABELS, _RIGHT = (0.5, 0.6, 0.7, 0.8, 0.9, 0.95, 1.0), (0.25, 0.48, 0.71, 0.82, 0.93, 0.985, 0.995)
"""The least sure label from a link's first tone to its second, and the share of links found right: a monotone fit on
folded lines of the development half, within 3 points of the truth on pieces left out of the fit."""
_NAMES: tuple[Voice, ...] = ("single", "upper", "middle", "lower")
_BY: dict[int, Literal["step", "third"]] = {1: "step", 2: "third"}


def find_links(
    line: Line,
    phrases: tuple[Span, ...],
    voices: tuple[Voice, ...],
    weights: Weights,
    decided: Decisions = NONE_DECIDED,
    voice_sure: tuple[float, ...] | None = None,
) -> tuple[tuple[Link, ...], tuple[Chain, ...], tuple[Bridge, ...]]:
    """Links in order, chains in order of their first tone, and bridges in order.

    `voice_sure` is how sure each tone's label in `voices` is; where it isn't known, links go by distance alone.
    """
    columns = line.columns
    codes = stream_codes(voices)
    phrase = np.repeat(np.arange(len(phrases)), [len(span) for span in phrases])
    level = np.array(weights.level)
    links: dict[tuple[int, int], Link] = {}
    chains: list[Chain] = []
    bridges: dict[int, Bridge] = {}
    cut = {pair for pair, joined in decided.links.items() if not joined}
    for code, voice in enumerate(_NAMES):
        tones = _tones_of(columns, codes, level, code)
        if len(tones) < 2:
            continue
        same = phrase[tones[1:]] == phrase[tones[:-1]]
        links |= _links(columns, tones, voice, same if code == 0 else None, voice_sure)
        chains += _chains(columns, tones, voice, same if code == 0 else None, cut)
        if code:
            bridges |= _bridges(columns, tones, same)
    _obey(line, voices, decided, links, bridges)
    ordered = tuple(sorted(links.values(), key=lambda link: (link.first, link.second)))
    chains.sort(key=lambda chain: chain.tones)
    return ordered, tuple(chains), tuple(bridges[i] for i in sorted(bridges))


def why_link(reading: Reading, link: Link) -> str:
    """One plain sentence: how the two tones belong together, and across what."""
    first, second = reading.line[link.first].pitch, reading.line[link.second].pitch
    distance = {0: "back to the same tone", 1: "by step", 2: "by third"}.get(
        abs(link.steps), f"by {abs(link.steps)} steps"
    )
    way = "" if link.steps == 0 else "up " if link.steps > 0 else "down "
    line = "line" if link.voice == "single" else f"{link.voice} line"
    between = "one tone that lies" if link.across == 1 else f"{link.across} tones that lie"
    across = f"across {between} between" if link.across else "with no tone between"
    return f"The {line} goes {way}{distance}, {first.name} to {second.name}, {across}."


def _tones_of(columns: Columns, codes: Ints, level: Ints, code: int) -> Ints:
    """A line's full tones; of a single line only those that carry it."""
    own = (codes == code) & ~columns.grace
    if code == 0:
        own &= level >= CARRIES
    return np.flatnonzero(own)


def _links(
    columns: Columns, tones: Ints, voice: Voice, allowed: Ints | None, voice_sure: tuple[float, ...] | None
) -> dict[tuple[int, int], Link]:
    first, second = tones[:-1], tones[1:]
    steps = columns.height[second] - columns.height[first]
    keep = (second - first > 1) & (np.abs(steps) <= NEAR)
    if allowed is not None:
        keep &= allowed.astype(bool) & (steps != 0)
    first, second, steps = first[keep], second[keep], steps[keep]
    usual = max(float(np.median(columns.ioi[tones])), 1e-6)
    wait = (columns.onset[second] - columns.onset[first] - columns.length[first]) / usual
    # A step binds more than a third, and every usual tone of waiting loosens the tie.
    sure = np.clip(MOST_SURE - 0.1 * (np.abs(steps) == 2) - 0.02 * np.maximum(wait, 0), 0.3, MOST_SURE)
    if voice_sure is not None and len(first):
        least = _least(np.array(voice_sure), first, second)
        sure = sure * least if allowed is not None else np.interp(least, _LABELS, _RIGHT)
    rows = zip(first.tolist(), second.tolist(), steps.tolist(), sure.tolist(), strict=True)
    return {(a, b): Link(a, b, voice, s, round(p, 3)) for a, b, s, p in rows}


def _least(sure: Floats, first: Ints, second: Ints) -> Floats:
    """The least of the labels' chances from each first tone to its second: one wrong label between breaks a link."""
    edges = np.column_stack([first, second + 1]).ravel()
    return np.asarray(np.minimum.reduceat(np.append(sure, 1.0), edges)[::2])


def _chains(
    columns: Columns, tones: Ints, voice: Voice, allowed: Ints | None, cut: set[tuple[int, int]]
) -> list[Chain]:
    """Runs of three tones or more that go one way by one kind of step, with something lying between somewhere."""
    steps = np.diff(columns.height[tones])
    steps = np.where(np.abs(steps) <= NEAR, steps, 0)
    if allowed is not None:
        steps = np.where(allowed, steps, 0)
    if cut:
        parted = np.array([pair in cut for pair in pairwise(tones.tolist())])
        steps = np.where(parted, 0, steps)
    edges = np.flatnonzero(np.append(True, steps[1:] != steps[:-1]))
    lasts = np.append(edges[1:], len(steps))
    runs = (lasts - edges >= 2) & (steps[edges] != 0)
    out: list[Chain] = []
    for start, stop in zip(edges[runs].tolist(), lasts[runs].tolist(), strict=True):
        own = tuple(tones[start : stop + 1].tolist())
        if own[-1] - own[0] >= len(own):
            out.append(Chain(own, voice, _BY[abs(int(steps[start]))], bool(steps[start] > 0)))
    return out


def _bridges(columns: Columns, tones: Ints, same: Ints) -> dict[int, Bridge]:
    """Where a line takes up its thread after an interruption long enough to lose it, inside one phrase.

    One foreign tone never breaks a line (two lines that alternate), and two only if they last (three lines take
    turns so); three or more do.
    """
    first, second = tones[:-1], tones[1:]
    between = second - first - 1
    usual = max(float(np.median(columns.ioi[~columns.grace])), 1e-6)
    wait = (columns.onset[second] - columns.onset[first] - columns.length[first]) / usual
    want = same & (between >= 2) & ((wait >= FORGOTTEN) | (between >= 3))
    want &= np.abs(columns.height[second] - columns.height[first]) <= 4
    return {b: Bridge(a, b) for a, b in zip(first[want].tolist(), second[want].tolist(), strict=True)}


def _obey(
    line: Line,
    voices: tuple[Voice, ...],
    decided: Decisions,
    links: dict[tuple[int, int], Link],
    bridges: dict[int, Bridge],
) -> None:
    """Put the person's decisions in place of the proposals."""
    size = len(line)
    for (first, second), joined in decided.links.items():
        links.pop((first, second), None)
        if joined and 0 <= first < second < size:
            steps = line[second].pitch.height - line[first].pitch.height
            links[first, second] = Link(first, second, voices[second], steps, 1.0)
    for before, wanted in decided.bridges.items():
        bridges.pop(before, None)
        if wanted and 0 < before < size:
            same = (i for i in range(before - 1, -1, -1) if voices[i] == voices[before] and not line[i].grace)
            bridges[before] = Bridge(next(same, before - 1), before)
