"""The lines of words on the singing screen: what is asked, whose turn it is, where the pitch is, how it went."""

from __future__ import annotations

from earloop.line.counted import counted
from earloop.line.pitch import pitch_from_midi
from earloop.screen.keys import BY_ID
from earloop.screen.keys_text import KeyTold
from earloop.screen.signs import Signs
from earloop.screen.stand.lines import DRONE_WORDS, layer_words, shortened
from earloop.session.judging import Judged, Measure, lag_told
from earloop.session.session import Session
from earloop.session.singing import Way, Whose

HEADING = "Sing or play it back"
CARE = (
    "Sing at ease, rest when it tires, stop at pain. If loudspeakers sound, the microphone hears them too: "
    "use headphones, not loud."
)
WAY_WORDS: dict[Way, str] = {
    "gap": "answer in the gap",
    "along": "sing along, with headphones",
    "own time": "your own time",
}
WHOSE_WORDS: dict[Whose, str] = {
    "nobody": "stopped: space begins",
    "sounding": "listen",
    "yours": "your turn",
    "both": "yours, then the line",
}
DRIFTED = 15.0
"""Cents of drift that are worth a word."""


def _as_on_the_stand(id: str, words: str = "") -> KeyTold:  # noqa: A002 - the key table's own word
    key = BY_ID[id]
    return key.written, words, key.action


KEYS_LINES: tuple[tuple[KeyTold, ...], ...] = (
    (
        ("space", "begin, stop", "play"),
        ("a", "how you answer", "way"),
        ("I", "input", "input"),
        ("b", "hear both", "both"),
        ("K", "keep the take", "keep"),
    ),
    (
        ("(", "", "tolerance(-5)"),
        (")", "tolerance", "tolerance(5)"),
        ("R", "reference", "relative"),
        ("M", "metronome", "beat"),
        ("1-7", "layer", ""),
        _as_on_the_stand("deeper"),
        _as_on_the_stand("closer", "depth"),
        _as_on_the_stand("next"),
        _as_on_the_stand("previous", "phrase"),
    ),
    (
        _as_on_the_stand("faster"),
        _as_on_the_stand("slower", "tempo"),
        _as_on_the_stand("drone", "drone"),
        _as_on_the_stand("softer"),
        _as_on_the_stand("louder", "level"),
        ("{left}", "", "page(-1)"),
        ("{right}", "more tones", "page(1)"),
        _as_on_the_stand("help", "all keys"),
        ("q", "back", "leave"),
    ),
)
"""The keys at the foot, in three lines."""


def heading(session: Session, title: str, signs: Signs, width: int) -> str:
    """What is sung back, in one line."""
    c = session.choices
    where = "the whole line" if c.loop == "whole" else f"phrase {session.phrase + 1} of {len(session.reading.phrases)}"
    between = f" {signs.dot} "
    rest = between.join((where, layer_words(session)))
    room = width - len(rest) - len(HEADING) - 2 * len(between)
    return between.join((HEADING, shortened(title, room, signs), rest))


def state(whose: Whose, way: Way, seconds: float | None, session: Session, signs: Signs, width: int = 78) -> str:
    """Whose turn it is; `seconds` until the next turn. What doesn't fit is left out, the least needed first."""
    word = WHOSE_WORDS[whose]
    if whose == "yours" and way == "own time":
        word = "your turn: a pause ends it, or space"
    elif whose == "sounding" and seconds is not None and seconds < 10:
        word = f"listen: your turn in {max(0, round(seconds))} s"
    sign = signs.silent if whose == "nobody" else signs.plays
    drone = DRONE_WORDS[session.choices.drone]
    parts = [part for part in (f"{sign} {word}", WAY_WORDS[way], f"tempo {session.choices.tempo} %", drone) if part]
    between = f" {signs.phrase} "
    while len(parts) > 1 and len(between.join(parts)) > width:
        parts.pop()
    return between.join(parts)


def measure_words(measure: Measure, signs: Signs) -> str:
    """By what the answers are judged."""
    parts = (
        f"right within {measure.tolerance:.0f} cents",
        "your own pitch" if measure.relative else "score's pitch, any octave",
        f"on the beat within {measure.beat_ms:.0f} ms" if measure.on_the_beat else "own time",
        f"held {measure.held * 100:.0f} %",
    )
    return f" {signs.dot} ".join(parts)


def needle(midi: float | None, cents: float | None, label: str, tolerance: float, decibels: float, signs: Signs) -> str:
    """The pitch now: its name, its cents from the tone meant on a scale of ±150 cents, and how loud it is."""
    loud = max(0, min(8, round((decibels + 60) / 7)))
    level = f"{signs.loop * loud}{signs.sustain * (8 - loud)}"
    if midi is None:
        return f"now  {'no pitch':<27}{_scale(None, tolerance, signs)}  {level}"
    pitch = signs.pitch(pitch_from_midi(round(midi)).name)
    hertz = 440.0 * 2 ** ((midi - 69) / 12)
    told = f"{pitch} {hertz:.0f} Hz"
    if cents is not None:
        told += f", {cents:+.0f} on {label}"
    return f"now  {told:<27}{_scale(cents, tolerance, signs)}  {level}"


HALF = 12
STEP = 12.5
"""Columns on each side of the scale, and cents of one."""


def _scale(cents: float | None, tolerance: float, signs: Signs) -> str:
    cells = [signs.sustain] * (2 * HALF + 1)
    cells[HALF] = signs.phrase
    edge = min(HALF, round(tolerance / STEP))
    cells[HALF - edge], cells[HALF + edge] = "[", "]"
    if cents is not None:
        cells[HALF + max(-HALF, min(HALF, round(cents / STEP)))] = signs.carries
    return f"{signs.flat}{''.join(cells)}{signs.sharp}"


def result(judged: Judged, number: int, signs: Signs) -> str:
    """The answer in one line: right of how many, drift and reference apart from single tones."""
    tones = judged.heard.tones
    right = sum(tone.verdict == "right" for tone in tones)
    parts = [f"answer {number}: {right} of {counted(len(tones), 'tone')} right"]
    if abs(judged.heard.drift) >= DRIFTED:
        way = "rose" if judged.heard.drift > 0 else "fell"
        parts.append(f"the pitch {way} {abs(judged.heard.drift):.0f} cents over the phrase")
    if judged.lag:
        parts.append(lag_told(judged.lag))
    if judged.measure.relative:
        parts.append(f"your reference {judged.heard.offset:+.0f} cents from the score's")
    if judged.heard.extra:
        parts.append(f"{counted(len(judged.heard.extra), 'more tone')} between")
    return f" {signs.dot} ".join(parts)
