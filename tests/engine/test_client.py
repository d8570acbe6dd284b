"""The engine as a screen sees it, on a device that runs in real time without a sound card, and in silence."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path

import pytest
from listening_port import wait_for
from performances import over_a_drone, steps

from earloop.engine import client as client_room
from earloop.engine.client import Engine
from earloop.engine.messages import Gathered, Snapshot, Unpacker, packed, portions
from earloop.engine.play import play_until_over
from earloop.performing.events import Event, Performance
from earloop.sounding.outputs import SILENT, OutputChoice

NULL = OutputChoice("speaker", backend="null")


@pytest.fixture(params=["speaker", "silent"])
def engine(request: pytest.FixtureRequest) -> Iterator[Engine]:
    with Engine(NULL if request.param == "speaker" else SILENT) as engine:
        yield engine


def test_quick_keys_start_and_stop(engine: Engine) -> None:
    """What was asked last holds until the engine has told of it, however many keys come meanwhile."""
    engine.load(steps(8))
    for _ in range(3):
        engine.play()
        assert engine.plays()
        engine.stop()
        assert not engine.plays()
    engine.play()
    assert wait_for(lambda: engine.snapshot().playing)
    assert engine.plays()
    engine.loops(1)
    assert wait_for(lambda: engine.snapshot().ended == 1)
    assert not engine.plays()


def test_it_plays_and_tells_where(engine: Engine) -> None:
    """The position moves at the tempo, the source follows it, stop keeps the place."""
    engine.load(steps(8))
    engine.play()
    assert wait_for(lambda: engine.snapshot().position > 0.2)
    first, begun = engine.snapshot(), time.monotonic()
    assert wait_for(lambda: engine.snapshot().pass_number == 2)
    took = time.monotonic() - begun
    assert took == pytest.approx((4.0 - first.position) / 2.0, abs=0.35)
    assert first.playing
    assert wait_for(lambda: engine.snapshot().source == 2)
    assert 1.0 <= engine.snapshot().position < 1.8
    engine.stop()
    assert wait_for(lambda: not engine.snapshot().playing)
    kept = engine.snapshot().position
    time.sleep(0.2)
    assert engine.snapshot().position == kept > 0.5
    assert engine.snapshot().notice == ""


def test_passes_run_out(engine: Engine) -> None:
    engine.load(steps(2))
    engine.loops(2)
    engine.play()
    assert wait_for(lambda: engine.snapshot().ended == 1)
    assert not engine.snapshot().playing


def test_commands_before_the_start_are_kept() -> None:
    engine = Engine(SILENT)
    engine.load(steps(8))
    engine.tempo(0.5)
    engine.play()
    engine.start()
    try:
        assert wait_for(lambda: engine.snapshot().playing)
        assert engine.snapshot().tempo == 0.5
    finally:
        engine.close()


def test_a_count_in_is_before_the_start(engine: Engine) -> None:
    engine.load(over_a_drone())
    engine.tempo(0.5)
    engine.play()
    assert wait_for(lambda: engine.snapshot().position < -0.5)
    assert wait_for(lambda: engine.snapshot().position > 0)


def test_no_sound_device_is_said_in_one_line(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where no device opens, it goes on in silence and says how to get sound."""
    monkeypatch.setenv("JACK_DEFAULT_SERVER", "nobody")
    monkeypatch.setenv("JACK_NO_START_SERVER", "1")
    with Engine(OutputChoice("speaker", backend="jack")) as engine:
        engine.load(steps())
        engine.play()
        assert wait_for(lambda: engine.snapshot().output == "silent" and engine.snapshot().position > 0.1, 20.0)
        notice = engine.snapshot().notice
    assert notice.startswith("earloop is silent: ")
    assert "earloop ports" in notice
    assert "\n" not in notice


def test_a_missing_port_is_said_and_the_speaker_sounds() -> None:
    with Engine(OutputChoice("midi", port="no such instrument", backend="null")) as engine:
        engine.load(steps())
        engine.play()
        assert wait_for(lambda: engine.snapshot().output == "speaker" and engine.snapshot().playing)
        assert "the speaker sounds until" in engine.snapshot().notice


def test_nothing_to_play_is_a_sentence_and_no_fall(engine: Engine) -> None:
    engine.load(Performance((), 0.0))
    assert wait_for(lambda: "nothing to play" in engine.snapshot().notice)
    engine.load(steps())
    engine.play()
    assert wait_for(lambda: engine.snapshot().playing)
    assert engine.restarted == 0


def test_a_killed_engine_keeps_everything(engine: Engine) -> None:
    """Tempo, mutes, what is loaded, the place, and that it played."""
    engine.load(steps(64))
    engine.tempo(1.5)
    engine.play()
    assert wait_for(lambda: engine.snapshot().position > 2.0)
    before = engine.snapshot().position
    assert engine.process_number is not None
    os.kill(engine.process_number, signal.SIGKILL)
    assert wait_for(lambda: engine.restarted == 1 and engine.snapshot().handled > 0 and engine.snapshot().playing)
    assert wait_for(lambda: before - 0.5 < engine.snapshot().position < before + 3.0)
    assert engine.snapshot().tempo == 1.5


def test_what_had_ended_does_not_begin_again_after_a_fall() -> None:
    """Its passes had run out: the new engine is as silent as the old one was."""
    with Engine(SILENT) as engine:
        engine.load(steps(2))
        engine.loops(1)
        engine.play()
        assert wait_for(lambda: engine.snapshot().ended == 1)
        time.sleep(1.0)
        assert engine.process_number is not None
        os.kill(engine.process_number, signal.SIGKILL)
        assert wait_for(lambda: engine.restarted == 1 and engine.snapshot().ended == 0)
        time.sleep(0.5)
        assert not engine.snapshot().playing


def test_it_gives_up_on_an_engine_that_always_falls(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(client_room, "ENGINE", [sys.executable, "-c", "raise SystemExit(3)"])
    with Engine(SILENT) as engine:
        assert wait_for(lambda: "again and again" in engine.snapshot().notice, 20.0)
        assert engine.process_number is None


def test_a_hung_engine_is_set_up_again(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(client_room, "DUMB", 1.0)
    with Engine(SILENT) as engine:
        engine.load(steps(8))
        engine.play()
        assert wait_for(lambda: engine.snapshot().playing)
        assert engine.process_number is not None
        os.kill(engine.process_number, signal.SIGSTOP)
        assert wait_for(lambda: engine.restarted == 1 and engine.snapshot().handled > 0)
        assert engine.snapshot().playing


def test_a_port_that_hangs_the_engine_is_left_alone(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """A MIDI library that never answers: the next engine goes to the speaker, and one line says why."""
    (tmp_path / "rtmidi.py").write_text("import time\ntime.sleep(1000)\n", encoding="utf-8")
    monkeypatch.setenv("PYTHONPATH", f"{tmp_path}{os.pathsep}{os.environ.get('PYTHONPATH', '')}")
    monkeypatch.setattr(client_room, "FIRST_WORD", 1.5)
    with Engine(OutputChoice("midi", port="Organ", backend="null")) as engine:
        engine.load(steps(8))
        engine.play()
        assert wait_for(lambda: engine.snapshot().output == "speaker" and engine.snapshot().playing, 20.0)
        assert "Organ does not answer, so the speaker sounds" in engine.snapshot().notice


def test_a_screen_that_never_reads_does_not_hold_up_the_music() -> None:
    """With nobody taking snapshots the pipe is soon full; the engine plays on and still obeys."""
    words = [sys.executable, "-m", "earloop.engine"]
    with subprocess.Popen(words, stdin=subprocess.PIPE, stdout=subprocess.PIPE) as process:
        assert process.stdin is not None
        for command in [("output", (SILENT,)), ("load", (steps(2), "now", True)), ("loops", (None,)), ("play", ())]:
            process.stdin.write(packed(command))
        process.stdin.flush()
        for _ in range(1500):
            process.stdin.write(packed(("level", (0.5,))))
            process.stdin.flush()
            time.sleep(0.0005)
        process.stdin.write(packed(("leave", ())))
        process.stdin.flush()
        assert process.wait(10) == 0


def test_two_players_do_not_disturb_each_other() -> None:
    with Engine(NULL) as one, Engine(NULL) as two:
        one.load(steps(8))
        two.load(steps(8))
        one.play()
        two.play()
        assert wait_for(lambda: one.snapshot().playing and two.snapshot().playing)
        one.stop()
        assert wait_for(lambda: not one.snapshot().playing)
        here = two.snapshot().position
        assert wait_for(lambda: two.snapshot().position != here)
        assert two.snapshot().playing


def test_playing_from_the_command_line_returns_when_it_is_over() -> None:
    told: list[str] = []
    begun = time.monotonic()
    play_until_over(steps(2), NULL, loops=2, tempo=2.0, tell=told.append)
    assert 0.5 < time.monotonic() - begun < 8.0
    assert told == []


def test_closing_twice_is_harmless() -> None:
    engine = Engine(SILENT)
    engine.start()
    engine.close()
    engine.close()
    engine.stop()


def test_messages_arrive_whole_in_any_portions() -> None:
    messages = [Snapshot(position=float(k), notice="x" * k) for k in range(50)]
    stream = b"".join(packed(message) for message in messages)
    for size in (1, 3, 7, 1000):
        unpacker = Unpacker()
        got = [m for k in range(0, len(stream), size) for m in unpacker.feed(stream[k : k + size])]
        assert got == messages


@pytest.mark.parametrize("count", [1, 199, 200, 201, 400, 1234])
def test_a_long_performance_goes_in_portions_and_comes_out_whole(count: int) -> None:
    """However many tones: no message is long, and the last one brings the very same performance."""
    events = tuple(Event(k * 0.5, 0.5, 60 + k % 12, 0.7, "single", source=k) for k in range(count))
    whole = Performance(events, count * 0.5, position_map=tuple((float(k), float(k)) for k in range(count // 3)))
    messages = portions(("load", (whole, "now", True)))
    assert max(map(len, messages)) < 20_000
    gathered, unpacker = Gathered(), Unpacker()
    *before, (last, values) = [message for portion in messages for message in unpacker.feed(portion)]
    for name, portion in before:
        assert name == "more"
        gathered.add(*portion)
    assert last == "load"
    assert (gathered.whole(values[0]), *values[1:]) == (whole, "now", True)
    assert gathered.whole(values[0]) == values[0], "gathering has begun anew"


def test_a_long_performance_plays_to_its_end() -> None:
    with Engine(SILENT) as engine:
        engine.load(steps(3000))
        engine.tempo(3.0)
        engine.seek(1498.0)
        engine.play()
        assert wait_for(lambda: engine.snapshot().source == 2999)
        assert wait_for(lambda: engine.snapshot().pass_number == 2)


def test_the_worst_moments_can_be_told() -> None:
    """Each moment with its second, how late the engine was awake and how late the sound: always in that order."""
    with Engine(SILENT) as engine:
        engine.load(steps(64, 0.25, 240.0))
        engine.play()
        time.sleep(1.5)
        measured = engine.measure()
    assert len(measured.lateness) == len(measured.due) == len(measured.woken) > 10
    assert [b - a for a, b in pairwise(measured.due)] == pytest.approx([0.0625] * (len(measured.due) - 1), abs=1e-6)
    assert all(woken <= late for woken, late in zip(measured.woken, measured.lateness, strict=True))


def test_a_snapshot_fits_the_pipe_in_one_piece() -> None:
    """A write of at most 4096 bytes (PIPE_BUF of Linux; POSIX asks for 512) is whole or not at all."""
    notes = tuple((12345.678901, 127, 127) for _ in range(32))
    assert len(packed(Snapshot(notice="x" * 400, output="y" * 200, notes=notes))) < 4096
