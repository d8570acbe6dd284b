"""Why a tone weighs what it weighs, in one plain sentence."""

from __future__ import annotations

from earloop.line import Line
from earloop.reading.harmony_heard import harmony_heard
from earloop.reading.record import DEEPEST, Figure, Reading

_ORDINALS = {1: "the tonic", 3: "the third", 5: "the fifth"}
_FIGURES: dict[Figure, str] = {
    "passing": "passes by step to the next tone",
    "neighbor": "steps away and comes back",
    "appoggiatura": "leapt to, resolves by step",
    "suspension": "held back, resolves down by step",
    "retardation": "held back, resolves up by step",
    "anticipation": "sounds the next tone early",
    "escape": "leaves its step by a leap",
    "changing": "circles the tone it decorates",
    "arpeggiation": "another tone of the same chord",
    "pedal": "comes back to the same tone again and again",
    "repetition": "repeats the tone before",
    "grace": "a grace note",
}
_AGAINST: dict[Figure, str] = {
    "passing": "passes by step over the chord that the other parts {hold}",
    "neighbor": "steps away from the chord that the other parts {hold} and comes back",
    "appoggiatura": "leapt to outside the other parts' chord, resolves by step",
    "suspension": "held over a change of the other parts' chord, resolves down by step",
    "retardation": "held over a change of the other parts' chord, resolves up by step",
    "anticipation": "sounds the next tone before the other parts have its chord",
    "escape": "steps out of the other parts' chord and leaves by a leap",
    "changing": "circles the tone it decorates, outside the other parts' chord",
    "pedal": "stays while the other parts change the chord",
    "arpeggiation": "another tone of the other parts' chord",
}
"""The same where other parts sound."""


def why_weight(reading: Reading, index: int) -> str:
    """The reason for the weight of tone `index`, such as "long, before a rest, closes the phrase".

    Raises IndexError outside the line.
    """
    line, weights = reading.line, reading.weights
    if not 0 <= index < len(line):
        raise IndexError(f"tone {index} is outside the line of {len(line)} tones")
    figure, parent = weights.figure[index], weights.parent[index]
    reasons = [] if figure == "grace" else _of_time(line, index)
    span = reading.phrases[reading.phrase_of(index)]
    if weights.level[index] == DEEPEST and index == span.last:
        reasons.append("closes the phrase")
    if figure != "structural":
        reasons.append(_figure(line, figure, index))
    elif reading.degrees[index].alter == 0 and reading.degrees[index].number in _ORDINALS:
        reasons.append(f"on {_ORDINALS[reading.degrees[index].number]}")
    if parent < 0:
        reasons.append("everything else hangs on it")
    elif weights.level[index] < DEEPEST:
        reasons.append(f"belongs to {line[parent].pitch.name} {_where(parent - index)}")
    text = ", ".join(reasons) or "one of the phrase's pillars"
    return f"{text[0].upper()}{text[1:]}."


def _figure(line: Line, figure: Figure, index: int) -> str:
    heard = harmony_heard(line)
    if heard is None or figure not in _AGAINST or not heard.any[index]:
        return _FIGURES[figure]
    return _AGAINST[figure].format(hold="make" if heard.struck[index].any() else "hold")


def _of_time(line: Line, index: int) -> list[str]:
    columns = line.columns
    ioi = columns.ioi
    near = [float(ioi[i]) for i in (index - 1, index + 1) if 0 <= i < len(line)]
    reasons = []
    if near and ioi[index] >= 1.5 * max(near):
        reasons.append("long")
    elif near and ioi[index] <= min(near) / 1.5:
        reasons.append("short")
    meter = line.meter
    if meter and not columns.grace[index]:
        place = (columns.onset[index] - meter.first_downbeat) / meter.measure_length
        if len(line.meters) == 1 and abs(place - round(place)) < 1e-3:
            reasons.append("on the downbeat")
    if columns.gap[index] > 0:
        reasons.append("before a rest")
    return reasons


def _where(away: int) -> str:
    if abs(away) == 1:
        return "just after" if away > 0 else "just before"
    return f"{abs(away)} tones {'on' if away > 0 else 'back'}"
