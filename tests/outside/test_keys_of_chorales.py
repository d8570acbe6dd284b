"""Degrees, home and local keys against analysed Bach chorales, and key profiles against music21's."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from chorale_keys import Analysed, analysed

from earloop.line.pitch import pitch_from_midi
from earloop.reading.degrees import degree_of, degrees_in
from earloop.reading.gestures import find_gestures
from earloop.reading.local_keys import find_local_keys
from earloop.reading.local_passages import MAJOR as KOSTKA_PAYNE_MAJOR
from earloop.reading.local_passages import MINOR as KOSTKA_PAYNE_MINOR
from earloop.reading.record import Key, Tonic
from earloop.reading.tonic import find_tonic
from earloop.reading.tonic_profiles import MAJOR, MINOR

SCALES = {"major": (0, 2, 4, 5, 7, 9, 11), "minor": (0, 2, 3, 5, 7, 8, 10)}


@pytest.fixture(scope="module")
def parts() -> tuple[Analysed, ...]:
    return analysed()


def test_profiles_are_the_published_ones():
    """Temperley's Kostka-Payne counts, as music21 carries them."""
    from music21.analysis.discrete import TemperleyKostkaPayne

    assert list(KOSTKA_PAYNE_MAJOR) == TemperleyKostkaPayne().getWeights("major")
    assert list(KOSTKA_PAYNE_MINOR) == TemperleyKostkaPayne().getWeights("minor")


@pytest.mark.parametrize(
    ("name", "least"), [("KrumhanslKessler", 0.75), ("AardenEssen", 0.8), ("TemperleyKostkaPayne", 0.8)]
)
def test_fitted_profiles_agree_with_published_ones(name, least):
    """Presence and all shares of time go with two profiles of counted tones, in both modes (correlation >= .8).

    A tone is heard in a line of the key's scale that ends on the tonic, so that the cues of two tones count with it.
    Ratings of a probe tone (Krumhansl and Kessler) say how well a tone fits after a key was heard, not how long it
    sounds: they go along less.
    """
    from music21.analysis import discrete

    published = getattr(discrete, name)()
    cues = ("heard", "there", "time", "early", "late", "held", "low_time", "high_time")
    for mode, own in (("major", MAJOR), ("minor", MINOR)):
        ours = np.sum([own[cue] for cue in cues], axis=0)
        scale = np.isin(np.arange(12), SCALES[mode])
        for size in range(1, 7):
            pair = np.array(own[f"pair_{size}"])
            ours += pair * np.roll(scale, -size) + np.roll(pair * scale, size)
        for size in range(1, 12):
            ours[size] += own[f"ending_with_{size}"][0]
        assert np.corrcoef(ours, published.getWeights(mode))[0, 1] >= least


def test_bass_roots_have_the_degree_of_their_roman_numeral(parts):
    """Where a chord stands in root position, its bass tone is the degree its numeral says."""
    agreed, count = 0, 0
    for part in parts:
        if part.name.endswith("bass"):
            for index, number in part.roots:
                found = degree_of(part.line[index].pitch.fifths, part.keys[index])
                agreed += found.number == number
                count += 1
    assert count >= 200
    assert agreed >= 0.97 * count


def test_letters_found_for_midi_keys_give_the_written_degrees(parts):
    """The lines as bare MIDI keys: in each analysed key the same degrees as from Bach's letters."""
    same, count = 0, 0
    for part in parts:
        bare = replace(
            part.line, spelled=False, tones=tuple(replace(t, pitch=pitch_from_midi(t.midi)) for t in part.line.tones)
        )
        for key in dict.fromkeys(part.keys):
            there = [i for i, own in enumerate(part.keys) if own == key]
            guessed, written = degrees_in(bare.columns, key, False), degrees_in(part.line.columns, key)
            same += sum(guessed[i] == written[i] for i in there)
            count += len(there)
    assert count >= 800
    assert same >= 0.99 * count


def test_degrees_are_music21s(parts):
    """Number and alteration as `Key.getScaleDegreeAndAccidentalFromPitch` has them (its minor is natural too)."""
    from music21 import key as keys
    from music21 import pitch as pitches

    for part in parts[:6]:
        for tone, key in zip(part.line.tones, part.keys, strict=True):
            name = key.name.split()[0].replace("b", "-")
            theirs = keys.Key(name, key.mode).getScaleDegreeAndAccidentalFromPitch(
                pitches.Pitch(tone.pitch.name.replace("b", "-"))
            )
            ours = degree_of(tone.pitch.fifths, key)
            assert (ours.number, ours.alter) == (theirs[0], int(theirs[1].alter) if theirs[1] else 0)


def test_home_keys_beat_music21s_key_analysis(parts):
    """Home from the tones alone, against the key that rules most of the analysis; never fitted on these lines."""
    from music21 import note, stream

    ours, theirs = 0, dict.fromkeys(("KrumhanslSchmuckler", "AardenEssen", "TemperleyKostkaPayne"), 0)
    for part in parts:
        ours += find_tonic(part.line).key.pc == part.home.pc
        flow = stream.Stream()
        flow.append([note.Note(t.midi, quarterLength=t.length) for t in part.line.tones])
        for name in theirs:
            theirs[name] += flow.analyze(name).tonic.pitchClass == part.home.pc
    assert ours >= max(theirs.values())
    assert ours >= 0.8 * len(parts)


def test_local_keys_follow_the_analysis_better_than_home_does(parts):
    """Tones whose local tonic is the analysed one, home key given; one line alone can't show all that four parts do."""
    local_right, home_right, kept, at_home, count = 0, 0, 0, 0, 0
    for part in parts:
        home = Tonic(part.home, 1.0, (part.home.pc,), 1.0)
        gestures = find_gestures(part.line, part.phrases)
        for local in find_local_keys(part.line, home, gestures):
            for index in local.span.indexes:
                right, plain = local.key.pc == part.keys[index].pc, part.home.pc == part.keys[index].pc
                local_right, home_right, count = local_right + right, home_right + plain, count + 1
                kept, at_home = kept + (right and plain), at_home + plain
    assert local_right >= home_right + 0.04 * count
    assert kept >= 0.9 * at_home


def test_names_of_the_analysed_keys(parts):
    assert parts[0].home == Key(1)
    assert {key.name for key in parts[0].keys} == {"G major"}
