"""Sound settings: tuning, range, ramp, delay, clock, pedal, SoundFont, programs and channels, a row each."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import ClassVar

from textual.binding import Binding, BindingType
from textual.widget import Widget
from textual.widgets import Static

from earloop.performing import STRANDS, Strand
from earloop.screen.long_list import LongList
from earloop.screen.panels.ask import Ask
from earloop.screen.panels.panel import Panel
from earloop.session.session import Session
from earloop.session.sound import Sound
from earloop.session.sound_choices import moved

FAMILIES = (
    "piano", "bells and mallets", "organ", "guitar", "bass", "strings", "ensemble and voices", "brass",
    "reed", "pipe", "synthetic lead", "synthetic pad", "synthetic effects", "plucked and piped", "percussive",
    "sounds of other things",
)  # fmt: skip
"""The sixteen families of General MIDI 1, eight programs each, in words of our own."""

NOTHING_TO_LISTEN_TO = "No MIDI port to listen to: plug in a pedal or a keyboard, then open this panel anew."
STILL_LOOKING = "One moment: looking for MIDI ports. Press it once more."
LOOK = 1.0
"""Seconds between looks at how far a ramp has come."""
WHICH_SOUNDFONT = "Path of a SoundFont (.sf2); empty for the built-in synth"


@dataclass(frozen=True, slots=True)
class Row:
    """A setting: its name, what it is now, and what left (-1) and right (1) do."""

    name: str
    now: Callable[[], str]
    turn: Callable[[int], object]


class SoundSettings(Panel[None]):
    """Changes are heard at once; the panel stays until it is left.

    `inputs` are the MIDI ports to listen to, None as long as they are looked for; `no_midi` is a sentence where there
    can be none.
    """

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("left,minus", "turn(-1)", "less", show=False),
        Binding("right,plus", "turn(1)", "more", show=False),
        Binding("space", "play", "play", show=False),
        Binding("u", "dismiss(None)", "back", show=False),
    ]
    keys_line = "{up} {down} move  {left} {right} change  space play  q back"

    def __init__(self, sound: Sound, session: Session) -> None:
        super().__init__("Sound settings")
        self.sound, self.session = sound, session
        self.inputs: tuple[str, ...] | None = None
        self.no_midi = ""
        self.strand: Strand = "upper"
        self.rows = self._rows()

    def body(self) -> Iterable[Widget]:
        self._lines = self._said()
        yield LongList(lambda place: self._lines[place], len(self._lines))
        yield Static(id="settings-problem", classes="panel-problem", markup=False)

    def on_mount(self) -> None:
        self.query_one(LongList).focus()
        self.say("")
        self.set_interval(LOOK, self._again)

    def action_turn(self, by: int) -> None:
        self.rows[self.query_one(LongList).chosen or 0].turn(by)
        self.sound.heed(self.session)
        self.say("")
        self._again()

    def action_play(self) -> None:
        self.session.play_or_stop()

    def on_long_list_taken(self) -> None:
        self.action_turn(1)

    def _rows(self) -> list[Row]:
        sound = self.sound
        return [
            Row("A4", lambda: f"{sound.choices.a4:g} Hz", sound.move_a4),
            Row("intervals", self._intervals, lambda by: sound.turn_just()),
            Row("range", lambda: moved(sound.choices.transpose), sound.move_range),
            Row("range by octaves", lambda: moved(sound.choices.transpose), lambda by: sound.move_range(12 * by)),
            Row("ramp", self._ramp, lambda by: sound.turn_ramp()),
            Row("  from", lambda: f"{sound.steps_of_ramp.first} %", lambda by: sound.move_ramp(first=5 * by)),
            Row("  to", lambda: f"{sound.steps_of_ramp.goal} %", lambda by: sound.move_ramp(goal=5 * by)),
            Row("  each pass", lambda: f"{sound.steps_of_ramp.step} % on", lambda by: sound.move_ramp(step=by)),
            Row("delay of the speaker", self._delay, lambda by: sound.turn_latency()),
            Row("SoundFont", lambda: _short(sound.output.soundfont), self._turn_soundfont),
            Row("pedal or keyboard", lambda: sound.output.listen or "none listened to", self._turn_listening),
            Row("MIDI clock", self._clock, lambda by: sound.turn_clock()),
            Row("line on a port", lambda: self.strand, self._turn_strand),
            Row("  its program", self._program, lambda by: sound.move_program(self.strand, by)),
            Row("  its channel", self._channel, lambda by: sound.move_channel(self.strand, by)),
        ]

    def _said(self) -> list[str]:
        return [f"{row.name:<21} {row.now()}" for row in self.rows]

    def _again(self) -> None:
        said = self._said()
        if said != self._lines:
            self._lines = said
            self.query_one(LongList).refresh()

    # What stands in the rows

    def _intervals(self) -> str:
        tonic = self.session.reading.home.key.name.split()[0]
        return f"just, over {tonic}" if self.sound.choices.just else "equal temperament"

    def _ramp(self) -> str:
        if not self.sound.climbing:
            return "off"
        reached = round(100 * getattr(self.session.player.snapshot(), "tempo", self.sound.steps_of_ramp.first / 100))
        return f"on, each pass nearer to its goal; now {reached} %"

    def _delay(self) -> str:
        return "short; a slow machine may crackle" if self.sound.output.low_latency else "safe"

    def _clock(self) -> str:
        return "sent to the port, for a sequencer that follows" if self.sound.output.clock else "not sent"

    def _program(self) -> str:
        number = self.sound.program(self.strand)
        return f"{number + 1}, {FAMILIES[number // 8]}"

    def _channel(self) -> str:
        return str(self.sound.channel(self.strand) + 1)

    # What some of them do

    def _turn_strand(self, by: int) -> None:
        self.strand = STRANDS[(STRANDS.index(self.strand) + by) % len(STRANDS)]

    def _turn_listening(self, by: int) -> None:
        if self.inputs is None:
            self.call_after_refresh(self.say, STILL_LOOKING)
            return
        ports = ["", *dict.fromkeys((*self.inputs, *filter(None, (self.sound.output.listen,))))]
        here = ports.index(self.sound.output.listen)
        self.sound.listen_to(ports[(here + by) % len(ports)])
        if len(ports) == 1:
            self.call_after_refresh(self.say, self.no_midi or NOTHING_TO_LISTEN_TO)

    def _turn_soundfont(self, by: int) -> None:
        if by < 0:
            self.sound.sound_through("")
            return
        self.app.push_screen(Ask(WHICH_SOUNDFONT, self.sound.output.soundfont), self._take_soundfont)

    def _take_soundfont(self, answer: str | None) -> None:
        if answer is None:
            return
        path = Path(answer.strip()).expanduser()
        if answer.strip() and not path.is_file():
            self.say(f"There is no file {path}: check the path.")
            return
        self.sound.sound_through(str(path.resolve()) if answer.strip() else "")
        self._again()


def _short(soundfont: str) -> str:
    return Path(soundfont).name if soundfont else "none: the built-in synth"
