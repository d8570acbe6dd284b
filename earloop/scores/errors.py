"""The one way a score refuses: a sentence a performer can act on."""

from __future__ import annotations


class ScoreError(ValueError):
    """Bad input. `sentence` says what is wrong, where, and what to do."""

    def __init__(self, sentence: str) -> None:
        super().__init__(sentence)
        self.sentence = sentence
