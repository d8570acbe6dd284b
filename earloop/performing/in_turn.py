"""Two performances in one pass, the second begun at the seam where the first ends: for hearing one beside the other."""

from __future__ import annotations

from dataclasses import replace

from earloop.performing.events import Performance


def in_turn(first: Performance, second: Performance) -> Performance:
    """Both, one after the other, at the first's tempo and with its count-in; neither has an answer gap.

    The place in the line is known through the first only: in the second it goes back to where it began.
    """
    later = (replace(event, onset=event.onset + first.length) for event in second.events)
    return replace(
        first,
        events=(*first.events, *later),
        length=first.length + second.length,
        answer_from=None,
        title=f"{first.title}, then {second.title}",
    )
