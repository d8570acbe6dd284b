"""Figures of a chorale's voices read from the score, the other parts heard, against the analysts' chords."""

from __future__ import annotations

from collections import Counter

import pytest
from chorale_figures import chorales, counts
from chorale_parts import Part, parts

from earloop.reading import read


def figures(half: str, *voices: str) -> tuple[list[tuple[str, ...]], list[Part]]:
    works = [part for part in parts(half) if part.voice in voices]
    return [read(part.line).weights.figure for part in works], works


def test_the_score_gives_the_labelled_line() -> None:
    """The voice as loaded is the one that was labelled, tone by tone, with the other three sounding."""
    top = [part for part in parts("dev") if part.voice == "Soprano"]
    for work, part in zip(chorales("dev"), top, strict=True):
        assert [(t.onset, t.midi) for t in part.line.tones] == [(t.onset, t.midi) for t in work.line.tones]
        assert part.truth == work.truth
        assert part.line.others


@pytest.mark.parametrize("half", ["dev", "held"])
def test_passing_and_neighbor_tones_strictly_as_labelled(half: str) -> None:
    """The aim in the soprano: three of four named are right and three of four there are found."""
    found, works = figures(half, "Soprano")
    right, wrong, missed = counts(found, [part.truth for part in works], strict=True)
    assert right / (right + wrong) >= 0.75
    assert right / (right + missed) >= 0.75


def test_the_lower_voices_too() -> None:
    found, works = figures("dev", "Alto", "Tenor", "Bass")
    right, wrong, missed = counts(found, [part.truth for part in works], strict=True)
    assert right / (right + wrong) >= 0.75
    assert right / (right + missed) >= 0.75


def test_suspensions_are_those_of_the_handbooks() -> None:
    """Tied or struck again, dissonant against the analysts' chord, down by step: most are found, most named are so."""
    found, works = figures("dev", "Soprano", "Alto", "Tenor", "Bass")
    pairs = Counter(
        pair for ours, part in zip(found, works, strict=True) for pair in zip(ours, part.handbook, strict=True)
    )
    named = sum(n for (ours, _), n in pairs.items() if ours == "suspension")
    there = sum(n for (_, theirs), n in pairs.items() if theirs == "suspension")
    assert there >= 40
    assert pairs["suspension", "suspension"] / named >= 0.8
    assert pairs["suspension", "suspension"] / there >= 0.65
