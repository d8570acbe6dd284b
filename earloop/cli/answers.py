"""A judged answer as fields for JSON and as a table: the same for `check` and `sing`."""

from __future__ import annotations

from typing import Any

from earloop.cli.columns import aligned
from earloop.session.judging import Judged, lag_told, tones_told


def as_fields(judged: Judged) -> dict[str, Any]:
    """The fixed form of `check --json`; seconds from the take's start turned to milliseconds."""
    heard = judged.heard
    return {
        "tones": tones_told(judged),
        "extra": [
            {"sung_degree": x.sung_degree, "cents": x.cents}
            | {"start_ms": round(1000 * x.start), "length_ms": round(1000 * x.length)}
            for x in heard.extra
        ],
        "drift_cents": heard.drift,
        "lag_ms": judged.lag,
        "reference_cents": heard.offset,
        "tolerance_cents": judged.measure.tolerance,
        "on_the_beat": judged.measure.on_the_beat,
        "say": judged.say,
    }


def as_rows(judged: Judged) -> list[str]:
    """The table: a row a tone."""
    rows = [("tone", "degree", "verdict", "sung", "cents", "late ms", "held")]
    for k, t in enumerate(judged.heard.tones):
        late, share = judged.late(k), judged.held[k]
        held = "" if share is None else f"{100 * share:.0f} %{' short' if judged.short(k) else ''}"
        cents = "" if t.cents is None else f"{t.cents:+.0f}"
        told = "" if late is None else f"{late:+d}"
        rows.append((str(t.index + 1), t.degree, t.verdict, t.sung_degree or "", cents, told, held))
    lines = aligned(rows)
    lines += [f"extra: {x.sung_degree} at {x.start:.1f} s, {x.length:.2f} s long" for x in judged.heard.extra]
    lines.append(f"drift: {judged.heard.drift:+.0f} cents")
    if judged.lag:
        lines.append(f"{lag_told(judged.lag)} (late ms counts from there)")
    if judged.measure.relative:
        lines.append(f"your reference pitch: {judged.heard.offset:+.0f} cents from the score's")
    return lines
