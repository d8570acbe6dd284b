"""`play`, `render` and `ports`: a layer to the ear or to a file, and what there is to sound it on."""

from __future__ import annotations

import argparse
import sys
from contextlib import closing
from pathlib import Path

from earloop.cli.journal_in import name_of
from earloop.cli.refusal import Refusal
from earloop.cli.scores_in import performance_of
from earloop.cli.sound_words import check_ports_named, font_of, output_of, passes_of, sound_of, tempo_of
from earloop.cli.written import check_free, written
from earloop.engine.client import Engine
from earloop.engine.play import play_until_over
from earloop.journal import Happening
from earloop.journal.moment import now
from earloop.layers import Layer
from earloop.line.counted import counted
from earloop.reading import Reading
from earloop.session.diary import Diary
from earloop.session.played import Played
from earloop.session.sound_choices import SoundChoices
from earloop.sounding.files import FILE_TYPES, Rendering
from earloop.sounding.files import render as sounding_file
from earloop.sounding.outputs import OutputError
from earloop.transport.tuning import Tuning

PAPER = (".musicxml", ".xml")


def play(words: argparse.Namespace) -> int:
    """Sound a layer and wait until it has ended; Ctrl-C stops it at once. What was played is noted in the journal."""
    sound, choice = sound_of(words), output_of(words)
    reading, layer, performance = performance_of(words)
    passes = passes_of(words, sound)
    check_ports_named(words)
    tempo = tempo_of(words, sound)
    with closing(Diary()) as diary:
        played = Played(diary, _noted(words, reading, layer, tempo))
        try:
            last = play_until_over(
                performance,
                choice,
                passes,
                tempo / 100,
                tell=lambda sentence: print(sentence, file=sys.stderr),
                prepare=lambda engine: prepare(engine, sound, reading),
                look=played.look,
            )
        except OutputError as error:
            raise Refusal(str(error)) from error
        finally:
            played.end()
        if not diary.flush() and diary.notice:
            print(diary.notice, file=sys.stderr)
    print(f"{layer.name}: {counted(len(layer.tones), 'tone')}, {counted(passes, 'time')}; {last.output}")
    return 0


def _noted(words: argparse.Namespace, reading: Reading, layer: Layer, tempo: int) -> Happening:
    """What is played, for the journal."""
    phrase = None if words.phrase is None else words.phrase - 1
    title = reading.line.title or words.file.stem
    detail = {"tempo": tempo, "answer_gap": words.answer_gap}
    return Happening(now(), name_of(words), title, phrase, "played", layer.name, f"layer:{layer.name}", detail=detail)


def render(words: argparse.Namespace) -> int:
    """Write a layer to a file, its kind told by the ending."""
    kind = words.output.suffix.lower()
    if kind not in (*PAPER, *FILE_TYPES):
        raise Refusal(f"{words.output} ends in {kind or 'nothing'}: name it .mid, .wav, .flac, .ogg or .musicxml")
    reads = (words.file, words.soundfont)
    check_free(words.output, words.replace, reads)
    sound = sound_of(words)
    reading, layer, performance = performance_of(words)
    how = _rendering(words, sound, reading)
    try:
        with written(words.output, words.replace, reads) as path:
            if kind in PAPER:
                _write_musicxml(reading, layer, path)
            else:
                sounding_file(performance, path, passes_of(words, sound), how)
    except OutputError as error:
        raise Refusal(str(error)) from error
    print(f"wrote {words.output}: {layer.name}, {counted(len(layer.tones), 'tone')}")
    return 0


def prepare(engine: Engine, sound: SoundChoices, reading: Reading) -> None:
    """Tells the player before it plays."""
    engine.tuning(sound.a4, reading.home.key.pc if sound.just else None)
    engine.transpose(sound.transpose)
    if sound.ramp is not None:
        engine.ramp(sound.ramp.as_ramp.goal, sound.ramp.as_ramp.step)


def _rendering(words: argparse.Namespace, sound: SoundChoices, reading: Reading) -> Rendering:
    """How a file is to sound."""
    return Rendering(
        tempo=tempo_of(words, sound) / 100,
        tuning=Tuning(sound.a4, reading.home.key.pc if sound.just else None),
        transpose=sound.transpose,
        ramp=sound.ramp.as_ramp if sound.ramp else None,
        soundfont=font_of(words.soundfont) if words.soundfont is not None else "",
    )


def _write_musicxml(reading: Reading, layer: Layer, path: Path) -> None:
    from earloop.sheet.musicxml import write_musicxml

    write_musicxml(reading, path, layer=layer)


def ports() -> int:
    """What sound, microphones and MIDI there are, and how the player would be let in among other programs."""
    from earloop.capture.microphone import describe_microphones
    from earloop.engine.priority_here import describe_priority
    from earloop.sounding.described import describe_outputs

    print("\n".join([*describe_outputs(), *describe_microphones(), *describe_priority()]))
    return 0
