"""A MIDI file → parts of quantized notes (Standard MIDI File 1.0), read with mido.

Lengths in a MIDI file are ticks. An exported score's ticks are exact, a played one's are not; so every beat gets the
coarsest grid that its onsets and ends fit, exact grids first. A file with no time signature stays unmetered.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction
from functools import partial
from io import BytesIO
from typing import Any

from earloop.line.spelling import spell_by_context, spell_in_key
from earloop.scores.bars import Bar, Entry, PartHandle, PartPage, ScorePages
from earloop.scores.errors import one_sentence
from earloop.scores.midi_grid import Ticks, on_grid

_PERCUSSION = 9
"""General MIDI: channel 10 is percussion (counted from 0 here)."""
_MOST_BARS = 20_000
"""A damaged file can claim years of silence; what comes after this many bars is one long one."""
_LETTERS = [f"{letter}{sign}" for sign in ("b", "", "#") for letter in "FCGDAEB"]
_FIFTHS = {name: place for place, name in enumerate(_LETTERS, start=-8)}
"""Signature of each major key; a minor key's is three fifths lower. mido names keys `Bb`, `F#m`."""


@dataclass(slots=True)
class _Track:
    name: str
    channel: int
    notes: list[Ticks] = field(default_factory=list)


@dataclass(slots=True)
class _Heard:
    """What a file says: its tracks, and what holds for all of them, in ticks."""

    division: float
    tracks: list[_Track] = field(default_factory=list)
    meters: list[tuple[int, tuple[int, int]]] = field(default_factory=list)
    fifths: int | None = None
    mode: str = ""
    tempo: float | None = None
    title: str = ""


def pages(data: bytes, name: str) -> ScorePages:
    """The parts of a MIDI file, one a track and channel. Raises ScoreError for a damaged file."""
    heard = _heard(_opened(data, name))
    tracks = [track for track in heard.tracks if track.notes]
    handles = []
    for number, track in enumerate(tracks, start=1):
        label = track.name or f"Part {number}"
        opened = partial(_page, heard, track, label)
        handles.append(PartHandle(number, label, len(track.notes), track.channel != _PERCUSSION, opened))
    return ScorePages(heard.title, tuple(handles))


def _opened(data: bytes, name: str) -> Any:
    import mido

    if data[:4] == b"RIFF":
        data = data[max(data.find(b"MThd"), 0) :]
    with one_sentence(name):
        return mido.MidiFile(file=BytesIO(data), clip=True)


def _heard(file: Any) -> _Heard:
    division = file.ticks_per_beat
    if division <= 0:
        # SMPTE time: frames a second and ticks a frame; a quarter is half a second at the default tempo.
        division = max(1.0, -(division >> 8) * (division & 0xFF) * 0.5)
    heard = _Heard(float(division))
    for track in file.tracks:
        _hear_track(track, heard)
    heard.meters.sort(key=lambda item: item[0])
    return heard


def _hear_track(track: Any, heard: _Heard) -> None:
    now = 0
    name = ""
    by_channel: dict[int, _Track] = {}
    sounding: dict[tuple[int, int], list[int]] = {}
    for message in track:
        now += message.time
        kind = message.type
        if kind == "note_on" and message.velocity > 0:
            by_channel.setdefault(message.channel, _Track(name, message.channel))
            sounding.setdefault((message.channel, message.note), []).append(now)
        elif kind in ("note_on", "note_off"):
            starts = sounding.get((message.channel, message.note))
            if starts:
                by_channel[message.channel].notes.append(Ticks(starts.pop(0), now, message.note))
        elif kind == "track_name":
            name = " ".join(message.name.split())
        else:
            _hear_meta(message, now, heard)
    for (channel, key), starts in sounding.items():
        # A note that is never ended lasts to the end of its track.
        by_channel[channel].notes += [Ticks(start, now, key) for start in starts]
    if name and not by_channel and not heard.title:
        heard.title = name
    for part in by_channel.values():
        part.name = part.name or name
        part.notes.sort(key=lambda note: (note.start, -note.key))
        heard.tracks.append(part)


def _hear_meta(message: Any, now: int, heard: _Heard) -> None:
    kind = message.type
    if kind == "time_signature":
        heard.meters.append((now, (message.numerator, message.denominator)))
    elif kind == "key_signature" and heard.fifths is None:
        minor = message.key.endswith("m")
        heard.fifths = _FIFTHS[message.key.removesuffix("m")] - (3 if minor else 0)
        heard.mode = "minor" if minor else "major"
    elif kind == "set_tempo" and heard.tempo is None and message.tempo:
        heard.tempo = round(60_000_000 / message.tempo, 3)


def _page(heard: _Heard, track: _Track, name: str) -> PartPage:
    notes, moved = on_grid(track.notes, heard.division)
    keys = [key for _, _, key in notes]
    pitches = spell_by_context(keys) if heard.fifths is None else spell_in_key(keys, heard.fifths, heard.mode)
    spelled = zip(notes, pitches, strict=True)
    entries = [Entry(start, end - start, (pitch,)) for (start, end, _), pitch in spelled if end > start]
    page = PartPage(name, _bars(_voiced(entries), heard), heard.fifths, heard.mode, heard.tempo, spelled=False)
    if moved:
        page.notes.append("Played, not printed: onsets and lengths are rounded to the nearest simple note values.")
    page.notes.append("A MIDI file has no letters: sharps and flats are a guess.")
    return page


def _voiced(entries: Sequence[Entry]) -> list[Entry]:
    """A lower note that begins well within a higher one is accompaniment; a slight overlap is legato."""
    voiced: list[Entry] = []
    top: Entry | None = None
    for entry in entries:
        if top is not None and entry.onset > top.onset:
            end = top.onset + top.length
            overlap = end - entry.onset
            below = entry.pitches[0].midi < top.pitches[0].midi
            if below and overlap > max(Fraction(1, 8), top.length * 3 / 10):
                voiced.append(replace(entry, voice=1))
                continue
        if top is None or entry.onset > top.onset or entry.pitches[0].midi > top.pitches[0].midi:
            top = entry
        voiced.append(entry)
    return voiced


def _bars(entries: Sequence[Entry], heard: _Heard) -> list[Bar]:
    """Bars by the file's time signatures; one long bar where it has none."""
    end = max((entry.onset + entry.length for entry in entries), default=Fraction(0))
    if not heard.meters:
        return [Bar(length=end, entries=list(entries))]
    sound_meters = [(at, meter) for at, meter in heard.meters if meter[0] and meter[1] <= 64]
    changes = [(Fraction(round(at / heard.division * 48), 48), meter) for at, meter in sound_meters]
    bars: list[Bar] = []
    now, place, waiting = Fraction(0), 0, 0
    meter: tuple[int, int] = (4, 4)
    while now < end:
        bar = Bar(number=str(len(bars) + 1))
        while place < len(changes) and changes[place][0] <= now:
            meter = bar.meter = changes[place][1]
            place += 1
        bar.length = Fraction(4 * meter[0], meter[1])
        if place < len(changes):
            bar.length = min(bar.length, changes[place][0] - now)
        if len(bars) >= _MOST_BARS:
            bar.length = end - now
        while waiting < len(entries) and entries[waiting].onset < now + bar.length:
            entry = entries[waiting]
            bar.entries.append(replace(entry, onset=entry.onset - now))
            waiting += 1
        now += bar.length
        bars.append(bar)
    return bars
