"""The options for the sound: what they are called, and from their words to choices. Each refusal is one sentence."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import TypeVar

from earloop.cli.named import line_number, output_named
from earloop.cli.refusal import Refusal
from earloop.session.remembered import remembered
from earloop.session.sound_choices import SoundChoices, checked_a4, interval, ramp_of
from earloop.sounding.outputs import OutputChoice, OutputError

Value = TypeVar("Value")


def sound_of(words: argparse.Namespace) -> SoundChoices:
    """Tuning, range and ramp. Raises Refusal."""
    ramp = _understood(ramp_of, words.ramp) if words.ramp else None
    if ramp is not None and getattr(words, "tempo", 100) != 100:
        raise Refusal("--ramp brings its own tempo: leave --tempo out")
    steps = _understood(interval, words.transpose) if words.transpose else 0
    return SoundChoices(_understood(checked_a4, words.a4), words.just, steps, ramp)


def output_of(words: argparse.Namespace) -> OutputChoice:
    """Where the sound goes: what was chosen last, changed by what the words say. Raises Refusal."""
    choice = remembered()
    if words.out is not None:
        there = output_named(words.out)
        choice = replace(choice, kind=there.kind, port=there.port)
    if words.soundfont is not None:
        choice = replace(choice, soundfont=font_of(words.soundfont))
    programs = dict(choice.programs) | dict(line_number(told, "program", 128) for told in words.program or [])
    channels = dict(choice.channels) | dict(line_number(told, "channel", 16) for told in words.channel or [])
    return replace(
        choice,
        programs=tuple(programs.items()),
        channels=tuple(channels.items()),
        low_latency=words.low_latency or choice.low_latency,
        clock=words.clock or choice.clock,
        listen=choice.listen if words.listen is None else words.listen,
    )


def check_ports_named(words: argparse.Namespace) -> None:
    """MIDI ports named just now must be there now; remembered ones may come later. Raises Refusal."""
    from earloop.sounding.midi_port import NO_MIDI, port_there

    out = output_named(words.out) if words.out is not None else OutputChoice()
    named = ((out.port, "out", "choose another output"), (words.listen, "in", "leave --listen out"))
    for port, direction, else_do in named:
        if port:
            try:
                port_there(port, direction)
            except OutputError as error:
                told = f": plug it in, or {else_do}; earloop ports lists what there is"
                if str(error) == NO_MIDI:
                    told = f", or {else_do}"
                raise Refusal(f"{error}{told}") from error


def passes_of(words: argparse.Namespace, sound: SoundChoices) -> int:
    """How many passes: as many as asked for, else once, or until a ramp has sounded at its goal."""
    if words.loops is not None:
        return int(words.loops)
    return sound.ramp.passes if sound.ramp else 1


def tempo_of(words: argparse.Namespace, sound: SoundChoices) -> int:
    """The first pass's tempo in percent: a ramp brings its own."""
    return sound.ramp.first if sound.ramp else int(words.tempo)


def font_of(path: Path) -> str:
    """The path in full. Raises Refusal for what isn't a SoundFont (SoundFont 2.04: a RIFF file of the form sfbk)."""
    if not path.expanduser().is_file():
        raise Refusal(f"there is no SoundFont {path}: check the name, or leave it out; the built-in synth needs none")
    try:
        with path.expanduser().open("rb") as file:
            start = file.read(12)
    except OSError as error:
        raise Refusal(f"{path} can't be read ({error.strerror}): name another SoundFont, or leave it out") from None
    if start[:4] != b"RIFF" or start[8:] != b"sfbk":
        raise Refusal(f"{path} is no SoundFont: name an .sf2 file, or leave it out; the built-in synth needs none")
    return str(path.expanduser().resolve())


def _understood(check: Callable[..., Value], word: object) -> Value:
    try:
        return check(word)
    except ValueError as error:
        raise Refusal(str(error)) from error
