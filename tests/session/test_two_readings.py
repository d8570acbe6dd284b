"""Two readings in one sitting: any row of acts, saved, reloaded, undone; and whose turn it is to sound."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from earloop.line import Line
from earloop.reading import NONE_DECIDED, Decisions, read
from earloop.reading.decisions import Unplaced
from earloop.reading.differences import differences
from earloop.scores.carried import carried_over
from earloop.scores.kept_form import parse
from earloop.scores.kept_reading import KeptReading
from earloop.scores.kept_writing import new_document, written
from earloop.scores.other_readings import other_reading
from earloop.session.comparing import Comparing
from earloop.session.session import Session
from tests.laws.test_reading_laws import decided_lines
from tests.made_lines import line_of
from tests.session.fake_player import FakePlayer

LINE = line_of("G3 B4 A3 C5 B3 D5 C4 A4 G4 B3 A3 G3", "1 1 1 1 1 1 2 1 3 1 1 2")
MINE = Decisions(levels={2: 5}, leans={7: None}, words={8: "far bell"})
TEACHER = Decisions(levels={4: 5}, phrase_ends={4: True}, bridges={8: True})


def comparing(mine: Decisions = MINE, others: Decisions = TEACHER, line: Line = LINE) -> Comparing:
    session = Session(line, FakePlayer(), decided=mine)
    return Comparing(session, "lesson", others, read(line, others))


ACTS = st.lists(st.tuples(st.sampled_from(("take", "all", "undo", "redo", "step")), st.integers(-3, 5)), max_size=8)


@settings(max_examples=20, deadline=None)
@given(decided_lines(), ACTS, st.data())
def test_any_row_of_acts_saved_reloaded_and_undone(
    tmp_path_factory: pytest.TempPathFactory,
    case: tuple[Line, Decisions],
    acts: list[tuple[str, int]],
    data: st.DataObject,
) -> None:
    """What stands on the disk is what is decided, after each act; all undone, it is what it was at first."""
    line, mine = case
    index = st.integers(0, len(line) - 1)
    others = Decisions(levels=data.draw(st.dictionaries(index, st.integers(0, 5), max_size=2)), words={0: "bell"})
    folder = tmp_path_factory.mktemp("acts")
    kept = KeptReading(folder / "tune.abc", line, folder / "data")
    both = comparing(mine, others, line)
    desk = both.session.desk
    desk.watch = lambda decided, _: kept.save(decided) and None
    for name, by in acts:
        if name == "take":
            both.take(both.what_taking_gives()())
        elif name == "step":
            both.step(by)
        else:
            {"all": both.take_all, "undo": both.undo, "redo": both.redo}[name]()
        assert both.differences == differences(read(line, desk.decided), both.other)
        assert not both.differences or 0 <= both.at < len(both.differences)
    if kept.path.exists():
        assert parse(kept.path.read_text(encoding="utf-8"), "kept").decided == desk.decided
        assert read(line, parse(kept.path.read_text(encoding="utf-8"), "kept").decided) == desk.reading
    while desk.can_undo:
        both.undo()
    assert desk.decided == mine
    assert both.differences == differences(read(line, mine), both.other)
    kept.close()


def test_taking_one_after_the_other_ends_at_the_others_reading() -> None:
    """From any difference, taken over again and again, nothing is left to take."""
    both = comparing()
    for _ in range(60):
        if not both.differences:
            break
        both.go_to(0)
        before = both.session.desk.decided
        both.take(both.what_taking_gives()())
        if both.session.desk.decided == before:
            both.step(1)
    assert both.differences == ()
    assert both.session.reading.weights.level == both.other.weights.level
    assert both.sentence() == "The two readings are the same."


def test_what_waits_for_a_place_goes_on_waiting_when_all_is_taken_over() -> None:
    waiting = (Unplaced("word", "old bell", 40, "C5"),)
    both = comparing(Decisions(levels={2: 5}, unplaced=waiting))
    both.take_all()
    assert both.session.desk.decided == Decisions(
        levels=TEACHER.levels, phrase_ends=TEACHER.phrase_ends, bridges=TEACHER.bridges, unplaced=waiting
    )


def test_what_of_the_others_found_no_tone_waits_too(tmp_path: Path) -> None:
    """A teacher's longer edition: taken over whole, its last word waits to be placed by hand."""
    longer = line_of("G3 B4 A3 C5 B3 D5 C4 A4 G4 B3 A3 G3 E5 F5", "1 1 1 1 1 1 2 1 3 1 1 2 1 1")
    path = tmp_path / "lesson.earloop.toml"
    decided = Decisions(levels={4: 5}, words={12: "far bell"})
    path.write_text(written(new_document("lesson"), decided, longer), encoding="utf-8")
    other = other_reading(path, LINE)
    assert "1 of its decisions found no place" in other.note
    both = comparing(MINE, other.decided)
    both.take_all()
    taken = both.session.desk.decided
    assert taken.levels == {4: 5}
    assert taken.unplaced == (Unplaced("word", "far bell", 12, "E5"),)
    both.undo()
    assert both.session.desk.decided == MINE


def test_mine_sounds_first_then_the_other_and_the_loop_comes_back() -> None:
    """The player gets one pass of both; on leaving it stops and has the session's own performance again."""
    both = comparing()
    player = both.session.player
    assert isinstance(player, FakePlayer)
    own = both.session.performance
    both.hear()
    mine, other = both.pair()
    assert player.performance is not None
    assert player.performance.length == pytest.approx(mine.length + other.length)
    assert both.side() == "mine"
    player.position = mine.length + 0.01
    assert both.side() == "other"
    both.hear()
    assert (player.playing, both.side()) == (False, "")
    both.leave()
    assert player.performance == own
    assert not player.playing


def test_while_it_sounds_the_session_leaves_the_player_alone() -> None:
    """A decision made meanwhile is heard in the pair; the session's own loop is not loaded over it."""
    both = comparing()
    both.hear()
    player = both.session.player
    assert isinstance(player, FakePlayer)
    both.take_all()
    assert player.performance is not None
    assert player.performance.title.count("then") == 1
    both.session.decided()
    assert player.performance.title.count("then") == 1
    both.leave()
    assert player.performance is both.session.performance


@pytest.mark.parametrize(
    ("others", "kind", "layer"),
    [
        (Decisions(levels={3: 5}), "level", "skeleton"),
        (Decisions(bridges={7: True}), "bridge", "bridged"),
        (Decisions(phrase_ends={4: True}), "phrase", "ornamented"),
        (Decisions(decorates={2: 5}), "decorates", "held"),
    ],
)
def test_each_kind_is_heard_in_the_layer_that_shows_it(others: Decisions, kind: str, layer: str) -> None:
    """And a level at a depth at which one keeps the tone and the other does not."""
    both = comparing(NONE_DECIDED, others)
    both.go_to(next(k for k, d in enumerate(both.differences) if d.kind == kind))
    assert both.heard_in == layer
    present = both.present
    assert present is not None
    if kind == "level":
        kept = [reading.weights.level[present.first] >= both.depth for reading in (both.mine, both.other)]
        assert sorted(kept) == [False, True]
        assert both.heard
    both.choose_layer("upper")
    assert both.heard_in == "upper"
    both.choose_layer(None)
    assert both.heard_in == layer


def test_a_word_is_seen_and_not_heard() -> None:
    both = comparing(NONE_DECIDED, Decisions(words={3: "far bell"}))
    assert [d.kind for d in both.differences] == ["word"]
    assert not both.heard


@settings(max_examples=30, deadline=None)
@given(decided_lines())
def test_a_reading_made_on_a_transposed_copy_is_the_same_reading(case: tuple[Line, Decisions]) -> None:
    """A fourth higher for another instrument: where every tone finds its place, nothing differs but what is said."""
    line, decided = case
    copy = line.transposed(3, 5)
    there, _ = carried_over(decided, line, copy)
    back, lost = carried_over(there, copy, line)
    assume(back == decided and not lost.count)
    assert differences(read(line, back), read(line, decided)) == ()
    text = written(new_document("copy"), there, copy)
    assert parse(text, "copy").decided == there


def test_a_transposed_copy_of_a_melody_brings_every_decision() -> None:
    decided = Decisions(levels={4: 5}, words={2: "far bell"}, links={(1, 8): True}, leans={7: 8}, bridges={7: True})
    copy = LINE.transposed(3, 5)
    back, lost = carried_over(decided, copy, LINE)
    assert lost.count == 0
    assert differences(read(LINE, back), read(LINE, decided)) == ()
