"""Leans and releases: an unstable tone, then its stable neighbor by step.

A lean is longer than its release, or as long and told by the page (a slur that binds just the two, an accent) or by
its stronger beat and the leap into it. The first of two slurred tones is the stronger one and the appoggiatura is
louder than what it falls to (Quantz 1752, ch. 8; C. P. E. Bach 1753, ch. 2); leap in, step out, accented is the
handbooks' appoggiatura (Aldwell & Schachter). That stress by length stands in for the beat where there is no meter is
common practice, no source.

What the handbooks call by another name is no lean: a tone that passes on by step the way it came to its neighbor, a
neighbor that returns, an escape that leaps back. Only a slur over just the two outranks that for a falling step.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from earloop.line import Columns, Line, Span
from earloop.reading.decisions import NONE_DECIDED, Decisions
from earloop.reading.pulse import find_pulse
from earloop.reading.record import Degree, Lean, Reading, Voice, Weights
from earloop.reading.streams import Ints, next_in_stream, step_to, stream_codes

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

LONGER = 1.15
"""A lean this much longer than its release is heard as longer, not as played unevenly."""
SURE_AT_NONE, SURE_SLOPE = 2.8, 1.7
"""How strength becomes a chance: fitted on the 42 leans found in the 26 hand-read passages under tests/records."""
_ACCENTS = frozenset({"accent", "strong-accent", "tenuto", "detached-legato"})
_LOUD = frozenset({"sf", "sfz", "fz", "sffz", "rf", "rfz", "fp", "sfp"})


@dataclass(frozen=True)
class Cues:
    """What speaks for each lean that might be: one value a candidate, in order of the leans.

    `share` is the lean's part of the time of both, `place` how much stronger its beat is in halvings of the
    measure (0 without a meter), `leap` says that it was reached by a leap in its own line, `neighbor` that the
    release's own pitch stood before it and it's no longer than the line's usual tone. `closes` says that the
    line breathes after the release, `astray` that the release is itself passing, neighbor or escape.
    """

    lean: Ints
    release: Ints
    share: Floats
    place: Floats
    slurred: Flags
    accented: Flags
    leap: Flags
    neighbor: Flags
    closes: Flags
    astray: Flags


def find_leans(
    line: Line,
    gestures: tuple[Span, ...],
    local_degrees: tuple[Degree, ...],
    voices: tuple[Voice, ...],
    weights: Weights,
    decided: Decisions = NONE_DECIDED,
) -> tuple[Lean, ...]:
    """Leans in order of their first tone; what has been decided about a tone stands as decided."""
    codes = stream_codes(voices)
    number = np.array([degree.number for degree in local_degrees])
    alter = np.array([degree.alter for degree in local_degrees])
    gesture = np.repeat(np.arange(len(gestures)), [len(span) for span in gestures])
    cues = _cues(line, codes, gesture, number, alter)
    strength = _strength(cues)
    kept = strength > 0
    found: dict[int, Lean] = {}
    sure = 1 / (1 + np.exp(SURE_AT_NONE - SURE_SLOPE * strength))
    stress = _stress(line.columns, cues)
    for k in np.flatnonzero(kept).tolist():
        lean, release = int(cues.lean[k]), int(cues.release[k])
        degrees = _name(local_degrees, line.columns, lean, release)
        found[lean] = Lean(lean, release, degrees, round(float(stress[k]), 3), round(float(sure[k]), 3))
    for lean, decision in decided.leans.items():
        found.pop(lean, None)
        if decision is not None and 0 <= lean < len(line) and 0 <= decision < len(line):
            found[lean] = _decided(line, local_degrees, lean, decision)
    return tuple(found[lean] for lean in sorted(found))


def why_lean(reading: Reading, lean: Lean) -> str:
    """One plain sentence: what makes the tone lean, and where it goes."""
    first, second = reading.line[lean.lean], reading.line[lean.release]
    reasons: list[str] = []
    if first.length > LONGER * second.length:
        reasons.append("longer than its release")
    if first.marks.slur_starts and second.marks.slur_stops:
        reasons.append("slurred to it")
    if _is_accented(first.marks.articulations, first.marks.dynamic):
        reasons.append("accented")
    if not reasons:
        reasons.append("on the stronger place")
    leaning, released = lean.degrees.split("-")
    way = "up" if second.pitch.height > first.pitch.height else "down"
    key = "local tonic" if released == "1" else f"stable {released} of its key"
    return f"The {leaning} leans ({', '.join(reasons)}) and resolves {way} by step to the {key}."


def _cues(line: Line, codes: Ints, gesture: Ints, number: Ints, alter: Ints) -> Cues:
    columns = line.columns
    follows = next_in_stream(columns, codes)
    strength = find_pulse(line).strength if line.meters else np.zeros(columns.size)
    lean, release, ends = _resolutions(line, follows, gesture, strength)
    stable = _is_stable(columns, number, alter, lean, release) | _told_over_dominant(line, number, alter, lean, release)
    heard = ends - columns.onset[lean]
    together = columns.onset[release] - ends <= np.maximum(heard, 0.5) + 1e-3
    keep = stable & together & ~_breathes(line, columns, lean, release)
    lean, release, heard = lean[keep], release[keep], heard[keep]
    back = np.full(columns.size, -1, dtype=np.int64)
    back[follows[follows >= 0]] = np.flatnonzero(follows >= 0)
    before = back[lean]
    from_height = columns.height[np.maximum(before, 0)]
    leap = (before >= 0) & (np.abs(columns.height[lean] - from_height) > 1)
    neighbor = (before >= 0) & (from_height == columns.height[release]) & (heard <= _usual(columns) + 1e-6)
    marks = [(line[a].marks, line[b].marks) for a, b in zip(lean.tolist(), release.tolist(), strict=True)]
    slurred = np.array([bool(a.slur_starts and b.slur_stops) for a, b in marks], dtype=np.bool_)
    accented = np.array([_is_accented(a.articulations, a.dynamic) for a, _ in marks], dtype=np.bool_)
    share = heard / np.maximum(heard + columns.length[release], 1e-9)
    place = strength[lean] - strength[release]
    closes = _closes(line, release)
    astray = _is_astray(columns, follows, lean, release, before, slurred) & ~closes
    return Cues(lean, release, share, place, slurred, accented, leap, neighbor, closes, astray)


def _closes(line: Line, release: Ints) -> Flags:
    """Whether the release is followed by a rest, a sign of breath or the end."""
    columns = line.columns
    marks = [line[b].marks for b in release.tolist()]
    signs = np.array([bool(mark.break_after or mark.fermata) for mark in marks], dtype=np.bool_)
    return np.asarray(signs | (columns.gap[release] > 0) | (release == columns.size - 1))


def _is_astray(columns: Columns, follows: Ints, lean: Ints, release: Ints, before: Ints, slurred: Flags) -> Flags:
    """Whether the step to the release is the handbooks' passing tone, returning neighbor or escape instead.

    A slurred pair that falls is a sigh whatever follows; one that rises is a lean unless it passes through.
    """
    height, length = columns.height, columns.length
    way = height[release] - height[lean]
    after = follows[release]
    full = np.cumsum(~columns.grace)
    # Another line's word between lets the release rest.
    at_once = (after >= 0) & (full[np.maximum(after, 0)] - full[release] == 1)
    onward = np.where(at_once, height[np.maximum(after, 0)] - height[release], 0)
    came = np.where(before >= 0, height[lean] - height[np.maximum(before, 0)], 0)
    passing = (onward == way) & (~slurred | (came == way))
    returning = (onward == -way) & (length[release] <= length[lean] / 2 + 1e-6) & ~slurred
    escape = (way > 0) & (onward < -1) & (length[release] < length[lean] / 2 - 1e-6)
    return np.asarray((passing | returning | escape) & ~(slurred & (way < 0)))


def _resolutions(line: Line, follows: Ints, gesture: Ints, strength: Floats) -> tuple[Ints, Ints, Floats]:
    """Tones that move by step in their line, their goals, and when the first stops being heard.

    A tone that its own short neighbor interrupts inside one gesture (x y x, then on) is one tone until it moves.
    """
    columns = line.columns
    height, length = columns.height, columns.length
    here = np.flatnonzero(follows >= 0)
    one = follows[here]
    two = step_to(follows, one)
    three = step_to(follows, two)
    last = np.maximum(three, 0)
    turned = (three == here + 3) & (height[two] == height[here]) & (np.abs(height[one] - height[here]) == 1)
    turned &= (length[one] <= length[here] / 2 + 1e-6) & (length[one] > 0)
    turned &= length[one] + length[two] <= length[here] + 1e-6
    turned &= (gesture[here] == gesture[two]) & (strength[one] <= strength[here])
    turned &= (columns.gap[here] + columns.gap[one] + columns.gap[two] == 0) & (
        np.abs(height[last] - height[here]) == 1
    )
    # A goal that is touched, left for its own neighbor and reached again is reached at the second time.
    touched = (three == here + 3) & (height[last] == height[one]) & (np.abs(height[two] - height[one]) == 1)
    touched &= (length[one] <= length[here] / 2 + 1e-6) & (length[two] <= length[one] + 1e-6)
    touched &= (length[last] > length[one]) & (columns.gap[here] + columns.gap[one] + columns.gap[two] == 0)
    goal = np.where(turned | touched, three, one)
    ends = np.where(turned, columns.onset[two] + length[two], columns.onset[here] + length[here])
    steps = np.abs(height[goal] - height[here]) == 1
    steps &= np.abs(columns.midi[goal] - columns.midi[here]) <= 2
    return here[steps], goal[steps], ends[steps]


def _is_stable(columns: Columns, number: Ints, alter: Ints, lean: Ints, release: Ints) -> Flags:
    """Whether an unstable degree goes to a stable one: 2-1, 2-3, 4-3, 6-5, 7-1 and the raised 4-5."""
    goal = number[release]
    way = columns.height[release] - columns.height[lean]
    start = (goal - way - 1) % 7 + 1
    stable = np.isin(goal, (1, 3, 5)) & ((alter[release] == 0) | (goal == 3))
    unstable = np.isin(start, (2, 4, 6, 7)) & np.isin(number[lean], (2, 4, 6, 7))
    raised = (start != 4) | (goal != 5) | (alter[lean] > 0)
    return np.asarray(stable & unstable & raised)


def _told_over_dominant(line: Line, number: Ints, alter: Ints, lean: Ints, release: Ints) -> Flags:
    """Whether a slurred pair falls 1-7 or 3-2, the dominant's own 4-3 and 6-5: half closes lean on it in passing.

    A slur over just two tones stresses the first (L. Mozart 1756, ch. 7): without it a step to 7 or 2 says nothing.
    """
    pairs = zip(lean.tolist(), release.tolist(), strict=True)
    slurred = np.array([bool(line[a].marks.slur_starts and line[b].marks.slur_stops) for a, b in pairs], dtype=np.bool_)
    falls = line.columns.height[release] < line.columns.height[lean]
    leading = (number[lean] == 1) & (number[release] == 7)
    second = (number[lean] == 3) & (number[release] == 2) & (alter[release] == 0)
    return np.asarray(slurred & falls & (leading | second))


def _breathes(line: Line, columns: Columns, lean: Ints, release: Ints) -> Flags:
    """Whether a rest or a sign of breath stands right after the lean."""
    rests = columns.gap[lean] > 0.25 * columns.length[lean] + 1e-6
    tones = line.tones
    signs = np.array([bool(tones[i].marks.break_after) for i in lean.tolist()], dtype=bool)
    return np.asarray((rests & (release == lean + 1)) | signs)


def _strength(cues: Cues) -> Floats:
    """How strongly each candidate leans: above 0 is a lean. Weights set by the rules named above, not fitted."""
    longer = np.log2(np.maximum(cues.share, 1e-6) / np.maximum(1 - cues.share, 1e-6))
    even = np.abs(longer) <= np.log2(LONGER)
    stronger = cues.place > 0
    told = cues.accented | (stronger & ~cues.neighbor & (cues.slurred | cues.leap | cues.closes))
    proper = stronger & cues.slurred & cues.leap & (longer > -1)
    by_length = np.where(longer > np.log2(LONGER), 0.6 + longer, -2.0)
    by_place = np.where((even & told) | proper, 0.5 + 0.3 * cues.slurred, -2.0)
    best = np.where(cues.astray, -2.0, np.maximum(by_length, by_place))
    return np.asarray(best + np.where(best > 0, 0.3 * cues.slurred + 0.3 * cues.leap + 0.3 * stronger, 0.0))


def _stress(columns: Columns, cues: Cues) -> Floats:
    """0..1: half from the lean's share of the time, the rest from its length in the line, its place and the leap in."""
    length = columns.length[cues.lean]
    tall = length / (length + _usual(columns))
    place = np.clip(cues.place / 2, 0, 1)
    return np.asarray(np.clip(0.5 * cues.share + 0.3 * tall + 0.1 * place + 0.1 * cues.leap, 0, 1))


def _usual(columns: Columns) -> float:
    """The line's usual time from tone to tone, in quarters."""
    full = columns.ioi[~columns.grace]
    return max(float(np.median(full)), 1e-6) if len(full) else 1.0


def _decided(line: Line, degrees: tuple[Degree, ...], lean: int, release: int) -> Lean:
    first, second = line[lean].length, line[release].length
    share = first / (first + second) if first + second > 0 else 0.5
    return Lean(lean, release, _name(degrees, line.columns, lean, release), round(share, 3), 1.0)


def _name(degrees: tuple[Degree, ...], columns: Columns, lean: int, release: int) -> str:
    """`2-1`; where a change of local key lies between, both are named in the release's key."""
    first, second = degrees[lean], degrees[release]
    way = int(columns.height[release] - columns.height[lean])
    if (second.number - first.number - way) % 7:
        first = Degree((second.number - way - 1) % 7 + 1)
    return f"{first}-{second}"


def _is_accented(articulations: tuple[str, ...], dynamic: str) -> bool:
    return dynamic in _LOUD or any(word in _ACCENTS for word in articulations)
