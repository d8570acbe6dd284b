"""What all tests share: hypothesis without deadlines (machines differ), and what to do about missing parts."""

from __future__ import annotations

import os

import pytest
from hypothesis import settings

settings.register_profile("earloop", deadline=None, max_examples=40)
settings.load_profile("earloop")


@pytest.fixture
def part_missing():
    """Leave a test out with a sentence saying what to install; where every part is promised, fail instead."""

    def missing(sentence: str) -> None:
        if os.environ.get("EARLOOP_ALL_PARTS"):
            pytest.fail(f"left out although every part should be here: {sentence}")
        pytest.skip(sentence)

    return missing
