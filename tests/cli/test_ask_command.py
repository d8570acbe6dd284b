"""`earloop ask` on a plain terminal: lines in, sentences out."""

from __future__ import annotations

import io
import threading
import time
from collections.abc import Callable
from pathlib import Path
from random import Random

import pytest

from earloop.cli.asking import spoken
from earloop.cli.commands import main
from earloop.cli.words import QUESTIONS
from earloop.coaching.question import QUESTION_KINDS, Question
from earloop.coaching.spell import Spell
from earloop.journal import Journal
from earloop.reading import read
from earloop.scores import load_line
from tests.capture.rooms import melody, sung_file
from tests.system_parts import no_port_told

ROOT = Path(__file__).parents[2]
LIGHTHOUSE = str(ROOT / "phrases" / "16-the-lighthouse.musicxml")
ROOKS = str(ROOT / "phrases" / "07-two-rooks.musicxml")


def ask(monkeypatch: pytest.MonkeyPatch, lines: str, *words: str) -> int:
    monkeypatch.setattr("sys.stdin", io.StringIO(lines))
    return main(["ask", ROOKS, "--out", "none", "--seed", "1", "--tempo", "300", *words])


def test_a_question_is_told_sounded_answered_and_noted(monkeypatch, capsys, journal_file: Path) -> None:
    """Which line: `u` or `l`, one of them is right; the spell ends with its summary."""
    assert ask(monkeypatch, "z\nu\n\n", "--kind", "which_line", "--count", "1", "--phrase", "1") == 0
    out = capsys.readouterr().out
    assert "Question 1 of 1, phrase 1." in out
    assert "You hear the phrase, then one of its lines." in out
    assert "'z' is none of the answers. Answer with " in out
    assert ("Yes." in out) != ("You said the upper line" in out)
    assert "Sure: which line sounds." in out or "Go back to which line sounds (phrase 1)." in out
    with Journal.open(journal_file) as journal:
        (noted,) = journal.happenings()
    assert (noted.kind, noted.what, noted.result) == ("answered", "which_line", float("Yes." in out))
    assert noted.score == "library:07-two-rooks.musicxml"


def test_not_knowing_hearing_again_and_leaving(monkeypatch, capsys) -> None:
    assert ask(monkeypatch, "r\nx\nr\n\nq\n", "--kind", "next_lower", "--kind", "where_home") == 0
    out = capsys.readouterr().out
    assert "Question 2 of 8" in out
    assert "Question 3 of 8" not in out
    assert "Go back to" in out


@pytest.mark.parametrize("named", ["Nowhere", "midi:Nowhere", "file:nowhere.wav"])
def test_an_input_that_is_not_there(named: str, monkeypatch, capsys) -> None:
    """Before anything is asked: what, where, what to do."""
    assert ask(monkeypatch, "s\nx\n\nq\n", "--kind", "next_lower", "--input", named) == 2
    told = capsys.readouterr()
    assert "Question" not in told.out
    assert (no_port_told("owhere") if named.startswith("midi:") else "owhere") in told.err
    assert len(told.err.strip().splitlines()) == 1


def test_a_sung_answer(monkeypatch, capsys, tmp_path, journal_file: Path) -> None:
    """`s` listens to the input; here a D sung now. With this seed the lower line goes on to D, degree 5 of G."""
    path = sung_file(tmp_path / "d.wav", melody(62, length=2.0), before=0.4)
    lines = Slow("s\n", 12.0)
    monkeypatch.setattr("sys.stdin", lines)
    words = ["--out", "none", "--seed", "4", "--kind", "next_lower", "--count", "1", "--input", f"file:{path}"]
    assert main(["ask", ROOKS, *words]) == 0
    out = capsys.readouterr().out
    assert ", or sing or play the lower line's next tone, in any octave." in out
    assert "s: sing it." in out
    with Journal.open(journal_file) as journal:
        (noted,) = journal.happenings()
    assert (noted.item, noted.detail["given"], noted.detail["by"]) == ("link:6-8", "5", "voice")
    assert "Yes." in out


@pytest.mark.parametrize("kind", ["which_line", "which_page"])
def test_what_is_no_tone_is_sung_too(monkeypatch, capsys, tmp_path, journal_file: Path, kind: str) -> None:
    """The tone that means the wrong answer, from a recording as though sung now: it is taken for that answer."""
    question, place, tune = first_question(kind)
    path = sung_file(tmp_path / "wrong.wav", melody(*tune, length=2.0), before=0.4)
    monkeypatch.setattr("sys.stdin", Slow("s\n", 12.0, journal_file.exists))
    words = ["--out", "none", "--seed", "4", "--kind", kind, "--count", "1", "--input", f"file:{path}"]
    assert main(["ask", LIGHTHOUSE, *words]) == 0
    out = capsys.readouterr().out
    wrong = question.answers[place].words
    assert f", or sing or play {question.by_tones.what}, in any octave." in out
    assert f", so {wrong}" in out
    assert f"You hear yours: {wrong}, then right: {question.right_answer.words}." in out
    with Journal.open(journal_file) as journal:
        (noted,) = journal.happenings()
    assert (noted.detail["given"], noted.detail["by"], noted.result) == (wrong, "voice", 0.0)


@pytest.mark.jack
def test_a_skeletons_changed_tone_is_played(monkeypatch, capsys, jack: str, journal_file: Path) -> None:
    """On a MIDI keyboard: first a tone that is none of the skeleton's, then all tones up to the changed one."""
    import rtmidi

    question, _, _ = first_question("changed_tone")
    by = question.by_tones
    foreign = next(pc for pc in range(12) if not any((pc,) in tunes for tunes in by.tunes))
    tune = max(sorted(by.tunes[question.right]), key=len)
    keys = rtmidi.MidiOut(rtapi=rtmidi.API_UNIX_JACK, name="asking keys")
    keys.open_virtual_port("out")

    def play() -> None:
        time.sleep(2.5)
        for pause, key in [(2.5, 60 + foreign), *((0.1, 60 + pc) for pc in tune)]:
            keys.send_message([0x90, key, 80])
            time.sleep(0.05)
            keys.send_message([0x80, key, 0])
            time.sleep(pause)

    lines = Slow("", 20.0, journal_file.exists)
    monkeypatch.setattr("sys.stdin", lines)
    player = threading.Thread(target=play)
    player.start()
    words = ["--out", "none", "--seed", "4", "--kind", "changed_tone", "--count", "1", "--wait"]
    try:
        assert main(["ask", LIGHTHOUSE, *words, "--listen", "asking keys"]) == 0
    finally:
        player.join()
        keys.delete()
    out = capsys.readouterr().out
    assert "That is none of these: it was" in out
    assert "Yes." in out
    with Journal.open(journal_file) as journal:
        (noted,) = journal.happenings()
    assert (noted.detail["by"], noted.result) == ("keyboard", 1.0)


def first_question(kind: str) -> tuple[Question, int, list[int]]:
    """What `ask --seed 4` asks first, a wrong answer's place, and keys that mean it."""
    reading = read(load_line(LIGHTHOUSE))
    spell = Spell(reading, range(len(reading.phrases)), Random(4), kinds=(kind,), count=1)
    question = spell.next()
    place = next(k for k in range(len(question.answers)) if k != question.right)
    tune = max(sorted(question.by_tones.tunes[place]), key=len)
    return question, place, [57 + (pc - 57) % 12 for pc in tune]


class Slow(io.StringIO):
    """Lines, and only after so many seconds, or when it is over before, the end of the input."""

    def __init__(self, lines: str, seconds: float, over: Callable[[], bool] = lambda: False) -> None:
        super().__init__(lines)
        self.until, self.over = time.monotonic() + seconds, over

    def __iter__(self):
        yield from self.getvalue().splitlines(keepends=True)
        while time.monotonic() < self.until and not self.closed and not self.over():
            time.sleep(0.05)
        yield "\n"


def test_the_end_of_the_input_ends_the_spell(monkeypatch, capsys) -> None:
    assert ask(monkeypatch, "", "--wait") == 0
    assert "Nothing was answered." in capsys.readouterr().out


def test_the_list_names_what_can_be_asked(monkeypatch, capsys) -> None:
    """Two Rooks has two lines and no lean."""
    assert ask(monkeypatch, "", "--list", "--phrase", "1") == 0
    rows = capsys.readouterr().out.splitlines()
    assert {row.split(",")[1].split(":")[0].strip() for row in rows} == set(QUESTION_KINDS) - {"lean_way"}
    assert all(row.startswith("phrase 1, ") and "difficulty" in row for row in rows)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--phrase", "9"), "no phrase 9"),
        (("--count", "0"), "counts from 1"),
        (("--kind", "lean_way"), "no such question"),
    ],
)
def test_what_cannot_be_asked_gets_one_sentence(monkeypatch, capsys, words, said) -> None:
    assert ask(monkeypatch, "", *words) == 2
    err = capsys.readouterr().err
    assert said in err
    assert len(err.strip().splitlines()) == 1


def test_the_words_name_every_kind() -> None:
    assert set(QUESTIONS) == set(QUESTION_KINDS)


def test_signs_are_spoken() -> None:
    assert spoken("it is #4, a step below b6 in Bb minor") == "it is sharp 4, a step below flat 6 in Bb minor"
    assert spoken("it is bb7, not ###4") == "it is double flat 7, not sharp sharp sharp 4"
