"""One voice of an ABC tune → bars (ABC standard 2.1, section 4).

Our own reader, because music21's loses the breaths of a free line (`.|` becomes a staccato, `!breath!` and
`!fermata!` vanish), reads `x` as a C, and forgets accidentals within the bar unless told the version.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field, replace
from fractions import Fraction

from earloop.line import Marks, Pitch
from earloop.line.pitch import LETTERS
from earloop.scores import abc_fields, abc_signs
from earloop.scores.abc_tokens import NoteParts, Token, note_parts, tokens
from earloop.scores.bars import Bar, Entry
from earloop.scores.printed_signs import stronger

_ALTER = {"^^": 2, "^": 1, "=": 0, "_": -1, "__": -2}
_TUPLET_TIME = {2: 3, 3: 2, 4: 3, 6: 2, 8: 3}


@dataclass
class AbcVoice:
    """Reads music lines in turn; `bars` holds what has been read, after `finish`."""

    unit: Fraction
    meter: tuple[int, int]
    key: abc_fields.AbcKey
    propagate: str = "pitch"
    user_signs: dict[str, str] = field(default_factory=dict)
    name: str = ""
    octaves: int = 0
    semitones: int = 0
    tones: int = 0
    bars: list[Bar] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.start_key = self.key
        self._bar = Bar(meter=self.meter)
        self._now = Fraction(0)
        self._layer = 0
        self._carried: dict[str, int] = {}
        self._signs: list[str] = []
        self._slurs = 0
        self._hairpin = ""
        self._tuplet: tuple[Fraction, int] = (Fraction(1), 0)
        self._broken = Fraction(1)
        self._last: Entry | None = None
        self._endings: tuple[int, ...] = ()
        self._repeat_start = False
        self._line_notes: list[tuple[Entry, int]] = []

    def read(self, code: str) -> None:
        """One line of music code."""
        self._line_notes = []
        for token in tokens(code):
            handler = getattr(self, f"_on_{token.kind}", None)
            if handler is not None:
                handler(token)

    def field(self, letter: str, value: str) -> None:
        """A field in the body or in brackets: key, meter, unit length."""
        if letter == "K":
            self.key = abc_fields.key_of(value)
        elif letter == "M":
            self.meter = abc_fields.meter_of(value)
            self._bar.meter = self.meter
        elif letter == "L":
            self.unit = abc_fields.unit_of(value) or self.unit

    def words(self, value: str) -> None:
        """A `w:` line under the music just read (section 5); further verses are passed over."""
        places, self._line_notes = self._line_notes, []
        at = 0
        for word in re.findall(r"[^\s\-_*|]+-?|[\-_*|]", value.replace("\\-", "‑")):
            if at >= len(places):
                break
            if word == "|":
                bar = places[at - 1][1] if at else -1
                while at < len(places) and places[at][1] <= bar:
                    at += 1
                continue
            if word not in "-_*":
                entry = places[at][0]
                entry.marks = replace(entry.marks, word=word.replace("~", " ").replace("‑", "-"))
            at += 1

    def finish(self) -> list[Bar]:
        """Close the last bar and number all."""
        if self._bar.entries:
            self._close("")
        number = 0
        for index, bar in enumerate(self.bars):
            meter = self.meter_at_start
            upbeat = index == 0 and meter != (0, 0) and bar.length < Fraction(4 * meter[0], meter[1])
            number += 0 if upbeat and len(self.bars) > 1 else 1
            bar.number = str(number)
        return self.bars

    @property
    def meter_at_start(self) -> tuple[int, int]:
        return (self.bars[0].meter if self.bars else None) or (0, 0)

    # one method a kind of token

    def _on_field(self, token: Token) -> None:
        self.field(token.text[1], token.text[3:-1])

    def _on_note(self, token: Token) -> None:
        parts = note_parts(token.text)[0]
        self._sound([self._pitch(parts)], abc_fields.length_of(parts.length))

    def _on_chord(self, token: Token) -> None:
        inner, _, outer = token.text[1:].rpartition("]")
        found = note_parts(inner)
        if not found:
            return
        length = abc_fields.length_of(found[0].length) * abc_fields.length_of(outer)
        self._sound([self._pitch(parts) for parts in found], length)
        if "-" in inner and self._last is not None:
            self._last.tied = True

    def _on_rest(self, token: Token) -> None:
        self._sound([], abc_fields.length_of(token.text[1:]))

    def _on_rests(self, token: Token) -> None:
        beats, unit = self.meter if self.meter != (0, 0) else (4, 4)
        count = min(int(token.text[1:] or 1), 999)
        for index in range(count):
            if index:
                self._close("")
            self._bar.entries.append(Entry(self._now, Fraction(4 * beats, unit)))
            self._now += Fraction(4 * beats, unit)

    def _on_grace(self, token: Token) -> None:
        for parts in note_parts(token.text):
            self._bar.entries.append(Entry(self._now, Fraction(0), (self._pitch(parts),), self._layer, grace=True))
            self.tones += 1

    def _on_tie(self, _: Token) -> None:
        if self._last is not None:
            self._last.tied = True

    def _on_broken(self, token: Token) -> None:
        if self._last is None or self._broken != 1:
            return
        short = Fraction(1, 2 ** min(len(token.text), 3))
        first = 2 - short if token.text[0] == ">" else short
        change = self._last.length * (first - 1)
        self._last.length += change
        self._now += change
        self._broken = 2 - first

    def _on_tuplet(self, token: Token) -> None:
        numbers = [int(part) if part else 0 for part in token.text[1:].split(":")]
        notes = numbers[0]
        compound = self.meter[0] in (6, 9, 12)
        time = (numbers[1] if len(numbers) > 1 else 0) or _TUPLET_TIME.get(notes, 3 if compound else 2)
        count = (numbers[2] if len(numbers) > 2 else 0) or notes
        if notes:
            self._tuplet = (Fraction(time, notes), count)

    def _on_slur(self, _: Token) -> None:
        self._slurs += 1

    def _on_close(self, _: Token) -> None:
        if self._last is not None:
            self._last.marks = replace(self._last.marks, slur_stops=self._last.marks.slur_stops + 1)

    def _on_sign(self, token: Token) -> None:
        self._sign(token.text[1:-1])

    def _on_short(self, token: Token) -> None:
        name = self.user_signs.get(token.text) or abc_signs.SHORTHAND.get(token.text)
        if name:
            self._sign(name)

    def _on_overlay(self, _: Token) -> None:
        self._layer += 1
        self._bar.length = max(self._bar.length, self._now)
        self._now = Fraction(0)

    def _on_ending(self, token: Token) -> None:
        self._end_at(token.text[1:])

    def _on_bar(self, token: Token) -> None:
        text = token.text
        self._break_before_bar()
        colons_before = len(text) - len(text.lstrip(":"))
        colons_after = len(text) - len(text.rstrip(":"))
        if text.strip(":") == "":
            colons_before = colons_after = len(text) // 2
        style = "dotted-bar" if text.lstrip(":")[:1] == "." else ""
        thick = any(sign in text for sign in ("||", "|]", "[|")) and text != "[|]"
        if thick and not colons_before and not colons_after:
            style = "double-bar"
        closes_ending = bool(colons_before or thick)
        if self._bar.entries:
            self._bar.repeat_end = colons_before + 1 if colons_before else 0
            self._close(style)
        elif self.bars:
            last = self.bars[-1]
            last.repeat_end = max(last.repeat_end, colons_before + 1 if colons_before else 0)
            last.barline = stronger(last.barline, style)
        if closes_ending or colons_after:
            self._endings = ()
        self._bar.repeat_start = self._bar.repeat_start or bool(colons_after)
        self._bar.endings = self._endings
        if token.more:
            self._end_at(token.more)

    # what the tokens share

    def _end_at(self, text: str) -> None:
        numbers: list[int] = []
        for part in text.split(","):
            ends = [int(number) for number in re.findall(r"\d{1,2}", part)]
            numbers += range(ends[0], ends[-1] + 1) if ends else []
        self._endings = tuple(numbers)
        self._bar.endings = self._endings

    def _close(self, style: str) -> None:
        self._bar.length = max(self._bar.length, self._now)
        self._bar.barline = style
        self.bars.append(self._bar)
        self._bar = Bar(endings=self._endings)
        self._now, self._layer = Fraction(0), 0
        self._carried.clear()

    def _break_before_bar(self) -> None:
        """A breath written last before a bar line has no note to stand before: it follows the note just read."""
        for name in self._signs:
            if name in abc_signs.BREAKS and self._last is not None:
                sign = stronger(self._last.marks.break_after, abc_signs.BREAKS[name])
                self._last.marks = replace(self._last.marks, break_after=sign)
            elif "fermata" in name and self._last is not None:
                self._last.marks = replace(self._last.marks, fermata=True)
        self._signs = [name for name in self._signs if name not in abc_signs.BREAKS and "fermata" not in name]

    def _pitch(self, parts: NoteParts) -> Pitch:
        letter = parts.letter.upper()
        octave = (5 if parts.letter.islower() else 4) + parts.octave.count("'") - parts.octave.count(",")
        place = letter if self.propagate == "pitch" else f"{letter}{octave}"
        if parts.accidental:
            alter = _ALTER[parts.accidental]
            if self.propagate != "not":
                self._carried[place] = alter
        else:
            alter = self._carried.get(place, self.key.alters.get(letter, 0))
        return Pitch(LETTERS.index(letter), alter, octave)

    def _sound(self, pitches: list[Pitch], multiple: Fraction) -> None:
        ratio, left = self._tuplet
        length = self.unit * multiple * self._broken * (ratio if left else 1)
        self._tuplet = (ratio, max(0, left - 1))
        self._broken = Fraction(1)
        ordered = tuple(sorted(pitches, key=lambda pitch: (pitch.midi, pitch.height), reverse=True))
        marks = self._marks() if pitches else self._rest_marks()
        entry = Entry(self._now, length, ordered, self._layer, marks=marks)
        self._bar.entries.append(entry)
        self._now += length
        self._last = entry
        if pitches:
            self.tones += 1
            self._line_notes.append((entry, len(self.bars)))

    def _sign(self, name: str) -> None:
        if name[-1:] in "()" and name[:-1] in abc_signs.HAIRPINS:
            self._hairpin = abc_signs.HAIRPINS[name[:-1]] if name[-1] == "(" else ""
        elif name in abc_signs.LEAPS:
            target = self._bar if self._bar.entries or not self.bars else self.bars[-1]
            target.leap = abc_signs.LEAPS[name]
        elif name in abc_signs.BAR_SIGNS:
            self._bar.signs += (abc_signs.BAR_SIGNS[name],)
        else:
            self._signs.append(name)

    def _rest_marks(self) -> Marks:
        """A rest takes the signs of breath before it; slurs and all other signs wait for the next note."""
        taken = [name for name in self._signs if name in abc_signs.BREAKS or "fermata" in name]
        self._signs = [name for name in self._signs if name not in taken]
        pauses = [abc_signs.BREAKS[name] for name in taken if name in abc_signs.BREAKS]
        return Marks(break_after=pauses[0] if pauses else "", fermata=any("fermata" in name for name in taken))

    def _marks(self) -> Marks:
        names, self._signs = self._signs, []
        slurs, self._slurs = self._slurs, 0
        if not (names or slurs or self._hairpin):
            return Marks()
        breaks = [abc_signs.BREAKS[name] for name in names if name in abc_signs.BREAKS]
        return Marks(
            break_after=breaks[0] if breaks else "",
            fermata=any("fermata" in name for name in names),
            slur_starts=slurs,
            ornaments=tuple(abc_signs.ORNAMENTS[name] for name in names if name in abc_signs.ORNAMENTS),
            articulations=tuple(abc_signs.ARTICULATIONS[name] for name in names if name in abc_signs.ARTICULATIONS),
            dynamic=next((name for name in names if name in abc_signs.DYNAMICS), ""),
            hairpin=self._hairpin,
        )
