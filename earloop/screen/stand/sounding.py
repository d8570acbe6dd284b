"""The sound's settings from the stand: their panel, where the sound goes, and what must follow score and pedal."""

from __future__ import annotations

from typing import TYPE_CHECKING

from earloop.screen.background import in_background
from earloop.screen.panels.panel import Choice
from earloop.screen.panels.sound_settings import SoundSettings
from earloop.screen.stand.correcting import Correcting
from earloop.session.remembered import remembered
from earloop.session.sound import Sound, TunablePlayer
from earloop.session.sound_choices import moved
from earloop.sounding.outputs import OutputChoice

if TYPE_CHECKING:
    from earloop.sounding.described import Outputs


class Sounding(Correcting):
    """The board with the sound's settings."""

    _sound: Sound | None = None

    @property
    def sound(self) -> Sound | None:
        """None as long as there is no player that can be tuned."""
        if self._sound is None and isinstance(self.player, TunablePlayer):
            output: OutputChoice | None = getattr(self.app, "output", None)
            before = remembered()
            self._sound = Sound(self.player, output or before, getattr(self.app, "sound", None), before=before)
        return self._sound

    def look(self) -> None:
        session, sound = self.session, self.sound
        if session is not None and sound is not None:
            phrase = session.phrase
            sound.heed(session)
            if session.phrase != phrase:
                self.show()
                return
        super().look()

    def said_of_sound(self) -> tuple[str, ...]:
        if self.sound is None or self.player is None:
            return ()
        chosen = self.sound.choices
        ramp = chosen.ramp
        reached = round(100 * getattr(self.player.snapshot(), "tempo", 1.0))
        return (
            f"{moved(chosen.transpose)}" if chosen.transpose else "",
            f"A4 {chosen.a4:g}" if chosen.a4 != 440 else "",
            "just" if chosen.just else "",
            f"ramp: {reached} of {ramp.goal} %" if ramp else "",
        )

    def action_sound_settings(self) -> None:
        if self.session is not None and self.sound is not None:
            panel = SoundSettings(self.sound, self.session)
            self.app.push_screen(panel, lambda _: self.show())
            self.run_worker(self._find_inputs(panel), group="settings", exclusive=True)

    async def _find_inputs(self, panel: SoundSettings) -> None:
        found = await self._found()
        panel.inputs, panel.no_midi = found.inputs, found.midi_problem

    async def _found(self) -> Outputs:
        from earloop.sounding.described import midi_ports

        return await in_background(midi_ports)

    def action_outputs(self) -> None:
        if self.sound is not None:
            self.run_worker(self._offer_outputs(self.sound), group="outputs", exclusive=True)

    async def _offer_outputs(self, sound: Sound) -> None:
        found = await self._found()
        options = [("speaker, with the built-in synth", OutputChoice())]
        options += [(f"MIDI port {port}", OutputChoice("midi", port)) for port in found.ports]
        options.append(("silent", OutputChoice("silent")))
        problem = ""
        if not found.ports:
            problem = found.midi_problem or "No MIDI port: plug in an instrument, or start a synthesizer program."

        def take(choice: OutputChoice | None) -> None:
            if choice is not None:
                sound.send_to(choice)

        self.app.push_screen(Choice("Where shall the sound go?", options, problem=problem), take)
