"""Slow work off the screen's own task, in a daemon thread: leaving the program never waits for it."""

from __future__ import annotations

import asyncio
import contextlib
import threading
from collections.abc import Callable
from typing import TypeVar

Result = TypeVar("Result")


async def in_background(work: Callable[[], Result]) -> Result:
    """The result of `work`, or the exception it raised. asyncio.to_thread would hold up the program's end."""
    return await begun(work)


def begun(work: Callable[[], Result]) -> asyncio.Future[Result]:
    """The same, for `work` that is under way before anyone waits for it."""
    loop = asyncio.get_running_loop()
    future: asyncio.Future[Result] = loop.create_future()

    def settle(result: Result | None, error: BaseException | None) -> None:
        if future.done():
            return
        if error is not None:
            future.set_exception(error)
        else:
            future.set_result(result)  # type: ignore[arg-type]

    def run() -> None:
        result: Result | None = None
        error: BaseException | None = None
        try:
            result = work()
        except Exception as raised:
            error = raised
        with contextlib.suppress(RuntimeError):  # the loop has gone: nobody waits any more
            loop.call_soon_threadsafe(settle, result, error)

    threading.Thread(target=run, name="earloop opening", daemon=True).start()
    return future
