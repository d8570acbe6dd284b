"""`check`: a recording of one's own singing or playing beside a layer."""

from __future__ import annotations

import argparse
import json
from typing import Any

from earloop.cli.refusal import Refusal
from earloop.cli.scores_in import layer_of, reading_of
from earloop.hearing.compare import Comparison, compare
from earloop.hearing.next_step import next_step
from earloop.hearing.pitch_track import pitch_track
from earloop.hearing.take import TakeError, read_take
from earloop.hearing.tones_sung import tones_sung


def check(words: argparse.Namespace) -> int:
    """Say for each tone of the layer how it was sung: a table and a sentence, or JSON."""
    if not 1 <= words.tolerance <= 100:
        raise Refusal(f"a tolerance of {words.tolerance:g} cents is out of reach: choose 1 to 100")
    reading = reading_of(words, words.file)
    layer = layer_of(words, reading)
    try:
        sung = tones_sung(pitch_track(read_take(words.take)))
    except TakeError as error:
        raise Refusal(str(error)) from error
    heard = compare(reading, layer, sung, words.tolerance, words.relative)
    say = next_step(reading, layer, heard)
    print(json.dumps(_as_json(heard, say)) if words.json else "\n".join([*_rows(heard), "", say]))
    return 0


def _as_json(heard: Comparison, say: str) -> dict[str, Any]:
    """The fixed form; `extra` has seconds from the take's start turned to milliseconds."""
    return {
        "tones": [
            {"index": t.index, "degree": t.degree, "verdict": t.verdict}
            | {"sung_degree": t.sung_degree, "cents": t.cents, "late_ms": t.late_ms}
            for t in heard.tones
        ],
        "extra": [
            {"sung_degree": x.sung_degree, "cents": x.cents}
            | {"start_ms": round(1000 * x.start), "length_ms": round(1000 * x.length)}
            for x in heard.extra
        ],
        "drift_cents": heard.drift,
        "say": say,
    }


def _rows(heard: Comparison) -> list[str]:
    rows = [("tone", "degree", "verdict", "sung", "cents", "late ms")]
    for t in heard.tones:
        late = "" if t.late_ms is None else f"{t.late_ms:+d}"
        cents = "" if t.cents is None else f"{t.cents:+.0f}"
        rows.append((str(t.index + 1), t.degree, t.verdict, t.sung_degree or "", cents, late))
    widths = [max(len(row[k]) for row in rows) for k in range(len(rows[0]))]
    lines = ["  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip() for row in rows]
    lines += [f"extra: {x.sung_degree} at {x.start:.1f} s, {x.length:.2f} s long" for x in heard.extra]
    return [*lines, f"drift: {heard.drift:+.0f} cents"]
