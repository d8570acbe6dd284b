"""What found no tone in a new edition waits in the kept file, in words of its own, until it is placed or let go."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from earloop.line import Line, Span
from earloop.reading import Decisions, Key, read
from earloop.reading.decisions import Unplaced
from earloop.reading.unplaced import let_go, placed, second_tone, told_unplaced, unplaced_of
from earloop.scores import ScoreError
from earloop.scores.carried import carried_over
from earloop.scores.kept_form import parse
from earloop.scores.kept_reading import KeptReading
from earloop.scores.kept_writing import new_document, written
from tests.laws.test_reading_laws import decided_lines
from tests.made_lines import line_of

LINE = line_of("C4 D4 E4 F4 G4 A4 B4 C5 G4 E4 D4 C4", "1 .5 .5 1 1 2 1 .5 .5 1 1 2")
DECIDED = Decisions(
    levels={8: 4, 2: 3},
    voices={9: "upper"},
    decorates={10: 11},
    phrase_ends={7: True},
    gesture_ends={9: False},
    local=((Span(8, 10), Key(2, "minor")),),
    leans={7: 8, 6: None},
    links={(7, 9): True},
    bridges={9: True},
    words={10: "far bell"},
)
PITCHES = st.sampled_from(("", "C5", "F#4", "Bb3"))
NUMBERS = st.integers(0, 40)
ITEMS = st.one_of(
    st.builds(Unplaced, st.just("level"), st.integers(0, 5), NUMBERS, PITCHES),
    st.builds(Unplaced, st.just("line"), st.sampled_from(("upper", "single")), NUMBERS, PITCHES),
    st.builds(
        Unplaced, st.sampled_from(("phrase_ends", "gesture_ends", "bridge")), st.booleans(), NUMBERS, PITCHES
    ),
    st.builds(Unplaced, st.just("word"), st.sampled_from(("far bell", 'a "turn"', "é")), NUMBERS, PITCHES),
    st.builds(Unplaced, st.just("decorates"), st.none(), NUMBERS, PITCHES, NUMBERS, PITCHES),
    st.builds(Unplaced, st.just("leans_to"), st.none(), NUMBERS, PITCHES, NUMBERS, PITCHES),
    st.builds(Unplaced, st.just("leans_to"), st.none(), NUMBERS, PITCHES),
    st.builds(Unplaced, st.just("link"), st.booleans(), NUMBERS, PITCHES, NUMBERS, PITCHES),
    st.builds(
        Unplaced, st.just("local"), st.builds(Key, st.integers(-5, 5)), NUMBERS, PITCHES, NUMBERS, PITCHES
    ),
)  # fmt: skip
LISTS = st.lists(ITEMS, max_size=6).map(tuple)


def kept(folder: Path, line: Line = LINE) -> KeptReading:
    return KeptReading(folder / "tune.abc", line, folder / "data")


@settings(max_examples=80, deadline=None)
@given(LISTS, LISTS)
def test_what_waits_is_written_and_read_the_same(first: tuple[Unplaced, ...], second: tuple[Unplaced, ...]) -> None:
    """Also after another list took its place in the same document: as many of each, whatever their order."""
    document = new_document("any")
    parsed = parse(written(document, Decisions(unplaced=first), LINE), "any")
    assert sorted(map(repr, parsed.decided.unplaced)) == sorted(map(repr, first))
    again = parse(written(parsed.document, Decisions(unplaced=second), LINE), "any")
    assert sorted(map(repr, again.decided.unplaced)) == sorted(map(repr, second))


@settings(max_examples=40, deadline=None)
@given(decided_lines(), LISTS)
def test_what_waits_changes_nothing_that_is_heard(case: tuple[Line, Decisions], items: tuple[Unplaced, ...]) -> None:
    line, decided = case
    waiting = Decisions(**{**{n: getattr(decided, n) for n in Decisions.__slots__}, "unplaced": items})
    assert read(line, waiting) == read(line, decided)


def test_nothing_is_lost_when_the_score_changes(tmp_path: Path) -> None:
    """Each single decision is either carried over or waits; over the next session too."""
    first = kept(tmp_path)
    first.save(DECIDED)
    first.close()
    shorter = LINE.cut(Span(0, 6))
    second = kept(tmp_path, shorter)
    assert second.decided.count + len(second.decided.unplaced) == DECIDED.count
    assert second.decided.levels == {2: 3}
    waiting = second.decided.unplaced
    assert Unplaced("word", "far bell", 10, "D4") in waiting
    assert Unplaced("leans_to", None, 7, "C5", 8, "G4") in waiting
    assert any("X puts them" in note for note in second.notes)
    second.close()
    third = kept(tmp_path, shorter)
    assert third.decided.unplaced == waiting
    third.save(let_go(third.decided, waiting[0]))
    third.close()
    assert kept(tmp_path, shorter).decided.unplaced == waiting[1:]


def test_numbers_beyond_the_line_wait_instead_of_going(tmp_path: Path) -> None:
    """A file written by hand for a longer line: nothing of it is dropped at the next save."""
    path = tmp_path / "tune.abc.earloop.toml"
    path.write_text('format = 1\n[[tone]]\nnumber = 40\nword = "too far"\n', encoding="utf-8")
    one = kept(tmp_path)
    one.save(Decisions(levels={0: 1}, unplaced=one.decided.unplaced))
    one.close()
    assert "too far" in path.read_text(encoding="utf-8")
    assert kept(tmp_path).decided.unplaced == (Unplaced("word", "too far", 39),)


def test_a_lost_local_key_goes_with_the_transposition() -> None:
    _, lost = carried_over(DECIDED, LINE, LINE.cut(Span(0, 6)).transposed(1, 2))
    assert lost.local == ((Span(8, 10), Key(4, "minor")),)


def test_comments_and_unknown_fields_stay(tmp_path: Path) -> None:
    path = tmp_path / "tune.abc.earloop.toml"
    text = 'format = 1\n\n[[unplaced]] # from the old print\ntone = 14\npitch = "C5"\nlevel = 4\nask = "teacher"\n'
    path.write_text(text, encoding="utf-8")
    one = kept(tmp_path)
    one.save(Decisions(levels={0: 1}, unplaced=one.decided.unplaced))
    assert "from the old print" in path.read_text(encoding="utf-8")
    assert 'ask = "teacher"' in path.read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("format = 1\n[[unplaced]]\nlevel = 3\n", "line 2: this unplaced lacks tone"),
        ("format = 1\n[[unplaced]]\ntone = 0\n", "line 3: tone = 0 should be a tone's number"),
        ("format = 1\n[[tone]]\nnumber = 1\n[[unplaced]]\ntone = 2\nlevel = 9\n", "line 6: level = 9"),
        ("format = 1\n[[unplaced]]\ntone = 2\n[[unplaced]]\ntone = 3\nkey = 'H major'\n", "line 6: key = 'H major'"),
        ("format = 1\n[[unplaced]]\ntone = 2\npitch = 'K9'\n", "line 4: pitch = 'K9' should be a pitch such as F#4"),
        ("format = 1\n[[unplaced]]\ntone = 2\nlink_to = true\n", "line 4: link_to"),
        ("format = 1\n[[unplaced]]\ntone = 2\n[[tone]]\nnumber = 1\nlevel = 7\n", "line 6: level = 7"),
        ("format = 1\nunplaced = 3\n", r"line 2: write \[\[unplaced\]\]"),
        ("format = 1\ntone = [3]\n", r"line 2: write \[\[tone\]\]"),
        ("format = 1\n[[local]]\nfirst = 3\nlast = 2\nkey = 'C major'\n", "line 4: last = 2 should come after first"),
        ("format = 1\n[[link]]\nfirst = 3\nsecond = 3\n", "line 4: second = 3 should come after first"),
        ("format = 1\n[[local]]\nfirst = 1\nlast = 2\nkey = 'Q'\n", "line 5: key = 'Q' should be a key"),
        ("format = 1\nhome = 3\n", "line 2: 3 is not a key"),
        ("format = 1\n[line]\npitches = 'C4'\n", r"line 2: \[line\] lacks 'times'"),
        ("format = 1\n[line]\npitches = 'C4 D4'\ntimes = '0+1'\n", r"line 2: \[line\] can't be understood"),
    ],
)
def test_each_kind_of_bad_row_gets_a_sentence_with_its_line(tmp_path: Path, text: str, said: str) -> None:
    path = tmp_path / "tune.abc.earloop.toml"
    path.write_text(text, encoding="utf-8")
    for _ in range(2):  # the refusal lets go of the file: the second time says the same
        with pytest.raises(ScoreError, match=said):
            kept(tmp_path)
    assert path.read_text(encoding="utf-8") == text


def test_a_file_that_is_no_text_gets_a_sentence(tmp_path: Path) -> None:
    (tmp_path / "tune.abc.earloop.toml").write_bytes(b"\xff\xfe\x00format")
    with pytest.raises(ScoreError, match="can't be read as text"):
        kept(tmp_path)


def test_each_kind_can_be_placed_at_another_tone() -> None:
    """All that was decided about one tone or two, put at others: it reads as if decided there."""
    decided = Decisions(unplaced=unplaced_of(DECIDED, LINE))
    assert len(decided.unplaced) == DECIDED.count
    for item in decided.unplaced:
        assert told_unplaced(item).startswith(f"tone {item.tone + 1} ({LINE[item.tone].pitch.name})")
        decided = placed(decided, item, 1, second_tone(item, 1, len(LINE), None))
    assert decided == Decisions(
        levels={1: 4},
        voices={1: "upper"},
        decorates={1: 2},
        phrase_ends={1: True},
        gesture_ends={1: False},
        local=((Span(1, 3), Key(2, "minor")),),
        leans={1: 2},
        links={(1, 3): True},
        bridges={1: True},
        words={1: "far bell"},
    )


def test_a_second_tone_goes_to_the_mark_or_as_far_on_or_has_none() -> None:
    link = Unplaced("link", True, 7, "C5", 9, "E4")
    assert second_tone(link, 3, 12, None) == 5
    assert second_tone(link, 3, 12, (8, 8)) == 8
    assert second_tone(link, 3, 12, (0, 3)) == 0
    assert placed(Decisions(unplaced=(link,)), link, 3, 0).links == {(0, 3): True}
    assert second_tone(link, 11, 12, None) is None
    with pytest.raises(ValueError, match="mark that tone first"):
        placed(Decisions(unplaced=(link,)), link, 11, None)
