"""The correcting desk: decisions made one by one, each undoable, and the reading around them.

An act returns new `Decisions`; the desk keeps the whole history, so that undo restores the very same reading.
A desk that `reads_later` answers at once: its reading has the decision in it, and the readers follow (`news`).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace

from earloop.line import Line, Span
from earloop.reading import DEEPEST, Decisions, Key, Reading
from earloop.reading.decisions import Unplaced
from earloop.reading.read import Readers
from earloop.reading.record import Voice
from earloop.reading.unplaced import let_go, placed, second_tone, what_it_says
from earloop.session.rereading import Rereading

Watcher = Callable[[Decisions, str], None]


@dataclass
class Desk:
    """One line, the decisions about it and the reading they give. `watch` hears of every change, with its name.

    `prepare` gets each new reading while it is still behind the keys, on the readers' thread.
    """

    line: Line
    decided: Decisions = field(default_factory=Decisions)
    watch: Watcher | None = None
    reads_later: bool = False
    prepare: Callable[[Reading], object] = field(default=lambda reading: None, repr=False)
    reading: Reading = field(init=False)
    proposal: Reading = field(init=False)
    _undo: list[tuple[Decisions, str]] = field(default_factory=list)
    _redo: list[tuple[Decisions, str]] = field(default_factory=list)

    def __post_init__(self) -> None:
        readers = Readers(self.line)
        self.proposal = readers.read()
        self.reading = readers.read(self.decided) if self.decided else self.proposal
        self._rereading = Rereading(readers, self.reading, self.decided, self.reads_later, self.prepare)

    def act(self, decided: Decisions, name: str) -> None:
        """Take these decisions in place of the present ones; `name` says in words what was done."""
        if decided == self.decided:
            return
        self._undo.append((self.decided, name))
        self._redo.clear()
        self._take(decided, name)

    def undo(self) -> str:
        """Take back the last act and return its name; empty where there is none."""
        return self._step(self._undo, self._redo, "took back: ")

    def redo(self) -> str:
        """Do again what was taken back and return its name; empty where there is nothing."""
        return self._step(self._redo, self._undo, "did again: ")

    @property
    def at_first(self) -> Decisions:
        """The decisions with which this sitting began."""
        return self._undo[0][0] if self._undo else self.decided

    @property
    def can_undo(self) -> bool:
        return bool(self._undo)

    @property
    def can_redo(self) -> bool:
        return bool(self._redo)

    def _step(self, source: list[tuple[Decisions, str]], target: list[tuple[Decisions, str]], word: str) -> str:
        if not source:
            return ""
        decided, name = source.pop()
        target.append((self.decided, name))
        self._take(decided, word + name)
        return name

    def _take(self, decided: Decisions, name: str) -> None:
        self.decided = decided
        self._rereading.take(decided, self.reading)
        self.reading = self._rereading.reading
        if self.watch:
            self.watch(decided, name)

    # Reading later

    @property
    def settled(self) -> bool:
        """Whether `reading` is the readers' own; a first look has the decision in it, and nothing read around it."""
        return self._rereading.settled

    def news(self) -> bool:
        """Whether the readers have come after; their reading is then `reading`. Ask now and then; it costs nothing."""
        if not self._rereading.news():
            return False
        self.reading = self._rereading.reading
        return True

    def finish(self) -> None:
        """Wait for the readers."""
        if not self.settled:
            self._rereading.finish()
            self.reading = self._rereading.reading

    # One act a key

    def raise_tone(self, index: int) -> None:
        """Let the tone sound in the next deeper skeleton."""
        self._level(index, min(DEEPEST, self.reading.weights.level[index] + 1))

    def lower_tone(self, index: int) -> None:
        """Take the tone out of the deepest skeleton it sounds in."""
        self._level(index, max(0, self.reading.weights.level[index] - 1))

    def _level(self, index: int, level: int) -> None:
        self.act(
            replace(self.decided, levels={**self.decided.levels, index: level}),
            f"tone {index + 1} sounds down to depth {level}",
        )

    def give_to(self, index: int, voice: Voice) -> None:
        """Give the tone to a line."""
        self.act(
            replace(self.decided, voices={**self.decided.voices, index: voice}),
            f"tone {index + 1} belongs to the {voice} line",
        )

    def decorate(self, index: int, target: int) -> None:
        """Say which tone the tone decorates; a tone can't decorate itself."""
        if index != target:
            self.act(
                replace(self.decided, decorates={**self.decided.decorates, index: target}),
                f"tone {index + 1} decorates tone {target + 1}",
            )

    def turn_phrase_end(self, index: int) -> None:
        """End a phrase on the tone, or no longer."""
        ends = {span.last for span in self.reading.phrases}
        if index < len(self.line) - 1:
            on = index not in ends
            self.act(
                replace(self.decided, phrase_ends={**self.decided.phrase_ends, index: on}),
                f"a phrase {'ends' if on else 'no longer ends'} on tone {index + 1}",
            )

    def turn_gesture_end(self, index: int) -> None:
        """End a gesture on the tone, or no longer; a phrase's end stays a gesture's end."""
        ends = {span.last for span in self.reading.gestures}
        if index < len(self.line) - 1 and index not in {span.last for span in self.reading.phrases}:
            on = index not in ends
            self.act(
                replace(self.decided, gesture_ends={**self.decided.gesture_ends, index: on}),
                f"a gesture {'ends' if on else 'no longer ends'} on tone {index + 1}",
            )

    def set_home(self, key: Key) -> None:
        """Decide the home key."""
        self.act(replace(self.decided, home=key), f"home is {key.name}")

    def set_local(self, span: Span, key: Key) -> None:
        """Decide the key a span is heard in; it takes the place of what was decided inside it."""
        kept = tuple(
            pair for pair in self.decided.local if not (span.first <= pair[0].first and pair[0].last <= span.last)
        )
        self.act(
            replace(self.decided, local=(*kept, (span, key))),
            f"tones {span.first + 1} to {span.last + 1} are heard in {key.name}",
        )

    def turn_lean(self, index: int) -> None:
        """Mark the tone as a lean onto the next tone of its line, or unmark it."""
        if any(lean.lean == index for lean in self.reading.leans):
            release: int | None = None
        else:
            release = self.next_in_line(index)
            if release is None:
                return
        words = "is no lean" if release is None else f"leans and releases to tone {release + 1}"
        self.act(replace(self.decided, leans={**self.decided.leans, index: release}), f"tone {index + 1} {words}")

    def lean_to(self, index: int, release: int) -> None:
        """The tone leans and releases to that later one, over whatever decorates the lean."""
        if release > index:
            self.act(
                replace(self.decided, leans={**self.decided.leans, index: release}),
                f"tone {index + 1} leans and releases to tone {release + 1}",
            )

    def turn_link(self, first: int, second: int) -> None:
        """Join two tones by a link, or cut the link between them."""
        first, second = sorted((first, second))
        if first != second:
            on = not any((link.first, link.second) == (first, second) for link in self.reading.links)
            self.act(
                replace(self.decided, links={**self.decided.links, (first, second): on}),
                f"tones {first + 1} and {second + 1} {'are linked' if on else 'are no longer linked'}",
            )

    def turn_bridge(self, index: int) -> None:
        """Add a bridge before the tone, or drop it."""
        on = not any(bridge.before == index for bridge in self.reading.bridges)
        self.act(
            replace(self.decided, bridges={**self.decided.bridges, index: on}),
            f"{'a' if on else 'no'} bridge before tone {index + 1}",
        )

    def write_word(self, index: int, word: str) -> None:
        """Write a word over the tone; an empty one takes it away."""
        words = {k: v for k, v in self.decided.words.items() if k != index}
        if word.strip():
            words[index] = " ".join(word.split())
        self.act(replace(self.decided, words=words), f"a word over tone {index + 1}")

    def place(self, item: Unplaced, at: int, marks: tuple[int, int] | None = None) -> None:
        """Put a decision that waits at the tone; a second tone of it goes to a mark, or as far on as it was.

        Raises ValueError with a sentence where there is no such second tone.
        """
        second = second_tone(item, at, len(self.line), marks)
        self.act(placed(self.decided, item, at, second), f"placed at tone {at + 1}: {what_it_says(item)}")

    def let_go(self, item: Unplaced) -> None:
        """Let a decision that waits go."""
        self.act(let_go(self.decided, item), f"let go: {what_it_says(item)}")

    def back_to_proposal(self, index: int) -> None:
        """Forget everything decided about the tone, and any key decided over it."""
        d = self.decided
        self.act(
            replace(
                d,
                levels={k: v for k, v in d.levels.items() if k != index},
                voices={k: v for k, v in d.voices.items() if k != index},
                decorates={k: v for k, v in d.decorates.items() if k != index},
                phrase_ends={k: v for k, v in d.phrase_ends.items() if k != index},
                gesture_ends={k: v for k, v in d.gesture_ends.items() if k != index},
                local=tuple(pair for pair in d.local if index not in pair[0]),
                leans={k: v for k, v in d.leans.items() if k != index},
                links={k: v for k, v in d.links.items() if index not in k},
                bridges={k: v for k, v in d.bridges.items() if k != index},
            ),
            f"tone {index + 1} is as proposed",
        )

    def decided_about(self, index: int) -> tuple[str, ...]:
        """What was decided by hand about the tone, in words of the field: `weight`, `line`, `phrase` …"""
        d = self.decided
        held = {
            "weight": index in d.levels,
            "line": index in d.voices,
            "decorates": index in d.decorates,
            "phrase": index in d.phrase_ends,
            "gesture": index in d.gesture_ends,
            "local key": any(index in span for span, _ in d.local),
            "lean": index in d.leans,
            "link": any(index in pair for pair in d.links),
            "bridge": index in d.bridges,
            "word": index in d.words,
        }
        return tuple(name for name, on in held.items() if on)

    def next_in_line(self, index: int) -> int | None:
        """The next tone of the same line, None after its last."""
        voice = self.reading.voices[index]
        for later in range(index + 1, len(self.line)):
            if self.reading.voices[later] in (voice, "single") or voice == "single":
                return later
        return None
