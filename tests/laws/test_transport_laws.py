"""Laws 4 and 5: slices of a loop neither lose nor repeat an event, and every sounding begins and ends."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from itertools import count

from hypothesis import given
from hypothesis import strategies as st

from earloop.performing.events import STRANDS, Event, Performance, Strand
from earloop.transport.moments import Moment, Unrolling
from earloop.transport.player import Player
from earloop.transport.tuning import Tuning

GRID = 1 / 24


@st.composite
def performances(draw: st.DrawFn) -> Performance:
    """Up to a dozen events that may overlap, coincide, last no time or reach across the seam."""
    length = draw(st.integers(1, 96)) * GRID
    onsets = sorted(draw(st.lists(st.integers(0, round(length / GRID) - 1), max_size=12)))
    events = tuple(
        Event(
            onset * GRID,
            draw(st.integers(0, 120)) * GRID,
            draw(st.integers(0, 127)),
            draw(st.floats(0.01, 1.0)),
            draw(st.sampled_from(STRANDS)),
            legato=draw(st.booleans()),
        )
        for onset in onsets
    )
    counted = tuple(Event(k * 0.5, 0.25, 76, 0.8, "count") for k in range(draw(st.integers(0, 3))))
    return Performance(events, length, draw(st.floats(20, 300)), counted, len(counted) * 0.5)


def plain(moments: list[Moment]) -> list[tuple[float, str, int]]:
    return [(moment.at, moment.kind, moment.voice) for moment in moments]


@given(performances(), st.lists(st.floats(0.001, 7.0), max_size=20), st.booleans(), st.none() | st.integers(1, 4))
def test_any_slicing_gives_the_same_moments(
    performance: Performance, widths: list[float], counted: bool, passes: int | None
) -> None:
    """Law 4. Cut anywhere, the slices put together are the whole, in the same order."""
    whole, sliced = (Unrolling(performance, 0.0, counted, passes) for _ in range(2))
    until, parts = whole.begin, []
    for width in widths:
        until += width
        parts += list(sliced.slice(until))
    assert plain(parts) == plain(list(whole.slice(until)))


@given(performances(), st.integers(1, 6))
def test_each_pass_brings_every_event_once(performance: Performance, passes: int) -> None:
    """Law 4. After n passes each event has begun n times, at its own place in every pass."""
    moments = list(Unrolling(performance, passes=passes).slice(float("inf")))
    begun = Counter((moment.event, round(moment.at / GRID)) for moment in moments if moment.kind == "start")
    wanted = Counter(
        (event, round((event.onset + k * performance.length) / GRID))
        for event in performance.events
        for k in range(passes)
    )
    assert begun == wanted
    assert moments[-1].kind == "end"
    assert [m.at for m in moments] == sorted(m.at for m in moments)


class Ledger:
    """A sounder that keeps the books: what is begun and what is ended, on a clock the test moves."""

    name = "ledger"

    def __init__(self) -> None:
        self.time = 0.0
        self.begun: list[tuple[int, float, int, Strand]] = []
        self.ended: Counter[int] = Counter()
        self._numbers = count(1)

    def now(self) -> float:
        return self.time

    def start(self, midi: int, cents: float, loudness: float, strand: Strand, at: float, legato: bool = False) -> int:
        number = next(self._numbers)
        self.begun.append((number, at, midi, strand))
        return number

    def stop(self, voice: int, at: float) -> None:
        self.ended[voice] += 1

    def open(self) -> None: ...

    def close(self) -> None: ...

    def silence(self) -> None: ...

    def level(self, level: float) -> None: ...


@given(performances(), st.lists(st.tuples(st.floats(0.001, 3.0), st.floats(0.1, 3.0)), max_size=15))
def test_tempo_never_costs_an_event(performance: Performance, changes: list[tuple[float, float]]) -> None:
    """Law 4. Whatever the tempo does between slices, the same events sound, in the same order, at rising times."""
    ledger = Ledger()
    player = Player(ledger)
    player.load(performance)
    player.play(counted=False)
    for seconds, factor in changes:
        ledger.time += seconds
        player.advance(ledger.time)
        player.tempo(factor)
    reached = player._pace.quarters_at(ledger.time)
    wanted = [m.event for m in Unrolling(performance).slice(reached) if m.kind == "start" and m.event]
    assert [(midi, strand) for _, _, midi, strand in ledger.begun] == [(e.midi, e.strand) for e in wanted]
    assert all(a[1] <= b[1] + 1e-9 for a, b in zip(ledger.begun, ledger.begun[1:], strict=False))


COMMANDS: list[Callable[[Player, Performance], object]] = [
    lambda player, other: player.stop(),
    lambda player, other: player.play(),
    lambda player, other: player.seek(other.length / 3),
    lambda player, other: player.load(other, "now"),
    lambda player, other: player.load(other, "seam"),
    lambda player, other: player.load(other, "now", keep_position=False),
    lambda player, other: player.tempo(2.5),
    lambda player, other: player.ramp(3.0, 0.2),
    lambda player, other: player.loops(2),
    lambda player, other: player.loops(None),
    lambda player, other: player.mute("upper", True),
    lambda player, other: player.mute("upper", False),
    lambda player, other: player.alone("lower"),
    lambda player, other: player.alone(None),
    lambda player, other: player.retune(Tuning(432.0, 2)),
    lambda player, other: player.retune(steps=-7),
    lambda player, other: player.went_on_late(player.sounder.now()),
    lambda player, other: player.move_to(player.sounder),
]


@given(
    performances(),
    performances(),
    st.lists(st.tuples(st.floats(0.0, 4.0), st.integers(0, len(COMMANDS) - 1)), max_size=25),
)
def test_every_sounding_ends_exactly_once(
    performance: Performance, other: Performance, story: list[tuple[float, int]]
) -> None:
    """Law 5. After any story of commands, stop leaves nothing sounding and ends nothing twice."""
    ledger = Ledger()
    player = Player(ledger)
    player.load(performance)
    player.play()
    for seconds, command in story:
        ledger.time += seconds
        player.advance(ledger.time)
        COMMANDS[command](player, other)
    player.stop()
    assert ledger.ended == Counter(number for number, *_ in ledger.begun)
    assert not len(player.voices)


@given(performances(), st.integers(1, 3))
def test_passes_that_run_out_leave_nothing_sounding(performance: Performance, passes: int) -> None:
    """Law 5. So does the natural end."""
    ledger = Ledger()
    player = Player(ledger)
    player.load(performance)
    player.loops(passes)
    player.play()
    while (due := player.due()) is not None:
        ledger.time = due
        player.advance(due + 1e-9)
    assert not player.playing
    assert player.ended == 1
    assert ledger.ended == Counter(number for number, *_ in ledger.begun)
