"""How a phrase's layers stand: what the journal says went well or badly lately."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Literal, get_args

from earloop.journal import Happening
from earloop.layers import NAMES, LayerName

LATELY = 3
"""So many of the last judged times count."""
WEAK, SURE = 0.6, 0.85
"""Shares right below and from which a layer is weak or sure (ours, no source)."""
Grip = Literal["new", "weak", "under way", "sure"]
GRIPS: tuple[Grip, ...] = get_args(Grip)


@dataclass(frozen=True, slots=True)
class Standing:
    """`passes` heard in all, `share` right lately (None: never judged), `tempo` (percent) of the last time."""

    passes: int = 0
    share: float | None = None
    tempo: int | None = None

    @property
    def grip(self) -> Grip:
        """In one word."""
        if self.share is None:
            return "under way" if self.passes else "new"
        if self.share < WEAK:
            return "weak"
        return "sure" if self.share >= SURE else "under way"


NEVER = Standing()


def standings(happenings: Iterable[Happening]) -> Mapping[LayerName, Standing]:
    """The layers' standing on the happenings of one phrase, in any order; layers never touched are left out."""
    found: dict[LayerName, Standing] = {}
    mine = sorted(happenings, key=lambda h: h.at)
    for name in NAMES:
        own = [h for h in mine if h.item == f"layer:{name}"]
        if own:
            found[name] = _standing(own)
    return found


def _standing(own: list[Happening]) -> Standing:
    shares = [h.result for h in own if h.result is not None][-LATELY:]
    tempos = [tempo for h in own if type(tempo := h.detail.get("tempo")) is int]
    passes = sum(n for h in own if type(n := h.detail.get("passes")) is int)
    return Standing(passes, sum(shares) / len(shares) if shares else None, tempos[-1] if tempos else None)
