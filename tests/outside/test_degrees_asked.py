"""The degrees asked for agree with music21's own (Key.getScaleDegreeAndAccidentalFromPitch) in the key that is stated.

Source: music21 (cuthbert and contributors), an independent reference for scale degrees. Its minor is the natural one
too, so a raised seventh is 7 with a sharp in both.
"""

from __future__ import annotations

import re
from random import Random

import music21
import pytest
from hand_records import library

from earloop.coaching.question import by_number
from earloop.coaching.questions import spots_of
from earloop.reading import read

RECORDS = list(library())
STATED = re.compile(r"key, ([A-G])([#b]*) (major|minor)")


@pytest.mark.parametrize("record", RECORDS, ids=lambda record: record.name)
def test_degrees_are_those_of_music21(record) -> None:
    reading = read(record.line)
    count = 0
    for phrase in range(len(reading.phrases)):
        for spot in spots_of(reading, phrase, ("which_degree", "next_lower", "sing_held")):
            question = spot.make(Random(1), by_number)
            stated = STATED.search(question.words)
            letter, sign, mode = stated.groups() if stated else _parts(reading.home.key.name)
            key = music21.key.Key(f"{letter}{sign}".replace("b", "-"), mode)
            tone = record.line[question.about[-1] if question.kind == "next_lower" else question.about[0]]
            assert _degree(key, tone.pitch.name) == question.right_answer.words, (question.kind, question.about)
            if count % 8 == 0:  # the other answers name the same degrees again and again
                for answer in question.answers:
                    assert answer.pitch is not None
                    assert _degree(key, answer.pitch.name) == answer.words
            count += 1
    assert count >= len(record.line) - sum(tone.grace for tone in record.line.tones)


def _parts(name: str) -> tuple[str, str, str]:
    tonic, mode = name.split()
    return tonic[0], tonic[1:], mode


def _degree(key: music21.key.Key, name: str) -> str:
    pitch = music21.pitch.Pitch(name.replace("b", "-"))
    number, accidental = key.getScaleDegreeAndAccidentalFromPitch(pitch)
    alter = int(accidental.alter) if accidental is not None else 0
    return ("#" * alter if alter >= 0 else "b" * -alter) + str(number)
