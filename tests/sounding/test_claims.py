"""Channels of one port are shared out so that no two players ever have the same one."""

from __future__ import annotations

import signal
import subprocess
import sys
from pathlib import Path

from hypothesis import given
from hypothesis import strategies as st

from earloop.performing.events import STRANDS
from earloop.sounding.channels import Channels
from earloop.sounding.claims import PERCUSSION, Claims, Shares, shared_out, wished
from earloop.sounding.outputs import OutputChoice

USUAL = wished(OutputChoice())


def share(taken: set[int], choice: OutputChoice = OutputChoice()) -> Shares | None:  # noqa: B008 - it is frozen
    """What a player gets beside those taken; it then has them."""

    def take(channel: int) -> bool:
        free = channel not in taken
        taken.add(channel)
        return free

    return shared_out(wished(choice), take)


def test_alone_everything_is_as_wished() -> None:
    shares = share(set())
    assert shares is not None
    assert shares.home == USUAL
    assert shares.moved == ()
    assert shares.spare == (7, 8)


def test_two_have_nothing_in_common_and_a_third_finds_nothing() -> None:
    taken: set[int] = set()
    one, two, three = share(taken), share(taken), share(taken)
    assert one is not None
    assert two is not None
    assert not set(one.channels) & set(two.channels)
    assert {two.home[strand] for strand in ("upper", "lower", "drone")} <= set(range(10, 16))
    assert len({two.home[strand] for strand in ("upper", "lower", "drone", "held", "bridge")}) == 5
    assert two.home["count"] != PERCUSSION
    assert three is None


@given(st.sets(st.integers(0, 15)), st.dictionaries(st.sampled_from(STRANDS), st.integers(0, 15)))
def test_whatever_is_taken_and_wished(taken: set[int], wish: dict) -> None:
    """Every line has a channel, none of them taken; none is refused while a channel with pitches is free."""
    before = set(taken)
    shares = share(taken, OutputChoice(channels=tuple(wish.items())))
    if shares is None:
        assert before >= set(range(16)) - {PERCUSSION}
        return
    assert set(shares.home) == set(STRANDS)
    assert not set(shares.channels) & before
    assert PERCUSSION not in shares.spare


def test_the_system_lets_go_of_what_a_dead_player_had(tmp_path: Path) -> None:
    """Killed by force, it can say no goodbye: its channels are free again, and known to have sounded."""
    code = (
        "import sys, time; from pathlib import Path; from earloop.sounding.claims import *;"
        "from earloop.sounding.outputs import OutputChoice;"
        "claims = Claims('port', Path(sys.argv[1]));"
        "shares = claims.share_out(wished(OutputChoice())); claims.sounds(0, 60); claims.sounds(8, 127);"
        "claims.sounds(0, 60); print(shares.channels, flush=True); time.sleep(60)"
    )
    with subprocess.Popen([sys.executable, "-c", code, str(tmp_path)], stdout=subprocess.PIPE, text=True) as other:
        assert other.stdout is not None
        assert other.stdout.readline().startswith("(0, ")
        beside = Claims("port", tmp_path)
        shares = beside.share_out(USUAL)
        assert shares is not None
        assert min(shares.channels) == 10
        assert beside.left == {}
        beside.release()
        other.send_signal(getattr(signal, "SIGKILL", signal.SIGTERM))
    after = Claims("port", tmp_path)
    shares = after.share_out(USUAL)
    assert shares is not None
    assert shares.home == USUAL
    assert after.left == dict.fromkeys(shares.channels, frozenset()) | {0: {60}, 8: {127}}
    after.release()
    again = Claims("port", tmp_path)
    again.share_out(USUAL)
    assert again.left == {}, "the last one said goodbye"
    again.release()


def test_a_book_that_makes_no_sense_leaves_every_key(tmp_path: Path) -> None:
    """Cut short, or a folder in its place: nobody can tell what sounded."""
    claims = Claims("port", tmp_path)
    claims.share_out(USUAL)
    claims.release()
    book = next(tmp_path.glob("*/3"))
    book.write_bytes(b"short")
    book.with_name("4").unlink()
    book.with_name("4").mkdir()
    again = Claims("port", tmp_path)
    again.share_out(USUAL)
    assert again.left == {3: frozenset(range(128)), 4: frozenset(range(128))}
    again.sounds(4, 60)
    again.release()


def test_other_ports_are_other_channels(tmp_path: Path) -> None:
    one, two = Claims("one", tmp_path), Claims("two", tmp_path)
    assert one.share_out(USUAL) == two.share_out(USUAL)
    one.release()
    two.release()


def test_a_file_in_the_way_is_no_fault(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("in the way", encoding="utf-8")
    shares = Claims("port", tmp_path / "file").share_out(USUAL)
    assert shares is not None
    assert shares.home == USUAL


def test_few_channels_still_part_lines_that_sound_at_once() -> None:
    """On two channels only: both lines and a drone tuned apart never bend each other."""
    shares = share(set(range(16)) - {3, 11})
    assert shares is not None
    channels = Channels(OutputChoice(), shares=shares)
    channels.begun(1, 72, 0.0, 0.5, "upper")
    channels.begun(2, 60, -14.0, 0.5, "lower")
    assert {held.channel for held in channels.held.values()} == {3, 11}
    words = channels.begun(3, 84, 5.0, 0.5, "count")
    assert words[-1][0] & 0xF in (3, 11)
    assert channels.program["count"] == 115
