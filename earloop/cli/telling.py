"""A reading on paper: a table, JSON, or sentences that a screen reader can speak."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from earloop.cli.columns import aligned
from earloop.line import Span
from earloop.line.counted import counted
from earloop.reading import Reading

ROLES = {"single": "", "upper": "upper", "middle": "middle", "lower": "lower"}


def as_json(reading: Reading) -> dict[str, Any]:
    """Every part of the reading by name; tones by index from 0, onsets and lengths in quarters."""
    line, weights, home = reading.line, reading.weights, reading.home
    return {
        "title": line.title,
        "part": line.part,
        "notes": list(line.notes),
        "home": {"key": home.key.name, "pc": home.key.pc, "margin": home.margin, "sure": home.sure},
        "phrases": [_pair(span) for span in reading.phrases],
        "gestures": [_pair(span) for span in reading.gestures],
        "local": [{"tones": _pair(p.span), "key": p.key.name, "sure": p.sure} for p in reading.local],
        "tones": [_tone_json(reading, i) for i in range(len(line))],
        "leans": [
            {"lean": x.lean, "release": x.release, "degrees": x.degrees, "stress": x.stress, "sure": x.sure}
            for x in reading.leans
        ],
        "motives": [
            {"name": x.name, "tones": _pair(x.span), "model": _pair(x.model), "treatment": x.treatment}
            | {"steps": x.steps, "exact": x.exact, "sure": x.sure}
            for x in reading.motives
        ],
        "links": [
            {"first": x.first, "second": x.second, "line": x.voice, "steps": x.steps, "sure": x.sure}
            for x in reading.links
        ],
        "chains": [{"tones": list(x.tones), "line": x.voice, "name": x.name} for x in reading.chains],
        "bridges": [{"tone": x.tone, "before": x.before} for x in reading.bridges],
        "parents": list(weights.parent),
    }


def _pair(span: Span) -> list[int]:
    return [span.first, span.last]


def _tone_json(reading: Reading, i: int) -> dict[str, Any]:
    tone, weights = reading.line[i], reading.weights
    return {
        "onset": tone.onset,
        "length": tone.length,
        "pitch": tone.pitch.name,
        "midi": tone.midi,
        "written": tone.written.name if tone.written else None,
        "measure": tone.measure,
        "degree": str(reading.degrees[i]),
        "local_degree": str(reading.local_degrees[i]),
        "line": reading.voices[i],
        "line_sure": reading.voice_sure[i],
        "weight": weights.weight[i],
        "level": weights.level[i],
        "figure": weights.figure[i],
        "decorates": weights.parent[i],
    }


def heading(reading: Reading) -> Iterator[str]:
    """Title, home key, and what was decided while the score was read."""
    line, home, count = reading.line, reading.home, len(reading.phrases)
    yield f"{line.title or 'untitled'}: {counted(len(line), 'tone')}, {counted(count, 'phrase')}"
    yield f"home: {home.key.name} ({round(100 * home.sure)} % sure)"
    yield from line.notes


def table_rows(reading: Reading, written: bool = False) -> Iterator[tuple[str, ...]]:
    """Columns of the table: tone, measure, pitch, length, degree, local, line, depth, figure, decorates, signs."""
    yield ("tone", "measure", "pitch", "length", "degree", "local", "line", "depth", "figure", "decorates", "")
    ends = {span.last for span in reading.phrases}
    for i, tone in enumerate(reading.line.tones):
        parent = reading.weights.parent[i]
        pitch = tone.written if written and tone.written else tone.pitch
        yield (
            str(i + 1),
            tone.measure,
            pitch.name,
            f"{tone.length:g}",
            str(reading.degrees[i]),
            str(reading.local_degrees[i]),
            ROLES[reading.voices[i]],
            "=" * reading.weights.level[i],
            reading.weights.figure[i],
            str(parent + 1) if parent >= 0 else "",
            "; ".join(_signs(reading, i, ends)),
        )


def _signs(reading: Reading, i: int, ends: set[int]) -> Iterator[str]:
    for lean in reading.leans:
        if lean.lean == i:
            yield f"leans {lean.degrees} to tone {lean.release + 1}"
    for bridge in reading.bridges:
        if bridge.before == i:
            yield f"bridge from tone {bridge.tone + 1}"
    if i in ends:
        yield "phrase ends"


def as_table(reading: Reading, written: bool = False) -> str:
    """The heading and an aligned table in plain text."""
    return "\n".join([*heading(reading), "", *aligned(list(table_rows(reading, written)))])
