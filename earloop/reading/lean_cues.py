"""What speaks for and against each lean that might be: a step, where it goes, its length, place and slur.

A lean that might be goes by step, in its own line or to the very next tone: down, or up by semitone, or up to a tone
that is stable in its key. That it comes home (to a stable tone, to the dominant's third or fifth, or by semitone the
way it was altered) speaks for it; the handbooks name the rest (Aldwell & Schachter; Cadwallader & Gagné): accented by
length or beat, a suspension by the beat it is held over, leapt to or prepared, and its resolution no mere passing tone.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from earloop.line import Columns, Line
from earloop.reading.degrees import numbers_of
from earloop.reading.pulse import Pulse, find_pulse
from earloop.reading.record import Degree
from earloop.reading.streams import Ints, next_in_stream, step_to

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

LONGER = 1.15
"""A lean this much longer than its release is heard as longer, not as played unevenly."""
UNLIKE = 0.01
"""Doublings by which two beats must differ to be of unlike strength."""
_NEAR = 1e-3
_ACCENTS = frozenset({"accent", "strong-accent", "tenuto", "detached-legato"})
_LOUD = frozenset({"sf", "sfz", "fz", "sffz", "rf", "rfz", "fp", "sfp"})


@dataclass(frozen=True)
class Cues:
    """The leans that might be, in order; one value each.

    `heard` is the lean's time in quarters, `ratio` the doublings of it against its release, `size` those against
    the line's usual tone, `beats` those against the counted beat (0 without a meter). `run` says that it passes
    through in even tones that step the same way, `stable` that it is the 1, 3 or 5 of the home key. `place` is how
    much stronger its beat is than the release's, in doublings, by the score's meter or else how much longer it is,
    for length then stands in for the beat; `held` says that it began on a weaker beat than it is held over (never
    without a meter), `down` that it holds a downbeat or, without a meter, lasts longer than its release; `told`
    that it was leapt to, prepared, or comes first (`first`); `home` that it resolves in the home key or the local
    one; `brief` that its release moves on by step and lasts no longer than usual; `closes` that the line breathes
    after it.
    """

    lean: Ints
    release: Ints
    heard: Floats
    ratio: Floats
    size: Floats
    place: Floats
    held: Flags
    beats: Floats
    down: Flags
    slurred: Flags
    accented: Flags
    told: Flags
    first: Flags
    home: Flags
    brief: Flags
    closes: Flags
    rises: Flags
    semitone: Flags
    run: Flags
    stable: Flags
    free: bool


def find_cues(line: Line, codes: Ints, degrees: tuple[Degree, ...], local_degrees: tuple[Degree, ...]) -> Cues:
    """Every step that might be a lean and its release, with what speaks for and against it.

    `degrees` are those in the home key; a step that resolves there does so too where a passage seems to have another.
    """
    columns = line.columns
    follows = next_in_stream(columns, codes)
    pulse = find_pulse(line)
    lean, release, ends = _resolutions(line, follows, pulse.strength if line.meters else np.zeros(columns.size))
    heard = ends - columns.onset[lean]
    accented = np.array([is_accented(line, i) for i in lean.tolist()], dtype=np.bool_)
    home = _goes_home(columns, local_degrees, lean, release) | _goes_home(columns, degrees, lean, release)
    way = columns.height[release] - columns.height[lean]
    semitone = np.abs(columns.midi[release] - columns.midi[lean]) == 1
    keep = home | (way < 0) | semitone
    keep &= columns.onset[release] - ends <= np.maximum(heard, 0.5) + 1e-3
    keep &= ~_breathes(line, lean, release, accented)
    lean, release, ends, heard = lean[keep], release[keep], ends[keep], heard[keep]
    held = _held_beat(pulse, columns, lean, ends)
    came, onward = _ways(columns, follows, lean, release)
    usual, slurred = usual_time(columns), _slurred(line, lean, release)
    ratio = np.log2(np.maximum(heard, 1e-6) / np.maximum(columns.length[release], 1e-6))
    return Cues(
        lean,
        release,
        heard,
        ratio,
        np.log2(np.maximum(heard, 1e-6) / usual),
        held - pulse.strength[release] if line.meters else np.where(np.abs(ratio) > np.log2(LONGER), ratio, 0.0),
        (held > pulse.strength[lean] + UNLIKE) & (held > pulse.strength[release] + UNLIKE) & bool(line.meters),
        np.clip(np.log2(np.maximum(heard, 1e-6) / pulse.beat[lean]), -2.0, 2.0) * bool(line.meters),
        np.asarray(held > -_NEAR) if line.meters else ratio > np.log2(LONGER),
        slurred,
        accented[keep],
        np.asarray((came == 0) | (np.abs(came) > 1)),
        came == _NONE,
        home[keep],
        np.asarray((np.abs(onward) == 1) & (columns.length[release] <= usual + 1e-6)),
        _closes(line, release),
        way[keep] > 0,
        semitone[keep],
        _runs(columns, lean, release) & ~slurred,
        _stable(*numbers_of(degrees))[lean],
        not line.meters,
    )


def is_accented(line: Line, index: int) -> bool:
    """Whether the page stresses the tone."""
    marks = line[index].marks
    return marks.dynamic in _LOUD or any(word in _ACCENTS for word in marks.articulations)


def is_slurred(line: Line, lean: int, release: int) -> bool:
    """Whether a slur binds just the two."""
    return bool(line[lean].marks.slur_starts and line[release].marks.slur_stops)


def _slurred(line: Line, first: Ints, second: Ints) -> Flags:
    pairs = zip(first.tolist(), second.tolist(), strict=True)
    return np.array([is_slurred(line, a, b) for a, b in pairs], dtype=np.bool_)


def usual_time(columns: Columns) -> float:
    """The line's usual time from tone to tone, in quarters."""
    full = columns.ioi[~columns.grace]
    return max(float(np.median(full)), 1e-6) if len(full) else 1.0


_NONE = 99
"""Stands for no tone before or after, where steps in letters are counted."""


def _ways(columns: Columns, follows: Ints, lean: Ints, release: Ints) -> tuple[Ints, Ints]:
    """Letters from the tone before each lean to it, and from its release to the tone that follows at once."""
    height = columns.height
    back = np.full(columns.size, -1, dtype=np.int64)
    back[follows[follows >= 0]] = np.flatnonzero(follows >= 0)
    before, after = back[lean], follows[release]
    full = np.cumsum(~columns.grace)
    # Another line's word between, or a rest, lets the release be at rest.
    at_once = (after >= 0) & (full[np.maximum(after, 0)] - full[release] == 1) & (columns.gap[release] == 0)
    came = np.where(before >= 0, height[lean] - height[np.maximum(before, 0)], _NONE)
    onward = np.where(at_once, height[np.maximum(after, 0)] - height[release], _NONE)
    return came, onward


def _held_beat(pulse: Pulse, columns: Columns, lean: Ints, ends: Floats) -> Floats:
    """Strength of the strongest beat in each tone's time: a suspension is stressed where it is held over."""
    place, periods = pulse.place[lean, None], pulse.periods[lean]
    lasts = (ends - columns.onset[lean])[:, None]
    first = np.ceil((place - _NEAR) / periods) * periods
    holds = first < place + lasts - _NEAR
    wide = np.where(holds, periods, 0.0).max(axis=1)
    over = np.log2(np.maximum(wide, 1e-6) / pulse.bar[lean])
    return np.maximum(pulse.strength[lean], np.where(wide > 0, over, -np.inf))


def _runs(columns: Columns, lean: Ints, release: Ints) -> Flags:
    """Whether each is the middle one of three even tones side by side that step the same way."""
    before = np.maximum(lean - 1, 0)
    step = columns.height[release] - columns.height[lean]
    even = (np.abs(columns.length[before] - columns.length[lean]) < _NEAR) & (
        np.abs(columns.length[release] - columns.length[lean]) < _NEAR
    )
    side_by_side = (lean > 0) & (release == lean + 1)
    return np.asarray(side_by_side & even & (columns.height[lean] - columns.height[before] == step))


def _stable(number: Ints, alter: Ints) -> Flags:
    """Whether each is a tone of the tonic's triad."""
    return np.asarray(np.isin(number, (1, 3, 5)) & ((alter == 0) | (number == 3)))


def _closes(line: Line, release: Ints) -> Flags:
    """Whether the release is followed by a rest, a sign of breath or the end."""
    columns = line.columns
    marks = [line[b].marks for b in release.tolist()]
    signs = np.array([bool(mark.break_after or mark.fermata) for mark in marks], dtype=np.bool_)
    return np.asarray(signs | (columns.gap[release] > 0) | (release == columns.size - 1))


def _resolutions(line: Line, follows: Ints, strength: Floats) -> tuple[Ints, Ints, Floats]:
    """Tones that move by step in their line, their goals, and when the first stops being heard.

    A tone that its own short neighbor interrupts (x y x, then on) is one tone until it moves, unless a slur binds it
    and the neighbor.
    """
    columns = line.columns
    height, length = columns.height, columns.length
    here = np.flatnonzero((follows >= 0) & ~columns.grace)
    one = follows[here]
    two = step_to(follows, one)
    three = step_to(follows, two)
    last = np.maximum(three, 0)
    turned = (three == here + 3) & (height[two] == height[here]) & (np.abs(height[one] - height[here]) == 1)
    turned &= (length[one] <= length[here] / 2 + 1e-6) & (length[one] > 0)
    turned &= length[one] + length[two] <= length[here] + 1e-6
    turned &= strength[one] <= strength[here]
    turned &= ~_slurred(line, here, one)
    turned &= (columns.gap[here] + columns.gap[one] + columns.gap[two] == 0) & (
        np.abs(height[last] - height[here]) == 1
    )
    # A goal that is touched, left for its own neighbor and reached again is reached at the second time.
    touched = (three == here + 3) & (height[last] == height[one]) & (np.abs(height[two] - height[one]) == 1)
    touched &= (length[one] <= length[here] / 3 + 1e-6) & (length[two] <= length[one] + 1e-6)
    touched &= (length[last] > length[one]) & (columns.gap[here] + columns.gap[one] + columns.gap[two] == 0)
    goal = np.where(turned | touched, three, one)
    ends = np.where(turned, columns.onset[two] + length[two], columns.onset[here] + length[here])
    # Nor does a short leap away, or the lean's short other neighbor, keep it from its goal (x z y).
    away = (two == here + 2) & (height[two] != height[one]) & (np.abs(height[one] - height[two]) > 1)
    away &= (length[one] <= length[here] / 2 + 1e-6) & (length[one] > 0) & (length[one] <= length[two] + 1e-6)
    away &= columns.gap[here] + columns.gap[one] == 0
    here, goal, ends = (
        np.concatenate((here, here[turned], here[away])),
        np.concatenate((goal, one[turned], two[away])),
        np.concatenate((ends, *(columns.onset[here[more]] + length[here[more]] for more in (turned, away)))),
    )
    here, goal, ends = _with_neighbors(columns, follows, here, goal, ends)
    steps = np.abs(height[goal] - height[here]) == 1
    steps &= (np.abs(columns.midi[goal] - columns.midi[here]) <= 2) & ~columns.grace[goal]
    return here[steps], goal[steps], ends[steps]


def _with_neighbors(columns: Columns, follows: Ints, here: Ints, goal: Ints, ends: Floats) -> tuple[Ints, Ints, Floats]:
    """And the steps to the very next tone where that is said to be another line's: steps bind (Bregman 1990)."""
    first = np.arange(columns.size - 1)
    other = (follows[first] != first + 1) & ~columns.grace[first] & (columns.gap[first] == 0)
    first = first[other & (np.abs(np.diff(columns.height)) == 1)]
    here, goal = np.append(here, first), np.append(goal, first + 1)
    ends = np.append(ends, columns.onset[first] + columns.length[first])
    order = np.argsort(here, kind="stable")
    return here[order], goal[order], ends[order]


def _goes_home(columns: Columns, degrees: tuple[Degree, ...], lean: Ints, release: Ints) -> Flags:
    """Whether the step resolves: over the tonic, over the dominant, or as its alteration wants.

    Over the tonic 2-1, 2-3, 4-3, 6-5, 7-1 and the raised 4-5; over the dominant its own falling 4-3 and 6-5, which are
    1-7 and 3-2 of the key; an altered tone by semitone onward.
    """
    number, alter = numbers_of(degrees)
    goal, own = number[release], number[lean]
    way = columns.height[release] - columns.height[lean]
    start = (goal - way - 1) % 7 + 1
    stable = _stable(goal, alter[release])
    unstable = np.isin(start, (2, 4, 6, 7)) & np.isin(own, (2, 4, 6, 7))
    raised = (start != 4) | (goal != 5) | (alter[lean] > 0)
    tonic = stable & unstable & raised
    dominant = (way < 0) & (((start == 1) & (goal == 7)) | ((start == 3) & (goal == 2)))
    semitone = np.abs(columns.midi[release] - columns.midi[lean]) == 1
    altered = semitone & np.where(way > 0, alter[lean] > 0, alter[lean] < 0)
    return np.asarray(tonic | dominant | altered)


def _breathes(line: Line, lean: Ints, release: Ints, accented: Flags) -> Flags:
    """Whether a sign of breath stands right after the lean, or a rest that no accent reaches across."""
    columns, tones = line.columns, line.tones
    rests = columns.gap[lean] > 0.25 * columns.length[lean] + 1e-6
    signs = np.array([bool(tones[i].marks.break_after) for i in lean.tolist()], dtype=bool)
    return np.asarray((rests & (release == lean + 1) & ~accented) | signs)
