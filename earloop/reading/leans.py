"""Leans and releases: an unstable tone, then its stable neighbor by step.

What might lean, and what speaks for it, is in `lean_cues`, and what the other parts of its score say, where there are
any, in `lean_harmony`; here each cue has its say, and the sum says whether the tone leans. The first of two slurred
tones is the stronger one and the appoggiatura is louder than what it falls to (Quantz 1752, ch. 8; C. P. E. Bach 1753,
ch. 2; L. Mozart 1756, ch. 7); leap in, step out, accented is the handbooks' appoggiatura (Aldwell & Schachter). That
stress by length stands in for the beat where there is no meter is common practice, no source.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from earloop.line import Columns, Line
from earloop.reading.decisions import NONE_DECIDED, Decisions
from earloop.reading.lean_cues import LONGER, UNLIKE, Cues, find_cues, is_accented, is_slurred, usual_time
from earloop.reading.lean_harmony import LeanHarmony, hear_leans, heard_reasons, heard_sayings
from earloop.reading.record import Degree, Lean, Reading, Voice
from earloop.reading.streams import stream_codes

Floats = NDArray[np.float64]

SAYS = {
    "none": -4.2,
    "slurred": 2.8,
    "shorter than usual": 1.7,
    "stressed, leapt to or prepared": 1.8,
    "nothing before it": -1.3,
    "place": 1.5,
    "held over a stronger beat": 1.7,
    "weaker and no longer": -1.4,
    "semitone": 1.7,
    "comes home in no key": -1.3,
    "rises": -2.2,
    "its release moves on": -1.1,
    "closes": 1.5,
    "in an even run": -1.9,
    "stable in its key": -0.9,
}
"""What each cue adds to the log-odds, per unit of `own_sayings`: a fit on the library and six hand-read sets."""
HEARD_SAYS = {
    "none": -6.0,
    "slurred": 3.2,
    "shorter than usual": 2.2,
    "stressed, leapt to or prepared": 1.6,
    "nothing before it": -1.8,
    "place": 1.8,
    "held over a stronger beat": 1.6,
    "weaker and no longer": -2.2,
    "semitone": 2.3,
    "comes home in no key": -2.0,
    "rises": -2.4,
    "its release moves on": -1.2,
    "closes": 2.2,
    "in an even run": -2.1,
    "stressed, off the bass": 1.2,
    "stressed, in no triad": 0.9,
    "suspended": 0.5,
    "in a six-four": 2.1,
    "of a chord of its own": -1.2,
    "in unison": -1.5,
    "its release in a triad": 0.9,
}
"""The same where other parts sound, with what the harmony adds (`heard_sayings`): a fit of its own."""
CUT, CUT_HEARD = 0.14, 0.30
"""A tone that leans with this chance is proposed, alone and with other parts: about where F1 is best on works left out
of the fit, passages that nobody picked as heavy as the others, and low enough for the handbooks' plain leans."""
SURE, SURE_HEARD = (0.15, 0.47), (0.08, 0.49)
"""How the fit's log-odds become a stated chance (constant, slope), alone and with other parts: as often as it was right
on passages left out, those that nobody picked as heavy as the others; with parts also on two sets that nothing else
is fitted to."""


def find_leans(
    line: Line,
    degrees: tuple[Degree, ...],
    local_degrees: tuple[Degree, ...],
    voices: tuple[Voice, ...],
    decided: Decisions = NONE_DECIDED,
) -> tuple[Lean, ...]:
    """Leans in order of their first tone; what has been decided about a tone stands as decided.

    `degrees` are those in the home key.
    """
    cues = find_cues(line, stream_codes(voices), degrees, local_degrees)
    heard = hear_leans(line, cues)
    chance, alone = chances(cues, heard), _alone(cues, heard)
    stress = _stress(line.columns, cues)
    found: dict[int, Lean] = {}
    for k in apart(cues, chance, np.where(alone, CUT, CUT_HEARD)):
        lean, release = int(cues.lean[k]), int(cues.release[k])
        name = _name(local_degrees, line.columns, lean, release)
        found[lean] = Lean(
            lean, release, name, round(float(stress[k]), 3), round(sure_of(float(chance[k]), not alone[k]), 3)
        )
    for lean, decision in decided.leans.items():
        found.pop(lean, None)
        if decision is not None and 0 <= lean < len(line) and 0 <= decision < len(line):
            found[lean] = _decided(line, local_degrees, lean, decision)
    return tuple(found[lean] for lean in sorted(found))


def why_lean(reading: Reading, lean: Lean) -> str:
    """One plain sentence: what makes the tone lean, and where it goes."""
    line = reading.line
    first, second = line[lean.lean], line[lean.release]
    reasons = _harmony_reasons(reading, lean)
    if first.length > LONGER * second.length:
        reasons.append("longer than its release")
    if is_slurred(line, lean.lean, lean.release):
        reasons.append("slurred to it")
    if is_accented(line, lean.lean):
        reasons.append("accented")
    if not reasons:
        reasons.append("on the stronger place")
    leaning, released = lean.degrees.split("-")
    way = "up" if second.pitch.height > first.pitch.height else "down"
    goals = {"1": "local tonic", "7": "7, third of the dominant", "2": "2, fifth of the dominant"}
    key = goals.get(released, f"stable {released} of its key" if released in ("3", "5") else f"{released} of its key")
    return f"The {leaning} leans ({', '.join(reasons)}) and resolves {way} by step to the {key}."


def _harmony_reasons(reading: Reading, lean: Lean) -> list[str]:
    """What the other parts make of it, and whether it is held into them; nothing for a line alone."""
    if not reading.line.others:
        return []
    cues = find_cues(reading.line, stream_codes(reading.voices), reading.degrees, reading.local_degrees)
    heard = hear_leans(reading.line, cues)
    at = np.flatnonzero((cues.lean == lean.lean) & (cues.release == lean.release)).tolist()
    if heard is None or not at:
        return []
    return heard_reasons(heard, at[0]) + (["held over from before"] if cues.held[at[0]] else [])


def sayings(cues: Cues, heard: LeanHarmony | None) -> Floats:
    """Shape (leans that might be, cues): what each cue has to say, in the order of `SAYS` or `HEARD_SAYS`."""
    rows = own_sayings(cues)
    return _stacked(rows, SAYS) if heard is None else _stacked(rows | heard_sayings(heard), HEARD_SAYS)


def _stacked(rows: dict[str, Floats], says: dict[str, float]) -> Floats:
    return np.column_stack([rows[name] for name in says])


def own_sayings(cues: Cues) -> dict[str, Floats]:
    """What the line itself has to say by each cue, one value for each lean that might be."""
    rows = {
        "none": np.ones(len(cues.lean)),
        "slurred": cues.slurred,
        "shorter than usual": np.clip(cues.size, -2.0, 0.0),
        "stressed, leapt to or prepared": cues.down & cues.told,
        "nothing before it": cues.first,
        "place": np.sign(np.where(np.abs(cues.place) > UNLIKE, cues.place, 0.0)),
        "held over a stronger beat": cues.held,
        "weaker and no longer": (
            (cues.place < -UNLIKE) & (cues.ratio <= np.log2(LONGER)) & ~cues.accented & ~np.bool_(cues.free)
        ),
        "semitone": cues.semitone,
        "comes home in no key": ~cues.home,
        "rises": cues.rises,
        "its release moves on": cues.brief,
        "closes": cues.closes,
        "in an even run": cues.run,
        "stable in its key": cues.stable,
    }
    return {name: np.asarray(row, dtype=np.float64) for name, row in rows.items()}


def apart(cues: Cues, chance: Floats, cut: float | Floats) -> list[int]:
    """The proposals, above `cut`: of two that share a tone, or of which one lies inside the other, the likelier."""
    last: list[int] = []
    for k in np.flatnonzero(chance > cut).tolist():
        while last and cues.lean[k] <= cues.release[last[-1]] and chance[k] > chance[last[-1]]:
            last.pop()
        if not last or cues.lean[k] > cues.release[last[-1]]:
            last.append(k)
    return last


def chances(cues: Cues, heard: LeanHarmony | None) -> Floats:
    """The chance that each of them leans, as the fits have it: that of the line alone where nothing else sounds."""
    rows = own_sayings(cues)
    odds = _odds(rows, SAYS)
    if heard is not None:
        odds = np.where(heard.silent, odds, _odds(rows | heard_sayings(heard), HEARD_SAYS))
    return np.asarray(1.0 / (1.0 + np.exp(-odds)))


def _odds(rows: dict[str, Floats], says: dict[str, float]) -> Floats:
    return np.asarray(_stacked(rows, says) @ np.array(tuple(says.values())))


def _alone(cues: Cues, heard: LeanHarmony | None) -> NDArray[np.bool_]:
    """Whether each of them is read as in a line alone."""
    return np.ones(len(cues.lean), dtype=np.bool_) if heard is None else heard.silent


def sure_of(chance: float, heard: bool) -> float:
    """The chance as it proved on passages left out of the fit; `heard`: with other parts."""
    at_none, slope = SURE_HEARD if heard else SURE
    odds = np.log(chance / (1.0 - chance))
    return float(1.0 / (1.0 + np.exp(-(at_none + slope * odds))))


def _stress(columns: Columns, cues: Cues) -> Floats:
    """0..1: half from the lean's share of the time, the rest from its length in the line, its place and the leap in."""
    length = columns.length[cues.lean]
    tall = length / (length + usual_time(columns))
    place = np.clip(cues.place / 2, 0, 1)
    share = 1.0 / (1.0 + 2.0**-cues.ratio)
    return np.asarray(np.clip(0.5 * share + 0.3 * tall + 0.1 * place + 0.1 * cues.told, 0, 1))


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
