"""A plan proposed from what went well or badly and from the minutes there are. The rules are ours, by judgement.

Layers that are not sure yet come first into the time there is, in the order one practises them, until one has no room;
a sure one gets a reminder where room is left. What remains goes to more singing, then to more playing, of the weakest.
The steps then stand in the layers' own order. A weak layer goes slower than last time, a sure one faster. A short
phrase may not fill a long session: `why_it_ends` then says so.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace

from earloop.coaching.plan import FASTEST, LONGEST, WAYS, Plan, Step, Way
from earloop.coaching.standing import GRIPS, NEVER, Grip, Standing
from earloop.layers import NAMES, LayerName
from earloop.line.counted import counted

PASSES: Mapping[Grip, Mapping[Way, int]] = {
    "new": {"hear": 3, "sing": 3, "play": 2},
    "weak": {"hear": 2, "sing": 4, "play": 2},
    "under way": {"hear": 1, "sing": 3, "play": 2},
    "sure": {"sing": 1, "play": 1},
}
FIRST_TEMPO = 80
"""Percent, for a layer that was never played: slow work first (common practice)."""
SLOWEST_PROPOSED = 40
MOST_PROPOSED = 8
"""More passes of one step than this are left to the player (ours, by judgement)."""


def propose(
    phrase: int, pass_seconds: Mapping[LayerName, float], known: Mapping[LayerName, Standing], minutes: int
) -> Plan:
    """The plan for a phrase: `pass_seconds` names the layers there are, with one pass's seconds at 100 %.

    It fits the minutes unless not even one layer does; then it is that layer's least. Without layers it has no steps.
    """
    minutes = max(1, min(LONGEST, minutes))
    layers = [name for name in NAMES if pass_seconds.get(name, 0.0) > 0]
    room = 60.0 * minutes
    taken: list[list[Step]] = []
    wanting = [name for name in layers if known.get(name, NEVER).grip != "sure"]
    sure = [name for name in layers if name not in wanting]
    for name in wanting:
        full = _steps(name, known.get(name, NEVER), pass_seconds[name])
        if _length(full) <= room:
            taken.append(full)
            room -= _length(full)
            continue
        least = [replace(step, passes=1) for step in full]
        if _length(least) <= room or not taken:
            taken.append(least)
            room -= _length(least)
        break
    for name in sure:
        reminder = _steps(name, known[name], pass_seconds[name])
        if _length(reminder) <= room or not taken:
            taken.append(reminder)
            room -= _length(reminder)
    steps = [step for own in taken for step in own]
    ordered = sorted(steps, key=lambda step: (NAMES.index(step.layer), WAYS.index(step.way)))
    return Plan(phrase, minutes, tuple(_filled(ordered, known, room)))


def _steps(name: LayerName, standing: Standing, seconds: float) -> list[Step]:
    tempo = _tempo(standing)
    return [Step(name, way, passes, tempo, seconds) for way, passes in PASSES[standing.grip].items()]


def _tempo(standing: Standing) -> int:
    last = standing.tempo or FIRST_TEMPO
    match standing.grip:
        case "weak":
            return min(last, max(SLOWEST_PROPOSED, last - 10))
        case "sure":
            return min(FASTEST, max(last, min(100, last + 5)))
        case _:
            return last


def _length(steps: Iterable[Step]) -> float:
    return sum(step.seconds for step in steps)


def _filled(steps: list[Step], known: Mapping[LayerName, Standing], room: float) -> list[Step]:
    """More singing, then more playing, one pass at a time, the weakest layers first, while there is room."""
    by_need = ("weak", "new", "under way", "sure")
    assert set(by_need) == set(GRIPS)
    for way in ("sing", "play"):
        places = [place for place, step in enumerate(steps) if step.way == way]
        places.sort(key=lambda place: by_need.index(known.get(steps[place].layer, NEVER).grip))
        growing = True
        while growing:
            growing = False
            for place in places:
                longer = replace(steps[place], passes=steps[place].passes + 1)
                more = longer.seconds - steps[place].seconds
                if longer.passes <= MOST_PROPOSED and more <= room:
                    steps[place], room, growing = longer, room - more, True
    return steps


def why_it_ends(plan: Plan) -> str:
    """A sentence on a plan that ends a minute or more before its time because no step is to grow; else empty."""
    left = int(60 * plan.minutes - plan.seconds) // 60
    answered = [step for step in plan.steps if step.answered]
    if left < 1 or not answered or any(step.passes < MOST_PROPOSED for step in answered):
        return ""
    return (
        f"More than {MOST_PROPOSED} passes of a step on end teach little: "
        f"{counted(left, 'minute is', 'minutes are')} left for another phrase."
    )
