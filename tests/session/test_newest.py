"""Slow work behind the keys: the newest wish is done, what was not begun is dropped, a fault comes out."""

from __future__ import annotations

import threading

import pytest

from earloop.session.newest import Newest


def test_what_waits_is_replaced_by_what_is_newer() -> None:
    """While one is being done three are asked for: only the last of them is."""
    begun, go_on = threading.Event(), threading.Event()

    def work(wish: int) -> int:
        begun.set()
        go_on.wait(10)
        return wish * 10

    newest: Newest[int, int] = Newest(work, "test")
    newest.ask(1)
    assert begun.wait(10)
    for wish in (2, 3, 4):
        newest.ask(wish)
    assert not newest.finish(0.01)
    go_on.set()
    assert newest.finish(10)
    assert newest.found() == [(1, 10), (4, 40)]
    assert newest.found() == []


def test_a_forgotten_wish_is_not_done() -> None:
    begun, go_on = threading.Event(), threading.Event()
    done: list[int] = []

    def work(wish: int) -> None:
        begun.set()
        go_on.wait(10)
        done.append(wish)

    newest: Newest[int, None] = Newest(work, "test")
    newest.ask(1)
    assert begun.wait(10)
    newest.ask(2)
    newest.forget()
    go_on.set()
    assert newest.finish(10)
    assert done == [1]


def test_a_fault_of_the_work_comes_out_where_it_is_asked_for() -> None:
    """And the next wish is done all the same."""

    def work(wish: int) -> float:
        return 1 / wish

    newest: Newest[int, float] = Newest(work, "test")
    newest.ask(0)
    newest.finish()
    with pytest.raises(ZeroDivisionError):
        newest.found()
    newest.ask(2)
    newest.finish()
    assert newest.found() == [(2, 0.5)]
