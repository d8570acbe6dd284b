"""What a person has decided against or beyond the proposal. Readers read around decisions and never overrule them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from earloop.line import Span
from earloop.reading.record import Key, Voice

What = Literal[
    "level", "line", "decorates", "phrase_ends", "gesture_ends", "leans_to", "link", "local", "bridge", "word"
]


@dataclass(frozen=True, slots=True)
class Unplaced:
    """One decision that waits for a tone, since its own is not in this edition of the score.

    `tone` and `second` are numbers (from 0) in the edition it was made on, `pitch` and `second_pitch` their names there
    (empty where not known). `second` is the tone decorated or released to, a link's other tone, a local key's last;
    `value` is the level, the line, whether (ends, link, bridge), the local key or the word, None for the other two.
    """

    what: What
    value: int | str | bool | Key | None
    tone: int
    pitch: str = ""
    second: int | None = None
    second_pitch: str = ""


@dataclass(frozen=True, slots=True)
class Decisions:
    """Hand corrections, all by tone index. Empty means: the proposal as it stands.

    - `levels`: tone → the deepest skeleton it sounds in (0..DEEPEST).
    - `voices`: tone → its line.
    - `decorates`: tone → the tone it decorates.
    - `phrase_ends`, `gesture_ends`: tone → whether a phrase or gesture ends on it (True set, False removed).
    - `home`: the home key; `local`: keys over spans, later entries win.
    - `leans`: tone → the tone it releases to, or None where the tone is not a lean.
    - `links`: (first, second) → joined (True) or cut (False).
    - `bridges`: tone before which its line's last tone is sounded once more → added (True) or dropped (False).
    - `words`: tone → a word over it.
    - `unplaced`: what waits to be put at a tone by hand; readers don't look at it.
    """

    levels: Mapping[int, int] = field(default_factory=dict)
    voices: Mapping[int, Voice] = field(default_factory=dict)
    decorates: Mapping[int, int] = field(default_factory=dict)
    phrase_ends: Mapping[int, bool] = field(default_factory=dict)
    gesture_ends: Mapping[int, bool] = field(default_factory=dict)
    home: Key | None = None
    local: tuple[tuple[Span, Key], ...] = ()
    leans: Mapping[int, int | None] = field(default_factory=dict)
    links: Mapping[tuple[int, int], bool] = field(default_factory=dict)
    bridges: Mapping[int, bool] = field(default_factory=dict)
    words: Mapping[int, str] = field(default_factory=dict)
    unplaced: tuple[Unplaced, ...] = ()

    @property
    def tones(self) -> frozenset[int]:
        """The tones about which something was decided; of the home key and of what waits, none."""
        columns = (
            self.levels, self.voices, self.decorates, self.phrase_ends, self.gesture_ends, self.leans, self.bridges,
            self.words,
        )  # fmt: skip
        tones = {index for column in columns for index in column}
        tones.update(index for pair in self.links for index in pair)
        tones.update(index for span, _ in self.local for index in span.indexes)
        return frozenset(tones)

    def __bool__(self) -> bool:
        return any(getattr(self, name) for name in self.__slots__)

    @property
    def count(self) -> int:
        """How many single decisions there are at tones."""
        parts = (getattr(self, name) for name in self.__slots__ if name not in ("home", "unplaced"))
        return sum(len(part) for part in parts) + (self.home is not None)


NONE_DECIDED = Decisions()
