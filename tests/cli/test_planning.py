"""`earloop plan` and `earloop due`."""

from __future__ import annotations

import json
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from earloop.cli.commands import main
from earloop.coaching.plan import from_object
from earloop.journal import Happening, Journal
from earloop.journal.place import score_name

PHRASE = Path(__file__).resolve().parents[2] / "phrases" / "01-the-gate-at-dawn.abc"


def test_a_plan_for_a_phrase(journal_file, capsys) -> None:
    """As JSON it is the plan itself; as a table it has the cautions; no journal is made."""
    assert main(["plan", str(PHRASE), "--minutes", "10", "--json"]) == 0
    plan = from_object(json.loads(capsys.readouterr().out))
    assert plan.steps[0].layer == "skeleton"
    assert plan.seconds <= 600
    assert main(["plan", str(PHRASE), "--minutes", "90"]) == 0
    told = capsys.readouterr().out
    assert "phrase 1" in told
    assert "minutes are left for another phrase." in told
    assert "teacher" in told
    assert not journal_file.exists()


def test_the_plan_follows_the_journal(journal_file, capsys) -> None:
    """A layer that went badly goes slower and is sung more."""
    name = score_name(PHRASE, PHRASE.parent)
    bad = Happening(datetime.now(UTC), name, "x", 0, "sung", "held", "layer:held", 0.2, 9.0, {"passes": 2, "tempo": 90})
    with Journal.open() as journal:
        journal.note(bad)
    assert main(["plan", str(PHRASE), "--json"]) == 0
    plan = from_object(json.loads(capsys.readouterr().out))
    assert {step.tempo for step in plan.steps if step.layer == "held"} == {80}
    assert {step.tempo for step in plan.steps if step.layer == "skeleton"} == {80}


def test_a_plan_that_is_kept_is_shown_until_other_minutes_are_asked_for(journal_file, capsys) -> None:
    """A teacher's plan, with whose it is; nothing is forgotten by looking at another."""
    name = score_name(PHRASE, PHRASE.parent)
    step = {"layer": "held", "way": "sing", "passes": 7, "tempo": 60, "pass_seconds": 1.0}
    with Journal.open() as journal:
        journal.keep_plan(name, 0, {"phrase": 0, "minutes": 15, "source": "your teacher", "steps": [step]})
    for words, steps in (([], 1), (["--minutes", "30"], 9), ([], 1)):
        assert main(["plan", str(PHRASE), *words, "--json"]) == 0
        assert len(json.loads(capsys.readouterr().out)["steps"]) == steps
    assert main(["plan", str(PHRASE)]) == 0
    assert "a plan from your teacher" in capsys.readouterr().out


def test_what_is_due(journal_file, capsys) -> None:
    assert main(["due"]) == 0
    assert "Nothing is due" in capsys.readouterr().out
    ago = datetime.now(UTC) - timedelta(days=30)
    with Journal.open() as journal:
        journal.note(Happening(ago, "library:a.abc", "A", 1, "answered", "x", "link:3-5", 0.0, 9.0))
    assert main(["due"]) == 0
    assert "link from tone 4 to 6" in capsys.readouterr().out
    assert main(["due", "--on", ago.date().isoformat()]) == 0
    assert "Nothing is due" in capsys.readouterr().out
    assert main(["due", "--json"]) == 0
    (one,) = json.loads(capsys.readouterr().out)
    assert (one["item"], one["phrase"], one["share"]) == ("link:3-5", 1, 0.0)


@pytest.mark.parametrize(
    "words",
    [
        ["plan", str(PHRASE), "--minutes", "0"],
        ["plan", str(PHRASE), "--phrase", "99"],
        ["plan", "nowhere.abc"],
        ["due", "--on", "soon"],
    ],
)
def test_bad_words_get_one_sentence(words, capsys) -> None:
    assert main(words) == 2
    assert capsys.readouterr().err.count("\n") == 1
