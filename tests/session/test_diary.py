"""The diary never holds anyone up, never raises, and keeps what it can't write until it can."""

from __future__ import annotations

import sqlite3
import threading
import time
from pathlib import Path

import pytest

from earloop.journal import Journal, UnderWay
from earloop.reading import Decisions
from earloop.session import diary as diaries
from earloop.session import spell_time
from earloop.session.diary import Diary
from earloop.session.played import Played
from earloop.session.session import Session
from tests.journal.test_journal import happening
from tests.made_lines import line_of
from tests.session.fake_player import FakePlayer

LINE = line_of("C4 D4 E4 F4 G4 A4 B4 C5 G4 E4 D4 C4", "1 .5 .5 1 1 2 1 .5 .5 1 1 2")


def test_notes_from_several_threads_are_all_there_after_closing(journal_file: Path) -> None:
    diary = Diary()
    threads = [
        threading.Thread(target=lambda: [diary.note(happening(minute)) for minute in range(50)]) for _ in range(4)
    ]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    diary.close(20)
    diary.note(happening())
    with Journal.open() as journal:
        assert len(journal.happenings()) == 200


def test_nothing_is_made_before_the_first_note(journal_file: Path) -> None:
    diary = Diary()
    assert diary.flush()
    diary.close()
    assert not journal_file.exists()


def test_what_cannot_be_written_is_told_and_written_later(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A folder stands where the journal should be; then it is moved away."""
    monkeypatch.setattr(diaries, "AGAIN", 0.05)
    path = tmp_path / "journal.sqlite"
    path.mkdir()
    diary = Diary(path)
    diary.note(happening(0))
    assert not diary.flush(5)
    assert "not noted for now" in diary.notice
    path.rmdir()
    diary.note(happening(1))
    until = time.monotonic() + 5
    while not diary.flush(1) and time.monotonic() < until:
        time.sleep(0.01)
    assert diary.notice == ""
    diary.close()
    with Journal.open(path) as journal:
        assert len(journal.happenings()) == 2


def test_without_a_thread_it_is_told_and_tried_again(journal_file: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A system that gives no more threads: `note` still returns, and nothing is lost once there is one."""
    start = threading.Thread.start

    def refuse(thread: threading.Thread) -> None:
        raise RuntimeError("can't start new thread")

    monkeypatch.setattr(threading.Thread, "start", refuse)
    diary = Diary()
    diary.note(happening(0))
    assert "not noted for now" in diary.notice
    monkeypatch.setattr(threading.Thread, "start", start)
    diary.note(happening(1))
    assert diary.flush(5)
    assert diary.notice == ""
    diary.close(5)
    with Journal.open() as journal:
        assert len(journal.happenings()) == 2


def test_an_unsound_note_takes_no_other_with_it(journal_file: Path) -> None:
    diary = Diary()
    for one in (happening(0), happening(1, result=7.0), happening(2)):
        diary.note(one)
    assert diary.flush(5)
    assert "not noted" in diary.notice
    diary.close()
    with Journal.open() as journal:
        assert [h.at.minute for h in journal.happenings()] == [0, 2]


def test_another_program_writing_holds_nobody_up(journal_file: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """`note` returns at once while the file is locked; the note is there once the lock has gone."""
    monkeypatch.setattr(diaries, "AGAIN", 0.05)
    Journal.open().close()
    other = sqlite3.connect(journal_file, isolation_level=None)
    other.execute("BEGIN IMMEDIATE")
    diary = Diary()
    diary.note(happening())
    assert not diary.flush(0.2)
    other.execute("COMMIT")
    other.close()
    assert diary.flush(10)
    diary.close()


class Practice:
    """A session with a diary, a player and a clock moved by hand."""

    def __init__(self) -> None:
        self.player = FakePlayer()
        self.session = Session(LINE, self.player, decided=Decisions(phrase_ends={5: True}))
        self.now = 0.0
        self.session.practising._clock = lambda: self.now
        self.session.practising.diary = self.diary = Diary()
        self.session.practising.score = "line"

    def play(self, seconds: float, passes: int) -> None:
        if not self.player.playing:
            self.session.play_or_stop()
        self.now += seconds
        self.player.pass_number = passes
        self.session.practising.look()

    def noted(self):
        self.diary.close(5)
        with Journal.open() as journal:
            return journal.happenings()


def test_a_spell_from_play_to_stop_is_noted(journal_file: Path) -> None:
    """Layer, phrase, passes, seconds, tempo."""
    practice = Practice()
    practice.play(20, 3)
    practice.session.set_tempo(80)
    practice.session.play_or_stop()
    (noted,) = practice.noted()
    assert (noted.kind, noted.what, noted.item, noted.phrase) == ("played", "skeleton", "layer:skeleton", 0)
    assert noted.seconds == 20
    assert noted.detail == {"passes": 3, "tempo": 80, "tempo_from": 100, "answer_gap": False}
    assert noted.result is None


def test_another_layer_or_phrase_is_another_spell(journal_file: Path) -> None:
    practice = Practice()
    practice.play(10, 2)
    practice.session.choose_layer("upper")
    practice.play(5, 4)
    practice.session.next_phrase()
    practice.play(7, 5)
    practice.session.stop()
    noted = practice.noted()
    assert [(h.what, h.phrase, h.seconds) for h in noted] == [("skeleton", 0, 10), ("upper", 0, 5), ("upper", 1, 7)]
    assert [h.detail["passes"] for h in noted] == [2, 3, 2]


def test_a_loop_that_ends_by_itself_is_noted_and_a_passing_key_is_not(journal_file: Path) -> None:
    practice = Practice()
    practice.play(0.5, 1)
    practice.session.stop()
    practice.play(6, 2)
    practice.player.playing = False
    practice.session.practising.look()
    practice.session.practising.look()
    assert [h.seconds for h in practice.noted()] == [6]


def test_a_change_of_tempo_or_depth_is_the_same_spell(journal_file: Path) -> None:
    practice = Practice()
    practice.play(6, 1)
    practice.session.deeper()
    practice.session.turn_answer_gap()
    practice.play(6, 2)
    practice.session.stop()
    assert [h.seconds for h in practice.noted()] == [12]


def test_a_plan_is_kept_as_it_was_last(journal_file: Path) -> None:
    """Also with notes between, and forgotten when asked."""
    diary = Diary()
    for number in range(20):
        diary.keep_plan("a", 0, {"minutes": number})
        diary.note(happening(number))
    diary.keep_plan("b", 0, {"minutes": 1})
    diary.keep_plan("b", 0, None)
    diary.close(5)
    with Journal.open() as journal:
        found = journal.kept_plan("a", 0)
        assert found is not None
        assert found[1] == {"minutes": 19}
        assert journal.kept_plan("b", 0) is None
        assert len(journal.happenings()) == 20


def test_a_spell_that_goes_on_is_noted_so_far_and_once(journal_file: Path) -> None:
    """A killed program has noted all but the last seconds; what follows takes the place of what was noted."""
    practice = Practice()
    practice.play(spell_time.SO_FAR - 1, 1)
    assert practice.diary.flush(5)
    assert not journal_file.exists()
    practice.play(2, 1)
    assert practice.diary.flush(5)
    with Journal.open() as journal:
        (so_far,) = journal.happenings()
    assert (so_far.kind, so_far.what, so_far.seconds) == ("played", "skeleton", spell_time.SO_FAR + 1)
    practice.play(spell_time.SO_FAR, 3)
    practice.session.choose_layer("upper")
    practice.play(spell_time.SO_FAR, 4)
    practice.session.stop()
    noted = practice.noted()
    assert [(h.what, h.seconds) for h in noted] == [("skeleton", 2 * spell_time.SO_FAR + 1), ("upper", 5)]
    assert noted[0].detail["passes"] == 3
    assert noted[0].at >= so_far.at


def test_what_waits_of_one_spell_is_its_newest_note(tmp_path: Path) -> None:
    """With the journal out of reach for an hour, its hundreds of notes are one; those of others stay."""
    path = tmp_path / "journal.sqlite"
    path.mkdir()
    diary = Diary(path)
    diary.note(happening(0))
    for minute in range(300):
        diary.note(UnderWay("spell", happening(minute, seconds=minute)))
    assert not diary.flush(2)
    assert len(diary._unwritten) == 2
    path.rmdir()
    diary.note(UnderWay("other", happening(400)))
    assert diary.flush(5)
    diary.close()
    with Journal.open(path) as journal:
        assert [h.seconds for h in journal.happenings()] == [12.5, 299, 12.5]


def test_playing_without_a_session_is_noted_so_far(journal_file: Path) -> None:
    """As from the command line: passes, seconds; stopped by a pedal and begun again is another spell."""
    now = [0.0]
    player, diary = FakePlayer(), Diary()
    played = Played(diary, happening(seconds=0.0, detail={"tempo": 80}), lambda: now[0])
    for second in range(30):
        now[0], player.playing, player.pass_number = second, second not in (0, 13, 14), 1 + second // 4
        played.look(player)
    now[0] = 29.5
    played.end()
    played.end()
    diary.close(5)
    with Journal.open() as journal:
        noted = journal.happenings()
    assert [(h.seconds, h.detail) for h in noted] == [
        (12.0, {"passes": 4, "tempo": 80}),
        (14.5, {"passes": 8, "tempo": 80}),
    ]
