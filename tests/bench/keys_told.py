"""What the bench of keys says: a row for each kind of key, and at the end whether every key was answered in time."""

from __future__ import annotations

import os
import statistics
from collections.abc import Sequence

from tests.bench.key_watch import Press

ALLOWED = 50.0
"""Milliseconds a key may take."""


def quietest(runs: Sequence[Sequence[Press]]) -> list[Press]:
    """Each key as it was in the run in which it was answered soonest: the runs press the same keys."""
    assert len({tuple((press.what, press.key) for press in run) for run in runs}) == 1
    return [min(same, key=lambda press: press.answered) for same in zip(*runs, strict=True)]


def told(pressed: Sequence[Press], heading: str) -> None:
    """A row for each kind of key."""
    print(f"  {heading:<26}  middle   worst ms   computed: middle worst   slow work after: middle worst")
    for what in dict.fromkeys(press.what for press in pressed):
        rows = [press for press in pressed if press.what == what]
        answered, computed = [press.answered for press in rows], [press.computed for press in rows]
        after = [press.afterwards for press in rows if press.afterwards is not None]
        later = f"{statistics.median(after):16.0f} {max(after):6.0f}" if after else ""
        mark = " over" if max(answered) > ALLOWED else ""
        columns = f"{statistics.median(answered):8.1f} {max(answered):9.1f}{mark:<5}"
        print(f"    {what:<24} {columns}{statistics.median(computed):14.1f} {max(computed):5.1f}{later}")


def summed_up(pressed: Sequence[Press], load: tuple[float, float, float], others: float) -> None:
    """The line to judge by. `others` is the share of the processors that other programs took, 0..1."""
    within = [press for press in pressed if press.answered <= ALLOWED]
    slowest = max(pressed, key=lambda press: press.answered)
    over = [press for press in pressed if press.computed > ALLOWED]
    print(f"computing alone took more than {ALLOWED:.0f} ms for {len(over)} of {len(pressed)} keys", end="")
    print(f"; load of the machine {load[0]:.1f} before, {os.getloadavg()[0]:.1f} now; ", end="")
    print(f"other programs took {others:.0%} of its processors")
    yes, share = "yes" if len(within) == len(pressed) else "no", len(within) / len(pressed)
    print(
        f"every key under {ALLOWED:.0f} ms: {yes}, {len(within)} of {len(pressed)} ({share:.1%}); the slowest:", end=" "
    )
    print(f"{slowest.what} ({slowest.key}) {slowest.answered:.0f} ms, of it computed {slowest.computed:.0f}")


class Processors:
    """How much of the machine other programs take from now on (Linux; elsewhere it says nothing: 0)."""

    def __init__(self) -> None:
        self._at_first = self._counted()

    @property
    def others(self) -> float:
        """Share of the processors' time, 0..1, that was neither idle nor ours or our children's."""
        now = self._counted()
        total, idle, own = (after - before for after, before in zip(now, self._at_first, strict=True))
        return max(0.0, (total - idle - own) / total) if total > 0 else 0.0

    @staticmethod
    def _counted() -> tuple[float, float, float]:
        """Seconds of all processors, of them idle, and ours."""
        times = os.times()
        own = times.user + times.system + times.children_user + times.children_system
        try:
            with open("/proc/stat", encoding="ascii") as counts:
                fields = [int(word) for word in counts.readline().split()[1:9]]
        except (OSError, ValueError):
            return 0.0, 0.0, own
        tick = os.sysconf("SC_CLK_TCK")
        return sum(fields) / tick, (fields[3] + fields[4]) / tick, own
