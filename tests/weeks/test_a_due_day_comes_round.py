"""The weeks between, with the real program: learned today, offered on the day that fsrs says, put off by an answer."""

from __future__ import annotations

import json
import subprocess
import sys
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest
from fsrs import Card, Rating, Scheduler

from earloop.cli.commands import main

ROOT = Path(__file__).resolve().parents[2]
TUNE = "X:1\nT:Over the Sill\nM:none\nL:1/4\nQ:1/4=120\nK:D\nD F A F D |]\n"
WRONG = TUNE.replace("D F A F D", "E B, c G E")


def earloop(days: int, *words: str) -> str:
    """What the program says when it is run in so many days."""
    command = [sys.executable, "-m", "tests.weeks.days_ahead", str(days), *words]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, timeout=120)
    assert done.returncode == 0, done.stderr
    return done.stdout


def layer_due(days: int, *words: str) -> list[dict]:
    return [one for one in json.loads(earloop(days, "due", "--json", *words)) if one["item"] == "layer:ornamented"]


def by_fsrs(reviews: list[tuple[datetime, Rating]]) -> date:
    """fsrs's own scheduler, its fuzz off and its steps of minutes out (py-fsrs 6, README: scheduler's parameters)."""
    plan, card = Scheduler(learning_steps=(), relearning_steps=(), enable_fuzzing=False), Card()
    for at, rating in reviews:
        card, _ = plan.review_card(card, rating, at)
    return card.due.astimezone().date()


@pytest.fixture
def folder(tmp_path: Path, journal_file: Path) -> Path:
    """The tune, and the answers that will be given: the layer as it sounds, and other degrees throughout."""
    for name, text in (("tune", TUNE), ("wrong", WRONG)):
        (tmp_path / f"{name}.abc").write_text(text, encoding="utf-8")
        take = str(tmp_path / f"{name}.wav")
        assert main(["render", str(tmp_path / f"{name}.abc"), "--layer", "ornamented", "-o", take]) == 0
    return tmp_path


def sung(folder: Path, days: int, take: str) -> datetime:
    """The layer sung back in so many days; the moment of it."""
    words = ("--layer", "ornamented", "--phrase", "1", "--passes", "1", "--out", "none")
    earloop(days, "sing", str(folder / "tune.abc"), *words, "--input", f"file:{folder / take}", "--json")
    return datetime.now(UTC) + timedelta(days=days)


def test_an_item_comes_back_on_its_day_and_goes_off_again(folder: Path) -> None:
    today = datetime.now().astimezone().date()
    reviews = [(sung(folder, 0, "tune.wav"), Rating.Good)]
    on = by_fsrs(reviews)
    wait = (on - today).days
    assert wait >= 1
    assert layer_due(0) == layer_due(wait - 1) == []
    (due,) = layer_due(wait)
    assert due["due"] == on.isoformat()
    assert "Over the Sill" in earloop(wait, "due")

    reviews.append((sung(folder, wait, "tune.wav"), Rating.Good))
    later = by_fsrs(reviews)
    assert later > on + timedelta(days=wait), "what went well comes back after a longer time"
    assert layer_due(wait) == []
    (due,) = layer_due(0, "--on", later.isoformat())
    assert (due["due"], due["reviews"]) == (later.isoformat(), 2)

    last = (later - today).days
    reviews.append((sung(folder, last, "wrong.wav"), Rating.Again))
    soon = by_fsrs(reviews)
    assert soon < later + (later - on), "what went badly comes back sooner"
    (due,) = layer_due((soon - today).days)
    assert due["due"] == soon.isoformat()
    assert due["share"] < 0.6
