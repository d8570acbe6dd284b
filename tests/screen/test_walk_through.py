"""One page from the proposal to the finished reading, all by keys: the goal is the library's hand reading of record.

The number of keys is printed: `python -m pytest -s tests/screen/test_walk_through.py`.
"""

from __future__ import annotations

import shutil
from pathlib import Path
from typing import Any

import pytest
from hand_records import LINE_KEYS, ROOT, Record, library, wanted
from screen_player import FakePlayer
from seen_screen import until
from textual.pilot import Pilot

from earloop.reading import read
from earloop.scores.kept_reading import KeptReading
from earloop.screen.app import make_app
from earloop.session.session import Session

PAGES = ("04-the-echo-under-the-bridge",)
MOST_KEYS = 4
"""Keys a tone at the most, on an average: more would be quicker by pencil."""


def way(session: Session, tone: int) -> list[str]:
    """The fewest keys that bring the cursor to the tone: tone by tone, or over the phrases first."""
    phrases = session.reading.phrases
    here, there = session.phrase, session.reading.phrase_of(tone)

    def steps(start: int) -> list[str]:
        return ["right"] * (tone - start) + ["left"] * (start - tone)

    by_phrases = ["n"] * (there - here) + ["p"] * (here - there)
    over = [*by_phrases, *steps(phrases[there].first)] if by_phrases else steps(session.cursor)
    return min(steps(session.cursor), over, ["home", *steps(0)], ["end", *steps(len(session.line) - 1)], key=len)


async def corrected(pilot: Pilot[Any], session: Session, record: Record) -> list[str]:
    """Press keys until the reading is the hand reading; the keys."""
    pressed: list[str] = []
    while (next_one := wanted(session.reading, record)) is not None:
        tone, keys = next_one
        for key in [*way(session, tone), *keys]:
            await pilot.press(key)
            pressed.append(key)
            await until(pilot, lambda: session.desk.settled)
        assert len(pressed) < 10 * MOST_KEYS * len(session.line), "it comes to no end"
    return pressed


@pytest.mark.parametrize("name", PAGES)
async def test_from_the_proposal_to_the_reading_of_record(name, tmp_path: Path) -> None:
    """Few keys a tone; what is kept beside the score is the finished reading, and undoing it all is the proposal."""
    record = next(one for one in library() if one.name == name)
    score = tmp_path / record.card["score"]
    shutil.copy(ROOT / "phrases" / score.name, score)
    app = make_app(score, player=FakePlayer())
    async with app.run_test(size=(120, 40)) as pilot:
        await until(pilot, lambda: app.stand is not None and app.stand.opened is not None)
        session = app.stand.session
        assert wanted(session.reading, record) is not None
        assert session.reading.home.key == record.key
        pressed = await corrected(pilot, session, record)
        moves = sum(key not in ("e", "y", "Y", "r", "f", *LINE_KEYS.values()) for key in pressed)
        print(f"\n{' '.join(pressed)}")
        print(f"{name}: {len(session.line)} tones, {len(pressed)} keys, {moves} of them to move", end="")
        assert len(pressed) <= MOST_KEYS * len(session.line)
        app.stand.put_away()
        kept = KeptReading(score, session.line)
        kept.close()
        assert wanted(read(session.line, kept.decided), record) is None
        while session.desk.can_undo:
            await pilot.press("z")
        await until(pilot, lambda: session.desk.settled)
        assert session.reading == session.desk.proposal
