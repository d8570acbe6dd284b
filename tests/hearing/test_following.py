"""Following a singer while it sounds: in order, octave free, in any time."""

from __future__ import annotations

from earloop.hearing.following import Follower

KEYS = (62.0, 66.0, 69.0, 67.0)


def follow(follower: Follower, *spells: tuple[float | None, int]) -> None:
    moment = max(follower.entered.values(), default=0.0)
    for key, frames in spells:
        for _ in range(frames):
            moment += 0.02
            follower.feed(moment, key)


def test_tones_are_entered_in_order_at_any_octave() -> None:
    follower = Follower(KEYS)
    assert follower.place == -1
    follow(follower, (50.3, 20), (None, 5), (54.0, 40), (57.2, 5), (55.0, 90))
    assert follower.place == 3
    assert sorted(follower.entered) == [0, 1, 2, 3]
    assert list(follower.entered.values()) == sorted(follower.entered.values())


def test_a_slide_through_a_later_tone_does_not_jump_there() -> None:
    follower = Follower(KEYS)
    follow(follower, (62.0, 20), (67.0, 4), (66.0, 5))
    assert follower.place == 1


def test_a_tone_left_out_is_passed_over() -> None:
    follower = Follower(KEYS)
    follow(follower, (62.0, 20), (69.0, 12))
    assert follower.place == 2
    assert 1 not in follower.entered


def test_another_tone_waits() -> None:
    follower = Follower(KEYS)
    follow(follower, (62.0, 20), (64.4, 50))
    assert follower.place == 0
