"""The sign of the sound is on the tone that sounds: in every layer, between the player's news, and until the seam."""

from __future__ import annotations

import time

import pytest

from earloop.layers import NAMES
from earloop.reading import Decisions
from earloop.session.session import Session
from tests.made_lines import line_of
from tests.session.fake_player import FakePlayer

LINE = line_of("C4 E5 D4 D5 E4 C5 D4 B4 C4 C5 B4 C5 D4 C5 C4 E5", "1 .5 .5 1 1 .5 .5 1 1 1 .5 .5 1 1 1 2")
TWO_LINES = Decisions(
    voices={i: "upper" if LINE[i].midi > 68 else "lower" for i in range(len(LINE))},
    bridges={10: True},
    phrase_ends=dict.fromkeys(range(len(LINE) - 1), False),
)


class Moving(FakePlayer):
    """A player whose news has a time and a tempo."""

    tempo_now = 1.0

    @property
    def tempo(self):  # type: ignore[no-untyped-def]
        return _Callable(self.tempo_now)


class _Callable(float):
    """A tempo that can be asked for, as in a snapshot, and set, as on a player."""

    def __call__(self, factor: float) -> None: ...


def session() -> Session:
    one = Session(LINE, Moving(), decided=TWO_LINES)
    one.play_or_stop()
    return one


@pytest.mark.parametrize("layer", NAMES)
def test_the_sign_steps_with_every_tone_of_the_layer(layer) -> None:
    """At each onset it is on that tone; a held tone below moves nothing, a bridge is the tone that sounds once more."""
    one = session()
    one.choose_layer(layer)
    one.stop()
    one.position()
    one.player.playing = True
    steps = [event for event in one.performance.events if event.source is not None and event.strand != "held"]
    seen = []
    for event in steps:
        one.player.position = event.onset + 0.001
        seen.append(one.position().tone)
    assert seen == [event.source for event in steps]
    assert ("bridge" in {event.strand for event in steps}) == (layer == "bridged")


def test_between_the_news_the_place_goes_on_in_tempo() -> None:
    """News of a tenth of a second ago: at 72 quarters a minute and 150 % the sound is 0.18 quarters further on."""
    one = session()
    one.choose_layer("ornamented")
    one.player.pass_number, one.player.tempo_now = 1, 1.5
    one.position()
    first, second = one.performance.events[0], one.performance.events[1]
    one.player.position, one.player.at = second.onset - 0.1, time.monotonic() - 0.1
    assert one.position().tone == second.source
    one.player.at = time.monotonic()
    place = one.position()
    assert place.tone == first.source
    assert place.until_next == pytest.approx(0.1 / (72 / 60 * 1.5), abs=0.02)


def test_what_waits_for_the_seam_is_not_shown_before_it() -> None:
    """Another layer chosen in the middle of a pass: the sign stays with the old one to the end of the pass."""
    one = session()
    one.choose_layer("ornamented")
    one.player.pass_number = 1
    one.position()
    page = [event for event in one.performance.events if event.source is not None]
    one.choose_layer("upper")
    lower = next(event for event in page[4:] if event.strand == "lower")
    one.player.position = lower.onset + 0.001
    assert one.position().tone == lower.source
    one.player.pass_number, one.player.position = 2, 0.001
    assert one.position().tone in {None, *(event.source for event in one.performance.events)}
    one.player.position = lower.onset + 0.001
    assert one.position().tone != lower.source


def test_a_player_that_tells_nothing_more_is_not_followed_for_ever() -> None:
    one = session()
    one.choose_layer("ornamented")
    one.position()
    one.player.position, one.player.at = 0.0, time.monotonic() - 60
    assert one.position().tone in (0, 1)
