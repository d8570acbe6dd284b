"""The comparing screen: figures, both pictures, the list of differences, and what can be done with the present one."""

from __future__ import annotations

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.widgets import Static

from earloop.layers import NAMES
from earloop.line.counted import counted
from earloop.reading import Reading
from earloop.reading.agreement import Agreement
from earloop.reading.differences_told import in_short
from earloop.screen.background import in_background
from earloop.screen.comparing.both_drawn import Both
from earloop.screen.comparing.both_view import BothView
from earloop.screen.keys_text import KeyTold, keys_text
from earloop.screen.long_list import LongList
from earloop.screen.picture.drawing import Scene
from earloop.screen.saying import Saying
from earloop.screen.signs import Signs
from earloop.session.comparing import Comparing
from earloop.session.naming import degree_texts, named_alike

LOOKS_A_SECOND = 15
KEYS: tuple[tuple[KeyTold, ...], ...] = (
    (
        ("{up} {down}", "difference", "step(1)"),
        ("space", "hear you, then the other", "hear"),
        ("t", "take it over", "take"),
        ("A", "take all", "take_all"),
    ),
    (
        ("z", "take back", "undo"),
        ("Z", "again", "redo"),
        ("d", "c depth", "depth(1)"),
        ("1-7", "layer", ""),
        ("0", "best one", "layer(0)"),
        ("enter", "go there", "go"),
        ("q", "back", "leave"),
    ),
)
"""The lines of keys at its foot."""


class ComparingScreen(Saying[int | None]):
    """Dismissed with the tone to go to, or None. What is taken over is kept at once, like every decision.

    `both` is the picture as it was made ahead: names that are in it are not made again.
    """

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("q,ctrl+c,escape,C", "leave", "back", show=False),
        Binding("space", "hear", "hear both", show=False),
        Binding("t", "take", "take over", show=False),
        Binding("A", "take_all", "take all", show=False),
        Binding("z,ctrl+z", "undo", "take back", show=False),
        Binding("Z,ctrl+y", "redo", "again", show=False),
        Binding("d", "depth(1)", "barer", show=False),
        Binding("c", "depth(-1)", "fuller", show=False),
        Binding("n,right", "step(1)", "next", show=False),
        Binding("p,left", "step(-1)", "before", show=False),
        Binding("0", "layer(0)", "best layer", show=False),
        *(Binding(str(k), f"layer({k})", name, show=False) for k, name in enumerate(NAMES, start=1)),
    ]

    def __init__(self, comparing: Comparing, signs: Signs, note: str = "", both: Both | None = None) -> None:
        super().__init__(id="comparing")
        self.comparing, self.signs = comparing, signs
        self.said = note
        self._both = both
        self._shown_in = 0

    def compose(self) -> ComposeResult:
        yield Static(id="heading", markup=False)
        yield Static(id="figures", markup=False)
        yield BothView(id="both-view")
        yield LongList(self._row, id="differences")
        yield Static(id="told", markup=False)
        yield Static(id="heard", markup=False)
        yield Static(keys_text(KEYS, self.signs), id="comparing-keys", markup=False)

    def on_mount(self) -> None:
        self.set_interval(1 / LOOKS_A_SECOND, self._look)
        self._fill()
        self.query_one(LongList).focus()

    def on_resize(self) -> None:
        if self._shown_in != self.app.size.width:
            self._show()

    # What is shown

    def _fill(self) -> None:
        """Everything anew: a decision changed the list."""
        self.query_one(LongList).fill(len(self.comparing.differences), self.comparing.at)
        self._show()

    def _row(self, place: int) -> str:
        d = self.comparing.differences[place]
        tones, what, mine, other = (self.signs.sentence(cell) for cell in in_short(d))
        name = self.signs.pitch(self.comparing.line[d.first].pitch.name) if d.kind != "home" else ""
        return f"{tones:<8}{name:<5}{what:<13} you {mine:<14} other {other}"

    def _show(self) -> None:
        comparing, self._shown_in = self.comparing, self.app.size.width
        count = len(comparing.differences)
        place = f"{comparing.at + 1} of {counted(count, 'difference')}" if count else "no differences"
        words = (
            place,
            f"you and {comparing.name}",
            comparing.line.title or "untitled",
        )
        self._say("heading", f" {self.signs.dot} ".join(words))
        figures = figures_told(comparing.figures, self.signs, self._shown_in - 2)
        self._say("figures", figures, rows=figures.count("\n") + 1)
        self._both = both_of(comparing, self.signs, self._both)
        self.query_one(BothView).show(self._both)
        sentence = self.signs.sentence(comparing.sentence())
        self._say("told", self.said or sentence[:1].upper() + sentence[1:])
        self._look()

    def _look(self) -> None:
        comparing = self.comparing
        if comparing.news():
            self._fill()
            return
        side = comparing.side()
        self.query_one(BothView).place(comparing.tone(), side)
        layer = comparing.heard_in + (f", depth {comparing.depth}" if comparing.heard_in == "skeleton" else "")
        now = {"mine": "sounding: you", "other": "sounding: the other", "": "stopped"}[side]
        span = comparing.span
        sign = self.signs.plays if side else self.signs.silent
        said = (f"{sign} {now}", layer, f"tones {span.first + 1} to {span.last + 1}")
        self._say("heard", f" {self.signs.phrase} ".join(said))

    # What can be done

    def on_long_list_chosen(self, event: LongList.Chosen) -> None:
        if event.place != self.comparing.at:
            self.said = ""
            self.comparing.go_to(event.place)
            self._show()

    def on_long_list_taken(self) -> None:
        self.action_go()

    def on_tone_view_tone_chosen(self, message: BothView.ToneChosen) -> None:
        """The difference at the clicked tone, or the next one after it."""
        later = [k for k, d in enumerate(self.comparing.differences) if d.first >= message.index]
        if later:
            self.query_one(LongList).choose(later[0])

    def action_step(self, by: int) -> None:
        self.query_one(LongList).action_by(by)

    def action_hear(self) -> None:
        self.comparing.hear()
        same = self.comparing.sounding and not self.comparing.heard
        self.said = "Both sound the same here: this difference is seen, not heard." if same else ""
        self._show()

    def action_depth(self, by: int) -> None:
        self.comparing.deeper(by)
        self._show()

    def action_layer(self, number: int) -> None:
        self.comparing.choose_layer(NAMES[number - 1] if number else None)
        self._show()

    def action_take(self) -> None:
        if self.comparing.present is not None:
            self._say("told", "One moment: taking it over, and reading around it.")
        self.run_worker(self._take(), group="taking", exclusive=True)

    async def _take(self) -> None:
        before = self.comparing.session.desk.decided
        decided = await in_background(self.comparing.what_taking_gives())
        if self.comparing.session.desk.decided is before:
            self._done(self.comparing.take(decided))

    def action_take_all(self) -> None:
        self._done(self.comparing.take_all())

    def action_undo(self) -> None:
        self._done(self.comparing.undo())

    def action_redo(self) -> None:
        self._done(self.comparing.redo())

    def _done(self, said: str) -> None:
        self.said = said
        self._fill()

    def action_go(self) -> None:
        d = self.comparing.present
        self.comparing.leave()
        self.dismiss(d.first if d else None)

    def action_leave(self) -> None:
        self.comparing.leave()
        self.dismiss(None)


def both_of(comparing: Comparing, signs: Signs, before: Both | Scene | None = None) -> Both:
    """What the picture shows of a comparison; names that stay are taken from what was seen `before`."""
    line, choices = comparing.line, comparing.session.choices
    labels = before.labels if before else tuple(signs.pitch(tone.pitch.name) for tone in line.tones)
    named: list[tuple[Reading, tuple[str, ...]]] = []
    if isinstance(before, Both):  # of the same choices
        named = list(zip(before.readings, before.degrees, strict=True))
    elif before and before.named == (choices.degree_names, choices.home_or_local):
        named = [(before.reading, before.degrees)]

    def degrees(side: int, reading: Reading) -> tuple[str, ...]:
        known = named[side] if side < len(named) else None
        if known and named_alike(known[0], reading):
            return known[1]
        names = signs.degrees(degree_texts(reading, choices), choices.degree_names)
        return known[1] if known and names == known[1] else names

    return Both(
        mine=comparing.mine,
        other=comparing.other,
        labels=labels,
        degrees=(degrees(0, comparing.mine), degrees(1, comparing.other)),
        depth=comparing.depth,
        differing=comparing.differing,
        present=comparing.present,
        signs=signs,
    )


def figures_told(figures: tuple[Agreement, ...], signs: Signs, width: int) -> str:
    """All figures in lines of that width, none broken in two."""
    lines = ["equal"]
    for figure in figures:
        said = f" {signs.dot} {figure.name}: {figure.numbers}"
        if len(lines[-1] + said) > width:
            lines.append("")
        lines[-1] += said if lines[-1] else said[3:]
    return "\n".join(lines)
