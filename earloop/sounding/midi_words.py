"""MIDI 1.0 messages as plain numbers: what a port needs to begin, to sound, to tune and to fall silent."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

Words = list[int]

NOTE_OFF, NOTE_ON, CONTROL, PROGRAM, BEND = 0x80, 0x90, 0xB0, 0xC0, 0xE0
CLOCK, BEGIN, CONTINUE, HALT, SONG_PLACE = 0xF8, 0xFA, 0xFB, 0xFC, 0xF2
VOLUME, SUSTAIN, ALL_SOUND_OFF, ALL_NOTES_OFF = 7, 64, 120, 123
DATA_COARSE, DATA_FINE, RPN_FINE, RPN_COARSE = 6, 38, 100, 101
BEND_RANGE = 2
"""Semitones; set by registered parameter 0, so that a port's own setting doesn't matter."""
CENTER = 8192


def note_on(channel: int, key: int, velocity: int) -> Words:
    """Velocity at least 1: a note on with 0 would be a note off."""
    return [NOTE_ON | channel, key, min(127, max(1, velocity))]


def note_off(channel: int, key: int) -> Words:
    return [NOTE_OFF | channel, key, 64]


def control(channel: int, number: int, value: int) -> Words:
    return [CONTROL | channel, number, min(127, max(0, value))]


def bend(channel: int, cents: float) -> Words:
    """Pitch bend by `cents`, held within the range."""
    value = min(16383, max(0, CENTER + round(cents / (BEND_RANGE * 100) * CENTER)))
    return [BEND | channel, value & 0x7F, value >> 7]


def prepared(channel: int, program: int, volume: int) -> Iterator[Words]:
    """Program, volume and bend range of a channel."""
    yield [PROGRAM | channel, program]
    yield control(channel, VOLUME, volume)
    yield control(channel, RPN_COARSE, 0)
    yield control(channel, RPN_FINE, 0)
    yield control(channel, DATA_COARSE, BEND_RANGE)
    yield control(channel, DATA_FINE, 0)
    yield control(channel, RPN_COARSE, 127)
    yield control(channel, RPN_FINE, 127)
    yield bend(channel, 0.0)


def quieted(channel: int) -> Iterator[Words]:
    """Sustain up, all sound off, all notes off: after the note offs, for whatever they didn't reach."""
    yield control(channel, SUSTAIN, 0)
    yield control(channel, ALL_SOUND_OFF, 0)
    yield control(channel, ALL_NOTES_OFF, 0)


def panic(channel: int, keys: Iterable[int] = range(128)) -> Iterator[Words]:
    """What a fresh connection does to end notes that someone else began: note offs first, then controllers."""
    for key in keys:
        yield note_off(channel, key)
    yield from quieted(channel)
    yield bend(channel, 0.0)


def song_place(quarters: float) -> Words:
    """Song position pointer: in sixteenths from the start."""
    sixteenths = min(16383, max(0, round(quarters * 4)))
    return [SONG_PLACE, sixteenths & 0x7F, sixteenths >> 7]
