"""The panel of sound settings: every row does at once what it says, at any size and in plain signs."""

from __future__ import annotations

import sys
from dataclasses import replace
from pathlib import Path

import pytest
from seen_screen import seen, until

from earloop.screen.panels.sound_settings import SoundSettings
from earloop.session.remembered import remembered

ROWS = ("A4", "intervals", "range", "range by octaves", "ramp", "from", "to", "each pass", "delay of the speaker",
        "SoundFont", "pedal or keyboard", "MIDI clock", "line on a port", "its program", "its channel")  # fmt: skip
CHANGES = [
    ("A4", "right", "441 Hz", ("tuning", 441, None)),
    ("intervals", "right", "just, over G", ("tuning", 440.0, 7)),
    ("range", "left", "a semitone lower", ("transpose", -1)),
    ("range by octaves", "left", "an octave lower", ("transpose", -12)),
    ("ramp", "right", "on, each pass nearer", ("ramp", 1.0, 0.05)),
    ("from", "left", "55 %", None),
    ("to", "right", "105 %", None),
    ("each pass", "right", "6 % on", None),
    ("delay of the speaker", "right", "short", ("output", "speaker")),
    ("MIDI clock", "enter", "sent to the port", ("output", "speaker")),
    ("line on a port", "right", "middle", None),
    ("its program", "right", "55, ensemble and voices", ("output", "speaker")),
    ("its channel", "left", "16", ("output", "speaker")),
]


async def opened(app, pilot) -> None:
    await pilot.press("u")
    await until(pilot, lambda: isinstance(app.screen, SoundSettings) and app.screen.is_mounted)
    await pilot.pause()


@pytest.mark.parametrize(("row", "key", "says", "asked"), CHANGES)
async def test_a_row_does_what_it_says(stood, row, key, says, asked):
    async with stood() as (app, pilot, player):
        await opened(app, pilot)
        await pilot.press(*["down"] * ROWS.index(row), key)
        await pilot.pause()
        assert says in next(line for line in seen(app).splitlines() if f" {row}  " in line)
        assert asked is None or asked in player.asked
        await pilot.press("q")
        await pilot.pause()
        assert not isinstance(app.screen, SoundSettings)


@pytest.mark.parametrize("size", [(80, 24), (140, 40)])
@pytest.mark.parametrize("plain", [False, True])
async def test_every_row_is_to_be_seen(stood, size, plain):
    async with stood(size=size, ascii=plain) as (app, pilot, _):
        await opened(app, pilot)
        text = seen(app)
        assert all(row in text for row in ROWS)
        assert "q back" in text
        assert not plain or text.isascii()


async def test_what_was_chosen_is_said_on_the_stand_and_remembered(stood):
    async with stood() as (app, pilot, _):
        await opened(app, pilot)
        await pilot.press("left", "down", "right", "down", "down", "left", "down", "right", "end", "right", "u")
        await pilot.pause()
        details = seen(app).splitlines()[2]
        assert "an octave lower" in details
        assert "A4 439" in details
        assert "just" in details
        assert "ramp: 100 of 100 %" in seen(app)
        assert remembered().channels == (("upper", 1),)


async def test_space_plays_from_the_panel(stood):
    async with stood() as (app, pilot, player):
        await opened(app, pilot)
        await pilot.press("space")
        assert player.asked[-1] == ("play",)


async def test_a_soundfont_is_asked_for_and_a_wrong_path_is_said(stood, tmp_path: Path):
    """The path is typed; a file that isn't there changes nothing."""
    font = tmp_path / "own.sf2"
    font.write_bytes(b"RIFF")
    async with stood() as (app, pilot, _):
        await opened(app, pilot)
        await pilot.press(*["down"] * ROWS.index("SoundFont"), "right")
        await until(pilot, lambda: "Path of a SoundFont" in seen(app))
        await pilot.press(*"nowhere", "enter")
        await until(pilot, lambda: "There is no file nowhere" in seen(app))
        assert app.stand.sound.output.soundfont == ""
        await pilot.press("right")
        await until(pilot, lambda: "Path of a SoundFont" in seen(app))
        app.screen.query_one("Input").value = str(font)
        await pilot.press("enter")
        await until(pilot, lambda: "own.sf2" in seen(app))
        assert app.stand.sound.output.soundfont == str(font)
        await pilot.press("left")
        assert app.stand.sound.output.soundfont == ""


async def test_the_pedal_turns_to_the_next_phrase_on_the_stand(stood):
    async with stood() as (app, pilot, player):
        await pilot.pause(0.15)
        player.place = replace(player.place, next_asked=1)
        await until(pilot, lambda: app.stand.session.phrase == 1)
        await pilot.pause()
        assert "phrase 2 of" in seen(app)


async def test_without_the_midi_library_nothing_is_to_be_plugged_in(stood, monkeypatch: pytest.MonkeyPatch):
    """The row of the pedal says what is missing."""
    monkeypatch.setitem(sys.modules, "rtmidi", None)
    async with stood() as (app, pilot, _):
        await opened(app, pilot)
        await pilot.press(*["down"] * ROWS.index("pedal or keyboard"), "right")
        await until(pilot, lambda: "pip install python-rtmidi" in " ".join(seen(app).replace("│", " ").split()))
        assert "plug" not in seen(app)
