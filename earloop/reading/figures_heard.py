"""The figures of the surface where other parts sound with the line: against the chord that is written.

The handbooks' table of nonchord tones holds as it stands (Kostka & Payne, *Tonal Harmony*; Aldwell & Schachter,
*Harmony and Voice Leading*): a tone outside its chord is named by how it is approached and left. What belongs to its
chord is no passing tone, however light; what doesn't is named also on the beat. A tone that nothing else sounds with
keeps what the line alone tells of it.

What the tree takes for outside stays what the line implies: its cues are weighed with that, and adding the written
harmony's chance brought it nothing.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from earloop.line import Columns
from earloop.reading.against_harmony import CUT, chance_outside, dissonant, harmony_of, held_over, same_chord
from earloop.reading.figures import NUMBER, Shape, Surface, double_neighbours, harmonic_pulse, shapes, weak_tones
from earloop.reading.harmony_heard import HarmonyHeard
from earloop.reading.neighbours import Neighbours
from earloop.reading.pulse import Pulse

Ints = NDArray[np.int64]
Flags = NDArray[np.bool_]


def hear_figures(
    alone: Surface, columns: Columns, pulse: Pulse, near: Neighbours, leaf: Ints, heard: HarmonyHeard
) -> Surface:
    """The surface that the line alone tells, told anew for every tone that other parts sound with."""
    shape, counted, chord = shapes(columns, near, leaf), harmonic_pulse(columns, pulse), harmony_of(heard)
    chance = np.where(heard.any, chance_outside(columns, counted, near, heard, chord), 0.0)
    out = heard.any & (chance > CUT)
    held = heard.any & held_over(columns, pulse, near, heard)
    weak = weak_tones(columns, pulse, near)
    figure = np.full(columns.size, NUMBER["structural"])
    inside = weak & ~out
    figure[inside & shape.leap_in & same_chord(columns, near, chord)] = NUMBER["arpeggiation"]
    figure[inside & (shape.come == 0) & ~near.begins & ~near.ends] = NUMBER["repetition"]
    _name(figure, out, held, shape, near, pulse)
    circling = double_neighbours(columns, near, counted.beat)
    figure[circling & (out | dissonant(columns, chord))] = NUMBER["changing"]
    told = heard.any & (leaf < 0)
    return replace(alone, figure=np.where(told, figure, alone.figure))


def _name(figure: Ints, out: Flags, held: Flags, shape: Shape, near: Neighbours, pulse: Pulse) -> None:
    """Write the table of nonchord tones: how each is approached and left, and which way."""
    come, go = shape.come, shape.go
    inner = ~near.begins & ~near.ends
    same_in, same_out, back = inner & (come == 0), inner & (go == 0), come * go < 0
    steps = shape.step_in & shape.step_out
    lighter = pulse.strength < pulse.strength[near.after] - 0.1
    figure[out & same_out & ~same_in & lighter] = NUMBER["anticipation"]
    figure[out & same_in & same_out] = NUMBER["pedal"]
    figure[out & shape.step_in & shape.leap_out & back] = NUMBER["escape"]
    figure[out & steps & (come * go > 0)] = NUMBER["passing"]
    figure[out & steps & (come == -go)] = NUMBER["neighbor"]
    figure[out & shape.leap_in & shape.step_out & back] = NUMBER["appoggiatura"]
    again = out & same_in & shape.step_out
    figure[again & (go < 0) | held & (go < 0)] = NUMBER["suspension"]
    figure[again & (go > 0) | held & (go > 0)] = NUMBER["retardation"]
