"""A number with its noun is said one way."""

from __future__ import annotations

import re
from pathlib import Path

from earloop.line.counted import counted

ROOMS = Path(__file__).parents[2] / "earloop"
OWN_PLURAL = re.compile(r"""(['"])s\1 (if|\*)|(['"])\3 (if|\*) [^}]*else (['"])s\5|\}s["'] *$""")


def test_one_none_and_many() -> None:
    assert [counted(n, "tone") for n in (0, 1, 2, 1200)] == ["0 tones", "1 tone", "2 tones", "1,200 tones"]
    assert [counted(n, "entry", "entries") for n in (1, 2)] == ["1 entry", "2 entries"]


def test_no_room_makes_a_plural_of_its_own() -> None:
    """But where the number is spoken as a word, or not said at all."""
    own = [
        str(path.relative_to(ROOMS))
        for path in sorted(ROOMS.rglob("*.py"))
        if any(OWN_PLURAL.search(row) for row in path.read_text(encoding="utf-8").splitlines())
    ]
    assert own == ["cli/describing.py", "coaching/spell.py"]
