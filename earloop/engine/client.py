"""The screen's side of the player: commands go in, a snapshot comes out, and a fallen engine is set up again.

Nothing here waits for the engine: two threads of its own write to and read from the pipe.
"""

from __future__ import annotations

import contextlib
import os
import queue
import select
import subprocess
import sys
import threading
import time
from dataclasses import replace
from typing import Any

from earloop.engine.messages import Command, Measure, Snapshot, Unpacker, portions
from earloop.performing.events import Performance, Strand
from earloop.sounding.child import started
from earloop.sounding.outputs import OutputChoice
from earloop.transport.voices import keys_of

ENGINE = [sys.executable, "-m", "earloop.engine"]

MOST_FALLS = 5
"""So many restarts within FALL_TIME seconds, and no further one is tried."""
FALL_TIME = 20.0
FALLEN = "the player had fallen and was set up again; your place is kept"
FALL_TOLD = 8.0
"""Seconds for which that is said."""
FIRST_WORD, DUMB = 8.0, 4.0
"""Seconds an engine may take to its first word, and then between words, before it counts as hung: it may hang in a
sound system that has died."""
WAKING = 1.0
"""Seconds more, in case the whole machine slept: an engine that wakes speaks at once."""
HANGS = "the MIDI port {} does not answer, so the speaker sounds; choose the port again when it does"
SETTLED = 1.0
"""Seconds after which the last play or stop has come true, or something else has come between."""
GOODBYE = 1.0
"""Seconds an engine gets to leave before it is ended."""


class Engine:
    """A playing process. Create it, `start` it, `close` it; call every other method at any time between."""

    def __init__(self, output: OutputChoice | None = None) -> None:
        self._state: dict[Any, Command] = {"output": ("output", (output or OutputChoice(),))}
        self._snapshot = Snapshot()
        self._process: subprocess.Popen[bytes] | None = None
        self._commands: queue.SimpleQueue[Command | None] = queue.SimpleQueue()
        self._closing = False
        self._restarts: list[float] = []
        self._commanded = 0.0
        self._left: set[tuple[Strand, int]] = set()
        self._spoke = False
        self._silent_port = ""
        self._lock = threading.Lock()
        self._measures: queue.SimpleQueue[Measure] = queue.SimpleQueue()
        self._sent = 0

    def start(self) -> None:
        """Starts the process; returns at once. Commands given before it runs are kept for it."""
        with self._lock:
            if self._process is None:
                self._launch(after_a_fall=False)

    def close(self) -> None:
        """Silence, and the process leaves. May be called twice."""
        with self._lock:
            self._closing = True
            process, self._process = self._process, None
        if process is None:
            return
        self._commands.put(("leave", ()))
        self._commands.put(None)
        try:
            process.wait(GOODBYE)
        except subprocess.TimeoutExpired:
            process.terminate()
            with contextlib.suppress(subprocess.TimeoutExpired):
                process.wait(GOODBYE)
            process.kill()

    def __enter__(self) -> Engine:
        self.start()
        return self

    def __exit__(self, *error: object) -> None:
        self.close()

    # Commands

    def load(self, performance: Performance, when: str = "seam", keep_position: bool = True) -> None:
        """What to play; from the next seam on, or `now` at the same place of the line."""
        self._state["load"] = ("load", (performance, "now", keep_position))
        self._may_sound(performance)
        self._send("load", performance, when, keep_position)

    def play(self, counted: bool = True) -> None:
        """`counted`: with the performance's count-in, if it has one."""
        self._state["play"] = ("play", (False,))
        self._commanded = time.monotonic()
        self._send("play", counted)

    def stop(self) -> None:
        self._state.pop("play", None)
        self._commanded = time.monotonic()
        self._send("stop")

    def seek(self, quarters: float) -> None:
        """To a place in the pass, in performed quarters."""
        self._send("seek", quarters)

    def tempo(self, factor: float) -> None:
        """1.0 is the performance's own tempo; held between 0.1 and 3.0."""
        self._state.pop("ramp", None)
        self._keep("tempo", factor)

    def ramp(self, goal: float, step_per_pass: float) -> None:
        """Each pass a little nearer to the goal (both as tempo factors)."""
        self._keep("ramp", goal, step_per_pass)

    def level(self, level: float) -> None:
        """Loudness of everything, 0 to 1; it starts at a moderate 0.5."""
        self._keep("level", level)

    def mute(self, strand: Strand, on: bool) -> None:
        self._state["mute", strand] = ("mute", (strand, on))
        self._send("mute", strand, on)

    def alone(self, strand: Strand | None) -> None:
        """Only this strand (and the count-in) sounds; None: all that aren't muted."""
        self._keep("alone", strand)

    def loops(self, passes: int | None) -> None:
        """Stop after so many passes; None: go on until stopped."""
        self._keep("loops", passes)

    def output(self, choice: OutputChoice) -> None:
        """Moves the sound while it plays."""
        self._silent_port = ""
        self._keep("output", choice)

    def tuning(self, a4: float = 440.0, just_on: int | None = None) -> None:
        """A4 in Hz (415 to 466); `just_on` is the pitch class over which intervals are just, None: equal."""
        self._keep("tuning", a4, just_on)

    def transpose(self, semitones: int) -> None:
        self._keep("transpose", semitones)
        if "load" in self._state:
            self._may_sound(self._state["load"][1][0])

    # What is known

    def snapshot(self) -> Snapshot:
        """The latest news, at most a fifteenth of a second old while the engine runs. Costs nothing."""
        return self._snapshot

    def plays(self) -> bool:
        """Whether it plays, or will as soon as the commands on their way are obeyed: two quick keys start and stop."""
        on_their_way = self._process is not None and self._sent > self._snapshot.handled
        return "play" in self._state if on_their_way else self._snapshot.playing

    def measure(self, patience: float = 2.0) -> Measure:
        """How late the moments since the last call were. Waits for the answer; raises queue.Empty without one."""
        self._send("measure")
        return self._measures.get(timeout=patience)

    @property
    def restarted(self) -> int:
        """How often the engine had to be set up again."""
        return self._snapshot.restarts

    @property
    def process_number(self) -> int | None:
        """The process id of the engine, None while there is none."""
        return self._process.pid if self._process is not None else None

    # Inside

    def _may_sound(self, performance: Performance) -> None:
        """Writes down which tones a fallen engine could leave behind: of this and all that sounded before."""
        steps = self._state["transpose"][1][0] if "transpose" in self._state else 0
        self._left |= keys_of(performance, steps)

    def _keep(self, name: str, *values: Any) -> None:
        self._state[name] = (name, values)
        self._send(name, *values)

    def _send(self, name: str, *values: Any) -> None:
        if self._process is not None:
            self._sent += 1
            self._commands.put((name, values))

    def _launch(self, after_a_fall: bool) -> None:
        process = started(ENGINE)
        opening = self._opening(after_a_fall)
        self._process, self._spoke = process, False
        self._commands = queue.SimpleQueue()
        self._sent = len(opening)
        for command in opening:
            self._commands.put(command)
        for work, name in ((self._write, "earloop commands"), (self._watch, "earloop snapshots")):
            threading.Thread(target=work, args=(process, self._commands), name=name, daemon=True).start()

    def _opening(self, after_a_fall: bool) -> list[Command]:
        """The commands that bring a new engine to where the old one was; the port is silenced before all else."""
        state = dict(self._state)
        playing = state.pop("play", None)
        if after_a_fall and self._spoke and time.monotonic() - self._commanded > SETTLED:
            # A pedal may have stopped or started it meanwhile, or its passes may have run out.
            playing = ("play", (False,)) if self._snapshot.playing else None
        choice = state.pop("output")[1][0]
        if self._silent_port:
            choice = replace(choice, kind="speaker")
        left = frozenset(self._left) if after_a_fall else frozenset()
        commands: list[Command] = [("output", (choice, left))]
        commands += state.values()
        if after_a_fall and "load" in state:
            commands.append(("seek", (max(0.0, self._snapshot.position),)))
            commands.append(("tempo", (self._snapshot.tempo,)))
        if "ramp" in state:
            commands.append(state["ramp"])
        return [*commands, playing] if playing else commands

    def _write(self, process: subprocess.Popen[bytes], commands: queue.SimpleQueue[Command | None]) -> None:
        assert process.stdin is not None
        pipe = process.stdin
        with contextlib.suppress(OSError, ValueError):
            while (command := commands.get()) is not None:
                # Packed here and not where it was asked: a long performance would hold up the key.
                for message in portions(command):
                    view = memoryview(message)
                    while view:
                        view = view[os.write(pipe.fileno(), view) :]
        with contextlib.suppress(OSError):
            pipe.close()

    def _watch(self, process: subprocess.Popen[bytes], commands: queue.SimpleQueue[Command | None]) -> None:
        """Takes snapshots until the pipe closes; if nobody asked for that, the engine has fallen."""
        assert process.stdout is not None
        unpacker = Unpacker()
        while portion := self._read(process):
            for message in unpacker.feed(portion):
                self._take(message)
        commands.put(None)
        process.wait()
        process.stdout.close()
        with self._lock:
            if not self._closing:
                self._set_up_again()

    def _read(self, process: subprocess.Popen[bytes]) -> bytes:
        """What the engine tells; nothing once it has gone. One that has fallen dumb is ended, and set up again."""
        assert process.stdout is not None
        patience = DUMB if self._spoke else FIRST_WORD
        if os.name == "posix" and not any(select.select([process.stdout], [], [], s)[0] for s in (patience, WAKING)):
            process.kill()
            choice: OutputChoice = self._state["output"][1][0]
            if not self._spoke and choice.kind == "midi":
                self._silent_port = choice.port
        return process.stdout.read(1 << 16)

    def _take(self, message: Snapshot | Measure) -> None:
        if isinstance(message, Measure):
            self._measures.put(message)
            return
        self._spoke = True
        notice = message.notice or (HANGS.format(self._silent_port) if self._silent_port else "")
        if not notice and self._restarts and time.monotonic() - self._restarts[-1] < FALL_TOLD:
            notice = FALLEN
        self._snapshot = replace(message, notice=notice, restarts=len(self._restarts))

    def _set_up_again(self) -> None:
        self._restarts.append(time.monotonic())
        recent = [moment for moment in self._restarts if moment > time.monotonic() - FALL_TIME]
        if len(recent) > MOST_FALLS:
            self._process = None
            self._snapshot = replace(
                self._snapshot, playing=False, notice="the player falls again and again: restart earloop"
            )
            return
        self._launch(after_a_fall=True)
        self._snapshot = replace(self._snapshot, restarts=len(self._restarts), notice=FALLEN)
