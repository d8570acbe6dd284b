"""`ask`: questions for the ear on a plain terminal, line by line, so that a screen reader can follow."""

from __future__ import annotations

import argparse
import queue
import re
import sys
import threading
from dataclasses import dataclass, replace

from earloop.capture.client import Capture
from earloop.capture.sources import Source, SourceError, source_named
from earloop.capture.sources_there import check_there
from earloop.cli.describing import spoken_degree
from earloop.cli.named import output_named
from earloop.cli.refusal import Refusal
from earloop.cli.scores_in import check_phrase, check_tempo
from earloop.cli.sentences import say
from earloop.cli.sittings import session_of
from earloop.cli.sound_words import check_ports_named
from earloop.coaching.edge import Result, level_of
from earloop.coaching.question import Part, Question
from earloop.coaching.questions import QUESTIONS, spots_of
from earloop.engine.client import Engine
from earloop.line.counted import counted
from earloop.session.asking import Asking, Way, past_of
from earloop.session.choices import Choices
from earloop.session.diary import Diary
from earloop.session.keyboard_answers import KeyboardAnswers
from earloop.session.session import Session
from earloop.session.sung_answers import SungAnswers

LOOK = 0.05
AGAIN, SING, UNKNOWN, END = "r", "s", "x", "q"
_SIGNED = re.compile(r"(?<![\w#])[#b]+[1-7]\b")


def ask(words: argparse.Namespace) -> int:
    """Ask until the spell is over or the player ends it; say what was sure and what to go back to."""
    if words.count < 1:
        raise Refusal("--count counts from 1: ask at least one question")
    check_tempo(words)
    engine = Engine(replace(output_named(words.out, words.program), listen=words.listen))
    session = session_of(words, engine, Choices(tempo=words.tempo, degree_names=words.names))
    phrases = _phrases(words, session)
    past = past_of(session.practising.score)
    if words.list:
        print("\n".join(_listed(session, phrases, past)))
        return 0
    kinds = tuple(entry.kind for entry in QUESTIONS if entry.kind in words.kind) if words.kind else None
    asking = Asking(session, phrases, past=past, kinds=kinds, count=words.count, seed=words.seed)
    if not asking.spell.spots:
        raise Refusal("the reading supports no such question here: ask --list says what there is to ask about")
    check_ports_named(words)
    source = source_named(words.input)
    _check_there(source)
    diary = session.practising.diary = Diary()
    try:
        with engine:
            _Terminal(asking, engine, source, words.wait).run()
    finally:
        diary.close()
    say(asking.spell.summary())
    if diary.notice:
        print(diary.notice, file=sys.stderr)
    return 0


def _check_there(source: Source) -> None:
    """What was named to sing to; nothing is listened to yet. Raises Refusal."""
    try:
        check_there(source)
    except SourceError as error:
        raise Refusal(str(error)) from error


def _phrases(words: argparse.Namespace, session: Session) -> range:
    phrase = check_phrase(words, session.reading)
    return range(len(session.reading.phrases)) if phrase is None else range(phrase, phrase + 1)


def _listed(session: Session, phrases: range, past: list[Result]) -> list[str]:
    """One sentence a kind and phrase."""
    said = []
    for phrase in phrases:
        spots = spots_of(session.reading, phrase)
        for entry in QUESTIONS:
            hard = [spot.difficulty for spot in spots if spot.kind == entry.kind]
            if hard:
                places = f"{counted(len(hard), 'way')} to ask"
                reach = f"difficulty {min(hard):.2f} to {max(hard):.2f}, you are at {level_of(past, entry.kind):.2f}"
                said.append(f"phrase {phrase + 1}, {entry.kind}: {entry.title}; {places}, {reach}")
    return said or ["This reading supports no question: it has too few tones."]


@dataclass(frozen=True, slots=True)
class Tones:
    """Tones as an answer: MIDI keys, fractional where they were sung."""

    midis: tuple[float, ...]
    by: Way


class _Terminal:
    """Prints, sounds, and takes lines from standard input or tones from a keyboard, whichever comes first."""

    def __init__(self, asking: Asking, engine: Engine, source: Source, wait: bool) -> None:
        self.asking, self.wait = asking, wait
        self.keyboard = KeyboardAnswers(engine)
        self.sung = SungAnswers(Capture, source)
        self.lines: queue.SimpleQueue[str | None] = queue.SimpleQueue()
        threading.Thread(target=self._read, name="earloop lines", daemon=True).start()

    def run(self) -> None:
        try:
            while (question := self.asking.next(sounding=not self.wait)) is not None:
                self._tell(question)
                if not self._answered(question) or not self._went_on():
                    break
        finally:
            self.asking.leave()
            self.sung.close()

    def _read(self) -> None:
        for line in sys.stdin:
            self.lines.put(line.strip())
        self.lines.put(None)

    def _tell(self, question: Question) -> None:
        spell = self.asking.spell
        say(f"\nQuestion {spell.asked} of {spell.count}, phrase {question.phrase + 1}.")
        say(f"You hear {_in_order(question.sound)}.")
        say(spoken(question.words))
        say(f"Answer with {_offered(question)}.")
        sing = "" if question.by_tones is None else "s: play it. " if self.sung.way == "keyboard" else "s: sing it. "
        again = "hear it" if self.wait else "hear it again"
        say(f"{sing}Enter or r: {again}. x: I don't know. q: end.")

    def _answered(self, question: Question) -> bool:
        """Whether an answer came; not where the player ends the spell."""
        while self.asking.outcome is None:
            said = self._line()
            if said is None or said == END:
                return False
            if isinstance(said, Tones):
                self._heard(said)
            elif said in ("", AGAIN):
                self.asking.again()
            elif said == UNKNOWN:
                self.asking.give_up()
            elif said == SING and self.asking.sung is not None:
                self.asking.stop()
                self.sung.begin(*self.asking.sung)
            elif self.asking.choose(said) is None:
                say(f"{said!r} is none of the answers. Answer with {_offered(question)}.")
        self.sung.stop()
        say(spoken(self.asking.outcome.sentence))
        return True

    def _heard(self, tones: Tones) -> None:
        """An answer, or a remark that it was none."""
        if self.asking.tones(tones.midis, tones.by) is None and self.asking.remark:
            say(spoken(self.asking.remark))
            if self.asking.sung is not None and tones.by == self.sung.way and self.sung.opened:
                self.sung.begin(*self.asking.sung)

    def _went_on(self) -> bool:
        """Whether to go on. After a wrong answer both are heard; it goes on when they have ended, or on Enter."""
        outcome = self.asking.outcome
        assert outcome is not None
        if not outcome.sounds:
            return True
        say(f"You hear {_in_order(outcome.sounds)}. Enter: go on. r: hear them again. q: end.")
        while (said := self._line()) is not None and said != END:
            if said == AGAIN:
                self.asking.again()
            elif isinstance(said, str):
                return True
        return False

    def _line(self) -> str | Tones | None:
        """The next line, or tones played or sung; None at the end of the input. What goes on with the ear is told."""
        told = ""
        while True:
            try:
                return self.lines.get(timeout=LOOK)
            except queue.Empty:
                sounding = self.asking.sounding is not None
                played, sung = self.keyboard.heard(sounding, self.asking.may_go_on), self.sung.look(sounding)
            if played:
                return Tones(played, "keyboard")
            if sung:
                return Tones(sung, self.sung.way)
            if self.sung.sentence and self.sung.sentence != told:
                told = self.sung.sentence
                say(told)


def spoken(sentence: str) -> str:
    """Degrees as they are said: `#4` is sharp 4."""
    return _SIGNED.sub(lambda found: spoken_degree(found[0]), sentence)


def _in_order(parts: tuple[Part, ...]) -> str:
    return ", then ".join(spoken(part.words) for part in parts)


def _offered(question: Question) -> str:
    told = []
    for answer in question.answers:
        same = answer.key == answer.words
        told.append(answer.key if same else f"{answer.key} for {spoken(answer.words)}")
    return f"{', '.join(told)}{question.ways}"
