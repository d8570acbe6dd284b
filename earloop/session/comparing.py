"""Another reading beside one's own: from difference to difference, hearing one and then the other, taking over."""

from __future__ import annotations

from bisect import bisect_left
from collections import deque
from collections.abc import Callable
from dataclasses import dataclass
from threading import Lock
from typing import Literal

from earloop.layers import LayerName, build, entry
from earloop.line import Line, Span
from earloop.performing import Manner, Performance, perform
from earloop.performing.in_turn import in_turn
from earloop.reading import DEEPEST, Decisions, Reading
from earloop.reading.agreement import Agreement, of_skeletons, of_the_rest
from earloop.reading.differences import Difference, Kind, differences
from earloop.reading.differences_told import told
from earloop.reading.read import Readers
from earloop.reading.take_over import with_all_taken, with_taken
from earloop.session.session import Session

Side = Literal["mine", "other", ""]
REMEMBERED = 8
"""So many newest readings of mine are not compared again: taking back and doing again go to and fro between them."""
_HEARD_IN: dict[Kind, LayerName] = {"level": "skeleton", "bridge": "bridged", "decorates": "held"}
"""Where each kind is heard best; lines in their own layer, all else on the page."""


@dataclass(frozen=True, slots=True)
class Compared:
    """A reading of mine with what came of comparing it.

    `differing` are the tones at which a difference begins or ends, in order; `figures` those that are the same at every
    depth.
    """

    mine: Reading
    differences: tuple[Difference, ...]
    differing: tuple[int, ...]
    figures: tuple[Agreement, ...]


class Comparing:
    """Made for one other reading of the session's line; `leave` gives the player back what the session plays.

    `others` are the decisions behind `other`. `at` is the place in `differences` of the present one. `layer` is the
    layer that was asked for, None for the one in which the difference is heard best. `put_by` keeps a copy of one's own
    decisions before all of the other's take their place, and says where.
    """

    def __init__(self, session: Session, name: str, others: Decisions, other: Reading) -> None:
        self.session = session
        self.name = name
        self.others = others
        self.other = other
        self.layer: LayerName | None = None
        self.put_by: Callable[[], str] = _nowhere
        self.differences: tuple[Difference, ...] = ()
        self.at = 0
        self._readers = Readers(session.line)
        self._reading_alone = Lock()
        self._depth = dict(session.choices.depths).get("skeleton", entry("skeleton").depth)
        self._known: deque[Compared] = deque(maxlen=REMEMBERED)
        self._turn = 0.0
        self._sounded = False
        self.renew()
        self._nearest(session.cursor)

    # Where one is

    @property
    def line(self) -> Line:
        return self.session.line

    @property
    def mine(self) -> Reading:
        return self.session.reading

    @property
    def present(self) -> Difference | None:
        return self.differences[self.at] if self.differences else None

    @property
    def depth(self) -> int:
        """The skeleton that is shown: as chosen, but one in which the present difference can be seen."""
        d = self.present
        if d is None or d.kind != "level":
            return self._depth
        low, high = sorted((int(d.mine or 0), int(d.other or 0)))  # type: ignore[arg-type]
        return max(low + 1, min(high, self._depth))

    @property
    def figures(self) -> tuple[Agreement, ...]:
        return (of_skeletons(self.mine, self.other, self.depth), *self._now().figures)

    @property
    def differing(self) -> tuple[int, ...]:
        """The tones at which a difference begins or ends, in order."""
        return self._now().differing

    def sentence(self) -> str:
        """The present difference with both sides."""
        return told(self.line, self.present) if self.present else "The two readings are the same."

    def renew(self) -> None:
        """Compare again after a decision; the present difference, or what comes after it, stays the present one."""
        before, self._compared = self.present, self.mine
        self.differences = found = self._now().differences
        if before is not None:
            here = range(bisect_left(found, before.first, key=lambda d: d.first), len(found))
            same = (k for k in here if found[k].what == before.what)
            later = (k for k in here if (found[k].first, found[k].last) >= (before.first, before.last))
            self.at = next(same, next(later, max(0, len(found) - 1)))

    def _now(self) -> Compared:
        """My reading as it is now, beside the other."""
        known = next((known for known in self._known if known.mine is self.mine), None)
        if known is None:
            found = differences(self.mine, self.other)
            tones = tuple(sorted({d.first for d in found} | {d.last for d in found}))
            known = Compared(self.mine, found, tones, of_the_rest(self.mine, self.other))
            self._known.append(known)
        return known

    def news(self) -> bool:
        """Whether the desk has read anew since the last look; the differences are those of its reading then."""
        if self.mine is self._compared:
            return False
        self.renew()
        self._sound_anew("seam")
        return True

    def go_to(self, place: int) -> None:
        """The difference at that place, or the nearest there is; while sounding, it is heard at once."""
        place = max(0, min(len(self.differences) - 1, place))
        if place != self.at:
            self.at = place
            self._sound_anew("now")

    def step(self, by: int) -> None:
        self.go_to(self.at + by)

    def deeper(self, by: int) -> None:
        self._depth = max(1, min(DEEPEST, self.depth + by))
        self._sound_anew("seam")

    def _nearest(self, cursor: int) -> None:
        self.at = next((k for k, d in enumerate(self.differences) if d.last >= cursor), 0)

    # Hearing one and then the other

    @property
    def heard_in(self) -> LayerName:
        """The layer in which the two are sounded."""
        d = self.present
        if self.layer or d is None:
            return self.layer or self.session.choices.layer
        if d.kind == "line":
            return "upper" if "upper" in (d.mine, d.other) else "lower"
        return _HEARD_IN.get(d.kind, "ornamented")

    @property
    def span(self) -> Span:
        """The phrase the difference stands in, as the one who makes it longer has it."""
        at = self.present.first if self.present else self.session.cursor
        phrases = [reading.phrases[reading.phrase_of(at)] for reading in (self.mine, self.other)]
        return Span(min(phrase.first for phrase in phrases), max(phrase.last for phrase in phrases))

    def pair(self) -> tuple[Performance, Performance]:
        """What sounds first, mine, and what sounds then."""
        c, name = self.session.choices, self.heard_in
        drone = "tonic" if c.drone == "off" and self.present and self.present.kind == "home" else c.drone
        manner = Manner(drone=drone, count_in=c.count_in, shaped=c.shaped)
        depth = self.depth if name == "skeleton" else dict(c.depths).get(name, entry(name).depth)
        mine, other = (
            perform(reading, build(reading, name, self.span, depth), manner) for reading in (self.mine, self.other)
        )
        return mine, other

    @property
    def heard(self) -> bool:
        """Whether the two sound differently at all."""
        mine, other = self.pair()
        return mine.events != other.events

    def hear(self) -> None:
        """Sound the one and then the other, over and over; or stop."""
        if self.sounding:
            self.session.player.stop()
            return
        if not self._sounded:
            self.session.lend_player()
        self._load("now")
        self.session.player.play()

    @property
    def sounding(self) -> bool:
        return self._sounded and self.session.player.snapshot().playing

    def side(self) -> Side:
        """Which of the two sounds now."""
        if not self.sounding:
            return ""
        return "mine" if self.session.player.snapshot().position < self._turn else "other"

    def tone(self) -> int | None:
        """The tone that sounds now."""
        return self.session.player.snapshot().source if self.sounding else None

    def leave(self) -> None:
        """The session has its player back; the comparison's sound stops."""
        self._sounded = False
        self.session.take_player_back()

    def _load(self, when: Literal["seam", "now"]) -> None:
        mine, other = self.pair()
        self._turn, self._sounded = mine.length, True
        self.session.player.load(in_turn(mine, other), when, False)

    def _sound_anew(self, when: Literal["seam", "now"]) -> None:
        if self.sounding:
            self._load(when)

    def choose_layer(self, name: LayerName | None) -> None:
        """Hear it in this layer; None: in the one in which it is heard best."""
        self.layer = name
        self._sound_anew("seam")

    # Taking over

    def what_taking_gives(self) -> Callable[[], Decisions]:
        """The decisions with the present difference taken over; slow, so call it in a thread."""
        decided, d, other, others = self.session.desk.decided, self.present, self.other, self.others
        return lambda: decided if d is None else with_taken(self._read, decided, other, others, d)

    def _read(self, decided: Decisions) -> Reading:
        """Only readers that a difference concerns run again; readers are for one thread at a time."""
        with self._reading_alone:
            return self._readers.read(decided)

    def take(self, decided: Decisions) -> str:
        """Act on what taking over gave; the sentence that says what happened. Undone like any act of the desk."""
        d, before = self.present, self.session.desk.decided
        if d is None:
            return "There is nothing to take over."
        if decided == before:
            return "That can't be had together with what else you decided: take that back first, or take all over."
        self._act(decided, f"took over {self._about(d)}")
        return f"Taken over: {self._about(d)}. z takes it back."

    def take_all(self) -> str:
        """The other's reading whole in place of mine; the sentence that says so."""
        if not self.differences:
            return "There is nothing to take over."
        copy = self.put_by()
        self._act(with_all_taken(self.session.desk.decided, self.others), f"took over all of {self.name}")
        stays = f" Your own stays in {copy} too." if copy else ""
        return f"The other reading is taken over whole. z takes it back.{stays}"

    def undo(self) -> str:
        return self._stepped(self.session.desk.undo(), "Taken back")

    def redo(self) -> str:
        return self._stepped(self.session.desk.redo(), "Done again")

    def _stepped(self, what: str, said: str) -> str:
        self.session.decided()
        self.renew()
        self._sound_anew("seam")
        return f"{said}: {what}." if what else "There is nothing more to step through."

    def _act(self, decided: Decisions, name: str) -> None:
        self.session.desk.act(decided, name)
        self.session.decided()
        self.renew()
        self._sound_anew("seam")

    def _about(self, d: Difference) -> str:
        return told(self.line, d).partition(":")[0]


def _nowhere() -> str:
    return ""
