"""How the sound is tuned, moved, quickened and sent out: one object a program, whichever score stands before it.

Every command takes effect at once. Where the sound goes is written down for the next session; tuning, range and ramp
belong to the piece and the day, and are not.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import fields, replace
from typing import Protocol, runtime_checkable

from earloop.performing import Strand
from earloop.session.choices import FASTEST, SLOWEST
from earloop.session.remembered import remember
from earloop.session.session import Session
from earloop.session.sound_choices import FARTHEST, SoundChoices, TempoRamp
from earloop.sounding.outputs import OutputChoice
from earloop.sounding.timbres import PLACES
from earloop.transport.tuning import HIGHEST_A4, LOWEST_A4

PERCUSSION = 9
STEEPEST = 50


@runtime_checkable
class TunablePlayer(Protocol):
    """A player that can be tuned, moved, quickened and sent elsewhere."""

    def output(self, choice: OutputChoice) -> None: ...
    def tuning(self, a4: float = 440.0, just_on: int | None = None) -> None: ...
    def transpose(self, semitones: int) -> None: ...
    def ramp(self, goal: float, step_per_pass: float) -> None: ...


class Sound:
    """`output` is what was chosen, which may not be what is there just now.

    `before` is what was written down last (the same, if none is given); `keep` writes anew, and only what was changed
    here: what the command line asked for holds for this once.
    """

    def __init__(
        self,
        player: TunablePlayer,
        output: OutputChoice,
        choices: SoundChoices | None = None,
        keep: Callable[[OutputChoice], object] = remember,
        before: OutputChoice | None = None,
    ) -> None:
        self.player = player
        self.output = output
        self.choices = choices or SoundChoices()
        self.steps_of_ramp = self.choices.ramp or TempoRamp()
        self._keep = keep
        self._kept = before or output
        self._tuned: tuple[float, int | None] = (440.0, None)
        self._session: Session | None = None
        self._asked: int | None = None
        if self.choices.transpose:
            player.transpose(self.choices.transpose)

    def heed(self, session: Session) -> None:
        """What must follow the score, the reading and a pedal. Cheap: call it whenever the stand looks up."""
        if session is not self._session:
            self._session = session
            self._restart_ramp()
        elif self.choices.ramp is not None and session.choices.tempo != self.choices.ramp.first:
            self.choices = replace(self.choices, ramp=None)  # a tempo set by hand ends it
        self._tune()
        self._heed_pedal(session)

    # Tuning and range

    def move_a4(self, by: float) -> None:
        """A4 higher or lower, within 415 to 466 Hz."""
        self.choices = replace(self.choices, a4=min(HIGHEST_A4, max(LOWEST_A4, round(self.choices.a4) + by)))
        self._tune()

    def turn_just(self) -> None:
        """Equal temperament, or just intervals over the home tonic."""
        self.choices = replace(self.choices, just=not self.choices.just)
        self._tune()

    def move_range(self, semitones: int) -> None:
        """Everything so much higher; to the singer's range, by semitones or octaves."""
        steps = min(FARTHEST, max(-FARTHEST, self.choices.transpose + semitones))
        self.choices = replace(self.choices, transpose=steps)
        self.player.transpose(steps)

    # The ramp

    @property
    def climbing(self) -> bool:
        """Whether a ramp is on."""
        return self.choices.ramp is not None

    def turn_ramp(self) -> None:
        """From its first tempo on, or off; off leaves the tempo where it began."""
        if self.climbing:
            self.choices = replace(self.choices, ramp=None)
            if self._session is not None:
                self._session.set_tempo(self._session.choices.tempo)
        else:
            self.choices = replace(self.choices, ramp=self.steps_of_ramp)
            self._restart_ramp()

    def move_ramp(self, first: int = 0, goal: int = 0, step: int = 0) -> None:
        """Another beginning, goal or step, by so many percent; a ramp that is on begins anew.

        A beginning above the goal takes the goal along, and so the other way round: a ramp never leads downwards.
        """
        on, r = self.climbing, self.steps_of_ramp
        begins = min(FASTEST, max(SLOWEST, r.first + first))
        ends = min(FASTEST, max(SLOWEST, r.goal + goal))
        if first:
            ends = max(begins, ends)
        self.steps_of_ramp = TempoRamp(min(begins, ends), ends, min(STEEPEST, max(1, r.step + step)))
        if on:
            self.choices = replace(self.choices, ramp=self.steps_of_ramp)
            self._restart_ramp()

    # Where it goes, and what is listened to

    def send_to(self, choice: OutputChoice) -> None:
        """To the speaker, a port, or nowhere; everything else about the output stays."""
        self._change(replace(self.output, kind=choice.kind, port=choice.port))

    def turn_latency(self) -> None:
        self._change(replace(self.output, low_latency=not self.output.low_latency))

    def turn_clock(self) -> None:
        self._change(replace(self.output, clock=not self.output.clock))

    def listen_to(self, port: str) -> None:
        """The pedal or keyboard on that MIDI port; empty: none."""
        self._change(replace(self.output, listen=port))

    def sound_through(self, soundfont: str) -> None:
        """A SoundFont's path; empty: the built-in synth."""
        self._change(replace(self.output, soundfont=soundfont))

    def program(self, strand: Strand) -> int:
        """The strand's General MIDI program, from 0."""
        return dict(self.output.programs).get(strand, PLACES[strand].program)

    def channel(self, strand: Strand) -> int:
        """The strand's MIDI channel, from 0."""
        return dict(self.output.channels).get(strand, PLACES[strand].channel)

    def move_program(self, strand: Strand, by: int) -> None:
        programs = dict(self.output.programs) | {strand: (self.program(strand) + by) % 128}
        self._change(replace(self.output, programs=tuple(programs.items())))

    def move_channel(self, strand: Strand, by: int) -> None:
        """Past the percussion channel, which has no pitches; the count-in alone may sound there."""
        number = (self.channel(strand) + by) % 16
        if number == PERCUSSION and strand != "count":
            number = (number + by) % 16
        channels = dict(self.output.channels) | {strand: number}
        self._change(replace(self.output, channels=tuple(channels.items())))

    # Inside

    def _change(self, choice: OutputChoice) -> None:
        if choice == self.output:
            return
        names = (field.name for field in fields(choice))
        changed = {name: getattr(choice, name) for name in names if getattr(choice, name) != getattr(self.output, name)}
        self.output = choice
        self.player.output(choice)
        self._kept = replace(self._kept, **changed)
        self._keep(self._kept)

    def _tune(self) -> None:
        tonic = self._session.reading.home.key.pc if self._session is not None and self.choices.just else None
        if (self.choices.a4, tonic) != self._tuned:
            self._tuned = (self.choices.a4, tonic)
            self.player.tuning(self.choices.a4, tonic)

    def _restart_ramp(self) -> None:
        ramp = self.choices.ramp
        if ramp is not None and self._session is not None:
            self._session.set_tempo(ramp.first)
            self.player.ramp(ramp.as_ramp.goal, ramp.as_ramp.step)

    def _heed_pedal(self, session: Session) -> None:
        """A pedal's wish for the next phrase. A player that was set up again counts from 0 anew."""
        asked = getattr(session.player.snapshot(), "next_asked", 0)
        if self._asked is not None and asked > self._asked:
            session.next_phrase()
        self._asked = asked
