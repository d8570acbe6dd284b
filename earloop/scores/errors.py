"""The one way a score refuses: a sentence a performer can act on."""

from __future__ import annotations

import contextlib
from collections.abc import Iterator


class ScoreError(ValueError):
    """Bad input. `sentence` says what is wrong, where, and what to do."""

    def __init__(self, sentence: str) -> None:
        super().__init__(sentence)
        self.sentence = sentence


@contextlib.contextmanager
def one_sentence(name: str) -> Iterator[None]:
    """Turn whatever a score library raises on the file `name` into one sentence.

    A library answers damage with nearly every kind of error, also later, while its tree is walked; each means the
    same to the user.
    """
    try:
        yield
    except ScoreError:
        raise
    except RecursionError:
        raise ScoreError(f"{name} is nested too deeply to be a score: export it again") from None
    except Exception as problem:
        words = str(problem).split()
        reason = " ".join(words)[:140].rstrip(".") or type(problem).__name__
        raise ScoreError(
            f"{name} cannot be read as a score ({reason}): open it where it was made and export it again"
        ) from problem
