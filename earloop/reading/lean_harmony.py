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
from earloop.reading.chord_sets import IN_CHORD, IN_TRIAD, SIZE, WHOLE_SEVENTH, alone, set_of, turned
from earloop.reading.harmony_heard import HarmonyHeard, harmony_heard
from earloop.reading.lean_cues import LONGER, UNLIKE, Cues

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]
Ints = NDArray[np.int64]

_TRIADS = ((0, 4, 7), (0, 3, 7), (0, 3, 6))
_DISSONANT = (1, 2, 5, 10, 11)
"""Semitones above the bass, octaves left out: seconds, the fourth and sevenths; the tritone where it is no chord's."""
_TRIAD_SETS = turned(_TRIADS)
_FIFTHS = np.array([(root + 7) % 12 if kind[2] == 7 else -1 for kind in _TRIADS for root in range(12)])
"""The fifth of each perfect triad: in the bass it makes a six-four, which is no consonance."""


@dataclass(frozen=True)
class LeanHarmony:
    """The leans that might be, in the order of their cues; one flag each.

    `off_bass`: dissonant with the bass when it begins; `bass_moved`: with the bass at its end, though not when it
    began; `foreign`, `foreign_later`: makes no triad, nor part of one, with what sounds when it begins, when it ends;
    `suspended`: held over a stronger beat where it is foreign, down to a tone that fits. `own_chord`: with what sounds
    it makes a full triad or a seventh chord with a tritone; `unison`: nothing but itself sounds. `six_four`: fourth or
    sixth over a bass that stays, in a six-four chord that is gone with the release. `release_triad`: the release makes
    a triad with what sounds when it begins. `stressed`: it has a lean's weight (beat, length, accent or slur) and is
    not just passed through. `silent`: no other part sounds with it or its release.
    """

    off_bass: Flags
    bass_moved: Flags
    foreign: Flags
    foreign_later: Flags
    suspended: Flags
    own_chord: Flags
    unison: Flags
    six_four: Flags
    release_triad: Flags
    stressed: Flags
    silent: Flags


def hear_leans(line: Line, cues: Cues) -> LeanHarmony | None:
    """What the other parts say about the leans that might be; None for a line alone."""
    heard = harmony_heard(line)
    if heard is None:
        return None
    lean, release = cues.lean, cues.release
    # A lean that its own neighbor interrupts ends with the tone before its release.
    last = np.where(cues.heard > line.columns.length[lean] + 1e-6, release - 1, lean)
    tone, goal = line.columns.midi[lean] % 12, line.columns.midi[release] % 12
    first, later, after = (
        set_of(table) for table in (heard.at_onset[lean], heard.at_end[last], heard.at_onset[release])
    )
    own = alone(tone)
    during, resolved = set_of(heard.during[lean] | heard.during[last]), set_of(heard.during[release])
    first, later, after = _whole(first, during), _whole(later, during), _whole(after, resolved)
    off_bass, off_later = _off(tone, heard.bass[lean], first), _off(tone, heard.bass_at_end[last], later)
    foreign_later = (later > 0) & ~IN_TRIAD[later | own]
    fits = (after == 0) | IN_CHORD[after | alone(goal)]
    return LeanHarmony(
        off_bass=off_bass,
        bass_moved=off_later & ~off_bass,
        foreign=(first > 0) & ~IN_TRIAD[first | own],
        foreign_later=foreign_later,
        suspended=cues.held & ~cues.rises & foreign_later & fits,
        own_chord=(_upright(during | own, heard.bass[lean]) & np.isin(during | own, _TRIAD_SETS))
        | WHOLE_SEVENTH[later | own],
        unison=(during > 0) & ((during & ~own) == 0),
        six_four=_six_four(heard, cues, last, tone, during | own, resolved | alone(goal)),
        release_triad=(after > 0) & _upright(after | alone(goal), heard.bass[release]),
        stressed=_stressed(cues),
        silent=(during == 0) & (resolved == 0),
    )


def heard_sayings(heard: LeanHarmony) -> dict[str, Floats]:
    """What the other parts have to say by each cue, one value for each lean that might be."""
    rows = {
        "stressed, off the bass": heard.stressed & (heard.off_bass | heard.bass_moved),
        "stressed, in no triad": heard.stressed * (heard.foreign.astype(np.float64) + heard.foreign_later),
        "suspended": heard.suspended,
        "in a six-four": heard.six_four,
        "of a chord of its own": heard.own_chord,
        "in unison": heard.unison,
        "its release in a triad": heard.release_triad,
    }
    return {name: np.asarray(row, dtype=np.float64) for name, row in rows.items()}


def heard_reasons(heard: LeanHarmony, k: int) -> list[str]:
    """What of the harmony makes the tone lean, in a player's words."""
    if heard.six_four[k]:
        return ["in a six-four over the bass"]
    if heard.off_bass[k]:
        return ["dissonant with the bass"]
    if heard.bass_moved[k]:
        return ["dissonant with the bass that moves under it"]
    return ["foreign to the chord"] if heard.foreign[k] or heard.foreign_later[k] else []


def _stressed(cues: Cues) -> Flags:
    weighty = (cues.place > UNLIKE) | cues.held | (cues.ratio > np.log2(LONGER)) | cues.slurred | cues.accented
    reached = cues.told | cues.slurred | cues.accented | (cues.beats >= -1e-6)
    return np.asarray(weighty & reached)


def _whole(sounding: Ints, during: Ints) -> Ints:
    """What sounds, and where that is no whole chord but is broken over the tone's time, all that does then."""
    broken = (sounding > 0) & (SIZE[sounding] < 3) & IN_CHORD[sounding | during]
    return np.where(broken, sounding | during, sounding)


def _off(tone: Ints, bass: Ints, sounding: Ints) -> Flags:
    above = (tone - bass) % 12
    whole = sounding | alone(tone)
    tritone = (above == 6) & ~(IN_CHORD[whole] & (SIZE[whole] >= 3))
    return np.asarray((np.isin(above, _DISSONANT) | tritone) & (bass >= 0))


def _upright(sounding: Ints, bass: Ints) -> Flags:
    """Whether what sounds is part of a triad in root position or first inversion."""
    inside = (sounding[:, None] & ~_TRIAD_SETS) == 0
    upright = (bass[:, None] % 12 != _FIFTHS) | (bass[:, None] < 0)
    return np.asarray((inside & upright).any(axis=1))


def _six_four(heard: HarmonyHeard, cues: Cues, last: Ints, tone: Ints, during: Ints, later: Ints) -> Flags:
    """Whether the tone is fourth or sixth of a six-four, no third with it, the fourth gone with the release.

    `during` and `later` are all that sounds with it and with its release, themselves included.
    """
    bass = heard.bass[cues.lean]
    after = heard.bass[cues.release]
    after = np.where(after >= 0, after, heard.bass_at_end[last])
    stays = (bass >= 0) & (after >= 0) & (bass % 12 == after % 12)

    def has(mask: Ints, above: int) -> Flags:
        return np.asarray((mask & alone(bass + above)) > 0)

    chord = has(during, 5) & ~has(during, 3) & ~has(during, 4) & ~has(later, 5)
    return np.asarray(stays & chord & np.isin((tone - bass) % 12, (5, 8, 9)))
