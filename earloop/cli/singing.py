"""`sing`: sound a layer, listen in the gap, and say how it was answered: what the singing screen does, without it."""

from __future__ import annotations

import argparse
import json
import sys
import time
from contextlib import closing
from pathlib import Path

from earloop.capture.client import Capture
from earloop.capture.sources import Source, source_named
from earloop.cli.answers import as_fields, as_rows
from earloop.cli.refusal import Refusal
from earloop.cli.scores_in import check_measure, check_tempo, layer_of
from earloop.cli.sentences import say
from earloop.cli.sittings import session_of
from earloop.cli.sound_words import check_ports_named, output_of, sound_of, tempo_of
from earloop.cli.sounding_out import prepare
from earloop.cli.written import check_free
from earloop.engine.client import Engine
from earloop.session.choices import Choices
from earloop.session.diary import Diary
from earloop.session.judging import Judged, Measure
from earloop.session.remembered_input import remembered_input
from earloop.session.session import Session
from earloop.session.singing import Singing, Way, Whose
from earloop.session.sound_choices import SoundChoices

LOOK = 0.03
OPENS = 10.0
"""Seconds a sound system may take until it gives sound."""
ANSWERS = 10.0
"""Seconds the last answer may take to be judged."""
WAYS: dict[str, Way] = {"gap": "gap", "along": "along", "own-time": "own time"}
CARE = (
    "Sing at ease and rest when it tires; stop at pain. With loudspeakers the microphone hears them: use headphones, "
    "not loud."
)


def sing(words: argparse.Namespace) -> int:
    """Passes of a layer, each with its answer: a table and a sentence, or a line of JSON. 1 where nothing was heard."""
    source = remembered_input() if words.input is None else source_named(words.input)
    _check(words, source)
    sound = sound_of(words)
    check_ports_named(words)
    engine = Engine(output_of(words))
    session = _session(words, engine, sound)
    prepare(engine, sound, session.reading)
    measure = Measure(words.tolerance, words.held / 100, words.relative, words.beat, words.beat_ms)
    diary = session.practising.diary = Diary()
    with closing(diary), Capture() as capture, engine:
        singing = Singing(session, capture, measure)
        singing.reference = sound.above_written
        singing.listen(source)
        _wait_to_hear(capture, source)
        singing.choose_way(WAYS[words.way])
        print(f"Listening to {capture.report().source}. {CARE}", file=sys.stderr)
        heard = _passes(singing, engine, words.passes, words.json)
        if words.keep is not None and singing.judged:
            _keep(singing, words.keep)
    return 0 if heard else 1


def _check(words: argparse.Namespace, source: Source) -> None:
    check_measure(words)
    check_tempo(words)
    if words.beat_ms <= 0:
        raise Refusal("--beat-ms is more than nothing: choose for instance 100")
    if words.passes < 1:
        raise Refusal("--passes counts from 1: sound it at least once")
    if words.count_in < 0:
        raise Refusal("--count-in counts from 0")
    if words.keep is not None:
        _check_keep(words, source)


def _check_keep(words: argparse.Namespace, source: Source) -> None:
    """Before anything is sung: a take that can't be kept by this name is lost."""
    path, keys = words.keep, source.kind == "midi"
    if path.suffix.lower() not in ((".mid",) if keys else (".wav", ".flac")):
        take, ending = ("a keyboard's take is kept", ".mid") if keys else ("a sung take is kept", ".wav or .flac")
        raise Refusal(f"{path} ends in {path.suffix or 'nothing'}, but {take} as {ending}: name it so")
    check_free(path, words.replace, [words.file, Path(source.name) if source.kind == "file" else None])


def _session(words: argparse.Namespace, engine: Engine, sound: SoundChoices) -> Session:
    session = session_of(words, engine, _choices(words, sound))
    layer_of(words, session.reading)
    if words.phrase is not None:
        session.go_to_phrase(words.phrase - 1)
    return session


def _choices(words: argparse.Namespace, sound: SoundChoices) -> Choices:
    choices = Choices(
        layer=words.layer,
        true_time=not words.closed,
        loop="whole" if words.phrase is None else "phrase",
        tempo=tempo_of(words, sound),
        drone=words.drone,
        count_in=words.count_in,
    )
    return choices if words.depth is None else choices.with_depth(words.layer, words.depth)


def _wait_to_hear(capture: Capture, source: Source) -> None:
    """Raises Refusal where nothing can be listened to."""
    end = time.monotonic() + OPENS
    while time.monotonic() < end:
        report = capture.report()
        if report.handled and report.notice:
            raise Refusal(report.notice)
        if report.heard_until:
            return
        if source.kind == "nothing":
            raise Refusal("there is nothing to listen to: name a microphone or midi:NAME with --input")
        time.sleep(LOOK)
    raise Refusal("the sound system gives no sound: see earloop ports, or name another --input")


def _passes(singing: Singing, engine: Engine, passes: int, as_json: bool) -> int:
    """How many answers were heard."""
    heard = 0
    if singing.way != "own time":
        engine.loops(passes)
        heard += _until_over(singing, engine, passes, heard, as_json)
        return heard
    for _ in range(passes):
        heard += _until_over(singing, engine, 1, heard, as_json)
    return heard


def _until_over(singing: Singing, engine: Engine, wanted: int, before: int, as_json: bool) -> int:
    """Until the player has ended and the last answer is judged."""
    singing.play_or_stop()
    ended, heard, said, over = engine.snapshot().ended, 0, "", 0.0
    whose: Whose = "nobody"
    while heard < wanted:
        singing.session.practising.look()
        for judged in singing.look():
            heard += 1
            _tell(judged, before + heard, as_json)
        if singing.whose != whose:
            whose = singing.whose
            if whose == "yours":
                print("Your turn.", file=sys.stderr)
        for notice in (singing.notice, engine.snapshot().notice, singing.capture.report().notice):
            if notice and notice != said:
                print(notice, file=sys.stderr)
                said = notice
        if engine.snapshot().ended > ended and singing.whose == "nobody":
            over = over or time.monotonic()
            if singing.notice or time.monotonic() - over > ANSWERS:
                break
        time.sleep(LOOK)
    return heard


def _keep(singing: Singing, path: Path) -> None:
    last = singing.judged[-1]
    singing.capture.keep(path, last.answer.begin, last.answer.end)
    end = time.monotonic() + ANSWERS
    while time.monotonic() < end:
        for kept in singing.capture.kept():
            if kept.problem:
                raise Refusal(kept.problem)
            print(f"Kept the last take as {kept.path}", file=sys.stderr)
            return
        time.sleep(LOOK)
    raise Refusal(f"the take was not kept in time: {path}")


def _tell(judged: Judged, number: int, as_json: bool) -> None:
    if as_json:
        print(json.dumps({"pass": number, **as_fields(judged)}), flush=True)
    else:
        print("\n".join([f"Pass {number}", *as_rows(judged), ""]))
        say(f"{judged.say}\n")
