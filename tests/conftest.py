"""What all tests share: hypothesis without deadlines (machines differ), and what to do about missing parts."""

from __future__ import annotations

import pytest
from hypothesis import settings
from jack_server import jack
from system_parts import leave_out

__all__ = ["jack", "part_missing"]

settings.register_profile("earloop", deadline=None, max_examples=40)
settings.load_profile("earloop")


@pytest.fixture
def part_missing():
    """Leave a test out with a sentence saying what to install; where every part is promised, fail instead."""
    return leave_out
