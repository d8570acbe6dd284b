"""A reading told in sentences that a screen reader can speak: no signs, no abbreviations, one thing after the other."""

from __future__ import annotations

from collections.abc import Iterator

from earloop.line import Span
from earloop.reading import Decisions, Reading
from earloop.reading.decisions import NONE_DECIDED
from earloop.reading.record import Voice

CARRIES = 3
"""The skeleton that is told."""
_NUMBERS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve")
_SIGNS = {1: "sharp", 2: "double sharp", -1: "flat", -2: "double flat"}
_LINES: tuple[Voice, ...] = ("upper", "middle", "lower")


def as_sentences(reading: Reading, decided: Decisions = NONE_DECIDED) -> Iterator[str]:
    """The reading phrase by phrase, and in each what was decided by hand."""
    line, home = reading.line, reading.home
    title = f"{line.title or 'Untitled'}: {counted(len(line), 'tone')}, {counted(len(reading.phrases), 'phrase')}."
    yield title
    if decided.home:
        yield f"The home key is {spoken_key(home.key.name)}, decided by hand."
    else:
        yield f"The home key is {spoken_key(home.key.name)}, {round(100 * home.sure)} percent sure."
    yield from (f"{note[:1].upper()}{note[1:].rstrip('.')}." for note in line.notes)
    if decided:
        count = len(decided.tones)
        yield f"Something is decided by hand about {counted(count, 'tone')}; all else is proposed."
    for number, span in enumerate(reading.phrases, start=1):
        yield from _phrase(reading, number, span, decided)


def counted(number: int, word: str) -> str:
    """`one tone`, `fourteen` in figures."""
    told = _NUMBERS[number] if number < len(_NUMBERS) else f"{number:,}"
    return f"{told} {word}{'' if number == 1 else 's'}"


def spoken_key(name: str) -> str:
    """`B flat major` for `Bb major`."""
    letter, _, mode = name.partition(" ")
    return f"{_accidentals(letter)} {mode}"


def spoken_degree(degree: str) -> str:
    """`sharp 4` for `#4`."""
    return f"{_sign(degree)} {degree[-1]}".strip()


def _accidentals(letter: str) -> str:
    return f"{letter[0]} {_sign(letter)}".strip()


def _sign(name: str) -> str:
    """More than two are said one by one."""
    alter = name.count("#") - name.count("b")
    return _SIGNS.get(alter, " ".join(["sharp" if alter > 0 else "flat"] * abs(alter)))


def _pitch(reading: Reading, tone: int) -> str:
    """`F sharp 4`."""
    pitch = reading.line[tone].pitch
    return f"{_accidentals(f'{pitch.letter}{pitch.accidental}')} {pitch.octave}"


def _tone(reading: Reading, tone: int) -> str:
    return f"tone {tone + 1}, {_pitch(reading, tone)},"


def _told(reading: Reading, tones: list[int]) -> str:
    return ", ".join(f"{spoken_degree(str(reading.degrees[i]))} on {_pitch(reading, i)}" for i in tones)


def _phrase(reading: Reading, number: int, span: Span, decided: Decisions) -> Iterator[str]:
    yield _where(reading, number, span)
    kept = [i for i in span.indexes if reading.weights.level[i] >= CARRIES] or [span.last]
    yield f"It is carried by {_told(reading, kept)}."
    for voice in _LINES:
        own = [i for i in span.indexes if reading.voices[i] == voice and reading.weights.level[i] >= 1]
        if own:
            yield f"Its {voice} line goes {_told(reading, own)}."
    keys = _keys(reading, span)
    if keys:
        yield keys
    for lean in reading.leans:
        if lean.lean in span:
            first, second = (spoken_degree(part) for part in lean.degrees.split("-"))
            release = _tone(reading, lean.release).rstrip(",")
            yield f"T{_tone(reading, lean.lean)[1:]} leans: {first} releases to {second} on {release}."
    for bridge in reading.bridges:
        if bridge.before in span:
            before, again = (_tone(reading, tone).rstrip(",") for tone in (bridge.before, bridge.tone))
            yield f"Before {before}, a bridge: {again}, sounds once more."
    for tone, word in reading.words:
        if tone in span:
            yield f"Over {_tone(reading, tone)} stands the word {word.rstrip('.')}."
    yield from _by_hand(reading, span, decided)


def _where(reading: Reading, number: int, span: Span) -> str:
    first, last = reading.line[span.first].measure, reading.line[span.last].measure
    place = f"tone {span.first + 1}" if len(span) == 1 else f"tones {span.first + 1} to {span.last + 1}"
    if first and last:
        place += f", in measure {first}" if first == last else f", measures {first} to {last}"
    return f"Phrase {number} has {counted(len(span), 'tone')}: {place}."


def _keys(reading: Reading, span: Span) -> str:
    """The keys of the phrase's gestures where one of them is not the home key."""
    parts: list[tuple[Span, str]] = []
    for local in reading.local:
        if local.span.first in span:
            name = spoken_key(local.key.name)
            if parts and parts[-1][1] == name:
                parts[-1] = (Span(parts[-1][0].first, local.span.last), name)
            else:
                parts.append((local.span, name))
    if {name for _, name in parts} == {spoken_key(reading.home.key.name)}:
        return ""
    told = "; ".join(f"tones {part.first + 1} to {part.last + 1} in {name}" for part, name in parts)
    return f"It is heard in keys of its own: {told}." if len(parts) > 1 else f"It is heard in {parts[0][1]}."


def _by_hand(reading: Reading, span: Span, decided: Decisions) -> Iterator[str]:
    """What of the phrase was decided, a sentence a tone."""
    for tone in sorted(decided.tones):
        what = [told for told in _decisions(decided, tone) if told]
        if tone in span and what:
            yield f"By hand: {_tone(reading, tone)} {', and '.join(what)}."
    for (first, second), joined in sorted(decided.links.items()):
        if first in span:
            yield f"By hand: tones {first + 1} and {second + 1} are {'linked' if joined else 'not linked'}."
    for where, key in decided.local:
        if where.first in span:
            yield f"By hand: tones {where.first + 1} to {where.last + 1} are heard in {spoken_key(key.name)}."


def _decisions(d: Decisions, tone: int) -> Iterator[str]:
    if tone in d.levels:
        yield f"sounds down to depth {d.levels[tone]}" if d.levels[tone] else "sounds on the page only"
    if tone in d.voices:
        yield "is of the one line" if d.voices[tone] == "single" else f"is of the {d.voices[tone]} line"
    if tone in d.decorates:
        yield f"decorates tone {d.decorates[tone] + 1}"
    if tone in d.phrase_ends:
        yield f"{'ends' if d.phrase_ends[tone] else 'does not end'} a phrase"
    if tone in d.gesture_ends:
        yield f"{'ends' if d.gesture_ends[tone] else 'does not end'} a gesture"
    if tone in d.leans:
        release = d.leans[tone]
        yield "does not lean" if release is None else f"leans and releases to tone {release + 1}"
    if tone in d.bridges:
        yield f"has {'a' if d.bridges[tone] else 'no'} bridge before it"
    if tone in d.words:
        yield "has a word"
