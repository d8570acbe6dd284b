"""The order in which bars are played when repeats, endings and leaps are followed (common practice, no source)."""

from __future__ import annotations

from collections.abc import Sequence

from earloop.scores.bars import Bar

LONGEST = 20_000
"""Bars. Nested or broken repeat signs cannot grow a page beyond this."""


def has_repeats(bars: Sequence[Bar]) -> bool:
    """Whether any sign asks for a passage to be played again."""
    return any(bar.repeat_end or bar.leap or bar.endings for bar in bars)


def unfolded(bars: Sequence[Bar]) -> list[Bar]:
    """The bars in playing order. A repeat with no start goes back to the last start, or to the beginning."""
    order = _repeated(bars)
    leap = next((place for place, index in enumerate(order) if bars[index].leap), None)
    if leap is not None:
        order = _leapt(bars, order, leap)
    return [bars[index] for index in order]


def _repeated(bars: Sequence[Bar]) -> list[int]:
    order: list[int] = []
    index = start = 0
    time = 1
    while index < len(bars) and len(order) < LONGEST:
        bar = bars[index]
        if bar.repeat_start and index != start:
            start, time = index, 1
        if bar.endings and time not in bar.endings:
            index += 1
            continue
        order.append(index)
        times = bar.repeat_end
        if bar.endings and times:
            times = max(times, _last_ending(bars, index))
        if times and time < times:
            index, time = start, time + 1
            continue
        if times or (bar.endings and not _same_ending(bars, index + 1, bar.endings)):
            # The passage is over: what follows is played for the first time, from a new start.
            index = _past_endings(bars, index + 1, time) if bar.endings else index + 1
            start, time = index, 1
            continue
        index += 1
    return order


def _same_ending(bars: Sequence[Bar], index: int, endings: tuple[int, ...]) -> bool:
    return index < len(bars) and bars[index].endings == endings


def _last_ending(bars: Sequence[Bar], index: int) -> int:
    """The highest number among the endings that stand together around this bar."""
    first = last = index
    while first > 0 and bars[first - 1].endings:
        first -= 1
    while last + 1 < len(bars) and bars[last + 1].endings:
        last += 1
    return max(max(bar.endings) for bar in bars[first : last + 1])


def _past_endings(bars: Sequence[Bar], index: int, time: int) -> int:
    """After the last ending, skip the endings of the same group that belong to other times."""
    while index < len(bars) and bars[index].endings and time not in bars[index].endings:
        index += 1
    return index


def _leapt(bars: Sequence[Bar], order: list[int], leap: int) -> list[int]:
    """Da capo or dal segno: once, without the repeats, up to the fine or by way of the coda."""
    word = bars[order[leap]].leap
    begin = 0
    if "segno" in word:
        begin = next((index for index, bar in enumerate(bars) if "segno" in bar.signs), 0)
    again = _without_repeats(bars, begin, order[leap])
    if "fine" in word:
        stop = next((place for place, index in enumerate(again) if "fine" in bars[index].signs), len(again) - 1)
        return order[: leap + 1] + again[: stop + 1]
    codas = [index for index, bar in enumerate(bars) if "coda" in bar.signs]
    if "coda" in word and codas:
        # Where the page has two coda signs and no `to coda`, the first is where the line leaves.
        coda = codas[-1]
        leaving = [index for index, bar in enumerate(bars) if "to coda" in bar.signs] or codas[:-1]
        leave = next((place for place, index in enumerate(again) if index in leaving), len(again) - 1)
        return order[: leap + 1] + again[: leave + 1] + list(range(coda, len(bars)))
    return order[: leap + 1] + again + (order[leap + 1 :] if "coda" not in word and "fine" not in word else [])


def _without_repeats(bars: Sequence[Bar], first: int, last: int) -> list[int]:
    """Bars first to last once, each group of endings by its last one."""
    kept = []
    for index in range(first, last + 1):
        endings = bars[index].endings
        if endings and bars[index].repeat_end and _last_ending(bars, index) > max(endings):
            continue
        kept.append(index)
    return kept
