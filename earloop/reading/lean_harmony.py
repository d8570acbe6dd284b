"""What the other parts of the score say about each lean that might be: is it a dissonance, and does it resolve?

A lean is stressed and unstable: it stands in the place of a tone of the chord that its release belongs to. So it is
dissonant with the bass when it begins or once the bass has moved under it (a suspension), or makes no chord with what
sounds, or is the fourth or sixth of a six-four over a bass that stays for the resolution (Aldwell & Schachter, *Harmony
and Voice Leading*, on suspensions, appoggiaturas and the cadential six-four). A tone of the triad that sounds doesn't.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from earloop.line import Line
from earloop.reading.chord_sets import IN_ANY_SEVENTH, alone, set_of, turned
from earloop.reading.harmony_heard import HarmonyHeard, harmony_heard
from earloop.reading.lean_cues import LONGER, UNLIKE, Cues

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]
Ints = NDArray[np.int64]

_TRIADS = ((0, 4, 7), (0, 3, 7), (0, 3, 6))
_DISSONANT = (1, 2, 5, 6, 10, 11)
"""Semitones above the bass, octaves left out: seconds, the fourth, the tritone and sevenths."""
_TRIAD_SETS = turned(_TRIADS)
_FIFTHS = np.array([(root + 7) % 12 if kind[2] == 7 else -1 for kind in _TRIADS for root in range(12)])
"""The fifth of each perfect triad: in the bass it makes a six-four, which is no consonance."""


@dataclass(frozen=True)
class LeanHarmony:
    """The leans that might be, in the order of their cues; one flag each.

    `off_bass`: dissonant with the bass when it begins; `bass_moved`: with the bass at its end, though not when it
    began; `no_chord`: makes neither triad nor seventh chord with what sounds at its beginning or its end; `triad`: all
    that sounds while it lasts makes one full triad with it. `six_four`: fourth or sixth over a bass that stays, in a
    six-four chord that is gone with the release. `release_triad`: the release makes a triad with what sounds when it
    begins. `stressed`: it has a lean's weight (beat, length, accent or slur) and is not just passed through.
    """

    off_bass: Flags
    bass_moved: Flags
    no_chord: Flags
    triad: Flags
    six_four: Flags
    release_triad: Flags
    stressed: Flags


def hear_leans(line: Line, cues: Cues) -> LeanHarmony | None:
    """What the other parts say about the leans that might be; None for a line alone."""
    heard = harmony_heard(line)
    if heard is None:
        return None
    lean, release = cues.lean, cues.release
    # A lean that its own neighbor interrupts ends with the tone before its release.
    last = np.where(cues.heard > line.columns.length[lean] + 1e-6, release - 1, lean)
    tone, goal = line.columns.midi[lean] % 12, line.columns.midi[release] % 12
    bass, ending = heard.bass[lean], heard.bass_at_end[last]
    first, later, after = (
        set_of(table) for table in (heard.at_onset[lean], heard.at_end[last], heard.at_onset[release])
    )
    off_bass, off_later = _off(tone, bass), _off(tone, ending)
    ends, goes = (later | alone(tone), ending), (after | alone(goal), heard.bass[release])
    during = _during(heard, lean, last, tone)
    return LeanHarmony(
        off_bass=off_bass,
        bass_moved=off_later & ~off_bass,
        no_chord=((first > 0) & ~_chord((first | alone(tone), bass))) | ((later > 0) & ~_chord(ends)),
        triad=_triad((during, bass)) & np.isin(during, _TRIAD_SETS),
        six_four=_six_four(heard, cues, last, tone, goal),
        release_triad=(after > 0) & _triad(goes),
        stressed=_stressed(cues),
    )


def heard_sayings(heard: LeanHarmony) -> Floats:
    """Shape (leans that might be, cues): what the other parts have to say, in the order of `HEARD_SAYS`."""
    rows = (
        heard.stressed & heard.off_bass,
        heard.stressed & heard.bass_moved,
        heard.stressed & heard.no_chord,
        heard.six_four,
        heard.stressed & heard.triad,
        heard.release_triad,
    )
    return np.column_stack(rows).astype(np.float64)


def heard_reasons(heard: LeanHarmony, k: int) -> list[str]:
    """What of the harmony makes the tone lean, in a player's words."""
    if heard.six_four[k]:
        return ["in a six-four over the bass"]
    if heard.off_bass[k]:
        return ["dissonant with the bass"]
    if heard.bass_moved[k]:
        return ["dissonant with the bass that moves under it"]
    return ["foreign to the chord"] if heard.no_chord[k] else []


def _stressed(cues: Cues) -> Flags:
    weighty = (cues.place > UNLIKE) | cues.held | (cues.ratio > np.log2(LONGER)) | cues.slurred | cues.accented
    reached = cues.told | cues.slurred | cues.accented | (cues.beats >= -1e-6)
    return np.asarray(weighty & reached)


def _during(heard: HarmonyHeard, lean: Ints, last: Ints, tone: Ints) -> Ints:
    """All that sounds while the tone lasts, itself included."""
    return set_of(heard.during[lean] | heard.during[last]) | alone(tone)


def _off(tone: Ints, bass: Ints) -> Flags:
    return np.asarray(np.isin((tone - bass) % 12, _DISSONANT) & (bass >= 0))


def _triad(sounding: tuple[Ints, Ints]) -> Flags:
    """Whether what sounds, as (mask, bass), is part of a triad in root position or first inversion."""
    mask, bass = sounding
    inside = (mask[:, None] & ~_TRIAD_SETS) == 0
    upright = (bass[:, None] % 12 != _FIFTHS) | (bass[:, None] < 0)
    return np.asarray((inside & upright).any(axis=1))


def _chord(sounding: tuple[Ints, Ints]) -> Flags:
    """Whether what sounds is part of such a triad or of a seventh chord."""
    return np.asarray(_triad(sounding) | IN_ANY_SEVENTH[sounding[0]])


def _six_four(heard: HarmonyHeard, cues: Cues, last: Ints, tone: Ints, goal: Ints) -> Flags:
    """Whether the tone is fourth or sixth of a six-four, no third with it, the fourth gone with the release."""
    bass = heard.bass[cues.lean]
    after = heard.bass[cues.release]
    after = np.where(after >= 0, after, heard.bass_at_end[last])
    stays = (bass >= 0) & (after >= 0) & (bass % 12 == after % 12)
    during = _during(heard, cues.lean, last, tone)
    later = set_of(heard.during[cues.release]) | alone(goal)

    def has(mask: Ints, above: int) -> Flags:
        return np.asarray((mask & alone(bass + above)) > 0)

    chord = has(during, 5) & ~has(during, 3) & ~has(during, 4) & ~has(later, 5)
    return np.asarray(stays & chord & np.isin((tone - bass) % 12, (5, 8, 9)))
