"""Law 6 over a sitting: any acts, kept as they are made, come back the same; undo and redo go on across every save."""

from __future__ import annotations

import tempfile
from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st

from earloop.line import Line
from earloop.reading import Decisions, read
from earloop.scores.kept_reading import KeptReading
from earloop.session.desk import Desk
from earloop.session.kept_behind import KeptBehind
from tests.laws.test_rereading_laws import ACTS, do
from tests.made_lines import lines


def on_disk(folder: Path, line: Line) -> Decisions:
    """What another start of the program would find."""
    other = KeptReading(folder / "tune.abc", line, folder / "data")
    other.close()
    return other.decided


@settings(max_examples=25)
@given(lines(16), st.lists(st.tuples(st.sampled_from(ACTS), st.integers(0, 15)), min_size=1, max_size=8))
def test_acts_saved_reloaded_and_undone_are_the_same(line: Line, acts: list[tuple[str, int]]) -> None:
    """After the acts, after undoing all and after doing all again, the file gives the very same reading."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        kept = KeptBehind(folder / "tune.abc", line, folder / "data")
        desk = Desk(line, reads_later=True, watch=lambda decided, _: kept.keep(decided))
        for act, tone in acts:
            do(desk, act, tone % len(line))
        made = desk.decided
        for wanted, step in ((made, None), (Decisions(), desk.undo), (made, desk.redo)):
            while step is not None and step():
                pass
            if step == desk.redo:
                # What the acts themselves had taken back is done again too: come back to where they ended.
                while desk.decided != made:
                    assert desk.undo()
            desk.finish()
            kept.close()
            assert desk.decided == wanted
            assert on_disk(folder, line) == wanted
            assert desk.reading == read(line, wanted)
            kept = KeptBehind(folder / "tune.abc", line, folder / "data")
            desk.watch = lambda decided, _, kept=kept: kept.keep(decided)
        kept.close()
