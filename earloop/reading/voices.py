"""Which lines hide in the line: upper, middle, lower, or a single one.

Two questions, each with its own module: which tones go together if there are two lines (`voices_chain`), and
whether there are two at all, passage by passage (`voices_streams`). The tone's posterior
decides both. `voices_third` asks once more of each line found; `why_voice` says the reason in a sentence.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from earloop.line import Line
from earloop.reading.decisions import NONE_DECIDED, Decisions
from earloop.reading.record import Voice
from earloop.reading.voices_chain import upper_chances
from earloop.reading.voices_cues import Flags, Floats
from earloop.reading.voices_reason import why_voice
from earloop.reading.voices_streams import two_line_chances
from earloop.reading.voices_sure import calibrated
from earloop.reading.voices_third import find_third

__all__ = ["find_voices", "why_voice"]

_DECIDED = 12.0
"""Log-odds a decided tone adds for or against two lines around it."""
_SIDE: dict[Voice, tuple[float, float]] = {"upper": (1.0, 0.0), "lower": (0.0, 1.0)}


def find_voices(line: Line, decided: Decisions = NONE_DECIDED) -> tuple[tuple[Voice, ...], tuple[float, ...]]:
    """One label a tone and how sure it is. Decided tones keep their line with certainty; the rest reads around them."""
    columns = line.columns
    chosen = {i: voice for i, voice in decided.voices.items() if 0 <= i < len(line)}
    upper = upper_chances(columns.midi, columns.length, _allowed(len(line), chosen))
    two = two_line_chances(columns.midi, upper, _forced(len(line), chosen))
    split = _split_passages(two > 0.5, upper > 0.5)
    middle, upper = find_third(columns.midi, columns.length, split, upper)
    voices: list[Voice] = ["single"] * len(line)
    for i in np.flatnonzero(split).tolist():
        voices[i] = "middle" if middle[i] > 0.5 else "upper" if upper[i] > 0.5 else "lower"
    clear = np.maximum(upper, 1.0 - upper) * np.where(middle > 0, np.maximum(middle, 1.0 - middle), 1.0)
    sure = calibrated(np.where(split, two * clear, 1.0 - two), split)
    for i, voice in chosen.items():
        voices[i], sure[i] = voice, 1.0
    return tuple(voices), tuple(sure.tolist())


def _allowed(size: int, chosen: Mapping[int, Voice]) -> Floats:
    allowed = np.ones((size, 2))
    for i, voice in chosen.items():
        allowed[i] = _SIDE.get(voice, (1.0, 1.0))
    return allowed


def _forced(size: int, chosen: Mapping[int, Voice]) -> Floats:
    forced = np.zeros(size)
    for i, voice in chosen.items():
        forced[i] = -_DECIDED if voice == "single" else _DECIDED
    return forced


def _split_passages(two: Flags, upper: Flags) -> Flags:
    """Passages with two lines, from their first change of line to their last.

    Where a single line leads into a passage, it stays single to the tone from which the lines first part, and
    likewise after; a passage in which only one of the two would speak is no passage.
    """
    split = np.array(two, dtype=np.bool_)
    edges = np.flatnonzero(np.diff(np.concatenate([[0], split.astype(np.int64), [0]])))
    for first, last in zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True):
        changes = first + np.flatnonzero(upper[first + 1 : last] != upper[first : last - 1])
        if not len(changes):
            split[first:last] = False
            continue
        if first > 0:
            split[first : changes[0]] = False
        if last < len(split):
            split[changes[-1] + 2 : last] = False
    return split
