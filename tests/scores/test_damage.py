"""A damaged file gives a line or one sentence, never any other exception, whatever bytes were changed."""

from __future__ import annotations

import tempfile
from io import BytesIO
from pathlib import Path

import mido
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from earloop.scores import ScoreError, load_line

ABC = """X:1
T:Lamp
M:3/4
L:1/8
Q:1/4=80
K:Dmix
V:1 name="Flute"
!mf!A2 (3Bcd {g}e>f | [ceg]2- [ceg]2 Z2 | !fermata!(d4 c2) .| |1 A6 :|2 B6 |] & c2
w: one two-three * four
"""
KERN = """**kern\t**text
*I"Viol\t*
*k[f#]\t*
*M3/4\t*
=1\t=1
(4cc,\tla
8dd;T)\t.
8r\t.
4ee\t.
=2\t=2
*^\t*
2g\t4e\t.
*v\t*v\t*
==\t==
*-\t*-
"""
XML = """<?xml version="1.0"?><score-partwise version="4.0"><part-list><score-part id="P1"><part-name>A</part-name>
</score-part></part-list><part id="P1"><measure number="1"><attributes><divisions>6</divisions><key><fifths>2</fifths>
</key><time><beats>3</beats><beat-type>4</beat-type></time></attributes><note><pitch><step>E</step><octave>5</octave>
</pitch><duration>6</duration><notations><slur type="start"/></notations></note><note><rest/><duration>12</duration>
</note><barline location="right"><bar-style>dotted</bar-style><repeat direction="backward"/></barline></measure>
</part></score-partwise>"""
MEI = """<?xml version="1.0"?><mei xmlns="http://www.music-encoding.org/ns/mei"><music><body><mdiv><score><scoreDef>
<staffGrp><staffDef n="1" lines="5" clef.shape="G" clef.line="2"/></staffGrp></scoreDef><section><measure n="1">
<staff n="1"><layer n="1"><note pname="c" oct="5" dur="4"/><note pname="d" oct="5" dur="2"/></layer></staff></measure>
</section></score></mdiv></body></music></mei>"""


def _midi() -> bytes:
    file = mido.MidiFile(ticks_per_beat=480)
    track = mido.MidiTrack([mido.MetaMessage("time_signature", numerator=3, denominator=4)])
    track.append(mido.MetaMessage("key_signature", key="D"))
    for key in (60, 62, 64):
        track.append(mido.Message("note_on", note=key, velocity=64, time=0))
        track.append(mido.Message("note_off", note=key, time=480))
    file.tracks.append(track)
    buffer = BytesIO()
    file.save(file=buffer)
    return buffer.getvalue()


WHOLE = {
    "abc": ABC.encode(),
    "krn": KERN.encode(),
    "musicxml": XML.encode(),
    "mei": MEI.encode(),
    "mid": _midi(),
}


@pytest.mark.parametrize("kind", WHOLE)
def test_the_undamaged_file_gives_a_line(kind: str, tmp_path: Path) -> None:
    path = tmp_path / f"whole.{kind}"
    path.write_bytes(WHOLE[kind])
    assert len(load_line(path)) >= 1


@pytest.mark.parametrize("kind", WHOLE)
@settings(max_examples=60, deadline=None)
@given(data=st.data())
def test_no_damage_gives_a_traceback(kind: str, data: st.DataObject) -> None:
    content = bytearray(WHOLE[kind])
    for _ in range(data.draw(st.integers(1, 6))):
        place = data.draw(st.integers(0, len(content) - 1))
        change = data.draw(st.sampled_from(["set", "cut", "double"]))
        size = data.draw(st.integers(1, 12))
        if change == "set":
            content[place] = data.draw(st.integers(0, 255))
        elif change == "cut":
            del content[place : place + size]
        else:
            content[place:place] = content[place : place + size]
        if not content:
            break
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / f"damaged.{kind}"
        path.write_bytes(content)
        _line_or_sentence(path)


@settings(max_examples=150, deadline=None)
@given(st.text(alphabet="ABCcdezxZ123/>(){}[]|:.!-^_='\"&%w \nfermatK+,", max_size=80))
def test_any_abc_code_gives_a_line_or_a_sentence(code: str) -> None:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "any.abc"
        path.write_text("X:1\nK:D\n" + code, encoding="utf-8")
        _line_or_sentence(path)


def _line_or_sentence(path: Path) -> None:
    for unfold in (False, True):
        line, sentence = None, ""
        try:
            line = load_line(path, unfold_repeats=unfold)
        except ScoreError as refusal:
            sentence = refusal.sentence
        if line is None:
            assert sentence
            assert not sentence.endswith(".")
            assert "\n" not in sentence
            continue
        onsets = [tone.onset for tone in line]
        assert onsets == sorted(onsets)
        assert all(tone.length > 0 or tone.grace for tone in line)
