"""What is said before sound and singing may hurt. Sources: WHO-ITU H.870 for listening; the rest is common practice."""

from __future__ import annotations

CAUTIONS = (
    "Start soft. Loud headphones for hours harm hearing: 80 dB(A) for 40 hours a week is the adult limit "
    "(WHO-ITU H.870).",
    "Voices tire and hands strain: short spells, rest between them, and stop at pain.",
    "A teacher, an audiologist, a voice or hand specialist decides what is good for you, not a program.",
)
