"""An ABC book → its tunes, a tune → its voices (ABC standard 2.1, sections 2, 3 and 7)."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass

from earloop.scores import abc_fields
from earloop.scores.abc_voice import AbcVoice
from earloop.scores.bars import PartHandle, PartPage, ScorePages
from earloop.scores.errors import ScoreError

_FIELD = re.compile(r"([A-Za-z+]):(.*)")
_DIRECTIVE = re.compile(r"(?:%%|I:)\s*propagate-accidentals\s+(not|octave|pitch)")


@dataclass(frozen=True, slots=True)
class AbcTune:
    """One tune's text. `number` is its X: number."""

    number: int
    title: str
    lines: tuple[str, ...]


def tunes(text: str) -> list[AbcTune]:
    """Every tune of the book, in order. Fields before the first X: belong to all."""
    groups: list[list[str]] = [[]]
    for line in text.splitlines():
        if re.match(r"\s*X:", line):
            groups.append([])
        groups[-1].append(line.strip())
    shared = [line for line in groups[0] if _FIELD.match(line) or line.startswith("%%")]
    bodies = groups[1:]
    if not bodies and any(line.startswith("K:") for line in groups[0]):
        shared, bodies = [], [groups[0]]
    return [_tune(index, [*shared, *body]) for index, body in enumerate(bodies, start=1)]


def _tune(index: int, lines: list[str]) -> AbcTune:
    def first(letter: str) -> str:
        return next((line[2:].partition("%")[0].strip() for line in lines if line.startswith(letter)), "")

    number = re.match(r"\d{1,9}", first("X:"))
    return AbcTune(int(number.group()) if number else index, first("T:"), tuple(lines))


def pages(text: str, name: str, wanted: int | str | None) -> ScorePages:
    """The voices of one tune. Raises ScoreError where there is no such tune, or no tune at all."""
    book = [tune for tune in tunes(text) if tune.lines]
    if not book:
        raise ScoreError(f"{name} is not an ABC tune: it has no X: and K: fields; check the file")
    notes: tuple[str, ...] = ()
    if wanted is None:
        chosen, voices = _first_with_notes(book)
        if len(book) > 1:
            named = f"{chosen.number} ({chosen.title.rstrip('.') or 'no title'})"
            notes = (f"{len(book)} tunes in this file: this is {named}; P or --tune takes another.",)
    else:
        chosen = _wanted(book, wanted, name)
        voices = _voices(chosen)
    handles = []
    for number, voice in enumerate(voices.values(), start=1):
        label = voice.name or f"Voice {number}"
        handles.append(PartHandle(number, label, voice.tones, voice.tones > 0, _opener(voice, label, chosen)))
    return ScorePages(chosen.title, tuple(handles), notes)


def _first_with_notes(book: list[AbcTune]) -> tuple[AbcTune, dict[str, AbcVoice]]:
    """The first tune in which anything sounds, else the first."""
    for tune in book:
        voices = _voices(tune)
        if any(voice.tones for voice in voices.values()):
            return tune, voices
    return book[0], _voices(book[0])


def _wanted(book: list[AbcTune], wanted: int | str, name: str) -> AbcTune:
    text = str(wanted).strip()
    if text.isdigit():
        found = [tune for tune in book if tune.number == int(text)]
    else:
        found = [tune for tune in book if tune.title.casefold() == text.casefold()]
        found = found or [tune for tune in book if text and text.casefold() in tune.title.casefold()]
    if found:
        return found[0]
    listed = ", ".join(f"{tune.number} {tune.title}".strip() for tune in book[:20])
    more = f" and {len(book) - 20} more" if len(book) > 20 else ""
    raise ScoreError(f"{name} has no tune {text!r}: it has {listed}{more}")


def _opener(voice: AbcVoice, label: str, tune: AbcTune) -> Callable[[], PartPage]:
    def open_page() -> PartPage:
        steps, semitones = _sounding_move(voice)
        return PartPage(
            name=label,
            bars=voice.finish(),
            fifths=voice.start_key.fifths,
            mode=voice.start_key.mode,
            tempo=_tempo(tune),
            move_steps=steps,
            move_semitones=semitones,
        )

    return open_page


def _sounding_move(voice: AbcVoice) -> tuple[int, int]:
    """Octave clefs and `transpose=` as letters and semitones; the simplest spelling of the interval is meant."""
    octaves, rest = divmod(voice.semitones, 12)
    steps = (0, 1, 1, 2, 2, 3, 3, 4, 5, 5, 6, 6)[rest]
    octaves += voice.octaves
    return 7 * octaves + steps, 12 * octaves + rest


def _tempo(tune: AbcTune) -> float | None:
    head, _ = _header(tune)
    meter = abc_fields.meter_of(head.get("M", "none"))
    unit = abc_fields.unit_of(head.get("L", "")) or abc_fields.default_unit(meter)
    return abc_fields.tempo_of(head["Q"], unit) if "Q" in head else None


def _header(tune: AbcTune) -> tuple[dict[str, str], int]:
    """The header's fields, the last of each letter, and where the body begins. K: ends the header."""
    fields: dict[str, str] = {}
    for index, line in enumerate(tune.lines):
        match = _FIELD.match(line)
        if match:
            fields[match[1]] = match[2].partition("%")[0].strip()
            if match[1] == "K":
                return fields, index + 1
        elif line and not line.startswith("%"):
            return fields, index
    return fields, len(tune.lines)


def _voices(tune: AbcTune) -> dict[str, AbcVoice]:
    """Read the whole tune; one reader a voice."""
    head, body = _header(tune)
    meter = abc_fields.meter_of(head.get("M", "none"))
    key = abc_fields.key_of(head.get("K", "none"))
    unit = abc_fields.unit_of(head.get("L", "")) or abc_fields.default_unit(meter)
    propagate = next((m[1] for line in tune.lines if (m := _DIRECTIVE.match(line))), "pitch")
    signs = dict(_user_signs(tune.lines))
    voices: dict[str, AbcVoice] = {}
    marks = [line[2:] for line in tune.lines[:body] if line.startswith("V:")]

    def voice(text: str) -> AbcVoice:
        ident, _, more = text.strip().partition(" ")
        if ident not in voices:
            voices[ident] = AbcVoice(unit, meter, key, propagate, signs, octaves=key.octaves, semitones=key.semitones)
        _describe(voices[ident], more)
        return voices[ident]

    for text in marks:
        voice(text)
    current: AbcVoice | None = None
    for letter, value in _body(tune.lines[body:]):
        if letter == "V":
            current = voice(value)
            continue
        if current is None:
            current = next(iter(voices.values())) if voices else voice("1")
        if letter == "":
            current.read(value)
        elif letter == "w":
            current.words(value)
        else:
            # A change of key, meter or unit on a line of its own, before any voice, is for all of them.
            current.field(letter, value)
    return voices


def _describe(voice: AbcVoice, more: str) -> None:
    found = re.search(r'(?:name|nm)=(?:"([^"]*)"|(\S+))', more)
    if found:
        voice.name = " ".join((found[1] or found[2] or "").replace("\\n", " ").split())
    described = abc_fields.key_of("none " + more)
    voice.octaves = described.octaves or voice.octaves
    voice.semitones = described.semitones or voice.semitones


def _user_signs(lines: tuple[str, ...]) -> Iterator[tuple[str, str]]:
    for line in lines:
        found = re.match(r"U:\s*([~.h-wH-W])\s*=\s*[!+]([^!+]+)[!+]", line)
        if found:
            yield found[1], found[2]


def _body(lines: tuple[str, ...]) -> Iterator[tuple[str, str]]:
    """(field letter, value) or (``, music) in order; a voice change within a line splits it."""
    for line in lines:
        if line.startswith("%"):
            continue
        match = _FIELD.match(line)
        if match and not line.startswith("|"):
            if match[1] in "VKMLw":
                yield match[1], match[2] if match[1] == "w" else match[2].partition("%")[0]
            continue
        music = re.sub(r"(?<!\\)%.*", "", line)
        pieces = re.split(r"\[V:([^\]]*)\]", music)
        for index, piece in enumerate(pieces):
            if index % 2:
                yield "V", piece
            elif piece.strip():
                yield "", piece
