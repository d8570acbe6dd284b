"""A recording of singing or playing → mono samples, by default at the rate the pitch track works at."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

import numpy as np

from earloop.hearing.pitch_track import RATE, Floats

KINDS = (".wav", ".flac", ".mp3")
LONGEST = 1800.0
"""Seconds: half an hour of mono at this rate is the most that is held in memory."""


class TakeError(Exception):
    """What is wrong with a recording and what to do, in one sentence."""


def read_take(path: Path, rate: int = RATE) -> Floats:
    """Samples -1..1 of a WAV, FLAC or MP3 file, all channels mixed, at `rate` a second. Raises TakeError."""
    import miniaudio

    with _refused(path):
        _check_form(path)
        decoded = miniaudio.decode(path.read_bytes(), miniaudio.SampleFormat.FLOAT32, 1, rate)
    return np.nan_to_num(_some(path, decoded.samples))


def check_take(path: Path) -> None:
    """That the file is a recording and begins with sound; the rest of it isn't decoded. Raises TakeError."""
    import miniaudio

    with _refused(path):
        _check_form(path)
        beginning = next(miniaudio.stream_file(str(path), miniaudio.SampleFormat.FLOAT32, 1), ())
    _some(path, beginning)


def _check_form(path: Path) -> None:
    import miniaudio

    if not path.is_file():
        raise TakeError(f"there is no recording {path}: give a WAV, FLAC or MP3 file")
    if path.suffix.lower() not in KINDS:
        raise TakeError(f"{path.name} ends in {path.suffix or 'nothing'}: give a WAV, FLAC or MP3 file")
    with path.open("rb"):
        told = miniaudio.get_file_info(str(path))
    if told.duration > LONGEST:
        raise TakeError(f"{path.name} lasts over {LONGEST / 60:.0f} minutes: cut it to the phrase you sang")


@contextmanager
def _refused(path: Path) -> Iterator[None]:
    """What the system or the decoder says of the file, in a sentence."""
    import miniaudio

    try:
        yield
    except OSError as error:
        raise TakeError(f"{path} can't be read ({error.strerror}): check its permissions") from error
    except miniaudio.MiniaudioError as error:
        raise TakeError(f"{path.name} is damaged or no sound file: record or export it again") from error


def _some(path: Path, samples: Sequence[float]) -> Floats:
    sound = np.asarray(samples, dtype=np.float64)
    if not len(sound):
        raise TakeError(f"{path.name} holds no sound: record or export it again")
    return sound
