"""The batch form: JSON Lines of tones in, JSON Lines of readings out, in order. A fixed contract."""

from __future__ import annotations

import json
from itertools import pairwise
from typing import Any

from earloop.line import Line, Meter, OtherTone, Pitch, Tone
from earloop.line.pitch import pitch_from_midi, pitch_from_name
from earloop.reading import Decisions, Key, Reading, read


def answer(row: str) -> tuple[str, bool]:
    """The JSON answer to one JSON row, and False where it is an error."""
    name: Any = None
    try:
        item = json.loads(row)
        if not isinstance(item, dict):
            raise ValueError("a row must be a JSON object")
        name = item.get("id")
        return json.dumps(columns_of(name, read(line_from(item), _decided(item)))), True
    except (ValueError, KeyError, TypeError, OverflowError, AttributeError) as error:
        return json.dumps({"id": name, "error": _sentence(error)}), False


def line_from(item: dict[str, Any]) -> Line:
    """The Line of one batch row. Raises ValueError with a sentence where the row makes no line."""
    rows = item.get("tones")
    if not isinstance(rows, list) or not rows:
        raise ValueError("tones must be a list of at least one tone")
    fifths, mode = _key(item)
    tones = tuple(_tone(row, fifths or 0) for row in rows)
    if any(b.onset < a.onset for a, b in pairwise(tones)):
        raise ValueError("tones must be in order of onset")
    spelled = all("spelling" in row for row in rows)
    others = _others(item, fifths or 0)
    return Line(tones, meters=_meters(item), fifths=fifths, mode=mode, spelled=spelled, others=others)


def columns_of(name: Any, reading: Reading) -> dict[str, Any]:
    """The answer for one reading, with the names the batch form fixes."""
    home = reading.home
    return {
        "id": name,
        "phrase_ends": [span.last for span in reading.phrases[:-1]],
        "tonic": {"pc": home.key.pc, "margin": round(home.margin, 4), "ranked": list(home.ranked)},
        "weights": [round(weight, 6) for weight in reading.weights.weight],
        "lines": list(reading.voices),
        "degrees": [str(degree) for degree in reading.degrees],
        "figures": list(reading.weights.figure),
    }


def _tone(row: Any, fifths: int) -> Tone:
    onset, length, pitch = _sound(row, fifths, "a tone")
    return Tone(onset, length, pitch, grace=length == 0)


def _others(item: dict[str, Any], fifths: int) -> tuple[OtherTone, ...]:
    """What sounds with the line, in any order; what has no length takes no time and is left out."""
    rows = item.get("others") or []
    if not isinstance(rows, list):
        raise ValueError("others must be a list of tones")
    sounds = [OtherTone(*_sound(row, fifths, "an other tone")) for row in rows]
    return tuple(sorted((tone for tone in sounds if tone.length), key=lambda tone: (tone.onset, tone.pitch.midi)))


def _sound(row: Any, fifths: int, what: str) -> tuple[float, float, Pitch]:
    onset, length, midi = float(row["onset"]), float(row["length"]), int(row["midi"])
    if not (length >= 0 and abs(onset) < 1e9 and length < 1e9 and 0 <= midi <= 127):
        raise ValueError(f"{what} is out of range: onset {onset}, length {length}, midi {midi}")
    pitch = pitch_from_name(row["spelling"]) if row.get("spelling") else pitch_from_midi(midi, fifths)
    if pitch.midi != midi:
        raise ValueError(f"the spelling {row['spelling']} is not MIDI key {midi}")
    return onset, length, pitch


def _meters(item: dict[str, Any]) -> tuple[tuple[float, Meter], ...]:
    meter = item.get("meter")
    if not meter:
        return ()
    beats, unit, start = int(meter["beats"]), int(meter["unit"]), float(meter.get("first_downbeat", 0.0))
    if not (1 <= beats <= 64 and unit in (1, 2, 4, 8, 16, 32, 64) and abs(start) < 1e9):
        raise ValueError(f"the meter {beats}/{unit} with its first downbeat at {start} can't be counted")
    return ((0.0, Meter(beats, unit, start)),)


def _key(item: dict[str, Any]) -> tuple[int | None, str]:
    key = item.get("key")
    if not key:
        return None, ""
    return int(key["fifths"]), str(key.get("mode", ""))


def _decided(item: dict[str, Any]) -> Decisions:
    fifths, mode = _key(item)
    if fifths is None or mode not in ("major", "minor"):
        return Decisions()
    return Decisions(home=Key(fifths + 3, "minor") if mode == "minor" else Key(fifths, "major"))


def _sentence(error: Exception) -> str:
    if isinstance(error, KeyError):
        return f"a tone or meter lacks {error.args[0]!r}"
    return str(error) or type(error).__name__
