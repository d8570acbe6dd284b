"""The time of a spell is kept in one place: so far every few seconds, at its end, and not at all in passing."""

from __future__ import annotations

from itertools import accumulate

from hypothesis import given
from hypothesis import strategies as st

from earloop.session.spell_time import SHORTEST, SO_FAR, SpellTime


@given(st.lists(st.floats(0.01, 9), max_size=30))
def test_what_is_noted_last_is_the_whole_spell_and_a_kill_takes_little(steps) -> None:
    """At each look all but SO_FAR seconds and the time since the look before are noted."""
    now, noted = [100.0], []
    spell = SpellTime(lambda token, seconds: noted.append((token, seconds)), lambda: now[0])
    spell.begin()
    for moment in accumulate(steps):
        now[0] = 100.0 + moment
        spell.look()
        assert moment - (noted[-1][1] if noted else 0.0) < SO_FAR + 0.06
    spell.end()
    spell.end()
    lasted = now[0] - 100.0
    assert abs(noted[-1][1] - lasted) < 0.06 if noted else lasted < SHORTEST
    assert len({token for token, _ in noted}) <= 1
    assert not spell.going
    count = len(noted)
    spell.look()
    assert len(noted) == count


def test_each_spell_has_a_token_of_its_own() -> None:
    now, noted = [0.0], []
    spell = SpellTime(lambda token, seconds: noted.append(token), lambda: now[0])
    for _ in range(2):
        spell.begin()
        now[0] += 2
        spell.end()
    assert len(set(noted)) == len(noted) == 2
