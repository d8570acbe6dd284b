"""Key names as people write them, `F# minor`, and back."""

from __future__ import annotations

import re

from earloop.reading import Key

_KEY = re.compile(r"\s*([A-G])(#{0,2}|b{0,2})\s+(major|minor)\s*$")


def is_key_name(name: str) -> bool:
    """Whether it is a key as people write it."""
    return _KEY.match(name) is not None


def key_from_name(name: str) -> Key:
    """`F# minor` → Key. Raises ValueError with what would be right."""
    found = _KEY.match(name)
    if not found:
        raise ValueError(f"{name!r} is not a key: write it like F# minor or Bb major")
    letter, sign, mode = found.groups()
    fifths = "FCGDAEB".index(letter) - 1 + 7 * (len(sign) if sign.startswith("#") else -len(sign))
    return Key(fifths, "minor" if mode == "minor" else "major")
