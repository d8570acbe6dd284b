"""Decisions about an old edition of a line, carried over to a new one."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import TypeVar

from earloop.line import Line, Span
from earloop.reading import Decisions, Key
from earloop.reading.unplaced import unplaced_of
from earloop.scores.align import align

Value = TypeVar("Value")


def same_tones(old: Line, new: Line) -> bool:
    """Whether both lines have the same pitches at the same times."""
    return len(old) == len(new) and all(
        a.pitch == b.pitch and abs(a.onset - b.onset) < 1e-4 and abs(a.length - b.length) < 1e-4
        for a, b in zip(old.tones, new.tones, strict=True)
    )


def carried_over(decided: Decisions, old: Line, new: Line) -> tuple[Decisions, Decisions]:
    """(decisions about the new line, decisions that found no place: still by the old line's numbers).

    Keys follow a transposition, those of lost decisions too. A decision that names two tones is carried when both have
    a place. What waits unplaced goes on waiting.
    """
    found = align(old, new)
    return sorted_out(decided, dict(enumerate(found.places)), found.semitones)


def settled_in(decided: Decisions, old: Line | None, new: Line) -> tuple[Decisions, Decisions]:
    """(decisions about the new line, what found no tone waiting in them; what that is, by the old line's numbers).

    Without an old line the numbers count as they are.
    """
    if old is None or same_tones(old, new):
        found, lost = within(decided, len(new))
    else:
        found, lost = carried_over(decided, old, new)
    return replace(found, unplaced=(*found.unplaced, *unplaced_of(lost, old))), lost


def within(decided: Decisions, size: int) -> tuple[Decisions, Decisions]:
    """(decisions about the first `size` tones, decisions about tones beyond them)."""
    return sorted_out(decided, {i: i for i in range(size)}, 0)


def sorted_out(decided: Decisions, places: Mapping[int, int | None], semitones: int) -> tuple[Decisions, Decisions]:
    """(decisions moved to their new places, decisions whose tones have none), `places` from old to new index."""

    def split(column: Mapping[int, Value]) -> tuple[dict[int, Value], dict[int, Value]]:
        kept = {places[i]: v for i, v in column.items() if places.get(i) is not None}
        return {i: v for i, v in kept.items() if i is not None}, {
            i: v for i, v in column.items() if places.get(i) is None
        }

    def split_targets(column: Mapping[int, int | None]) -> tuple[dict[int, int | None], dict[int, int | None]]:
        good = {i: v for i, v in column.items() if v is None or places.get(v) is not None}
        kept, lost = split({i: v if v is None else places[v] for i, v in good.items()})
        return kept, {**{i: column[i] for i in lost}, **{i: v for i, v in column.items() if i not in good}}

    levels, voices, words = split(decided.levels), split(decided.voices), split(decided.words)
    phrases, gestures, bridges = split(decided.phrase_ends), split(decided.gesture_ends), split(decided.bridges)
    leans, decorates = split_targets(decided.leans), split_targets(dict(decided.decorates))
    links, local = _links(decided, places), _local(decided, places, semitones)

    def assembled(k: int, home: Key | None) -> Decisions:
        return Decisions(
            levels=levels[k],
            voices=voices[k],
            decorates={i: target for i, target in decorates[k].items() if target is not None},
            phrase_ends=phrases[k],
            gesture_ends=gestures[k],
            home=home,
            local=local[k],
            leans=leans[k],
            links=links[k],
            bridges=bridges[k],
            words=words[k],
        )

    carried = assembled(0, _moved(decided.home, semitones) if decided.home else None)
    return replace(carried, unplaced=decided.unplaced), assembled(1, None)


def _links(
    decided: Decisions, places: Mapping[int, int | None]
) -> tuple[dict[tuple[int, int], bool], dict[tuple[int, int], bool]]:
    kept: dict[tuple[int, int], bool] = {}
    lost: dict[tuple[int, int], bool] = {}
    for (first, second), on in decided.links.items():
        a, b = places.get(first), places.get(second)
        if a is not None and b is not None:
            kept[a, b] = on
        else:
            lost[first, second] = on
    return kept, lost


def _local(
    decided: Decisions, places: Mapping[int, int | None], semitones: int
) -> tuple[tuple[tuple[Span, Key], ...], tuple[tuple[Span, Key], ...]]:
    kept, lost = [], []
    for span, key in decided.local:
        inside = [place for i in span.indexes if (place := places.get(i)) is not None]
        if inside:
            kept.append((Span(min(inside), max(inside)), _moved(key, semitones)))
        else:
            lost.append((span, _moved(key, semitones)))
    return tuple(kept), tuple(lost)


def _moved(key: Key, semitones: int) -> Key:
    """The key so many semitones higher, spelled nearest to no sharps or flats."""
    if semitones % 12 == 0:
        return key
    fifths = key.fifths + semitones * 7
    signature = fifths - (3 if key.mode == "minor" else 0)
    return Key(fifths - 12 * round(signature / 12), key.mode)
