"""A spread of music21's corpus in every format gives reasonable lines: in order, one tone at a time, in range."""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path

import pytest

from earloop.scores import load_line

WORKS = (
    "bach/bwv66.6.mxl",
    "bach/bwv846.mxl",
    "beethoven/opus18no1/movement3.mxl",
    "chopin/mazurka06-2.krn",
    "corelli/opus3no1/1grave.xml",
    "cpebach/h186.mxl",
    "essenFolksong/altdeu10.abc",
    "essenFolksong/han1.abc",
    "haydn/opus74no1/movement3.mxl",
    "josquin/laDeplorationDeLaMorteDeJohannesOckeghem.abc",
    "leadSheet/fosterBrownHair.mxl",
    "monteverdi/madrigal.3.1.mxl",
    "mozart/k80/movement1.mxl",
    "nottingham-dataset/reelsa-c.abc",
    "oneills1850/0001-0050.abc",
    "palestrina/Agnus_01.krn",
    "ryansMammoth/BanjoReel.abc",
    "schoenberg/opus19/movement2.mxl",
    "schubert/Lindenbaum.xml",
    "schumann_robert/dichterliebe_no2.xml",
    "trecento/Fava_Dicant_nunc_iudei.xml",
    "webern/webern_dormi_jesu_op_16_no_2.mxl",
)


def _path(name: str) -> Path:
    from music21 import common

    return Path(common.getSourceFilePath()) / name


@pytest.mark.parametrize("unfold", [False, True], ids=["once", "unfolded"])
@pytest.mark.parametrize(
    "name",
    [*(f"corpus/{work}" for work in WORKS), "mei/test/test_file.mei", "omr/k525short.mid", "omr/k525MIDIMvt1.mid"],
)
def test_reasonable_lines(name: str, unfold: bool) -> None:
    path = _path(name)
    if not path.exists():
        pytest.fail(f"music21's corpus has no {name} any more: take another work")
    line = load_line(path, unfold_repeats=unfold)
    onsets = [tone.onset for tone in line]
    assert onsets[0] == 0.0
    assert onsets == sorted(onsets)
    assert all(tone.length > 0 or tone.grace for tone in line)
    plain = [tone for tone in line if not tone.grace]
    assert all(a.end <= b.onset + 1e-9 for a, b in pairwise(plain))
    assert all(28 <= tone.midi <= 108 for tone in line)
    assert all(note.endswith(".") and "\n" not in note for note in line.notes)
    assert line.title


def test_a_trill_written_out_for_playing_only_is_not_on_the_page() -> None:
    """Hidden notes of a second voice (MusicXML's print-object="no") neither sound nor push the later bars on."""
    line = load_line(_path("corpus/haydn/opus1no1/movement3.mxl"), part=1)
    meter = line.meter
    assert meter is not None
    downbeats = [next(t for t in line.tones if t.measure == str(n) and not t.grace) for n in range(3, 10)]
    assert all((tone.onset - meter.first_downbeat) % meter.measure_length == 0 for tone in downbeats)
