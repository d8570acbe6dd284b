"""How soon each key is answered on long scores: from the key to the drawn frame, and to the readers' own reading.

    python -m tests.bench keys [--tones 2000] [--times 12] [--size 120x40] [--runs 1] [--made-only]

The real app in Textual's own test driver, drawing every frame into text, with the real engine playing silently. First
a made line, then a violin part of music21's corpus (Beethoven, Grosse Fuge, the second violin: 2,534 tones), or of
another `--score FILE --part N`. The last line says whether every key was answered in time. On a busy machine more
`--runs` help: of each key the soonest counts. Left out: V (it opens a microphone), P and X, which have nothing to do
here, and q, which leaves the program.
"""

from __future__ import annotations

import argparse
import asyncio
import os
import statistics
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import music21

from earloop.engine.client import Engine
from earloop.line import Line
from earloop.screen.app import EarloopApp, make_app
from earloop.screen.comparing.comparing_screen import ComparingScreen
from earloop.screen.library import first_phrase
from earloop.screen.memory import settle_memory
from earloop.screen.opening import Card, Opened
from earloop.session.kept_behind import KeptBehind
from earloop.session.session import Session
from earloop.sounding.outputs import OutputChoice
from tests.bench.key_watch import Press, Watch
from tests.bench.keys_told import Processors, quietest, summed_up, told
from tests.bench.reading import wandering

Keys = list[tuple[str, str]]

LOOK = [
    ("cursor", "right left"),
    ("gesture", "down up"),
    ("phrase", "n n n p"),
    ("to the end, to the start", "end home"),
    ("names of degrees", "g"),
    ("home or local key", "k"),
    ("tempo", "+ - right_square_bracket left_square_bracket"),
    ("level", "less_than_sign greater_than_sign"),
    ("in the map", "N> right right down pagedown end home d q>"),
    ("layer", "2 3 4 5 6 7 1"),
    ("depth", "d c"),
    ("look", "T"),
]
SOUND = [
    ("how it sounds", "v a i o w t t w o o i a v"),
    ("next loop", "l"),
    ("play or stop", "space"),
    ("go on from here", "enter"),
]
MARKS = [("mark", "m right m"), ("join", "j"), ("take back", "z")]
PANELS = [
    ("panel: why", "h> q>"),
    ("panel: help", "?> pagedown q>"),
    ("panel: strands", "s> q>"),
    ("panel: settings of sound", "u> q>"),
    ("panel: where it sounds", "O> q>"),
    ("panel: open", "F> q>"),
    ("panel: plan", "D> q>"),
    ("panel: journal", "J> q>"),
    ("panel: ask the ear", "A q>"),
    ("panel: give", "G> ctrl+c>"),
    ("panel: compare with", "C> q>"),
    ("panel: a word", "W> ctrl+c>"),
]
ACTS = [
    ("weightier, lighter", "r f"),
    ("to a line", "U M L S"),
    ("lean", "y"),
    ("release, decorates", "Y right Y x right x"),
    ("bridge", "b"),
    ("gesture ends", "E"),
    ("phrase ends", "e"),
    ("home", "H"),
    ("key here", "K"),
    ("take back, again", "z Z"),
    ("as proposed", "backspace"),
]
HURRIED = [("while it is read around", "r right f right U left L right S r right right left f")]
"""Pressed one after the other, whether or not the readers have come after."""
COMPARE = [
    ("next difference", "down down down up"),
    ("depth, comparing", "d c"),
    ("layer, comparing", "2 7 0"),
    ("hear both, or stop", "space space"),
    ("take over", "t"),
    ("take back, comparing", "z"),
    ("again, comparing", "Z z"),
]
"""A key with > leads to another screen, or back. A says at once that it looks for questions: they come after."""
REST = 0.7
"""Seconds between two rounds: who plays looks, listens or sings now and then, and memory is tidied."""


async def compared(watch: Watch, times: int) -> None:
    """The same on the comparing screen, beside the proposal."""
    app = watch.app
    await watch.press("compare", "C", leads_on=True)
    await watch.press("compare", "enter", leads_on=True)
    assert isinstance(app.screen, ComparingScreen)
    print(f"  comparing: {len(app.screen.comparing.differences)} differences")
    await round_of(watch, COMPARE, times, moving=False)
    await watch.press("leave the comparison", "q", leads_on=True)


async def round_of(watch: Watch, keys: Keys, times: int, moving: bool = True, patient: bool = True) -> None:
    for _ in range(times):
        for what, pressed in keys:
            for key in pressed.split():
                if key == "q>" and watch.app.screen is watch.app.stand:
                    continue  # a phrase of too few tones has no questions
                await watch.press(what, key.removesuffix(">"), leads_on=key.endswith(">"), patient=patient)
        # Another place each time, or the same decisions would come round.
        for _ in range(3 if moving else 0):
            await watch.press("cursor", "right")
        await asyncio.sleep(REST)


async def run(line: Line, times: int, folder: Path, size: tuple[int, int]) -> list[Press]:
    os.environ["EARLOOP_JOURNAL"] = str(folder / "journal.sqlite")
    engine = Engine(OutputChoice("silent"))
    engine.start()
    app = make_app(first_phrase(), player=engine)
    everything: list[Press] = []
    async with app.run_test(size=size):
        Watch(app)
        while app.stand is None or app.stand.opened is None:
            await asyncio.sleep(0.02)
        kept = KeptBehind(folder / "line.abc", line, folder)
        session = Session(line, engine, reads_later=True)
        session.desk.watch = lambda decided, _: kept.keep(decided)
        settle_memory()
        app.stand.put(Opened(folder / "line.abc", session, Card("a long line"), kept))
        session.play_or_stop()
        for loop in ("phrase", "whole"):
            watch = Watch(app)
            session.choose_loop(loop)  # type: ignore[arg-type]
            session.point_at(len(line) // 2)
            await round_of(watch, LOOK, max(1, times // 4))
            await round_of(watch, PANELS, max(1, times // 6))
            if not engine.snapshot().playing:  # the questions stopped it
                session.play_or_stop()
            await round_of(watch, ACTS, times)
            await round_of(watch, HURRIED, max(1, times // 4), patient=False)
            await watch.press("cursor", "right")
            await round_of(watch, MARKS, max(1, times // 4))
            session.choose_loop(loop)  # type: ignore[arg-type]
            if loop == "phrase":
                await round_of(watch, SOUND, times)
                session.choose_loop(loop)
            await compared(watch, times)
            told(watch.pressed, f"looping the {loop}")
            everything += watch.pressed
            assert watch.is_true(), "the emulated terminal shows something else than the app"
        await sign_of_the_sound(app, engine)
        print(f"  decisions in the end: {len(session.desk.decided.levels)} levels and others", end="")
        begun = time.perf_counter()
        kept.save(session.desk.decided)
        print(f"; writing them all: {(time.perf_counter() - begun) * 1000:.0f} ms")
    app.close_player()
    return everything


async def sign_of_the_sound(app: EarloopApp, engine: Engine, seconds: float = 6.0) -> None:
    """How late the sign of the sound comes to each tone of the page, at twice the tempo."""
    assert app.stand is not None
    session = app.stand.session
    assert session is not None
    session.choose_loop("whole")
    session.choose_layer("ornamented")
    session.set_tempo(200)
    view, stepped = app.stand.view, []
    place = view.place

    def watched(cursor: int, playing: int | None, follow: int) -> None:
        if playing is not None and (not stepped or stepped[-1][1] != playing):
            stepped.append((time.monotonic(), playing))
        place(cursor, playing, follow)

    view.place = watched  # type: ignore[method-assign]
    session.stop()
    await asyncio.sleep(0.3)
    session.play_or_stop()
    session.seek_to(len(session.line) // 2)
    await asyncio.sleep(seconds)
    if len(stepped) < 5:
        print("  the sign of the sound: too few tones sounded to say")
        return
    news = engine.snapshot()
    speed = session.performance.tempo / 60 * news.tempo
    onsets = {event.source: event.onset for event in session.performance.events}
    late = [(when - (news.at + (onsets[tone] - news.position) / speed)) * 1000 for when, tone in stepped[3:]]
    passed = stepped[-1][1] - stepped[3][1] + 1
    print(f"  the sign of the sound: {len(late)} of {passed} tones shown; ms late: ", end="")
    print(f"middle {statistics.median(late):.0f}, from {min(late):.0f} to {max(late):.0f}")


def main() -> None:
    words = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    words.add_argument("--tones", type=int, default=2000)
    words.add_argument("--times", type=int, default=12)
    words.add_argument("--runs", type=int, default=1)
    words.add_argument("--size", type=_size, default=(120, 40), help="columns x rows, as 80x24")
    words.add_argument("--score", type=Path)
    words.add_argument("--part", type=int, default=2)
    words.add_argument("--made-only", action="store_true")
    asked = words.parse_args()
    todo: list[tuple[str, Callable[[], Line]]] = [
        (f"a made line, {asked.tones:,} tones", lambda: wandering(asked.tones))
    ]
    if not asked.made_only:
        score = asked.score or Path(music21.__file__).parent / "corpus" / "beethoven" / "opus133.mxl"
        todo.append((f"{score.name}, part {asked.part}", lambda: _loaded(score, asked.part)))
    load, processors = os.getloadavg(), Processors()
    everything: list[Press] = []
    for name, made in todo:
        line = made()
        runs = []
        for number in range(asked.runs):
            size = "x".join(map(str, asked.size))
            print(f"{name}: {len(line):,} tones at {size}, run {number + 1}; load {os.getloadavg()[0]:.1f}")
            with tempfile.TemporaryDirectory() as folder:
                runs.append(asyncio.run(run(line, asked.times, Path(folder), asked.size)))
        everything += quietest(runs)
    if asked.runs > 1:
        told(everything, f"the soonest of {asked.runs} runs")
    summed_up(everything, load, processors.others)


def _size(words: str) -> tuple[int, int]:
    columns, _, rows = words.partition("x")
    return int(columns), int(rows)


def _loaded(score: Path, part: int) -> Line:
    from earloop.scores import load_line

    return load_line(score, part=part)


if __name__ == "__main__":
    main()
