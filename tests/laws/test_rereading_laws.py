"""Law 6 where the readers come later: the same reading as from anew, every decision seen at once, undo the same."""

from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st

from earloop.layers import NAMES, build
from earloop.line import Line, Span
from earloop.performing import perform
from earloop.reading import DEEPEST, Decisions, Key, read
from earloop.reading.at_once import at_once, is_whole
from earloop.reading.read import Readers
from earloop.session.desk import Desk
from tests.made_lines import lines

KEYS = st.builds(Key, st.integers(-5, 5), st.sampled_from(("major", "minor")))
ACTS = (
    "raise_tone", "lower_tone", "turn_phrase_end", "turn_gesture_end", "turn_lean", "turn_bridge", "back_to_proposal",
    "give_to", "lean_to", "decorate", "turn_link", "set_home", "set_local", "write_word", "undo", "redo",
)  # fmt: skip


def few(keys: st.SearchStrategy, values: st.SearchStrategy) -> st.SearchStrategy:
    return st.dictionaries(keys, values, max_size=2)


@st.composite
def decisions(draw: st.DrawFn, size: int) -> Decisions:
    """Any decisions about a line of so many tones, of every kind."""
    tone = st.integers(0, size - 1)
    spans = st.tuples(tone, tone).map(lambda ends: Span(min(ends), max(ends)))
    return Decisions(
        levels=draw(few(tone, st.integers(0, DEEPEST))),
        voices=draw(few(tone, st.sampled_from(("upper", "middle", "lower", "single")))),
        decorates=draw(few(tone, tone)),
        phrase_ends=draw(few(tone, st.booleans())),
        gesture_ends=draw(few(tone, st.booleans())),
        home=draw(st.none() | KEYS),
        local=tuple(draw(st.lists(st.tuples(spans, KEYS), max_size=1))),
        leans=draw(few(tone, st.none() | tone)),
        links=draw(few(st.tuples(tone, tone).map(lambda pair: (min(pair), max(pair))), st.booleans())),
        bridges=draw(few(tone, st.booleans())),
        words=draw(few(tone, st.sampled_from(("far bell", "down-bow")))),
    )


@st.composite
def courses(draw: st.DrawFn) -> tuple[Line, list[Decisions]]:
    """A line and what is decided about it, one after the other."""
    line = draw(lines(24))
    return line, draw(st.lists(decisions(len(line)), min_size=2, max_size=4))


@given(courses())
def test_reading_again_is_reading_from_anew(course: tuple[Line, list[Decisions]]) -> None:
    """Whatever was read before, readers left out for equal inputs change nothing."""
    line, decided = course
    readers = Readers(line)
    for one in decided:
        assert readers.read(one) == read(line, one)


@given(courses())
def test_what_no_slow_reader_sees_is_whole_at_once(course: tuple[Line, list[Decisions]]) -> None:
    """Leans, links, bridges and words need no waiting for."""
    line, (one, other, *_) = course
    quick = Decisions(
        levels=one.levels, voices=one.voices, decorates=one.decorates, phrase_ends=one.phrase_ends,
        gesture_ends=one.gesture_ends, home=one.home, local=one.local,
        leans=other.leans, links=other.links, bridges=other.bridges, words=other.words,
    )  # fmt: skip
    assert is_whole(one, quick)
    assert at_once(read(line, one), one, quick) == read(line, quick)


@given(courses(), st.sampled_from(NAMES))
def test_the_first_look_has_every_decision_in_it_and_can_sound(course: tuple[Line, list[Decisions]], name) -> None:
    """What was decided is there before the readers come, and every layer can be built from it."""
    line, (before, decided, *_) = course
    looked = at_once(read(line, before), before, decided)
    assert all(looked.weights.level[i] == level for i, level in decided.levels.items())
    assert all(looked.voices[i] == voice for i, voice in decided.voices.items())
    ends = {span.last for span in looked.phrases}
    assert all((i in ends) == on for i, on in decided.phrase_ends.items() if i < len(line) - 1)
    assert decided.home is None or looked.home.key == decided.home
    assert {lean.lean for lean in looked.leans} >= {i for i, to in decided.leans.items() if to is not None}
    assert dict(looked.words) == decided.words
    for spans in (looked.phrases, looked.gestures, [local.span for local in looked.local]):
        assert [i for span in spans for i in span.indexes] == list(range(len(line)))
    for tone in range(len(line)):
        at, seen = tone, 0
        while at >= 0:
            at, seen = looked.weights.parent[at], seen + 1
            assert seen <= len(line), "the tree has a ring"
    assert perform(looked, build(looked, name)).length >= 0


@settings(max_examples=25)
@given(lines(16), st.lists(st.tuples(st.sampled_from(ACTS), st.integers(0, 15), st.booleans()), max_size=8))
def test_a_desk_that_reads_later_comes_to_the_same_reading(line: Line, acts: list[tuple[str, int, bool]]) -> None:
    """After any acts, waited for or not, the reading is that of what was decided; undone, it is the proposal."""
    desk = Desk(line, reads_later=True)
    for name, number, waits in acts:
        do(desk, name, number % len(line))
        if waits:
            desk.finish()
    desk.finish()
    assert desk.reading == read(line, desk.decided)
    while desk.undo():
        pass
    desk.finish()
    assert desk.reading == desk.proposal


def do(desk: Desk, name: str, tone: int) -> None:
    """One act of the desk on a tone, whatever else it needs made up."""
    last = len(desk.line) - 1
    values = {
        "give_to": (tone, "lower"),
        "decorate": (tone, last - tone),
        "lean_to": (tone, last),
        "turn_link": (tone, last - tone),
        "set_home": (Key(tone % 5, "minor"),),
        "set_local": (Span(tone, last), Key(1)),
        "write_word": (tone, "far bell"),
        "undo": (),
        "redo": (),
    }.get(name, (tone,))
    getattr(desk, name)(*values)
