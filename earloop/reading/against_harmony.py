"""The chance that a tone lies outside the chord that the other parts of its score make.

Handbooks tell a nonchord tone by what sounds with it and by how it is approached and left (Aldwell & Schachter,
*Harmony and Voice Leading*; Kostka & Payne, *Tonal Harmony*). Which chord a moment has is itself a matter of hearing:
parts that move along off the beat may bring a chord of their own or pass together, a seventh over parts that stay is
the dominant's. So each sign has its say, and their sum is a chance. The numbers are a logistic fit on all four voices
of the development half of the analysed chorales (`python -m tests.bench harmony_fit`).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from earloop.line import Columns
from earloop.reading.chord_sets import IN_CHORD, IN_SEVENTH, IN_TRIAD, SIZE, WHOLE_SEVENTH, WHOLE_TRIAD, alone, set_of
from earloop.reading.harmony_heard import HarmonyHeard
from earloop.reading.neighbours import Neighbours
from earloop.reading.pulse import Pulse

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Flags = NDArray[np.bool_]

SAYS = {
    "none": -2.66,
    "sounds in another part": -0.70,
    "dissonant over a whole triad": 0.94,
    "fourth or tritone above the bass": 0.71,
    "a whole seventh chord with a tritone": -1.40,
    "such a seventh over parts that stay": -1.61,
    "a chord that two others strike with it": -0.79,
    "a chord with a new bass": -0.72,
    "belonged to the chord before": -0.37,
    "off the beat": 1.09,
    "moves by step off the beat": 1.64,
    "dissonant off the beat": 1.54,
    "dissonant, and the next tone fits": 1.18,
    "dissonant, and the tones before and after fit": 0.76,
    "struck again, dissonant, goes down by step": 1.54,
    "turns back": -0.96,
    "lasts over the beat": -0.93,
    "twice as long as the next": -0.99,
}
"""What each cue adds to the log-odds of lying outside the chord, in the order of `sayings`."""
CUT = 0.45
"""A tone that lies outside with this chance is named: between .4 and .5 as many are found as are right."""
_LONG = 1.4
"""Beats: longer than this lasts over the beat."""


def harmony_of(heard: HarmonyHeard) -> Ints:
    """The set of the chord that the other parts make with each tone of the line.

    It is what sounds when the tone begins; where that is no whole chord, what follows while it lasts and what sounded
    with the tones around joins in as long as all make one chord, so that a broken chord is heard whole.
    """
    found = set_of(heard.at_onset)
    during = set_of(heard.during)
    for more in (during, _moved(during, 1), _moved(during, -1)):
        joined = found | more
        found = np.where((SIZE[found] < 3) & (IN_TRIAD | IN_SEVENTH)[joined], joined, found)
    return found


def _moved(sets: Ints, by: int) -> Ints:
    out = np.roll(sets, by)
    out[:by] = 0
    return out


def chance_outside(columns: Columns, pulse: Pulse, near: Neighbours, heard: HarmonyHeard, chord: Ints) -> Floats:
    """Each tone's chance of lying outside its `chord`; means nothing where no other part sounds."""
    odds = sayings(columns, pulse, near, heard, chord) @ np.array(tuple(SAYS.values()))
    return np.asarray(1.0 / (1.0 + np.exp(-odds)))


def dissonant(columns: Columns, chord: Ints) -> Flags:
    """Tones that make no triad, nor part of one, with the other parts' chord."""
    return np.asarray(~IN_TRIAD[chord | alone(columns.midi)])


def same_chord(columns: Columns, near: Neighbours, chord: Ints) -> Flags:
    """Whether each tone and the one before it belong to one chord together with all that sounds with both."""
    sets = chord | alone(columns.midi)
    return np.asarray(IN_CHORD[sets | sets[near.before]])


def held_over(columns: Columns, pulse: Pulse, near: Neighbours, heard: HarmonyHeard) -> Flags:
    """Tones that begin in their chord, are held over a change of it, and go by step into the new one on a weaker beat.

    The suspension and its preparation are then one tone of the line, tied over.
    """
    own, after = alone(columns.midi), near.after
    first, last = set_of(heard.at_onset), set_of(heard.at_end)
    left_out = ~IN_CHORD[last | own] | (~IN_TRIAD[last | own] & IN_TRIAD[last | own[after]])
    change = IN_CHORD[first | own] & (first != last) & left_out & IN_CHORD[last | own[after]]
    moves = (np.abs(columns.height[after] - columns.height) == 1) & (np.abs(columns.midi[after] - columns.midi) <= 2)
    return np.asarray(change & moves & (_held_strength(columns, pulse) > pulse.strength[after] + 0.1))


def _held_strength(columns: Columns, pulse: Pulse) -> Floats:
    """Strength of the strongest beat that falls inside each tone after it has begun, -inf for none."""
    place, periods = pulse.place[:, None], pulse.periods
    first = (np.floor((place + 1e-3) / periods) + 1) * periods
    wide = np.where(first < place + columns.length[:, None] - 1e-3, periods, 0.0).max(axis=1)
    with np.errstate(divide="ignore"):
        return np.asarray(np.log2(wide / pulse.bar))


def sayings(columns: Columns, pulse: Pulse, near: Neighbours, heard: HarmonyHeard, chord: Ints) -> Floats:
    """Shape (tones, cues): what each cue has to say, in the order of `SAYS`; `chord` is `harmony_of` what is heard."""
    before, after = near.before, near.after
    height, midi = columns.height, columns.midi
    come, go = midi - midi[before], midi[after] - midi
    step_in, step_out = np.abs(height - height[before]) == 1, np.abs(height[after] - height) == 1
    own = alone(midi)
    whole, struck = chord | own, SIZE[set_of(heard.struck)]
    doubled = (chord & own) > 0
    consonant, seventh = IN_TRIAD[whole], IN_SEVENTH[whole]
    good = WHOLE_TRIAD[whole] | WHOLE_SEVENTH[whole]
    new_bass = (heard.bass >= 0) & heard.struck[np.arange(columns.size), heard.bass % 12]
    above = np.where(heard.bass >= 0, (midi - heard.bass) % 12, 0)
    off = pulse.off_beat
    next_fits = ~consonant & IN_TRIAD[chord | own[after]] & ~near.ends
    rows = (
        np.ones(columns.size),
        doubled,
        WHOLE_TRIAD[chord] & ~consonant & ~seventh,
        (above == 5) | (above == 6),
        WHOLE_SEVENTH[whole] & ~doubled,
        seventh & (struck == 0),
        good & (struck >= 2),
        (good | seventh) & new_bass,
        (set_of(heard.at_onset)[before] & own > 0) & ~near.begins,
        off,
        off & step_in & step_out,
        off & ~consonant,
        next_fits,
        next_fits & IN_TRIAD[chord | own[before]],
        (come == 0) & ~near.begins & step_out & (go < 0) & ~consonant,
        come * go < 0,
        columns.ioi > _LONG * pulse.beat,
        columns.ioi > 1.9 * columns.ioi[after],
    )
    return np.column_stack([np.asarray(row, dtype=np.float64) for row in rows])
