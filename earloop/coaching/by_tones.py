"""What a tone, or a few of them, means as an answer: for each kind of question which tones stand for which answer.

This is the one place that knows it. The octave is free everywhere. No tune means two answers, save in a skeleton with a
tone changed, where a degree may come more than once: there more of it is asked for. A tune that means no answer is said
to be none of them, and is never judged wrong.
"""

from __future__ import annotations

from collections.abc import Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass
from itertools import groupby, product

from earloop.coaching.question import Answer, ByTones, Naming, Tune
from earloop.line.pitch import pitch_from_midi
from earloop.reading.degrees import degree_of
from earloop.reading.record import Key

FIRST_TONES = 4
"""So many first tones of a line or a page can be asked for (by judgement, no source)."""
COUNTED = ("", "", "two", "three", "four")
UP_TO = "as it sounded or as it should be; where its degree comes more than once, all tones up to it"


@dataclass(frozen=True, slots=True)
class Meant:
    """`place` is that of the answer meant, among the question's answers; None with a sentence on what it was instead.

    `tune` is what was heard.
    """

    tune: Tune
    place: int | None = None
    sentence: str = ""


def meant(by: ByTones, tones: Sequence[int], before: Tune = ()) -> Meant:
    """What these tones (MIDI keys) mean. Where one tone is asked for, the last one counts: a voice searches first.

    `before` is what was given to the same question last. A tune that fits several answers asks for more; the same again
    means that it was all, so that it begins with the first tone.
    """
    tune = tuple(midi % 12 for midi in tones)
    tune = tune[-1:] if by.most == 1 else tune
    places = _places(by, tune)
    if len(places) > 1 and tune == before:
        places = [place for place in places if _from_the_first(by, place, tune)] or places
    if len(places) == 1:
        return Meant(tune, places[0])
    return Meant(tune, None, _more(by, tune, places) if places else _none_of_these(by, tune))


def may_go_on(by: ByTones, tones: Sequence[int]) -> bool:
    """Whether what was given so far begins a longer tune that means something."""
    tune = tuple(midi % 12 for midi in tones)
    return any(len(mine) > len(tune) and mine[: len(tune)] == tune for tunes in by.tunes for mine in tunes)


def _places(by: ByTones, tune: Tune) -> list[int]:
    """The answers it fits; where nothing does as it stands, a tone struck twice or a voice that wavered is one tone."""
    fits = [place for place, mine in enumerate(by.tunes) if tune in mine]
    if fits:
        return fits
    plain = _plain(tune)
    return [place for place, mine in enumerate(by.tunes) if any(_plain(one) == plain for one in mine)]


def _plain(tune: Tune) -> Tune:
    return tuple(pc for pc, _ in groupby(tune))


def _from_the_first(by: ByTones, place: int, tune: Tune) -> bool:
    return len(tune) == max(len(mine) for mine in by.tunes[place])


def _more(by: ByTones, tune: Tune, places: Sequence[int]) -> str:
    comes = f"{by.told(tune)} comes" if len(tune) == 1 else f"{by.told(tune)} come"
    first = any(_from_the_first(by, place, tune) for place in places)
    again = f"; the same again means tone {len(tune)}" if first else ""
    return f"{comes} more than once there: sing or play all tones up to the one you mean{again}."


def _none_of_these(by: ByTones, tune: Tune) -> str:
    return f"That is none of these: it was {by.told(tune)}. Sing or play {by.what}, or answer by key."


# What is sung or played, kind by kind


def one_tone_each(what: str, answers: Sequence[Answer], names: Sequence[str]) -> ByTones | None:
    """Where home is, a degree, a held tone, the next tone, a release: the tone that an answer names means it.

    None where two answers name tones an octave apart.
    """
    return _made(what, [{(answer.pitch.pc,)} for answer in answers if answer.pitch is not None], names)


def by_their_tones(noun: str, one: Sequence[int], other: Sequence[int], names: Sequence[str]) -> ByTones | None:
    """Which line, which page: the plainest tones (MIDI keys) in which two melodies differ.

    The first tone, since it has to be kept in the ear while the rest goes by; else the last one; else one that only one
    of them has; else the first few. None where all these are alike.
    """
    melodies = [[midi % 12 for midi in melody] for melody in (one, other)]
    found = _made(f"the first tone of that {noun}", [{(melody[0],)} for melody in melodies], names)
    found = found or _made(f"the last tone of that {noun}", [{(melody[-1],)} for melody in melodies], names)
    if found:
        return found
    own = [{(pc,) for pc in set(melodies[k]) - set(melodies[1 - k])} for k in (0, 1)]
    if all(own):
        return _made(f"a tone that only that {noun} has", own, names)
    for count in range(2, 1 + min(FIRST_TONES, *map(len, melodies))):
        starts = [{tuple(melody[:count])} for melody in melodies]
        found = found or _made(f"the first {COUNTED[count]} tones of that {noun}", starts, names)
    return found


def where_pages_differ(one: Sequence[int], other: Sequence[int], names: Sequence[str]) -> ByTones | None:
    """Two pages alike but for some tones (MIDI keys, in step with each other): the first of these, as a page has it.

    A later one counts too where only one page has its degree among them.
    """
    apart = [(a % 12, b % 12) for a, b in zip(one, other, strict=True) if a % 12 != b % 12]
    if not apart:
        return None
    first, sets = apart[0], ({a for a, _ in apart}, {b for _, b in apart})
    tunes = [{(pc,) for pc in sets[k] - sets[1 - k] - {first[1 - k]}} | {(first[k],)} for k in (0, 1)]
    return _made("the first tone in which the pages differ, as that page has it", tunes, names)


def up_to_a_tone(true: Sequence[int], place: int, changed: int, names: Sequence[str]) -> ByTones | None:
    """Which tone of a skeleton (MIDI keys) was changed: that tone alone, or any run of tones that ends with it.

    The changed one may be given as it sounded or as it should be, wherever it comes.
    """
    versions = [{midi % 12} for midi in true]
    versions[place] |= {changed % 12}
    ends = range(len(true))
    runs = [
        frozenset(tune for first in range(last + 1) for tune in product(*versions[first : last + 1])) for last in ends
    ]
    return ByTones("the changed tone", tuple(runs), tuple(names), UP_TO)


def names_in(key: Key, naming: Naming, answers: Sequence[Answer] = ()) -> tuple[str, ...]:
    """Each of the twelve pitch classes by its degree in the key, spelled as these answers spell it."""
    pitches = {pc: pitch_from_midi(60 + pc, key.signature) for pc in range(12)}
    pitches |= {answer.pitch.pc: answer.pitch for answer in answers if answer.pitch is not None}
    return tuple(naming(degree_of(pitch.fifths, key), pitch, key.mode) for pitch in pitches.values())


def _made(what: str, tunes: Sequence[AbstractSet[Tune]], names: Sequence[str]) -> ByTones | None:
    """None where a tune would mean two answers."""
    if sum(map(len, tunes)) > len(set().union(*tunes)):
        return None
    return ByTones(what, tuple(frozenset(mine) for mine in tunes), tuple(names))
