"""Readings from an existing Dask cluster, for collections that outgrow one machine. Needs the extra `cluster`.

Dask sends the work of a lost worker to another one; we only keep the order and bound how much is under way.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Iterable, Iterator
from importlib import import_module
from itertools import islice
from typing import Any

from earloop.cli.refusal import Refusal

UNDER_WAY = 512
PATIENCE = 10
"""Seconds to wait for the scheduler to answer."""


def answers_of(
    work: Callable[[str], tuple[str, bool]], items: Iterable[str], scheduler: str
) -> Iterator[tuple[str, bool]]:
    """The answers in order. Raises Refusal where there is no such cluster or no Dask here."""
    client = _client(scheduler)
    waiting = iter(items)
    try:
        under_way: deque[Any] = deque()
        while True:
            for item in islice(waiting, UNDER_WAY - len(under_way)):
                # Two equal rows are two pieces of work; without `pure=False` the second would be forgotten.
                under_way.append(client.submit(work, item, pure=False))
            if not under_way:
                return
            yield under_way.popleft().result()
    finally:
        client.close()


def _client(scheduler: str) -> Any:
    try:
        distributed = import_module("distributed")
    except ImportError as error:
        raise Refusal("a cluster needs Dask: pip install distributed") from error
    try:
        return distributed.Client(scheduler, timeout=PATIENCE)
    except (OSError, ValueError) as error:
        raise Refusal(f"no Dask scheduler answers at {scheduler}: start one, or use --jobs on this machine") from error
