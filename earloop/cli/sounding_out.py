"""`play`, `render` and `ports`: a layer to the ear or to a file, and what there is to sound it on."""

from __future__ import annotations

import argparse
import sys
import time
from dataclasses import replace
from pathlib import Path

from earloop.cli.named import output_named
from earloop.cli.refusal import Refusal
from earloop.cli.scores_in import performance_of
from earloop.engine.client import Engine
from earloop.engine.messages import Snapshot
from earloop.layers import Layer
from earloop.reading import Reading
from earloop.sounding.files import FILE_TYPES
from earloop.sounding.files import render as sounding_file
from earloop.sounding.outputs import OutputError

PAPER = (".musicxml", ".xml")
LOOK = 0.05
START_TIME = 8.0
"""Seconds an engine may take to begin before we say that it doesn't."""


def play(words: argparse.Namespace) -> int:
    """Sound a layer and wait until it has ended; Ctrl-C stops it at once."""
    _, layer, performance = performance_of(words)
    with Engine(output_named(words.out, words.program)) as engine:
        engine.tempo(words.tempo / 100)
        engine.loops(words.loops)
        engine.load(performance, "now", keep_position=False)
        engine.play()
        last = _until_ended(engine)
    print(f"{layer.name}: {len(layer.tones)} tones, {words.loops} times; {last.output}")
    if last.notice:
        print(last.notice, file=sys.stderr)
    return 0


def _until_ended(engine: Engine) -> Snapshot:
    begun, started = time.monotonic(), False
    while True:
        snap = engine.snapshot()
        started = started or snap.playing
        if snap.ended or (started and not snap.playing):
            return snap
        if not started and time.monotonic() - begun > START_TIME:
            raise Refusal(snap.notice or "the player does not start: run earloop ports to see what sound there is")
        time.sleep(LOOK)


def render(words: argparse.Namespace) -> int:
    """Write a layer to a file, its kind told by the ending."""
    kind = words.output.suffix.lower()
    if kind not in (*PAPER, *FILE_TYPES):
        raise Refusal(f"{words.output} ends in {kind or 'nothing'}: name it .mid, .wav, .flac, .ogg or .musicxml")
    if not words.output.parent.is_dir():
        raise Refusal(f"there is no folder {words.output.parent}: make it first, or write elsewhere")
    reading, layer, performance = performance_of(words)
    performance = replace(performance, tempo=performance.tempo * words.tempo / 100)
    try:
        if kind in PAPER:
            _write_musicxml(reading, layer, words.output)
        else:
            sounding_file(performance, words.output, loops=words.loops)
    except OutputError as error:
        raise Refusal(str(error)) from error
    except OSError as error:
        raise Refusal(f"{words.output} can't be written ({error.strerror}): write elsewhere") from error
    print(f"wrote {words.output}: {layer.name}, {len(layer.tones)} tones")
    return 0


def _write_musicxml(reading: Reading, layer: Layer, path: Path) -> None:
    from earloop.sheet.musicxml import write_musicxml

    write_musicxml(reading, path, layer=layer)


def ports() -> int:
    """What sound and MIDI there is."""
    from earloop.sounding.described import describe_outputs

    print("\n".join(describe_outputs()))
    return 0
