"""Two readings of one line side by side: where they differ, in the order of the score.

Both must be of the same line (another edition's decisions are aligned before they are read). A degree differs only
where the home or the local key does, so keys stand for degrees here. Nothing is judged: neither side is right.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal, get_args

from earloop.line import Span
from earloop.reading.record import Key, Reading, Voice

Kind = Literal["home", "phrase", "gesture", "local", "line", "level", "decorates", "lean", "link", "bridge", "word"]
KINDS: tuple[Kind, ...] = get_args(Kind)
"""In the order in which readers find them: what comes first often brings what comes later with it."""
SEVERAL = "several"
"""The lines of a run of tones that do not all belong to one."""
Value = int | str | bool | Key | None


@dataclass(frozen=True, slots=True)
class Difference:
    """One thing that two readings of a line say differently about tones `first` to `last` (often one tone).

    `mine` and `other` are the two sides: a Key (home, local), whether something is there (phrase, gesture, link,
    bridge: bool), a line's name or SEVERAL, a level, the tone decorated, the tone a lean releases to (None: no lean),
    or a word (empty: none).
    """

    kind: Kind
    first: int
    last: int
    mine: Value
    other: Value

    @property
    def what(self) -> tuple[Kind, int, int]:
        """What it is about, whatever the sides say of it."""
        return self.kind, self.first, self.last


def differences(mine: Reading, other: Reading) -> tuple[Difference, ...]:
    """All differences in the order of the score. Raises ValueError where the lines are not the same length."""
    if len(mine) != len(other):
        raise ValueError("two readings can be compared only on one line")
    finders = (_keys, _ends, _lines, _tones, _pairs)
    found = [difference for find in finders for difference in find(mine, other)]
    return tuple(sorted(found, key=lambda d: (d.first, KINDS.index(d.kind), d.last)))


def local_key_of(reading: Reading) -> list[Key]:
    """The local key of each tone."""
    return [local.key for local in reading.local for _ in local.span.indexes]


def inner_ends(reading: Reading, spans: tuple[Span, ...]) -> frozenset[int]:
    """The tones that end a phrase or gesture, without the line's last, which ends both in every reading."""
    return frozenset(span.last for span in spans) - {len(reading) - 1}


def _keys(mine: Reading, other: Reading) -> Iterator[Difference]:
    if mine.home.key != other.home.key:
        yield Difference("home", 0, 0, mine.home.key, other.home.key)
    pairs = list(zip(local_key_of(mine), local_key_of(other), strict=True))
    start = 0
    for index in range(1, len(pairs) + 1):
        if index == len(pairs) or pairs[index] != pairs[start]:
            if pairs[start][0] != pairs[start][1]:
                yield Difference("local", start, index - 1, *pairs[start])
            start = index


def _ends(mine: Reading, other: Reading) -> Iterator[Difference]:
    """A tone that ends a phrase in one of them is told as that alone, whatever it does to gestures."""
    phrases = inner_ends(mine, mine.phrases), inner_ends(other, other.phrases)
    gestures = inner_ends(mine, mine.gestures), inner_ends(other, other.gestures)
    for index in phrases[0] ^ phrases[1]:
        yield Difference("phrase", index, index, index in phrases[0], index in phrases[1])
    for index in (gestures[0] ^ gestures[1]) - (phrases[0] ^ phrases[1]):
        yield Difference("gesture", index, index, index in gestures[0], index in gestures[1])


def _lines(mine: Reading, other: Reading) -> Iterator[Difference]:
    """Runs of tones inside a phrase: one hears a single line and the other does not, or both give them to other lines.

    So that two lines against one are told once, and not tone by tone.
    """
    ends = inner_ends(mine, mine.phrases) | inner_ends(other, other.phrases)
    apart: tuple[bool, bool] | tuple[str, str] | None
    start, before = 0, None
    for index in range(len(mine) + 1):
        apart = None
        if index < len(mine) and mine.voices[index] != other.voices[index]:
            pair = mine.voices[index], other.voices[index]
            apart = (pair[0] == "single", pair[1] == "single") if "single" in pair else pair
        if apart != before or index - 1 in ends:
            if before is not None:
                run = slice(start, index)
                yield Difference("line", start, index - 1, _of_run(mine.voices[run]), _of_run(other.voices[run]))
            start, before = index, apart


def _of_run(voices: tuple[Voice, ...]) -> str:
    return voices[0] if len(set(voices)) == 1 else SEVERAL


def _tones(mine: Reading, other: Reading) -> Iterator[Difference]:
    """What each tone is: its level, the word over it, and, where both give it one level, the tone it decorates.

    The one tone that decorates none is where all levels lead to: not a matter of its own.
    """
    words = dict(mine.words), dict(other.words)
    for i in range(len(mine)):
        levels = mine.weights.level[i], other.weights.level[i]
        if levels[0] != levels[1]:
            yield Difference("level", i, i, *levels)
        parents = mine.weights.parent[i], other.weights.parent[i]
        if parents[0] != parents[1] and levels[0] == levels[1] and min(parents) >= 0:
            yield Difference("decorates", i, i, *parents)
        said = words[0].get(i, ""), words[1].get(i, "")
        if said[0] != said[1]:
            yield Difference("word", i, i, *said)


def _pairs(mine: Reading, other: Reading) -> Iterator[Difference]:
    leans = {x.lean: x.release for x in mine.leans}, {x.lean: x.release for x in other.leans}
    for i in leans[0].keys() | leans[1].keys():
        if leans[0].get(i) != leans[1].get(i):
            yield Difference("lean", i, i, leans[0].get(i), leans[1].get(i))
    links = {(x.first, x.second) for x in mine.links}, {(x.first, x.second) for x in other.links}
    for pair in links[0] ^ links[1]:
        yield Difference("link", *pair, pair in links[0], pair in links[1])
    bridges = {x.before for x in mine.bridges}, {x.before for x in other.bridges}
    for i in bridges[0] ^ bridges[1]:
        yield Difference("bridge", i, i, i in bridges[0], i in bridges[1])
