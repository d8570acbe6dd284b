"""Passing and neighbor tones of the soprano, heard without its harmony, against labelled Bach chorales."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest
from chorale_figures import FITS, analysed, chorales, counts

from earloop.line import Span
from earloop.reading import Reading, read


@pytest.fixture(scope="module")
def readings() -> list[Reading]:
    return [read(work.line) for work in chorales("dev")]


@pytest.mark.parametrize(("strict", "precise"), [(True, 0.58), (False, 0.64)])
def test_passing_and_neighbor_tones_of_the_soprano(readings: list[Reading], strict: bool, precise: float) -> None:
    """On the development half, with the meter and no harmony: most are found, most of those named are right.

    The aim is .75 for both. What falls short is not in the line: what a tone off the beat belongs to depends on whether
    other voices move with it (`python -m tests.bench figures_limit`).
    """
    works = chorales("dev")
    assert len(works) >= 11
    right, wrong, missed = counts([r.weights.figure for r in readings], [w.truth for w in works], strict)
    assert right / (right + missed) >= 0.8
    assert right / (right + wrong) >= precise


def test_without_bar_lines_most_are_found_too() -> None:
    """The same sopranos with no meter given."""
    works = chorales("dev")
    found = [read(replace(work.line, meters=())).weights.figure for work in works]
    right, wrong, missed = counts(found, [work.truth for work in works])
    assert right / (right + missed) >= 0.75
    assert right / (right + wrong) >= 0.6


def test_truth_is_what_it_says() -> None:
    """The truth holds both kinds, in about the numbers an independent count of the same files gave."""
    kinds = [kind for work in chorales("dev") for kind in work.truth]
    assert kinds.count("passing") == pytest.approx(26, abs=3)
    assert kinds.count("neighbor") >= 2
    assert kinds.count("arguable") >= 5


def test_analyses_that_do_not_fit_their_scores_are_left_out() -> None:
    """By all four voices on the beat: eleven fit nearly whole, the one whose score has interludes does not."""
    shares = {work.name: work.fits for work in analysed("dev")}
    off = [name for name, share in shares.items() if share < FITS]
    assert off == ["riemenschneider011"]
    assert min(share for name, share in shares.items() if name not in off) > 0.9


SAME, STEP, LEAP = (0,), (1,), (2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12)
HANDBOOK: dict[str, tuple[tuple[int, ...], tuple[int, ...], Callable[[int, int], bool]]] = {
    "passing": (STEP, STEP, lambda come, go: come * go > 0),
    "neighbor": (STEP, STEP, lambda come, go: come * go < 0),
    "appoggiatura": (LEAP, STEP, lambda come, go: come * go < 0),
    "suspension": (SAME, STEP, lambda come, go: go < 0),
    "retardation": (SAME, STEP, lambda come, go: go > 0),
    "anticipation": (STEP + LEAP, SAME, lambda come, go: True),
    "escape": (STEP, LEAP, lambda come, go: come * go < 0),
}
"""How each is approached and left, in letters, and which way: the table of Kostka & Payne, *Tonal Harmony*, chapters on
nonchord tones (from memory)."""


def test_each_is_approached_and_left_as_the_handbook_has_it(readings: list[Reading]) -> None:
    """Every figure named in the sopranos keeps to the handbook's table; most of its kinds occur."""
    seen = set()
    for reading in readings:
        heights = [tone.pitch.height for tone in reading.line.tones]
        for span in reading.phrases:
            for i in range(span.first + 1, span.last):
                seen.add(_checked(reading, heights, i, span))
    assert seen >= {"passing", "neighbor", "suspension", "anticipation"}


def _checked(reading: Reading, heights: list[int], i: int, span: Span) -> str:
    name = reading.weights.figure[i]
    if name in HANDBOOK and reading.voices[i] == "single":
        approached, left, way = HANDBOOK[name]
        come, go = heights[i] - heights[i - 1], heights[i + 1] - heights[i]
        assert abs(come) in approached, (name, i, span)
        assert abs(go) in left, (name, i, span)
        assert way(come, go), (name, i, span)
    return name
