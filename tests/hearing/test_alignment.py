"""Which sung piece answers which tone: small cases whose answer is plain."""

from __future__ import annotations

import numpy as np

from earloop.hearing.alignment import Alignment, align

MEANT = np.array([60.0, 62.0, 64.0, 62.0, 67.0])
EVEN = np.arange(5) * 0.5
PLACES = np.stack([EVEN, EVEN + 0.25])


def aligned(sung: list[float], starts: list[float], lengths: list[float]) -> Alignment:
    return align(MEANT, np.array(sung), np.array(starts), np.array(lengths), PLACES)


def test_the_swings_of_a_slow_wide_vibrato_are_one_tone() -> None:
    sung = [60, 62, 64.6, 63.4, 64.6, 63.4, 62, 67]
    starts = [0, 0.5, 1.0, 1.12, 1.24, 1.36, 1.5, 2.0]
    told = aligned(sung, starts, [0.48, 0.48, 0.12, 0.12, 0.12, 0.12, 0.48, 0.5])
    assert told.answers == ((0, 0), (1, 1), (2, 5), (6, 6), (7, 7))
    assert told.extra == ()


def test_two_tones_swapped_stay_in_their_places() -> None:
    told = aligned([60, 64, 62, 62, 67], list(EVEN), [0.48] * 5)
    assert told.answers == tuple((k, k) for k in range(5))


def test_the_end_of_a_slide_is_no_answer_to_a_tone_left_out() -> None:
    told = aligned([60, 63.6, 62, 67], [0.0, 0.47, 1.5, 2.0], [0.46, 0.06, 0.48, 0.5])
    assert told.answers[2] is None


def test_a_breath_that_holds_through_a_repeated_tone_answers_it_and_one_that_ends_before_does_not() -> None:
    meant, places = np.array([60.0, 60.0, 64.0]), np.array([[0.0, 0.5, 1.0], [0.25, 0.75, 1.25]])
    through = align(meant, np.array([60.0, 64.0]), np.array([0.0, 1.0]), np.array([0.98, 0.5]), places)
    assert through.answers == ((0, 0), (0, 0), (1, 1))
    short = align(meant, np.array([60.0, 64.0]), np.array([0.0, 1.0]), np.array([0.45, 0.5]), places)
    assert short.answers == ((0, 0), None, (1, 1))


def test_octaves_are_free() -> None:
    told = align(MEANT, MEANT - 24, EVEN, np.full(5, 0.48), PLACES)
    assert told.answers == tuple((k, k) for k in range(5))
    assert told.cost == 0
