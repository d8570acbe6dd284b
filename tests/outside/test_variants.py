"""What decorates what, against plainer and more ornamented forms of one tune.

Truth: fiddle tunes in music21's corpus (Ryan's Mammoth Collection, 1883; O'Neill's Music of Ireland, 1903) that come
back to a measure with more tones. That the plain form's tone is the one kept is the rule of the division manuals
(Ortiz, Tratado de glosas, 1553: the division begins on the plain tone and comes back to it; from memory).
"""

from __future__ import annotations

from itertools import islice

import numpy as np
import pytest
from tune_books import CORPUS, tunes
from variants import Ornamented, Stretch, within

from earloop.line import Line, Meter, Tone
from earloop.line.pitch import pitch_from_name
from earloop.reading import read


def line_of(words: str) -> Line:
    """`D5:1 E5:0.5` as a line in 4/4."""
    time, tones = 0.0, []
    for word in words.split():
        name, _, length = word.partition(":")
        tones.append(Tone(time, float(length), pitch_from_name(name)))
        time += float(length)
    return Line(tuple(tones), meters=((0.0, Meter(4, 4)),))


PLAIN = "G4:1 A4:1 B4:2 C5:2 D5:2 B4:2 A4:2 G4:2 F#4:2 G4:4"
RICH = "G4:1 A4:1 B4:2 C5:2 D5:2 B4:0.5 C5:0.5 B4:0.5 A4:0.5 A4:1 B4:1 G4:2 F#4:2 G4:4"


def test_a_measure_that_comes_back_with_more_tones_tells_what_decorates() -> None:
    """One tune, ornamented the second time: in the third measure C5 and A4 decorate B4, B4 decorates A4."""
    line = line_of(f"{PLAIN} {RICH}")
    found = within("made", line)
    first = PLAIN.count(":") + 5
    assert {(s.heads, s.others) for s in found.stretches} == {
        ((first, first + 2), (first + 1, first + 3)),
        ((first + 4,), (first + 5,)),
    }


def test_other_measures_tell_nothing() -> None:
    """A measure of other tones between other neighbors is no form of the first."""
    line = line_of(PLAIN + " E4:0.5 F#4:0.5 A4:1 D4:2 C4:2 E4:1 D4:1 C4:4 B3:4")
    assert within("made", line).stretches == []


@pytest.fixture(scope="module")
def ornamented() -> list[Ornamented]:
    assert (CORPUS / "ryansMammoth").exists()
    lines = islice(tunes(("ryansMammoth", "oneills1850")), 0, None, 4)
    return [found for found in (within(name, line) for name, line in islice(lines, 360)) if found.stretches]


def governed(found: Ornamented, stretch: Stretch, weight: np.ndarray) -> list[float]:
    """For each tone left out by the plain form: 1 where the tone kept outweighs it, else 0."""
    if len(stretch.heads) > 1:
        return []
    return [float(weight[stretch.heads[0]] > weight[i]) for i in stretch.others]


def test_what_the_plain_form_keeps_outweighs_what_it_leaves_out(ornamented: list[Ornamented]) -> None:
    """With the meter given: in more pairs than by length alone, and in two of three at least."""
    ours, length = [], []
    for found in ornamented:
        weight = np.array(read(found.line).weights.weight)
        for stretch in found.stretches:
            ours += governed(found, stretch, weight)
            length += governed(found, stretch, found.line.columns.length)
    assert len(ours) >= 20
    assert np.mean(ours) > np.mean(length)
    assert np.mean(ours) >= 2 / 3
