"""The plan of a session on one phrase: steps in order, each to be changed by hand.

A step is one layer, heard, sung back in degrees, or played back on the instrument: each layer in turn goes through
these (the order of layers and of hearing, singing, playing is common practice, no source). A rest is due after
REST_AFTER minutes at the latest (ours; voices and hands want short spells, common practice).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any, Literal, get_args

from earloop.layers import NAMES, LayerName

Way = Literal["hear", "sing", "play"]
WAYS: tuple[Way, ...] = get_args(Way)
REST_AFTER = 25
"""Minutes of work after which a rest is proposed."""
REST = 5
"""Minutes of rest that are proposed."""
PAUSE = 2.0
"""Seconds between two steps."""
MOST_PASSES = 50
SLOWEST, FASTEST = 10, 300
TEACHER = "your teacher"
"""Whose a plan is that was given without a name."""
LONGEST = 180
"""Minutes a plan may have."""


@dataclass(frozen=True, slots=True)
class Step:
    """`passes` of a layer at a tempo in percent; `pass_seconds` is one pass's length at 100 %, without its answer."""

    layer: LayerName
    way: Way
    passes: int
    tempo: int
    pass_seconds: float

    @property
    def answered(self) -> bool:
        """Whether a silence follows each pass, for the answer."""
        return self.way != "hear"

    @property
    def seconds(self) -> float:
        """How long it takes, with the pause after it."""
        return self.passes * self.pass_seconds * (2 if self.answered else 1) * 100 / self.tempo + PAUSE

    @property
    def told(self) -> str:
        """`sing the upper layer, 3 times at 80 %`."""
        what = "the page" if self.layer == "ornamented" else f"the {self.layer} layer"
        return f"{self.way} {what}, {'once' if self.passes == 1 else f'{self.passes} times'} at {self.tempo} %"


@dataclass(frozen=True, slots=True)
class Plan:
    """Steps for one phrase (from 0) in about so many minutes. `source` says whose: empty is earloop's proposal."""

    phrase: int
    minutes: int
    steps: tuple[Step, ...]
    source: str = ""

    @property
    def seconds(self) -> float:
        """How long all steps take together, rests not counted."""
        return sum(step.seconds for step in self.steps)

    def rests(self) -> tuple[int, ...]:
        """The steps before which a rest is due, so that no more than REST_AFTER minutes are worked on end.

        A single step that is longer is not broken.
        """
        found: list[int] = []
        worked = 0.0
        for place, step in enumerate(self.steps):
            if worked and worked + step.seconds > 60 * REST_AFTER:
                found.append(place)
                worked = 0.0
            worked += step.seconds
        return tuple(found)

    # Changing it: each gives a new plan, and what is out of reach stays at the nearest

    def with_passes(self, place: int, passes: int) -> Plan:
        return self._with(place, passes=max(1, min(MOST_PASSES, passes)))

    def with_tempo(self, place: int, tempo: int) -> Plan:
        return self._with(place, tempo=max(SLOWEST, min(FASTEST, tempo)))

    def with_way(self, place: int, way: Way) -> Plan:
        return self._with(place, way=way)

    def moved(self, place: int, to: int) -> Plan:
        """The step at `place` stands at `to` instead."""
        steps = list(self.steps)
        steps.insert(max(0, min(len(steps) - 1, to)), steps.pop(place))
        return replace(self, steps=tuple(steps))

    def without(self, place: int) -> Plan:
        return replace(self, steps=self.steps[:place] + self.steps[place + 1 :])

    def _with(self, place: int, **changes: Any) -> Plan:
        changed = replace(self.steps[place], **changes)
        return replace(self, steps=(*self.steps[:place], changed, *self.steps[place + 1 :]))


def clock(seconds: float) -> str:
    """`2:05`."""
    whole = round(seconds)
    return f"{whole // 60}:{whole % 60:02d}"


def as_object(plan: Plan) -> dict[str, Any]:
    """The plan as a JSON object."""
    return {
        "phrase": plan.phrase,
        "minutes": plan.minutes,
        "source": plan.source,
        "steps": [
            {"layer": s.layer, "way": s.way, "passes": s.passes, "tempo": s.tempo, "pass_seconds": s.pass_seconds}
            for s in plan.steps
        ],
    }


def from_object(made: Any) -> Plan:
    """The plan in such an object. Raises ValueError with what is wrong."""
    if not isinstance(made, dict) or not isinstance(made.get("steps"), list):
        raise ValueError("a plan must be an object with a list of steps")
    phrase, minutes = _whole(made, "phrase", 0, 10**6), _whole(made, "minutes", 1, LONGEST)
    steps = tuple(_step(row, number) for number, row in enumerate(made["steps"], start=1))
    return Plan(phrase, minutes, steps, str(made.get("source") or ""))


def _step(row: Any, number: int) -> Step:
    if not isinstance(row, dict) or row.get("layer") not in NAMES or row.get("way") not in WAYS:
        raise ValueError(f"step {number} needs a layer ({', '.join(NAMES)}) and a way ({', '.join(WAYS)})")
    seconds = row.get("pass_seconds")
    if not isinstance(seconds, int | float) or not 0 < seconds < 1e6:
        raise ValueError(f"step {number} needs pass_seconds above 0")
    passes, tempo = _whole(row, "passes", 1, MOST_PASSES), _whole(row, "tempo", SLOWEST, FASTEST)
    return Step(row["layer"], row["way"], passes, tempo, float(seconds))


def _whole(row: dict[str, Any], name: str, least: int, most: int) -> int:
    value = row.get(name)
    if type(value) is not int or not least <= value <= most:
        raise ValueError(f"{name} must be a whole number from {least} to {most}")
    return value
