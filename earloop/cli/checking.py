"""`check`: a recording of one's own singing or playing beside a layer."""

from __future__ import annotations

import argparse
import json
from typing import Any

from earloop.capture.messages import Answer
from earloop.cli.refusal import Refusal
from earloop.cli.scores_in import layer_of, reading_of
from earloop.hearing.pitch_track import pitch_track
from earloop.hearing.take import TakeError, read_take
from earloop.hearing.tones_sung import tones_sung
from earloop.layers import Layer
from earloop.performing import Manner, perform
from earloop.performing.timing import timed
from earloop.reading import Reading
from earloop.session.judging import Asked, Judged, Measure, judge


def check(words: argparse.Namespace) -> int:
    """Say for each tone of the layer how it was sung: a table and a sentence, or JSON."""
    if not 1 <= words.tolerance <= 100:
        raise Refusal(f"a tolerance of {words.tolerance:g} cents is out of reach: choose 1 to 100")
    if not 0 < words.held <= 1:
        raise Refusal(f"a share of {words.held:g} can't be asked of a tone's length: choose more than 0, at most 1")
    if not 10 <= words.tempo <= 300:
        raise Refusal(f"a tempo of {words.tempo} percent is out of reach: choose 10 to 300")
    reading = reading_of(words, words.file)
    layer = layer_of(words, reading)
    try:
        sung = tones_sung(pitch_track(read_take(words.take)))
    except TakeError as error:
        raise Refusal(str(error)) from error
    measure = Measure(words.tolerance, words.held, words.relative, words.in_time)
    answer = Answer(1, 0.0, sung[-1].onset + sung[-1].length if sung else 0.0, sung)
    judged = _judged(reading, layer, answer, measure, words.tempo)
    print(json.dumps(_as_json(judged)) if words.json else "\n".join([*_rows(judged), "", judged.say]))
    return 0


def _judged(reading: Reading, layer: Layer, answer: Answer, measure: Measure, percent: int) -> Judged:
    """In free time, or against a metronome that beats with the first tone heard."""
    performance = perform(reading, layer, Manner())
    pace = 60.0 / (performance.tempo * percent / 100)
    free = judge(Asked(reading, layer, performance, pace, None), answer, measure)
    first = next((tone for tone in free.heard.tones if tone.onset is not None), None)
    if not measure.on_the_beat or first is None or first.onset is None:
        return free
    begin = first.onset - timed(reading, layer).tones[first.index].onset * pace
    return judge(Asked(reading, layer, performance, pace, begin), answer, measure)


def _as_json(judged: Judged) -> dict[str, Any]:
    """The fixed form; `extra` has seconds from the take's start turned to milliseconds.

    `held` is each tone's sung length over the length its proportion asks for.
    """
    heard = judged.heard
    return {
        "tones": [
            {"index": t.index, "degree": t.degree, "verdict": t.verdict}
            | {"sung_degree": t.sung_degree, "cents": t.cents, "late_ms": judged.late(k), "held": judged.held[k]}
            for k, t in enumerate(heard.tones)
        ],
        "extra": [
            {"sung_degree": x.sung_degree, "cents": x.cents}
            | {"start_ms": round(1000 * x.start), "length_ms": round(1000 * x.length)}
            for x in heard.extra
        ],
        "drift_cents": heard.drift,
        "offset_cents": heard.offset,
        "tolerance_cents": judged.measure.tolerance,
        "in_time": judged.measure.on_the_beat,
        "say": judged.say,
    }


def _rows(judged: Judged) -> list[str]:
    heard = judged.heard
    rows = [("tone", "degree", "verdict", "sung", "cents", "late ms", "held")]
    for k, t in enumerate(heard.tones):
        late = "" if judged.late(k) is None else f"{judged.late(k):+d}"
        cents = "" if t.cents is None else f"{t.cents:+.0f}"
        share = judged.held[k]
        held = "" if share is None else f"{100 * share:.0f} %{' short' if judged.short(k) else ''}"
        rows.append((str(t.index + 1), t.degree, t.verdict, t.sung_degree or "", cents, late, held))
    widths = [max(len(row[k]) for row in rows) for k in range(len(rows[0]))]
    lines = ["  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip() for row in rows]
    lines += [f"extra: {x.sung_degree} at {x.start:.1f} s, {x.length:.2f} s long" for x in heard.extra]
    lines.append(f"drift: {heard.drift:+.0f} cents")
    if judged.measure.relative:
        lines.append(f"your own reference pitch: {heard.offset:+.0f} cents")
    return lines
