"""The figures of the surface: what a harmony handbook would call each tone that decorates another.

Definitions after Aldwell & Schachter, *Harmony and Voice Leading*, and Kostka & Payne, *Tonal Harmony* (the chapters on
non-chord tones): how a tone is approached and left, and whether it is accented. Whether it lies outside the chord is
not on the page of a lone line; it comes from the harmony the line implies (`implied`) and from place and length. Where
other parts sound, `figures_heard` goes over them again.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from earloop.line import Columns
from earloop.reading.implied import Implied, imply_harmony
from earloop.reading.neighbours import Neighbours
from earloop.reading.off_beat_steps import CUT, chance_outside, is_off_beat_step, sayings
from earloop.reading.pulse import Pulse
from earloop.reading.record import Figure, Key

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Flags = NDArray[np.bool_]

NAMES: tuple[Figure, ...] = (
    "structural", "passing", "neighbor", "appoggiatura", "suspension", "retardation", "anticipation",
    "escape", "changing", "arpeggiation", "pedal", "repetition", "grace",
)  # fmt: skip
NUMBER = {name: k for k, name in enumerate(NAMES)}
_ON_NEXT = tuple(NUMBER[name] for name in ("appoggiatura", "suspension", "retardation", "anticipation"))
_ON_LAST = tuple(NUMBER[name] for name in ("neighbor", "escape", "repetition", "arpeggiation"))
_OFFBEAT_BASE = -1.7
"""Nats: how much readier a stepwise tone off the beat is to lie outside the chord (development chorales)."""
_BRIEF = 0.9
"""Of a beat: a tone on the beat that lasts it out seldom passes (2 % of such steps in chorale sopranos)."""
_ON_EITHER = tuple(NUMBER[name] for name in ("passing", "changing", "pedal"))


@dataclass(frozen=True)
class Surface:
    """`figure` numbers into NAMES, `outside` the chance that the tone lies outside the implied chord."""

    figure: Ints
    outside: Floats
    root: Ints


def find_figures(columns: Columns, home: Key, pulse: Pulse, near: Neighbours, leaf: Ints) -> Surface:
    """Every tone's figure against the implied harmony."""
    shape = shapes(columns, near, leaf)
    implied = implied_at(columns, home, pulse, near)
    outside = 1.0 - implied.belongs
    counted = harmonic_pulse(columns, pulse)
    steps = is_off_beat_step(columns, counted, near)
    said = chance_outside(sayings(columns, home, counted, near, outside))
    out = np.where(steps, said > CUT, (outside > 0.5) & ~is_off_beat_step(columns, pulse, near))
    surface = Surface(np.full(columns.size, NUMBER["structural"]), outside, implied.root)
    pulls = _pulls(columns, home, near, pulse.strength)
    passes = out & (steps | (columns.ioi < _BRIEF * counted.beat))
    _name(surface, out, passes, columns, shape, near, weak_tones(columns, pulse, near), pulls)
    surface.figure[double_neighbours(columns, near, counted.beat)] = NUMBER["changing"]
    surface.figure[_pedals(columns) & ~near.ends] = NUMBER["pedal"]
    surface.figure[leaf >= 0] = NUMBER["grace"]
    return surface


def hosts_of(surface: Surface, near: Neighbours, weight: Floats) -> Ints:
    """The tone each ornament decorates, -1 for the others: its resolution, the tone it left, or the heavier of both."""
    figure = surface.figure
    heavier = np.where(weight[near.before] >= weight[near.after], near.before, near.after)
    kinds = [np.isin(figure, _ON_NEXT), np.isin(figure, _ON_LAST), np.isin(figure, _ON_EITHER)]
    return np.select(kinds, [near.after, near.before, heavier], -1)


@dataclass(frozen=True)
class Shape:
    """How each tone is approached and left: semitones from the tone before (`come`) and to the tone after (`go`).

    A step goes to the next letter or stays on its own, a leap is wider than two semitones; neither crosses a phrase's
    ends.
    """

    come: Ints
    go: Ints
    step_in: Flags
    step_out: Flags
    leap_in: Flags
    leap_out: Flags


def shapes(columns: Columns, near: Neighbours, leaf: Ints) -> Shape:
    """How each tone is approached and left; grace tones (`leaf` not -1) neither step nor leap."""
    come = columns.midi - columns.midi[near.before]
    go = columns.midi[near.after] - columns.midi
    letters_in = np.abs(columns.height - columns.height[near.before])
    letters_out = np.abs(columns.height[near.after] - columns.height)
    inner = ~near.begins & ~near.ends & (leaf < 0)
    step_in = inner & (come != 0) & (np.abs(come) <= 2) & (letters_in <= 1)
    step_out = inner & (go != 0) & (np.abs(go) <= 2) & (letters_out <= 1)
    return Shape(come, go, step_in, step_out, inner & (np.abs(come) > 2), inner & (np.abs(go) > 2))


def implied_at(columns: Columns, home: Key, pulse: Pulse, near: Neighbours) -> Implied:
    """The implied harmony, with changes readier on stronger beats and fleeting tones free to be outside."""
    depth = -pulse.strength
    beat = np.log2(pulse.bar / pulse.beat)
    change = np.select([depth < 0.1, depth <= beat - 0.9, depth <= beat + 0.1], [0.85, 0.8, 0.75], 0.08)
    change = np.where(near.begins, 0.8, change)
    length = np.clip(np.maximum(columns.ioi, 1e-3) / pulse.beat, 0.1, 3.0)
    off = depth > beat + 0.1
    cost = np.where(off, 1.0 + 1.0 * length, 2.4 + 1.2 * length + 1.0 * (length > 0.9))
    come = columns.midi - columns.midi[near.before]
    go = columns.midi[near.after] - columns.midi
    cost = cost + 1.5 * (((np.abs(come) > 2) | (np.abs(go) > 2)) & ~near.ends)
    stepwise = off & (come * go != 0) & (np.abs(come) <= 2) & (np.abs(go) <= 2)
    cost += np.where(stepwise, _OFFBEAT_BASE + _moves_with_the_chord(columns, pulse, near), 0.0)
    return imply_harmony(columns.midi % 12, home, change, cost)


def _moves_with_the_chord(columns: Columns, pulse: Pulse, near: Neighbours) -> Floats:
    """Log odds, up to a constant, that a tone moving by step off the beat has a chord of its own.

    A logistic fit on 1,759 such tones in the sopranos of 395 Bach chorales (music21's corpus, the labelled held-out
    ones left out), where the truth was whether all four voices together make a triad or seventh chord. A whole tone
    and then a semitone down, say, is 5-4-3 in some key: the middle tone is heard as a dominant's seventh.
    """
    come = columns.midi - columns.midi[near.before]
    go = columns.midi[near.after] - columns.midi
    ioi = np.maximum(columns.ioi, 1e-3)
    odds = 0.64 * ((come == -2) & (go == -1)) + 0.24 * ((come == 2) & (go == 1)) - 0.71 * (np.abs(come) == 1)
    odds += 0.18 * (come * go < 0) + 0.53 * (ioi[near.before] >= 2.9 * ioi) + 0.53 * (ioi[near.after] >= 1.9 * ioi)
    odds += 0.33 * near.ends[near.after] + 0.43 * (np.floor(pulse.place / pulse.beat + 1e-3) % 2 == 1)
    return np.asarray(odds)


def harmonic_pulse(columns: Columns, pulse: Pulse) -> Pulse:
    """The pulse with the beat on which chords are taken to change.

    Where the meter is inferred it is no wider than the usual time from tone to tone: a line that moves in quarters may
    be counted in threes of them.
    """
    full = columns.ioi[~columns.grace]
    usual = float(np.median(full)) if len(full) else 0.0
    fits = np.where(pulse.periods <= usual * 1.01, pulse.periods, 0.0).max(axis=1)
    return replace(pulse, beat=np.where((pulse.sure < 1) & (fits > 0), np.minimum(fits, pulse.beat), pulse.beat))


def weak_tones(columns: Columns, pulse: Pulse, near: Neighbours) -> Flags:
    """Tones on a weaker beat than the one after or before, and no longer than the tone before."""
    strength = pulse.strength
    lighter = (strength < strength[near.after] - 0.1) | (strength < strength[near.before] - 0.1)
    weak: Flags = lighter & (columns.ioi <= columns.ioi[near.before] + 1e-6)
    return weak


def _name(
    surface: Surface,
    out: Flags,
    passes: Flags,
    columns: Columns,
    s: Shape,
    near: Neighbours,
    weak: Flags,
    pulls: Flags,
) -> None:
    """Write the figures, the surest evidence last, so that it wins."""
    figure, outside, root = surface.figure, surface.outside, surface.root
    inner = ~near.begins & ~near.ends
    same_in, same_out = inner & (s.come == 0), inner & (s.go == 0)
    shorter = columns.ioi <= 0.5 * columns.ioi[near.after] + 1e-6
    chordal = weak & ~out & s.leap_in & (root == root[near.before])
    figure[chordal & (s.leap_out | same_out | s.step_out)] = NUMBER["arpeggiation"]
    figure[same_in & weak] = NUMBER["repetition"]
    figure[weak & same_out & ~same_in & shorter & (s.step_in | out)] = NUMBER["anticipation"]
    figure[weak & s.step_in & s.leap_out & (s.come * s.go < 0) & (outside > 0.25)] = NUMBER["escape"]
    stepwise = s.step_in & s.step_out & passes
    figure[stepwise & (s.come * s.go > 0)] = NUMBER["passing"]
    figure[stepwise & (s.come == -s.go)] = NUMBER["neighbor"]
    resolved = s.step_out & ~weak & (columns.ioi[near.after] <= 2.0 * columns.ioi + 1e-6) & (out | pulls)
    figure[resolved & s.leap_in & (s.come * s.go < 0)] = NUMBER["appoggiatura"]
    figure[resolved & same_in & (s.go < 0)] = NUMBER["suspension"]
    figure[resolved & same_in & (s.go > 0)] = NUMBER["retardation"]


def _pulls(columns: Columns, home: Key, near: Neighbours, strength: Floats) -> Flags:
    """Accented tones whose degree pulls to the next tone: 4-3, 2-1, 6-5, 8-7 (over the dominant) down; 7-8, 2-3 up."""
    above = (columns.midi - home.pc) % 12
    go = columns.midi[near.after] - columns.midi
    third = 4 if home.mode == "major" else 3
    sixth = (8, 9) if home.mode == "major" else (8,)
    down = ((above == 5) & (go == third - 5)) | ((above == 2) & (go == -2)) | ((above == 0) & (go == -1))
    down |= np.isin(above, sixth) & (go == 7 - above)
    up = ((above == 11) & (go == 1)) | ((above == 2) & (go == third - 2))
    stressed: Flags = (strength > strength[near.after] + 0.1) & (strength >= strength[near.before] - 0.1)
    return np.asarray((down | up) & stressed)


def double_neighbours(columns: Columns, near: Neighbours, beat: Floats) -> Flags:
    """Both tones of a changing figure: a step above and a step below (or the other way round) and back to the start."""
    one = near.after
    two, home = near.after[one], near.after[near.after[one]]
    first = columns.midi[one] - columns.midi
    second = columns.midi[two] - columns.midi
    starts = (columns.midi[home] == columns.midi) & (home != two) & (first * second < 0)
    starts &= (np.abs(first) <= 2) & (np.abs(second) <= 2)
    starts &= columns.ioi[one] + columns.ioi[two] <= beat + 1e-6
    inner = np.zeros(columns.size, dtype=np.bool_)
    inner[one[starts]] = True
    inner[two[starts]] = True
    return inner


def _pedals(columns: Columns) -> Flags:
    """Tones that come back to one pitch at every other tone, three times or more, between moving ones."""
    size = columns.size
    if size < 5:
        return np.zeros(size, dtype=np.bool_)
    back = columns.midi[2:] == columns.midi[:-2]
    moving = np.append(~back[1:], True) & np.append(True, ~back[:-1])
    away = np.abs(columns.midi[1:-1] - columns.midi[2:]) > 2
    strict = back & moving & away
    run = strict[:-2] & strict[2:]
    pedal = np.zeros(size, dtype=np.bool_)
    for shift in (0, 2, 4):
        pedal[shift : shift + len(run)] |= run
    return pedal
