"""The player without any clock but the test's: places, passes, tempo, layers and strands."""

from __future__ import annotations

from dataclasses import replace
from itertools import count, pairwise

import pytest
from performances import over_a_drone, steps

from earloop.performing.events import Event, Performance, Strand
from earloop.transport.places import line_place, performed_place
from earloop.transport.player import Player


class Notebook:
    """A sounder that writes down (second, key, strand) of each start, and what sounds."""

    name = "notebook"

    def __init__(self) -> None:
        self.time = 0.0
        self.starts: list[tuple[float, int, Strand]] = []
        self.sounding: dict[int, int] = {}
        self._numbers = count(1)

    def now(self) -> float:
        return self.time

    def start(self, midi: int, cents: float, loudness: float, strand: Strand, at: float, legato: bool = False) -> int:
        number = next(self._numbers)
        self.starts.append((at, midi, strand))
        self.sounding[number] = midi
        return number

    def stop(self, voice: int, at: float) -> None:
        del self.sounding[voice]

    def open(self) -> None: ...

    def close(self) -> None: ...

    def silence(self) -> None: ...

    def level(self, level: float) -> None: ...


def playing(performance: Performance, counted: bool = False) -> tuple[Player, Notebook]:
    book = Notebook()
    player = Player(book)
    player.load(performance)
    player.play(counted)
    return player, book


def to(player: Player, book: Notebook, second: float) -> None:
    """Plays on until `second`."""
    player.advance(second)
    book.time = second


def test_onsets_lie_on_the_beat_of_every_pass() -> None:
    """At 120 quarters a minute half a quarter is a quarter of a second, through seams too, without any drift."""
    player, book = playing(steps(8))
    to(player, book, 2000.0)
    assert len(book.starts) == 8000
    assert max(abs(at - k * 0.25) for k, (at, _, _) in enumerate(book.starts)) < 1e-9


def test_the_count_in_sounds_once() -> None:
    player, book = playing(over_a_drone(), counted=True)
    to(player, book, 0.01)
    assert player.position() == pytest.approx(-2.0 + 0.04)
    to(player, book, 20.0)
    assert [strand for _, _, strand in book.starts].count("count") == 2
    first = next(at for at, _, strand in book.starts if strand == "drone")
    assert first == pytest.approx(0.5)


def test_tempo_changes_at_once_and_keeps_the_place() -> None:
    player, book = playing(steps(8))
    to(player, book, 0.3)
    before = player.position()
    player.tempo(2.0)
    assert player.position() == pytest.approx(before)
    to(player, book, 0.6)
    assert player.position() == pytest.approx(before + 0.3 * 4)


@pytest.mark.parametrize(("asked", "kept"), [(0.01, 0.1), (9.0, 3.0), (1.5, 1.5)])
def test_tempo_stays_between_10_and_300_percent(asked: float, kept: float) -> None:
    player, _ = playing(steps())
    player.tempo(asked)
    assert player.factor == kept


def test_a_ramp_climbs_pass_by_pass_to_its_goal() -> None:
    """Passes of 2 s at 100 %, then 110, 120, 125 and no more."""
    player, book = playing(steps(8))
    player.ramp(1.25, 0.1)
    to(player, book, 2.0 + 2 / 1.1 + 2 / 1.2 + 2 / 1.25 + 2 / 1.25 + 0.001)
    firsts = [at for at, midi, _ in book.starts if midi == 60]
    lengths = [b - a for a, b in pairwise(firsts)]
    assert lengths == pytest.approx([2.0, 2 / 1.1, 2 / 1.2, 2 / 1.25, 2 / 1.25])


def test_a_layer_waits_for_the_seam() -> None:
    player, book = playing(steps(4, first=60))
    to(player, book, 0.6)
    player.load(steps(4, first=80), "seam")
    to(player, book, 1.6)
    assert [midi for _, midi, _ in book.starts] == [60, 61, 62, 63, 80, 81, 82]
    assert [at for at, _, _ in book.starts] == pytest.approx([0.25 * k for k in range(7)])


def test_a_layer_taken_now_goes_on_at_the_same_place_of_the_line() -> None:
    """The second one holds its first tone twice as long (a fermata); place 1.0 of the line is place 1.5 there."""
    player, book = playing(steps(4))
    to(player, book, 0.5)
    held = Performance(
        (Event(0.0, 1.0, 60, 0.7, "single"), Event(1.0, 1.5, 61, 0.7, "single")),
        2.5,
        120.0,
        position_map=((0.0, 0.0), (1.0, 0.5), (2.5, 2.0)),
    )
    player.load(held, "now")
    assert player.position() == pytest.approx(1.5)
    assert player.line_position() == pytest.approx(1.0)
    player.advance(0.5001)
    assert list(book.sounding.values()) == [61]


def test_the_map_goes_both_ways() -> None:
    performance = replace(steps(), position_map=((0.0, 2.0), (2.0, 3.0), (4.0, 7.0)))
    for place, where in ((0.0, 2.0), (1.0, 2.5), (3.0, 5.0), (4.0, 7.0)):
        assert line_place(performance, place) == pytest.approx(where)
        assert performed_place(performance, where) == pytest.approx(place)


def test_seek_joins_what_is_under_way() -> None:
    """In the midst of the drone and a long tone, what is left of them sounds."""
    player, book = playing(over_a_drone())
    player.seek(3.0)
    player.advance(0.001)
    assert {48, 55, 74} <= set(book.sounding.values())
    assert player.position() == pytest.approx(3.0)


def test_mute_and_alone_take_effect_on_what_sounds() -> None:
    player, book = playing(over_a_drone())
    player.advance(0.001)
    assert set(book.sounding.values()) == {48, 55, 72}
    player.mute("drone", True)
    assert set(book.sounding.values()) == {72}
    player.mute("drone", False)
    assert set(book.sounding.values()) == {48, 55, 72}
    player.alone("upper")
    assert set(book.sounding.values()) == {72}
    player.alone(None)
    assert set(book.sounding.values()) == {48, 55, 72}


def test_passes_count_and_run_out() -> None:
    player, book = playing(steps(4))
    player.loops(3)
    to(player, book, 1.1)
    assert player.pass_number() == 2
    player.load(steps(4), "now")
    player.advance(10.0)
    assert not player.playing
    assert player.ended == 1
    assert not book.sounding


def test_the_source_is_the_one_heard_by_then() -> None:
    player, book = playing(steps(4))
    to(player, book, 0.6)
    assert player.source() == 2
    assert player.source(0.3) == 1
    player.stop()
    assert player.source() is None


def test_nothing_to_play_is_said() -> None:
    with pytest.raises(ValueError, match="nothing to play"):
        Player(Notebook()).load(Performance((), 0.0))


def test_a_sleep_is_not_made_up_for() -> None:
    """Ten seconds late, the music goes on from where it was, one tone at a time."""
    player, book = playing(steps(8))
    to(player, book, 0.3)
    player.went_on_late(10.3)
    player.advance(10.5)
    assert [at for at, _, _ in book.starts[2:]] == pytest.approx([10.32])
