"""MIDI messages against the MIDI 1.0 Detailed Specification (numbers also as in mido's own decoding)."""

from __future__ import annotations

import mido
import pytest

from earloop.performing.events import STRANDS
from earloop.sounding import midi_words
from earloop.sounding.channels import Channels
from earloop.sounding.outputs import OutputChoice


def decoded(words: list[list[int]]) -> list[mido.Message]:
    return [mido.Message.from_bytes(message) for message in words]


def test_note_messages() -> None:
    """9n note on, 8n note off; a note on is never sent with velocity 0, which would be a note off."""
    assert midi_words.note_on(3, 60, 0) == [0x93, 60, 1]
    assert midi_words.note_off(3, 60)[:2] == [0x83, 60]


@pytest.mark.parametrize(("cents", "value"), [(0.0, 0), (200.0, 8191), (-200.0, -8192), (100.0, 4096), (-58.6, -2400)])
def test_pitch_bend(cents: float, value: int) -> None:
    """14 bits around 8192, over a range of two semitones either way."""
    assert abs(mido.Message.from_bytes(midi_words.bend(0, cents)).pitch - value) <= 1


def test_bend_range_by_registered_parameter_0() -> None:
    """Controllers 101 and 100 at 0, data entry 6 = 2 semitones and 38 = 0 cents, then parameter null (127, 127)."""
    controls = [
        (m.control, m.value) for m in decoded(list(midi_words.prepared(0, 5, 80))) if m.type == "control_change"
    ]
    assert controls[1:] == [(101, 0), (100, 0), (6, 2), (38, 0), (101, 127), (100, 127)]


def test_silence_sends_note_offs_first_then_controllers() -> None:
    """64 sustain off, 120 all sound off, 123 all notes off, after the offs of the notes themselves."""
    channels = Channels(OutputChoice("midi"))
    for voice, strand in enumerate(STRANDS):
        channels.begun(voice, 60 + voice, 0.0, 0.7, strand)
    kinds = [message.type for message in decoded(channels.silenced())]
    assert kinds[:8] == ["note_off"] * 8
    assert set(kinds[8:]) == {"control_change"}
    controls = [m.control for m in decoded(list(midi_words.quieted(0)))]
    assert controls == [64, 120, 123]


def test_a_fresh_connection_ends_every_key() -> None:
    offs = [m.note for m in decoded(list(midi_words.panic(2))) if m.type == "note_off"]
    assert sorted(offs) == list(range(128))


def test_each_strand_has_a_channel_and_a_program_of_its_own() -> None:
    channels = Channels(OutputChoice("midi", channels=(("upper", 11),), programs=(("upper", 40),)))
    assert len(set(channels.home.values())) == len(STRANDS)
    programs = {m.channel: m.program for m in decoded(channels.prepared()) if m.type == "program_change"}
    assert programs[11] == 40
    assert channels.begun(1, 60, 0.0, 0.5, "upper")[-1][0] == 0x9B


def test_the_count_is_a_wood_block() -> None:
    """General MIDI 1: channel 10 is percussion, keys 76 and 77 are the high and the low wood block."""
    channels = Channels(OutputChoice("midi"))
    assert channels.begun(1, 60, 0.0, 0.9, "count")[-1][:2] == [0x99, 76]
    assert channels.begun(2, 60, 0.0, 0.4, "count")[-1][:2] == [0x99, 77]


def test_two_tunings_at_a_time_take_two_channels() -> None:
    """A pure fifth over the tonic: each note of the drone needs a bend of its own."""
    channels = Channels(OutputChoice("midi"))
    channels.prepared()
    first = channels.begun(1, 48, 0.0, 0.5, "drone")[-1]
    second = channels.begun(2, 52, -13.7, 0.5, "drone")
    assert second[-1][0] != first[0]
    assert [m.type for m in decoded(second)] == ["program_change", "pitchwheel", "note_on"]


def test_the_same_key_again_ends_the_first() -> None:
    channels = Channels(OutputChoice("midi"))
    channels.begun(1, 60, 0.0, 0.5, "upper")
    assert [m.type for m in decoded(channels.begun(2, 60, 0.0, 0.5, "upper"))] == ["note_off", "note_on"]
    assert channels.ended(1) == []
    assert [m.type for m in decoded(channels.ended(2))] == ["note_off"]


def test_a_far_tuning_moves_the_key() -> None:
    """A bend of three semitones doesn't fit the range of two: the key takes the whole semitones."""
    channels = Channels(OutputChoice("midi"))
    channels.prepared()
    words = decoded(channels.begun(1, 60, -310.0, 0.5, "upper"))
    assert words[-1].note == 57
    assert words[0].pitch == pytest.approx(-10 / 200 * 8192, abs=1)


@pytest.mark.parametrize(("quarters", "sixteenths"), [(1.0, 4), (2.5, 10), (1000.0, 4000)])
def test_song_position_counts_sixteenths(quarters: float, sixteenths: int) -> None:
    assert mido.Message.from_bytes(midi_words.song_place(quarters)).pos == sixteenths
