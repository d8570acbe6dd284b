"""What stretches over several notes in music21's tree: slurs, hairpins, volta brackets."""

from __future__ import annotations

from collections import Counter
from typing import Any

from earloop.scores.bars import Bar


class Spans:
    """What stretches over several notes: slurs, hairpins, endings; looked up by the note's identity."""

    def __init__(self, part: Any) -> None:
        self.slur_starts: Counter[int] = Counter()
        self.slur_stops: Counter[int] = Counter()
        self.hairpins: dict[int, tuple[str, int]] = {}
        self.open_hairpin: tuple[str, int] | None = None
        self.brackets: list[Any] = []
        for span in part.recurse().getElementsByClass("Spanner"):
            kind = type(span).__name__
            first, last = span.getFirst(), span.getLast()
            if first is None or last is None:
                continue
            if kind == "Slur" and first is not last:
                self.slur_starts[id(first)] += 1
                self.slur_stops[id(last)] += 1
            elif kind in ("Crescendo", "Diminuendo"):
                self.hairpins[id(first)] = (kind.lower(), id(last))
            elif kind == "RepeatBracket":
                self.brackets.append(span)

    def hairpin_at(self, note: Any) -> str:
        """The hairpin that covers this note; notes must be asked for in order."""
        keys = identities(note)
        self.open_hairpin = next((self.hairpins[key] for key in keys if key in self.hairpins), self.open_hairpin)
        if self.open_hairpin is None:
            return ""
        kind, last = self.open_hairpin
        if last in keys:
            self.open_hairpin = None
        return kind

    def endings(self, measures: list[Any], bars: list[Bar]) -> None:
        """Write volta numbers into the bars; a bracket covers all bars from its first to its last."""
        place = {id(measure): index for index, measure in enumerate(measures)}
        for bracket in self.brackets:
            first, last = place.get(id(bracket.getFirst())), place.get(id(bracket.getLast()))
            if first is None or last is None:
                continue
            numbers = tuple(int(number) for number in bracket.numberRange if str(number).isdigit())
            for bar in bars[first : last + 1]:
                bar.endings = numbers


def identities(note: Any) -> tuple[int, ...]:
    """The note's identity; a grace note also goes by that of the full note it was made from."""
    origin = note.derivation.origin if note.duration.isGrace else None
    return (id(note),) if origin is None else (id(note), id(origin))
