"""Why a phrase ends where it does, in one plain sentence."""

from __future__ import annotations

import numpy as np

from earloop.line import Line, Span
from earloop.reading.phrase_cues import median_ioi
from earloop.reading.phrase_signs import sign_words
from earloop.reading.record import Tonic

_ALIKE = 4
"""So many tones of equal rhythm and contour make two starts or ends alike to the ear (common practice, no source)."""
_PLACES = {0: "the tonic", 7: "the fifth"}


def why_phrase_end(line: Line, home: Tonic, spans: tuple[Span, ...], k: int) -> str:
    """What speaks for the end of phrase `k`, strongest first, such as "long, before a rest, falls to the tonic".

    Raises IndexError where there is no phrase `k`.
    """
    last = spans[k].last
    if last == len(line) - 1:
        return "the line ends here"
    sign = sign_words(line, last)
    reasons = [f"the page has {sign} here"] if sign else []
    reasons += _of_time(line, last)
    reasons += _of_pitch(line, home, last)
    reasons += _of_parallels(line, spans, k)
    if not reasons:
        reasons.append(_of_length(line, spans, k))
    return ", ".join(reasons)


def _of_time(line: Line, last: int) -> list[str]:
    columns = line.columns
    reasons = []
    if columns.length[last] >= 1.5 * median_ioi(columns):
        reasons.append("long")
    elif last and columns.ioi[last] >= 1.4 * max(columns.ioi[last - 1], columns.ioi[last + 1]):
        reasons.append("longer than its neighbors")
    if columns.gap[last] > 0:
        reasons.append("before a rest")
    return reasons


def _of_pitch(line: Line, home: Tonic, last: int) -> list[str]:
    columns = line.columns
    place = _PLACES.get(int(columns.midi[last] - home.key.pc) % 12)
    reasons = []
    if place:
        move = int(columns.interval[last])
        reasons.append(f"{'falls to' if move < 0 else 'rises to' if move > 0 else 'on'} {place}")
    leap = int(columns.interval[last + 1])
    if abs(leap) >= 5:
        reasons.append(f"before a leap {'up' if leap > 0 else 'down'}")
    return reasons


def _of_parallels(line: Line, spans: tuple[Span, ...], k: int) -> list[str]:
    """Whether the next phrase starts as an earlier one, and this one ends as an earlier one or the last."""
    reasons = []
    earlier = next((j for j in range(k + 1) if _starts_alike(line, spans[j], spans[k + 1])), None)
    if earlier is not None:
        name = "the line" if earlier == 0 else f"phrase {earlier + 1}"
        reasons.append(f"what follows starts as {name} did")
    if k and any(_ends_alike(line, spans[j], spans[k]) for j in range(k)):
        reasons.append("ends as an earlier phrase did")
    return reasons


def _starts_alike(line: Line, model: Span, other: Span) -> bool:
    size = min(len(model), len(other), _ALIKE)
    return size == _ALIKE and _alike(line, model.first, other.first, size)


def _ends_alike(line: Line, model: Span, other: Span) -> bool:
    size = min(len(model), len(other), _ALIKE)
    return size == _ALIKE and _alike(line, model.last - size + 1, other.last - size + 1, size)


def _alike(line: Line, first: int, second: int, size: int) -> bool:
    """Equal times (the last tone's own left out) and equal directions of pitch."""
    columns = line.columns
    times = [columns.ioi[start : start + size - 1] for start in (first, second)]
    moves = [np.sign(columns.interval[start + 1 : start + size]) for start in (first, second)]
    return bool(np.allclose(times[0], times[1], rtol=0.05) and (moves[0] == moves[1]).all())


def _of_length(line: Line, spans: tuple[Span, ...], k: int) -> str:
    columns = line.columns
    ends = columns.onset + columns.ioi
    times = [float(ends[span.last] - columns.onset[span.first]) for span in spans]
    usual = float(np.median(times))
    if abs(times[k] - usual) <= 0.15 * usual:
        return "as long as the line's other phrases"
    return "about as much as one breath holds"
